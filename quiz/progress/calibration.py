"""Whether the predictions keep their word: predicted against what happened, on the own log.

Before each answer that could be foreseen, the chance of a right one was predicted; the practice
keeps the predictions in ten bins (`quiz.learning.knowing`). A bin keeps its word when the share of
right answers in it is the mean of its predictions.

    calibration error = sum over bins of |right - sum of predictions| / answers
"""

from dataclasses import dataclass

from engine.errors import amount
from quiz.learning.knowing import BINS, Bins, Knowing, calibration_error
from quiz.progress.counts import wilson

ENOUGH = 100
"""Foreseen answers under which the figure says nothing yet. [chosen here: with fewer, luck alone
moves a bin by more than ten points]"""


@dataclass(frozen=True, slots=True)
class Tenth:
    """One bin with answers in it."""

    low: float
    high: float
    """Between these two the predicted chances lay."""

    answers: int
    predicted: float
    """Their mean."""

    happened: float
    """The share of right answers."""

    interval: tuple[float, float]
    """Where that share lies with 95 % confidence (Wilson)."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """Predictions against what happened."""

    answers: int
    predicted: float
    """The mean of all predictions; 0 without any."""

    happened: float
    """The share of right answers; 0 without any."""

    error: float
    """The calibration error of what is shown."""

    raw_error: float
    """That of the memory model alone."""

    tenths: tuple[Tenth, ...]
    """The bins that have answers, the lowest chances first."""


def calibration(knowing: Knowing) -> Calibration:
    """What the player's own log says of the predictions."""
    answers, predicted, right = (sum(numbers) for numbers in zip(*knowing.shown, strict=True))
    return Calibration(
        int(answers),
        predicted / answers if answers else 0.0,
        right / answers if answers else 0.0,
        calibration_error(knowing.shown),
        calibration_error(knowing.raw),
        _tenths(knowing.shown),
    )


def calibration_sentence(value: Calibration) -> str:
    """The figure in one sentence."""
    if value.answers < ENOUGH:
        return (
            f"Too early to tell whether the predictions hold: {amount(value.answers, 'answer')} "
            f"could be foreseen so far, from {ENOUGH} on it can be said."
        )
    return (
        f"Of {value.answers} answers that could be foreseen, {value.predicted:.0%} were expected "
        f"to be right and {value.happened:.0%} were; "
        f"a prediction was off by {100 * value.error:.0f} points on average."
    )


def _tenths(bins: Bins) -> tuple[Tenth, ...]:
    return tuple(
        Tenth(
            place / BINS,
            (place + 1) / BINS,
            row.answers,
            row.predicted / row.answers,
            row.right / row.answers,
            wilson(row.right, row.answers),
        )
        for place, row in enumerate(bins)
        if row.answers
    )
