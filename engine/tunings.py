"""Tunings of the bass: the built-in ones from `data/tunings.toml`, and those of a player's own."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from engine.errors import MusicInputError, shown
from engine.fields import LONGEST_NAME, LONGEST_SENTENCE, Row
from engine.notation import format_pitch, parse_note, parse_pitch
from engine.rows import builtin_text, read_rows, refuse_twins
from engine.theory import Midi

FEWEST_STRINGS, MOST_STRINGS = 3, 8

LOWEST_OPEN, HIGHEST_OPEN = Midi(12), Midi(60)
"""C0 and C4: what an open string of a bass may be. [chosen here, wider than any bass is tuned]"""

LIKE_NAMED = ("lowest ", "low ", "")
"""What stands before the names of strings with one note name, the highest of them last."""


@dataclass(frozen=True, slots=True)
class Tuning:
    """The open strings of an instrument."""

    id: str
    name: str
    strings: tuple[tuple[str, Midi], ...]
    """Name and open pitch, lowest string first."""

    source: str = field(default="the player's own", compare=False)
    """Where the row comes from; what is strung alike is one tuning."""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the strings, lowest first."""
        return tuple(name for name, _ in self.strings)

    @property
    def open_pitches(self) -> tuple[Midi, ...]:
        """The open strings, lowest first."""
        return tuple(pitch for _, pitch in self.strings)


def strings_of(notes: Sequence[str]) -> tuple[tuple[str, Midi], ...]:
    """Named strings from what the player writes: `E1` or `28`, lowest first.

    Raises MusicInputError when one is no pitch, or they are too few, too many or out of order.
    """
    if not FEWEST_STRINGS <= len(notes) <= MOST_STRINGS:
        raise MusicInputError(
            f"{len(notes)} strings were given: give {FEWEST_STRINGS} to {MOST_STRINGS}"
        )
    pitches = [parse_pitch(note) for note in notes]
    for pitch in pitches:
        if not LOWEST_OPEN <= pitch <= HIGHEST_OPEN:
            raise MusicInputError(
                f"{format_pitch(pitch)} is no open string of a bass: give pitches from "
                f"{format_pitch(LOWEST_OPEN)} ({LOWEST_OPEN}) to "
                f"{format_pitch(HIGHEST_OPEN)} ({HIGHEST_OPEN})"
            )
    for lower, upper in pairwise(pitches):
        if lower >= upper:
            raise MusicInputError(
                f"{format_pitch(upper)} stands behind {format_pitch(lower)}: give the open "
                "strings from the lowest to the highest"
            )
    letters = [_letter(note, pitch) for note, pitch in zip(notes, pitches, strict=True)]
    return tuple(zip(_names(letters), pitches, strict=True))


def _letter(text: str, pitch: Midi) -> str:
    """The note's name as it was written, without its octave; of a number the usual one."""
    written = text.strip()
    name = format_pitch(pitch) if written.isdecimal() else written
    return str(parse_note(name.rstrip("0123456789-")))


def _names(letters: Sequence[str]) -> list[str]:
    """The letters, strings with one letter told apart by words."""
    left = Counter(letters)
    names: list[str] = []
    for letter in letters:
        if left[letter] > len(LIKE_NAMED):
            raise MusicInputError(
                f"{left[letter]} strings are called {letter}: at most {len(LIKE_NAMED)} may be"
            )
        names.append(LIKE_NAMED[-left[letter]] + letter)
        left[letter] -= 1
    return names


def own_tuning(name: str, notes: Sequence[str]) -> Tuning:
    """A tuning of the player's own.

    Raises MusicInputError as `strings_of` does.
    """
    strings = strings_of(notes)
    return Tuning(name, f"{name}, {' '.join(one for one, _ in strings)}", strings)


def read_tunings(text: str, file: str) -> tuple[Tuning, ...]:
    """The tunings of a data file.

    Raises CatalogueError naming entry and field.
    """
    tunings = tuple(_tuning(row) for row in read_rows(text, file, "tuning"))
    refuse_twins((tuning.id for tuning in tunings), file)
    return tunings


def _tuning(row: Row) -> Tuning:
    notes = row.texts("strings")
    try:
        strings = strings_of(notes)
    except MusicInputError as error:
        raise row.error("strings", str(error)) from error
    tuning = Tuning(
        id=row.identity(),
        name=row.line("name", LONGEST_NAME),
        strings=strings,
        source=row.line("source", LONGEST_SENTENCE),
    )
    row.finish()
    return tuning


TUNINGS = read_tunings(builtin_text("tunings.toml"), "tunings.toml")
"""The built-in tunings. They are read at once, in a third of a millisecond: nearly every function
about the neck has one of them as a default."""

FOUR_STRING = TUNINGS[0]


def find_tuning(name: str, own: Sequence[Tuning] = ()) -> Tuning:
    """The tuning of that id, the built-in ones first.

    Raises MusicInputError when there is none.
    """
    for tuning in (*TUNINGS, *own):
        if tuning.id == name:
            return tuning
    allowed = ", ".join(tuning.id for tuning in (*TUNINGS, *own))
    raise MusicInputError(f"there is no tuning {shown(name)}: give one of {allowed}")
