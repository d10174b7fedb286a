"""Rows that a player or a teacher adds: devices, base patterns and forms in a file of their own.

The file is written as the built-in ones are, with [[device]] and [[form]] entries mixed. Good
entries are taken in behind what is there already; each bad one is reported and left out.

A row that is taken in can be asked about in every key: it has a place in some form, its notes fit
the bass, alone and with every other part that it goes with, its notes can be written with at most
two accidentals, and there is something else to offer beside it that sounds different.
"""

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from engine.catalogue import (
    Catalogue,
    Device,
    Family,
    with_devices,
)
from engine.device_rows import devices_of, with_originals
from engine.errors import CatalogueError, printable
from engine.fields import Row
from engine.forms import Form, forms_of
from engine.row_checks import Span, check_new, check_places, check_room, check_spelling, sound
from engine.rows import Report, read_tables

LARGEST = 1_000_000
"""Characters, and bytes, of a file."""

MOST_ENTRIES = 2_000
"""Entries of a file."""


@dataclass(frozen=True, slots=True)
class Added:
    """A catalogue with what was added to it, and what was wrong, a line each."""

    catalogue: Catalogue
    problems: tuple[str, ...] = ()
    origins: Mapping[str, str] = field(default_factory=dict)
    """The ids that were added, with the files they come from."""


def add(
    catalogue: Catalogue, text: str, file: str, origins: Mapping[str, str] | None = None
) -> Added:
    """The catalogue with the good entries of a file behind its own.

    `origins` says where added rows of `catalogue` come from; what it does not name is built in.
    Never raises for anything that stands in the text.
    """
    origins = origins or {}
    file = printable(file)
    if len(text) > LARGEST:
        problem = f"{file}: {len(text)} characters are too many: a file may have {LARGEST}"
        return Added(catalogue, (problem,), origins)
    problems: list[CatalogueError] = []
    report = problems.append
    tables = _limited(read_tables(text, file, ("form", "device"), report), file, report)
    taken = _taken(catalogue, origins)
    forms = _checked_forms(forms_of(tables["form"], taken, report), catalogue, report)
    grown = replace(catalogue, forms=(*catalogue.forms, *forms))
    taken |= {form.id: f"a form in {file}" for form in forms}
    read = devices_of(tables["device"], grown.devices, taken, report)
    devices = _needed(_checked_devices(read, grown, report), grown, report)
    grown = with_devices(grown, devices)
    new = [form.id for form in forms] + [device.id for _, device in devices]
    return Added(grown, tuple(map(str, problems)), {**origins, **dict.fromkeys(new, file)})


def _limited(
    tables: Mapping[str, list[Row]], file: str, report: Report
) -> Mapping[str, Sequence[Row]]:
    """The first entries, as many as a file may have."""
    count = sum(map(len, tables.values()))
    if count <= MOST_ENTRIES:
        return tables
    report(CatalogueError(f"{file}: {count} entries are too many: a file may have {MOST_ENTRIES}"))
    left = MOST_ENTRIES
    kept: dict[str, Sequence[Row]] = {}
    for table, rows in tables.items():
        kept[table] = rows[:left]
        left -= len(kept[table])
    return kept


def _taken(catalogue: Catalogue, origins: Mapping[str, str]) -> dict[str, str]:
    """The ids that are in use, with the words that say where."""
    rows = [("form", form.id) for form in catalogue.forms]
    rows += [("device", device.id) for device in catalogue.devices]
    return {
        name: f"a {what} in {origins[name]}" if name in origins else f"a built-in {what}"
        for what, name in rows
    }


# --- each row for itself -------------------------------------------------------------------------


def _checked_forms(
    read: Iterable[tuple[Row, Form]], catalogue: Catalogue, report: Report
) -> list[Form]:
    """The forms that have a name and chords of their own."""
    names = {form.name.casefold(): form.id for form in catalogue.forms}
    charts = {form.bars: form.id for form in catalogue.forms}
    kept: list[Form] = []
    for row, form in read:
        if (twin := names.get(form.name.casefold())) is not None:
            report(row.error("name", f"'{twin}' is called so already: give another name"))
        elif (twin := charts.get(form.bars)) is not None:
            report(row.error("bars", f"'{twin}' has the same chords: give others"))
        else:
            names[form.name.casefold()], charts[form.bars] = form.id, form.id
            kept.append(form)
    return kept


def _checked_devices(
    read: Iterable[tuple[Row, Device]], catalogue: Catalogue, report: Report
) -> list[tuple[Row, Device]]:
    """The devices that can be played, and told from those before them, each for itself."""
    names = {device.name.casefold(): device.id for device in catalogue.devices}
    sounds = {sound(device): device.id for device in catalogue.devices}
    parts = [Span.of(device) for device in catalogue.family(Family.HEAD, Family.TAIL)]
    kept: list[tuple[Row, Device]] = []
    for row, device in read:
        try:
            check_new(row, "name", names.get(device.name.casefold()), "is called so already")
            check_places(row, device, catalogue.forms)
            check_room(row, device, parts)
            check_spelling(row, device)
            check_new(row, "degrees", sounds.get(sound(device)), "sounds the same")
        except CatalogueError as problem:
            report(problem)
            continue
        names[device.name.casefold()] = device.id
        sounds[sound(device)] = device.id
        if device.family in (Family.HEAD, Family.TAIL):
            parts.append(Span.of(device))
        kept.append((row, device))
    return kept


# --- the rows together --------------------------------------------------------------------------

_Read = list[tuple[Row, Device]]


def _needed(read: _Read, catalogue: Catalogue, report: Report) -> _Read:
    """The rows that have what they need beside them: an original, a part that goes with them, and
    something else to offer. What goes takes along what needed it."""
    kept: _Read = []
    while len(kept) != len(read):
        kept = read
        read = with_originals(read, catalogue.devices, report)
        for check in (_check_partner, _check_rival):
            read = _passing(read, check(with_devices(catalogue, read)), report)
    return kept


def _passing(read: _Read, check: Callable[[Row, Device], None], report: Report) -> _Read:
    kept: _Read = []
    for row, device in read:
        try:
            check(row, device)
        except CatalogueError as problem:
            report(problem)
        else:
            kept.append((row, device))
    return kept


def _check_partner(catalogue: Catalogue) -> Callable[[Row, Device], None]:
    """A check that a head has a tail, and a tail a head, that it goes with."""
    heads = {head.leads_to for head in catalogue.family(Family.HEAD)}
    tails = {arrival for tail in catalogue.family(Family.TAIL) for arrival in tail.follows}

    def check(row: Row, device: Device) -> None:
        if device.family is Family.HEAD and not device.complete and device.leads_to not in tails:
            raise row.error("leads_to", "no tail goes with it: add one whose 'follows' names this")
        if device.family is Family.TAIL and heads.isdisjoint(device.follows):
            raise row.error("follows", "no head goes with it: add one whose 'leads_to' is this")

    return check


def _check_rival(catalogue: Catalogue) -> Callable[[Row, Device], None]:
    """A check that a device is not the only answer that there could be. A variant is no answer
    beside what it is a variant of."""
    everyone, originals = Counter[Hashable](), Counter[Hashable]()
    for device in catalogue.devices:
        everyone.update(_questions(device))
        if device.variant_of is None:
            originals.update(_questions(device))

    def check(row: Row, device: Device) -> None:
        counted = originals if device.variant_of is None else everyone
        questions = _questions(device)
        # a pickup needs one bar in common with another, a tail another behind every head
        enough = any if device.family is Family.PICKUP else all
        if questions and not enough(counted[question] > 1 for question in questions):
            raise row.error(
                "serves" if device.family is Family.PICKUP else "bars",
                "there is nothing else to offer beside it: add another one for the same place, "
                "such as one with plain = true that goes straight on",
            )

    return check


def _questions(device: Device) -> Collection[Hashable]:
    """What a device can be the answer to."""
    family, bars = device.family, device.pattern.bars
    if family is Family.TAIL:
        return [(family, arrival) for arrival in device.follows]
    if family is Family.PICKUP:
        return [(family, device.change, bars, bar) for bar in device.bars]
    if family is Family.ENDING:
        return [(family, device.bars, bars)]
    return [family] if family is Family.HEAD else []
