"""Chords as charts write them."""

import pytest

from engine.chords import NUMERALS, QUALITIES, Chord, parse_bars, parse_chord
from engine.errors import MusicInputError
from engine.theory import Degree, Note


@pytest.mark.parametrize("accidental", ["", "b", "#"])
@pytest.mark.parametrize("numeral", NUMERALS)
@pytest.mark.parametrize("quality", QUALITIES)
def test_every_chord_is_written_as_it_is_read(accidental: str, numeral: str, quality: str) -> None:
    text = accidental + numeral + quality
    assert text == str(parse_chord(text))


@pytest.mark.parametrize(
    ("text", "chord"),
    [
        ("I7", Chord(Degree(1), "7")),
        ("IVm7", Chord(Degree(4), "m7")),
        ("#IVdim7", Chord(Degree(4, 1), "dim7")),
        ("bVI7", Chord(Degree(6, -1), "7")),
        ("VII7", Chord(Degree(7), "7")),
        ("IIIm7b5", Chord(Degree(3), "m7b5")),
    ],
)
def test_the_numeral_is_the_root_and_the_rest_the_quality(text: str, chord: Chord) -> None:
    assert chord == parse_chord(text)


@pytest.mark.parametrize(
    "text", ["", "7", "I", "i7", "VIII7", "IVX", "IIII7", "H7", "bbVI7", "I 7", "I7b9", "\x1bI7"]
)
def test_what_is_no_chord_is_refused_with_what_is(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"^'.*' is no chord: give a numeral from I to VII"):
        parse_chord(text)


@pytest.mark.parametrize(
    ("text", "symbol"), [("I7", "Bb7"), ("#IVdim7", "Edim7"), ("bVI7", "Gb7"), ("IIm7", "Cm7")]
)
def test_a_chart_in_a_key_names_the_root_as_a_note(text: str, symbol: str) -> None:
    assert symbol == parse_chord(text).symbol(Note("B", -1))


def test_one_two_or_four_chords_are_spread_evenly_over_a_bar() -> None:
    one, two, four = parse_bars("I7 | IV7 V7 | I7 II7 IIm7 V7")
    assert ["I7", "I7", "I7", "I7"] == list(map(str, one))
    assert ["IV7", "IV7", "V7", "V7"] == list(map(str, two))
    assert ["I7", "II7", "IIm7", "V7"] == list(map(str, four))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", r"bar 1 holds 0 chords \(''\): give one, two or four"),
        ("I7 | | I7", "bar 2 holds 0 chords"),
        ("I7 | I7 I7 I7", r"bar 2 holds 3 chords \('I7 I7 I7'\)"),
        ("I7 |", "bar 2 holds 0 chords"),
        ("I7 | X", "'X' is no chord"),
        ("I7 I7 I7 I7 I7", "bar 1 holds 5 chords"),
    ],
)
def test_a_bar_that_cannot_be_read_is_refused(text: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem):
        parse_bars(text)
