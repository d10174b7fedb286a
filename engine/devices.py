"""The devices: what a bass line does at the seams of a form.

Heads and tails combine into turnarounds by rule; doubling is a change of any device, and a
turnaround may come two beats late. A device that is made this way has an id that says how:
`climb+dip`, `fall+plain-five+doubled`, `climb+dip+late`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum

from engine.chords import BarChords, parse_bars
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import Form
from engine.pattern import Mark, Pattern, Tone
from engine.theory import Degree

DOUBLED, LATE = "doubled", "late"
LATE_BEATS = 2
"""How late a late turnaround begins."""

TWELVE = 12
"""Bars of the form that `bars` of a row counts in."""

MOST_TIMES = 8
"""How often an ending may be played: more is no ending."""

MOST_BARS = 4
"""Bars of a row: an answer of so many, all eighths, can still be typed."""

MOST_WAYS = 24
"""Alternatives of a base pattern."""

SOURCE_MARKS = ("published: ", "counted: ", "common practice", "from memory")


class Family(Enum):
    """What kind of device a row is. The value is what files and commands say."""

    HEAD = "head"
    TAIL = "tail"
    TURNAROUND = "turnaround"
    """A head and a tail together; never a row of its own."""

    PICKUP = "pickup"
    ENDING = "ending"
    BASE = "base"


class Arrival(Enum):
    """Where a head leaves the line, and what a tail can follow."""

    ONE = "one"
    FIVE = "five"
    OWN = "own"
    """The row holds both bars of the turnaround and takes no tail."""


@dataclass(frozen=True, slots=True)
class Change:
    """A change of chord, as the roots on both sides of the bar line."""

    here: Degree
    there: Degree

    def __str__(self) -> str:
        return f"{NUMERAL[self.here]} > {NUMERAL[self.there]}"


NUMERAL = {
    Degree(1): "I",
    Degree(2): "II",
    Degree(3): "III",
    Degree(4): "IV",
    Degree(5): "V",
    Degree(6): "VI",
    Degree(7): "VII",
}


@dataclass(frozen=True, slots=True)
class Device:
    """A named thing that a bass line does at a seam of the form."""

    id: str
    name: str
    family: Family
    bars: tuple[int, ...]
    """Where it may start in the twelve-bar form, bars counted from 1."""

    pattern: Pattern
    """The line, against the tonic; of a base pattern, against the chord."""

    says: str
    """One sentence a teacher would say about it."""

    source: str
    """How we know; starts with one of SOURCE_MARKS."""

    chords: tuple[BarChords, ...] = ()
    """What the rest of the band plays under it; empty means the chords of the form."""

    minor: bool = False
    """Whether it also suits a minor tune."""

    plain: bool = False
    """Whether nothing happens here; that is a real answer, and often offered."""

    change: Change | None = None
    """Of a pickup: the change of chord it serves."""

    leads_to: Arrival | None = None
    """Of a head."""

    follows: tuple[Arrival, ...] = ()
    """Of a tail."""

    variant_of: str | None = None
    times: int = 1
    """Of an ending: how often its bars are played."""

    feels: tuple[Feel, ...] = ()
    """Of a base pattern: the feels it suits."""

    alternatives: tuple[Pattern, ...] = ()
    """Of a base pattern: every form of it, `pattern` first."""

    parts: tuple[str, ...] = ()
    """Of a turnaround: the ids of its head and its tail."""

    @property
    def complete(self) -> bool:
        """Whether it can be played as it is; a head that needs a tail, or a tail, cannot."""
        if self.family is Family.HEAD:
            return self.leads_to is Arrival.OWN
        return self.family is not Family.TAIL

    @property
    def worth_spelling(self) -> bool:
        """Whether spelling it teaches something: it moves, or leads on from the base pattern."""
        tones = {step.what.degree for step in self.pattern.steps if isinstance(step.what, Tone)}
        leads = any(step.what is Mark.BASE for step in self.pattern.steps) and bool(tones)
        return self.family is not Family.BASE and (len(tones) > 1 or leads)

    @property
    def head(self) -> str:
        """The id of the head of a turnaround, or of the device itself."""
        return self.parts[0] if self.parts else self.id.partition("+")[0]

    @property
    def tail(self) -> str | None:
        """The id of the tail of a turnaround; None for everything else."""
        return self.parts[1] if len(self.parts) > 1 else None


def goes_with(head: Device, tail: Device) -> bool:
    """Whether `tail` may follow `head`: it must start from where the head leaves the line."""
    return head.leads_to in tail.follows


def combine(head: Device, tail: Device) -> Device:
    """The turnaround of a head and a tail.

    Raises MusicInputError when they do not go together.
    """
    if head.family is not Family.HEAD or tail.family is not Family.TAIL:
        raise MusicInputError(f"'{head.id}+{tail.id}': a turnaround is a head and then a tail")
    if not goes_with(head, tail):
        raise MusicInputError(
            f"'{tail.name}' does not follow '{head.name}': `lastbar devices` says what does"
        )
    return replace(
        head,
        id=f"{head.id}+{tail.id}",
        name=f"{head.name} + {tail.name}",
        family=Family.TURNAROUND,
        pattern=head.pattern.then(tail.pattern),
        says=f"{head.says} {tail.says}",
        source=f"{head.source}; {tail.source}",
        chords=_joined_chords(head, tail),
        minor=head.minor and tail.minor,
        parts=(head.id, tail.id),
    )


def _joined_chords(head: Device, tail: Device) -> tuple[BarChords, ...]:
    """Unset chords of one part become home chords, so that the two bars stay together."""
    if not head.chords and not tail.chords:
        return ()
    home = parse_bars("I7")
    return (head.chords or home) + (tail.chords or home)


def doubled(device: Device) -> Device:
    """The device with each quarter as two eighths.

    Raises MusicInputError for one that is doubled already, or has no notes of its own to double.
    """
    pattern = device.pattern.doubled()
    if device.id.endswith((f"+{DOUBLED}", f"+{LATE}")) or pattern == device.pattern:
        raise MusicInputError(f"'{device.id}' cannot be doubled: it has no quarters left")
    return replace(
        device,
        id=f"{device.id}+{DOUBLED}",
        name=f"{device.name}, doubled",
        pattern=pattern,
        variant_of=device.id,
        alternatives=tuple(way.doubled() for way in device.alternatives),
    )


def late(device: Device) -> Device:
    """The turnaround begun two beats late: the base pattern goes on, and the end is cut short.

    Raises MusicInputError for what is no head and tail, or is changed already.
    """
    if device.family is not Family.TURNAROUND or device.variant_of is not None:
        raise MusicInputError(f"'{device.id}' cannot come late: give HEAD+TAIL")
    return replace(
        device,
        id=f"{device.id}+{LATE}",
        name=f"{device.name}, two beats late",
        pattern=device.pattern.later(LATE_BEATS),
        variant_of=device.id,
    )


CHANGES: Mapping[str, Callable[[Device], Device]] = {DOUBLED: doubled, LATE: late}
"""What can be done to a device as a whole, by the word that stands in its id."""


def places(device: Device, form: Form) -> tuple[int, ...]:
    """The bars of `form`, counted from 1, in which `device` may start.

    A head starts in the bar before last, a tail in the last; an ending ends with the form. A
    pickup starts where its last bar stands before the change that it serves, the way back to the
    top included.
    """
    bars = len(form)
    if device.family is Family.BASE:
        return tuple(range(1, bars + 1))
    if device.family is not Family.PICKUP:
        start = bars if device.family is Family.TAIL else bars - max(device.pattern.bars, 2) + 1
        return (start,) if start >= 1 else ()
    return tuple(
        start for start in range(1, bars - device.pattern.bars + 2) if _serves(device, form, start)
    )


def _serves(device: Device, form: Form, start: int) -> bool:
    last = start + device.pattern.bars - 2  # index of the bar before the change
    here, there = form.bars[start - 1][0], form.bars[(last + 1) % len(form)][0]
    before = form.bars[last][-1]
    change = device.change
    assert change is not None  # a pickup without one is refused when the row is read
    under = [chord.root for bar in form.bars[start - 1 : last + 1] for chord in bar]
    # a longer one may pass over other chords, such as the diminished one of a jazz blues
    waits = change.there not in under if device.pattern.bars > 1 else before.root == change.here
    return here.root == change.here and there.root == change.there and waits
