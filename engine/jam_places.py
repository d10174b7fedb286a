"""What is where in a jam: which device comes when, and which bar a moment is in."""

from collections.abc import Iterable
from dataclasses import dataclass

from engine.feels import bar_tick
from engine.jam import Leg, Placed, own_bars
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick, seconds_at


@dataclass(frozen=True, slots=True)
class Cue:
    """A device in the course of a jam, in ticks from its start."""

    device: str
    """Its id."""

    leg: int
    """The index of its leg."""

    chorus: int
    """Of the leg, 0 first."""

    bar: int
    """Of the form, counted from 1."""

    start: Tick
    """The downbeat of its first bar."""

    arrival: Tick
    """The downbeat behind its last bar, where it arrives."""


@dataclass(frozen=True, slots=True)
class JamPlace:
    """A beat of a jam."""

    leg: int
    """The index of the leg."""

    chorus: int
    """Of the leg, 0 first; the number of choruses while the band leads over."""

    bar: int
    """Of the form, counted from 1; 1 or 2 while the band leads over."""

    beat: int
    """0 to 3."""

    leads_over: bool = False
    """Whether the band is on its way into another key."""


def cues(leg: Leg) -> tuple[Cue, ...]:
    """The devices of a leg in order of time."""
    return tuple(_cue(leg, row) for row in sorted(leg.placed, key=lambda row: row[:2]))


def place_at(legs: Iterable[Leg], tick: Tick) -> JamPlace | None:
    """Where in these legs `tick` is; None before and behind them and while the last chord rings."""
    for leg in legs:
        if leg.start <= tick < leg.end:
            return _place_in(leg, tick)
    return None


def tick_at(seconds: float, tempo: float) -> Tick:
    """The tick that is nearest to `seconds` after the start of a jam."""
    return Tick(round(seconds / seconds_at(Tick(1), tempo)))


def _cue(leg: Leg, row: Placed) -> Cue:
    start = leg.start + bar_tick(row.chorus * len(leg.settings.form) + row.bar - 1)
    arrival = start + bar_tick(row.device.pattern.bars * row.device.times)
    return Cue(row.device.id, leg.index, row.chorus, row.bar, Tick(start), Tick(arrival))


def _place_in(leg: Leg, tick: Tick) -> JamPlace | None:
    bar, within = divmod(tick - leg.start, TICKS_PER_BAR)
    beat = within // TICKS_PER_BEAT
    behind = bar - leg.chorus_bars
    if behind >= 0:
        place = JamPlace(leg.index, leg.choruses, behind + 1, beat, leads_over=True)
        return place if leg.moves else None
    planned = own_bars(leg)[bar]
    return JamPlace(leg.index, planned.chorus, planned.number, beat)
