"""Which place of the neck sounds when."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from engine.catalogue import Device
from engine.fretboard import Position
from engine.line import LineNote
from engine.pattern import Spot
from engine.timing import Tick
from quiz.neck.notes import pattern_spot


class Light(NamedTuple):
    """A place that sounds for a while."""

    start: Tick
    end: Tick
    place: Position


def lights(
    line: Iterable[LineNote],
    device: Device,
    start: int,
    places: Mapping[Spot, Position],
    before: int = 0,
) -> tuple[Light, ...]:
    """The places of a device in a line, in order, every time its bars are played. The device is at
    bar index `start`, and `places` are counted from `before` beats behind it."""
    there = {Spot(spot.beat + before, spot.offbeat): place for spot, place in places.items()}
    played = [note for note in line if note.device == device.id]
    return tuple(
        Light(note.event.start, note.event.end, there[spot])
        for note in played
        if (spot := pattern_spot(note, device, start)) in there
    )


def lit(found: Sequence[Light], tick: int | None) -> Position | None:
    """The place that sounds at a tick; None in silence and in between."""
    if tick is None:
        return None
    return next((light.place for light in found if light.start <= tick < light.end), None)
