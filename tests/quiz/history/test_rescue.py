"""A history that is damaged or gone: what is offered, and what can still be saved of it."""

import random
from contextlib import closing
from pathlib import Path

import pytest

from quiz.errors import StoreDamaged, StoreTooNew, StoreUnwritable
from quiz.history.backups import backups, daily_backup, open_kept, restore, set_aside
from quiz.history.salvage import readable
from quiz.history.store import diagnose, open_store
from quiz.history.undo import Records
from tests.quiz.histories import FIRST_DAY, an_answer
from tests.quiz.history.test_faults import PAGE_BYTES, kept
from tests.quiz.history.test_store import a_history_of_version, no_more_bytes

ANSWERS = [an_answer(number, FIRST_DAY + number // 30) for number in range(300)]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A history of several days, with a backup that lacks the last of them."""
    path = tmp_path / "history.db"
    with closing(open_store(path)) as store:
        store.take_in(ANSWERS[:270])
        daily_backup(store, tmp_path / "backups", FIRST_DAY + 9)
        store.take_in(ANSWERS[270:])
    return path


@pytest.fixture
def folder(path: Path) -> Path:
    return path.with_name("backups")


def spoil(path: Path, page: int) -> None:
    """Put noise into one page, counted from 0."""
    content = bytearray(path.read_bytes())
    content[page * PAGE_BYTES : (page + 1) * PAGE_BYTES] = random.Random(page).randbytes(PAGE_BYTES)
    path.write_bytes(content)


# --- what is offered ----------------------------------------------------------------------------


def test_a_sound_history_opens_as_it_is(path: Path, folder: Path) -> None:
    with closing(open_kept(path, folder)) as store:
        assert 300 == store.count()


def test_a_damaged_history_is_left_and_the_newest_sound_backup_offered(
    path: Path, folder: Path
) -> None:
    path.write_bytes(b"noise" * 1000)
    with pytest.raises(StoreDamaged, match="is damaged") as caught:
        open_kept(path, folder)
    assert (path, backups(folder)[0]) == (caught.value.path, caught.value.backup)
    assert b"noise" * 1000 == path.read_bytes()


def test_without_a_backup_none_is_offered(tmp_path: Path) -> None:
    (tmp_path / "history.db").write_bytes(b"noise" * 1000)
    with pytest.raises(StoreDamaged) as caught:
        open_kept(tmp_path / "history.db", tmp_path / "backups")
    assert caught.value.backup is None


@pytest.mark.parametrize("emptied", [True, False])
def test_a_history_that_has_gone_is_not_begun_anew_unasked(
    path: Path, folder: Path, emptied: bool
) -> None:
    if emptied:
        path.write_bytes(b"")
    else:
        path.unlink()
    with pytest.raises(StoreDamaged, match="is missing, but there are backups") as caught:
        open_kept(path, folder)
    assert backups(folder)[0] == caught.value.backup
    assert path.exists() == emptied


def test_on_the_first_start_there_is_nothing_to_ask(tmp_path: Path) -> None:
    with closing(open_kept(tmp_path / "history.db", tmp_path / "backups")) as store:
        assert 0 == store.count()


def test_a_place_that_cannot_be_looked_at_is_told_in_words(tmp_path: Path) -> None:
    with pytest.raises(StoreUnwritable, match="xxx"):
        open_kept(tmp_path / ("x" * 300) / "history.db", tmp_path / "backups")


# --- what is wrong ------------------------------------------------------------------------------


def test_a_diagnosis_of_a_sound_history_finds_nothing_and_writes_nothing(path: Path) -> None:
    before = path.stat().st_mtime_ns
    assert diagnose(path) is None
    assert before == path.stat().st_mtime_ns


def test_a_diagnosis_says_what_is_wrong(path: Path, tmp_path: Path) -> None:
    spoil(path, 3)
    assert isinstance(diagnose(path), StoreDamaged)
    path.write_bytes(b"")
    assert isinstance(diagnose(path), StoreDamaged)
    assert isinstance(diagnose(tmp_path / "nowhere.db"), StoreUnwritable)
    assert not (tmp_path / "nowhere.db").exists()


def test_a_newer_backup_is_not_offered(path: Path, folder: Path) -> None:
    newest = folder / "history-2099-01-01.db"
    content = bytearray(backups(folder)[0].read_bytes())
    content[60:64] = (999).to_bytes(4, "big")  # user_version (sqlite.org/fileformat2.html, 1.3)
    newest.write_bytes(content)
    assert isinstance(diagnose(newest), StoreTooNew)
    path.write_bytes(b"noise" * 1000)
    with pytest.raises(StoreDamaged) as caught:
        open_kept(path, folder)
    assert backups(folder)[1] == caught.value.backup


# --- what can be saved --------------------------------------------------------------------------


def test_all_answers_of_a_sound_history_can_be_read(path: Path) -> None:
    assert set(ANSWERS) == set(readable(path).answers)


@pytest.mark.parametrize("content", [b"", b"x", b"noise" * 5000, bytes(3 * PAGE_BYTES)])
def test_where_nothing_can_be_read_there_are_no_answers(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    assert Records() == readable(path)
    assert content == path.read_bytes()


@pytest.mark.parametrize("page", range(1, 24))
def test_what_is_read_beside_the_damage_is_never_an_answer_that_was_not_given(
    path: Path, page: int
) -> None:
    spoil(path, page)
    assert set(readable(path).answers) <= set(ANSWERS)


def test_answers_on_both_sides_of_a_damaged_page_are_read(path: Path) -> None:
    whole = path.read_bytes()
    lost = []
    for page in range(1, len(whole) // PAGE_BYTES):
        spoil(path, page)
        lost.append(len(ANSWERS) - len(readable(path).answers))
        path.write_bytes(whole)
    assert len(lost) > 20
    # one page leads to all the others; each of these holds twenty or thirty answers
    assert 1 == sum(count == len(ANSWERS) for count in lost)
    assert sorted(lost)[-2] <= 40


def test_a_restored_history_has_the_answers_since_the_backup_that_can_still_be_read(
    path: Path, folder: Path
) -> None:
    spoil(path, 5)
    found = set(readable(path).answers)
    assert set(ANSWERS[280:]) <= found
    aside = restore(backups(folder)[0], path)
    assert aside is not None
    assert set(ANSWERS[:270]) | found == set(kept(path))


def test_a_restored_history_of_which_nothing_is_left_is_the_backup(
    path: Path, folder: Path
) -> None:
    path.write_bytes(b"noise" * 1000)
    restore(backups(folder)[0], path)
    assert ANSWERS[:270] == kept(path)


@pytest.mark.parametrize("room", [0, 4096, 100_000])
def test_where_there_is_no_room_to_restore_all_is_as_it_was(
    path: Path, folder: Path, tmp_path: Path, room: int
) -> None:
    older = tmp_path / "older.db"
    with closing(open_store(older)) as store:
        store.take_in(ANSWERS[:20])
    whole, before = path.read_bytes(), sorted(tmp_path.rglob("*"))
    assert older.stat().st_size < 100_000 < len(whole)
    with no_more_bytes(room), pytest.raises(StoreUnwritable, match="free some space"):
        restore(older, path)
    assert whole == path.read_bytes()
    assert before == sorted(tmp_path.rglob("*"))
    assert restore(older, path) is not None
    assert set(ANSWERS) == set(kept(path))
    assert [] == [left.name for left in path.parent.iterdir() if "part" in left.name]


def test_a_copy_of_an_older_version_is_restored_and_leaves_nothing_beside_it(
    path: Path, tmp_path: Path
) -> None:
    older = tmp_path / "older.db"
    a_history_of_version(2, older, ANSWERS[:20])
    before = {one.name for one in path.parent.iterdir()}
    aside = restore(older, path)
    assert aside is not None
    assert set(ANSWERS) == set(kept(path))
    assert before | {aside.name} == {one.name for one in path.parent.iterdir()}


def test_setting_aside_keeps_what_sqlite_left_beside_the_file(path: Path) -> None:
    for end in ("-journal", "-wal", "-shm"):
        path.with_name(f"history.db{end}").write_text(end)
    aside = set_aside(path)
    assert ["-journal", "-shm", "-wal"] == sorted(
        other.read_text() for other in path.parent.glob("history.db.damaged-1-*")
    )
    assert "history.db.damaged-1" == aside.name
    assert [] == list(path.parent.glob("history.db-*"))
    assert not path.exists()
