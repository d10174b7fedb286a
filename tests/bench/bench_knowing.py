"""How well the layer of what is shown keeps its word: `python -m tests.bench.bench_knowing`.

Invented learners of two families of memory (`tests.quiz.rememberers`), not people; their numbers
are chosen so that the memory model alone is clearly off. Each answers for eight weeks, asked at
random. For every answer that could be foreseen three predictions are compared with what happened:
that of the memory state alone, that of the layer, and that of a full extended Kalman filter with
all covariances, written here with numpy. Prints the mean log loss, the calibration error over all
learners of a family together, and what the layer costs an answer.
"""

import sys
import time
from collections.abc import Callable, Iterator
from math import log
from random import Random

import numpy as np
from numpy.typing import NDArray

from quiz.learning.knowing import FEATURES, SPREAD, START, Knowing, Learning, Seen, _features
from quiz.learning.memory import RIGHT_FROM, Item, State, after, is_taken, recall
from quiz.settings.values import KEY_NAMES
from tests.quiz.rememberers import GUESS_RATES, Fading, Leaking, Rememberer, answers_of

SEEDS = range(12)
KINDS = tuple(GUESS_RATES)
KIND_VARIANCE, KEY_VARIANCE = 0.1, 0.02

Prediction = tuple[float, bool]
"""A chance, and whether the answer was right."""


def foreseen(family: Callable[[Random], Rememberer], seed: int) -> Iterator[Seen]:
    """The answers of a learner that could be foreseen, in order."""
    chance, states = Random(seed), dict[Item, State]()
    for answer in answers_of(family(chance), chance):
        item, day = Item(answer.device, answer.kind), answer.practice_day
        state = states.get(item)
        if state is not None and is_taken(state, day):
            right = answer.score >= RIGHT_FROM
            recalled = recall(state, day)
            yield Seen(answer.kind, answer.key, answer.guess_rate, right, state, day, recalled)
        states[item] = after(state, answer.score, answer.guess_rate, day)


def by_memory(answers: list[Seen]) -> list[Prediction]:
    """What the memory state alone says."""
    return [(one.recalled + (1 - one.recalled) * one.guess_rate, one.right) for one in answers]


def by_layer(answers: list[Seen]) -> list[Prediction]:
    """What the layer says, before it learns of each answer."""
    knowing, told = Knowing(), list[Prediction]()
    for one in answers:
        item = Item("any", one.kind)
        told.append((knowing.chance(item, one.state, one.day, one.guess_rate, one.key), one.right))
        knowing = knowing.take(one)
    return told


def by_full_filter(answers: list[Seen]) -> list[Prediction]:
    """What the same regression says with all covariances kept."""
    size = len(FEATURES) + len(KINDS) + len(KEY_NAMES)
    weights = np.zeros(size)
    weights[: len(START)] = START
    spread = (*SPREAD, *[KIND_VARIANCE] * len(KINDS), *[KEY_VARIANCE] * len(KEY_NAMES))
    covariance: NDArray[np.float64] = np.diag(spread)
    told = list[Prediction]()
    for one in answers:
        x = np.zeros(size)
        x[: len(FEATURES)] = _features(one.state, one.day, one.recalled)
        x[len(FEATURES) + KINDS.index(one.kind)] = 1
        x[len(FEATURES) + len(KINDS) + KEY_NAMES.index(one.key)] = 1
        known = float(1 / (1 + np.exp(-np.clip(weights @ x, -8, 8))))
        chance = known + (1 - known) * one.guess_rate
        told.append((chance, one.right))
        gradient = (1 - one.guess_rate) * known * (1 - known) * x
        reach = covariance @ gradient
        gain = reach / (gradient @ reach + chance * (1 - chance))
        weights = weights + gain * (one.right - chance)
        covariance = covariance - np.outer(gain, reach)
    return told


def log_loss(told: list[Prediction]) -> float:
    """Mean of -log of the chance that was given to what happened."""
    return -sum(log(chance if right else 1 - chance) for chance, right in told) / len(told)


def off_by(told: list[Prediction]) -> float:
    """The calibration error over ten bins."""
    bins = [[0.0, 0.0] for _ in range(10)]
    for chance, right in told:
        row = bins[min(9, int(chance * 10))]
        row[0] += chance
        row[1] += right
    return sum(abs(expected - happened) for expected, happened in bins) / len(told)


def main() -> None:
    """Print the table."""
    print = sys.stdout.write
    for family in (Fading, Leaking):
        logs = [list(foreseen(family, seed)) for seed in SEEDS]
        print(f"{family.__name__}: {sum(map(len, logs))} answers of {len(SEEDS)} learners\n")
        for name, predict in (
            ("memory alone", by_memory),
            ("layer", by_layer),
            ("full filter", by_full_filter),
        ):
            told = [one for answers in logs for one in predict(answers)]
            print(f"  {name:<14} log loss {log_loss(told):.4f}   off by {off_by(told):.4f}\n")
    answers = [tuple(one) for log_of in logs for one in log_of]
    best = float("inf")
    for _ in range(5):
        learning, begin = Learning(Knowing()), time.process_time()
        for one in answers:
            learning.take(*one)  # type: ignore[arg-type]  # the fields of Seen, in their order
        best = min(best, time.process_time() - begin)
    print(f"The layer takes {best / len(answers) * 1e6:.1f} microseconds an answer.\n")


if __name__ == "__main__":
    main()
