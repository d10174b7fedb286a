"""What the schedule needs to know of the history, kept up answer by answer.

A `Practice` is a fold over the answers in the order of (time, id): making it answer by answer and
making it anew from all answers give the same value.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from quiz.answers import Outcome
from quiz.learning.knowing import Knowing, Learning
from quiz.learning.memory import PLACEMENT, RIGHT_FROM, Item, State, following, is_taken, recall
from quiz.learning.reach import Moving, Reaches

DAYS_KEPT = 28
"""Practice days, of those with answers, that are counted one by one."""

FADE = 1 - 1 / 60
"""What an answer still counts towards `KeyTally.lately` after one more: five rounds are
remembered, so that new key weights take hold within a few days. [chosen here, no source]"""

CALLED = "open jam"
"""The reason of an answer that was a call in an open jam: no schedule asked for it, so it moves no
memory, and belongs to no day's questions."""

CONTRAST = "contrast"
"""The reason of a question that was asked to tell two neighbours apart."""


PROBES_KEPT = 48
"""Placement answers that are kept one by one, the latest: two placements, as two machines have."""

DAYS_AHEAD = 1
"""Practice days by which an answer may lie ahead of today: who travels west meets a day twice."""


def counted_until(day: int) -> int:
    """The last practice day whose answers count on practice day `day`.

    Later ones were given while a clock stood ahead. Taken into the states they would silence their
    items until that day comes; left out, the items are asked as if those answers had not been
    given. They are kept all the while, and count from their day on.
    """
    return day + DAYS_AHEAD


class Probe(NamedTuple):
    """What a placement answer said of an item."""

    item: Item
    right: bool
    guess_rate: float


@dataclass(frozen=True, slots=True)
class KeyTally:
    """How one key has gone in one kind of question."""

    times: int = 0
    """Answers in this key."""

    foreseen: int = 0
    """Answers whose chance was predicted: neither the first of an item nor a second on one day."""

    right: int = 0
    """Right answers among those."""

    expected: float = 0.0
    """The sum of their predicted chances."""

    faded: float = 0.0
    """Answers in this key, each times FADE for every answer of the kind since, at `upto`."""

    upto: int = 0
    """Answers of the kind, in all keys, at the latest answer in this one."""

    @property
    def surplus(self) -> float:
        """Sum of (right - expected): negative where the key went worse than its items would."""
        return self.right - self.expected

    def lately(self, answers: int) -> float:
        """How often the key has come lately, when the kind has `answers` in all keys."""
        return float(self.faded * FADE ** (answers - self.upto))


@dataclass(frozen=True, slots=True)
class DayTally:
    """How many questions a practice day had."""

    answers: int = 0
    contrasts: int = 0


@dataclass(frozen=True, slots=True)
class Practice:
    """The memory states, the keys, the days, the reaches, and what is shown as known."""

    states: Mapping[Item, State] = field(default_factory=dict)
    keys: Mapping[tuple[str, str], KeyTally] = field(default_factory=dict)
    """By (kind, key name)."""

    days: Mapping[int, DayTally] = field(default_factory=dict)
    """The latest practice days with answers, DAYS_KEPT at most."""

    reaches: Reaches = field(default_factory=Reaches)
    """How hard each item is asked."""

    knowing: Knowing = field(default_factory=Knowing)
    """What the player sees as known."""

    probes: tuple[Probe, ...] = ()
    """The placement answers, in order, PROBES_KEPT at most. What may be presumed known follows from
    them alone, see `quiz.learning.placement`."""

    @classmethod
    def replayed(cls, answers: Iterable[Outcome]) -> "Practice":
        """From all answers, in the order of (time, id)."""
        return cls().followed(answers)

    def after(self, answer: Outcome) -> "Practice":
        """With one answer more, later than all before. Costs microseconds, whatever the history."""
        return self.followed((answer,))

    def followed(self, answers: Iterable[Outcome]) -> "Practice":
        """With many answers more, in the order of (time, id) and later than all before."""
        states, keys, days = dict(self.states), dict(self.keys), dict(self.days)
        moving, learning = Moving(self.reaches), Learning(self.knowing)
        kinds, probes = dict[str, int](), list(self.probes)
        for (kind, _), row in keys.items():
            kinds[kind] = kinds.get(kind, 0) + row.times
        for answer in answers:
            item, place = Item(answer.device, answer.kind), (answer.kind, answer.key)
            known, of_kind = states.get(item), kinds.get(answer.kind, 0)
            recalled = None  # unless the answer was foreseen
            if known is not None and is_taken(known, answer.practice_day):
                recalled = recall(known, answer.practice_day)
                learning.take(
                    answer.kind,
                    answer.key,
                    answer.guess_rate,
                    answer.score >= RIGHT_FROM,
                    known,
                    answer.practice_day,
                    recalled,
                )
            keys[place] = _counted(keys.get(place, KeyTally()), recalled, answer, of_kind)
            kinds[answer.kind] = of_kind + 1
            moving.take(answer)
            if answer.why == PLACEMENT:
                probes.append(Probe(item, answer.score >= RIGHT_FROM, answer.guess_rate))
            if answer.why != CALLED:
                if (state := following(known, answer)) is not None:
                    states[item] = state
                day = days.get(answer.practice_day, DayTally())
                days[answer.practice_day] = _one_more(day, answer)
                days = _latest(days)
        latest = tuple(probes[-PROBES_KEPT:])
        return Practice(states, keys, days, moving.reaches(), learning.knowing(), latest)

    def known(self, item: Item, day: int) -> float:
        """How likely an item is known on a practice day, 0 to 1: what the player is shown."""
        return self.knowing.known(item, self.states.get(item), day)

    def new_on(self, day: int) -> int:
        """Items that were met for the first time on a practice day, a placement left out: what is
        known already is nothing new."""
        probed = {probe.item for probe in self.probes}
        return sum(
            state.first_day == day and item not in probed for item, state in self.states.items()
        )

    def asked_on(self, day: int) -> int:
        """Questions answered on a practice day, of the latest ones."""
        return self.days.get(day, DayTally()).answers

    def contrast_counts(self) -> tuple[int, int]:
        """Contrasts and questions of the latest practice days."""
        days = self.days.values()
        return sum(day.contrasts for day in days), sum(day.answers for day in days)


def _counted(tally: KeyTally, recalled: float | None, answer: Outcome, of_kind: int) -> KeyTally:
    """The tally after an answer; `recalled` is the recall before it, None where it was not
    foreseen, and `of_kind` is how many answers the kind had before it."""
    foreseen, right, expected = tally.foreseen, tally.right, tally.expected
    if recalled is not None:
        foreseen += 1
        right += answer.score >= RIGHT_FROM
        expected += recalled + (1 - recalled) * answer.guess_rate
    return KeyTally(
        tally.times + 1, foreseen, right, expected, tally.lately(of_kind + 1) + 1, of_kind + 1
    )


def _one_more(day: DayTally, answer: Outcome) -> DayTally:
    return DayTally(day.answers + 1, day.contrasts + (answer.why == CONTRAST))


def _latest(days: dict[int, DayTally]) -> dict[int, DayTally]:
    if len(days) > DAYS_KEPT:
        del days[min(days)]
    return days
