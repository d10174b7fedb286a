"""What is remembered: one memory state an item, and the recall it predicts.

The one module that uses the scheduling library, and only to update stability and difficulty. Its
clock, due dates, steps and grade names stay in here. Time is counted in practice days, since the
library looks at whole days; only the first answer of an item on a practice day is taken.

Recall after t days is (1 + FACTOR t / S) ** -DECAY, S the stability: by definition 0.9 at t = S.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache, lru_cache
from importlib.util import find_spec
from math import exp, log
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from quiz.answers import Outcome

if TYPE_CHECKING:
    import fsrs  # loaded where it is needed: a start does without it

RULES = 3
"""Rises when the rules of this module, of `reach`, `knowing` or `practice` beside it change;
what was made by other rules is made anew."""

DECAY = 0.1542
"""The exponent of forgetting, w20 of the library's default parameters."""

FACTOR = 0.9 ** (-1 / DECAY) - 1
"""Makes the recall 0.9 when as many days have passed as the stability says."""

TARGET = 0.87
"""The recall at which an item is due. [chosen by simulation, on other seeds than those of
tests/bench/bench_weeks.py: at 0.9 those who go on when nothing is due keep less, since more comes
just when it is ripe; at 0.85 those who stop then keep less]"""

RIGHT_FROM = 0.7
"""The lowest score that counts as remembered."""

STEADY_DAYS, SOLID_DAYS = 7.0, 30.0
"""Stabilities from which an item is called steady, and solid. [chosen here, no source]"""

KNOWN_DAYS = 21.0
"""The stability of an item that was known before it was first asked: between steady and solid.
[chosen here, no source]"""

PLACEMENT = "placement"
"""The reason of a question that was asked to find out what is known already."""

PRESUMED = "presumed"
"""The reason of a first question about an item that the placement answers let one presume known."""

KNOWN_BEFORE = {PLACEMENT: 0.5, PRESUMED: 0.9}
"""How likely an item was known before its first question, by the reason of that question: in a
placement as likely as not, presumed from PRESUMED_FROM of `placement` up. [chosen here]"""

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


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
    """The predicted chance of remembering on a practice day, 0 to 1."""
    return float((1 + FACTOR * max(0, day - state.day) / state.stability) ** -DECAY)


def chance_of_right(state: State, guess_rate: float, day: int) -> float:
    """The predicted chance of a right answer on a practice day: remembered, or guessed."""
    known = recall(state, day)
    return known + (1 - known) * guess_rate


def wait(state: State, target: float = TARGET) -> float:
    """Days from the last answer until the recall has fallen to `target` (above 0, below 1)."""
    return float(state.stability / FACTOR * (target ** (-1 / DECAY) - 1))


def stage(state: State | None) -> str:
    """The word for how well an item is known.

    new: never asked; shaky: the last answer was wrong, or the stability is under STEADY_DAYS;
    steady: up to SOLID_DAYS; solid: from there on.
    """
    if state is None:
        return "new"
    if not state.last_right or state.stability < STEADY_DAYS:
        return "shaky"
    return "steady" if state.stability < SOLID_DAYS else "solid"


def is_taken(state: State | None, day: int) -> bool:
    """Whether an answer on practice day `day` moves the memory: the first of its day does."""
    return state is None or day > state.day


def following(state: State | None, answer: Outcome) -> State | None:
    """The state after an answer; None where the item stays new.

    A placement asks far ahead of the order of learning: what it finds unknown is left for its turn.
    """
    if state is None and answer.why == PLACEMENT and answer.score < RIGHT_FROM:
        return None
    known = KNOWN_BEFORE.get(answer.why, 0.0)
    return after(state, answer.score, answer.guess_rate, answer.practice_day, known)


def after(
    state: State | None, score: float, guess_rate: float, day: int, known: float = 0.0
) -> State:
    """The state after an answer with `score` (0 to 1) on practice day `day`.

    A later answer on the same practice day counts, but moves no memory. A right answer may have
    been lucky: the outcomes of right and wrong are blended with the weight that it was not,
    w = R / (R + (1 - R) g), geometrically for stability and linearly for difficulty.
    """
    right = score >= RIGHT_FROM
    if state is None:
        return State(*_first(right, guess_rate, known), day, 1, int(right), day, right)
    stability, difficulty, last_day = state.stability, state.difficulty, state.day
    if is_taken(state, day):
        stability, difficulty = _reviewed(state, right, day)
        if right:
            weight = recall(state, day) / chance_of_right(state, guess_rate, day)
            lapsed_stability, lapsed_difficulty = _reviewed(state, False, day)
            stability = exp(weight * log(stability) + (1 - weight) * log(lapsed_stability))
            difficulty = weight * difficulty + (1 - weight) * lapsed_difficulty
        last_day = day
    return State(
        stability,
        difficulty,
        last_day,
        state.asked + 1,
        state.right + int(right),
        state.first_day,
        right,
    )


def replay(answers: Iterable[Outcome]) -> dict[Item, State]:
    """All states from all answers, which must come in the order of (time, id)."""
    states: dict[Item, State] = {}
    for answer in answers:
        item = Item(answer.device, answer.kind)
        if state := following(states.get(item), answer):
            states[item] = state
    return states


@cache
def rules_version() -> str:
    """What the states depend on: these rules and the library's version."""
    return f"{RULES}/fsrs {_library_version()}"


def _library_version() -> str:
    """The installed version, read from the name of its folder; 10 ms faster than asking for it."""
    found = find_spec("fsrs")
    folder = Path(found.origin).parents[1] if found and found.origin else Path()
    for entry in folder.glob("fsrs-*.dist-info"):
        return entry.name.removeprefix("fsrs-").removesuffix(".dist-info")
    from importlib.metadata import version  # installed in some other way

    return version("fsrs")


@lru_cache(maxsize=1024)
def _date(day: int) -> datetime:
    return _EPOCH + timedelta(days=day)


@cache
def _scheduler() -> "fsrs.Scheduler":
    import fsrs

    return fsrs.Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def _first(right: bool, guess_rate: float, known: float) -> tuple[float, float]:
    """Stability and difficulty after a first answer; where it was right, and the item was known
    before with the chance `known`, blended towards KNOWN_DAYS as `after` does it."""
    stability, difficulty = _met(right)
    if not right or not known:
        return stability, difficulty
    weight = known / (known + (1 - known) * guess_rate)
    return exp(weight * log(KNOWN_DAYS) + (1 - weight) * log(stability)), difficulty


@cache
def _card() -> "type[fsrs.Card]":
    """A card that is reviewed once and thrown away: the library's copy of it, a third of the time
    of a review, is spared."""
    import fsrs

    class Fleeting(fsrs.Card):
        def __copy__(self) -> "Fleeting":
            return self

    return Fleeting


@cache
def _met(right: bool) -> tuple[float, float]:
    """Stability and difficulty after the very first answer."""
    import fsrs

    return _rated(fsrs.Card(card_id=1), right, 0)  # without an id the library sleeps to make one


def _reviewed(state: State, right: bool, day: int) -> tuple[float, float]:
    """Stability and difficulty after an answer that was surely known, or surely not."""
    import fsrs

    last = _date(state.day)
    card = _card()(
        card_id=1,
        state=fsrs.State.Review,
        step=None,
        stability=state.stability,
        difficulty=state.difficulty,
        due=last,
        last_review=last,
    )
    return _rated(card, right, day)


def _rated(card: "fsrs.Card", right: bool, day: int) -> tuple[float, float]:
    import fsrs

    rating = fsrs.Rating.Good if right else fsrs.Rating.Again
    rated, _ = _scheduler().review_card(card, rating, _date(day))
    assert rated.stability is not None  # a reviewed card has both
    assert rated.difficulty is not None
    return rated.stability, rated.difficulty
