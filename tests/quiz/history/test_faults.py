"""Faults of power, disks, drives and files: for each, what the README promises.

The table "What is promised" in the README has a line for each part of this file; a clock that
stands wrong has a file of its own. `tests/quiz/history/test_store.py` tries the store alone.
"""

import errno
import json
import os
import random
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from quiz.answers import Answer
from quiz.errors import QuizError, StoreDamaged, StoreUnwritable
from quiz.history.backups import backups, daily_backup, open_kept, restore
from quiz.history.database import Database
from quiz.history.salvage import readable
from quiz.history.schema import open_database
from quiz.history.store import Store, open_store
from quiz.history.tables import INSERT_ANSWER, SCHEMA, answer_row
from quiz.history.unsaved import read_unsaved
from quiz.learning.practice import Practice
from tests.quiz.benches import opened as bench_opened
from tests.quiz.histories import FIRST_DAY
from tests.quiz.history import refused_locks
from tests.quiz.history.test_store import NOBODY, keep, some_answers, without_rights
from tests.quiz.history.test_unsaved import give_up

ROOT = Path(__file__).parents[3]
PAGE_BYTES = 4096
"""What SQLite takes unless told otherwise. (sqlite.org/pgszchng2016.html)"""


def kept(path: Path) -> list[Answer]:
    """All answers; the cache is what a replay gives."""
    with closing(open_store(path)) as store:
        assert Practice.replayed(store.answers()) == store.practice()
        return list(store.answers())


# --- power loss -----------------------------------------------------------------------------------


def half_way(path: Path, answers: list[Answer]) -> tuple[bytes, bytes]:
    """The file and its journal as they lie on the disk in the middle of a transaction.

    The transaction is a real one; a small cache makes SQLite write its pages before the end.
    """
    before = path.read_bytes()
    with closing(open_database(path, SCHEMA)) as database:
        database.rows("PRAGMA cache_size = 2")
        with database.atomic():
            for answer in answers:
                database.run(INSERT_ANSWER, answer_row(answer))
            file = path.read_bytes()
            journal = path.with_name(f"{path.name}-journal").read_bytes()
    path.write_bytes(before)
    assert file != before
    assert len(journal) > PAGE_BYTES
    return file, journal


@pytest.mark.parametrize(("confirmed", "under_way"), [(90, 40), (12, 60)])
def test_after_a_power_loss_every_confirmed_answer_is_there_or_the_damage_is_told(
    tmp_path: Path, confirmed: int, under_way: int
) -> None:
    path, folder = tmp_path / "history.db", tmp_path / "backups"
    answers = some_answers(confirmed)
    with closing(open_store(path)) as store:
        keep(store, answers)
        daily_backup(store, folder, FIRST_DAY)
    file, journal = half_way(path, some_answers(under_way, 10_000))
    torn = tmp_path / "torn" / "history.db"
    torn.parent.mkdir()
    opened = damaged = 0
    for end in range(0, len(file) + 1, PAGE_BYTES):
        for journal_end in range(0, len(journal) + PAGE_BYTES - 1, PAGE_BYTES):
            torn.write_bytes(file[:end])
            torn.with_name("history.db-journal").write_bytes(journal[:journal_end])
            try:
                assert answers == kept(torn)
                opened += 1
            except StoreDamaged:
                damaged += 1
                if damaged % 8 == 1:
                    told_again_and_saved(torn, folder, answers)
            for left in torn.parent.iterdir():
                left.unlink()
    assert opened >= 2
    assert damaged > 20


def told_again_and_saved(path: Path, folder: Path, answers: list[Answer]) -> None:
    """The damage is told at every start, not only at the first, and the backup has it all."""
    with pytest.raises(StoreDamaged) as caught:
        open_kept(path, folder)
    assert backups(folder)[0] == caught.value.backup
    restore(backups(folder)[0], path)
    assert set(answers) <= set(kept(path))


def test_a_first_start_that_was_cut_short_is_begun_again(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with closing(Database(path)) as database:
        database.rows("PRAGMA cache_size = 2")
        with database.atomic():
            for statement in SCHEMA.migrations[0]:
                database.run(statement)
            journal = path.with_name("history.db-journal").read_bytes()
    path.write_bytes(b"")
    path.with_name("history.db-journal").write_bytes(journal)
    assert [] == kept(path)
    assert [path] == list(tmp_path.iterdir())


def test_a_history_that_was_found_sound_after_a_power_loss_leaves_no_mark(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with closing(open_store(path)) as store:
        keep(store, some_answers(60))
    file, journal = half_way(path, some_answers(100, 10_000))
    path.write_bytes(file)
    path.with_name("history.db-journal").write_bytes(journal)
    assert some_answers(60) == kept(path)
    assert [path] == list(tmp_path.iterdir())


# --- a full disk ----------------------------------------------------------------------------------


@contextmanager
def small_drive(folder: Path, size: str) -> Iterator[Path]:
    """A file system of its own with little room; where none may be mounted the test is left out,
    and those with a limit on the size of files, in `test_store.py`, stand alone."""
    folder.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    try:
        mounted = not subprocess.run(command, capture_output=True, check=False).returncode
    except OSError:
        mounted = False
    if not mounted:
        pytest.skip("this user may not mount a file system")
    try:
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def test_on_a_drive_that_fills_up_no_confirmed_answer_is_lost(tmp_path: Path) -> None:
    confirmed: list[Answer] = []
    with small_drive(tmp_path / "drive", "160k") as drive:
        path = drive / "history.db"
        with closing(open_store(path)) as store:
            fill(store, confirmed)
            assert 20 < len(confirmed) < 1000
            with pytest.raises(StoreUnwritable):
                daily_backup(store, drive / "backups", FIRST_DAY)
        assert confirmed == kept(path)
        assert [] == list((drive / "backups").iterdir())


def fill(store: Store, confirmed: list[Answer]) -> None:
    """Answer until the drive is full."""
    practice = store.practice()

    def answer_all() -> None:
        nonlocal practice
        for answer in some_answers(1000):
            practice = practice.after(answer)
            store.append(answer, practice)
            confirmed.append(answer)

    with pytest.raises(StoreUnwritable, match="free some space"):
        answer_all()


# --- a folder that can only be read ---------------------------------------------------------------


def test_in_a_folder_that_can_only_be_read_answers_wait_elsewhere(tmp_path: Path) -> None:
    with bench_opened(tmp_path) as bench:
        assert "" == give_up(bench)
    data, config = tmp_path / "data", tmp_path / "config"
    for place in (*tmp_path.parents, tmp_path):
        if place.is_relative_to(Path("/tmp/pytest-of-root")):
            place.chmod(0o755)
    for place in (config, *config.iterdir()):
        os.chown(place, NOBODY if os.geteuid() == 0 else -1, -1)
    modes = {place: place.stat().st_mode for place in (data, *data.iterdir())}
    for place in modes:
        place.chmod(0o555 if place.is_dir() else 0o444)
    try:
        with without_rights(), bench_opened(tmp_path) as bench:
            assert "cannot be written" in give_up(bench)
            assert 1 == bench.store.count()
    finally:
        for place, mode in modes.items():
            place.chmod(mode)
    with bench_opened(tmp_path) as bench:
        assert [] == bench.problems
        assert 2 == bench.store.count()


# --- two instances --------------------------------------------------------------------------------


def asking(folder: Path, seed: int) -> "subprocess.Popen[str]":
    variables = {"LASTBAR_CONFIG": str(folder / "config"), "LASTBAR_DATA": str(folder / "data")}
    arguments = ["ask", "--json", "--kind", "spell", "--count", "8", "--seed", str(seed)]
    return subprocess.Popen(
        [sys.executable, "-m", "quiz.cli", *arguments],
        cwd=ROOT,
        env=os.environ | variables,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_two_programs_in_which_answers_are_given_at_once_keep_them_all(tmp_path: Path) -> None:
    with asking(tmp_path, 1) as one, asking(tmp_path, 2) as other:
        said = [program.communicate("?\n" * 8, timeout=120) for program in (one, other)]
    assert [0, 0] == [one.returncode, other.returncode], said
    lines = [json.loads(line) for text, _ in said for line in text.splitlines()]
    assert 16 == sum(line["event"] == "answer" and line["kept"] for line in lines)
    assert 16 == len(kept(tmp_path / "data" / "history.db"))


# --- a drive without locks ------------------------------------------------------------------------

LOCKLESS = """
import sys
from pathlib import Path
from tests.quiz.benches import opened
from tests.quiz.history.refused_locks import refuse_locks
from tests.quiz.history.test_unsaved import give_up
folder = Path(sys.argv[1])
with opened(folder) as bench:
    assert not give_up(bench)
    refuse_locks(int(sys.argv[2]))
    print(give_up(bench))
with opened(folder) as bench:
    print(*bench.problems)
    assert not give_up(bench)
"""


@pytest.mark.skipif(not refused_locks.possible(), reason="the kernel refuses locks on Linux alone")
def test_on_a_drive_that_refuses_locks_answers_wait_elsewhere_and_it_says_why(
    tmp_path: Path,
) -> None:
    result = subprocess.run(
        [sys.executable, "-c", LOCKLESS, str(tmp_path), str(errno.EOPNOTSUPP)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ("", 0) == (result.stderr, result.returncode)
    answering, opening = result.stdout.splitlines()
    for line in (answering, opening):
        assert "refuses to lock files" in line
        assert "set LASTBAR_DATA to a folder on a drive of this machine" in line
    waiting = tmp_path / "config" / "unsaved.jsonl"
    assert 2 == len(read_unsaved(waiting).answers)
    with bench_opened(tmp_path) as bench:  # with the history on another drive
        assert 3 == bench.store.count()


# --- text that is no longer text ------------------------------------------------------------------


def test_text_that_is_no_longer_utf_8_is_told_and_all_other_answers_are_saved(
    tmp_path: Path,
) -> None:
    path = tmp_path / "history.db"
    with closing(open_store(path)) as store:
        keep(store, some_answers(20))
        backup = daily_backup(store, tmp_path / "backups", FIRST_DAY)
    assert backup is not None
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE answer SET given = CAST(x'80ff' AS TEXT) WHERE seq = 7")
    with closing(open_store(path)) as store:
        with pytest.raises(StoreDamaged, match="no longer UTF-8") as caught:
            list(store.answers())
        assert path == caught.value.path
    damaged = some_answers(20)[6]
    assert {damaged} == set(some_answers(20)) - set(readable(path).answers)
    restore(backup, path)
    assert some_answers(20) == kept(path)


def test_noise_in_a_history_never_raises_anything_but_errors_that_are_told(tmp_path: Path) -> None:
    path, chance = tmp_path / "history.db", random.Random(8)
    with closing(open_store(path)) as store:
        keep(store, some_answers(40))
    whole = path.read_bytes()
    refused = 0
    for _ in range(60):
        noise = bytearray(whole)
        for _ in range(20):
            noise[chance.randrange(100, len(noise))] = chance.randrange(256)
        path.write_bytes(noise)
        try:
            with closing(open_store(path)) as store:
                list(store.answers())
        except QuizError:
            refused += 1
        assert len(readable(path).answers) <= 40
    assert refused > 30
