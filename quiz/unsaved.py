"""Answers that could not be put into the history wait in a file of their own, a line each."""

import json
import os
from collections.abc import Sequence
from dataclasses import asdict, fields
from pathlib import Path

from quiz.answers import Answer
from quiz.errors import StoreUnwritable


def write_unsaved(answers: Sequence[Answer], path: Path) -> None:
    """Add answers to the file, on disk when this returns.

    Raises StoreUnwritable when there is no writing there either.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as file:
            for answer in answers:
                row = asdict(answer) | {"id": answer.id.hex()}
                file.write(json.dumps(row, sort_keys=True) + "\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise StoreUnwritable(
            f"{path} cannot be written either ({error.strerror}): free some space"
        ) from error


def read_unsaved(path: Path) -> tuple[Answer, ...]:
    """The answers in the file; lines that are cut short or foreign are passed over."""
    try:
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return ()
    found = [_answer(line) for line in lines]
    return tuple(answer for answer in found if answer is not None)


def _answer(line: str) -> Answer | None:
    try:
        row = json.loads(line)
        row["id"] = bytes.fromhex(row["id"])
        return Answer(**{column.name: row[column.name] for column in fields(Answer)})
    except (ValueError, KeyError, TypeError):
        return None
