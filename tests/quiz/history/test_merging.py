"""Two machines' histories put together."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from threading import Thread

import pytest

from quiz.answers import INVENTED
from quiz.errors import ExchangeError, StoreUnwritable
from quiz.history.exchange import export
from quiz.history.merging import Coming, foresee, merge, source_of
from quiz.history.store import Store, memory_store, open_store
from quiz.history.undo import Undo
from quiz.learning.practice import Practice
from tests.quiz.histories import FIRST_DAY, an_answer, moment
from tests.quiz.history.test_store import (
    a_history_of_version,
    a_long_history,
    keep,
    no_more_bytes,
    some_answers,
)

UNDO = Undo((900).to_bytes(16, "big"), (3).to_bytes(16, "big"), moment(), 0, "feedfacecafe")
HERE, THERE = some_answers(30), some_answers(30, 20)
"""Ten answers are in both."""


@pytest.fixture
def store() -> Iterator[Store]:
    with closing(memory_store()) as opened:
        keep(opened, HERE)
        yield opened


@pytest.fixture(params=["history", "file of answers"])
def other(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The history of another machine, or its export."""
    path = tmp_path / "other.db"
    with closing(open_store(path)) as opened:
        keep(opened, THERE)
        opened.undo(UNDO)
        if request.param == "history":
            return path
        export(opened, tmp_path / "other.jsonl")
    return tmp_path / "other.jsonl"


def test_a_merge_is_the_union_of_both_and_the_practice_is_its_replay(
    store: Store, other: Path
) -> None:
    merge(store, source_of(other))
    assert some_answers(50) == list(store.every_answer())
    assert [UNDO] == list(store.undos())
    left = [answer for answer in some_answers(50) if answer.id != UNDO.answer]
    assert left == list(store.answers())
    assert Practice.replayed(left) == store.practice()


def test_what_is_foreseen_is_what_comes_in_and_nothing_is_written(
    store: Store, other: Path
) -> None:
    before = store.records()
    foreseen = foresee(store, source_of(other))
    assert before == store.records()
    assert foreseen == merge(store, source_of(other))
    assert (20, 1, 10, 0, 0) == (
        foreseen.answers,
        foreseen.undos,
        foreseen.known,
        foreseen.differing,
        foreseen.invented,
    )
    assert (FIRST_DAY + 3, FIRST_DAY + 4) == (foreseen.first_day, foreseen.last_day)
    assert {"0123456789ab": 20} == foreseen.origins


def test_a_second_merge_brings_nothing(store: Store, other: Path) -> None:
    merge(store, source_of(other))
    before = store.records()
    assert Coming(known=31) == merge(store, source_of(other))
    assert before == store.records()


def test_the_other_side_is_only_read(store: Store, other: Path) -> None:
    before = {path: path.read_bytes() for path in other.parent.iterdir()}
    merge(store, source_of(other))
    assert before == {path: path.read_bytes() for path in other.parent.iterdir()}


def test_what_is_told_of_progress_rises_from_nought_to_one(store: Store, other: Path) -> None:
    told: list[float] = []
    merge(store, source_of(other), told.append)
    assert told
    assert sorted(told) == told
    assert all(0 <= share <= 1 for share in told)


def test_invented_answers_and_undos_stay_out(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "demo.db"
    with closing(open_store(path)) as demo:
        demo.take_in(
            [an_answer(70, origin=INVENTED), an_answer(71)], [replace(UNDO, origin=INVENTED)]
        )
    coming = merge(store, source_of(path))
    assert (1, 0, 2) == (coming.answers, coming.undos, coming.invented)
    assert all(answer.origin != INVENTED for answer in store.every_answer())
    assert [] == list(store.undos())


def test_a_record_that_differs_under_the_same_id_stays_out_and_is_counted(
    store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "other.db"
    changed = replace(HERE[4], score=0.0, verdict="wrong")
    twice = replace(UNDO, id=HERE[5].id)
    with closing(open_store(path)) as opened:
        opened.take_in([changed, HERE[6]], [twice])
    assert Coming(known=1, differing=2) == merge(store, source_of(path))
    assert HERE == list(store.answers())


def test_a_line_that_comes_twice_is_foreseen_once(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "twice.jsonl"
    with closing(memory_store()) as opened:
        opened.take_in(some_answers(3, 600))
        export(opened, path)
    head, *records, end = path.read_text().splitlines()
    path.write_text("\n".join([head, *records * 400, end]))  # more than one transaction has
    foreseen = foresee(store, source_of(path))
    assert (3, 1197) == (foreseen.answers, foreseen.known)
    assert foreseen == merge(store, source_of(path))


def test_a_history_of_an_earlier_version_is_merged_and_left_as_it_is(
    store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "old.db"
    old = [replace(answer, rung=-1) for answer in some_answers(40, 100)]
    a_history_of_version(1, path, old)
    before = path.read_bytes()
    merge(store, source_of(path))
    assert [*HERE, *old] == list(store.answers())
    assert before == path.read_bytes()
    assert [path] == list(tmp_path.iterdir())


def test_a_merge_that_breaks_off_is_done_by_doing_it_again(tmp_path: Path) -> None:
    other, here = tmp_path / "other.db", tmp_path / "here.db"
    with closing(open_store(other)) as opened:
        opened.take_in(some_answers(2000, 100))
    with closing(open_store(here)) as store:
        keep(store, HERE)
        with no_more_bytes(here.stat().st_size + 300_000), pytest.raises(StoreUnwritable):
            merge(store, source_of(other))
        assert 30 < store.count() < 2030
        merge(store, source_of(other))
        assert [*HERE, *some_answers(2000, 100)] == list(store.answers())
        assert Practice.replayed(store.answers()) == store.practice()


@pytest.mark.parametrize("name", ["nothing.db", "folder"])
def test_what_is_no_file_is_told(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(ExchangeError, match="give a history or a file of answers"):
        source_of(tmp_path / name)


def test_a_damaged_history_is_not_merged(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    whole = bytearray(a_long_history(path))
    whole[4 * 4096 : 5 * 4096] = b"\xff" * 4096
    path.write_bytes(whole)
    with pytest.raises(ExchangeError, match="is no sound history"):
        source_of(path)


def test_another_program_s_database_is_not_merged(tmp_path: Path) -> None:
    path = tmp_path / "shopping.db"
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE shopping (what TEXT)")
    with pytest.raises(ExchangeError, match="is no sound history"):
        source_of(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names there")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    pipe, said = tmp_path / "pipe", list[str]()
    os.mkfifo(pipe)

    def ask() -> None:
        with pytest.raises(ExchangeError) as refused:
            source_of(pipe)
        said.append(str(refused.value))

    asking = Thread(target=ask, daemon=True)
    asking.start()
    asking.join(5)
    assert [f"{pipe} is no plain file: give one"] == said
