"""The copies there are, and what a look through the history finds."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import pytest

from quiz.answers import INVENTED
from quiz.errors import StoreError, StoreUnwritable
from quiz.history.backups import daily_backup, newest_sound_backup, restore
from quiz.history.kept import (
    ASKED_FOR,
    BEFORE,
    BEFORE_KEPT,
    BEHIND,
    DAILY,
    HOLDS,
    WRONG,
    copies,
    copy_asked_for,
    copy_before,
    look_through,
)
from quiz.history.store import open_store
from quiz.history.undo import Undo
from tests.quiz.histories import FIRST_DAY, an_answer, moment
from tests.quiz.history.test_store import (
    a_history_of_version,
    keep,
    no_more_bytes,
    run_sql,
    some_answers,
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "history.db"
    with closing(open_store(path)) as store:
        keep(store, some_answers(40))
        store.undo(Undo((900).to_bytes(16, "big"), some_answers(40)[7].id, moment(), 0, "here"))
        store.practice()
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "backups"


# --- copies ---------------------------------------------------------------------------------------


def test_all_kinds_of_copies_are_listed_with_what_is_in_them(path: Path, folder: Path) -> None:
    with closing(open_store(path)) as store:
        daily = daily_backup(store, folder, FIRST_DAY)
        keep(store, some_answers(5, 100))
        before = copy_before(store, folder)
        keep(store, some_answers(5, 200))
        asked = copy_asked_for(store, folder, FIRST_DAY)
    assert [(daily, DAILY, 40), (before, BEFORE, 45), (asked, ASKED_FOR, 50)] == [
        copy[:3] for copy in copies(folder)
    ]
    assert asked == newest_sound_backup(folder)


def test_a_copy_that_is_not_sound_is_listed_as_such(path: Path, folder: Path) -> None:
    with closing(open_store(path)) as store:
        made = copy_asked_for(store, folder, FIRST_DAY)
    made.write_bytes(b"noise" * 1000)
    (copy,) = copies(folder)
    assert copy.answers is None
    assert "is damaged" in copy.problem


def test_a_copy_that_was_asked_for_replaces_none(path: Path, folder: Path) -> None:
    with closing(open_store(path)) as store:
        made = [copy_asked_for(store, folder, FIRST_DAY) for _ in range(3)]
        for day in range(20):
            daily_backup(store, folder, FIRST_DAY + day)
            copy_before(store, folder)
    assert 3 == len(set(made))
    assert all(copy.exists() for copy in made)


def test_copies_made_before_a_merge_do_not_pile_up(path: Path, folder: Path) -> None:
    with closing(open_store(path)) as store:
        made = [copy_before(store, folder) for _ in range(12)]
    assert made[-BEFORE_KEPT:] == sorted(folder.iterdir())


def test_a_copy_on_a_full_disk_leaves_nothing_behind(path: Path, folder: Path) -> None:
    with closing(open_store(path)) as store:
        with no_more_bytes(8192), pytest.raises(StoreUnwritable):
            copy_before(store, folder)
        assert [] == list(folder.iterdir())


def test_a_copy_with_invented_answers_is_not_restored(path: Path, tmp_path: Path) -> None:
    demo = tmp_path / "demo.db"
    with closing(open_store(demo)) as store:
        store.take_in([an_answer(1, origin=INVENTED)])
    before = path.read_bytes()
    with pytest.raises(StoreError, match="invented"):
        restore(demo, path)
    assert before == path.read_bytes()


# --- a look through the history -------------------------------------------------------------------


def test_a_sound_history_is_found_sound_and_counted(path: Path) -> None:
    before = path.read_bytes()
    found = look_through(path)
    assert () == found.problems
    assert (40, 1, 4, 1, 3) == (
        found.answers,
        found.taken_back,
        found.days,
        found.installations,
        found.format,
    )
    assert (FIRST_DAY, FIRST_DAY + 3) == (found.first_day, found.last_day)
    assert HOLDS == found.practice
    assert before == path.read_bytes()


def test_an_empty_history_is_sound(tmp_path: Path) -> None:
    open_store(tmp_path / "history.db").close()
    found = look_through(tmp_path / "history.db")
    assert ((), 0, None) == (found.problems, found.answers, found.first_day)


def test_a_history_that_is_worked_out_at_the_next_start_is_sound(path: Path) -> None:
    with closing(open_store(path)) as store:
        store.take_in(some_answers(5, 100))
    found = look_through(path)
    assert ((), BEHIND) == (found.problems, found.practice)


def test_a_history_of_an_earlier_version_is_sound_and_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    a_history_of_version(1, path, some_answers(20))
    before = path.read_bytes()
    found = look_through(path)
    assert ((), BEHIND, 20, 1) == (found.problems, found.practice, found.answers, found.format)
    assert before == path.read_bytes()


@pytest.mark.parametrize(
    ("statements", "says"),
    [
        (["UPDATE item_state SET stability = 123.0"], "did not follow from them"),
        (["UPDATE reach SET rung = 6 WHERE kind <> ''"], "did not follow from them"),
        (["DELETE FROM key_tally"], "did not follow from them"),
        (["UPDATE counted SET answers = answers + 1"], "counted scores do not follow"),
        (["DELETE FROM counted WHERE heading = 'key'"], "counted scores do not follow"),
        (["UPDATE answer SET tempo = 9999.0 WHERE seq = 5"], "'tempo' is 9999"),
        (["UPDATE answer SET origin = 'invented' WHERE seq = 5"], "1 answer in it is invented"),
        (["UPDATE answer SET given = CAST(x'ff' AS TEXT) WHERE seq = 5"], "no longer UTF-8"),
        (["DROP TABLE reach"], "parts are missing"),
    ],
)
def test_what_is_wrong_is_found_and_said(path: Path, statements: Sequence[str], says: str) -> None:
    run_sql(path, statements)
    assert says in " ".join(look_through(path).problems)


def test_every_damaged_page_is_found_also_in_a_file_too_large_for_every_start(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("quiz.history.schema.CHECKED_BYTES", 0)
    whole = path.read_bytes()
    for page in range(1, len(whole) // 4096):
        path.write_bytes(whole[: page * 4096] + b"\xff" * 4096 + whole[(page + 1) * 4096 :])
        assert look_through(path).problems, page


def test_what_was_wrong_beside_the_answers_can_be_forgotten(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE item_state SET stability = 123.0")
    assert WRONG == look_through(path).practice
    with closing(open_store(path)) as store:
        store.forget_practice()
        store.practice()
    assert ((), HOLDS) == (look_through(path).problems, look_through(path).practice)
