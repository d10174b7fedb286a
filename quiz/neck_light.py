"""Which place of the neck sounds when."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from engine.fretboard import Position
from engine.line import LineNote
from engine.pattern import Spot
from engine.timing import Tick
from quiz.neck_notes import device_spot


class Light(NamedTuple):
    """A place that sounds for a while."""

    start: Tick
    end: Tick
    place: Position


def lights(
    line: Iterable[LineNote],
    device: str,
    start: int,
    places: Mapping[Spot, Position],
    before: int = 0,
    repeats_after: int = 0,
) -> tuple[Light, ...]:
    """The places of a device in a line, in order. `places` are counted from `before` beats behind
    the start of the device, which is at bar index `start`; where its bars are played several times,
    they come again after `repeats_after` beats."""
    there = {Spot(spot.beat + before, spot.offbeat): place for spot, place in places.items()}
    found: list[Light] = []
    for note in line:
        if note.device != device:
            continue
        spot = device_spot(note, start)
        again = Spot(spot.beat % repeats_after, spot.offbeat) if repeats_after else spot
        place = there.get(spot) or there.get(again)
        if place is not None:
            found.append(Light(note.event.start, note.event.end, place))
    return tuple(found)


def lit(found: Sequence[Light], tick: int | None) -> Position | None:
    """The place that sounds at a tick; None in silence and in between."""
    if tick is None:
        return None
    return next((light.place for light in found if light.start <= tick < light.end), None)
