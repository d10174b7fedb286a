"""The notes that a figure has on the neck, and a line that plays them at that height."""

from collections.abc import Sequence
from dataclasses import replace

from engine.catalogue import Catalogue, Device, Family
from engine.figure import FigureNote, neck_figure
from engine.line import E1, LineNote
from engine.pattern import Spot
from engine.theory import OCTAVE, Midi
from engine.timing import BEATS_PER_BAR
from quiz.questions.value import Question


def neck_notes(question: Question, catalogue: Catalogue) -> tuple[FigureNote, ...]:
    """Of `find`: the notes of the row that is asked for, the downbeat arrived at among them, as low
    as they usually stand.

    Raises MusicInputError when the neck is too short for them.
    """
    part = catalogue.find(question.item)
    return neck_figure(part, question.key, question.own_neck).notes


def beats_before(part: Device) -> int:
    """Beats from the start of what is played to the part that is asked for: a tail stands in the
    second bar of a turnaround."""
    return BEATS_PER_BAR if part.family is Family.TAIL else 0


def pattern_spot(note: LineNote, device: Device, start: int) -> Spot:
    """Where a note of a line stands in the pattern of a device that starts at bar index `start`,
    whichever time its bars are played."""
    beat = (note.bar - start) * BEATS_PER_BAR + note.spot.beat
    beats = device.pattern.bars * BEATS_PER_BAR
    arrived = beat >= beats * device.times
    return Spot(beat - beats * (device.times - 1) if arrived else beat % beats, note.spot.offbeat)


def at_height(
    line: Sequence[LineNote],
    device: Device,
    start: int,
    notes: Sequence[FigureNote],
    before: int = 0,
    low: int = E1,
) -> tuple[LineNote, ...]:
    """The line with a device, from bar index `start` on, in the octave of `notes`, which stand
    `before` beats behind its start. The rest of the device moves with them, but not below `low`."""
    heights = {Spot(one.spot.beat + before, one.spot.offbeat): one.midi for one in notes}
    wanted = [
        heights.get(pattern_spot(note, device, start)) if note.device == device.id else None
        for note in line
    ]
    moved = _octaves(line, device, wanted, low)
    return tuple(
        note
        if note.device != device.id
        else _moved_to(note, note.event.midi + moved if height is None else height)
        for note, height in zip(line, wanted, strict=True)
    )


def _octaves(
    line: Sequence[LineNote], device: Device, wanted: Sequence[int | None], low: int
) -> int:
    """Semitones, whole octaves, by which the rest of a device moves: as its wanted notes do."""
    pairs = list(zip((note.event.midi for note in line), wanted, strict=True))
    moved = next((height - midi for midi, height in pairs if height is not None), 0)
    rest = [
        midi
        for note, (midi, height) in zip(line, pairs, strict=True)
        if note.device == device.id and height is None
    ]
    while rest and moved < 0 and min(rest) + moved < low:
        moved += OCTAVE
    return moved


def _moved_to(note: LineNote, height: int) -> LineNote:
    """The note in the octave that is nearest to a height."""
    midi = note.event.midi + OCTAVE * round((height - note.event.midi) / OCTAVE)
    return replace(note, event=replace(note.event, midi=Midi(midi)))
