"""What is heard of basses that are not the project's own.

Source: the General MIDI SoundFont of Debian's package timgm6mb-soundfont (T. Brechbill), programs
32 to 35 of General MIDI level 1. Pitches: 12-tone equal temperament on A4 = 440 Hz, ISO 16:1975.
The trial in full is `python -m tests.bench.bench_detection`; this is a small sample of it.
"""

import random

import pytest

from engine.catalogue import builtin_catalogue
from engine.listening.naming import Standing, name_line
from engine.listening.takes import hear_take
from engine.notation import parse_key
from tests.bench.bench_detection import (
    HIGHEST,
    LOWEST,
    chord_tone_line,
    false_names,
    heard_line,
    named,
    tells,
)
from tests.engine.listening.takes import (
    BASSES,
    FOREIGN,
    RATE,
    count,
    humming,
    needs_foreign,
    quarters,
    take,
)
from tests.sounds.pitch_tracker import cents, harmonic_sum

LEAST, MOST_EXTRA = 0.98, 0.03


@needs_foreign
@pytest.mark.parametrize("program", BASSES)
@pytest.mark.parametrize(("tempo", "detuned"), [(60, 30), (180, -30)])
def test_quarters_from_b0_to_g3_are_heard_in_noise_and_detuned(
    program: int, tempo: float, detuned: float
) -> None:
    heard = heard_line(random.Random(program), program, tempo, detuned)
    assert heard.struck > 33
    assert heard.heard >= LEAST * heard.struck
    assert heard.extra <= MOST_EXTRA * heard.struck


@needs_foreign
@pytest.mark.parametrize("hertz", [50, 60])
def test_hum_hides_no_note_and_makes_none(hertz: int) -> None:
    notes = quarters([31, 23, 28, 33, 35, 40, 43, 47, 31, 36])  # G1 and B1 lie by the mains
    result = hear_take(humming(take(notes, 100, 33, soundfont=FOREIGN), 15, hertz), RATE)
    heard = count(notes, 100, [(note.onset, note.midi) for note in result.notes])
    assert (len(notes), len(notes), 0) == heard


@needs_foreign
@pytest.mark.parametrize("key", range(LOWEST, HIGHEST + 1, 4))
def test_the_pitch_agrees_with_a_spectral_tracker(key: int) -> None:
    # D. J. Hermes, JASA 83(1), 1988: subharmonic summation, independent of any period
    wave = take(quarters([key]), 60, 33, soundfont=FOREIGN)
    (note,) = hear_take(wave, RATE).notes
    start = int((note.onset + 0.1) * RATE)
    reference = 440 * 2 ** ((key - 69) / 12)
    spectral = cents(harmonic_sum(wave[start : start + RATE // 2], RATE, reference), reference)
    ours = hear_take(wave, RATE)
    assert key == note.midi
    assert abs(ours.tuning + note.cents - spectral) < 6


@needs_foreign
@pytest.mark.parametrize(
    ("device", "key"),
    [
        ("climb+dip", "F"),
        ("fall+two-five", "Bb"),
        ("one-six-two-five", "Ab"),
        ("walk-up-one-four", "A"),
        ("half-below-into-five", "Eb"),
        ("stay+late-five", "G"),
        ("chromatic-fall-ending", "E"),
        ("boogie", "C"),
    ],
)
def test_a_device_played_by_a_foreign_bass_is_named(device: str, key: str) -> None:
    result = named(device, parse_key(key), random.Random(device))
    assert result.right


def test_chord_tone_lines_are_not_devices() -> None:
    # common practice, no source: a line that only spells the chords is no figure
    assert false_names(12).total() <= 1


def test_chord_tone_lines_keep_to_their_chords() -> None:
    notes, key = chord_tone_line(random.Random(3))
    assert len(notes) in (5, 9)
    assert {note.above(key) for note in notes} <= {0, 2, 3, 4, 5, 7, 9, 10, 11}


@needs_foreign
def test_a_device_is_not_told_in_another_key() -> None:
    result = named("climb+dip", parse_key("F"), random.Random(1))
    for tonic in ("E", "Gb", "Bb", "C", "A"):
        naming = name_line(result.take.notes, builtin_catalogue(), parse_key(tonic))
        assert naming.standing is Standing.NONE or not tells(naming, "climb+dip")
