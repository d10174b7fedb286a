"""The devices: what a bass line does at the seams of a form, read from `data/devices.toml`.

Heads and tails combine into turnarounds by rule; doubling is a change of any device. A device
that is made this way has an id that says how: `climb+dip`, `fall+plain-five+doubled`.
"""

from dataclasses import dataclass, replace
from enum import Enum
from functools import cache

from engine.chords import BarChords, parse_bars
from engine.errors import CatalogueError, MusicInputError, shown
from engine.feels import Feel
from engine.forms import Form
from engine.pattern import Mark, Pattern, Tone, parse_pattern
from engine.rows import Row, builtin_text, read_rows, refuse_twins
from engine.theory import Degree

DOUBLED = "doubled"
TWELVE = 12
"""Bars of the form that `bars` of a row counts in."""

MOST_TIMES = 8
"""How often an ending may be played: more is no ending."""

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
        return f"{_NUMERAL[self.here]} > {_NUMERAL[self.there]}"


_NUMERAL = {
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
        return self.parts[0] if self.parts else self.id.removesuffix(f"+{DOUBLED}")

    @property
    def tail(self) -> str | None:
        """The id of the tail of a turnaround; None for everything else."""
        return self.parts[1] if len(self.parts) > 1 else None


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All devices, in the order of the file, which is the order of learning."""

    devices: tuple[Device, ...]

    def family(self, *families: Family) -> tuple[Device, ...]:
        """The rows of the given families."""
        return tuple(device for device in self.devices if device.family in families)

    def find(self, name: str) -> Device:
        """The device of an id; ids such as `climb+dip` and `dip+doubled` are put together.

        Raises MusicInputError when there is none, or the parts do not go together.
        """
        single = name.removesuffix(f"+{DOUBLED}")
        parts = single.split("+")
        if len(parts) > 2 or DOUBLED in parts[1:]:
            raise MusicInputError(
                f"there is no device {shown(name)}: a turnaround is HEAD+TAIL, "
                f"and +{DOUBLED} comes once, at the end"
            )
        rows = [self._row(part) for part in parts]
        device = combine(*rows) if len(rows) == 2 else rows[0]
        return device if single == name else doubled(device)

    def tails_for(self, head: Device) -> tuple[Device, ...]:
        """The tails that may follow `head`; none when it brings its own."""
        return tuple(tail for tail in self.family(Family.TAIL) if goes_with(head, tail))

    def turnarounds(self) -> tuple[Device, ...]:
        """Every whole turnaround: each head with each tail that goes with it."""
        whole: list[Device] = []
        for head in self.family(Family.HEAD):
            tails = self.tails_for(head)
            whole.extend([combine(head, tail) for tail in tails] or [head])
        return tuple(whole)

    def completed(self, device: Device) -> Device:
        """The device as something that can be played by itself.

        A head gets the first tail that can follow any head, a tail the first head that it goes
        with. Raises MusicInputError when there is none.
        """
        if device.complete:
            return device
        if device.family is Family.HEAD:
            tails = sorted(self.tails_for(device), key=lambda tail: -len(tail.follows))
            pairs = [(device, tail) for tail in tails]
        else:
            heads = [head for head in self.family(Family.HEAD) if goes_with(head, device)]
            pairs = [(head, device) for head in heads]
        if not pairs:
            raise MusicInputError(f"nothing goes with '{device.name}': check leads_to and follows")
        return combine(*pairs[0])

    def _row(self, name: str) -> Device:
        for device in self.devices:
            if device.id == name:
                return device
        raise MusicInputError(f"there is no device {shown(name)}: `lastbar devices` lists them all")


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
    if device.id.endswith(f"+{DOUBLED}") or pattern == device.pattern:
        raise MusicInputError(f"'{device.id}' cannot be doubled: it has no quarters left")
    return replace(
        device,
        id=f"{device.id}+{DOUBLED}",
        name=f"{device.name}, doubled",
        pattern=pattern,
        variant_of=device.id,
        alternatives=tuple(way.doubled() for way in device.alternatives),
    )


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


def read_catalogue(text: str, file: str) -> Catalogue:
    """The devices of a data file.

    Raises CatalogueError naming entry and field.
    """
    rows = read_rows(text, file, "device")
    devices = tuple(_device(row) for row in rows)
    refuse_twins((device.id for device in devices), file)
    known = {device.id for device in devices}
    for row, device in zip(rows, devices, strict=True):
        if device.variant_of is not None and device.variant_of not in known - {device.id}:
            raise row.error(
                "variant_of", f"there is no other device {shown(device.variant_of)} in this file"
            )
    return Catalogue(devices)


@cache
def builtin_catalogue() -> Catalogue:
    """The catalogue that comes with the program."""
    return read_catalogue(builtin_text("devices.toml"), "devices.toml")


ROW_FAMILIES = tuple(family.value for family in Family if family is not Family.TURNAROUND)


def _device(row: Row) -> Device:
    family = Family(row.choice("family", ROW_FAMILIES))
    texts = row.texts("degrees")
    patterns = tuple(_pattern(row, text, family) for text in texts)
    device = Device(
        id=row.identity(),
        name=row.text("name"),
        family=family,
        bars=row.numbers("bars", most=TWELVE),
        pattern=patterns[0],
        says=row.text("says"),
        source=_source(row),
        chords=row.parsed("chords", parse_bars) if row.has("chords") else (),
        minor=row.flag("minor", False),
        plain=row.flag("plain", False),
        change=row.parsed("serves", _change) if family is Family.PICKUP else None,
        leads_to=_leads_to(row, family),
        follows=_follows(row) if family is Family.TAIL else (),
        variant_of=row.text("variant_of") if row.has("variant_of") else None,
        times=row.whole("times", 1, 1, MOST_TIMES) if family is Family.ENDING else 1,
        feels=_feels(row) if family is Family.BASE else (),
        alternatives=patterns if family is Family.BASE else (),
    )
    _check_whole(row, device, len(texts))
    row.finish()
    return device


def _pattern(row: Row, text: str, family: Family) -> Pattern:
    try:
        pattern = parse_pattern(text)
    except MusicInputError as error:
        raise row.error("degrees", str(error)) from error
    marks = {step.what for step in pattern.steps if isinstance(step.what, Mark)}
    if family is Family.BASE and (Mark.BASE in marks or pattern.arrival is not None):
        raise row.error(
            "degrees", f"{shown(text)}: a base pattern has no * and no downbeat arrived at"
        )
    if family is not Family.BASE and Mark.LEAD in marks:
        raise row.error("degrees", f"{shown(text)}: ~ belongs to base patterns; write the degree")
    if family is Family.PICKUP and pattern.arrival is None:
        raise row.error("degrees", f"{shown(text)}: a pickup needs its target after the last |")
    return pattern


def _check_whole(row: Row, device: Device, forms_of_it: int) -> None:
    """What no single field shows: lengths that have to agree."""
    bars = device.pattern.bars
    if forms_of_it > 1 and device.family is not Family.BASE:
        raise row.error("degrees", "only a base pattern may give a list of alternatives")
    if device.chords and len(device.chords) != bars:
        raise row.error("chords", f"{len(device.chords)} bars of chords over {bars} of degrees")
    if device.family is Family.TAIL and bars != 1:
        raise row.error("degrees", f"a tail has one bar, not {bars}")
    wanted = 2 if device.leads_to is Arrival.OWN else 1
    if device.family is Family.HEAD and bars != wanted:
        raise row.error(
            "degrees",
            f"leads_to '{device.leads_to and device.leads_to.value}' "
            f"goes with {wanted} bars, not {bars}",
        )


def _source(row: Row) -> str:
    source = row.text("source")
    if not source.startswith(SOURCE_MARKS):
        raise row.error(
            "source",
            f"{shown(source)} was given: start with one of "
            f"{', '.join(mark.strip() for mark in SOURCE_MARKS)}",
        )
    return source


def _change(text: str) -> Change:
    numerals = {numeral: degree for degree, numeral in _NUMERAL.items()}
    here, arrow, there = text.partition(">")
    if not arrow or here.strip() not in numerals or there.strip() not in numerals:
        raise CatalogueError(f"{shown(text)} was given: give a change such as I > IV")
    return Change(numerals[here.strip()], numerals[there.strip()])


def _leads_to(row: Row, family: Family) -> Arrival | None:
    if family is not Family.HEAD:
        return None
    return Arrival(row.choice("leads_to", [arrival.value for arrival in Arrival]))


def _follows(row: Row) -> tuple[Arrival, ...]:
    allowed = (Arrival.ONE.value, Arrival.FIVE.value)
    values = row.texts("follows")
    if not values or not set(values) <= set(allowed):
        raise row.error("follows", f"{list(values)} was given: give {' or '.join(allowed)}")
    return tuple(Arrival(value) for value in values)


def _feels(row: Row) -> tuple[Feel, ...]:
    allowed = [feel.value for feel in Feel]
    values = row.texts("feels")
    if not values or not set(values) <= set(allowed):
        raise row.error("feels", f"{list(values)} was given: give some of {', '.join(allowed)}")
    return tuple(Feel(value) for value in values)
