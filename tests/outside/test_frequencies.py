"""Pitch in hertz, open strings and frets.

Sources: ISO 16:1975 (A4 = 440 Hz); 12-tone equal temperament, in which a semitone is the twelfth
root of two; scientific pitch names as music21's `pitch` module reads them.
"""

from fractions import Fraction
from itertools import pairwise

import pytest
from music21 import interval, pitch

from engine.neck import FOUR_STRING, TUNINGS, Position, Tuning, find_tuning, positions, sounding
from engine.theory import A4, A4_HERTZ
from sounds.looping import hertz as frequency

STANDARD_TUNING = 440.0
"""Hertz of A4, ISO 16:1975."""

OPEN_STRINGS = [
    # name, MIDI number, hertz to three places: computed from ISO 16 and equal temperament
    ("B0", 23, 30.868),
    ("E1", 28, 41.203),
    ("A1", 33, 55.000),
    ("D2", 38, 73.416),
    ("G2", 43, 97.999),
    ("C3", 48, 130.813),
]


def test_a4_is_the_standard_tuning_frequency() -> None:
    assert STANDARD_TUNING == frequency(A4) == A4_HERTZ
    assert 69 == A4


@pytest.mark.parametrize("midi", range(128))
def test_every_midi_number_has_the_frequency_of_equal_temperament(midi: int) -> None:
    assert STANDARD_TUNING * 2 ** ((midi - 69) / 12) == pytest.approx(frequency(midi), rel=1e-12)
    assert pitch.Pitch(midi=midi).frequency == pytest.approx(frequency(midi), rel=1e-9)


def test_twelve_semitones_of_equal_size_are_an_octave() -> None:
    ratios = [frequency(midi + 1) / frequency(midi) for midi in range(127)]
    assert [2 ** (1 / 12)] * 127 == pytest.approx(ratios, rel=1e-12)
    assert 2.0 == pytest.approx(frequency(81) / frequency(69), rel=1e-12)


@pytest.mark.parametrize("cents", [-50, -5, 5, 25])
def test_a_hundredth_of_a_semitone_is_a_cent(cents: int) -> None:
    assert 440 * 2 ** (cents / 1200) == pytest.approx(frequency(69 + cents / 100), rel=1e-12)


@pytest.mark.parametrize(("name", "midi", "hertz"), OPEN_STRINGS)
def test_an_open_string_sounds_at_its_frequency(name: str, midi: int, hertz: float) -> None:
    assert hertz == pytest.approx(frequency(midi), abs=0.0005)
    assert midi == pitch.Pitch(name).midi


def test_the_six_strings_are_those_open_strings() -> None:
    six = find_tuning("six-string")
    assert [midi for _, midi, _ in OPEN_STRINGS] == [midi for _, midi in six.strings]
    assert [name[0] for name, _, _ in OPEN_STRINGS] == [name for name, _ in six.strings]


@pytest.mark.parametrize(
    "tuning", [tuning for tuning in TUNINGS if tuning.id != "drop-d"], ids=lambda tuning: tuning.id
)
def test_neighbouring_strings_are_a_perfect_fourth_apart(tuning: Tuning) -> None:
    fourth = interval.Interval("P4").semitones
    assert {fourth} == {high - low for (_, low), (_, high) in pairwise(tuning.strings)}


def test_drop_d_lowers_the_lowest_string_by_a_whole_step() -> None:
    low, *rest = (midi for _, midi in find_tuning("drop-d").strings)
    assert pitch.Pitch("D1").midi == low
    assert rest == [midi for _, midi in FOUR_STRING.strings[1:]]


@pytest.mark.parametrize("fret", range(25))
def test_a_fret_shortens_the_string_to_its_share_of_the_length(fret: int) -> None:
    # frequency goes as one over the length of the string (Mersenne): fret n leaves 2 ** (-n / 12)
    for string, (_, open_pitch) in enumerate(FOUR_STRING.strings):
        fretted = frequency(sounding(Position(string, fret)))
        assert 2 ** (-fret / 12) == pytest.approx(frequency(open_pitch) / fretted, rel=1e-12)


@pytest.mark.parametrize(
    ("fret", "share"), [(12, Fraction(1, 2)), (7, Fraction(2, 3)), (5, Fraction(3, 4))]
)
def test_the_octave_fifth_and_fourth_lie_near_the_simple_divisions(
    fret: int, share: Fraction
) -> None:
    # the octave exactly, fifth and fourth within two cents, as equal temperament has them
    assert float(share) == pytest.approx(2 ** (-fret / 12), rel=0.0012)


@pytest.mark.parametrize(
    ("name", "where"),
    [
        # written out by hand from the open strings
        ("E1", [(0, 0)]),
        ("A1", [(0, 5), (1, 0)]),
        ("D2", [(0, 10), (1, 5), (2, 0)]),
        ("G2", [(0, 15), (1, 10), (2, 5), (3, 0)]),
        ("D#4", [(3, 20)]),
    ],
)
def test_a_named_pitch_is_found_on_its_strings(name: str, where: list[tuple[int, int]]) -> None:
    found = positions(pitch.Pitch(name).midi)
    assert [Position(string, fret) for string, fret in where] == list(found)
