"""What the commands print with: the one place where lines leave the program."""

import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from engine.errors import MusicInputError

if TYPE_CHECKING:
    from quiz.history.database import Progress
    from quiz.history.store import Store

T = TypeVar("T")

OK, BAD, NOT_FOUND = 0, 1, 2
"""Exit codes."""


PATIENCE = 1.0
"""Seconds that something may take before it is said how far it is."""


class NotFound(Exception):
    """What was asked for does not exist."""


def fail(message: str, code: int) -> int:
    """Say in one line on stderr what is wrong; gives the exit code back."""
    warn([message])
    return code


def warn(problems: Iterable[str]) -> None:
    """Say on stderr what went wrong, a line each."""
    for problem in problems:
        sys.stderr.write(f"lastbar: {' '.join(problem.split())}\n")


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def say_data(data: object) -> None:
    say(json.dumps(data, ensure_ascii=False))


def found(find: Callable[[str], T], name: str) -> T:
    try:
        return find(name)
    except MusicInputError as error:
        raise NotFound(str(error)) from error


@contextmanager
def waiting(what: str) -> Iterator["Progress"]:
    """Say on stderr how far something is that takes longer than PATIENCE.

    On a terminal in one line that is wiped at the end, elsewhere in a line every tenth.
    """
    start, shown = time.monotonic(), -1
    terminal = sys.stderr.isatty()

    def progress(share: float) -> None:
        nonlocal shown
        percent = int(100 * share) if terminal else int(10 * share) * 10
        if percent != shown and time.monotonic() - start > PATIENCE:
            shown = percent
            line = f"lastbar: {what}: {percent} %"
            sys.stderr.write(f"\r{line}" if terminal else f"{line}\n")
            sys.stderr.flush()

    try:
        yield progress
    finally:
        if terminal and shown >= 0:
            sys.stderr.write(f"\r{' ' * (len(what) + 20)}\r")
            sys.stderr.flush()


def history_at(path: Path) -> "Store":
    """The history, opened with what it takes told where it takes long."""
    from quiz.history.store import open_store

    with waiting("Opening the history") as progress:
        return open_store(path, progress)
