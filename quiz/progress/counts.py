"""Counts: the history by week, device, key and kind, and what was mistaken for what.

All of it from answers that the history has counted already; none is looked at here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt

from quiz.answers import date_of
from quiz.history.counts import Confusion, Group, Heading
from quiz.history.store import Store

LAST_DAYS = 14
"""Practice days that the home screen shows."""

FEW = 10
"""Under so many answers a share says little, and whoever shows it says so. [chosen here]"""

FOURTHS = ("C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G")
"""The keys that answers come in, round the fourths. [common practice, no source]"""

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
    """Most answers first."""

    keys: tuple[Count, ...]
    """Round the fourths."""

    kinds: tuple[Count, ...]
    """Most answers first."""

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
        keys=round_the_fourths(store.counted(Heading.KEY, since_day)),
        kinds=most_first(store.counted(Heading.KIND, since_day)),
        confusions=store.confusions(since_day),
    )


def last_days(store: Store, today: int) -> tuple[Count, ...]:
    """The last LAST_DAYS practice days, oldest first, those without answers too."""
    first = today - LAST_DAYS + 1
    return by_day(store.counted(Heading.DAY, first), range(first, today + 1))


def by_day(groups: Iterable[Group], days: Iterable[int]) -> tuple[Count, ...]:
    """Counts of given practice days, those without answers too; named as `25 Nov`."""
    known = {int(group.name): group for group in groups}
    return tuple(
        Count(date_of(day).strftime("%d %b"), *(known[day][1:] if day in known else (0, 0)))
        for day in days
    )


def weeks(days: Iterable[Group]) -> tuple[Count, ...]:
    """Counts by ISO week, from counts by practice day in their order."""
    gathered: dict[str, list[Group]] = {}
    for day in days:
        year, week, _ = date_of(int(day.name)).isocalendar()
        gathered.setdefault(f"{year}-W{week:02}", []).append(day)
    return tuple(_together(name, groups) for name, groups in gathered.items())


def most_first(groups: Iterable[Group]) -> tuple[Count, ...]:
    """Counts with the most answers first, equal ones by name."""
    return tuple(
        Count(*group) for group in sorted(groups, key=lambda group: (-group.answers, group.name))
    )


def round_the_fourths(groups: Iterable[Group]) -> tuple[Count, ...]:
    """Counts by key in the order of FOURTHS, keys of another name behind them."""
    place = {key: number for number, key in enumerate(FOURTHS)}
    ordered = sorted(groups, key=lambda group: (place.get(group.name, len(place)), group.name))
    return tuple(Count(*group) for group in ordered)


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
