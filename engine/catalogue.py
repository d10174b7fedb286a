"""The devices: what a bass line does at the seams of a form, read from `data/devices.toml`.

Heads and tails combine into turnarounds by rule; doubling is a change of any device, and a
turnaround may come two beats late. A device that is made this way has an id that says how:
`climb+dip`, `fall+plain-five+doubled`, `climb+dip+late`.
"""

import reprlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from functools import cache

from engine.chords import BarChords, parse_bars
from engine.errors import CatalogueError, MusicInputError, shown
from engine.feels import Feel
from engine.fields import LONGEST_NAME, LONGEST_SENTENCE, Row
from engine.forms import Form, builtin_forms, find_form
from engine.pattern import Mark, Pattern, Tone, parse_pattern
from engine.rows import Report, builtin_text, read_each, read_rows, refuse, without_twins
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
        return self.parts[0] if self.parts else self.id.partition("+")[0]

    @property
    def tail(self) -> str | None:
        """The id of the tail of a turnaround; None for everything else."""
        return self.parts[1] if len(self.parts) > 1 else None


@dataclass(frozen=True, slots=True)
class Catalogue:
    """All devices, in the order of the file, which is the order of learning, and all forms."""

    devices: tuple[Device, ...]
    forms: tuple[Form, ...] = field(default_factory=builtin_forms)

    def family(self, *families: Family) -> tuple[Device, ...]:
        """The rows of the given families."""
        return tuple(device for device in self.devices if device.family in families)

    def form(self, name: str) -> Form:
        """The form of an id.

        Raises MusicInputError when there is none.
        """
        return find_form(name, self.forms)

    def name(self, row: str) -> str:
        """What the screen calls a device or a form; the id itself when the catalogue has neither,
        as it can be of something that was deleted since it was asked."""
        for form in self.forms:
            if form.id == row:
                return form.name
        try:
            return self.find(row).name
        except MusicInputError:
            return row

    def find(self, name: str) -> Device:
        """The device of an id; ids such as `climb+dip` and `dip+doubled` are put together.

        Raises MusicInputError when there is none, or the parts do not go together.
        """
        parts = name.split("+")
        change = CHANGES.get(parts[-1]) if len(parts) > 1 else None
        if change is not None:
            parts.pop()
        if len(parts) > 2 or any(part in CHANGES for part in parts):
            raise MusicInputError(
                f"there is no device {shown(name)}: a turnaround is HEAD+TAIL, "
                f"and one of {', '.join(f'+{word}' for word in CHANGES)} may come at the end"
            )
        rows = [self._row(part) for part in parts]
        device = combine(*rows) if len(rows) == 2 else rows[0]
        return device if change is None else change(device)

    def variants(self, device: Device) -> tuple[Device, ...]:
        """Every way to vary a device that can be played by itself: by a row that is a variant of it
        or of its head, doubled, and late. None of them is an answer of its own where the player
        only says that the device was varied."""
        rows = [row for row in self.devices if row.variant_of == device.head]
        if device.tail is not None:
            tail = self._row(device.tail)
            rows = [combine(row, tail) for row in rows if goes_with(row, tail)]
        changed = []
        for change in CHANGES.values():
            try:
                changed.append(change(device))
            except MusicInputError:
                continue  # it has nothing that could be changed this way
        return (*rows, *changed)

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


def read_catalogue(text: str, file: str) -> Catalogue:
    """The devices of a data file.

    Raises CatalogueError naming entry and field.
    """
    empty = Catalogue(())
    return with_devices(empty, devices_of(read_rows(text, file, "device"), empty, {}, refuse))


def with_devices(catalogue: Catalogue, more: Iterable[tuple[Row, Device]]) -> Catalogue:
    """The catalogue with the devices of some rows behind its own."""
    return replace(catalogue, devices=(*catalogue.devices, *(device for _, device in more)))


def devices_of(
    rows: Iterable[Row], catalogue: Catalogue, taken: Mapping[str, str], report: Report
) -> list[tuple[Row, Device]]:
    """The devices of some rows, each beside its row; rows that break a rule are reported instead.

    A row may be a variant of another one or of a device of `catalogue`. `taken` are the ids that
    are used elsewhere, with the words that say where.
    """
    read = without_twins(read_each(rows, _device, report), taken, report)
    return with_originals(read, catalogue, report)


def with_originals(
    read: Sequence[tuple[Row, Device]], catalogue: Catalogue, report: Report
) -> list[tuple[Row, Device]]:
    """The rows that are a variant of nothing, or of one that is there and of their own kind.

    A row whose original is missing is missing to its own variants.
    """
    there = {device.id: device for device in catalogue.devices}
    variants: dict[str, list[tuple[Row, Device]]] = {}
    waiting: list[Device] = list(catalogue.devices)
    for row, device in read:
        if device.variant_of is None:
            there[device.id] = device
            waiting.append(device)
        else:
            variants.setdefault(device.variant_of, []).append((row, device))
    while waiting:
        original = waiting.pop()
        for _, device in variants.get(original.id, ()):
            if _alike_in_kind(device, original):
                there[device.id] = device
                waiting.append(device)
    for row, device in read:
        if device.id not in there:
            report(_no_original(row, device, there))
    return [(row, device) for row, device in read if device.id in there]


def _alike_in_kind(variant: Device, original: Device) -> bool:
    one, other = ((device.family, device.leads_to, device.change) for device in (variant, original))
    return one == other


def _no_original(row: Row, device: Device, there: Mapping[str, Device]) -> CatalogueError:
    original = there.get(device.variant_of or "")
    if original is None:
        return row.error(
            "variant_of",
            f"there is no other device {shown(device.variant_of or '')} in this file or in the "
            "catalogue that is good itself: give the id of one",
        )
    return row.error(
        "variant_of",
        f"'{original.id}' is of another kind: give one with the same family, leads_to and serves",
    )


@cache
def builtin_catalogue() -> Catalogue:
    """The catalogue that comes with the program."""
    return read_catalogue(builtin_text("devices.toml"), "devices.toml")


ROW_FAMILIES = tuple(family.value for family in Family if family is not Family.TURNAROUND)


def _device(row: Row) -> Device:
    family = Family(row.choice("family", ROW_FAMILIES))
    texts = row.texts("degrees")
    if len(texts) > MOST_WAYS:
        raise row.error("degrees", f"{len(texts)} ways were given: give 1 to {MOST_WAYS}")
    patterns = tuple(_pattern(row, text, family) for text in texts)
    device = Device(
        id=row.identity(),
        name=row.line("name", LONGEST_NAME),
        family=family,
        bars=tuple(sorted(set(row.numbers("bars", most=TWELVE)))),
        pattern=patterns[0],
        says=row.line("says", LONGEST_SENTENCE),
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
    if pattern.bars > MOST_BARS:
        raise row.error("degrees", f"{pattern.bars} bars were given: give 1 to {MOST_BARS}")
    if not pattern.tones:
        raise row.error("degrees", f"{shown(text)} has no note: give at least one degree")
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
    if device.id in CHANGES:
        raise row.error("id", f"'{device.id}' means a change of any device: give another id")
    if forms_of_it > 1 and device.family is not Family.BASE:
        raise row.error("degrees", "only a base pattern may give a list of alternatives")
    if device.chords and len(device.chords) != bars:
        raise row.error("chords", f"{len(device.chords)} bars of chords over {bars} of degrees")
    if device.family is Family.TAIL and bars != 1:
        raise row.error("degrees", f"a tail has one bar, not {bars}")
    if device.family is Family.ENDING and bars < 2:
        raise row.error("degrees", f"an ending has 2 to {MOST_BARS} bars, not {bars}")
    if device.family is Family.PICKUP and (bar := _idle_bar(device.pattern)):
        raise row.error("degrees", f"bar {bar} is left to the base pattern whole: leave it out")
    wanted = 2 if device.leads_to is Arrival.OWN else 1
    if device.family is Family.HEAD and bars != wanted:
        raise row.error(
            "degrees",
            f"leads_to '{device.leads_to and device.leads_to.value}' "
            f"goes with {wanted} bars, not {bars}",
        )


def _idle_bar(pattern: Pattern) -> int | None:
    """The first bar, counted from 1, that has nothing but marks for the base pattern."""
    busy = {step.spot.bar for step in pattern.steps if step.what is not Mark.BASE}
    return next((bar + 1 for bar in range(pattern.bars) if bar not in busy), None)


def _source(row: Row) -> str:
    source = row.line("source", LONGEST_SENTENCE)
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
        raise row.error("follows", f"{reprlib.repr(values)} was given: give {' or '.join(allowed)}")
    return tuple(Arrival(value) for value in values)


def _feels(row: Row) -> tuple[Feel, ...]:
    allowed = [feel.value for feel in Feel]
    values = row.texts("feels")
    if not values or not set(values) <= set(allowed):
        raise row.error(
            "feels", f"{reprlib.repr(values)} was given: give some of {', '.join(allowed)}"
        )
    return tuple(Feel(value) for value in values)
