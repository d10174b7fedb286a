"""The reach against what is published of the two rules it follows, on simulated listeners.

H. Levitt, "Transformed up-down methods in psychoacoustics", J. Acoust. Soc. Am. 49 (1971), 467-477:
three right answers running lead one level on, one wrong answer leads one back; the rule settles
where P(right) ** 3 = 0.5, at 0.794.

C. Kaernbach, "Simple adaptive testing with the weighted up-down method", Perception & Psychophysics
49 (1991), 227-229, 10.3758/bf03214307: with steps of two sizes the level settles where the one
times the chance of a right answer equals the other times the chance of a wrong one.
"""

from functools import cache
from math import exp, log, log2, sqrt
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray

from quiz.answers import Answer
from quiz.learning.memory import Item
from quiz.learning.reach import (
    FASTEST,
    GOAL,
    SLOWEST,
    START_TEMPO,
    TEMPO_RULE,
    ItemReach,
    Moving,
    Reaches,
)
from quiz.questions.kinds import Kind
from quiz.questions.rungs import LADDERS
from tests.quiz.histories import a_wrong_answer, an_answer

LEVITT = 0.794
"""P(right) at which three right answers and one wrong are in balance; Levitt 1971."""

ITEM = Item("climb", "name")
RUNGS = len(LADDERS[Kind.NAME])
MIDDLE = RUNGS // 2
GUESS = 0.25
SURE = 4
"""Standard errors that a simulation may be off: once in 16,000."""


def standard_error(share: float, trials: int) -> float:
    """Of a share among independent trials."""
    return sqrt(share * (1 - share) / trials)


def standing(rung: int) -> Reaches:
    return Reaches(items={ITEM: ItemReach(rung, 0, 0.0)})


@cache
def an_answer_at(rung: int, right: bool, tempo: float = START_TEMPO) -> Answer:
    return (an_answer if right else a_wrong_answer)(1, rung=rung, tempo=tempo)


# --- the staircase ------------------------------------------------------------------------------


def leads_up(chance_of_right: float, chance: Random) -> bool:
    """Whether the first move from a middle rung is upward, the chance being the same everywhere."""
    reaches = standing(MIDDLE)
    while reaches.rung(ITEM) == MIDDLE:
        reaches = reaches.after(an_answer_at(MIDDLE, chance.random() < chance_of_right))
    return reaches.rung(ITEM) > MIDDLE


@pytest.mark.parametrize("chance_of_right", [0.5, 0.7, LEVITT, 0.9])
def test_the_next_move_is_upward_as_often_as_three_answers_running_are_right(
    chance_of_right: float,
) -> None:
    chance, moves, expected = Random(3), 3000, chance_of_right**3
    upward = sum(leads_up(chance_of_right, chance) for _ in range(moves))
    assert expected == pytest.approx(upward / moves, abs=SURE * standard_error(expected, moves))


def test_at_levitt_s_level_both_directions_are_as_likely() -> None:
    assert 0.5 == pytest.approx(LEVITT**3, abs=0.001)


def chance_at(rung: int, level: float, slope: float) -> float:
    """A logistic curve over the rungs, from 1 to GUESS, which is Levitt's at `level`."""
    at_level = log((LEVITT - GUESS) / (1 - LEVITT))
    return GUESS + (1 - GUESS) / (1 + exp((rung - level) / slope - at_level))


def climbed(trials: int, level: float, slope: float, chance: Random) -> tuple[int, int]:
    """The rung that a listener reaches from the middle one, and how many answers were right."""
    moving, right = Moving(standing(MIDDLE)), 0
    rung = MIDDLE
    for _ in range(trials):
        is_right = chance.random() < chance_at(rung, level, slope)
        moving.take(an_answer_at(rung, is_right))
        rung, right = moving.reaches().rung(ITEM), right + is_right
    return rung, right


LISTENERS = [(3.0, 1.5), (3.5, 1.0), (4.0, 1.5), (4.0, 2.0)]
"""(rung at which they are right as often as Levitt says, rungs of the curve's slope)"""


@pytest.mark.parametrize(("level", "slope"), LISTENERS)
def test_the_share_of_right_answers_settles_where_levitt_says(level: float, slope: float) -> None:
    trials = 10_000
    _, right = climbed(trials, level, slope, Random(5))
    # Answers of a staircase even each other out, so the error of independent ones is more than
    # theirs. Rungs are whole: the exact chain below settles up to 0.005 beside the level.
    tolerance = SURE * standard_error(LEVITT, trials) + 0.005
    assert LEVITT == pytest.approx(right / trials, abs=tolerance)


def exact_rungs(trials: int, level: float, slope: float) -> NDArray[np.float64]:
    """The chance of each rung after so many answers, from Levitt's rule as a Markov chain over
    (rung, right answers running), by linear algebra alone."""
    run = 3
    moves = np.zeros((RUNGS * run, RUNGS * run))
    for rung in range(RUNGS):
        right = chance_at(rung, level, slope)
        for so_far in range(run):
            up = min(rung + 1, RUNGS - 1) * run if so_far == 2 else rung * run + so_far + 1
            moves[rung * run + so_far, up] += right
            moves[rung * run + so_far, max(rung - 1, 0) * run] += 1 - right
    after: NDArray[np.float64] = np.linalg.matrix_power(moves, trials)[MIDDLE * run]
    spread: NDArray[np.float64] = after.reshape(RUNGS, run).sum(axis=1)
    return spread


@pytest.mark.parametrize(("level", "slope"), LISTENERS)
def test_the_rungs_of_many_listeners_spread_as_the_exact_chain_says(
    level: float, slope: float
) -> None:
    listeners, trials, chance = 1000, 40, Random(7)
    ends = [climbed(trials, level, slope, chance)[0] for _ in range(listeners)]
    for rung, expected in enumerate(exact_rungs(trials, level, slope)):
        # one listener more, so that a rung that hardly anybody reaches may be reached by one
        tolerance = SURE * standard_error(expected, listeners) + 1 / listeners
        assert expected == pytest.approx(ends.count(rung) / listeners, abs=tolerance)


# --- the tempo ----------------------------------------------------------------------------------


def octaves(reaches: Reaches) -> float:
    """The sum of all offsets of the item."""
    own = reaches.items[ITEM].octaves if ITEM in reaches.items else 0.0
    return reaches.learner + reaches.devices.get(ITEM.device, 0.0) + own


def test_the_steps_are_in_kaernbach_s_balance_at_the_goal() -> None:
    up = octaves(Reaches().after(an_answer_at(0, True)))
    down = -octaves(Reaches().after(an_answer_at(0, False)))
    assert up > 0
    assert up * GOAL == pytest.approx(down * (1 - GOAL))


@pytest.mark.parametrize("follows", [90.0, 120.0, 150.0])
@pytest.mark.parametrize("slope", [0.15, 0.25, 0.4])
def test_the_share_of_right_answers_settles_at_the_goal(follows: float, slope: float) -> None:
    """A listener whose chance of a right answer depends on the tempo alone and is GOAL at the
    tempo `follows`; asked at the reach."""
    trials, chance, reaches = 4000, Random(11), Reaches()
    at_goal = log((GOAL - GUESS) / (1 - GOAL))
    right, heights = 0, []
    for _ in range(trials):
        tempo = reaches.tempo(ITEM)
        over = log2(tempo / follows)
        is_right = chance.random() < GUESS + (1 - GUESS) / (1 + exp(over / slope - at_goal))
        reaches = reaches.after(an_answer_at(0, is_right, tempo))
        right += is_right
        heights.append(log2(tempo / START_TEMPO))
    # Steps up less steps down are the way from the first tempo to the last, which is within the
    # range: so the share is GOAL but for range / (step * trials) while no step is cut at an end.
    off = log2(FASTEST / SLOWEST) / (TEMPO_RULE.step * trials)
    assert GOAL == pytest.approx(right / trials, abs=off)
    # The curve bends, so the mean lies a little below the tempo at which the chance is GOAL; with
    # these slopes and two dozen seeds by 0.06 octaves at most.
    settled = heights[trials // 10 :]
    assert log2(follows / START_TEMPO) == pytest.approx(sum(settled) / len(settled), abs=0.08)
