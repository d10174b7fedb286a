"""Calls of an open jam are kept and counted, and move neither memory nor the day nor a reach."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from quiz.answers import Answer
from quiz.history.store import Store, memory_store, open_store
from quiz.learning.memory import Item
from quiz.learning.practice import CALLED, DAYS_KEPT, Practice
from quiz.progress.counts import last_days, scores
from quiz.questions.kinds import Kind
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.jamming import at_the_jam


def a_call(number: int, day: float = FIRST_DAY, **changed: Any) -> Answer:
    """A call that was right, unless told otherwise."""
    return an_answer(number, day, **({"kind": "jam", "why": CALLED} | changed))


ASKED = [
    an_answer(1, rung=1, tempo=88.0),
    a_wrong_answer(3, rung=1, tempo=88.0),
    an_answer(5, device="dip", why="contrast"),
    an_answer(7, FIRST_DAY + 2, key="F"),
]
CALLS = [
    a_call(2),
    a_call(4, device="fall", key="Eb"),
    a_call(6, score=0.0, verdict="given up", given=""),
    a_call(8, FIRST_DAY + 1),
    a_call(9, FIRST_DAY + 3),
]
BOTH = sorted([*ASKED, *CALLS], key=lambda answer: (answer.at, answer.id))


def but_for_the_keys(practice: Practice) -> tuple[object, ...]:
    return practice.states, practice.days, practice.reaches


def tallied(practice: Practice) -> dict[str, int]:
    """Answers of the jam by key."""
    return {key: row.times for (kind, key), row in practice.keys.items() if kind == "jam"}


def by_replay(_folder: Path) -> Practice:
    return Practice.replayed(BOTH)


def one_by_one(_folder: Path) -> Practice:
    practice = Practice()
    for answer in BOTH:
        practice = practice.after(answer)
    return practice


def appended(folder: Path) -> Store:
    store = open_store(folder / "history.db")
    for answer in BOTH:
        store.append(answer, store.practice().after(answer))
    return store


def through_the_store(folder: Path) -> Practice:
    store = appended(folder)
    practice = store.practice()
    store.close()
    return practice


def opened_again(folder: Path) -> Practice:
    appended(folder).close()
    return through(open_store(folder / "history.db"))


def through(store: Store) -> Practice:
    practice = store.practice()
    store.close()
    return practice


def added_late(_folder: Path) -> Practice:
    """The calls came from another machine, behind answers that are taken in already."""
    store = memory_store()
    for answer in ASKED:
        store.append(answer, store.practice().after(answer))
    store.take_in(CALLS)
    return through(store)


WAYS = [by_replay, one_by_one, through_the_store, opened_again, added_late]


@pytest.mark.parametrize("way", WAYS)
def test_states_days_and_reaches_are_as_if_there_had_been_no_calls(
    way: Any, tmp_path: Path
) -> None:
    assert but_for_the_keys(Practice.replayed(ASKED)) == but_for_the_keys(way(tmp_path))


@pytest.mark.parametrize("way", WAYS)
def test_all_ways_to_the_practice_agree(way: Any, tmp_path: Path) -> None:
    assert Practice.replayed(BOTH) == way(tmp_path)


@pytest.mark.parametrize("way", WAYS)
def test_the_keys_of_calls_are_tallied_apart_from_those_of_rounds(way: Any, tmp_path: Path) -> None:
    practice = way(tmp_path)
    assert {"Bb": 4, "Eb": 1} == tallied(practice)
    assert Practice.replayed(ASKED).keys["name", "Bb"] == practice.keys["name", "Bb"]


def test_a_call_is_never_foreseen(tmp_path: Path) -> None:
    """No memory says how likely a right call was."""
    for row in Practice.replayed(BOTH).keys.values():
        assert row.foreseen <= row.times
    assert (
        0
        == Practice.replayed([a_call(n, FIRST_DAY + n) for n in range(9)])
        .keys["jam", "Bb"]
        .foreseen
    )


def test_a_figure_that_was_only_called_is_still_new() -> None:
    practice = Practice.replayed(CALLS)
    assert {} == practice.states
    assert (0, 0) == (practice.new_on(FIRST_DAY), practice.asked_on(FIRST_DAY))


def test_days_with_calls_alone_push_no_day_out() -> None:
    asked = [an_answer(n, FIRST_DAY + n) for n in range(DAYS_KEPT)]
    calls = [a_call(100 + n, FIRST_DAY + 100 + n) for n in range(DAYS_KEPT)]
    assert Practice.replayed(asked).days == Practice.replayed([*asked, *calls]).days


@pytest.mark.parametrize("kind", Kind)
def test_it_is_the_reason_that_counts_whatever_the_kind(kind: Kind) -> None:
    assert {} == Practice.replayed([a_call(1, kind=kind.value)]).states
    assert {Item("climb", kind.value)} == set(
        Practice.replayed([a_call(1, kind=kind.value, why="due")]).states
    )


def test_even_a_call_with_a_rung_moves_no_reach() -> None:
    calls = [a_call(n, FIRST_DAY + n, rung=2, tempo=140.0) for n in range(9)]
    assert Practice().reaches == Practice.replayed(calls).reaches


def test_calls_are_counted_in_the_scores_like_any_answer() -> None:
    store = memory_store()
    store.take_in(CALLS)
    counted = scores(store)
    assert [("jam", 4, 5)] == [(row.name, row.right, row.answers) for row in counted.kinds]
    assert 5 == sum(row.answers for row in counted.devices)
    assert 5 == sum(day.answers for day in last_days(store, FIRST_DAY + 3))
    store.close()


def test_a_mistaken_call_is_among_the_confusions() -> None:
    store = memory_store()
    store.take_in([replace(a_wrong_answer(1), kind="jam", why=CALLED)])
    assert [("climb", "fall", 1)] == [tuple(row) for row in store.confusions()]
    store.close()


async def test_a_jam_under_an_assignment_goes_on_where_nothing_of_it_can_be_heard(
    tmp_path: Path,
) -> None:
    work = tmp_path / "work.toml"
    work.write_text('id = "by-ear"\ntitle = "By ear"\nkinds = ["name"]\n', encoding="utf-8")
    async with at_the_jam(tmp_path, silent="no sound: a test", assignment=work) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.call(0)
        assert [""] == [one.assignment for one in jam.bench.store.answers()]
