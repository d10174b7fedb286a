"""Migrations: whole or not at all, with a copy of the file as it was."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from quiz.errors import StoreError, StoreTooNew
from quiz.history.database import Database
from quiz.history.schema import Schema, open_database, open_to_read
from quiz.history.tables import SCHEMA

FIRST = ("CREATE TABLE tune (name TEXT NOT NULL) STRICT",)
SECOND = (
    "ALTER TABLE tune ADD COLUMN key TEXT NOT NULL DEFAULT 'F'",
    "CREATE TABLE player (name TEXT NOT NULL) STRICT",
)
BROKEN = (
    "ALTER TABLE tune ADD COLUMN key TEXT NOT NULL DEFAULT 'F'",
    "INSERT INTO nowhere VALUES (1)",
)


def schema(*migrations: tuple[str, ...]) -> Schema:
    return Schema(application_id=7, migrations=migrations, probe="SELECT 1 FROM tune LIMIT 0")


@contextmanager
def opened(path: Path, wanted: Schema) -> Iterator[Database]:
    with closing(open_database(path, wanted)) as database:
        yield database


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A file of version 1 with a tune in it."""
    path = tmp_path / "tunes.db"
    with opened(path, schema(FIRST)) as database, database.atomic():
        database.run("INSERT INTO tune VALUES ('Late Tram Blues')")
    return path


def dump(path: Path) -> list[str]:
    """Everything in the file as SQL, and its version."""
    with closing(sqlite3.connect(path)) as connection:
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        return [*connection.iterdump(), f"version {version}"]


def test_a_new_file_goes_through_all_migrations(tmp_path: Path) -> None:
    with opened(tmp_path / "new.db", schema(FIRST, SECOND)) as database:
        assert 2 == database.value("PRAGMA user_version")
        assert 7 == database.value("PRAGMA application_id")
        assert [] == database.rows("SELECT name, key FROM tune")
    assert [tmp_path / "new.db"] == list(tmp_path.iterdir())  # nothing to set aside


def test_an_older_file_is_migrated_with_all_its_rows(old: Path) -> None:
    with opened(old, schema(FIRST, SECOND)) as database:
        assert 2 == database.value("PRAGMA user_version")
        assert [("Late Tram Blues", "F")] == database.rows("SELECT name, key FROM tune")


def test_the_file_as_it_was_is_kept_beside_it(old: Path) -> None:
    before = dump(old)
    with opened(old, schema(FIRST, SECOND)):
        pass
    aside = [path for path in old.parent.iterdir() if path != old]
    assert [before] == [dump(path) for path in aside]


def test_a_migration_that_fails_changes_nothing(old: Path) -> None:
    before = dump(old)
    with pytest.raises(StoreError, match="nowhere"):
        open_database(old, schema(FIRST, BROKEN))
    assert before == dump(old)
    with opened(old, schema(FIRST, SECOND)) as database:  # a repaired program goes on from there
        assert [("Late Tram Blues", "F")] == database.rows("SELECT name, key FROM tune")


def test_of_two_migrations_the_one_that_worked_stays(old: Path) -> None:
    with pytest.raises(StoreError, match="nowhere"):
        open_database(old, schema(FIRST, ("CREATE TABLE player (name TEXT) STRICT",), BROKEN))
    assert "version 2" == dump(old)[-1]


def test_a_migrated_file_is_too_new_for_the_program_before(old: Path) -> None:
    with opened(old, schema(FIRST, SECOND)):
        pass
    before = old.read_bytes()
    with pytest.raises(StoreTooNew, match="format 2, this one knows 1"):
        open_database(old, schema(FIRST))
    assert before == old.read_bytes()


def test_a_file_opened_to_read_is_neither_migrated_nor_written(old: Path) -> None:
    before = old.read_bytes()
    with closing(open_to_read(old, schema(FIRST, SECOND))) as database:
        assert [("Late Tram Blues",)] == database.rows("SELECT name FROM tune")
        with pytest.raises(StoreError), database.atomic():
            database.run("DELETE FROM tune")
    assert before == old.read_bytes()


def test_the_tables_of_the_history_are_strict_and_its_version_is_recorded(tmp_path: Path) -> None:
    with opened(tmp_path / "history.db", SCHEMA) as database:
        tables = dict(
            database.rows(
                "SELECT name, strict FROM pragma_table_list "
                "WHERE schema = 'main' AND name NOT LIKE 'sqlite%'"
            )
        )
        assert {"answer", "item_state", "key_tally", "reach", "note"} <= set(tables)
        assert {1} == set(tables.values())
        assert SCHEMA.version == database.value("PRAGMA user_version")
        assert 2 == database.value("PRAGMA synchronous")  # FULL, sqlite.org/pragma.html
        assert "delete" == database.value("PRAGMA journal_mode")
