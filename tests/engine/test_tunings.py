"""Tunings: the rows of the file, and a player's own."""

import pytest
from music21 import pitch

from engine.errors import CatalogueError, MusicInputError
from engine.rows import builtin_text
from engine.tunings import TUNINGS, Tuning, own_tuning, read_tunings, strings_of

ROW = """[[tuning]]
id = "{id}"
name = "a tuning"
strings = {strings}
source = "common practice"
"""


def row(strings: str = '["E1", "A1", "D2"]', name: str = "three") -> str:
    return ROW.format(id=name, strings=strings)


def test_the_built_in_tunings_are_those_of_the_file() -> None:
    assert TUNINGS == read_tunings(builtin_text("tunings.toml"), "tunings.toml")
    assert all(tuning.source == "common practice" for tuning in TUNINGS)


@pytest.mark.parametrize("tuning", TUNINGS, ids=lambda tuning: tuning.id)
def test_open_strings_are_the_pitches_that_music21_reads(tuning: Tuning) -> None:
    # outside check: music21 reads scientific pitch names, A4 = 440 Hz (ISO 16:1975)
    written = {"E": ["E1"], "A": ["A1"], "D": ["D1", "D2"], "G": ["G2"], "B": ["B0"], "C": ["C3"]}
    for name, midi in tuning.strings:
        assert midi in [pitch.Pitch(text).midi for text in written[name.removeprefix("low ")]]


@pytest.mark.parametrize(
    ("notes", "names", "pitches"),
    [
        (["E1", "A1", "D2", "G2"], "E A D G", [28, 33, 38, 43]),
        (["28", "33", "38"], "E A D", [28, 33, 38]),
        (["Bb0", "Eb1", "Ab1", "db2"], "Bb Eb Ab Db", [22, 27, 32, 37]),
        (["B♭0", "F♯1", "c2"], "Bb F# C", [22, 30, 36]),
        (["D1", "A1", "D2", "G2"], "low D,A,D,G", [26, 33, 38, 43]),
        (["D1", "D2", "D3"], "lowest D,low D,D", [26, 38, 50]),
    ],
)
def test_strings_are_named_by_their_notes(notes: list[str], names: str, pitches: list[int]) -> None:
    strings = strings_of(notes)
    separator = "," if "," in names else " "
    assert names.split(separator) == [name for name, _ in strings]
    assert pitches == [midi for _, midi in strings]


@pytest.mark.parametrize(
    ("notes", "message"),
    [
        (["E1", "A1"], "2 strings were given: give 3 to 8"),
        (["E1"] * 9, "9 strings were given: give 3 to 8"),
        (["E1", "D2", "A1"], "A1 stands behind D2: give the open strings from the lowest"),
        (["E1", "E1", "A1"], "E1 stands behind E1"),
        (["E1", "H1", "D2"], "'H1' is no pitch: give a note name with its octave"),
        (["E1", "A", "D2"], "'A' is no pitch"),
        (["E1", "A1", "128"], "'128' is no pitch"),
        (["E1", "A1", ""], "'' is no pitch"),
        (["E1", "A1", "E4"], r"E4 is no open string of a bass: give .* C0 \(12\) to C4 \(60\)"),
        (["5", "A1", "E3"], "F-1 is no open string of a bass"),
        (["D0", "D1", "D2", "D3"], "4 strings are called D: at most 3 may be"),
    ],
)
def test_strings_that_no_instrument_has_are_refused(notes: list[str], message: str) -> None:
    with pytest.raises(MusicInputError, match=f"^{message}"):
        strings_of(notes)


def test_an_own_tuning_says_its_strings() -> None:
    mine = own_tuning("high-four", ["A1", "D2", "G2", "C3"])
    assert ("high-four", "high-four, A D G C") == (mine.id, mine.name)
    assert ((33, 38, 43, 48), ("A", "D", "G", "C")) == (mine.open_pitches, mine.names)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (row('["E1", "A9x", "D2"]'), "entry 'three', field 'strings': 'A9x' is no pitch"),
        (row('["E1"]'), "entry 'three', field 'strings': 1 strings were given"),
        (row("[28, 33, 38]"), "field 'strings': .* a text or a list of texts"),
        (row() + row(), "entry 'three', field 'id': it is used twice"),
        (row(name="Three"), "field 'id'"),
        (row() + 'colour = "red"', "field 'colour': there is no such field"),
        ("", "there is no entry"),
    ],
)
def test_a_wrong_row_is_told_with_file_entry_and_field(text: str, message: str) -> None:
    with pytest.raises(CatalogueError, match=f"^mine.toml: .*{message}"):
        read_tunings(text, "mine.toml")
