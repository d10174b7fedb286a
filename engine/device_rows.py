"""Reading devices from the rows of a data file; the head of `data/devices.toml` explains them."""

import reprlib
from collections.abc import Iterable, Mapping, Sequence

from engine.chords import parse_bars
from engine.devices import (
    CHANGES,
    MOST_BARS,
    MOST_TIMES,
    MOST_WAYS,
    NUMERAL,
    SOURCE_MARKS,
    TWELVE,
    Arrival,
    Change,
    Device,
    Family,
)
from engine.errors import CatalogueError, MusicInputError, shown
from engine.feels import Feel
from engine.fields import LONGEST_NAME, LONGEST_SENTENCE, Row
from engine.pattern import Mark, Pattern, parse_pattern
from engine.rows import Report, read_each, without_twins

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
        minor=row.flag("minor"),
        plain=row.flag("plain"),
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
    numerals = {numeral: degree for degree, numeral in NUMERAL.items()}
    here, arrow, there = text.partition(">")
    if not arrow or here.strip() not in numerals or there.strip() not in numerals:
        raise CatalogueError(f"{shown(text)} was given: give a change such as I > IV")
    return Change(numerals[here.strip()], numerals[there.strip()])


def _leads_to(row: Row, family: Family) -> Arrival | None:
    if family is not Family.HEAD:
        return None
    return Arrival(row.choice("leads_to", [arrival.value for arrival in Arrival]))


def _follows(row: Row) -> tuple[Arrival, ...]:
    allowed = [Arrival.ONE.value, Arrival.FIVE.value]
    values = _some_of(allowed, row, "follows", " or ".join(allowed))
    return tuple(Arrival(value) for value in values)


def _feels(row: Row) -> tuple[Feel, ...]:
    allowed = [feel.value for feel in Feel]
    values = _some_of(allowed, row, "feels", f"some of {', '.join(allowed)}")
    return tuple(Feel(value) for value in values)


def _some_of(allowed: Sequence[str], row: Row, field: str, give: str) -> tuple[str, ...]:
    values = row.texts(field)
    if not set(values) <= set(allowed):
        raise row.error(field, f"{reprlib.repr(values)} was given: give {give}")
    return values


def devices_of(
    rows: Iterable[Row], known: Sequence[Device], taken: Mapping[str, str], report: Report
) -> list[tuple[Row, Device]]:
    """The devices of some rows, each beside its row; rows that break a rule are reported instead.

    A row may be a variant of another one or of a device that is `known`. `taken` are the ids that
    are used elsewhere, with the words that say where.
    """
    read = without_twins(read_each(rows, _device, report), taken, report)
    return with_originals(read, known, report)


def with_originals(
    read: Sequence[tuple[Row, Device]], known: Sequence[Device], report: Report
) -> list[tuple[Row, Device]]:
    """The rows that are a variant of nothing, or of one that is there and of their own kind.

    A row whose original is missing is missing to its own variants.
    """
    there = {device.id: device for device in known}
    variants: dict[str, list[tuple[Row, Device]]] = {}
    waiting: list[Device] = list(known)
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
