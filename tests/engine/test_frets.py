"""Places on the neck as text."""

import pytest

from engine.errors import MusicInputError
from engine.frets import format_position, format_positions, parse_positions
from engine.neck import Neck, Position, find_tuning
from engine.notation import NoteNames
from engine.tunings import own_tuning

FOUR = Neck()
FIVE = Neck(find_tuning("five-string"))
DROP = Neck(find_tuning("drop-d"))
FLATS = Neck(own_tuning("flats", ["Bb0", "B1", "Eb2"]))
WALK_UP = (Position(0, 5), *(Position(1, fret) for fret in (2, 3, 4, 5)))


@pytest.mark.parametrize(
    "text",
    [
        "E5 A2 A3 A4 A5",
        "e5 a2 a3 a4 a5",
        "E 5, A 2, A 3, A 4 | A 5",
        "E5A2A3A4A5",
        "4/5 3/2 3/3 3/4 3/5",
        "4 / 5; 3/2 a3 3/4 A05",
        "  E5\tA2\nA3 A4 A5 ",
    ],
)
def test_a_line_is_read_as_string_and_fret(text: str) -> None:
    assert WALK_UP == parse_positions(text, FOUR)


@pytest.mark.parametrize(
    ("text", "neck", "places"),
    [
        ("low D3 D3", DROP, [(0, 3), (2, 3)]),
        ("LOWD3 4/3 2/3", DROP, [(0, 3), (0, 3), (2, 3)]),
        ("b0 5/0 1/20", FIVE, [(0, 0), (0, 0), (4, 20)]),
        ("Bb3 bb3 B3 b3 B♭3 Eb1", FLATS, [(0, 3), (0, 3), (1, 3), (1, 3), (0, 3), (2, 1)]),
    ],
)
def test_strings_have_the_names_of_the_instrument(
    text: str, neck: Neck, places: list[tuple[int, int]]
) -> None:
    assert tuple(Position(*place) for place in places) == parse_positions(text, neck)


@pytest.mark.parametrize(
    ("text", "names", "neck", "places"),
    [
        ("H1 E1", NoteNames.GERMAN, FIVE, [(0, 1), (1, 1)]),
        ("B1", NoteNames.GERMAN, FIVE, [(0, 1)]),
        ("Mi5 La2 sol0", NoteNames.SOLFEGE, FOUR, [(0, 5), (1, 2), (3, 0)]),
        ("low Re2 Re2", NoteNames.SOLFEGE, DROP, [(0, 2), (2, 2)]),
        ("B1 H1 Bb1", NoteNames.GERMAN, FLATS, [(1, 1), (1, 1), (0, 1)]),
    ],
)
def test_strings_have_names_in_the_players_language_too(
    text: str, names: NoteNames, neck: Neck, places: list[tuple[int, int]]
) -> None:
    assert tuple(Position(*place) for place in places) == parse_positions(text, neck, names)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "nothing was written: give string and fret, such as E5 or 4/5"),
        (" , ", "nothing was written"),
        ("E21", "'E21' is beyond the neck: frets are 0 \\(open\\) to 20"),
        ("4/99999999999999999999", "'4/9999.*' is beyond the neck"),
        ("5/3", "'5/3': there is no string 5: 1 is the highest, 4 the lowest"),
        ("0/3", "'0/3': there is no string 0"),
        ("X5", "'X5' is no place on the neck: .* the strings are E, A, D, G$"),
        ("E5 A", "'A' is no place on the neck"),
        ("E5 3", "'3' is no place on the neck"),
        ("E-5", "'E-5' is no place on the neck"),
        ("E٣", "'E٣' is no place on the neck"),
        ("E5 \x1b[2J", "'�\\[2J' is no place on the neck"),
        ("E5 " * 100, "300 characters is too long"),
    ],
)
def test_what_is_no_place_is_refused(text: str, message: str) -> None:
    with pytest.raises(MusicInputError, match=f"^{message}"):
        parse_positions(text, FOUR)


def test_places_are_written_with_the_strings_names() -> None:
    assert "E5 A2 A3 A4 A5" == format_positions(WALK_UP, FOUR.tuning)
    assert "low D0" == format_position(Position(0, 0), DROP.tuning)
