"""The interval of a share against scipy's, which was written elsewhere."""

import pytest
from scipy.stats import binomtest, norm

from quiz.progress.counts import Z95, wilson
from quiz.progress.keys import WEAK_Z


@pytest.mark.parametrize("answers", [1, 2, 7, 20, 95, 1200, 100_000])
def test_the_interval_is_that_of_scipy(answers: int) -> None:
    # scipy.stats.binomtest(...).proportion_ci(method="wilson"), without continuity correction
    for right in sorted({0, 1, answers // 3, answers // 2, answers - 1, answers}):
        theirs = binomtest(right, answers).proportion_ci(0.95, method="wilson")
        assert (theirs.low, theirs.high) == pytest.approx(wilson(right, answers), abs=1e-7)


def test_the_points_of_the_normal_distribution_are_those_of_scipy() -> None:
    assert norm.ppf(0.975) == pytest.approx(Z95, abs=1e-6)
    assert norm.ppf(1 - 0.025 / 12) == pytest.approx(WEAK_Z, abs=5e-3)
