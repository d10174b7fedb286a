"""What is going to be played: bars in order, their chords, and the devices placed on them.

A plan is either whole choruses or an excerpt of one; it may end on a landing, the downbeat of
the bar after, which rings. Everything that plays (line, band) reads the same plan.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engine.catalogue import Device, Family, places
from engine.chords import BarChords, Chord, parse_bars
from engine.errors import MusicInputError
from engine.feels import FEELS, Feel, bar_tick, spot_tick
from engine.forms import Form
from engine.pattern import Spot
from engine.theory import Degree, Key, Note, degree_of, spell
from engine.timing import Tick, checked_tempo

COUNT_IN_BARS = 1
"""Every plan starts with one bar of counting."""

LEAD_OVER_BARS = 2
"""Bars of the way from one key into another."""


@dataclass(frozen=True, slots=True)
class PlannedBar:
    """A bar that is going to be played."""

    chorus: int
    """0 first."""

    number: int
    """The bar of the form, counted from 1."""

    chords: BarChords
    landing: bool = False
    """Only the downbeat is played, and it rings."""


@dataclass(frozen=True, slots=True)
class Placement:
    """A device at its place."""

    device: Device
    bar: int
    """Index into the bars of the plan, 0 first."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Bars, devices, and how they are played."""

    form: Form
    key: Key
    feel: Feel
    tempo: float
    """Beats a minute."""

    base: Device
    """The base pattern."""

    bars: tuple[PlannedBar, ...]
    placements: tuple[Placement, ...] = ()

    def tick(self, bar: int, spot: Spot) -> Tick:
        """The tick of a place: `spot` counted from bar index `bar`, the count-in included."""
        start = bar_tick(COUNT_IN_BARS + bar)
        return Tick(start + spot_tick(spot.beat, spot.offbeat, self.feel, self.tempo))

    @property
    def length(self) -> Tick:
        """The whole plan, count-in included."""
        return bar_tick(COUNT_IN_BARS + len(self.bars))

    @property
    def compound(self) -> bool:
        """Whether the feel is written in 12/8."""
        return FEELS[self.feel].compound

    def chord(self, bar: int, beat: int) -> Chord:
        """The chord that sounds on `beat` (0 to 3) of bar index `bar`."""
        return self.bars[bar].chords[beat]


def plan_choruses(
    form: Form,
    key: Key,
    feel: Feel,
    tempo: float,
    base: Device,
    devices: Sequence[tuple[int, int, Device]] = (),
    choruses: int = 1,
) -> Plan:
    """Whole choruses and a landing, with devices given as (chorus from 0, bar from 1, device).

    An ending belongs into the last chorus; one that is played several times makes it longer.
    Raises MusicInputError for no chorus at all, a tempo that cannot be played, a device that has
    no place there or needs a tail, and devices that overlap.
    """
    if choruses < 1:
        raise MusicInputError(f"{choruses} choruses: give 1 or more")
    bars = [
        PlannedBar(chorus, number, _in_key(chords, form))
        for chorus in range(choruses)
        for number, chords in enumerate(form.bars, start=1)
    ]
    placements: list[Placement] = []
    for chorus, number, device in sorted(devices, key=lambda row: row[:2]):
        _check_place(device, form, number)
        _check_chorus(device, chorus, choruses)
        placements.append(Placement(device, chorus * len(form) + number - 1))
    for placement in placements:
        bars = _repeated(bars, placement)
    landing = PlannedBar(choruses, 1, bars[0].chords, landing=True)
    plan = Plan(
        form,
        key,
        feel,
        checked_tempo(tempo),
        base,
        (*_with_chords(bars, placements, form), landing),
        tuple(placements),
    )
    _check_apart(plan)
    return plan


def excerpt(plan: Plan, first: int, last: int) -> Plan:
    """Bars with index `first` to `last` of a plan, and the downbeat after them as landing.

    Devices that do not lie wholly inside are left out. `last` must not be the plan's landing.
    """
    after = plan.bars[last + 1]
    return replace(
        plan,
        bars=(*plan.bars[first : last + 1], replace(after, landing=True)),
        placements=tuple(
            replace(placement, bar=placement.bar - first)
            for placement in plan.placements
            if placement.bar >= first
            and placement.bar + placement.device.pattern.bars * placement.device.times - 1 <= last
        ),
    )


ROOTS = tuple(
    Degree(number, alter)
    for number, alter in (
        (1, 0), (2, -1), (2, 0), (3, -1), (3, 0), (4, 0), (5, -1), (4, 1),
        (5, 0), (6, -1), (6, 0), (7, -1), (7, 0),
    )
)  # fmt: skip
"""The roots that charts write; of two that sound alike, the later is the usual one."""

_USUAL = {root.pitch_class: root for root in ROOTS}


def seen_from(chords: BarChords, key: Key, tonic: Note) -> BarChords:
    """Chords of `key` as a chart writes them over another tonic: never `#6` or `b1`."""
    one, two, three, four = (
        replace(chord, root=_root(spell(chord.root, key.tonic), tonic)) for chord in chords
    )
    return one, two, three, four


def lead_over(form: Form, key: Key, following: Key, chorus: int) -> tuple[PlannedBar, PlannedBar]:
    """Two bars from `key` into the one that follows: its one, then two and five of the new key.

    They are numbered as the last bars of the form, so that the drums fill into what comes; all
    chords are written against the tonic of `key`. [common practice, no source]
    """
    home, ready = parse_bars("Im7 | IIm7 V7" if form.minor else "I7 | IIm7 V7")
    return (
        PlannedBar(chorus, len(form) - 1, home),
        PlannedBar(chorus, len(form), seen_from(ready, following, key.tonic)),
    )


def _root(note: Note, tonic: Note) -> Degree:
    degree = degree_of(note, tonic)
    return degree if degree in ROOTS else _USUAL[degree.pitch_class]


def _check_place(device: Device, form: Form, number: int) -> None:
    if not device.complete or device.family is Family.BASE:
        raise MusicInputError(f"'{device.name}' cannot stand alone: a turnaround is HEAD+TAIL")
    if number not in (allowed := places(device, form)):
        where = ", ".join(map(str, allowed)) or "no bar"
        raise MusicInputError(
            f"'{device.name}' does not start in bar {number} of the {form.name}: "
            f"it may start in {where}"
        )


def _check_chorus(device: Device, chorus: int, choruses: int) -> None:
    last = choruses - 1
    if not 0 <= chorus <= last:
        raise MusicInputError(f"'{device.name}' in chorus index {chorus}: give 0 to {last}")
    if device.family is Family.ENDING and chorus != last:
        raise MusicInputError(
            f"'{device.name}' ends the tune: put it into the last chorus, number {choruses}"
        )


def _check_apart(plan: Plan) -> None:
    for one, other in zip(plan.placements, plan.placements[1:], strict=False):
        if one.bar + one.device.pattern.bars > other.bar:
            raise MusicInputError(
                f"'{one.device.name}' and '{other.device.name}' overlap: move one of them"
            )


def _repeated(bars: list[PlannedBar], placement: Placement) -> list[PlannedBar]:
    """The bars with those of the device played as often as it asks."""
    device = placement.device
    passage = bars[placement.bar : placement.bar + device.pattern.bars]
    return bars + passage * (device.times - 1)


def _with_chords(
    bars: list[PlannedBar], placements: list[Placement], form: Form
) -> tuple[PlannedBar, ...]:
    """The bars with the chords that the devices imply."""
    changed = list(bars)
    for placement in placements:
        for offset, chords in enumerate(placement.device.chords):
            bar = placement.bar + offset
            changed[bar] = replace(changed[bar], chords=_in_key(chords, form))
    return tuple(changed)


def _in_key(chords: BarChords, form: Form) -> BarChords:
    """In a minor tune the one and the four of a device are minor. [common practice, no source]"""
    if not form.minor:
        return chords
    home = (Degree(1), Degree(4))
    one, two, three, four = (
        replace(chord, quality="m7") if chord.root in home and chord.quality == "7" else chord
        for chord in chords
    )
    return one, two, three, four
