"""Backups: one a practice day, seven of them, and restoring without ever overwriting."""

from contextlib import closing
from datetime import date, timedelta
from pathlib import Path

import pytest

from quiz.errors import StoreDamaged, StoreError, StoreUnwritable
from quiz.history.backups import (
    backups,
    daily_backup,
    newest_sound_backup,
    open_kept,
    restore,
    set_aside,
)
from quiz.history.store import open_store
from tests.quiz.histories import FIRST_DAY, an_answer


def history_of(path: Path, count: int) -> Path:
    with closing(open_store(path)) as store:
        store.take_in(an_answer(number) for number in range(count))
    return path


def count_of(path: Path) -> int:
    with closing(open_store(path)) as store:
        return store.count()


def back_up(path: Path, folder: Path, day: int) -> Path | None:
    with closing(open_store(path)) as store:
        return daily_backup(store, folder, day)


@pytest.fixture
def history(tmp_path: Path) -> Path:
    return history_of(tmp_path / "history.db", 3)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "backups"


# --- making them --------------------------------------------------------------------------------


def test_a_backup_holds_all_answers_and_carries_the_date(history: Path, folder: Path) -> None:
    made = back_up(history, folder, FIRST_DAY)
    assert folder / "history-2024-10-04.db" == made
    assert 3 == count_of(made)
    assert [made] == list(folder.iterdir())


def test_there_is_one_backup_a_practice_day(history: Path, folder: Path) -> None:
    assert back_up(history, folder, FIRST_DAY) is not None
    history_of(history, 5)
    assert back_up(history, folder, FIRST_DAY) is None
    assert 3 == count_of(folder / "history-2024-10-04.db")
    assert back_up(history, folder, FIRST_DAY + 1) is not None


def test_seven_backups_are_kept_and_the_oldest_go(history: Path, folder: Path) -> None:
    for day in range(10):
        back_up(history, folder, FIRST_DAY + day)
    dates = [date(2024, 10, 4) + timedelta(days=day) for day in range(9, 2, -1)]
    assert [f"history-{day.isoformat()}.db" for day in dates] == [
        path.name for path in backups(folder)
    ]


def test_what_else_is_in_the_folder_is_left(history: Path, folder: Path) -> None:
    folder.mkdir()
    (folder / "history-mine.db").write_text("mine")
    (folder / "notes.txt").write_text("mine")
    for day in range(9):
        back_up(history, folder, FIRST_DAY + day)
    assert {"history-mine.db", "notes.txt"} <= {path.name for path in folder.iterdir()}
    assert 9 == len(list(folder.iterdir()))


def test_an_empty_history_is_not_backed_up(tmp_path: Path, folder: Path) -> None:
    assert back_up(history_of(tmp_path / "empty.db", 0), folder, FIRST_DAY) is None
    assert () == backups(folder)


def test_a_file_in_place_of_the_folder_is_told(history: Path, folder: Path) -> None:
    folder.write_text("mine")
    with pytest.raises(StoreUnwritable, match="backups"):
        back_up(history, folder, FIRST_DAY)
    assert "mine" == folder.read_text()


def test_without_a_folder_there_are_no_backups(folder: Path) -> None:
    assert () == backups(folder)
    assert newest_sound_backup(folder) is None


# --- finding one --------------------------------------------------------------------------------


def test_the_newest_sound_backup_is_found_behind_broken_and_empty_ones(
    history: Path, folder: Path
) -> None:
    for day in range(5):
        back_up(history, folder, FIRST_DAY + day)
    newest, second, third, fourth, _ = backups(folder)
    newest.write_bytes(b"noise" * 1000)
    second.write_bytes(second.read_bytes()[:5000])
    third.write_bytes(b"")
    assert fourth == newest_sound_backup(folder)


def test_looking_for_a_backup_changes_none(history: Path, folder: Path) -> None:
    back_up(history, folder, FIRST_DAY)
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}
    newest_sound_backup(folder)
    assert before == {
        path: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()
    }


# --- bringing one back --------------------------------------------------------------------------


def test_restoring_sets_aside_what_stood_there(history: Path, folder: Path) -> None:
    made = back_up(history, folder, FIRST_DAY)
    assert made is not None
    history.write_bytes(b"damaged")
    aside = restore(made, history)
    assert aside is not None
    assert b"damaged" == aside.read_bytes()
    assert 3 == count_of(history)
    assert 3 == count_of(made)


def test_files_set_aside_are_never_overwritten(history: Path, folder: Path) -> None:
    made = back_up(history, folder, FIRST_DAY)
    assert made is not None
    asides = []
    for content in (b"first", b"second", b"third"):
        history.write_bytes(content)
        asides.append(restore(made, history))
    assert [b"first", b"second", b"third"] == [aside.read_bytes() for aside in asides if aside]


def test_an_unfinished_journal_goes_with_its_file(history: Path, folder: Path) -> None:
    # sqlite.org/lockingv3.html: a journal beside a database is rolled back when it is opened
    made = back_up(history, folder, FIRST_DAY)
    assert made is not None
    journal = history.with_name("history.db-journal")
    journal.write_bytes(b"half a transaction")
    aside = restore(made, history)
    assert aside is not None
    assert not journal.exists()
    assert b"half a transaction" == aside.with_name(f"{aside.name}-journal").read_bytes()


def test_a_journal_without_its_file_is_not_rolled_into_the_backup(
    history: Path, folder: Path
) -> None:
    made = back_up(history, folder, FIRST_DAY)
    assert made is not None
    history.rename(history.with_name("elsewhere.db"))
    journal = history.with_name("history.db-journal")
    journal.write_bytes(b"half a transaction")
    restore(made, history)
    assert not journal.exists()
    assert 3 == count_of(history)


def test_restoring_where_nothing_stood_sets_nothing_aside(
    history: Path, folder: Path, tmp_path: Path
) -> None:
    made = back_up(history, folder, FIRST_DAY)
    assert made is not None
    assert restore(made, tmp_path / "new" / "history.db") is None
    assert 3 == count_of(tmp_path / "new" / "history.db")


@pytest.mark.parametrize("content", [b"noise" * 1000, b"", None], ids=["noise", "empty", "no file"])
def test_a_broken_backup_is_refused_and_the_history_stays(
    history: Path, tmp_path: Path, content: bytes | None
) -> None:
    backup = tmp_path / "backup.db"
    if content is not None:
        backup.write_bytes(content)
    before = history.read_bytes()
    with pytest.raises(StoreError, match="backup"):
        restore(backup, history)
    assert before == history.read_bytes()
    assert backup.exists() == (content is not None)
    assert {history, backup} >= set(tmp_path.iterdir())


def test_a_damaged_history_set_aside_makes_room_for_a_new_one(history: Path) -> None:
    history.write_bytes(b"damaged")
    with pytest.raises(StoreDamaged):
        open_store(history)
    aside = set_aside(history)
    assert b"damaged" == aside.read_bytes()
    assert 0 == count_of(history)


def test_what_can_still_be_read_of_a_damaged_history_is_taken_into_the_backup(
    history: Path, folder: Path
) -> None:
    made = back_up(history, folder, FIRST_DAY)
    assert made is not None
    history_of(history, 300)
    whole = history.read_bytes()
    assert len(whole) > 20 * 4096
    history.write_bytes(whole[:-4096] + b"\xff" * 4096)
    with pytest.raises(StoreDamaged):
        open_store(history)
    restore(made, history)
    assert 200 < count_of(history) <= 300


def test_a_missing_history_with_a_backup_is_not_silently_begun_anew(
    history: Path, folder: Path
) -> None:
    made = back_up(history, folder, FIRST_DAY)
    for gone in ("empty", "missing"):
        if gone == "empty":
            history.write_bytes(b"")
        else:
            history.unlink()
        with pytest.raises(StoreDamaged, match="missing") as caught:
            open_kept(history, folder)
        assert made == caught.value.backup


def test_a_history_without_backups_is_begun_as_new(tmp_path: Path, folder: Path) -> None:
    with closing(open_kept(tmp_path / "history.db", folder)) as store:
        assert 0 == store.count()
