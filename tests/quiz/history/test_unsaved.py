"""Answers that the history cannot take: they wait, and go in exactly once."""

import json
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from quiz.answers import Answer
from quiz.errors import StoreError, StoreUnwritable
from quiz.grading.lines import grade_nothing
from quiz.history.backups import backups
from quiz.history.store import Store, memory_store
from quiz.history.undo import Records
from quiz.history.unsaved import read_unsaved, take_in, write_unsaved
from quiz.session import Record
from quiz.workbench import Workbench
from tests.quiz.benches import opened
from tests.quiz.histories import a_wrong_answer, an_answer
from tests.quiz.history.test_store import no_more_bytes

ODD = an_answer(3, given="b3 \u2028 \x85 🎸 \n \" '", guess_rate=1 / 3, seconds=0.1, slowed=True)


@pytest.fixture
def waiting(tmp_path: Path) -> Path:
    return tmp_path / "config" / "unsaved.jsonl"


@pytest.fixture
def store() -> Iterator[Store]:
    with closing(memory_store()) as opened:
        yield opened


def answers_of(store: Store) -> list[Answer]:
    return list(store.answers())


def test_answers_wait_as_they_were_given(waiting: Path) -> None:
    write_unsaved([an_answer(1), ODD], waiting)
    write_unsaved([a_wrong_answer(2)], waiting)
    assert (an_answer(1), ODD, a_wrong_answer(2)) == read_unsaved(waiting).answers


def test_without_a_file_nothing_waits(waiting: Path, store: Store) -> None:
    assert Records() == read_unsaved(waiting)
    take_in(waiting, store.take_in)
    assert [] == answers_of(store)
    assert not waiting.parent.exists()


def test_lines_that_are_foreign_or_cut_short_are_passed_over(waiting: Path) -> None:
    write_unsaved([an_answer(1)], waiting)
    whole = waiting.read_text()
    row = json.loads(whole)
    broken = [
        "hello",
        "[]",
        "null",
        "3",
        '"id"',
        "{}",
        whole.strip()[:-9],
        json.dumps(row | {"score": 7}),
        json.dumps(row | {"id": "zz"}),
        json.dumps(row | {"id": 3}),
        json.dumps(row | {"at": "soon"}),
        json.dumps(row | {"key": None}),
        "[" * 100_000,
    ]
    waiting.write_bytes(b"\xff\xfe\n" + "\n".join([*broken, whole]).encode())
    assert (an_answer(1),) == read_unsaved(waiting).answers


def test_half_a_character_in_a_line_is_written_out_and_goes_into_the_history(
    waiting: Path, store: Store
) -> None:
    write_unsaved([an_answer(1)], waiting)
    row = json.loads(waiting.read_text())
    waiting.write_text(json.dumps(row | {"key": "\ud83c", "given": "b3 \udfb8"}))
    take_in(waiting, store.take_in)
    assert [an_answer(1, key="\\ud83c", given="b3 \\udfb8")] == answers_of(store)


def test_an_answer_after_a_line_that_was_cut_short_is_read(waiting: Path) -> None:
    write_unsaved([an_answer(1)], waiting)
    with waiting.open("a") as file:
        file.write('{"id": "00')
    write_unsaved([an_answer(2)], waiting)
    assert (an_answer(1), an_answer(2)) == read_unsaved(waiting).answers


def test_where_nothing_can_be_written_it_says_so(waiting: Path) -> None:
    write_unsaved([an_answer(1)], waiting)
    with no_more_bytes(), pytest.raises(StoreUnwritable, match="free some space"):
        write_unsaved([an_answer(2)], waiting)
    assert an_answer(1) == read_unsaved(waiting).answers[0]
    waiting.parent.joinpath("file").write_text("mine")
    with pytest.raises(StoreUnwritable, match="cannot be written either"):
        write_unsaved([an_answer(2)], waiting.parent / "file" / "unsaved.jsonl")


def test_waiting_answers_go_in_once_and_their_file_is_put_away(waiting: Path, store: Store) -> None:
    write_unsaved([an_answer(1), a_wrong_answer(2)], waiting)
    take_in(waiting, store.take_in)
    take_in(waiting, store.take_in)
    assert [an_answer(1), a_wrong_answer(2)] == answers_of(store)
    assert not waiting.exists()


def test_the_newest_files_that_were_taken_in_are_kept(waiting: Path, store: Store) -> None:
    for number in range(12):
        write_unsaved([an_answer(number)], waiting)
        take_in(waiting, store.take_in)
    assert 12 == len(answers_of(store))
    assert {f"{waiting.name}.taken-{number}" for number in (10, 11, 12)} == {
        file.name for file in waiting.parent.iterdir()
    }


def test_a_file_with_a_line_that_nobody_can_read_is_kept_for_good(
    waiting: Path, store: Store
) -> None:
    for number in range(6):
        write_unsaved([an_answer(number)], waiting)
        if number == 1:
            waiting.write_text(f'{waiting.read_text()}{{"id": "c0ffee", "as yet unknown": 1}}')
        take_in(waiting, store.take_in)
    assert 6 == len(answers_of(store))
    assert {f"{waiting.name}.taken-{number}" for number in (2, 4, 5, 6)} == {
        file.name for file in waiting.parent.iterdir()
    }


class Died(Exception):
    """The program ends at this point."""


def test_when_the_program_dies_after_keeping_them_they_are_still_kept_once(
    waiting: Path, store: Store
) -> None:
    write_unsaved([an_answer(1)], waiting)

    def keep_and_die(*records: Sequence[Any]) -> None:
        store.take_in(*records)
        raise Died

    with pytest.raises(Died):
        take_in(waiting, keep_and_die)
    write_unsaved([a_wrong_answer(2)], waiting)  # the next run could not save either
    take_in(waiting, store.take_in)
    assert [an_answer(1), a_wrong_answer(2)] == answers_of(store)


def test_when_the_history_still_cannot_take_them_they_go_on_waiting(
    waiting: Path, store: Store
) -> None:
    write_unsaved([an_answer(1)], waiting)

    def refuse(*records: Sequence[Any]) -> None:
        raise StoreUnwritable("full")

    for _ in range(2):
        with pytest.raises(StoreError, match="full"):
            take_in(waiting, refuse)
    take_in(waiting, store.take_in)
    assert [an_answer(1)] == answers_of(store)


# --- the whole way ------------------------------------------------------------------------------


def give_up(bench: Workbench) -> str:
    """Ask the next question and give it up; what is said about the keeping."""
    asked = bench.coach.next()
    return bench.coach.record(
        Record(
            asked.question, asked.why, "", grade_nothing(), 1.0, 1, slowed=False, interrupted=False
        )
    )


def test_answers_on_a_full_disk_are_in_the_history_after_the_next_start_once(
    tmp_path: Path,
) -> None:
    with opened(tmp_path) as bench:
        assert ["", ""] == [give_up(bench), give_up(bench)]
        with no_more_bytes(20_000):  # the history is longer, the other file is not
            assert "goes in at the next start" in give_up(bench)
        assert "" == give_up(bench)
        asked = bench.coach.today().asked
    for _ in range(2):
        with opened(tmp_path) as bench:
            assert 4 == asked == bench.store.count() == bench.coach.today().asked
            assert [] == bench.problems


def test_without_a_place_for_the_history_answers_wait_until_there_is_one(tmp_path: Path) -> None:
    in_the_way = tmp_path / "data" / "history.db"
    in_the_way.mkdir(parents=True)
    for start in range(2):
        with opened(tmp_path) as bench:
            assert "is a folder" in bench.problems[0]
            assert 2 * start == bench.coach.today().asked  # what waits is known to the schedule
            assert ["", ""] == [give_up(bench), give_up(bench)]
    in_the_way.rmdir()
    with opened(tmp_path) as bench:
        assert [] == bench.problems
        assert 4 == bench.store.count() == bench.coach.today().asked


def test_a_start_makes_the_backup_of_the_day(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        give_up(bench)
        assert () == backups(bench.locations.backups)
    for _ in range(2):
        with opened(tmp_path) as bench:
            assert 1 == len(backups(bench.locations.backups))
