"""Scores: the history counted by week, device, key and kind, and what was mistaken for what."""

import csv
import io
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from math import sqrt

from quiz.answers import DAY_SECONDS
from quiz.grading import Verdict
from quiz.store import Store

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
    seconds: float | None = None
    """Mean response time of the right answers; None when there are none."""

    @property
    def accuracy(self) -> float:
        """Share of right answers, 0 to 1."""
        return self.right / self.answers if self.answers else 0.0

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % Wilson interval of the share."""
        return wilson(self.right, self.answers)


@dataclass(frozen=True, slots=True)
class Confusion:
    """How often one device was taken for another."""

    asked: str
    chosen: str
    times: int


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
    """The 95 % score interval of a share. (E. B. Wilson, JASA 22, 1927, 209-212)"""
    if not answers:
        return 0.0, 1.0
    share, z2 = right / answers, Z95 * Z95
    middle = (share + z2 / (2 * answers)) / (1 + z2 / answers)
    reach = Z95 / (1 + z2 / answers) * sqrt(
        share * (1 - share) / answers + z2 / (4 * answers * answers)
    )
    return max(0.0, middle - reach), min(1.0, middle + reach)


def scores(store: Store) -> Scores:
    """Count the history."""
    return Scores(
        weeks=_weeks(store),
        devices=_counted(store, "device"),
        keys=_counted(store, "key"),
        kinds=_counted(store, "kind"),
        confusions=tuple(
            Confusion(str(asked), str(chosen), int(str(times)))
            for asked, chosen, times in store.tally(
                "SELECT device, chosen, count(*) AS times FROM answer WHERE chosen <> '' "
                "GROUP BY device, chosen ORDER BY times DESC, device, chosen"
            )
        ),
    )


def last_days(store: Store, today: int) -> tuple[Count, ...]:
    """The last practice days, oldest first, those without answers too."""
    rows = {
        int(str(day)): Count("", int(str(answers)), int(str(right)))
        for day, answers, right in store.tally(
            "SELECT practice_day, count(*), sum(verdict = ?) FROM answer "
            "WHERE practice_day > ? GROUP BY practice_day",
            (Verdict.RIGHT.value, today - LAST_DAYS),
        )
    }
    return tuple(
        Count(_date(day).strftime("%d %b"), *_pair(rows.get(day)))
        for day in range(today - LAST_DAYS + 1, today + 1)
    )


def _pair(count: Count | None) -> tuple[int, int]:
    return (count.answers, count.right) if count else (0, 0)


def _counted(store: Store, column: str) -> tuple[Count, ...]:
    """Counts by one column, most answers first."""
    return tuple(
        Count(str(name), int(str(answers)), int(str(right)),
              None if seconds is None else float(str(seconds)))
        for name, answers, right, seconds in store.tally(
            f"SELECT {column}, count(*) AS answers, sum(verdict = ?), "
            "avg(CASE WHEN verdict = ? THEN min(seconds, 60.0) END) "
            f"FROM answer GROUP BY {column} ORDER BY answers DESC, {column}",
            (Verdict.RIGHT.value, Verdict.RIGHT.value),
        )
    )


def _weeks(store: Store) -> tuple[Count, ...]:
    totals: dict[str, tuple[int, int]] = {}
    for day, answers, right in store.tally(
        "SELECT practice_day, count(*), sum(verdict = ?) FROM answer "
        "GROUP BY practice_day ORDER BY practice_day",
        (Verdict.RIGHT.value,),
    ):
        year, week, _ = _date(int(str(day))).isocalendar()
        name = f"{year}-W{week:02}"
        before = totals.get(name, (0, 0))
        totals[name] = before[0] + int(str(answers)), before[1] + int(str(right))
    return tuple(Count(name, *total) for name, total in totals.items())


def _date(day: int) -> datetime:
    return datetime.fromtimestamp(day * DAY_SECONDS, UTC)


def as_data(result: Scores) -> dict[str, list[dict[str, object]]]:
    """The shape of `lastbar scores --json`."""
    def rows(counts: Sequence[Count], label: str) -> list[dict[str, object]]:
        return [
            {label: count.name, "answers": count.answers, "right": count.right,
             "accuracy": round(count.accuracy, 4),
             "low": round(count.interval[0], 4), "high": round(count.interval[1], 4),
             "seconds": None if count.seconds is None else round(count.seconds, 2)}
            for count in counts
        ]
    return {
        "weeks": rows(result.weeks, "week"), "devices": rows(result.devices, "device"),
        "keys": rows(result.keys, "key"), "kinds": rows(result.kinds, "kind"),
        "confusions": [asdict(row) for row in result.confusions],
    }


def as_csv(result: Scores) -> str:
    """One table: group, name, answers, right, accuracy, low, high, seconds."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(("group", "name", "answers", "right", "accuracy", "low", "high", "seconds"))
    groups = (("week", result.weeks), ("device", result.devices),
              ("key", result.keys), ("kind", result.kinds))
    for group, counts in groups:
        for count in counts:
            low, high = count.interval
            table.writerow((group, count.name, count.answers, count.right,
                            f"{count.accuracy:.4f}", f"{low:.4f}", f"{high:.4f}",
                            "" if count.seconds is None else f"{count.seconds:.2f}"))
    for row in result.confusions:
        table.writerow(("mistaken", f"{row.asked} for {row.chosen}", row.times, "", "", "", "", ""))
    return text.getvalue()
