"""What the schedule needs to know of the history, kept up answer by answer."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from quiz.answers import Answer
from quiz.memory import RIGHT_FROM, Item, State, after, recall


@dataclass(frozen=True, slots=True)
class KeyTally:
    """How one key has gone in one kind of question."""

    times: int = 0
    """Answers in this key."""

    surplus: float = 0.0
    """Sum of (right - expected): negative where the key went worse than its items would."""


@dataclass(frozen=True, slots=True)
class Practice:
    """The memory states, the keys and the days."""

    states: Mapping[Item, State] = field(default_factory=dict)
    keys: Mapping[tuple[str, str], KeyTally] = field(default_factory=dict)
    """By (kind, key name)."""

    days: Mapping[int, int] = field(default_factory=dict)
    """Answers on each of the latest practice days."""

    @classmethod
    def replayed(cls, answers: Iterable[Answer]) -> "Practice":
        """From all answers, in the order of (time, id)."""
        states: dict[Item, State] = {}
        keys: dict[tuple[str, str], KeyTally] = {}
        days: dict[int, int] = {}
        for answer in answers:
            _take(answer, states, keys, days)
        return cls(states, keys, days)

    def after(self, answer: Answer) -> "Practice":
        """With one answer more."""
        states, keys, days = dict(self.states), dict(self.keys), dict(self.days)
        _take(answer, states, keys, days)
        return replace(self, states=states, keys=keys, days=days)

    def new_on(self, day: int) -> int:
        """Items that were met for the first time on a practice day."""
        return sum(state.first_day == day for state in self.states.values())

    def asked_on(self, day: int) -> int:
        """Questions answered on a practice day."""
        return self.days.get(day, 0)


def _take(
    answer: Answer, states: dict[Item, State], keys: dict[tuple[str, str], KeyTally],
    days: dict[int, int],
) -> None:
    item, place = Item(answer.device, answer.kind), (answer.kind, answer.key)
    known = states.get(item)
    expected = max(recall(known, answer.practice_day), answer.guess_rate) if known else None
    states[item] = after(known, answer.score, answer.guess_rate, answer.practice_day)
    tally = keys.get(place, KeyTally())
    # a first meeting says nothing about the key
    surplus = 0.0 if expected is None else float(answer.score >= RIGHT_FROM) - expected
    keys[place] = KeyTally(tally.times + 1, tally.surplus + surplus)
    days[answer.practice_day] = days.get(answer.practice_day, 0) + 1
