"""How near the reach comes to what a listener can follow: `python -m tests.bench.bench_reach`.

Invented listeners, not people. Each can follow an item up to a tempo that is the sum, in octaves,
of an offset of the listener, one of the device and one of the item; the chance of a right answer
falls with the tempo along a logistic curve, from 1 to the guess rate, and is `GOAL` at that tempo.
In eight weeks new items come in day by day until all 150 are met; the tempo that is asked is drawn
a little around the reach, as in a round.

Prints, for each invented world, how far the reach ends from the truth, on average over the items,
for one sum of three offsets, for one offset a listener and for one an item; the latter two each at
the step that is best for them in that world. Then what happens where rung and tempo move at once.

The numbers of `TEMPO_RULE` come from the search (`--search`, some minutes), which sees listeners
that are not those of the judgement, early and late, with many questions a day and with few. The
best is flat: its neighbours do as well within a hundredth of an octave.
"""

import argparse
import sys
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import product
from math import exp, log, log2
from random import Random

from quiz.learning.memory import Item
from quiz.learning.reach import (
    FASTEST,
    GOAL,
    SLOWEST,
    START_TEMPO,
    TEMPO_RULE,
    Moving,
    Reaches,
    TempoRule,
)
from quiz.questions.rungs import LADDERS

EARLY, DAYS = 14, 56
DEVICES = tuple(f"figure {number}" for number in range(50))
GUESS_RATES = {"name": 0.25, "write": 0.02, "place": 0.1}
DRAWN_AROUND = 0.1
"""Octaves by which the tempo that is asked may differ from the reach."""

NEAR = 0.25
"""Octaves: an item whose reach is this near its truth has settled. 88 beats a minute to 105."""

JUDGE_SEEDS, SEARCH_SEEDS = range(20), range(1000, 1006)
STEPS = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0)
"""Tried for the variants with one offset."""

SEARCH_STEPS = (0.1, 0.15, 0.2, 0.25, 0.3)
SEARCH_SHARES = tuple(
    (learner / 10, device / 10, (10 - learner - device) / 10)
    for learner, device in product(range(5), range(1, 6))
    if learner + device <= 7
)


@dataclass(frozen=True, slots=True)
class World:
    """How listeners differ. Spreads are standard deviations, in octaves."""

    name: str
    level: float = 0.0
    """Octaves over START_TEMPO that the average listener follows."""

    learner: float = 0.4
    device: float = 0.3
    item: float = 0.2
    slope: float = 0.25
    """Octaves of the logistic curve: a larger one is flatter."""

    daily: int = 60
    """Questions a day; a fifth of them, at least four, may be of new items."""

    gain: float = 0.0
    """Octaves that a listener gains in the eight weeks."""

    rung: float = 0.0
    """Octaves by which each rung makes an item harder."""

    slowest: float = SLOWEST
    """The slowest tempo that a question may have, whatever the reach."""


WORLDS = (
    World("plain"),
    World("devices alike", device=0.1, item=0.1),
    World("items differ", device=0.2, item=0.4),
    World("steep curve", slope=0.15),
    World("flat curve", slope=0.4),
    World("gains half an octave", gain=0.5),
    World("one round a day", daily=12),
)

_LAST_RUNGS = {kind.value: len(ladder) - 1 for kind, ladder in LADDERS.items()}

LADDERED_WORLDS = (
    World("rungs alike", rung=0.0),
    World("rung = 0.1 octaves", rung=0.1),
    World("rung = 0.2 octaves", rung=0.2),
    World("able, from 80 bpm up", level=0.6, rung=0.2, slowest=80),
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one listener ended, or several on average."""

    error: float
    """Octaves from the truth, without sign, on average over the items."""

    near: float
    """The share of items within NEAR."""

    right: float
    """The share of right answers in the last two weeks."""

    climbed: float
    """How far up the ladder the items stand, 0 to 1."""

    tempo: float
    """Beats a minute, on average over the items."""


class Listener:
    """What one invented listener can follow."""

    def __init__(self, world: World, chance: Random) -> None:
        self._world, self._chance = world, chance
        learner = chance.gauss(world.level, world.learner)
        devices = {device: chance.gauss(0, world.device) for device in DEVICES}
        self.items = [Item(device, kind) for device, kind in product(DEVICES, GUESS_RATES)]
        chance.shuffle(self.items)
        self._offsets = {
            item: learner + devices[item.device] + chance.gauss(0, world.item)
            for item in self.items
        }

    def truth(self, item: Item, rung: int, day: int) -> float:
        """Octaves over START_TEMPO at which the chance of a right answer is GOAL."""
        world = self._world
        return self._offsets[item] + world.gain * day / DAYS - world.rung * rung

    def answers(self, item: Item, rung: int, tempo: float, day: int) -> bool:
        """Whether an answer is right."""
        guess = GUESS_RATES[item.kind]
        at_truth = log((GOAL - guess) / (1 - GOAL))
        over = log2(tempo / START_TEMPO) - self.truth(item, rung, day)
        known = 1 / (1 + exp(over / self._world.slope - at_truth))
        return self._chance.random() < guess + (1 - guess) * known


def listened(
    world: World, rule: TempoRule, seed: int, days: int = DAYS, climbs: bool = False
) -> Outcome:
    """So many days of one listener, at the lowest rung unless it `climbs`."""
    chance = Random(seed)
    listener, moving, late = Listener(world, chance), Moving(Reaches(), rule), list[bool]()
    for question in range(days * world.daily):
        day = question // world.daily
        met = (day + 1) * max(4, world.daily // 5)
        item, reaches = chance.choice(listener.items[:met]), moving.reaches()
        tempo = reaches.tempo(item) * 2 ** chance.uniform(-DRAWN_AROUND, DRAWN_AROUND)
        tempo = max(tempo, world.slowest)
        rung = reaches.rung(item) if climbs else 0
        right = listener.answers(item, rung, tempo, day)
        moving.move(item, rung, tempo, right)
        if day >= days - EARLY:
            late.append(right)
    return _outcome(listener, moving.reaches(), late, days, climbs)


def _outcome(
    listener: Listener, reaches: Reaches, late: list[bool], days: int, climbs: bool
) -> Outcome:
    items, tempi = listener.items, [reaches.tempo(item) for item in listener.items]
    rungs = [reaches.rung(item) if climbs else 0 for item in items]
    errors = [
        abs(log2(tempo / START_TEMPO) - _in_range(listener.truth(item, rung, days)))
        for item, rung, tempo in zip(items, rungs, tempi, strict=True)
    ]
    climbed = [rung / _LAST_RUNGS[item.kind] for item, rung in zip(items, rungs, strict=True)]
    return Outcome(
        _average(errors),
        _average(error <= NEAR for error in errors),
        _average(late),
        _average(climbed),
        _average(tempi),
    )


def _in_range(octaves: float) -> float:
    return min(max(octaves, log2(SLOWEST / START_TEMPO)), log2(FASTEST / START_TEMPO))


def _average(numbers: Iterable[float]) -> float:
    values = list(numbers)
    return sum(values) / len(values)


def _over_all(world: World, rule: TempoRule, days: int = DAYS, climbs: bool = False) -> Outcome:
    """The average over the listeners of the judgement."""
    outcomes = [listened(world, rule, seed, days, climbs) for seed in JUDGE_SEEDS]
    return Outcome(
        _average(outcome.error for outcome in outcomes),
        _average(outcome.near for outcome in outcomes),
        _average(outcome.right for outcome in outcomes),
        _average(outcome.climbed for outcome in outcomes),
        _average(outcome.tempo for outcome in outcomes),
    )


def _at_best_step(world: World, learner: float, item: float) -> Outcome:
    """With the step that is best for this variant in this world: more than a program can know."""
    found = [_over_all(world, TempoRule(step, learner, 0, item)) for step in STEPS]
    return min(found, key=lambda outcome: outcome.error)


def _search() -> int:
    """Print the rules with the least error: early and late, with many and with few questions."""
    worlds = [replace(world, daily=daily) for world in WORLDS for daily in (12, 60)]
    tries = list(product(worlds, SEARCH_SEEDS, (EARLY, DAYS)))
    found = []
    for step, shares in product(SEARCH_STEPS, SEARCH_SHARES):
        rule = TempoRule(step, *shares)
        error = _average(listened(world, rule, seed, days).error for world, seed, days in tries)
        found.append((error, rule))
    for error, rule in sorted(found)[:20]:
        sys.stdout.write(f"{error:.4f}  {rule}\n")
    return 0


def _judge() -> bool:
    """Whether the sum of three offsets came nearest, on average over the worlds."""
    sys.stdout.write(f"{TEMPO_RULE}\nMean error in octaves (items within {NEAR}, right lately)\n")
    errors = []
    for world in WORLDS:
        shared, early = _over_all(world, TEMPO_RULE), _over_all(world, TEMPO_RULE, EARLY)
        learner, item = _at_best_step(world, 1, 0), _at_best_step(world, 0, 1)
        errors.append((shared.error, learner.error, item.error))
        sys.stdout.write(
            f"  {world.name:22} shared {_told(shared)}, after {EARLY} days {_told(early)}   "
            f"learner only {_told(learner)}   item only {_told(item)}\n"
        )
    shared_error, *others = (_average(column) for column in zip(*errors, strict=True))
    sys.stdout.write(
        f"  {'all worlds':22} shared {shared_error:.3f}   learner only {others[0]:.3f}   "
        f"item only {others[1]:.3f}\n"
    )
    return shared_error < min(others)


def _judge_ladders() -> None:
    sys.stdout.write("Rung and tempo together\n")
    for world, days in product(LADDERED_WORLDS, (DAYS, 4 * DAYS)):
        outcome = _over_all(world, TEMPO_RULE, days, climbs=True)
        sys.stdout.write(
            f"  {world.name:26} after {days:3} days {outcome.right:.0%} right, "
            f"{outcome.climbed:.0%} up the ladder, {outcome.tempo:.0f} bpm\n"
        )


def _told(outcome: Outcome) -> str:
    return f"{outcome.error:.3f} ({outcome.near:.0%}, {outcome.right:.0%})"


def main() -> int:
    """Simulate and print; 0 if the sum of three offsets is nearest on average, 1 if not."""
    parser = argparse.ArgumentParser(description="How near the reach comes to the truth.")
    parser.add_argument("--search", action="store_true", help="search the numbers of TEMPO_RULE")
    if parser.parse_args().search:
        return _search()
    nearest = _judge()
    _judge_ladders()
    return 0 if nearest else 1


if __name__ == "__main__":
    sys.exit(main())
