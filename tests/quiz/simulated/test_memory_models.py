"""The memories of simulated learners, against numbers worked out by hand and published findings.

The worked numbers are derived here from the published formulas; the papers' own tables were not at
hand.
"""

from itertools import pairwise
from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quiz.learners.memory_models import (
    FAMILIES,
    Activation,
    Family,
    Integrators,
    Trace,
    TwoRates,
    When,
)

GAPS = (0, 1, 2, 3, 5, 7, 10, 14, 21, 28, 35, 50, 70, 105)
"""Days between two encounters."""


def twice(family: Family, gap: float, later: int) -> float:
    """Recall `later` days after two encounters `gap` days apart."""
    first = family.met(Trace(), When(0), True)
    second = family.met(first, When(int(gap), 60.0), True)
    return family.recall(second, When(int(gap) + later, 60.0))


# --- power-law activation -----------------------------------------------------------------------


def test_the_first_encounter_fades_by_the_least_decay_alone() -> None:
    trace = Activation().met(Trace(), When(0), True)
    # own derivation: m(t) = ln(t ** -0.177); of t = 100 s that is -0.177 * 4.60517 = -0.81512
    assert -0.81512 == pytest.approx(Activation().activation(trace, When(0, 100.0)), abs=1e-5)


def test_a_second_encounter_fades_by_what_the_item_was_worth_before_it() -> None:
    family = Activation()
    trace = family.met(family.met(Trace(), When(0), True), When(0, 100.0), True)
    # own derivation: decay 0.217 * e ** -0.81512 + 0.177 = 0.217 * 0.44259 + 0.177 = 0.27304;
    # at 200 s the sum is 200 ** -0.177 + 100 ** -0.27304 = 0.39149 + 0.28438 = 0.67587
    assert (0.0, 0.177, 100.0) == trace.numbers[:3]
    assert 0.27304 == pytest.approx(trace.numbers[3], abs=1e-5)
    assert log(0.67587) == pytest.approx(family.activation(trace, When(0, 200.0)), abs=1e-4)


def test_recall_is_a_half_where_the_activation_is_the_threshold() -> None:
    family = Activation()
    trace = family.met(Trace(), When(0), True)
    seconds = exp(0.704 / 0.177)  # own derivation: there -0.177 ln t = -0.704
    assert 0.5 == pytest.approx(family.recall(trace, When(0, seconds)))


def test_a_night_counts_as_a_fortieth_of_its_seconds() -> None:
    family = Activation()
    trace = family.met(Trace(), When(0), True)
    # own derivation: 86,400 * 0.025 = 2,160 s
    assert -0.177 * log(2160) == pytest.approx(family.activation(trace, When(1)))


def test_massed_encounters_win_at_once_and_spaced_ones_later() -> None:
    # the crossing of spacing and retention that the paper is about (its abstract)
    family = Activation()

    def after(gap: float, later: float) -> float:
        trace = family.met(family.met(Trace(), When(0), True), When(0, gap), True)
        return family.recall(trace, When(0, gap + later))

    assert after(2.0, 10.0) > after(600.0, 10.0)
    assert after(2.0, 1500.0) < after(600.0, 1500.0)


# --- integrators --------------------------------------------------------------------------------


def test_one_remembered_encounter_fills_every_integrator() -> None:
    trace = Integrators().met(Trace(), When(0), True)
    assert (1.0,) * 40 == trace.numbers
    assert 1.0 == Integrators().recall(trace, When(0))


def test_two_integrators_by_hand() -> None:
    family = Integrators(count=2, shortest=1.0, ratio=10.0, share=0.5, failed=0.5, remembered=1.0)
    trace = family.met(Trace(), When(0), True)
    # own derivation, time constants 1 and 10 days, weights 1 and 0.5. After 2 days they hold
    # e ** -2 = 0.13534 and e ** -0.2 = 0.81873; recall (0.13534 + 0.40937) / 1.5 = 0.36314
    assert 0.36314 == pytest.approx(family.recall(trace, When(2)), abs=1e-5)
    # a failed encounter adds 0.5 * (1 - 0.13534) to the fast one and 0.5 * (1 - 0.36314) to the
    # slow one: 0.56767 and 1.13716
    again = family.met(trace, When(2), False)
    assert (0.56767, 1.13716) == pytest.approx(again.numbers, abs=1e-4)


def test_recall_is_never_more_than_certain() -> None:
    trace = Trace(numbers=(2.0,) * 40)
    assert 1.0 == Integrators().recall(trace, When(0))


# --- two rates ----------------------------------------------------------------------------------


def test_two_rates_by_hand() -> None:
    family = TwoRates(fast_days=2.0, slow_days=20.0, fill=0.8, learn=0.5)
    trace = family.met(Trace(), When(0), True)
    assert (0.8, 0.5) == pytest.approx(trace.numbers)
    # own derivation: after 2 days 0.8 e ** -1 = 0.29430 and 0.5 e ** -0.1 = 0.45242;
    # recall 1 - 0.70570 * 0.54758 = 0.61357
    assert 0.61357 == pytest.approx(family.recall(trace, When(2)), abs=1e-5)


# --- all families -------------------------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
@given(data=st.data())
def test_recall_is_a_chance_that_only_falls_until_the_next_encounter(
    family: Family, data: st.DataObject
) -> None:
    trace = Trace(ease=data.draw(st.floats(-2, 2)))
    assert 0.0 == family.recall(trace, When(0))
    day = 0
    for gap in data.draw(st.lists(st.integers(0, 60), min_size=1, max_size=6)):
        day += gap
        before = family.recall(trace, When(day))
        trace = family.met(trace, When(day), data.draw(st.booleans()))
        assert before <= family.recall(trace, When(day)) <= 1
    later = [family.recall(trace, When(day + ahead)) for ahead in range(0, 200, 20)]
    assert all(0 <= after <= before for before, after in pairwise(later))


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_spaced_encounters_are_worth_more_than_massed_ones_weeks_later(family: Family) -> None:
    # N. J. Cepeda et al., Psychological Science 19 (2008), 1095-1102: the gap matters
    assert twice(family, 7, 28) > twice(family, 0, 28)


@pytest.mark.parametrize("family", FAMILIES[:2], ids=lambda family: family.name)
def test_the_best_gap_grows_with_the_wait_for_the_test_and_shrinks_as_a_share_of_it(
    family: Family,
) -> None:
    # Cepeda et al. 2008, abstract: the optimal gap grows with the retention interval, and falls as
    # a share of it, from a week to a year
    best = [max(GAPS, key=lambda gap: twice(family, gap, later)) for later in (7, 35, 70, 350)]
    assert all(shorter < longer for shorter, longer in pairwise(best))
    assert best[0] / 7 > best[-1] / 350


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_an_easier_item_is_remembered_longer(family: Family) -> None:
    easy, hard = (family.met(Trace(ease=ease), When(0), True) for ease in (1.0, -1.0))
    assert family.recall(easy, When(5)) > family.recall(hard, When(5))


def test_families_have_names_of_their_own() -> None:
    assert 3 == len({family.name for family in FAMILIES})
