"""Invented learners for tests of what is shown as known. Neither remembers as the program thinks.

`Fading` sums traces that fade by a power law, each at a rate of its own (after P. I. Pavlik and
J. R. Anderson, Cognitive Science 29, 2005, 559-586). `Leaking` holds an item in integrators that
leak at different rates (after M. C. Mozer and others, NIPS 22, 2009). Both are simplified from
memory. Those of `quiz.learners` keep to the numbers of the papers; these are others on purpose,
with numbers chosen here so that the memory model alone is clearly off.
"""

from math import exp, log
from random import Random
from typing import Protocol

from quiz.answers import Answer
from quiz.settings.values import KEY_NAMES
from tests.quiz.histories import FIRST_DAY, an_answer

GUESS_RATES = {"name": 0.25, "write": 0.02, "spell": 0.02, "place": 0.05, "fit": 0.06}


class Rememberer(Protocol):
    """Somebody who remembers and forgets."""

    def known(self, item: str, day: float) -> float:
        """The chance that an item is known."""

    def study(self, item: str, day: float, right: bool) -> None:
        """See an item and its answer."""


class Fading:
    """Traces that fade by a power law."""

    def __init__(self, chance: Random) -> None:
        self._chance = chance
        self._traces = dict[str, list[tuple[float, float]]]()
        self._ease = dict[str, float]()

    def known(self, item: str, day: float) -> float:
        if item not in self._traces:
            return 0.1
        ease = self._ease.setdefault(item, self._chance.gauss(-0.5, 0.5))
        return 1 / (1 + exp(-(self._activation(item, day) + ease) / 0.4))

    def study(self, item: str, day: float, right: bool) -> None:
        met = item in self._traces
        rate = 0.2 + (0.2 * exp(min(self._activation(item, day), 1.5)) if met else 0.0)
        self._traces.setdefault(item, []).append((day, rate))

    def _activation(self, item: str, day: float) -> float:
        return log(sum((day - then + 0.05) ** -rate for then, rate in self._traces[item]))


class Leaking:
    """Integrators that leak, the first fast and the last slowly."""

    def __init__(self, chance: Random) -> None:
        self._chance = chance
        self._levels = dict[str, tuple[float, list[float]]]()
        self._gain = dict[str, float]()

    def known(self, item: str, day: float) -> float:
        if item not in self._levels:
            return 0.1
        gain = self._gain.setdefault(item, exp(self._chance.gauss(0, 0.4)))
        return 1 - exp(-2.2 * gain * sum(self._now(item, day)) / 8)

    def study(self, item: str, day: float, right: bool) -> None:
        levels, total = self._now(item, day), 0.0
        for place, level in enumerate(levels):
            total += level
            full = min(1.0, total / (place + 1))
            levels[place] = level + (0.5 if right else 0.3) * (1 - full)
        self._levels[item] = day, levels

    def _now(self, item: str, day: float) -> list[float]:
        if item not in self._levels:
            return [0.0] * 8
        then, levels = self._levels[item]
        return [
            level * exp((then - day) / (0.5 * 2.6**place)) for place, level in enumerate(levels)
        ]


def answers_of(learner: Rememberer, chance: Random, daily: int = 40) -> list[Answer]:
    """What the learner answers in eight weeks, asked at random; every fourth day is missed."""
    kinds, answers = list(GUESS_RATES), list[Answer]()
    for day in range(56):
        if day % 4 == 3:
            continue
        for place in range(daily):
            device, kind = f"figure {chance.randrange(24)}", chance.choice(kinds)
            now = day + place / 1000
            known, luck = learner.known(f"{device} {kind}", now), GUESS_RATES[kind]
            right = chance.random() < known + (1 - known) * luck
            learner.study(f"{device} {kind}", now, right)
            answers.append(
                an_answer(
                    len(answers),
                    FIRST_DAY + day,
                    at=(FIRST_DAY + day) * 86_400_000_000 + 72_000_000_000 + place,
                    device=device,
                    kind=kind,
                    key=chance.choice(KEY_NAMES),
                    guess_rate=luck,
                    score=float(right),
                    verdict="right" if right else "wrong",
                    why="due",
                )
            )
    return answers
