"""A simulated learner: the same from the same seed, and plausible."""

from statistics import mean

import pytest

from quiz.learners.learner import Learner, Response, Traits
from quiz.learners.memory_models import FAMILIES, Activation, Family, Integrators, When
from quiz.learning.memory import Item

ITEMS = [Item(f"figure {number}", "name") for number in range(400)]


def answers(learner: Learner) -> list[Response]:
    return [
        learner.answer(item, When(day, float(place)), 0.25, "Eb")
        for day in range(5)
        for place, item in enumerate(ITEMS[:20])
    ]


@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)
def test_the_same_seed_gives_the_same_learner_and_another_one_another(family: Family) -> None:
    assert answers(Learner(family, 5)) == answers(Learner(family, 5))
    assert answers(Learner(family, 5)) != answers(Learner(family, 6))


def test_what_an_item_is_like_does_not_depend_on_when_it_comes_up() -> None:
    forwards, backwards = Learner(Activation(), 5), Learner(Activation(), 5)
    there = {item: forwards.trace(item) for item in ITEMS}
    assert there == {item: backwards.trace(item) for item in reversed(ITEMS)}


def test_what_was_never_met_is_right_by_luck_alone() -> None:
    learner = Learner(Activation(), 5, Traits(known_before=0.0))
    right = mean(learner.answer(item, When(0), 0.25).right for item in ITEMS)
    assert 0.25 == pytest.approx(right, abs=0.06)
    assert 0.25 == learner.chance(Item("another", "name"), When(0), 0.25)


def test_a_share_of_the_items_is_known_before_the_first_day() -> None:
    learner = Learner(Integrators(), 5, Traits(known_before=0.3))
    known = mean(learner.recall(item, When(0)) > 0 for item in ITEMS)
    assert 0.3 == pytest.approx(known, abs=0.07)


def test_days_are_missed_as_often_as_the_traits_say() -> None:
    learner = Learner(Activation(), 5, Traits(missed=0.3))
    days = [learner.comes(day) for day in range(1000)]
    assert 0.7 == pytest.approx(mean(days), abs=0.05)
    assert days == [learner.comes(day) for day in range(1000)]


def test_a_key_gets_easier_with_practice_in_it() -> None:
    learner = Learner(Integrators(), 5, Traits(key_trouble=0.5, key_habit=10))
    before = learner.key_ease("Ab")
    for item in ITEMS[:30]:
        learner.answer(item, When(0), 0.0, "Ab")
    assert before < 1
    # own derivation: e ** -3 of the trouble is left
    assert 1 - (1 - before) * 0.0498 == pytest.approx(learner.key_ease("Ab"), abs=1e-4)
    assert 1.0 == learner.key_ease("")


def test_what_is_known_well_is_answered_sooner_than_what_is_not_known() -> None:
    learner = Learner(Integrators(), 5, Traits(known_before=0.0, unlike=0.0))
    first = [learner.answer(item, When(0), 0.0).seconds for item in ITEMS]
    second = [learner.answer(item, When(0, 9000.0), 0.0) for item in ITEMS]
    known = [response.seconds for response in second if response.remembered]
    assert len(known) > 20
    assert mean(known) < mean(first)
    assert all(seconds > 0 for seconds in first)
