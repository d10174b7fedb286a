"""The history: the one module that talks to SQLite.

The answers are the truth and are only ever added to. Item states and key tallies are a cache: they
are written with each answer, and made anew by replay when the rules change or another instance of
the program has written meanwhile. One answer is one transaction, on disk before `append` returns.
"""

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import astuple, fields
from pathlib import Path
from typing import NoReturn

from quiz.answers import Answer, new_origin
from quiz.errors import StoreDamaged, StoreError, StoreTooNew, StoreUnwritable
from quiz.memory import Item, State, rules_version
from quiz.practice import KeyTally, Practice

APPLICATION_ID = 0x4C42_4152
"""Stands in the header of the file: `LBAR`."""

BUSY_SECONDS = 10.0
"""How long a write waits for another instance."""

QUICK_CHECK_BYTES = 32 * 1024 * 1024
"""Files up to this size are checked page by page when they are opened."""

ANSWER_COLUMNS = tuple(row.name for row in fields(Answer))

MIGRATIONS: tuple[tuple[str, ...], ...] = (
    # Version 1. Each migration is one transaction that ends by setting user_version.
    (
        """CREATE TABLE answer (
            seq INTEGER PRIMARY KEY,
            id BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
            at INTEGER NOT NULL, utc_offset INTEGER NOT NULL, practice_day INTEGER NOT NULL,
            device TEXT NOT NULL, kind TEXT NOT NULL, key TEXT NOT NULL, tempo REAL NOT NULL,
            feel TEXT NOT NULL, texture TEXT NOT NULL, options INTEGER NOT NULL,
            guess_rate REAL NOT NULL CHECK (guess_rate BETWEEN 0 AND 1),
            score REAL NOT NULL CHECK (score BETWEEN 0 AND 1), verdict TEXT NOT NULL,
            seconds REAL NOT NULL CHECK (seconds >= 0), playings INTEGER NOT NULL,
            slowed INTEGER NOT NULL, interrupted INTEGER NOT NULL,
            given TEXT NOT NULL, chosen TEXT NOT NULL, question TEXT NOT NULL, why TEXT NOT NULL,
            version TEXT NOT NULL, origin TEXT NOT NULL
        ) STRICT""",
        "CREATE INDEX answer_in_order ON answer (at, id)",
        "CREATE INDEX answer_by_day ON answer (practice_day)",
        """CREATE TABLE item_state (
            device TEXT NOT NULL, kind TEXT NOT NULL, stability REAL NOT NULL,
            difficulty REAL NOT NULL, day INTEGER NOT NULL, asked INTEGER NOT NULL,
            hits INTEGER NOT NULL, first_day INTEGER NOT NULL, last_right INTEGER NOT NULL,
            PRIMARY KEY (device, kind)
        ) STRICT, WITHOUT ROWID""",
        """CREATE TABLE key_tally (
            kind TEXT NOT NULL, key TEXT NOT NULL, times INTEGER NOT NULL, surplus REAL NOT NULL,
            PRIMARY KEY (kind, key)
        ) STRICT, WITHOUT ROWID""",
        "CREATE TABLE note (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID",
    ),
)


class Store:
    """An open history. Use it from one thread."""

    def __init__(self, connection: sqlite3.Connection, path: Path | None) -> None:
        """Use `open_store` or `memory_store`."""
        self._connection = connection
        self._path = path
        self.origin = self._origin()

    def append(self, answer: Answer, practice: Practice) -> None:
        """Keep an answer; `practice` has taken it already. It is on disk when this returns.

        An answer whose id is there already is passed over. Raises StoreUnwritable when the disk
        is full or nothing may be written, StoreError when another instance holds it too long.
        """
        item = Item(answer.device, answer.kind)
        with self._atomic():
            before = self._last_seq()
            self._insert(answer)
            if self._note("cached") != f"{before}:{rules_version()}":
                return  # another instance has written: the next start replays
            self._write_state(item, practice.states[item])
            kind_key = (answer.kind, answer.key)
            self._write_tally(*kind_key, practice.keys[kind_key])
            self._set_note("cached", f"{self._last_seq()}:{rules_version()}")

    def add_all(self, answers: Iterable[Answer]) -> None:
        """Keep many answers in one transaction; the cache is made anew at the next `practice`."""
        with self._atomic():
            for answer in answers:
                self._insert(answer)

    def answers(self, since_day: int | None = None) -> Iterator[Answer]:
        """Answers in the order of (time, id), from a practice day on if given."""
        where = "" if since_day is None else "WHERE practice_day >= :day"
        with _told(self._path):
            rows = self._connection.execute(
                f"SELECT {', '.join(ANSWER_COLUMNS)} FROM answer {where} ORDER BY at, id",
                {"day": since_day} if since_day is not None else {},
            )
            for row in rows:
                yield _answer(row)

    def count(self) -> int:
        """How many answers there are."""
        with _told(self._path):
            return int(self._connection.execute("SELECT count(*) FROM answer").fetchone()[0])

    def practice(self) -> Practice:
        """States and tallies, from the cache if it holds, else by replay of all answers."""
        with _told(self._path):
            if self._note("cached") == f"{self._last_seq()}:{rules_version()}":
                return Practice(self._states(), self._tallies(), self._days())
        practice = Practice.replayed(self.answers())
        self._cache(practice)
        return practice

    def tally(self, sql: str, values: Sequence[object] = ()) -> list[tuple[object, ...]]:
        """Rows of a reading statement; how `quiz.scores` counts."""
        with _told(self._path):
            return list(self._connection.execute(sql, values))

    def copy_into(self, target: Path) -> None:
        """Write a whole, compact copy of the history to `target`, which must not exist.

        Raises StoreUnwritable when it cannot be written.
        """
        with _told(target):
            self._connection.execute("VACUUM INTO ?", (str(target),))

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    # --- inside ---------------------------------------------------------------------------------

    @contextmanager
    def _atomic(self) -> Iterator[None]:
        """One transaction that writes; all of it is kept or none."""
        with _told(self._path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def _insert(self, answer: Answer) -> None:
        places = ", ".join("?" * len(ANSWER_COLUMNS))
        self._connection.execute(
            f"INSERT INTO answer ({', '.join(ANSWER_COLUMNS)}) VALUES ({places}) "
            "ON CONFLICT (id) DO NOTHING",
            astuple(answer),
        )

    def _last_seq(self) -> int:
        return int(self._connection.execute("SELECT ifnull(max(seq), 0) FROM answer").fetchone()[0])

    def _write_state(self, item: Item, state: State) -> None:
        self._connection.execute(
            "INSERT OR REPLACE INTO item_state VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (*item, *astuple(state)),
        )

    def _write_tally(self, kind: str, key: str, tally: KeyTally) -> None:
        self._connection.execute(
            "INSERT OR REPLACE INTO key_tally VALUES (?, ?, ?, ?)", (kind, key, *astuple(tally))
        )

    def _states(self) -> dict[Item, State]:
        rows = self._connection.execute("SELECT * FROM item_state")
        return {
            Item(device, kind): State(stability, difficulty, day, asked, hits, first, bool(last))
            for device, kind, stability, difficulty, day, asked, hits, first, last in rows
        }

    def _tallies(self) -> dict[tuple[str, str], KeyTally]:
        rows = self._connection.execute("SELECT * FROM key_tally")
        return {(kind, key): KeyTally(times, surplus) for kind, key, times, surplus in rows}

    def _days(self) -> dict[int, int]:
        rows = self._connection.execute(
            "SELECT practice_day, count(*) FROM answer GROUP BY practice_day "
            "ORDER BY practice_day DESC LIMIT 60"
        )
        return dict(rows)

    def _cache(self, practice: Practice) -> None:
        """Write the cache; a history that cannot be written is simply replayed again next time."""
        try:
            with self._atomic():
                self._connection.execute("DELETE FROM item_state")
                self._connection.execute("DELETE FROM key_tally")
                for item, state in practice.states.items():
                    self._write_state(item, state)
                for (kind, key), tally in practice.keys.items():
                    self._write_tally(kind, key, tally)
                self._set_note("cached", f"{self._last_seq()}:{rules_version()}")
        except StoreUnwritable:
            return

    def _note(self, name: str) -> str:
        row = self._connection.execute("SELECT value FROM note WHERE name = ?", (name,)).fetchone()
        return str(row[0]) if row else ""

    def _set_note(self, name: str, value: str) -> None:
        self._connection.execute("INSERT OR REPLACE INTO note VALUES (?, ?)", (name, value))

    def _origin(self) -> str:
        with _told(self._path):
            known = self._note("origin")
        if known:
            return known
        origin = new_origin()
        try:
            with self._atomic():
                self._set_note("origin", origin)
        except StoreUnwritable:
            return origin  # a history that can only be read: the name lasts for this run
        return origin


def open_store(path: Path) -> Store:
    """Open the history, made new if there is none.

    Raises StoreDamaged for a file that is no sound history, StoreTooNew for one that a newer
    version wrote (before any write), StoreUnwritable when it cannot be made or opened.
    """
    if path.is_dir():
        raise StoreUnwritable(f"{path} is a folder: move it away, the history is to be a file")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreUnwritable(
            f"the folder {path.parent} cannot be made ({error.strerror}): "
            "set LASTBAR_DATA to one that can be written"
        ) from error
    with _told(path):
        connection = _connect(str(path))
        try:
            _check_sound(connection, path)
            _migrate(connection, path)
            return Store(connection, path)
        except BaseException:
            connection.close()
            raise


def memory_store() -> Store:
    """A history that is gone when the program ends; for when there is no place to keep one."""
    connection = _connect(":memory:")
    _migrate(connection, None)
    return Store(connection, None)


def _connect(target: str) -> sqlite3.Connection:
    connection = sqlite3.connect(target, timeout=BUSY_SECONDS, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = FULL")
    return connection


def _check_sound(connection: sqlite3.Connection, path: Path) -> None:
    found = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if found not in (0, APPLICATION_ID) or (found == 0 and tables):
        raise sqlite3.DatabaseError("it is another program's database")
    if version > len(MIGRATIONS):
        raise StoreTooNew(
            f"{path} was written by a newer version of lastbar (format {version}, this one knows "
            f"{len(MIGRATIONS)}): update the program"
        )
    if path.stat().st_size <= QUICK_CHECK_BYTES:
        verdict = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        if verdict != "ok":
            raise sqlite3.DatabaseError(str(verdict))


def _migrate(connection: sqlite3.Connection, path: Path | None) -> None:
    """Bring the file to the newest version, one transaction a step, a copy set aside before."""
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if 0 < version < len(MIGRATIONS) and path is not None:
        aside = path.with_name(f"{path.stem}-before-version-{version + 1}{path.suffix}")
        if not aside.exists():
            connection.execute("VACUUM INTO ?", (str(aside),))
    while version < len(MIGRATIONS):
        connection.execute("BEGIN IMMEDIATE")
        try:
            # another instance may have done it while this one waited
            version = connection.execute("PRAGMA user_version").fetchone()[0]
            if version < len(MIGRATIONS):
                for statement in MIGRATIONS[version]:
                    connection.execute(statement)
                connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                connection.execute(f"PRAGMA user_version = {version + 1}")
                version += 1
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def _answer(row: Sequence[object]) -> Answer:
    values = dict(zip(ANSWER_COLUMNS, row, strict=True))
    for flag in ("slowed", "interrupted"):
        values[flag] = bool(values[flag])
    return Answer(**values)  # type: ignore[arg-type]  # the table is STRICT, so types agree


@contextmanager
def _told(path: Path | None) -> Iterator[None]:
    """Turn what SQLite says into the errors of this program."""
    try:
        yield
    except sqlite3.Error as error:
        _raise_told(error, path)


_UNWRITABLE = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN,
               sqlite3.SQLITE_IOERR, sqlite3.SQLITE_PERM)
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def _raise_told(error: sqlite3.Error, path: Path | None) -> NoReturn:
    place = path or "the history in memory"
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if code in _UNWRITABLE:
        raise StoreUnwritable(
            f"{place} cannot be written ({error}): free some space or make it writable"
        ) from error
    if code == sqlite3.SQLITE_BUSY:
        raise StoreError(
            f"{place} is held by another instance ({error}): close that one and try again"
        ) from error
    if code in _DAMAGED or (isinstance(error, sqlite3.DatabaseError) and code == 0):
        raise StoreDamaged(f"{place} is damaged ({error})", Path(place)) from error
    raise StoreError(f"{place}: {error}") from error
