"""Figures as rows of notes: what the step drawing, the catalogue and the commands show."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from engine.catalogue import Device
from engine.errors import MusicInputError
from engine.figure import Figure, figure, neck_figure, paths
from engine.frets import format_position
from engine.neck import USUAL_NECK, Neck, positions
from engine.notation import NoteNames, format_note
from engine.pattern import Spot
from engine.theory import Key, Midi
from quiz.grading.lines import Error, Grade

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
    neck: Neck = USUAL_NECK,
    missed: Collection[Spot] = (),
    heights: Mapping[Spot, Midi] | None = None,
) -> tuple[DrawnNote, ...]:
    """The notes of a device in a key; `missed` marks the places where an answer went wrong, and
    `heights` says where its notes sound.

    The neck row is empty when a note is off the neck.
    """
    shape = shape_on(device, key, neck, heights)
    frets_row = neck_labels(shape, neck)
    return tuple(
        DrawnNote(
            note.spot,
            note.midi,
            (str(note.degree), format_note(note.note, names), fret),
            note.spot in missed,
        )
        for note, fret in zip(shape.notes, frets_row, strict=True)
    )


def shape_on(
    device: Device, key: Key, neck: Neck, heights: Mapping[Spot, Midi] | None = None
) -> Figure:
    """The figure at `heights`, where each note sounds; without them, or where that is off the neck,
    where it lies on the neck; at its usual height where it lies nowhere."""
    try:
        shape = neck_figure(device, key, neck)
    except MusicInputError:
        shape = figure(device, key)
    if heights is None or any(note.spot not in heights for note in shape.notes):
        return shape
    heard = tuple(replace(note, midi=heights[note.spot]) for note in shape.notes)
    if not all(positions(note.midi, neck.tuning, neck.frets) for note in heard):
        return shape
    return replace(shape, notes=heard)


def neck_labels(shape: Figure, neck: Neck = USUAL_NECK) -> tuple[str, ...]:
    """`E5 A2 A3 A4 A5`: string and fret of each note; empty texts when one is off the neck."""
    try:
        (best,) = paths(shape, neck, best=1)
    except MusicInputError:
        return ("",) * len(shape.notes)
    return tuple(format_position(position, neck.tuning) for position in best.positions)


def missed_spots(grade: Grade) -> frozenset[Spot]:
    """Where a typed answer had a wrong note or none."""
    return frozenset(
        pair.spot
        for pair in grade.pairs
        if pair.spot is not None and pair.error in (Error.WRONG, Error.MISSING)
    )
