"""From the keys of a MIDI instrument to the notes of a take.

A pitch-to-MIDI pickup on a bass chatters: a fret that buzzes sends a key again and again, a string
that is brushed sends a soft one, and the string before rings on into the next note. A line has one
note at a time, so a note lasts until its key comes up or the next note begins.
"""

from collections.abc import Iterable
from typing import NamedTuple

from engine.listening.notes import PlayedNote
from engine.theory import Midi

CHATTER_SECONDS = 0.06
"""A key that comes again so soon after it went down or came up is the same note. Sixteenths
at 180 beats a minute are 83 ms apart. [chosen here, no source]"""

GHOST_VELOCITY = 20
"""A key that goes down softer than this is a ghost note. [chosen here, no source]"""

GHOST_SECONDS = 0.04
"""A note that is over sooner was a slip, on a fret that was passed by. [chosen here, no source]"""


class Stroke(NamedTuple):
    """A key that went down or up."""

    at: float
    """Seconds, by any clock."""

    midi: Midi
    velocity: int
    """1 to 127; 0 when the key came up."""


class _Sounding(NamedTuple):
    """A note that is being gathered."""

    midi: Midi
    began: float
    ended: float | None
    """None while the key is down."""

    latest: float
    """When its key last went down or came up."""


def notes_of(strokes: Iterable[Stroke], start: float, end: float) -> tuple[PlayedNote, ...]:
    """The notes of a take that began at `start` and stands at `end`, both by the strokes' clock."""
    line: list[_Sounding] = []
    for stroke in strokes:
        before = line[-1] if line else None
        if stroke.velocity == 0:
            if before is not None and before.midi == stroke.midi:
                line[-1] = before._replace(ended=stroke.at, latest=stroke.at)
        elif stroke.velocity >= GHOST_VELOCITY:
            if before is not None and _chatters(before, stroke):
                line[-1] = before._replace(ended=None, latest=stroke.at)
                continue
            if before is not None and before.ended is None:
                line[-1] = before._replace(ended=stroke.at)
            line.append(_Sounding(stroke.midi, stroke.at, None, stroke.at))
    notes = (
        PlayedNote(
            onset=note.began - start,
            length=(end if note.ended is None else note.ended) - note.began,
            midi=note.midi,
        )
        for note in line
    )
    return tuple(note for note in notes if note.length >= GHOST_SECONDS)


def _chatters(before: _Sounding, stroke: Stroke) -> bool:
    return before.midi == stroke.midi and stroke.at - before.latest < CHATTER_SECONDS
