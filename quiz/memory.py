"""What is remembered: one memory state an item, and the recall it predicts.

The one module that uses the scheduling library, and only to update stability and difficulty. Its
clock, due dates, steps and grade names stay in here. Time is counted in practice days, since the
library looks at whole days; only the first answer of an item on a practice day is taken.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from math import exp, log
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from fsrs import Scheduler

    from quiz.answers import Answer

RULES = 1
"""Rises when the rules of this module change; states made by other rules are made anew."""

DECAY = 0.1542
"""The exponent of forgetting, w20 of the library's default parameters."""

FACTOR = 0.9 ** (-1 / DECAY) - 1
"""Makes the recall 0.9 when as many days have passed as the stability says."""

TARGET = 0.9
"""The recall at which an item is due."""

RIGHT_FROM = 0.7
"""The lowest score that counts as remembered."""

STEADY_DAYS, SOLID_DAYS = 7.0, 30.0
"""Stabilities from which an item is called steady, and solid. [chosen here, no source]"""


class Item(NamedTuple):
    """What is scheduled: a device asked in one way."""

    device: str
    """The id of a catalogue row."""

    kind: str


@dataclass(frozen=True, slots=True)
class State:
    """What is known about an item that has been met."""

    stability: float
    """Days after which the recall has fallen to 0.9."""

    difficulty: float
    """1 to 10."""

    day: int
    """The practice day of the last answer that was taken."""

    asked: int
    """Answers in all."""

    right: int
    """Answers with a score from RIGHT_FROM up."""

    first_day: int
    """The practice day of the first answer."""

    last_right: bool
    """Whether the latest answer was right."""


def recall(state: State, day: int) -> float:
    """The predicted chance of a right answer on a practice day, 0 to 1."""
    return float((1 + FACTOR * max(0, day - state.day) / state.stability) ** -DECAY)


def wait(state: State, target: float = TARGET) -> float:
    """Days from the last answer until the recall has fallen to `target` (0 to 1, exclusive)."""
    return float(state.stability / FACTOR * (target ** (-1 / DECAY) - 1))


def stage(state: State | None) -> str:
    """The word for how well an item is known: new, shaky, steady or solid."""
    if state is None:
        return "new"
    if not state.last_right or state.stability < STEADY_DAYS:
        return "shaky"
    return "steady" if state.stability < SOLID_DAYS else "solid"


def after(state: State | None, score: float, guess_rate: float, day: int) -> State:
    """The state after an answer with `score` (0 to 1) on practice day `day`.

    A later answer on the same practice day counts, but moves no memory. A right answer may have
    been lucky: the outcomes of right and wrong are blended with the weight that it was not,
    w = R / (R + (1 - R) g), geometrically for stability and linearly for difficulty.
    """
    right = score >= RIGHT_FROM
    if state is None:
        stability, difficulty = _met(right)
        return State(stability, difficulty, day, 1, int(right), day, right)
    asked, hits = state.asked + 1, state.right + int(right)
    if day <= state.day:
        return State(state.stability, state.difficulty, state.day, asked, hits,
                     state.first_day, right)
    stability, difficulty = _reviewed(state, right, day)
    if right:
        known = recall(state, day)
        weight = known / (known + (1 - known) * guess_rate)
        lapsed_stability, lapsed_difficulty = _reviewed(state, False, day)
        stability = exp(weight * log(stability) + (1 - weight) * log(lapsed_stability))
        difficulty = weight * difficulty + (1 - weight) * lapsed_difficulty
    return State(stability, difficulty, day, asked, hits, state.first_day, right)


def replay(answers: Iterable["Answer"]) -> dict[Item, State]:
    """All states from all answers, which must come in the order of (time, id)."""
    states: dict[Item, State] = {}
    for answer in answers:
        item = Item(answer.device, answer.kind)
        states[item] = after(
            states.get(item), answer.score, answer.guess_rate, answer.practice_day
        )
    return states


def rules_version() -> str:
    """What the states depend on: these rules and the library's version."""
    from importlib.metadata import version

    return f"{RULES}/fsrs {version('fsrs')}"


def known_count(states: Mapping[Item, State], day: int) -> float:
    """The expected number of items that would be recalled on a practice day."""
    return sum(recall(state, day) for state in states.values())


@cache
def _scheduler() -> "Scheduler":
    from fsrs import Scheduler

    return Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def _moment(day: int) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=day)


@cache
def _met(right: bool) -> tuple[float, float]:
    """Stability and difficulty after the very first answer."""
    from fsrs import Card

    return _rated(Card(card_id=1), right, 0)


def _reviewed(state: State, right: bool, day: int) -> tuple[float, float]:
    from fsrs import Card
    from fsrs import State as Learning

    card = Card(
        card_id=1, state=Learning.Review, step=None, stability=state.stability,
        difficulty=state.difficulty, due=_moment(state.day), last_review=_moment(state.day),
    )
    return _rated(card, right, day)


def _rated(card: object, right: bool, day: int) -> tuple[float, float]:
    from fsrs import Card, Rating

    assert isinstance(card, Card)
    rating = Rating.Good if right else Rating.Again
    rated, _ = _scheduler().review_card(card, rating, _moment(day))
    assert rated.stability is not None  # every reviewed card has both
    assert rated.difficulty is not None
    return rated.stability, rated.difficulty
