"""Predicted against what happened."""

from random import Random

import pytest

from quiz.learning.knowing import BINS, Bin, Knowing
from quiz.learning.practice import Practice
from quiz.progress.calibration import ENOUGH, calibration, calibration_sentence
from quiz.progress.counts import wilson
from tests.quiz.rememberers import Leaking, answers_of


def test_the_bins_become_tenths_with_means_and_intervals() -> None:
    shown = (Bin(), Bin(20, 3.0, 4), *[Bin()] * 7, Bin(80, 76.0, 72))
    value = calibration(Knowing(shown=shown, raw=(Bin(100, 90.0, 76), *[Bin()] * 9)))
    low, high = value.tenths
    assert (0.1, 0.2, 20) == (low.low, low.high, low.answers)
    assert (0.15, 0.2) == pytest.approx((low.predicted, low.happened))
    assert wilson(4, 20) == low.interval
    assert (0.95, 0.9) == pytest.approx((high.predicted, high.happened))
    assert 100 == value.answers
    assert (0.79, 0.76) == pytest.approx((value.predicted, value.happened))
    assert (abs(4 - 3.0) + abs(72 - 76.0)) / 100 == pytest.approx(value.error)
    assert (90 - 76) / 100 == pytest.approx(value.raw_error)


def test_without_answers_nothing_is_said_and_nothing_breaks() -> None:
    value = calibration(Knowing())
    assert (0, (), 0.0) == (value.answers, value.tenths, value.error)
    assert "Too early" in calibration_sentence(value)


@pytest.mark.parametrize(("answers", "early"), [(ENOUGH - 1, True), (ENOUGH, False)])
def test_the_sentence_waits_until_there_is_enough(answers: int, early: bool) -> None:
    shown = (*[Bin()] * (BINS - 1), Bin(answers, 0.95 * answers, answers - 10))
    said = calibration_sentence(calibration(Knowing(shown=shown)))
    assert early == ("Too early" in said)
    assert str(answers) in said


def test_a_simulated_player_is_told_what_happened() -> None:
    chance = Random(4)
    answers = answers_of(Leaking(chance), chance)
    value = calibration(Practice.replayed(answers).knowing)
    assert value.answers < len(answers)  # first meetings and second answers of a day are left out
    assert value.error < value.raw_error
    assert f"{value.happened:.0%} were" in calibration_sentence(value)
