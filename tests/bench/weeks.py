"""Weeks of practice of simulated learners, and what is counted of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt
from statistics import mean, stdev

from quiz.learners.learner import Learner
from quiz.learners.memory_models import When
from quiz.learning.memory import Item
from quiz.learning.practice import Practice
from tests.bench.pickers import GUESS_RATES, Picker, Program

PAUSE = 12.0
"""Seconds from one question to the next, response time left out."""

KNOWN = 0.95
"""The true recall above which an item counts as known already."""

BINS = 10
"""Of the calibration error."""

T_95 = {11: 2.201, 7: 2.365, 5: 2.571, 3: 3.182, 2: 4.303, 1: 12.706}
"""The 97.5 % points of Student's t by degrees of freedom. [handbook table]"""


@dataclass(frozen=True, slots=True)
class Course:
    """What is to be learned, and how long."""

    items: tuple[Item, ...]
    days: int = 56
    a_day: int = 60
    later: int = 28
    """Days after the last one at which the recall is looked at."""

    @property
    def end(self) -> When:
        """When the recall is looked at."""
        return When(self.days + self.later)


def medium() -> Course:
    """150 items, 60 questions a day, 8 weeks."""
    return course(50)


def course(devices: int) -> Course:
    """So many devices, each in three kinds, in an order of learning."""
    return Course(
        tuple(Item(f"figure {number}", kind) for number in range(devices) for kind in GUESS_RATES)
    )


def neighbours(device: str) -> Sequence[str]:
    """Invented figures are easily mistaken in pairs."""
    number = int(device.split()[1])
    return (f"figure {number ^ 1}",)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one learner with one picker."""

    recall: float
    """The mean true recall of all items, `later` days after the last."""

    known: int
    """Questions spent on items whose true recall was above KNOWN."""

    asked: int
    needed: int = 0
    """Questions up to where it was said that nothing is due, day by day; only the program says
    so."""

    known_needed: int = 0
    """Those of `known` among them."""

    calibration: float | None = None
    """Of the memory state: how far its predictions were off; see `calibration_error`."""

    calibration_shown: float | None = None
    """The same of what the program shows."""


def practise(learner: Learner, picker: Picker, course: Course) -> Outcome:
    """The whole course; a learner of `Stopping` ends a day when nothing is due. A program's history
    is replayed at the end and must be the same."""
    known = asked = needed = known_needed = 0
    for day in filter(learner.comes, range(course.days)):
        at = When(day)
        for _ in range(course.a_day):
            item, key = picker.pick(at)
            if isinstance(picker, Program) and picker.stops and day in picker.undue:
                break
            known_already = learner.recall(item, at) > KNOWN
            due = not (isinstance(picker, Program) and day in picker.undue)
            response = learner.answer(item, at, GUESS_RATES[item.kind], key)
            picker.told(item, key, at, response)
            asked, known = asked + 1, known + known_already
            needed, known_needed = needed + due, known_needed + (due and known_already)
            at = When(day, at.second + PAUSE + response.seconds)
    recall = mean(learner.recall(item, course.end) for item in course.items)
    outcome = Outcome(recall, known, asked, needed, known_needed)
    return _with_calibration(outcome, picker) if isinstance(picker, Program) else outcome


def _with_calibration(outcome: Outcome, picker: Program) -> Outcome:
    replayed = Practice.replayed(picker.store.answers())
    assert replayed == picker.practice, "the replayed history differs from the live one"
    rows = picker.predictions
    shown = [(row.shown, row.right) for row in rows]
    return replace(
        outcome,
        calibration=calibration_error([(row.remembered, row.right) for row in rows]),
        calibration_shown=calibration_error(shown),
    )


def calibration_error(predictions: Sequence[tuple[float, bool]]) -> float:
    """The expected calibration error: predictions in BINS bins of equal width; of each bin how far
    the mean prediction is from the share that was right, weighed by its size."""
    bins: dict[int, list[tuple[float, bool]]] = {}
    for predicted, right in predictions:
        bins.setdefault(min(BINS - 1, int(predicted * BINS)), []).append((predicted, right))
    return sum(
        abs(sum(p for p, _ in rows) - sum(right for _, right in rows)) for rows in bins.values()
    ) / len(predictions)


def interval(differences: Sequence[float]) -> tuple[float, float]:
    """The mean of paired differences, and half the width of its 95 % interval (Student's t)."""
    freedom = len(differences) - 1
    if freedom < 1:
        return mean(differences), float("nan")
    t = T_95.get(freedom, 2.0)
    return mean(differences), t * stdev(differences) / sqrt(len(differences))
