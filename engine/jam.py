"""The open jam: chorus after chorus without a stop, the key moving on now and then.

A jam is a row of legs. A leg is a few whole choruses in one key with devices in them, and, when the
key moves behind it, two bars in which the band leads over. Its plan reaches over both joints, so
that where the bass comes from and what it is led to are known there; its score is what the leg
itself plays, in ticks from the start of the jam.
"""

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import count
from math import ceil
from typing import NamedTuple

from engine.arrangement import arrange
from engine.catalogue import Device, Family
from engine.chords import parse_bars
from engine.drums import JITTER
from engine.errors import MusicInputError
from engine.feels import Feel, bar_tick
from engine.forms import Form
from engine.line import Compass, LineNote, write_line
from engine.pattern import Pattern, Spot, Step, Tone
from engine.plan import (
    COUNT_IN_BARS,
    LEAD_OVER_BARS,
    Placement,
    Plan,
    PlannedBar,
    lead_over,
    plan_choruses,
    seen_from,
)
from engine.score import ELECTRIC_PIANO, Instrument, NoteEvent, Score
from engine.styles import draw_style
from engine.textures import Texture
from engine.theory import Degree, Key, Midi, nearest_tonic, same_pitch
from engine.timing import TICKS_PER_BEAT, Tick

FEWEST_CHORUSES, MOST_CHORUSES = 2, 4
"""Of a leg."""

AHEAD = 4
"""Bars of the next chorus that a line looks ahead into, so that it arrives at a good height."""

ENTRANCE = "entrance"
"""The id of the device that nobody hears, before a leg."""


@dataclass(frozen=True, slots=True)
class JamSettings:
    """What stays the same from the first bar of a jam to the last."""

    form: Form
    feel: Feel
    tempo: float
    """Beats a minute."""

    base: Device
    """The base pattern."""

    texture: Texture = Texture.BAND
    comping: Instrument = ELECTRIC_PIANO
    compass: Compass | None = None
    """Of the bass; None for the one that `engine.line.write_line` takes by itself."""


class Placed(NamedTuple):
    """A device in a leg."""

    chorus: int
    """Of the leg, 0 first."""

    bar: int
    """Of the form, counted from 1, where the device starts."""

    device: Device


class Entry(NamedTuple):
    """How the bass comes into a leg out of the one before."""

    pitch: Midi
    """On which it arrives at the first downbeat."""

    held: bool
    """Whether that note stays whatever the line would like: it ends a device, or the line would
    leap away from it."""


@dataclass(frozen=True, slots=True)
class Leg:
    """Some choruses in one key. `first_leg` and `next_leg` make one and look whether it is sound.

    All that is played follows from this value alone.
    """

    settings: JamSettings
    seed: int
    """Of the whole jam."""

    index: int
    """0 for the first leg of the jam."""

    start: Tick
    """Its first downbeat, from the start of the jam, which is the count-in before leg 0."""

    key: Key
    choruses: int
    placed: tuple[Placed, ...]
    following: Key | None
    """The key of the leg after it; None when the jam ends with this leg."""

    entry: Entry | None = None
    """Where the bass goes on; None to start where it likes."""

    @property
    def moves(self) -> bool:
        """Whether the band leads over into another key behind the choruses."""
        return self.following is not None and not same_pitch(self.key.tonic, self.following.tonic)

    @property
    def chorus_bars(self) -> int:
        """Bars of all its choruses, those that an ending plays again included."""
        again = sum((row.device.times - 1) * row.device.pattern.bars for row in self.placed)
        return self.choruses * len(self.settings.form) + again

    @property
    def end(self) -> Tick:
        """Where the next leg starts, or the last chord of the jam has rung for a bar."""
        behind = 1 if self.following is None else LEAD_OVER_BARS if self.moves else 0
        return Tick(self.start + bar_tick(self.chorus_bars + behind))


def first_leg(
    settings: JamSettings,
    seed: int,
    key: Key,
    choruses: int,
    placed: Iterable[Placed] = (),
    following: Key | None = None,
) -> Leg:
    """The leg that a jam starts with; `following` is the key of the next one.

    Raises MusicInputError for a number of choruses that is not FEWEST_CHORUSES to MOST_CHORUSES, an
    ending where the jam goes on, and whatever `plan_choruses` and `write_line` refuse.
    """
    start = bar_tick(COUNT_IN_BARS)
    return _checked(Leg(settings, seed, 0, start, key, choruses, tuple(placed), following))


def next_leg(
    before: Leg, choruses: int, placed: Iterable[Placed] = (), following: Key | None = None
) -> Leg:
    """The leg behind another one, in the key that was promised there; raises as `first_leg`."""
    if before.following is None:
        raise MusicInputError(f"leg {before.index} ends the jam: give it a key that follows")
    leg = Leg(
        settings=before.settings,
        seed=before.seed,
        index=before.index + 1,
        start=before.end,
        key=before.following,
        choruses=choruses,
        placed=tuple(placed),
        following=following,
        entry=_arrival(before),
    )
    return _held(_checked(leg))


def leg_plan(leg: Leg) -> Plan:
    """The plan of a leg with its joints.

    Before the leg's own bars stands, except in the first leg, a bar that only says where the bass
    comes from; behind them stands the downbeat of what follows. Neither is in the score.
    """
    settings, before = leg.settings, _lead_in(leg)
    whole = plan_choruses(
        settings.form,
        leg.key,
        settings.feel,
        settings.tempo,
        settings.base,
        leg.placed,
        leg.choruses,
    )
    *bars, landing = whole.bars
    if leg.following is not None:
        chords = seen_from(landing.chords, leg.following, leg.key.tonic)
        landing = replace(landing, chords=chords)
        if leg.moves:
            bars += lead_over(settings.form, leg.key, leg.following, leg.choruses)
    led = [] if leg.entry is None else [Placement(_entrance(leg, leg.entry), 0)]
    own = [replace(row, bar=row.bar + len(before)) for row in whole.placements]
    return replace(whole, bars=(*before, *bars, landing), placements=(*led, *own))


def own_bars(leg: Leg) -> tuple[PlannedBar, ...]:
    """The bars of a leg's plan from its first downbeat on."""
    return leg_plan(leg).bars[len(_lead_in(leg)) :]


def leg_score(leg: Leg) -> Score:
    """What the band plays in a leg, in ticks from the start of the jam; it ends at `leg.end`.

    A hit that belongs to a downbeat may come up to `engine.drums.JITTER` seconds before it, at the
    joint too.
    """
    plan, seed = leg_plan(leg), _seed(leg)
    line = _line(leg, plan, seed)
    score = arrange(plan, line, leg.settings.texture, seed, leg.settings.comping)
    tracks = (replace(track, notes=tuple(_own(leg, track.notes))) for track in score.tracks)
    return replace(score, tracks=tuple(tracks), length=leg.end)


def _checked(leg: Leg) -> Leg:
    if not FEWEST_CHORUSES <= leg.choruses <= MOST_CHORUSES:
        raise MusicInputError(
            f"{leg.choruses} choruses in a leg: give {FEWEST_CHORUSES} to {MOST_CHORUSES}"
        )
    for row in leg.placed:
        if row.device.family is Family.ENDING and leg.following is not None:
            raise MusicInputError(
                f"'{row.device.name}' ends the tune: put it into the last leg of the jam"
            )
    _line(leg, leg_plan(leg), _seed(leg))  # it refuses what has no place, or does not fit the bass
    return leg


# --- the joints -----------------------------------------------------------------------------------


def _lead_in(leg: Leg) -> list[PlannedBar]:
    """The bar before a leg; none before the first.

    It counts as a landing, in which nobody keeps time: no chord is pushed out of it.
    """
    five = parse_bars("V7")[0]
    return [PlannedBar(-1, len(leg.settings.form), five, landing=True)] if leg.index else []


def _entrance(leg: Leg, entry: Entry) -> Device:
    """A device that nobody hears: a bar in which the bass already stands where it goes on.

    A line chooses the octaves of its segments by itself, each near the last. This segment touches
    both ends of the compass, which leaves it one octave; so the base pattern starts near it, or,
    where the first note is held, goes on behind it.
    """
    compass = leg.settings.compass or Compass()
    line = (compass.low, compass.high, entry.pitch, entry.pitch)
    steps = tuple(Step(Spot(beat), _tone(leg.key, pitch)) for beat, pitch in enumerate(line))
    arrival = _tone(leg.key, entry.pitch) if entry.held else None
    return replace(leg.settings.base, id=ENTRANCE, pattern=Pattern(1, steps, arrival))


def _tone(key: Key, pitch: Midi) -> Tone:
    """The tone that has this pitch over the lowest tonic of the key; its spelling is of no use."""
    return Tone(Degree(1, pitch - nearest_tonic(key, 0)))


def _arrival(leg: Leg) -> Entry | None:
    """The bass on the downbeat behind a leg; None when nothing is struck there."""
    note = _downbeat(leg, len(leg_plan(leg).bars) - 1)
    return None if note is None else Entry(note.event.midi, held=note.device is not None)


def _held(leg: Leg) -> Leg:
    """The leg, its first note held where the line would begin it in another octave."""
    note = _downbeat(leg, len(_lead_in(leg)))
    if leg.entry is None or note is None or note.event.midi == leg.entry.pitch:
        return leg
    return replace(leg, entry=leg.entry._replace(held=True))


def _downbeat(leg: Leg, bar: int) -> LineNote | None:
    """What the bass strikes on the downbeat of a bar of the leg's plan."""
    line = _line(leg, leg_plan(leg), _seed(leg))
    return next((note for note in line if (note.bar, note.spot) == (bar, Spot(0))), None)


# --- what is played -------------------------------------------------------------------------------


def _seed(leg: Leg) -> int:
    """A seed of its own for every leg, with which the band goes on in the style of the jam."""
    feel = leg.settings.feel
    style = draw_style(feel, leg.seed)
    seeds = (
        random.Random(f"{leg.seed}:leg:{leg.index}:{attempt}").getrandbits(32)
        for attempt in count()
    )
    return next(seed for seed in seeds if draw_style(feel, seed) == style)


def _line(leg: Leg, plan: Plan, seed: int) -> tuple[LineNote, ...]:
    """The bass line of a leg's plan, and on into the chorus that follows."""
    if leg.following is not None:
        ahead = (
            PlannedBar(leg.choruses + 1, number, seen_from(chords, leg.following, leg.key.tonic))
            for number, chords in enumerate(leg.settings.form.bars[:AHEAD], start=1)
        )
        plan = replace(plan, bars=(*plan.bars[:-1], *ahead))
    return write_line(plan, seed, leg.settings.compass)


def _own(leg: Leg, notes: Iterable[NoteEvent]) -> Iterator[NoteEvent]:
    """The notes that belong to the leg, at their place in the jam, cut where the next one starts.

    What is struck within the reach of a hand's unsteadiness before a joint belongs behind it.
    """
    early = ceil(JITTER * leg.settings.tempo / 60 * TICKS_PER_BEAT)
    opens = 0 if leg.index == 0 else leg.start - early
    closes = leg.end if leg.following is None else leg.end - early
    shift = leg.start - bar_tick(COUNT_IN_BARS + len(_lead_in(leg)))
    for note in notes:
        start, end = note.start + shift, min(note.end + shift, closes)
        if opens <= start < closes:
            yield replace(note, start=Tick(start), length=Tick(end - start))
