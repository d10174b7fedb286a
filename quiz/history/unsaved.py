"""Answers and undos that could not be put into the history wait in a file, a line each.

    unsaved.jsonl           waits; every instance of the program may add to it
    unsaved.jsonl.taking    is being put into the history; left behind if the program dies there
    unsaved.jsonl.taken-N   is in the history; kept are the newest, and each that has a line that
                            nobody could read

Each carries its id, so putting a file into the history twice changes nothing. The line of an undo
is told by the id of the `answer` that it takes back.
"""

import glob
import json
import os
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path

from quiz.answers import Answer, storable
from quiz.errors import AnswerError, StoreUnwritable
from quiz.history.tables import ADDED_LATER, ANSWER_COLUMNS, UNDO_COLUMNS, answer_of, undo_of
from quiz.history.undo import Records, Undo

TAKEN_KEPT = 3
"""How many files that were taken in stay; older ones go when the history has all that they hold."""


def write_unsaved(answers: Sequence[Answer], path: Path, undos: Sequence[Undo] = ()) -> None:
    """Add answers and undos to the file, on disk when this returns.

    Raises StoreUnwritable when there is no writing there either.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as file:
            for row in (*map(asdict, answers), *map(asdict, undos)):
                plain = {name: _plain(value) for name, value in row.items()}
                # a line break before it too: an earlier line may have been cut short
                file.write(f"\n{json.dumps(plain, sort_keys=True)}\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise StoreUnwritable(
            f"{path} cannot be written either ({error.strerror}): free some space"
        ) from error


def read_unsaved(path: Path) -> Records:
    """What is in the file; lines that are cut short or foreign are passed over."""
    try:
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return Records()
    found = [_record(line) for line in lines]
    return Records(
        tuple(record for record in found if isinstance(record, Answer)),
        tuple(record for record in found if isinstance(record, Undo)),
    )


def take_in(path: Path, keep: Callable[[Sequence[Answer], Sequence[Undo]], object]) -> None:
    """Hand what waits to `keep`, and put their file away once it has kept them.

    Whatever `keep` raises goes on, and all still waits. Raises StoreUnwritable when the file
    cannot be renamed.
    """
    taking = path.with_name(f"{path.name}.taking")
    try:
        for _ in range(2):  # what a program that died has left, then what waits now
            if not taking.exists() and path.exists():
                path.rename(taking)
            if taking.exists():
                keep(*read_unsaved(taking))
                _put_away(taking, path)
    except OSError as error:
        raise StoreUnwritable(
            f"{path} cannot be renamed ({error.strerror}): make its folder writable"
        ) from error


def _put_away(taking: Path, path: Path) -> None:
    """Keep what was taken in under a name of its own; of those, the oldest go."""
    before = _taken(path)
    number = _number(before[-1]) + 1 if before else 1
    with suppress(FileNotFoundError):  # another instance has done it
        taking.rename(path.with_name(f"{path.name}.taken-{number}"))
    for old in _taken(path)[:-TAKEN_KEPT]:
        if _holds_records_only(old):
            old.unlink(missing_ok=True)


def _taken(path: Path) -> list[Path]:
    """What has been taken in and put away, the oldest first."""
    found = path.parent.glob(f"{glob.escape(path.name)}.taken-*")
    return sorted((file for file in found if _number(file)), key=_number)


def _number(taken: Path) -> int:
    digits = taken.name.rpartition("-")[2]
    return int(digits) if digits.isdecimal() else 0


def _holds_records_only(path: Path) -> bool:
    """Whether every line could be read, and so is in the history: nothing goes with the file."""
    lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    return all(_record(line) is not None for line in lines if line.strip())


def _plain(value: object) -> object:
    """A value as JSON can hold it."""
    return value.hex() if isinstance(value, bytes) else value


def _record(line: str) -> Answer | Undo | None:
    try:
        row = json.loads(line)
        row["id"] = bytes.fromhex(row["id"])
        row |= {name: storable(text) for name, text in row.items() if isinstance(text, str)}
        if "answer" in row:
            row["answer"] = bytes.fromhex(row["answer"])
            return undo_of(tuple(row[column] for column in UNDO_COLUMNS))
        row = ADDED_LATER | row
        return answer_of(tuple(row[column] for column in ANSWER_COLUMNS))
    except (ValueError, KeyError, TypeError, RecursionError, AnswerError):
        return None
