"""The spread rule and its neighbours, by examples worked out by hand."""

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import exp

import pytest

from quiz.errors import QuestionError
from quiz.learning.memory import Item, State
from quiz.learning.practice import DayTally, KeyTally, Practice
from quiz.learning.schedule import (
    Ask,
    Plan,
    Why,
    ahead_of_time,
    contrast,
    due_items,
    left_of_day,
    new_left,
    next_ask,
    next_new,
    opened,
    pick_key,
    questions_a_day,
    ripeness,
    shortest_wait,
    weakness,
)
from tests.quiz.histories import FIRST_DAY, an_answer

TODAY = FIRST_DAY + 100
PLAN = Plan(daily_questions=36)


GONE = Item("gone", "name")
"""An item whose row is no longer in the catalogue."""


def alone(_device: str) -> Sequence[str]:
    """No device is like another."""
    return ()


LONGER = (0.87 ** (-1 / 0.1542) - 1) / (0.9 ** (-1 / 0.1542) - 1)
"""The days that recall takes to fall to 0.87, as a multiple of those to 0.9, the stability."""


def met(days_ago: int, bears: float = 3.0, **changed: object) -> State:
    """An item last asked so many days ago that can bear a wait of so many days."""
    state = State(
        bears / LONGER,
        5.0,
        TODAY - days_ago,
        asked=2,
        right=2,
        first_day=TODAY - days_ago - 9,
        last_right=True,
    )
    return replace(state, **changed)  # type: ignore[arg-type]  # the tests name the fields


def practice_of(states: dict[Item, State]) -> Practice:
    return Practice(states=states)


def names(*devices: str) -> list[Item]:
    return [Item(device, "name") for device in devices]


# --- the spread rule ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "bears", "expected"),
    [
        (3, 3.0, 1.0),
        (6, 3.0, 2.0),
        (15, 400.0, 0.5),  # never longer than 30 days
        (60, 400.0, 2.0),
        (1, 0.2, 1 / 1.7),  # never sooner than 1.7 days
        (2, 0.2, 2 / 1.7),
        (0, 0.2, 0.0),
    ],
)
def test_ripeness_is_days_waited_over_the_wait_an_item_can_bear(
    days: int, bears: float, expected: float
) -> None:
    assert expected == pytest.approx(ripeness(met(days, bears), TODAY, 1.7))


def test_an_item_bears_a_wait_until_its_recall_has_fallen_to_what_is_due() -> None:
    state = replace(met(0), stability=10.0)
    # by hand: 10 * (0.87 ** -6.4851 - 1) / (0.9 ** -6.4851 - 1) = 10 * 1.4674 / 0.9804
    assert 1.0 == pytest.approx(ripeness(state, TODAY + 15, 1.7), abs=0.003)


def test_the_shortest_wait_is_half_a_rotation_of_all_that_was_met() -> None:
    assert 1.7 == shortest_wait(100, 36.0)  # 0.5 * 100 / 36 = 1.39
    assert 2.5 == shortest_wait(100, 20.0)
    assert 5.0 == shortest_wait(100, 10.0)


def test_the_item_that_has_waited_longest_for_its_wait_comes_first() -> None:
    long, short, young = names("climb", "fall", "dip")
    practice = practice_of(
        {
            long: met(20, 25.0),  # 0.8
            short: met(4, 3.0),  # 1.33
            young: met(5, 4.5),  # 1.11
        }
    )
    asked = next_ask([long, short, young], practice, TODAY, None, PLAN, alone)
    assert (short, "due", 4) == (asked.item, asked.why, asked.days)
    assert {short, young} == set(due_items([long, short, young], practice, TODAY, PLAN))


def test_what_is_due_comes_before_anything_new() -> None:
    old, new = names("climb", "fall")
    practice = practice_of({old: met(3, 3.0)})
    assert old == next_ask([new, old], practice, TODAY, None, PLAN, alone).item


def test_something_new_comes_when_nothing_is_due() -> None:
    old, new = names("climb", "fall")
    practice = practice_of({old: met(2, 3.0)})
    assert Ask(new, Why.NEW) == next_ask([old, new], practice, TODAY, None, PLAN, alone)


def ahead_counts(states: dict[Item, State], allowed: list[Item]) -> Counter[Item]:
    """How often each item comes when nothing is due and nothing new, of 2,000 times."""
    counts = Counter[Item]()
    for number in range(2000):  # a history that is longer by an answer each time
        practice = practice_of(states | {GONE: met(1, asked=number)})
        asked = next_ask(allowed, practice, TODAY, None, PLAN, alone)
        assert "ahead" == asked.why
        assert TODAY - states[asked.item].day == asked.days
        counts[asked.item] += 1
    return counts


def test_with_nothing_due_and_nothing_new_what_was_right_least_comes_most_often() -> None:
    one, other = names("climb", "fall")
    counts = ahead_counts({one: met(1, 9.0, right=1), other: met(2, 9.0, right=3)}, [one, other])
    # by hand: weights 1/(1+1)^2 and 1/(1+3)^2, 4 to 1
    assert 0.8 == pytest.approx(counts[one] / 2000, abs=0.03)


def test_while_much_goes_wrong_the_days_since_an_item_was_asked_count_too() -> None:
    one, other, wrong = names("climb", "fall", "dip")
    states = {one: met(1, 9.0), other: met(4, 9.0), wrong: met(0, last_right=False)}
    counts = ahead_counts(states, [one, other])  # 3 of 4 that were met were right last time
    # by hand: weights 1 + 0.5 and 4 + 0.5, 1 to 3
    assert 0.75 == pytest.approx(counts[other] / 2000, abs=0.03)


def test_ahead_of_time_comes_nothing_that_was_never_met() -> None:
    one, other = names("climb", "fall")
    assert ahead_of_time([one, other], practice_of({}), TODAY) is None
    assert one == ahead_of_time([one, other], practice_of({one: met(0)}), TODAY)


def test_the_device_just_asked_does_not_come_again_in_another_kind() -> None:
    climb = [Item("climb", "name"), Item("climb", "write")]
    dip = Item("dip", "name")
    practice = practice_of({climb[0]: met(90), climb[1]: met(80), dip: met(1)})
    assert dip == next_ask([*climb, dip], practice, TODAY, "climb", PLAN, alone).item


def test_the_device_just_asked_comes_again_when_there_is_no_other() -> None:
    only = names("climb")
    assert only[0] == next_ask(only, practice_of({}), TODAY, "climb", PLAN, alone).item


def test_with_no_items_there_is_nothing_to_ask() -> None:
    with pytest.raises(QuestionError, match="nothing to ask"):
        next_ask([], practice_of({}), TODAY, None, PLAN, alone)


def test_the_same_history_on_the_same_day_asks_the_same() -> None:
    items = names("climb", "fall", "dip", "stay")
    practice = practice_of({item: met(5) for item in items})
    asked = {next_ask(items, practice, TODAY, None, PLAN, alone) for _ in range(20)}
    backwards = practice_of(dict(reversed(list(practice.states.items()))))
    asked.add(next_ask(items, backwards, TODAY, None, PLAN, alone))
    assert 1 == len(asked)


# --- questions a day ----------------------------------------------------------------------------


def test_the_plan_stands_in_until_there_is_a_week_of_practice() -> None:
    days = {TODAY - ago: DayTally(5) for ago in range(6)}
    assert 36.0 == questions_a_day({}, TODAY, PLAN) == questions_a_day(days, TODAY, PLAN)


def test_questions_a_day_are_the_mean_of_two_weeks_idle_days_counted_too() -> None:
    days = {TODAY - 60: DayTally(1000), TODAY - 13: DayTally(200), TODAY: DayTally(80)}
    assert 280 / 14 == questions_a_day(days, TODAY, PLAN)


def test_a_history_of_a_week_is_divided_by_seven() -> None:
    days = {TODAY - 6: DayTally(100), TODAY: DayTally(110)}
    assert 210 / 7 == questions_a_day(days, TODAY, PLAN)


# --- new items ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("daily", "allowed"), [(36, 12), (60, 20), (90, 20), (400, 20), (1, 1)])
def test_a_third_of_the_daily_questions_may_be_new_and_twenty_at_most(
    daily: int, allowed: int
) -> None:
    assert allowed == new_left(practice_of({}), TODAY, Plan(daily))


def test_what_was_met_today_is_taken_from_the_room_for_new_ones() -> None:
    states = {Item(str(n), "name"): met(0, first_day=TODAY) for n in range(11)}
    assert 1 == new_left(practice_of(states), TODAY, PLAN)
    states |= {Item(str(n), "name"): met(0, first_day=TODAY) for n in range(20, 25)}
    assert 0 == new_left(practice_of(states), TODAY, PLAN)
    assert [] == next_new(names("climb"), practice_of(states), TODAY, PLAN, alone)
    assert 12 == new_left(practice_of(states), TODAY + 1, PLAN)


def test_nothing_new_is_opened_while_two_and_a_half_days_of_work_are_shaky() -> None:
    shaky = {Item(str(n), "name"): met(1, 3.0) for n in range(90)}
    assert [] == next_new(names("climb"), practice_of(shaky), TODAY, PLAN, alone)
    shaky[Item("0", "name")] = met(1, 12.0)
    assert names("climb") == next_new(names("climb"), practice_of(shaky), TODAY, PLAN, alone)


def test_five_devices_are_opened_each_with_its_nearest_neighbour() -> None:
    near = {"a": ["g", "c"], "b": ["a"]}
    items = names(*"abcdefgh")
    found = opened(items, practice_of({}), lambda device: near.get(device, []))
    assert ("a", "g", "b", "c", "d") == found


def test_devices_already_begun_stay_open_and_take_their_place() -> None:
    items = [Item(device, kind) for device in "abcdefgh" for kind in ("name", "write")]
    begun = {Item(device, "name"): met(1) for device in "cdef"}
    done = {Item("b", kind): met(1) for kind in ("name", "write")}
    assert ("c", "d", "e", "f", "a") == opened(items, practice_of(begun | done), alone)


def test_the_kind_that_has_been_met_least_is_opened_first() -> None:
    items = [Item(device, kind) for device in "abc" for kind in ("name", "write", "spell")]
    practice, order = practice_of({}), []
    for _ in range(9):
        item = next_new(items, practice, TODAY, PLAN, alone)[0]
        order.append(item.kind)
        practice = practice_of({**practice.states, item: met(0)})
    assert ["name", "write", "spell"] * 3 == order


def test_a_first_round_changes_device_and_kind_every_time() -> None:
    items = [Item(device, kind) for device in "abcdef" for kind in ("name", "write", "spell")]
    practice, asked = Practice(), list[Item]()
    for number in range(12):
        last = asked[-1].device if asked else None
        item = next_ask(items, practice, TODAY, last, PLAN, alone).item
        asked.append(item)
        practice = practice.after(an_answer(number, TODAY, device=item.device, kind=item.kind))
    assert all(one.device != other.device for one, other in pairwise(asked))
    assert {"name": 4, "write": 4, "spell": 4} == Counter(item.kind for item in asked)


# --- put forward and presumed known -------------------------------------------------------------

FORWARD = Plan(36, leading=frozenset({Item("fall", "name")}))


def test_what_is_put_forward_is_due_after_half_its_wait() -> None:
    items = names("climb", "fall")
    practice = practice_of({item: met(5, 10.0) for item in items})
    assert {items[1]} == set(due_items(items, practice, TODAY, FORWARD))
    assert set() == set(due_items(items, practice, TODAY, PLAN))


def test_of_equally_ripe_items_the_one_put_forward_comes_first() -> None:
    items = names("climb", "fall", "dip")
    practice = practice_of({item: met(12, 10.0) for item in items})
    assert items[1] == next_ask(items, practice, TODAY, None, FORWARD, alone).item


def test_what_has_waited_more_than_twice_as_long_comes_before_what_is_put_forward() -> None:
    items = names("climb", "fall")
    practice = practice_of({items[0]: met(25, 10.0), items[1]: met(12, 10.0)})
    assert items[0] == next_ask(items, practice, TODAY, None, FORWARD, alone).item


def test_of_new_items_the_one_put_forward_comes_first_even_from_the_end_of_the_order() -> None:
    items = names(*"abcdefgh", "fall")
    assert Ask(items[-1], Why.NEW) == next_ask(items, Practice(), TODAY, None, FORWARD, alone)


def test_what_is_presumed_known_comes_last_among_the_new_ones_and_says_so() -> None:
    items = names(*"abcdefgh")
    plan = Plan(36, presumed=frozenset(items[:6]))
    practice, asked = Practice(), list[Ask]()
    for number in range(8):
        last = asked[-1].item.device if asked else None
        asked.append(ask := next_ask(items, practice, TODAY, last, plan, alone))
        practice = practice.after(an_answer(number, TODAY, device=ask.item.device))
    assert [*items[6:], *items[:6]] == [ask.item for ask in asked]
    assert ["new"] * 2 + ["presumed"] * 6 == [ask.why for ask in asked]


def test_a_begun_device_with_presumed_items_left_holds_no_place() -> None:
    items = [Item(device, kind) for device in "abcdefg" for kind in ("name", "write")]
    begun = {Item(device, "name"): met(0) for device in "abcde"}
    plan = Plan(36, presumed=frozenset(Item(device, "write") for device in "abcde"))
    assert ("f", "g") == opened(items, practice_of(begun), alone, plan)


# --- a day's share ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("due", "asked", "left"), [(60, 0, 36), (60, 30, 6), (60, 36, 0), (5, 0, 5), (60, 99, 0)]
)
def test_what_is_left_of_a_day_is_never_more_than_a_day_s_share(
    due: int, asked: int, left: int
) -> None:
    assert left == left_of_day(due, asked, PLAN)


# --- contrasts ----------------------------------------------------------------------------------

BOTH = names("climb", "scale-climb")


def contrast_of(
    so_far: int = 0,
    questions: int = 19,
    chosen: str = "scale-climb",
    plan: Plan = PLAN,
    items: Sequence[Item] = BOTH,
) -> Ask | None:
    return contrast(
        BOTH[0],
        chosen,
        so_far,
        questions,
        plan,
        items,
        lambda device: ["scale-climb"] if device == "climb" else [],
    )


def test_a_neighbour_chosen_by_mistake_comes_next() -> None:
    assert Ask(BOTH[1], Why.CONTRAST) == contrast_of()


def test_no_contrast_follows_what_is_no_neighbour_or_no_item_or_not_wanted() -> None:
    assert contrast_of(chosen="stay") is None
    assert contrast_of(items=BOTH[:1]) is None
    assert contrast_of(plan=Plan(contrast=False)) is None


@pytest.mark.parametrize(
    ("so_far", "questions", "allowed"),
    [
        (0, 0, False),
        (0, 18, False),
        (0, 19, True),
        (1, 38, False),
        (1, 39, True),
        (50, 999, False),
    ],
)
def test_contrasts_are_at_most_one_question_in_twenty(
    so_far: int, questions: int, allowed: bool
) -> None:
    assert allowed == (contrast_of(so_far, questions) is not None)


# --- keys ---------------------------------------------------------------------------------------


def drawn(
    weights: dict[str, float], tallies: dict[str, KeyTally], keys: Sequence[str] = ("F", "Bb")
) -> dict[str, float]:
    """The share of each key in many draws."""
    chance, draws = random.Random(11), 20_000
    counts = Counter(pick_key(keys, weights, tallies, chance) for _ in range(draws))
    return {key: counts[key] / draws for key in keys}


def tally_of(
    times: int, faded: float, answers: int, right: int = 0, expected: float = 0.0, foreseen: int = 0
) -> KeyTally:
    return KeyTally(times, foreseen, right, expected, faded, answers)


def test_without_a_history_keys_come_by_their_own_weight() -> None:
    assert 0.8 == pytest.approx(drawn({"F": 4.0}, {})["F"], abs=0.01)
    assert 0.5 == pytest.approx(drawn({}, {})["F"], abs=0.01)


def test_a_key_of_weight_nought_never_comes() -> None:
    assert {"F": 1.0, "Bb": 0.0} == drawn({"Bb": 0.0}, {})


def test_the_key_practised_once_less_comes_e_times_as_often() -> None:
    tallies = {"F": tally_of(3, 3.0, 5), "Bb": tally_of(2, 2.0, 5)}
    # by hand: weights exp(-1) and exp(0)
    assert 1 / (1 + exp(-1)) == pytest.approx(drawn({}, tallies)["Bb"], abs=0.01)


def test_a_weak_key_of_equal_practice_comes_more_often() -> None:
    tallies = {
        "F": tally_of(100, 20.0, 200, right=90, expected=80.0, foreseen=100),
        "Bb": tally_of(100, 20.0, 200, right=60, expected=80.0, foreseen=100),
    }
    # by hand: expected wrong 0.2, mean surplus -10/200; residuals (10 - 0.4)/108 = 0.08889 and
    # (-20 - 0.4)/108 = -0.18889, so weaknesses 0.11111 and 0.38889, mean 0.25;
    # weights 1 + 3 * 0.4444 = 2.3333 and 1 + 3 * 1.5556 = 5.6667
    assert {"F": 0.11111, "Bb": 0.38889} == pytest.approx(weakness(["F", "Bb"], tallies), abs=1e-4)
    assert 5.6667 / 8 == pytest.approx(drawn({}, tallies)["Bb"], abs=0.01)


def test_weakness_does_not_win_over_practice() -> None:
    tallies = {
        "F": tally_of(100, 20.0, 200, right=95, expected=80.0, foreseen=100),
        "Bb": tally_of(100, 26.0, 200, right=20, expected=80.0, foreseen=100),
    }
    assert drawn({}, tallies)["F"] > 0.95


def test_over_a_long_time_keys_come_nearly_as_their_weights_say() -> None:
    keys, weights = ("F", "Bb", "Eb", "E"), {"F": 4.0, "Bb": 2.0, "E": 1.0, "Eb": 1.0}
    chance, practice = random.Random(7), Practice()
    for number in range(3000):
        tallies = {key: tally for (_, key), tally in practice.keys.items()}
        key = pick_key(keys, weights, tallies, chance)
        practice = practice.after(an_answer(number, FIRST_DAY + number // 40, key=key))
    share = {key: practice.keys["name", key].times / 3000 for key in keys}
    assert {"F": 0.5, "Bb": 0.25, "Eb": 0.125, "E": 0.125} == pytest.approx(share, abs=0.04)
