"""What can still be read of a damaged history, by whichever version of the program it was written.

Nothing is written, and nothing is raised: where nothing can be read there is nothing.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

from quiz.answers import Answer
from quiz.errors import AnswerError, StoreError
from quiz.history.database import Access, Database
from quiz.history.tables import (
    SELECT_UNDOS,
    answer_of,
    select_answers_of,
    undo_of,
)
from quiz.history.undo import Records, Undo

Record = TypeVar("Record", Answer, Undo)


def readable(path: Path) -> Records:
    """The answers and undos that can still be read, from both ends of their tables towards the
    damage."""
    return Records(
        _both_ways(path, _answers, answer_of),
        _both_ways(path, lambda database: SELECT_UNDOS, undo_of),
    )


def _both_ways(
    path: Path, select: Callable[[Database], str], record_of: Callable[[tuple[Any, ...]], Record]
) -> tuple[Record, ...]:
    found: dict[bytes, Record] = {}
    for order in ("ASC", "DESC"):
        for row in _rows(path, select, order):
            with suppress(AnswerError):
                record = record_of(row)
                found.setdefault(record.id, record)
    return tuple(found.values())


def _rows(path: Path, select: Callable[[Database], str], order: str) -> Iterator[tuple[Any, ...]]:
    """The rows of a table from one end up to where the damage begins."""
    with suppress(StoreError):
        database = Database(path, Access.FROZEN)
        try:
            yield from database.stream(f"{select(database)} NOT INDEXED ORDER BY seq {order}")
        finally:
            database.close()


def _answers(database: Database) -> str:
    """Reads the answers with the columns that the file has."""
    rows = database.rows("SELECT name FROM pragma_table_info('answer')")
    return select_answers_of({row[0] for row in rows})
