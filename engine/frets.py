"""Places on the neck as text: what players type, and what the program writes.

    line    places with spaces, commas or bar lines between them, or nothing
    place   a string and a fret: `E5`, `A 0`, `low D3`
            or a string's number, a slash and a fret: `4/5`, where 1 is the highest string
    string  the name of an open string of the instrument, in any case, or its name in the player's
            language of note names where that is no other string's
    fret    0 (the open string) up to the last fret of the neck

`E5 A2 A3 A4 A5` and `4/5 3/2 3/3 3/4 3/5` are the same line on four strings.
"""

import re
from collections.abc import Mapping, Sequence

from engine.errors import MusicInputError, shown
from engine.fretboard import Position
from engine.neck import Neck
from engine.notation import LONGEST_ANSWER, NoteNames, format_note, parse_note
from engine.tunings import Tuning

_BETWEEN = re.compile(r"[\s,;|–—]*")
_SIGNS = str.maketrans({"♭": "b", "♯": "#"})


def format_position(position: Position, tuning: Tuning) -> str:
    """`E5`: the string's name and the fret."""
    return f"{tuning.names[position.string]}{position.fret}"


def format_positions(line: Sequence[Position], tuning: Tuning) -> str:
    """`E5 A2 A3`, as `parse_positions` reads it."""
    return " ".join(format_position(position, tuning) for position in line)


def parse_positions(
    text: str, neck: Neck, names: NoteNames = NoteNames.ENGLISH
) -> tuple[Position, ...]:
    """Read a line of places.

    Raises MusicInputError for an empty, overlong or unreadable line, and for a place that the neck
    does not have.
    """
    if len(text) > LONGEST_ANSWER:
        raise MusicInputError(
            f"{len(text)} characters is too long: an answer has at most {LONGEST_ANSWER}"
        )
    strings = _string_names(neck.tuning, names)
    pattern = _place_pattern(strings)
    cleaned = text.translate(_SIGNS)
    line: list[Position] = []
    at = _past(cleaned, 0)
    while at < len(cleaned):
        match = pattern.match(cleaned, at)
        if match is None:
            raise MusicInputError(_unreadable(cleaned[at:], neck.tuning))
        line.append(_position(match, strings, neck))
        at = _past(cleaned, match.end())
    if not line:
        raise MusicInputError(f"nothing was written: {_how(neck.tuning)}")
    return tuple(line)


def _past(text: str, at: int) -> int:
    """Behind the signs that stand between places."""
    match = _BETWEEN.match(text, at)
    assert match is not None  # it matches nothing too
    return match.end()


def _string_names(tuning: Tuning, names: NoteNames) -> Mapping[str, int]:
    """What each string may be called, in small letters without spaces, and its index."""
    called: dict[str, int] = {}
    for index, name in enumerate(tuning.names):
        before, _, letter = name.rpartition(" ")
        called[_folded(before + format_note(parse_note(letter), names))] = index
    return called | {_folded(name): index for index, name in enumerate(tuning.names)}


def _folded(name: str) -> str:
    return name.replace(" ", "").casefold()


def _place_pattern(strings: Mapping[str, int]) -> re.Pattern[str]:
    """A place: the longest name that is there, so that `Bb3` is no B."""
    longest_first = sorted(strings, key=lambda name: (-len(name), name))
    words = "|".join(r"\s*".join(map(re.escape, name)) for name in longest_first)
    flags = re.IGNORECASE | re.ASCII
    return re.compile(rf"(?:(?P<name>{words})|(?P<number>\d+)\s*/)\s*(?P<fret>\d+)(?!\s*/)", flags)


def _position(match: re.Match[str], strings: Mapping[str, int], neck: Neck) -> Position:
    count = len(neck.tuning.strings)
    if match["number"] is not None:
        number = int(match["number"][:4])
        if not 1 <= number <= count:
            raise MusicInputError(
                f"{shown(match.group())}: there is no string {number}: 1 is the highest, "
                f"{count} the lowest"
            )
        string = count - number
    else:
        string = strings[_folded("".join(match["name"].split()))]
    fret = int(match["fret"][:4])
    if fret > neck.frets:
        raise MusicInputError(
            f"{shown(match.group())} is beyond the neck: frets are 0 (open) to {neck.frets}"
        )
    return Position(string, fret)


def _unreadable(rest: str, tuning: Tuning) -> str:
    token = re.split(r"[\s,;|]", rest, maxsplit=1)[0]
    return f"{shown(token)} is no place on the neck: {_how(tuning)}"


def _how(tuning: Tuning) -> str:
    lowest = tuning.names[0]
    return (
        f"give string and fret, such as {lowest}5 or {len(tuning.strings)}/5 (string 1 is the "
        f"highest); the strings are {', '.join(tuning.names)}"
    )
