"""The tables of the history, and how their rows are read and written."""

from collections.abc import Collection
from dataclasses import fields
from operator import attrgetter
from typing import Any

from quiz.answers import Answer, Past
from quiz.errors import AnswerError
from quiz.history.counts import COUNTED_TABLES
from quiz.history.database import Database
from quiz.history.schema import Schema
from quiz.history.undo import Undo

_VERSION_1 = (
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
    "CREATE INDEX answer_by_day ON answer (practice_day, why)",
    """CREATE TABLE item_state (
        device TEXT NOT NULL, kind TEXT NOT NULL, stability REAL NOT NULL,
        difficulty REAL NOT NULL, day INTEGER NOT NULL, asked INTEGER NOT NULL,
        right INTEGER NOT NULL, first_day INTEGER NOT NULL, last_right INTEGER NOT NULL,
        PRIMARY KEY (device, kind)
    ) STRICT, WITHOUT ROWID""",
    """CREATE TABLE key_tally (
        kind TEXT NOT NULL, key TEXT NOT NULL, times INTEGER NOT NULL, foreseen INTEGER NOT NULL,
        right INTEGER NOT NULL, expected REAL NOT NULL, faded REAL NOT NULL, upto INTEGER NOT NULL,
        PRIMARY KEY (kind, key)
    ) STRICT, WITHOUT ROWID""",
    "CREATE TABLE note (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID",
)

_VERSION_2 = (
    "ALTER TABLE answer ADD COLUMN rung INTEGER NOT NULL DEFAULT -1",
    "ALTER TABLE answer ADD COLUMN assignment TEXT NOT NULL DEFAULT ''",
    "CREATE INDEX answer_of_assignment ON answer (assignment, at, id) WHERE assignment <> ''",
    """CREATE TABLE reach (
        device TEXT NOT NULL, kind TEXT NOT NULL, rung INTEGER NOT NULL, run INTEGER NOT NULL,
        octaves REAL NOT NULL,
        PRIMARY KEY (device, kind)
    ) STRICT, WITHOUT ROWID""",
)

_VERSION_3 = (
    "CREATE TABLE undone (seq INTEGER PRIMARY KEY, "
    "id BLOB NOT NULL UNIQUE CHECK (length(id) = 16), "
    "answer BLOB NOT NULL CHECK (length(answer) = 16), "
    "at INTEGER NOT NULL, utc_offset INTEGER NOT NULL, origin TEXT NOT NULL) STRICT",
    "CREATE INDEX undone_answer ON undone (answer)",
    "CREATE INDEX answer_of_device ON answer (device, at, id)",
    *COUNTED_TABLES,
)

SCHEMA = Schema(
    application_id=0x4C42_4152,  # LBAR
    migrations=(_VERSION_1, _VERSION_2, _VERSION_3),
    probe="SELECT 1 FROM answer, undone, item_state, key_tally, reach, note, counted, mistaken, "
    "day_tally LIMIT 0",
)

ANSWER_COLUMNS = tuple(row.name for row in fields(Answer))
_ANSWER_TYPES = tuple(int if row.type is bool else row.type for row in fields(Answer))
_ANSWER_VALUES = attrgetter(*ANSWER_COLUMNS)

SELECT_ANSWERS = f"SELECT {', '.join(ANSWER_COLUMNS)} FROM answer"
"""Reads rows for `answer_of`."""

_PAST_TYPES = (bytes, int, str, str, str, int, float, float, float, int, int, str, int)

SELECT_PAST = f"SELECT {', '.join(Past._fields)} FROM answer"
"""Reads rows for `past_of`."""

STANDS = "NOT EXISTS (SELECT 1 FROM undone WHERE undone.answer = answer.id)"
"""A test of a row of `answer`: it has not been taken back."""

UNDO_COLUMNS = tuple(row.name for row in fields(Undo))
_UNDO_TYPES = tuple(row.type for row in fields(Undo))
_UNDO_VALUES = attrgetter(*UNDO_COLUMNS)

SELECT_UNDOS = f"SELECT {', '.join(UNDO_COLUMNS)} FROM undone"
"""Reads rows for `undo_of`."""

ADDED_LATER: dict[str, int | str] = {"rung": -1, "assignment": ""}
"""Columns that the first version did not have, and what its answers have in them."""


def select_answers_of(columns: Collection[str]) -> str:
    """Reads rows for `answer_of` from a table that has only these columns, as an earlier version
    made it."""
    wanted = (
        column if column in columns else f"{ADDED_LATER[column]!r} AS {column}"
        for column in ANSWER_COLUMNS
        if column in columns or column in ADDED_LATER
    )
    return f"SELECT {', '.join(wanted)} FROM answer"


INSERT_ANSWER = (
    f"INSERT INTO answer ({', '.join(ANSWER_COLUMNS)}) "
    f"VALUES ({', '.join('?' * len(ANSWER_COLUMNS))}) ON CONFLICT (id) DO NOTHING"
)
"""Adds an answer; one whose id is there already is passed over, any other fault is an error."""

INSERT_UNDO = (
    f"INSERT INTO undone ({', '.join(UNDO_COLUMNS)}) "
    f"VALUES ({', '.join('?' * len(UNDO_COLUMNS))}) ON CONFLICT (id) DO NOTHING"
)
"""Adds an undo; one whose id is there already is passed over, any other fault is an error."""


def answer_row(answer: Answer) -> tuple[Any, ...]:
    """The values of ANSWER_COLUMNS."""
    row: tuple[Any, ...] = _ANSWER_VALUES(answer)
    return row


def answer_of(row: tuple[Any, ...]) -> Answer:
    """The answer that `answer_row` gave.

    Raises AnswerError for a row that no answer was; a damaged file can hold some.
    """
    for name, value, kind in zip(ANSWER_COLUMNS, row, _ANSWER_TYPES, strict=True):
        if not isinstance(value, kind):  # type: ignore[arg-type]  # no text: types are not put off
            raise AnswerError(f"a kept answer has {value!r} for '{name}'")
    values = dict(zip(ANSWER_COLUMNS, row, strict=True))
    values["slowed"], values["interrupted"] = bool(values["slowed"]), bool(values["interrupted"])
    return Answer(**values)


def past_of(row: tuple[Any, ...]) -> Past:
    """The part of an answer that folds look at, without a look at every range.

    Raises AnswerError for a row that no answer was.
    """
    if tuple(map(type, row)) != _PAST_TYPES:
        raise AnswerError(f"a kept answer has a value of another type among {row!r}")
    return Past._make(row)


def undo_row(undo: Undo) -> tuple[Any, ...]:
    """The values of UNDO_COLUMNS."""
    row: tuple[Any, ...] = _UNDO_VALUES(undo)
    return row


def undo_of(row: tuple[Any, ...]) -> Undo:
    """The undo that `undo_row` gave. Raises AnswerError for a row that no undo was."""
    for name, value, kind in zip(UNDO_COLUMNS, row, _UNDO_TYPES, strict=True):
        if not isinstance(value, kind):  # type: ignore[arg-type]  # no text: types are not put off
            raise AnswerError(f"a kept undo has {value!r} for '{name}'")
    return Undo(*row)


def note(database: Database, name: str) -> str:
    """A remembered word; empty when there is none."""
    return str(database.value("SELECT value FROM note WHERE name = ?", (name,)) or "")


def set_note(database: Database, name: str, value: str) -> None:
    """Remember a word, inside `atomic()`."""
    database.run(
        "INSERT INTO note VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        (name, value),
    )
