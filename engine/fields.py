"""One entry of a data file, read field by field, with errors that name file, entry and field."""

import re
import reprlib
import unicodedata
from collections.abc import Callable, Iterable
from typing import TypeGuard, TypeVar

from engine.errors import CatalogueError, EngineError, printable, shown

T = TypeVar("T")

LONGEST_ID, LONGEST_NAME, LONGEST_SENTENCE = 40, 60, 300
"""Characters of an id, of a name, and of a sentence or a source."""

UNSEEN = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""Unicode categories of what a line on the screen cannot show: control and format characters,
halves of surrogate pairs, line and paragraph separators."""

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def is_identity(name: object) -> TypeGuard[str]:
    """Whether something may be an id: small letters, digits and hyphens, not too long."""
    return isinstance(name, str) and bool(_ID.fullmatch(name)) and len(name) <= LONGEST_ID


class Row:
    """One entry of a data file, read field by field; `finish` refuses what was never read."""

    def __init__(self, file: str, label: str, fields: dict[str, object]) -> None:
        self._file = file
        self._label = label
        self._fields = fields
        self._read: set[str] = set()

    def error(self, field: str, problem: str) -> CatalogueError:
        """An error that says where the problem is."""
        return CatalogueError(
            printable(f"{self._file}: entry {self._label}, field {shown(field)}: {problem}")
        )

    def text(self, field: str, default: str | None = None) -> str:
        """A text that is not empty."""
        return self._typed(field, str, default, "a text in quotes")

    def line(self, field: str, most: int) -> str:
        """A text for one line of the screen: at most `most` characters, each of them seen."""
        text = self.text(field).strip()
        unseen = [char for char in text if unicodedata.category(char) in UNSEEN]
        if unseen:
            raise self.error(
                field, f"it holds the control character U+{ord(unseen[0]):04X}: leave it out"
            )
        if not 1 <= len(text) <= most:
            raise self.error(field, f"{len(text)} characters were given: give 1 to {most}")
        return text

    def whole(
        self, field: str, default: int | None = None, least: int = 0, most: int | None = None
    ) -> int:
        """A whole number from `least` up to `most`, or without end."""
        value = self._typed(field, int, default, "a whole number")
        if isinstance(value, bool) or value < least or (most is not None and value > most):
            raise self.error(
                field,
                f"{reprlib.repr(value)} was given: give a whole number from {_span(least, most)}",
            )
        return value

    def flag(self, field: str) -> bool:
        """true or false; false where it is not there."""
        return self._typed(field, bool, False, "true or false")

    def identity(self) -> str:
        """The `id` of the row."""
        name = self.text("id")
        if not _ID.fullmatch(name):
            raise self.error(
                "id", f"{shown(name)} was given: use small letters, digits and hyphens"
            )
        if len(name) > LONGEST_ID:
            raise self.error("id", f"{len(name)} characters were given: give 1 to {LONGEST_ID}")
        return name

    def choice(self, field: str, allowed: Iterable[str], default: str | None = None) -> str:
        """One of the allowed words."""
        value = self.text(field, default)
        if value not in (words := list(allowed)):
            raise self.error(field, f"{shown(value)} was given: give one of {', '.join(words)}")
        return value

    def texts(self, field: str) -> tuple[str, ...]:
        """A list of texts, at least one; a single text is a list of one."""
        return self._list(field, str, "a text or a list of texts")

    def numbers(self, field: str, most: int) -> tuple[int, ...]:
        """A list of whole numbers from 1 to `most`, at least one."""
        numbers = self._list(field, int, "a list of whole numbers")
        if any(isinstance(number, bool) or not 1 <= number <= most for number in numbers):
            raise self.error(
                field,
                f"{reprlib.repr(list(numbers))} was given: give whole numbers "
                f"from {_span(1, most)}",
            )
        return numbers

    def parsed(self, field: str, parse: Callable[[str], T], default: str | None = None) -> T:
        """A text, run through `parse`; what `parse` refuses is reported for this field."""
        text = self.text(field, default)
        try:
            return parse(text)
        except EngineError as error:
            raise self.error(field, str(error)) from error

    def has(self, field: str) -> bool:
        """Whether the entry sets `field`."""
        return field in self._fields

    def finish(self) -> None:
        """Refuse the fields that nothing has read: they are misspelt or misplaced."""
        for field in self._fields:
            if field not in self._read:
                known = ", ".join(sorted(self._read))
                raise self.error(field, f"there is no such field: the fields here are {known}")

    def _typed(self, field: str, kind: type[T], default: T | None, what: str) -> T:
        self._read.add(field)
        if field not in self._fields:
            if default is None:
                raise self.error(field, f"it is missing: give {what}")
            return default
        value = self._fields[field]
        if not isinstance(value, kind) or value == "":
            raise self.error(field, f"{reprlib.repr(value)} was given: give {what}")
        return value

    def _list(self, field: str, kind: type[T], what: str) -> tuple[T, ...]:
        self._read.add(field)
        if field not in self._fields:
            raise self.error(field, f"it is missing: give {what}")
        value = self._fields[field]
        items = value if isinstance(value, list) else [value]
        if not items or not all(isinstance(item, kind) and item != "" for item in items):
            raise self.error(field, f"{reprlib.repr(value)} was given: give {what}")
        return tuple(items)


def _span(least: int, most: int | None) -> str:
    return f"{least} up" if most is None else f"{least} to {most}"
