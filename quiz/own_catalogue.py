"""The catalogue as this player has it: the built-in rows, the own file, files that a teacher gave.

The own file stands beside the settings and is written as the built-in ones are. What is wrong in a
file costs what is wrong, and a line that says so; the rest is taken in.
"""

import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from engine.additions import LARGEST, Added, add
from engine.catalogue import Family, builtin_catalogue
from engine.errors import amount, printable
from quiz.errors import QuizError
from quiz.files import read_text


@dataclass(frozen=True, slots=True)
class Counts:
    """How many rows were added."""

    devices: int
    """Heads, tails, pickups and endings."""

    base_patterns: int
    forms: int

    def __str__(self) -> str:
        words = [
            amount(self.devices, "device"),
            amount(self.base_patterns, "base pattern"),
            amount(self.forms, "form"),
        ]
        return f"{words[0]}, {words[1]} and {words[2]}"


def load_catalogue(files: Sequence[Path]) -> Added:
    """The built-in catalogue with the good entries of the files behind it, in their order.

    A file that is not there adds nothing, and one that is given twice is read once. Never raises:
    what cannot be read is a line in `problems`.
    """
    loaded = Added(builtin_catalogue())
    for file in _each_once(files):
        loaded = with_file(loaded, file)
    return loaded


def with_file(loaded: Added, file: Path) -> Added:
    """What is loaded already, with the good entries of a file and its problems behind it."""
    try:
        text = read_text(file, LARGEST, QuizError)
    except QuizError as error:
        return replace(loaded, problems=(*loaded.problems, str(error)))
    more = add(loaded.catalogue, text, str(file), loaded.origins)
    return replace(more, problems=(*loaded.problems, *more.problems))


def is_there(file: Path) -> bool:
    """Whether something has that name, readable or not."""
    try:
        file.stat()
    except (FileNotFoundError, NotADirectoryError):
        return False
    except OSError:  # it, or the way to it, is closed to us: reading it will say so
        return True
    return True


def counts(loaded: Added, file: Path) -> Counts:
    """How many rows a file added."""
    added = {name for name, origin in loaded.origins.items() if origin == printable(str(file))}
    devices = [device for device in loaded.catalogue.devices if device.id in added]
    patterns = sum(device.family is Family.BASE for device in devices)
    return Counts(len(devices) - patterns, patterns, len(added) - len(devices))


def _each_once(files: Iterable[Path]) -> Iterable[Path]:
    """The files that are there, each by the first name that it was given."""
    found: dict[str, Path] = {}
    for file in filter(is_there, files):
        found.setdefault(os.path.realpath(file), file)
    return found.values()
