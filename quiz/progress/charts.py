"""The charts: what is drawn, as values, each with the sentence that says the same in words.

The screen and the SVG writer draw these values and know nothing else.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from engine.catalogue import Catalogue
from engine.errors import MusicInputError, amount
from engine.notation import NoteNames, parse_key
from quiz.display.wording import key_words
from quiz.history.counts import Confusion
from quiz.progress.calibration import calibration_sentence
from quiz.progress.counts import FEW, Count
from quiz.progress.forecast import forecast_sentence
from quiz.progress.keys import keys_sentence
from quiz.progress.names import CHARTS
from quiz.progress.report import Report
from quiz.questions.kinds import KINDS, Kind

WEEKS_DRAWN = 26
"""Weeks that a chart has room for; the tables have all."""

MOST_NAMES = 8
"""Names on each side of the picture of mistakes; the table has all."""


@dataclass(frozen=True, slots=True)
class Share:
    """A share of right answers, and where it lies with 95 % confidence; all from 0 to 1."""

    label: str
    share: float
    low: float
    high: float
    answers: int
    at: float = 0.0
    """Of Predictions: the mean predicted chance, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares side by side, in their order."""

    id: str
    title: str
    says: str
    """What it shows, in a sentence."""

    points: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar."""

    label: str
    value: float
    """From 0 up."""


@dataclass(frozen=True, slots=True)
class Bars:
    """Bars side by side, in their order."""

    id: str
    title: str
    says: str
    unit: str
    """What is counted."""

    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Matrix:
    """How often each of some names was taken for each other."""

    id: str
    title: str
    says: str
    names: tuple[str, ...]
    counts: tuple[tuple[int, ...], ...]
    """A row for what was asked, a column for what was picked."""


@dataclass(frozen=True, slots=True)
class Predictions:
    """What happened against what was predicted; on the diagonal the two are equal."""

    id: str
    title: str
    says: str
    points: tuple[Share, ...]


Chart = Shares | Bars | Matrix | Predictions


def charts(
    report: Report, catalogue: Catalogue, names: NoteNames = NoteNames.ENGLISH
) -> dict[str, Chart]:
    """All charts by their ids."""
    return {name: chart(name, report, catalogue, names) for name in CHARTS}


def chart(
    name: str, report: Report, catalogue: Catalogue, names: NoteNames = NoteNames.ENGLISH
) -> Chart:
    """The chart with an id of CHARTS, keys in a language of note names."""
    return _MAKERS[name](report, catalogue, names)


def key_label(key: str, names: NoteNames) -> str:
    """A key in a language of note names; one that is no key as it is."""
    try:
        return key_words(parse_key(key), names)
    except MusicInputError:
        return key


def kind_label(kind: str) -> str:
    """A kind as it stands on screen; the id of one that this version does not know."""
    return KINDS[Kind(kind)].label if kind in {known.value for known in Kind} else kind


def share_words(count: Count) -> str:
    """`41 of 60 right, 68 % (56 to 79 with 95% confidence)`."""
    low, high = count.interval
    return (
        f"{count.right} of {count.answers} right, {count.accuracy:.0%} "
        f"({100 * low:.0f} to {100 * high:.0f} with 95% confidence)"
    )


def _weeks(report: Report, _catalogue: Catalogue, _names: NoteNames) -> Shares:
    weeks = report.counts.weeks
    says = f"Last week of practice: {share_words(weeks[-1])}." if weeks else "No answers yet."
    points = tuple(_share(week, week.name[2:]) for week in weeks[-WEEKS_DRAWN:])
    return Shares("weeks", "Right answers by week", says, points)


def _devices(report: Report, catalogue: Catalogue, _names: NoteNames) -> Shares:
    counts = report.counts.devices
    return _named("devices", "Right answers by device", counts, catalogue.name)


def _kinds(report: Report, _catalogue: Catalogue, _names: NoteNames) -> Shares:
    return _named("kinds", "Right answers by kind of question", report.counts.kinds, kind_label)


def _keys(report: Report, _catalogue: Catalogue, names: NoteNames) -> Shares:
    points = tuple(_share(key, key_label(key.name, names)) for key in report.counts.keys)
    return Shares(
        "keys",
        "Right answers by key, round the fourths",
        keys_sentence(report.weak_keys, lambda key: key_label(key, names)),
        points,
    )


def _mistaken(report: Report, catalogue: Catalogue, _names: NoteNames) -> Matrix:
    rows = report.counts.confusions
    title = "What is taken for what"
    if not rows:
        return Matrix("mistaken", title, "Nothing has been mistaken for anything yet.", (), ())
    asked, chosen = catalogue.name(rows[0].asked), catalogue.name(rows[0].chosen)
    says = f"Most often '{asked}' was taken for '{chosen}': {_times(rows[0].times)}."
    ids = _most_mistaken(rows)
    times = {(row.asked, row.chosen): row.times for row in rows}
    counts = tuple(tuple(times.get((one, other), 0) for other in ids) for one in ids)
    return Matrix("mistaken", title, says, tuple(map(catalogue.name, ids)), counts)


def _forecast(report: Report, _catalogue: Catalogue, _names: NoteNames) -> Bars:
    labels = ("today", *(f"{week} week{'s' if week > 1 else ''}" for week in range(1, 9)))
    bars = tuple(map(Bar, labels, report.forecast.known))
    says = forecast_sentence(report.forecast)
    return Bars("forecast", "Known without practice", says, "items", bars)


def _days(report: Report, _catalogue: Catalogue, _names: NoteNames) -> Bars:
    bars = tuple(Bar(day.name, float(day.answers)) for day in report.days)
    return Bars("days", "Questions a day", _days_sentence(report.days), "questions", bars)


def _minutes(report: Report, _catalogue: Catalogue, _names: NoteNames) -> Bars:
    bars = tuple(Bar(day.name, day.spent / 60) for day in report.days)
    total = sum(bar.value for bar in bars)
    says = (
        f"{amount(round(total), 'minute')} of answering in {len(bars)} days; listening before an "
        "answer is not counted."
    )
    return Bars("minutes", "Minutes of answering a day", says, "minutes", bars)


def _calibration(report: Report, _catalogue: Catalogue, _names: NoteNames) -> Predictions:
    points = tuple(
        Share(
            f"{100 * tenth.low:.0f}-{100 * tenth.high:.0f}",
            tenth.happened,
            *tenth.interval,
            tenth.answers,
            tenth.predicted,
        )
        for tenth in report.calibration.tenths
    )
    says = calibration_sentence(report.calibration)
    return Predictions("calibration", "Right answers against predicted ones", says, points)


_MAKERS: dict[str, Callable[[Report, Catalogue, NoteNames], Chart]] = {
    "weeks": _weeks,
    "devices": _devices,
    "keys": _keys,
    "kinds": _kinds,
    "mistaken": _mistaken,
    "forecast": _forecast,
    "days": _days,
    "minutes": _minutes,
    "calibration": _calibration,
}


def _named(name: str, title: str, counts: Sequence[Count], named: Callable[[str], str]) -> Shares:
    """Shares with names, and which is the lowest."""
    points = tuple(_share(count, named(count.name)) for count in counts)
    enough = [count for count in counts if count.answers >= FEW]
    if not enough:
        return Shares(name, title, f"Fewer than {FEW} answers each: nothing to compare.", points)
    lowest = min(enough, key=lambda count: count.interval[1])
    return Shares(name, title, f"Lowest: {named(lowest.name)}, {share_words(lowest)}.", points)


def _share(count: Count, label: str) -> Share:
    return Share(label, count.accuracy, *count.interval, count.answers)


def _most_mistaken(rows: Iterable[Confusion]) -> list[str]:
    """The names of the most frequent mistakes, MOST_NAMES at most, neighbours side by side."""
    names: list[str] = []
    for row in rows:  # the most frequent come first
        fresh = [name for name in (row.asked, row.chosen) if name not in names]
        if len(names) + len(fresh) <= MOST_NAMES:
            names += fresh
    return names


def _days_sentence(days: Sequence[Count]) -> str:
    total, busy = sum(day.answers for day in days), sum(day.answers > 0 for day in days)
    if not busy:
        return f"No answers in the last {len(days)} days."
    each = "the one with practice" if busy == 1 else f"each of the {busy} with practice"
    return (
        f"{amount(total, 'question')} in the last {len(days)} days, {total / busy:.0f} on {each}."
    )


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
