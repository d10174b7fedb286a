"""Figures as rows of notes: what the step drawing, the catalogue and the commands show."""

from collections.abc import Collection
from dataclasses import dataclass

from engine.catalogue import Device
from engine.errors import MusicInputError
from engine.figure import Figure, figure, path
from engine.neck import FOUR_STRING, FRETS, Position, Tuning
from engine.notation import NoteNames, format_note
from engine.pattern import Spot
from engine.theory import Key
from quiz.grading import Error, Grade

ROWS = ("degree", "note", "neck")
"""The rows of labels under a drawing."""


@dataclass(frozen=True, slots=True)
class DrawnNote:
    """One note of a figure with its labels."""

    spot: Spot
    height: int
    """MIDI number."""

    labels: tuple[str, str, str]
    """One for each of ROWS."""

    missed: bool


def drawn(
    device: Device,
    key: Key,
    names: NoteNames = NoteNames.ENGLISH,
    tuning: Tuning = FOUR_STRING,
    frets: int = FRETS,
    missed: Collection[Spot] = (),
) -> tuple[DrawnNote, ...]:
    """The notes of a device in a key; `missed` marks the places where an answer went wrong.

    The neck row is empty when a note is off the neck.
    """
    shape = figure(device, key)
    frets_row = neck_labels(shape, tuning, frets)
    return tuple(
        DrawnNote(
            note.spot,
            note.midi,
            (str(note.degree), format_note(note.note, names), fret),
            note.spot in missed,
        )
        for note, fret in zip(shape.notes, frets_row, strict=True)
    )


def neck_labels(shape: Figure, tuning: Tuning, frets: int) -> tuple[str, ...]:
    """`E5 A2 A3 A4 A5`: string and fret of each note; empty texts when one is off the neck."""
    try:
        positions = path(shape, tuning, frets)
    except MusicInputError:
        return ("",) * len(shape.notes)
    return tuple(position_label(position, tuning) for position in positions)


def position_label(position: Position, tuning: Tuning) -> str:
    """`E5`: the string's name and the fret."""
    return f"{tuning.strings[position.string][0]}{position.fret}"


def missed_spots(grade: Grade) -> frozenset[Spot]:
    """Where a typed answer had a wrong note or none."""
    return frozenset(
        pair.spot
        for pair in grade.pairs
        if pair.spot is not None and pair.error in (Error.WRONG, Error.MISSING)
    )
