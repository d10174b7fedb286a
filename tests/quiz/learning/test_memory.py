"""What is remembered: when a memory moves, when it does not, and what the words for it mean."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quiz.learning.memory import (
    RIGHT_FROM,
    SOLID_DAYS,
    STEADY_DAYS,
    Item,
    State,
    after,
    recall,
    replay,
    stage,
    wait,
)
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer, moment

SURE = 0.0
"""The guess rate of an answer that cannot be right by luck."""


def a_state(stability: float = 10.0, day: int = FIRST_DAY) -> State:
    return State(stability, 5.0, day, asked=3, right=2, first_day=day - 9, last_right=True)


# --- recall and wait ----------------------------------------------------------------------------


@pytest.mark.parametrize("stability", [1, 3, 10, 365])
def test_after_as_many_days_as_the_stability_says_nine_of_ten_are_recalled(stability: int) -> None:
    assert 0.9 == pytest.approx(recall(a_state(stability), FIRST_DAY + stability), abs=1e-12)


def test_on_the_day_itself_everything_is_recalled() -> None:
    assert 1.0 == recall(a_state(), FIRST_DAY)


def test_a_day_before_the_last_answer_counts_as_that_day() -> None:
    assert 1.0 == recall(a_state(), FIRST_DAY - 5)


def test_waiting_for_nine_of_ten_takes_the_stability() -> None:
    assert 12.5 == pytest.approx(wait(a_state(12.5), 0.9))


@given(st.integers(1, 2000), st.floats(0.1, 5000))
def test_recall_and_wait_are_inverses(days: int, stability: float) -> None:
    state = a_state(stability)
    target = recall(state, FIRST_DAY + days)
    assert days == pytest.approx(wait(state, target), rel=1e-6)


@given(st.floats(0.1, 5000), st.integers(0, 3000), st.integers(1, 3000))
def test_recall_falls_with_time_and_stays_a_chance(stability: float, days: int, more: int) -> None:
    early = recall(a_state(stability), FIRST_DAY + days)
    late = recall(a_state(stability), FIRST_DAY + days + more)
    assert 0 < late < early <= 1


# --- what an answer does ------------------------------------------------------------------------


def test_a_first_right_answer_lasts_longer_than_a_first_wrong_one() -> None:
    right, wrong = (after(None, score, SURE, FIRST_DAY) for score in (1.0, 0.0))
    assert right.stability > wrong.stability
    assert right.difficulty < wrong.difficulty
    assert (1, 1, True, FIRST_DAY) == (right.asked, right.right, right.last_right, right.first_day)
    assert (1, 0, False) == (wrong.asked, wrong.right, wrong.last_right)


def test_a_right_answer_lengthens_the_stability_and_a_wrong_one_shortens_it() -> None:
    state = a_state(10.0)
    assert after(state, 1.0, SURE, FIRST_DAY + 10).stability > 10.0
    assert after(state, 0.0, SURE, FIRST_DAY + 10).stability < 10.0


def test_partly_right_counts_as_remembered_from_seven_tenths_up() -> None:
    state, day = a_state(), FIRST_DAY + 4
    assert RIGHT_FROM == 0.7
    assert after(state, 1.0, SURE, day) == after(state, 0.7, SURE, day)
    assert after(state, 0.0, SURE, day) == after(state, 0.69, SURE, day)


def test_only_the_first_answer_of_a_practice_day_moves_the_memory() -> None:
    once = after(a_state(), 0.0, SURE, FIRST_DAY + 3)
    again = once
    for _ in range(10):
        again = after(again, 1.0, SURE, FIRST_DAY + 3)
    assert (once.stability, once.difficulty, once.day) == (
        again.stability,
        again.difficulty,
        again.day,
    )
    assert (once.asked + 10, once.right + 10, True) == (again.asked, again.right, again.last_right)


def test_ten_right_answers_twenty_three_and_a_half_hours_apart_do_move_the_memory() -> None:
    # the library counts whole days and would leave such an item where it was
    answers = [
        an_answer(n, at=moment(FIRST_DAY, 20 * 3600 + n * 23.5 * 3600), guess_rate=SURE)
        for n in range(10)
    ]
    assert 10 == len({answer.practice_day for answer in answers})
    once = replay(answers[:1])[Item("climb", "name")]
    often = replay(answers)[Item("climb", "name")]
    assert often.stability > 5 * once.stability
    assert answers[-1].practice_day == often.day


def test_an_answer_before_the_last_one_moves_nothing_back() -> None:
    state = a_state()
    late = after(state, 0.0, SURE, FIRST_DAY - 3)
    assert (state.stability, state.difficulty, state.day) == (
        late.stability,
        late.difficulty,
        late.day,
    )


# --- lucky guesses ------------------------------------------------------------------------------


@pytest.mark.parametrize("guess_rate", [0.02, 0.25, 0.5, 1.0])
def test_a_right_answer_that_may_be_luck_lies_between_right_and_wrong(guess_rate: float) -> None:
    state, day = a_state(), FIRST_DAY + 20
    sure, lucky, wrong = (
        after(state, 1.0, SURE, day),
        after(state, 1.0, guess_rate, day),
        after(state, 0.0, SURE, day),
    )
    assert wrong.stability < lucky.stability < sure.stability
    assert sure.difficulty < lucky.difficulty < wrong.difficulty


def test_the_blend_is_geometric_for_stability_and_linear_for_difficulty() -> None:
    state, day = a_state(10.0), FIRST_DAY + 10
    right, wrong = after(state, 1.0, SURE, day), after(state, 0.0, SURE, day)
    weight = 0.9 / (0.9 + 0.1 * 0.25)  # by hand: recall is 0.9 after ten days, one of four options
    blended = after(state, 1.0, 0.25, day)
    assert right.stability**weight * wrong.stability ** (1 - weight) == pytest.approx(
        blended.stability
    )
    assert weight * right.difficulty + (1 - weight) * wrong.difficulty == pytest.approx(
        blended.difficulty
    )


def test_a_wrong_answer_is_never_luck() -> None:
    assert after(a_state(), 0.0, SURE, FIRST_DAY + 5) == after(a_state(), 0.0, 0.5, FIRST_DAY + 5)


# --- words --------------------------------------------------------------------------------------


def test_the_stages_are_new_shaky_steady_and_solid() -> None:
    assert "new" == stage(None)
    assert "shaky" == stage(a_state(STEADY_DAYS - 0.1))
    assert "steady" == stage(a_state(STEADY_DAYS))
    assert "steady" == stage(a_state(SOLID_DAYS - 0.1))
    assert "solid" == stage(a_state(SOLID_DAYS))


def test_an_item_whose_last_answer_was_wrong_is_shaky_however_old() -> None:
    assert "shaky" == stage(replace(a_state(400.0), last_right=False))


def test_items_are_replayed_each_by_itself() -> None:
    both = [an_answer(1), a_wrong_answer(2, device="dip"), an_answer(3, FIRST_DAY + 2)]
    states = replay(both)
    assert {Item("climb", "name"), Item("dip", "name")} == set(states)
    assert replay([both[0], both[2]])[Item("climb", "name")] == states[Item("climb", "name")]
    assert 2 == states[Item("climb", "name")].asked


# --- known before -----------------------------------------------------------------------------


def first_stability(why: str, rate: float = 0.25, score: float = 1.0) -> float:
    answers = [an_answer(1, why=why, guess_rate=rate, score=score)]
    return replay(answers)[Item("climb", "name")].stability


def test_a_right_answer_about_what_was_presumed_known_starts_with_a_long_memory() -> None:
    # by hand: weight 0.9 / (0.9 + 0.1 * 0.25) of 21 days, the rest of the usual start, geometric
    usual, weight = first_stability("new"), 0.9 / 0.925
    assert 21**weight * usual ** (1 - weight) == pytest.approx(first_stability("presumed"))


def test_a_right_placement_answer_counts_the_less_the_luckier_it_may_have_been() -> None:
    usual = first_stability("new")
    for rate in (0.02, 1 / 3):  # by hand: weight 0.5 / (0.5 + 0.5 rate)
        weight = 1 / (1 + rate)
        expected = 21**weight * usual ** (1 - weight)
        assert expected == pytest.approx(first_stability("placement", rate))


def test_a_wrong_answer_about_what_was_presumed_known_starts_as_any_other() -> None:
    assert first_stability("new", score=0.0) == first_stability("presumed", score=0.0)


def test_a_placement_leaves_what_is_unknown_new() -> None:
    assert {} == replay([an_answer(1, why="placement", score=0.0)])


def test_later_answers_do_not_ask_what_was_known_before() -> None:
    first = an_answer(1)
    days = FIRST_DAY + 5
    later = [an_answer(2, days, why=why) for why in ("due", "presumed", "placement")]
    assert 1 == len({tuple(replay([first, one]).values()) for one in later})
