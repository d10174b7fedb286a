"""The memory model against the library it is built on and against the published formulas."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from math import e, exp

import fsrs
import pytest

from quiz.learning.memory import DECAY, FACTOR, State, after, recall, wait

SURE = 0.0
"""The guess rate at which nothing is blended."""

HISTORY = ((0, True), (3, True), (10, False), (12, True), (30, True), (31, True))
"""(practice day, whether the answer was right)"""

# Stability and difficulty after each of those answers, printed by fsrs 6.3.2 itself with its
# default parameters, no steps and no fuzz, reviewed at midnight UTC of those days.
LIBRARY_SAYS = (
    (2.3065, 2.118103970459016),
    (13.826903694354568, 2.111214235785395),
    (1.6145979400290673, 7.392238132342694),
    (4.978280450721212, 7.38007426350719),
    (21.144848563114092, 7.3679225585405215),
    (22.814586867082337, 7.35578300527882),
)


def states() -> list[State]:
    state, found = None, []
    for day, right in HISTORY:
        state = after(state, float(right), SURE, day)
        found.append(state)
    return found


def test_a_fixed_history_gives_the_library_s_own_numbers() -> None:
    for expected, state in zip(LIBRARY_SAYS, states(), strict=True):
        assert expected == pytest.approx((state.stability, state.difficulty), rel=1e-9)


def test_the_installed_library_still_gives_those_numbers() -> None:
    scheduler = fsrs.Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card = fsrs.Card(card_id=1)
    for (day, right), expected in zip(HISTORY, LIBRARY_SAYS, strict=True):
        rating = fsrs.Rating.Good if right else fsrs.Rating.Again
        card, _ = scheduler.review_card(
            card, rating, datetime(1970, 1, 1, tzinfo=UTC) + timedelta(days=day)
        )
        assert card.stability is not None
        assert card.difficulty is not None
        assert expected == pytest.approx((card.stability, card.difficulty), rel=1e-9)


def test_recall_is_the_library_s_retrievability() -> None:
    scheduler = fsrs.Scheduler()
    start = datetime(1970, 1, 1, tzinfo=UTC)
    for stability in (0.2, 1.0, 8.5, 120.0):
        card = fsrs.Card(
            card_id=1,
            state=fsrs.State.Review,
            stability=stability,
            difficulty=5.0,
            due=start,
            last_review=start,
        )
        state = State(stability, 5.0, 0, 1, 1, 0, True)
        for day in (0, 1, 7, 100, 1000):
            expected = scheduler.get_card_retrievability(card, start + timedelta(days=day))
            assert expected == pytest.approx(recall(state, day), rel=1e-12)


def test_the_exponent_of_forgetting_is_the_library_s_last_parameter() -> None:
    assert fsrs.Scheduler().parameters[20] == DECAY == 0.1542
    assert 0.9 ** (-1 / 0.1542) - 1 == FACTOR


def test_recall_is_nine_tenths_after_the_stability_by_definition() -> None:
    state = State(17.0, 5.0, 0, 1, 1, 0, True)
    assert 0.9 == pytest.approx(recall(state, 17))
    assert 17.0 == pytest.approx(wait(state, 0.9))


def test_right_answers_follow_the_published_formulas() -> None:
    # The FSRS-6 description of the open-spaced-repetition project ("The Algorithm"), from memory:
    # S' = S (1 + e^w8 (11 - D) S^-w9 (e^(w10 (1 - R)) - 1)) for a right answer, and
    # D' = w7 D0(4) + (1 - w7) D for one of the third grade, D0(4) = w4 - e^(3 w5) + 1.
    w = fsrs.Scheduler().parameters
    easiest = w[4] - e ** (3 * w[5]) + 1
    checked = 0
    for (before, state), (_, right) in zip(pairwise(states()), HISTORY[1:], strict=True):
        if right:
            forgotten = 1 - recall(before, state.day)
            growth = (
                exp(w[8])
                * (11 - before.difficulty)
                * before.stability ** -w[9]
                * (exp(w[10] * forgotten) - 1)
            )
            assert before.stability * (1 + growth) == pytest.approx(state.stability, rel=1e-9)
            assert w[7] * easiest + (1 - w[7]) * before.difficulty == pytest.approx(
                state.difficulty, rel=1e-9
            )
            checked += 1
    assert 4 == checked


def test_a_wrong_answer_follows_the_published_formula() -> None:
    # As above, from memory: S' = min(w11 D^-w12 ((S + 1)^w13 - 1) e^(w14 (1 - R)), S / e^(w17 w18))
    w = fsrs.Scheduler().parameters
    before, state = states()[1], states()[2]
    forgotten = 1 - recall(before, state.day)
    lapsed = (
        w[11]
        * before.difficulty ** -w[12]
        * ((before.stability + 1) ** w[13] - 1)
        * exp(w[14] * forgotten)
    )
    assert min(lapsed, before.stability / exp(w[17] * w[18])) == pytest.approx(state.stability)
