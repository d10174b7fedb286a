"""What the commands print with: the one place where lines leave the program."""

import json
import sys
from collections.abc import Callable, Iterable
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


def found(find: Callable[[str], T], name: str) -> T:
    try:
        return find(name)
    except MusicInputError as error:
        raise NotFound(str(error)) from error
