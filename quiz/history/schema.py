"""Opening a database file: whether it is one of ours, sound and not too new, and migrations.

A migration and the record that it ran share one transaction, so a file is never half way.
"""

import os
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from operator import truediv
from pathlib import Path

from quiz.errors import StoreDamaged, StoreError, StoreTooNew, StoreUnwritable
from quiz.history.database import Access, Database, Progress

CHECKED_BYTES = 16 * 1024 * 1024
"""Files up to this size are checked whole whenever they are opened (about 45 ms); larger ones when
a transaction in them was cut short (about 3 s a gigabyte)."""

_JOURNAL, _UNSURE = "-journal", "-unsure"
"""Ends of the names of files beside a database: what SQLite keeps while a transaction is under way,
and our mark that a file with one has not been found sound since."""

_SIZE_BEFORE, _SECTOR, _HEAD = slice(16, 20), slice(20, 24), 28
"""In a journal: where it says how many pages the database had and how long a sector is, which is
never 0, and the bytes of its head. The first twelve are 0 until it has been synced.
[sqlite.org/fileformat2.html, 3]"""

_PAUSES = (0.02, 0.1)
"""Seconds that another instance is given to write the head of the journal it has just made."""


@dataclass(frozen=True, slots=True)
class Schema:
    """What a file must be to be opened, and how it comes to be that."""

    application_id: int
    """Stands in the header of the file."""

    migrations: tuple[tuple[str, ...], ...]
    """Statement by statement what makes version 1, then version 2 of it, and so on."""

    probe: str
    """A reading statement that only works when all tables are there."""

    @property
    def version(self) -> int:
        """The newest version."""
        return len(self.migrations)


def open_database(path: Path | None, schema: Schema, progress: Progress | None = None) -> Database:
    """Open a file, made new if there is none, and bring it to the newest version.

    `progress` is told how far that is, when there is anything to be brought.
    Raises StoreDamaged, StoreTooNew (both before any write) or StoreUnwritable.
    """
    if path is not None:
        _make_room(path)
        cut_short = _cut_short(path)
    database = Database(path)
    try:
        if path is not None:
            check(database, schema, path, whole=cut_short)
            with suppress(OSError):
                _beside(path, _UNSURE).unlink(missing_ok=True)
        _migrate(database, schema, path, progress)
    except BaseException:
        database.close()
        raise
    return database


def _cut_short(path: Path) -> bool:
    """Whether a transaction was under way when the file was last written; it is marked until the
    file has been checked, since the first look lets SQLite clear its traces away.

    Raises StoreDamaged for an empty file that was not empty when that transaction began.
    """
    journal, mark = _beside(path, _JOURNAL), _beside(path, _UNSURE)
    if not journal.exists():
        return mark.exists()
    # looked at last: another instance may have written since its journal was begun
    if not _began_empty(journal) and not (path.exists() and path.stat().st_size):
        raise StoreDamaged(f"{path} is empty, and it was not when it was last written", path)
    with suppress(OSError):  # where nothing can be written nothing is cleared away either
        mark.touch()
    return True


def _began_empty(journal: Path) -> bool:
    """Whether a journal is of the very first transaction: then there was nothing to lose."""
    for pause in (*_PAUSES, 0.0):
        try:
            with journal.open("rb") as file:
                head = file.read(_HEAD)
        except FileNotFoundError:
            return True  # another instance has just brought it to its end
        if len(head) == _HEAD:
            return head[_SIZE_BEFORE] == bytes(4) != head[_SECTOR]
        time.sleep(pause)
    return False


def _beside(path: Path, end: str) -> Path:
    return path.with_name(path.name + end)


def open_to_read(path: Path, schema: Schema) -> Database:
    """Open a file that is there without ever writing to it. Raises as `open_database` does, and
    StoreDamaged for an empty file."""
    database = Database(path, Access.READ)
    try:
        check(database, schema, path)
        if not database.value("PRAGMA user_version"):
            raise StoreDamaged(f"{path} is empty", path)
    except BaseException:
        database.close()
        raise
    return database


def check(database: Database, schema: Schema, path: Path, whole: bool = False) -> None:
    """Raises StoreDamaged or StoreTooNew for a file that is not to be used.

    A file over CHECKED_BYTES is looked through only if `whole` says so.
    """
    with database.snapshot():  # another instance may be making it this very moment
        found = database.value("PRAGMA application_id")
        version = database.value("PRAGMA user_version")
        empty = not database.value("SELECT count(*) FROM sqlite_master")
    if found != schema.application_id and not (found == version == 0 and empty):
        raise StoreDamaged(f"{path} is the database of another program", path)
    if version > schema.version:
        raise StoreTooNew(
            f"{path} was written by a newer version of lastbar (format {version}, this one knows "
            f"{schema.version}): update the program"
        )
    _check_pages(database, path, whole)
    if version == schema.version:
        _probe(database, schema, path)


def _check_pages(database: Database, path: Path, whole: bool) -> None:
    size = path.stat().st_size
    verdict = "it ends within a page" if size % database.value("PRAGMA page_size") else "ok"
    if verdict == "ok" and (whole or size <= CHECKED_BYTES):
        verdict = database.value("PRAGMA integrity_check(1)")
    if verdict != "ok":
        raise StoreDamaged(f"{path} is damaged ({verdict})", path)


def _probe(database: Database, schema: Schema, path: Path) -> None:
    try:
        database.rows(schema.probe)
    except StoreError as error:
        if "no such" not in str(error):  # how SQLite calls a missing table
            raise
        raise StoreDamaged(f"{path} is damaged: parts are missing ({error})", path) from error


def _make_room(path: Path) -> None:
    try:
        if path.is_dir():
            raise StoreUnwritable(
                f"{path} is a folder where the history is to be a file: move it away, or set "
                "LASTBAR_DATA to another folder"
            )
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreUnwritable(
            f"{path} cannot be made ({error.strerror}): set LASTBAR_DATA to a folder that can be "
            "written"
        ) from error


def _migrate(
    database: Database, schema: Schema, path: Path | None, progress: Progress | None
) -> None:
    """Bring the file to the newest version, one transaction a step, a copy set aside before."""
    version = database.value("PRAGMA user_version")
    if 0 < version < schema.version and path is not None:
        _copy_aside(database, path, version, progress)
    while version < schema.version:
        with database.atomic():
            # another instance may have done it while this one waited
            version = database.value("PRAGMA user_version")
            if version < schema.version:
                _run_all(database, schema.migrations[version], progress)
                database.run(f"PRAGMA application_id = {schema.application_id}")
                database.run(f"PRAGMA user_version = {version + 1}")
                version += 1


def _run_all(database: Database, statements: Sequence[str], progress: Progress | None) -> None:
    for number, statement in enumerate(statements):
        with database.telling(progress, partial(truediv, number, len(statements))):
            database.run(statement)


def _copy_aside(database: Database, path: Path, version: int, progress: Progress | None) -> None:
    """Keep the file as it was; a copy that is there already holds the same version."""
    aside = path.with_name(f"{path.stem}-version-{version}{path.suffix}")
    part = aside.with_name(f".{aside.name}.{os.getpid()}.part")
    try:
        if not aside.exists():
            part.unlink(missing_ok=True)
            database.copy_into(part, progress)
            os.replace(part, aside)
    except OSError as error:
        raise StoreUnwritable(f"{aside} cannot be written ({error.strerror})") from error
    finally:
        part.unlink(missing_ok=True)
