"""Scores: the history counted by week, device, key and kind, and what was mistaken for what."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from math import sqrt

from quiz.answers import DAY_SECONDS
from quiz.history.counts import Confusion as Confusion
from quiz.history.counts import Group, Heading
from quiz.history.store import Store

LAST_DAYS = 14
"""Practice days that the home screen shows."""

Z95 = 1.959964
"""The 97.5 % point of the normal distribution, for a 95 % interval."""


@dataclass(frozen=True, slots=True)
class Count:
    """Answers under one heading."""

    name: str
    answers: int
    right: int
    """With the verdict right."""

    seconds: float | None = None
    """Mean response time of the right answers; None when there are none."""

    spent: float = 0.0
    """Seconds of all answers together."""

    timed: int = 0
    """The right answers that `seconds` is the mean of."""

    @property
    def accuracy(self) -> float:
        """Share of right answers, 0 to 1."""
        return self.right / self.answers if self.answers else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % Wilson interval of the share."""
        return wilson(self.right, self.answers)


@dataclass(frozen=True, slots=True)
class Scores:
    """Everything that the scores show."""

    weeks: tuple[Count, ...]
    """By ISO week of the practice day, oldest first, named as `2026-W48`."""

    devices: tuple[Count, ...]
    keys: tuple[Count, ...]
    kinds: tuple[Count, ...]
    confusions: tuple[Confusion, ...]
    """Most frequent first."""


def wilson(right: int, answers: int) -> tuple[float, float]:
    """The 95 % score interval of a share; 0 to 1 when there is nothing to go by.

    (p + z2/2n -+ z sqrt(p(1-p)/n + z2/4n2)) / (1 + z2/n). (E. B. Wilson, JASA 22, 1927, 209-212)
    """
    if not answers:
        return 0.0, 1.0
    share, z2 = right / answers, Z95 * Z95
    middle = (share + z2 / (2 * answers)) / (1 + z2 / answers)
    reach = (
        Z95
        / (1 + z2 / answers)
        * sqrt(share * (1 - share) / answers + z2 / (4 * answers * answers))
    )
    low = 0.0 if right == 0 else max(0.0, middle - reach)  # rounding would miss the ends
    return low, 1.0 if right == answers else min(1.0, middle + reach)


def scores(store: Store, since_day: int | None = None) -> Scores:
    """Count the history, from a practice day on if given."""
    return Scores(
        weeks=weeks(store.counted(Heading.DAY, since_day)),
        devices=most_first(store.counted(Heading.DEVICE, since_day)),
        keys=most_first(store.counted(Heading.KEY, since_day)),
        kinds=most_first(store.counted(Heading.KIND, since_day)),
        confusions=store.confusions(since_day),
    )


def last_days(store: Store, today: int) -> tuple[Count, ...]:
    """The last practice days, oldest first, those without answers too; named as `25 Nov`."""
    first = today - LAST_DAYS + 1
    groups = {int(group.name): group for group in store.counted(Heading.DAY, first)}
    return tuple(
        Count(_date(day).strftime("%d %b"), *(groups[day][1:] if day in groups else (0, 0)))
        for day in range(first, today + 1)
    )


def weeks(days: Iterable[Group]) -> tuple[Count, ...]:
    """Counts by ISO week, from counts by practice day in their order."""
    gathered: dict[str, list[Group]] = {}
    for day in days:
        year, week, _ = _date(int(day.name)).isocalendar()
        gathered.setdefault(f"{year}-W{week:02}", []).append(day)
    return tuple(_together(name, groups) for name, groups in gathered.items())


def most_first(groups: Iterable[Group]) -> tuple[Count, ...]:
    """Counts with the most answers first, equal ones by name."""
    return tuple(
        Count(*group) for group in sorted(groups, key=lambda group: (-group.answers, group.name))
    )


def _together(name: str, groups: Sequence[Group]) -> Count:
    """One count of several."""
    timed = sum(group.timed for group in groups)
    seconds = sum(group.timed * group.seconds for group in groups if group.seconds is not None)
    return Count(
        name,
        sum(group.answers for group in groups),
        sum(group.right for group in groups),
        seconds / timed if timed else None,
        sum(group.spent for group in groups),
        timed,
    )


def _date(day: int) -> datetime:
    return datetime.fromtimestamp(day * DAY_SECONDS, UTC)


def as_data(result: Scores) -> dict[str, list[dict[str, object]]]:
    """The shape of `lastbar scores --json`."""
    return {
        "weeks": _rows(result.weeks, "week"),
        "devices": _rows(result.devices, "device"),
        "keys": _rows(result.keys, "key"),
        "kinds": _rows(result.kinds, "kind"),
        "confusions": [dict(row._asdict()) for row in result.confusions],
    }


def _rows(counts: Iterable[Count], label: str) -> list[dict[str, object]]:
    return [
        {
            label: count.name,
            "answers": count.answers,
            "right": count.right,
            "accuracy": round(count.accuracy, 4),
            "low": round(count.interval[0], 4),
            "high": round(count.interval[1], 4),
            "seconds": None if count.seconds is None else round(count.seconds, 2),
        }
        for count in counts
    ]


def as_csv(result: Scores) -> str:
    """One table: group, name, answers, right, accuracy, low, high, seconds."""
    import csv
    import io

    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(("group", "name", "answers", "right", "accuracy", "low", "high", "seconds"))
    groups = (
        ("week", result.weeks),
        ("device", result.devices),
        ("key", result.keys),
        ("kind", result.kinds),
    )
    for group, counts in groups:
        for count in counts:
            low, high = count.interval
            table.writerow(
                (
                    group,
                    count.name,
                    count.answers,
                    count.right,
                    f"{count.accuracy:.4f}",
                    f"{low:.4f}",
                    f"{high:.4f}",
                    "" if count.seconds is None else f"{count.seconds:.2f}",
                )
            )
    for row in result.confusions:
        table.writerow(("mistaken", f"{row.asked} for {row.chosen}", row.times, "", "", "", "", ""))
    return text.getvalue()
