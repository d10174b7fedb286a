"""One SQLite file, and nothing about what is in it: the one module that talks to SQLite.

Every write stands inside `atomic()`, which is on disk when it ends. What SQLite says is turned into
the errors of this program: `StoreUnwritable`, `StoreDamaged` or plain `StoreError`.
"""

import os
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from enum import Enum
from pathlib import Path
from typing import Any, NoReturn

from quiz.errors import StoreDamaged, StoreError, StoreUnlockable, StoreUnwritable

BUSY_SECONDS = 10.0
"""How long a write waits for another instance."""

Values = Sequence[object]

Progress = Callable[[float], object]
"""Is told now and then, while something long is done, which share of it is done: 0 to 1."""

Waiting = Callable[[str], AbstractContextManager[Progress]]
"""Makes somebody who is told of progress, from a word for what is done."""


@contextmanager
def in_silence(what: str) -> Iterator[Progress]:
    """Nobody is told."""
    yield lambda share: None


_BEAT = 200_000
"""Steps of SQLite between two beats: some ten milliseconds."""


class Access(Enum):
    """What may happen to a file. The value is what SQLite wants to hear."""

    WRITE = "mode=rwc"
    READ = "mode=ro"
    FROZEN = "mode=ro&immutable=1"
    """Read as it stands, without its journal: how a damaged file is looked into. Text that is no
    longer UTF-8 comes as bytes, so that the rows around it can be read."""


class Database:
    """An open file, or a database in memory when `path` is None. Use it from one thread."""

    def __init__(self, path: Path | None, access: Access = Access.WRITE) -> None:
        """Opens it without a look inside; see `quiz.history.schema.open_database`."""
        self._path = path
        with self._told():
            self._connection = sqlite3.connect(
                _address(path, access), uri=True, timeout=BUSY_SECONDS, isolation_level=None
            )
            try:
                self._connection.execute("PRAGMA foreign_keys = ON")
                self._connection.execute("PRAGMA synchronous = FULL")
                if access is Access.FROZEN:
                    self._connection.text_factory = _text_or_bytes
            except BaseException:
                self._connection.close()  # nobody else will: there is no object to close
                raise

    @contextmanager
    def atomic(self) -> Iterator[None]:
        """One transaction that writes; all of it is kept or none.

        It waits for another instance at its start, never in its middle.
        """
        with self._told(), self._transaction("BEGIN IMMEDIATE"):
            yield

    @contextmanager
    def snapshot(self) -> Iterator[None]:
        """One transaction that reads; nothing changes under it."""
        with self._told(), self._transaction("BEGIN"):
            yield

    def rows(self, sql: str, values: Values = ()) -> list[tuple[Any, ...]]:
        """All rows of a reading statement."""
        with self._told():
            return self._connection.execute(sql, values).fetchall()

    def stream(self, sql: str) -> Iterator[tuple[Any, ...]]:
        """The rows of a reading statement one by one, as far as they can be read."""
        with self._told():
            yield from self._connection.execute(sql)

    def value(self, sql: str, values: Values = ()) -> Any:
        """The first value of the first row; None when there is no row."""
        with self._told():
            row = self._connection.execute(sql, values).fetchone()
        return None if row is None else row[0]

    def run(self, sql: str, values: Values = ()) -> int:
        """Carry out a writing statement inside `atomic()`; gives how many rows it changed."""
        assert self._connection.in_transaction, "writes stand inside atomic()"
        with self._told():
            return self._connection.execute(sql, values).rowcount

    @contextmanager
    def telling(self, progress: Progress | None, share: Callable[[], float]) -> Iterator[None]:
        """Say again and again how far things are while one statement takes its time."""

        def beat() -> int:
            if progress is not None:
                progress(share())
            return 0  # go on

        if progress is not None:
            self._connection.set_progress_handler(beat, _BEAT)
        try:
            yield
        finally:
            self._connection.set_progress_handler(None, 0)

    def copy_into(self, target: Path, progress: Progress | None = None) -> None:
        """Write a whole, compact copy to `target`, which must not exist; on disk at the end.

        Raises StoreUnwritable when it cannot be written.
        """
        pages = self.value("PRAGMA page_count") * self.value("PRAGMA page_size")

        def share() -> float:
            return min(1.0, target.stat().st_size / pages) if target.exists() else 0.0

        with _told(target), self.telling(progress, share):
            self._connection.execute("VACUUM INTO ?", (str(target),))
        with target.open("rb+") as file:
            os.fsync(file.fileno())

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[None]:
        self._connection.execute(begin)
        try:
            yield
            self._connection.execute("COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise

    @contextmanager
    def _told(self) -> Iterator[None]:
        with _told(self._path):
            yield


def _address(path: Path | None, access: Access) -> str:
    if path is None:
        return ":memory:"
    return f"{path.absolute().as_uri()}?{access.value}"


def _text_or_bytes(raw: bytes) -> str | bytes:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw


_LOCKS_REFUSED = (
    sqlite3.SQLITE_IOERR_LOCK,
    sqlite3.SQLITE_IOERR_UNLOCK,
    sqlite3.SQLITE_IOERR_RDLOCK,
    sqlite3.SQLITE_IOERR_CHECKRESERVEDLOCK,
    sqlite3.SQLITE_PROTOCOL,
    sqlite3.SQLITE_NOLFS,
)
_UNWRITABLE = (
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_PERM,
)
_NO_TEXT = "decode to UTF-8"
"""What the driver says, without a code, of text that is no longer UTF-8."""

_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


@contextmanager
def _told(path: Path | None) -> Iterator[None]:
    """Turn what SQLite says into the errors of this program."""
    try:
        yield
    except sqlite3.Error as error:
        _tell(error, path)
    except UnicodeDecodeError as error:  # noise in a file, quoted in what SQLite says of it
        if path is None:
            raise
        raise StoreDamaged(f"{path} is damaged: text in it is no longer UTF-8", path) from error


def _tell(error: sqlite3.Error, path: Path | None) -> NoReturn:
    code: int | None = getattr(error, "sqlite_errorcode", None)
    if code is None and _NO_TEXT in str(error) and path is not None:
        raise StoreDamaged(f"{path} is damaged: text in it is no longer UTF-8", path) from error
    if code is None:
        raise error  # not from SQLite itself: a mistake in this program
    place, primary = path or "the history in memory", code & 0xFF
    if code in _LOCKS_REFUSED:
        raise StoreUnlockable(
            f"{place} stands on a drive that refuses to lock files ({error}), as network drives "
            "may: set LASTBAR_DATA to a folder on a drive of this machine"
        ) from error
    if primary in _UNWRITABLE:
        raise StoreUnwritable(
            f"{place} cannot be written ({error}): free some space, or make the file and its "
            "folder writable"
        ) from error
    if primary == sqlite3.SQLITE_BUSY:
        raise StoreError(
            f"{place} has been held by another program for {BUSY_SECONDS:g} s: close that one and "
            "try again; if there is none, the drive refuses to lock files: set LASTBAR_DATA to a "
            "folder on a drive of this machine"
        ) from error
    if primary in _DAMAGED and path is not None:
        raise StoreDamaged(f"{path} is damaged ({error})", path) from error
    raise StoreError(f"{place}: {error}") from error
