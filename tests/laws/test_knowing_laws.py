"""Laws of what is shown as known: a fold over the answers, and a chance that falls with time."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quiz.answers import Answer
from quiz.history.store import memory_store
from quiz.learning.knowing import BINS, Knowing, as_text, from_text
from quiz.learning.practice import Practice
from tests.laws.test_store_laws import histories, in_order, keep
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 9), st.sampled_from("ab")), max_size=40))
def test_the_layer_after_each_answer_is_that_of_a_replay(
    course: list[tuple[bool, int, str]],
) -> None:
    answers, day = list[Answer](), FIRST_DAY
    for number, (right, days, device) in enumerate(course):
        day += days
        made = an_answer if right else a_wrong_answer
        answers.append(made(number, day, device=device))
    live = Practice()
    for answer in answers:
        live = live.after(answer)
    replayed = Practice.replayed(answers)
    assert replayed.knowing == live.knowing
    assert replayed.knowing == from_text(as_text(live.knowing))
    foreseen = sum(tally.foreseen for tally in replayed.keys.values())
    assert (replayed.knowing == Knowing()) == (foreseen == 0)  # whatever can teach does


@given(histories())
def test_what_the_history_keeps_of_the_layer_is_what_a_replay_makes(answers: list[Answer]) -> None:
    store = memory_store()
    keep(store, answers)
    assert Practice.replayed(in_order(answers)).knowing == store.practice().knowing
    store.close()


@given(histories())
def test_every_foreseen_answer_is_in_the_bins_once(answers: list[Answer]) -> None:
    practice = Practice.replayed(in_order(answers))
    tallies = practice.keys.values()
    for bins in (practice.knowing.raw, practice.knowing.shown):
        assert BINS == len(bins)
        assert sum(tally.foreseen for tally in tallies) == sum(row.answers for row in bins)
        assert sum(tally.right for tally in tallies) == sum(row.right for row in bins)
        for place, row in enumerate(bins):
            assert place / BINS * row.answers <= row.predicted + 1e-9
            assert row.predicted <= (place + 1) / BINS * row.answers + 1e-9
    expected = sum(tally.expected for tally in tallies)
    assert expected == pytest.approx(sum(row.predicted for row in practice.knowing.raw))


@given(histories(), st.integers(0, 4000))
def test_what_is_known_is_a_chance_and_falls_with_the_days(
    answers: list[Answer], days: int
) -> None:
    practice = Practice.replayed(in_order(answers))
    for item, state in practice.states.items():
        early, late = (practice.known(item, state.day + 1 + more) for more in (0, days))
        assert 0 < late <= early < 1
