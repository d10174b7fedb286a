"""What is known, and what of it is lost: properties whatever was answered."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quiz.learning.knowing import Knowing
from quiz.learning.memory import Item, State
from quiz.learning.practice import Practice
from quiz.progress.forecast import WEEKS_AHEAD, Forecast, forecast, forecast_sentence
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer

MATERIAL = tuple(Item(device, kind) for device in "abcd" for kind in ("name", "write"))


@st.composite
def practices(draw: st.DrawFn) -> Practice:
    """Some of the material met, and a layer that has seen some answers."""
    states = {
        item: State(
            stability=draw(st.floats(0.01, 3000)),
            difficulty=draw(st.floats(1, 10)),
            day=FIRST_DAY + draw(st.integers(-100, 0)),
            asked=draw(st.integers(3, 50)),
            right=draw(st.integers(0, 3)),
            first_day=FIRST_DAY - 100,
            last_right=draw(st.booleans()),
        )
        for item in draw(st.lists(st.sampled_from(MATERIAL), unique=True))
    }
    answers = [
        (a_wrong_answer if wrong else an_answer)(number, FIRST_DAY - 300 + 7 * number)
        for number, wrong in enumerate(draw(st.lists(st.booleans(), max_size=20)))
    ]
    return Practice(states=states, knowing=Practice.replayed(answers).knowing)


@given(practices())
def test_nothing_is_gained_by_waiting(practice: Practice) -> None:
    value = forecast(MATERIAL, practice, FIRST_DAY)
    assert WEEKS_AHEAD + 1 == len(value.known)
    assert sorted(value.known, reverse=True) == list(value.known)
    assert all(0 < item.later <= item.now < 1 for item in value.items)


@given(practices())
def test_what_is_known_is_the_sum_over_the_items_that_were_met(practice: Practice) -> None:
    value = forecast(MATERIAL, practice, FIRST_DAY)
    assert set(practice.states) == {known.item for known in value.items}
    assert sum(known.now for known in value.items) == pytest.approx(value.known[0])
    assert sum(known.later for known in value.items) == pytest.approx(value.known[-1])
    assert len(MATERIAL) == sum(value.stages.values())


@given(practices())
def test_what_stands_to_be_lost_most_comes_first(practice: Practice) -> None:
    lost = [known.lost for known in forecast(MATERIAL, practice, FIRST_DAY).items]
    assert all(one >= other - 1e-6 for one, other in pairwise(lost))


def test_items_whose_device_has_left_the_catalogue_are_left_out() -> None:
    practice = Practice.replayed([an_answer(1), an_answer(2, device="gone")])
    value = forecast([Item("climb", "name")], practice, FIRST_DAY)
    assert [Item("climb", "name")] == [known.item for known in value.items]


def test_an_item_that_was_right_again_and_again_lasts_longer() -> None:
    steady = [an_answer(n, FIRST_DAY + 5 * n, device="a") for n in range(6)]
    shaky = [a_wrong_answer(9 + n, FIRST_DAY + 5 * n, device="b") for n in range(6)]
    both = sorted([*steady, *shaky], key=lambda answer: (answer.at, answer.id))
    value = forecast(MATERIAL, Practice.replayed(both), FIRST_DAY + 26)
    known = {line.item.device: line for line in value.items}
    assert known["a"].later > known["b"].later
    assert ("steady", "shaky") == (known["a"].stage, known["b"].stage) or (
        "solid" == known["a"].stage
    )


def test_the_sentence_says_what_is_known_and_what_is_lost() -> None:
    value = Forecast(forecast(MATERIAL, three_met(), FIRST_DAY).items, (2.6, 2.2, 2, 1.8, 1.4), 8)
    said = "You know about 3 of the 3 you have met; without practice about 1 in four weeks."
    assert said == forecast_sentence(value)
    assert "Nothing has been met yet." == forecast_sentence(Forecast((), (0.0,) * 5, 8))


def three_met() -> Practice:
    states = {
        item: State(5.0, 5.0, FIRST_DAY - 2, 4, 3, FIRST_DAY - 9, True) for item in MATERIAL[:3]
    }
    return Practice(states=states, knowing=Knowing())
