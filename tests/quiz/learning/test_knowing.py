"""What is shown as known: learned from the answers, and honest about itself."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import log, log1p
from random import Random

import numpy as np
import pytest

from quiz.learning.knowing import (
    BINS,
    DRIFT,
    FEATURES,
    Bin,
    Bins,
    Knowing,
    Seen,
    Weight,
    as_text,
    calibration_error,
    from_text,
)
from quiz.learning.memory import Item, State, recall
from quiz.learning.practice import Practice
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.rememberers import Fading, Leaking, Rememberer, answers_of

CLIMB = Item("climb", "name")
STATE = State(8.0, 5.0, FIRST_DAY, asked=4, right=3, first_day=FIRST_DAY - 9, last_right=True)


def seen(right: bool, days: int = 6, state: State = STATE, guess_rate: float = 0.25) -> Seen:
    day = state.day + days
    return Seen("name", "Bb", guess_rate, right, state, day, recall(state, day))


def test_before_the_first_answer_the_recall_of_the_state_is_shown() -> None:
    day = FIRST_DAY + 8
    assert 0.9 == pytest.approx(Knowing().known(CLIMB, STATE, day))  # 8 days are its stability
    assert 0.9 + 0.1 * 0.25 == pytest.approx(Knowing().chance(CLIMB, STATE, day, 0.25))


def test_an_item_that_was_never_asked_is_not_known() -> None:
    assert 0.0 == Knowing().known(CLIMB, None, FIRST_DAY)
    assert 0.25 == Knowing().chance(CLIMB, None, FIRST_DAY, 0.25)


def test_a_right_answer_raises_what_is_shown_and_a_wrong_one_lowers_it() -> None:
    day, before = FIRST_DAY + 8, Knowing()
    shown = before.known(CLIMB, STATE, day, "Bb")
    assert before.take(seen(True)).known(CLIMB, STATE, day, "Bb") > shown
    assert before.take(seen(False)).known(CLIMB, STATE, day, "Bb") < shown


def test_a_lucky_answer_teaches_less_the_luckier_it_may_have_been() -> None:
    day = FIRST_DAY + 8
    moved = [
        Knowing().take(seen(True, guess_rate=luck)).known(CLIMB, STATE, day)
        for luck in (0.02, 0.25, 0.5, 1.0)
    ]
    assert sorted(moved, reverse=True) == moved
    assert Knowing().known(CLIMB, STATE, day) == moved[-1]  # luck alone teaches nothing


def test_a_step_is_that_of_an_extended_kalman_filter_with_a_diagonal_covariance() -> None:
    # the general matrix form, written with another library: K = P G / (G' P G + R),
    # w + K (y - h), P - K G' P, its diagonal kept (Puskorius and Feldkamp 1991, from memory)
    days, luck, right = 6, 0.25, False
    odds = log(recall(STATE, FIRST_DAY + days) / (1 - recall(STATE, FIRST_DAY + days)))
    features = [1, odds, log1p(3) - 1, log1p(1) - 0.5, 1, log1p(days) - 1.5, log(8) / 2 - 0.75]
    x = np.array([*features, 1, 1])
    w = np.array([0, 1, 0, 0, 0, 0, 0, 0, 0], dtype=float)
    covariance = np.diag([0.3, *[0.1] * 6, 0.1, 0.02])
    known = 1 / (1 + np.exp(-w @ x))
    h = known + (1 - known) * luck
    gradient = (1 - luck) * known * (1 - known) * x
    gain = covariance @ gradient / (gradient @ covariance @ gradient + h * (1 - h))
    w = w + gain * (right - h)
    variances = np.diag(covariance - np.outer(gain, gradient @ covariance)) + DRIFT

    after = Knowing().take(seen(right, days, guess_rate=luck))
    weights = [*after.weights, after.kinds["name"], after.keys["Bb"]]
    w[FEATURES.index("days")] = min(0.0, w[FEATURES.index("days")])
    assert w == pytest.approx([weight.value for weight in weights])
    assert variances == pytest.approx([weight.variance for weight in weights])


def test_only_foreseen_answers_teach() -> None:
    first = Practice.replayed([an_answer(1)])
    same_day = first.after(a_wrong_answer(2))
    called = first.after(a_wrong_answer(3, FIRST_DAY + 2, kind="jam", why="open jam"))
    assert Knowing() == first.knowing == same_day.knowing == called.knowing
    assert Knowing() != first.after(a_wrong_answer(4, FIRST_DAY + 2)).knowing


def test_what_was_predicted_is_kept_against_what_happened() -> None:
    knowing = Knowing().take(seen(True)).take(seen(False))
    foreseen = recall(STATE, FIRST_DAY + 6)
    foreseen += (1 - foreseen) * 0.25
    answers, predicted, right = knowing.raw[9]
    assert (2, 1) == (answers, right)
    assert 2 * foreseen == pytest.approx(predicted)
    assert 2 == sum(row.answers for row in knowing.shown)
    assert 1 == sum(row.right for row in knowing.shown)


def test_a_prediction_of_certainty_falls_into_the_last_bin() -> None:
    knowing = Knowing().take(seen(True, guess_rate=1.0))
    assert Bin(1, 1.0, 1) == knowing.shown[BINS - 1] == knowing.raw[BINS - 1]


def test_the_calibration_error_weighs_bins_by_their_answers() -> None:
    bins = (Bin(2, 0.1, 1), Bin(8, 4.4, 4), *[Bin()] * 8)
    assert (2 * abs(0.5 - 0.05) + 8 * abs(0.5 - 0.55)) / 10 == pytest.approx(
        calibration_error(bins)
    )
    assert 0.0 == calibration_error((Bin(),) * BINS)


def test_text_and_knowing_are_inverses() -> None:
    knowing = Knowing(
        tuple(Weight(1 / (place + 3), 2 / 7) for place in range(len(FEATURES))),
        {"name": Weight(-0.1, 1e-9)},
        {"Bb": Weight(1 / 3, 0.02)},
    )
    taught = knowing.take(seen(True)).take(seen(False, 40))
    assert taught == from_text(as_text(taught))


def test_nothing_becomes_better_known_by_waiting_whatever_was_answered() -> None:
    knowing, chance = Knowing(), Random(3)
    for _ in range(400):  # against all sense: right after long waits, wrong after short ones
        days = chance.choice((1, 60))
        knowing = knowing.take(seen(days == 60, days))
    shown = [knowing.known(CLIMB, STATE, FIRST_DAY + days) for days in range(200)]
    assert sorted(shown, reverse=True) == shown


def test_the_key_and_the_kind_are_learned() -> None:
    knowing = Knowing()
    for number in range(200):
        easy = number % 2 == 0
        kind, key = ("name", "F") if easy else ("write", "Gb")
        knowing = knowing.take(seen(easy)._replace(kind=kind, key=key))
    day = FIRST_DAY + 6
    assert knowing.known(CLIMB, STATE, day, "F") > knowing.known(CLIMB, STATE, day, "Gb") + 0.05
    write = Item("climb", "write")
    assert knowing.known(CLIMB, STATE, day) > knowing.known(write, STATE, day) + 0.2


@pytest.mark.parametrize("family", [Fading, Leaking])
def test_what_is_shown_keeps_its_word_better_than_the_memory_state_alone(
    family: Callable[[Random], Rememberer],
) -> None:
    # five invented learners, eight weeks each, together: one alone has too few answers a bin
    knowings = []
    for seed in range(5):
        chance = Random(seed)
        knowings.append(Practice.replayed(answers_of(family(chance), chance)).knowing)
    shown, raw = together(one.shown for one in knowings), together(one.raw for one in knowings)
    assert 5000 < sum(row.answers for row in shown) == sum(row.answers for row in raw)
    assert calibration_error(shown) <= 0.04
    assert calibration_error(shown) < 0.5 * calibration_error(raw)


def together(players: Iterable[Bins]) -> Bins:
    """The bins of several players as one."""
    return tuple(
        Bin(*(sum(numbers) for numbers in zip(*rows, strict=True)))
        for rows in zip(*players, strict=True)
    )


def test_a_state_of_the_far_past_is_as_good_as_forgotten_but_still_a_chance() -> None:
    ancient = replace(STATE, day=0, stability=0.001)
    assert 0.0 < Knowing().known(CLIMB, ancient, FIRST_DAY) < 0.5
