"""Weeks of practice of simulated learners, and what is counted of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import mean, stdev

from quiz.learners.learner import Learner
from quiz.learners.memory_models import When
from quiz.memory import Item
from tests.bench.pickers import FIRST_DAY, GUESS_RATES, Picker, Program

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


def medium() -> Course:
    """150 items, 60 questions a day, 8 weeks."""
    return course(50)


def course(devices: int) -> Course:
    """So many devices, each in three kinds, in an order of learning."""
    return Course(
        tuple(
            Item(f"figure {number}", kind) for number in range(devices) for kind in GUESS_RATES
        )
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
    halfway: tuple[float, ...]
    """The recall that would be left at the same later day, had practice ended after each week."""

    calibration: float | None = None
    """Of the program: how far its predictions were off; see `calibration_error`."""

    needed: int = 0
    """Of the program: questions up to where it said that nothing was due, day by day."""

    reasons: tuple[tuple[str, int], ...] = ()


def practise(learner: Learner, picker: Picker, course: Course) -> Outcome:
    """The whole course. A program's history is replayed at the end and must be the same."""
    known = asked = needed = 0
    end = When(course.days + course.later)
    halfway: list[float] = []
    for day in range(course.days):
        at = When(day)
        for _ in range(course.a_day if learner.comes(day) else 0):
            item, key = picker.pick(at)
            known += learner.recall(item, at) > KNOWN
            response = learner.answer(item, at, GUESS_RATES[item.kind], key)
            picker.told(item, key, at, response)
            asked += 1
            needed += not (isinstance(picker, Program) and day in picker.undue)
            at = When(day, at.second + PAUSE + response.seconds)
        if day % 7 == 6:
            halfway.append(mean(learner.recall(item, end) for item in course.items))
    recall = mean(learner.recall(item, end) for item in course.items)
    if not isinstance(picker, Program):
        return Outcome(recall, known, asked, tuple(halfway))
    replayed = type(picker.practice).replayed(picker.store.answers())
    assert replayed == picker.practice, "the replayed history differs from the live one"
    error = calibration_error(picker.predictions)
    reasons = tuple(sorted(picker.reasons.items()))
    return Outcome(recall, known, asked, tuple(halfway), error, needed, reasons)


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


MakePicker = Callable[[Sequence[Item], int, Learner], Picker]

assert FIRST_DAY > 0
