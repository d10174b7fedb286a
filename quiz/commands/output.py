"""What the commands print with: the one place where lines leave the program."""

import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import TypeVar

from engine.errors import MusicInputError

T = TypeVar("T")

OK, BAD, NOT_FOUND = 0, 1, 2
"""Exit codes."""


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


@contextmanager
def telling(what: str) -> Iterator[Callable[[float], object] | None]:
    """Something that is told how far a long thing is, 0 to 1, and says so on stderr where somebody
    looks at it; None where nobody does."""
    if not sys.stderr.isatty():
        yield None
        return
    shown = -1

    def tell(share: float) -> None:
        nonlocal shown
        if (percent := int(share * 100)) != shown:
            shown = percent
            sys.stderr.write(f"\r{what}: {percent} %")
            sys.stderr.flush()

    try:
        yield tell
    finally:
        if shown >= 0:
            sys.stderr.write("\r" + " " * (len(what) + 7) + "\r")
            sys.stderr.flush()


def found(find: Callable[[str], T], name: str) -> T:
    try:
        return find(name)
    except MusicInputError as error:
        raise NotFound(str(error)) from error
