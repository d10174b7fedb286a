"""What the schedule knows of the history, counted by hand."""

import pytest

from quiz.learning.memory import Item
from quiz.learning.practice import DAYS_KEPT, FADE, PROBES_KEPT, KeyTally, Practice, Probe
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer


def test_before_the_first_answer_there_is_nothing() -> None:
    nothing = Practice()
    assert (0, 0, (0, 0)) == (
        nothing.asked_on(FIRST_DAY),
        nothing.new_on(FIRST_DAY),
        nothing.contrast_counts(),
    )


def test_answers_and_new_items_are_counted_by_practice_day() -> None:
    practice = Practice.replayed(
        [
            an_answer(1),
            an_answer(2),
            an_answer(3, device="dip"),
            an_answer(4, FIRST_DAY + 1),
        ]
    )
    assert (3, 2) == (practice.asked_on(FIRST_DAY), practice.new_on(FIRST_DAY))
    assert (1, 0) == (practice.asked_on(FIRST_DAY + 1), practice.new_on(FIRST_DAY + 1))


def test_contrasts_are_counted_over_the_days_that_are_kept() -> None:
    answers = [an_answer(n, FIRST_DAY + n, why="contrast") for n in range(DAYS_KEPT + 10)]
    assert (DAYS_KEPT, DAYS_KEPT) == Practice.replayed(answers).contrast_counts()
    assert DAYS_KEPT == len(Practice.replayed(answers).days)


def test_a_first_meeting_and_a_second_answer_of_a_day_say_nothing_about_the_key() -> None:
    practice = Practice.replayed([an_answer(1), a_wrong_answer(2), a_wrong_answer(3)])
    tally = practice.keys["name", "Bb"]
    assert (3, 0, 0, 0.0) == (tally.times, tally.foreseen, tally.right, tally.surplus)


def test_a_key_gains_what_went_better_than_foreseen_and_loses_what_went_worse() -> None:
    first = Practice.replayed([an_answer(1)])
    days = 3
    stability = first.states[Item("climb", "name")].stability
    # by hand: recall after three days, a quarter of the rest by luck
    recalled = (1 + (0.9 ** (-1 / 0.1542) - 1) * days / stability) ** -0.1542
    foreseen = recalled + (1 - recalled) / 4
    better = first.after(an_answer(2, FIRST_DAY + days)).keys["name", "Bb"]
    worse = first.after(a_wrong_answer(2, FIRST_DAY + days)).keys["name", "Bb"]
    assert 1 - foreseen == pytest.approx(better.surplus)
    assert -foreseen == pytest.approx(worse.surplus)


def test_keys_are_kept_apart_by_kind() -> None:
    practice = Practice.replayed([an_answer(1), an_answer(2, kind="spell")])
    assert {("name", "Bb"): 1, ("spell", "Bb"): 1} == {
        place: tally.times for place, tally in practice.keys.items()
    }


def test_how_often_a_key_came_fades_with_every_answer_of_its_kind() -> None:
    practice = Practice.replayed(
        [
            an_answer(1, key="F"),
            an_answer(2, key="F"),
            an_answer(3, key="E"),
            an_answer(4, key="E", kind="spell"),
        ]
    )
    assert FADE + FADE**2 == pytest.approx(practice.keys["name", "F"].lately(3))
    assert 1.0 == practice.keys["name", "E"].lately(3)
    assert 0.0 == KeyTally().lately(3)


def test_the_reaches_follow_the_answers_that_count() -> None:
    practice = Practice.replayed(
        [
            *(an_answer(number, rung=1, tempo=88.0) for number in range(1, 4)),
            an_answer(4, kind="write"),
            an_answer(5, kind="jam"),
        ]
    )
    assert {Item("climb", "name")} == set(practice.reaches.items)
    assert 2 == practice.reaches.rung(Item("climb", "name"))
    assert 3 == len(practice.states)  # what does not count for a reach is remembered all the same


def test_taking_an_answer_leaves_the_practice_before_it_as_it_was() -> None:
    before = Practice.replayed([an_answer(1, rung=1)])
    same = Practice.replayed([an_answer(1, rung=1)])
    before.after(a_wrong_answer(2, FIRST_DAY + 1, key="E", rung=1))
    assert same == before


# --- placement ------------------------------------------------------------------------------------


def test_placement_answers_are_kept_in_order_and_the_latest_of_them() -> None:
    answers = [an_answer(n, kind=f"k{n}", why="placement") for n in range(PROBES_KEPT + 5)]
    answers.insert(3, an_answer(900, why="new"))
    probes = Practice.replayed(answers).probes
    assert [f"k{n}" for n in range(5, PROBES_KEPT + 5)] == [probe.item.kind for probe in probes]
    assert Probe(Item("climb", "k5"), True, 0.25) == probes[0]


def test_what_a_placement_finds_unknown_stays_new_and_is_counted_all_the_same() -> None:
    practice = Practice.replayed([a_wrong_answer(1, why="placement")])
    assert {} == practice.states
    assert (1, 0) == (practice.asked_on(FIRST_DAY), practice.new_on(FIRST_DAY))
    assert (Probe(Item("climb", "name"), False, 0.25),) == practice.probes


def test_a_wrong_placement_answer_about_something_met_counts_as_any_other() -> None:
    first = an_answer(1)
    later = [a_wrong_answer(2, FIRST_DAY + 3, why=why) for why in ("placement", "due")]
    placed, due = (Practice.replayed([first, answer]).states for answer in later)
    assert due == placed


def test_a_placement_takes_nothing_from_the_room_for_new_items() -> None:
    answers = [an_answer(1, why="placement"), an_answer(2, device="fall")]
    assert 1 == Practice.replayed(answers).new_on(FIRST_DAY)
