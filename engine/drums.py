"""The drummer: a count-in, a groove bar by bar, a small fill into the seam, and the last hit.

What is played depends on the plan's bars, feel and endings and on the seed; never on which
turnaround or pickup is placed, so that the drums do not give an answer away. Every bar draws from
a generator of its own: what happens in one does not shift the chances of the next.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TypeVar

from engine.catalogue import Family
from engine.feels import bar_tick
from engine.pattern import Spot, Tone
from engine.plan import COUNT_IN_BARS, Plan
from engine.score import KIT, PERCUSSION_CHANNEL, Drum, NoteEvent, Part, Track
from engine.styles import Cell, Groove, Stroke, Style, draw_style
from engine.theory import Midi
from engine.timing import BEATS_PER_BAR, TICKS_PER_BEAT, Tick

T = TypeVar("T")

COUNT_VELOCITY = 92
JITTER = 0.003
"""Seconds by which a hit may come early or late."""

VELOCITY_SPREAD = 5
LENGTHS = {Drum.RIDE: TICKS_PER_BEAT, Drum.CRASH: 4 * TICKS_PER_BEAT}
"""How long cymbals ring, in ticks; everything else is short."""

SHORT = TICKS_PER_BEAT // 8


@dataclass(frozen=True, slots=True)
class Stops:
    """Where an ending makes the band play with the line instead of keeping time."""

    spots: tuple[Spot, ...]
    """The strikes from the first stop on, beats counted from the start of the plan's music."""

    @property
    def first(self) -> int:
        """The beat from which nobody keeps time."""
        return self.spots[0].beat

    @property
    def last(self) -> Spot:
        """The last hit of the tune, which rings."""
        return self.spots[-1]


def find_stops(plan: Plan) -> Stops | None:
    """The stops of the ending that the plan closes with, or None.

    They are the strikes in the last bar of the line that has any, and the downbeat arrived at.
    An ending whose bars are played several times stops on the landing alone.
    """
    for placement in plan.placements:
        pattern = placement.device.pattern
        after = placement.bar + pattern.bars
        if placement.device.family is not Family.ENDING or after != len(plan.bars) - 1:
            continue
        struck = [step.spot for step in pattern.steps if isinstance(step.what, Tone)]
        if not struck:
            return None
        spots = [spot for spot in pattern.strikes if spot.bar >= struck[-1].bar]
        shift = placement.bar * BEATS_PER_BAR
        return Stops(tuple(Spot(spot.beat + shift, spot.offbeat) for spot in spots))
    return None


def draw_main(items: Sequence[T], seed: str) -> T:
    """One of the items: the first one half of the time, so that there is a groove to hold on to."""
    chance = random.Random(seed)
    return items[0] if len(items) == 1 or chance.random() < 0.5 else chance.choice(items[1:])


def pair_of(plan: Plan, bar: int) -> tuple[str, int]:
    """The two-bar unit of the form that bar index `bar` is in, as a name, and its place in it."""
    planned = plan.bars[bar]
    unit, place = divmod(planned.number - 1, 2)
    return f"{planned.chorus}:{unit}", place


def drum_track(plan: Plan, seed: int) -> Track:
    """The drums of a plan: count-in, time, lifts and fills, stops of an ending, landing."""
    style = draw_style(plan.feel, seed)
    stops = find_stops(plan)
    notes = _count_in()
    for bar in range(len(plan.bars)):
        strokes = _bar(plan, bar, style, seed, stops)
        notes.extend(_played(plan, bar, strokes, random.Random(f"{seed}:drum-touch:{bar}")))
    return Track(Part.DRUMS, KIT, PERCUSSION_CHANNEL, _cut(_ringing(notes, plan), plan.length))


def _count_in() -> list[NoteEvent]:
    """Four clicks, exactly in time."""
    beats = range(COUNT_IN_BARS * BEATS_PER_BAR)
    return [
        NoteEvent(
            Tick(beat * TICKS_PER_BEAT), Tick(SHORT), Midi(Drum.SIDE_STICK.value), COUNT_VELOCITY
        )
        for beat in beats
    ]


# --- what is played -----------------------------------------------------------------------------


def _bar(plan: Plan, bar: int, style: Style, seed: int, stops: Stops | None) -> Iterable[Stroke]:
    if plan.bars[bar].landing:
        return style.landing.strokes if stops is None else _stopped(bar, style, stops)
    strokes = _time(plan, bar, style, seed)
    if stops is None or stops.first >= (bar + 1) * BEATS_PER_BAR:
        return _varied(plan, bar, style, strokes, seed)
    kept = [stroke for stroke in strokes if stroke.cell.beat + bar * BEATS_PER_BAR < stops.first]
    return [*kept, *_stopped(bar, style, stops)]


def _time(plan: Plan, bar: int, style: Style, seed: int) -> list[Stroke]:
    pair, place = pair_of(plan, bar)
    groove = draw_main(style.time, f"{seed}:time:{pair}")
    first = place * BEATS_PER_BAR % groove.beats
    return _moved(groove.within(first, first + BEATS_PER_BAR), -first)


def _varied(plan: Plan, bar: int, style: Style, strokes: list[Stroke], seed: int) -> list[Stroke]:
    """The bar with a fill before the seam, a lift every four bars, a new start of the chorus."""
    number = plan.bars[bar].number
    chance = random.Random(f"{seed}:turn:{bar}")
    if number == len(plan.form):
        return _with_end(strokes, chance.choice(style.fill))
    if number % 4 == 0:
        return _with_end(strokes, chance.choice(style.lift))
    if number == 1 and bar > 0:
        rest = [stroke for stroke in strokes if stroke.cell.beat >= style.top.beats]
        return [*style.top.strokes, *rest]
    return strokes


def _with_end(strokes: list[Stroke], end: Groove) -> list[Stroke]:
    first = BEATS_PER_BAR - end.beats
    kept = [stroke for stroke in strokes if stroke.cell.beat < first]
    return kept + _moved(end.strokes, first)


def _stopped(bar: int, style: Style, stops: Stops) -> list[Stroke]:
    """The hits of this bar that go with the line; the last one of all rings."""
    strokes: list[Stroke] = []
    for spot in stops.spots:
        if spot.bar != bar:
            continue
        hit = style.landing if spot == stops.last else style.stop
        cell = Cell(spot.beat - bar * BEATS_PER_BAR, int(spot.offbeat), 2)
        strokes.extend(stroke._replace(cell=cell) for stroke in hit.within(0, 1))
    return strokes


def _moved(strokes: Iterable[Stroke], beats: int) -> list[Stroke]:
    return [
        stroke._replace(cell=stroke.cell._replace(beat=stroke.cell.beat + beats))
        for stroke in strokes
    ]


# --- how it is played ---------------------------------------------------------------------------


def _played(
    plan: Plan, bar: int, strokes: Iterable[Stroke], chance: random.Random
) -> list[NoteEvent]:
    start = bar_tick(COUNT_IN_BARS + bar)
    notes: list[NoteEvent] = []
    for stroke in strokes:
        tick = start + stroke.cell.tick(plan.feel, plan.tempo) + jitter(plan, chance)
        velocity = stroke.velocity + chance.randint(-VELOCITY_SPREAD, VELOCITY_SPREAD)
        length = Tick(LENGTHS.get(stroke.drum, SHORT))
        notes.append(NoteEvent(Tick(tick), length, Midi(stroke.drum.value), velocity))
    return notes


def jitter(plan: Plan, chance: random.Random) -> Tick:
    """A few milliseconds early or late, in ticks at the tempo of the plan."""
    return Tick(round(chance.uniform(-JITTER, JITTER) * plan.tempo / 60 * TICKS_PER_BEAT))


def _ringing(notes: Sequence[NoteEvent], plan: Plan) -> list[NoteEvent]:
    """The cymbals of the last hit of all ring to the end."""
    last = max(note.start for note in notes) - SHORT
    cymbals = {drum.value for drum in LENGTHS}
    return [
        replace(note, length=Tick(plan.length - note.start))
        if note.start > last and note.midi in cymbals
        else note
        for note in notes
    ]


def _cut(notes: Iterable[NoteEvent], length: Tick) -> tuple[NoteEvent, ...]:
    """In order of start, then pitch; each ends before the next of its pitch and by `length`."""
    kept: list[NoteEvent] = []
    for _, group in groupby(
        sorted(notes, key=lambda note: (note.midi, note.start)), key=lambda note: note.midi
    ):
        same = list(group)
        limits = [note.start for note in same[1:]] + [length]
        for note, limit in zip(same, limits, strict=True):
            end = min(note.end, limit)
            if end > note.start:
                kept.append(NoteEvent(note.start, Tick(end - note.start), note.midi, note.velocity))
    return tuple(sorted(kept, key=lambda note: (note.start, note.midi)))
