"""The fields of an assignment file: what each may be. Every mistake is noted, not only the first.

A check gives the value to keep, or raises AssignmentError saying what was given and what is
allowed. TOML and Python call different things a number and a date: `true` is no number here, and a
date with a time is no day.
"""

import reprlib
import tomllib
from collections.abc import Callable, Mapping
from datetime import date, datetime
from difflib import get_close_matches
from typing import Any, TypeGuard, TypeVar

from engine.catalogue import Catalogue
from engine.errors import MusicInputError, printable, shown
from engine.fields import LONGEST_ID, is_identity
from engine.notation import parse_key
from engine.textures import Texture
from engine.theory import PLAYED_KEYS, Key, same_pitch
from quiz.errors import AssignmentError
from quiz.learning.material import learning_order
from quiz.questions.kinds import ROUND_KINDS
from quiz.settings.checks import FAMILIES, FASTEST, KEY_NAMES, SLOWEST

LARGEST = 64_000
"""Characters, and bytes, of an assignment file."""

LONGEST_LINE = 4000
"""Characters of a line: a key with thousands of dots takes time that grows as its square."""

LONGEST_TITLE, LONGEST_NOTE = 80, 200
"""Characters."""

MOST_ENTRIES = 500
"""Entries of a list."""

MOST_A_DAY = 400
"""Questions a day."""

MOST_NAMED = 5
"""How many wrong entries a message names."""

T = TypeVar("T")
Check = Callable[[object], T]
"""The value given to the value to keep; raises AssignmentError."""


class Fields:
    """The fields of one file, read one by one; what is wrong gathers in `problems`."""

    def __init__(self, data: Mapping[str, object]) -> None:
        self.problems: list[str] = []
        """What is wrong so far, a line each."""
        self._data = data
        self._known: list[str] = []

    def take(self, field: str, check: Check[T], default: T) -> T:
        """The checked value of a field; the default when it is unset or wrong."""
        self._known.append(field)
        if field not in self._data:
            return default
        try:
            return check(self._data[field])
        except AssignmentError as error:
            self.problems.append(f"field '{field}': {error}")
            return default

    def needed(self, field: str, check: Check[str], what: str) -> str:
        """The checked text of a field that has to be there."""
        if field not in self._data:
            self.problems.append(f"field '{field}': it is missing: give {what}")
        return self.take(field, check, "")

    def finish(self) -> None:
        """Note the fields that nothing has read: they are misspelt or misplaced."""
        strangers = [name for name in self._data if name not in self._known]
        if not strangers:
            return
        headed = any(isinstance(self._data[name], dict | list) for name in strangers)
        hint = "; write them at the top, without headings in [ ]" if headed else ""
        self.problems.append(
            f"there is no field {_named(strangers)}: the fields are {', '.join(self._known)}{hint}"
        )


def parsed(text: str) -> dict[str, Any]:
    """The table in the text of an assignment file.

    Raises AssignmentError when it is too large or no TOML.
    """
    if len(text) > LARGEST:
        raise AssignmentError(
            f"it is too large: an assignment may have {LARGEST // 1000} kB; most need less than one"
        )
    lines = text.split("\n")
    for number, line in enumerate(lines, start=1):
        if len(line) > LONGEST_LINE:
            raise AssignmentError(
                f"line {number} is too long: a line may have {LONGEST_LINE} characters; "
                "write a list over several lines"
            )
    try:
        return tomllib.loads(text)
    except ValueError as error:  # TOMLDecodeError is one; a number of 5000 digits raises another
        raise AssignmentError(f"this is not readable as TOML: {printable(str(error))}") from error
    except RecursionError as error:
        raise AssignmentError("this is no assignment: its brackets stand too deep") from error


def identity(value: object) -> str:
    """The id of an assignment."""
    if is_identity(value):
        return value
    raise _wrong(
        value,
        f"small letters and digits, with single hyphens between, up to {LONGEST_ID} characters",
    )


def line(most: int) -> Check[str]:
    """One line of text with something in it."""

    def check(value: object) -> str:
        if isinstance(value, str) and value.isprintable() and 0 < len(value.strip()) <= most:
            return value.strip()
        raise _wrong(value, f"one line of up to {most} characters in quotes")

    return check


def some(parse: Callable[[str], T | None], allowed: str) -> Check[tuple[T, ...]]:
    """A list of texts, or one text; `parse` gives None for a text that is not allowed."""

    def check(value: object) -> tuple[T, ...]:
        found = {text: parse(text) for text in _texts(value, allowed)}
        if strangers := [text for text, kept in found.items() if kept is None]:
            raise AssignmentError(f"{_named(strangers)} was given: give some of {allowed}")
        return tuple(dict.fromkeys(kept for kept in found.values() if kept is not None))

    return check


def devices(catalogue: Catalogue) -> Check[tuple[str, ...]]:
    """Ids of rows that can be asked about."""
    known = {row.id for row in learning_order(catalogue)}
    never = {device.id for device in catalogue.devices} - known

    def check(value: object) -> tuple[str, ...]:
        given = _texts(value, "ids of devices and forms")
        if asked := [text for text in given if text in never]:
            raise AssignmentError(
                f"{_named(asked)} was given: that is a base pattern, and those are never asked "
                "about; leave it out"
            )
        if strangers := [text for text in given if text not in known]:
            near = get_close_matches(strangers[0], known, n=1)
            raise AssignmentError(
                f"{_named(strangers)} was given: there is no such device or form"
                f"{f'; did you mean {shown(near[0])}?' if near else ''}; "
                "`lastbar devices` lists the devices"
            )
        return tuple(dict.fromkeys(given))

    return check


families = some(lambda text: text if text in FAMILIES else None, ", ".join(FAMILIES))
"""Families of rows."""

_KINDS = {kind.value: kind for kind in ROUND_KINDS}
kinds = some(_KINDS.get, ", ".join(_KINDS))
"""Kinds of question."""


def _key(text: str) -> Key | None:
    """The played key of a name; F# is the Gb that questions come in."""
    try:
        given = parse_key(text)
    except MusicInputError:
        return None
    if given.minor:
        return None
    return next(key for key in PLAYED_KEYS if same_pitch(key.tonic, given.tonic))


keys = some(_key, f"{', '.join(KEY_NAMES)} (a minor form makes a key minor by itself)")
"""Keys by their English names."""


def tempo(value: object) -> tuple[float, float]:
    """Beats a minute: one number, or from and to."""
    given = value if isinstance(value, list) else [value, value]
    ends = [float(end) for end in given if _is_tempo(end)]
    if len(ends) == len(given) == 2 and ends[0] <= ends[1]:
        return ends[0], ends[1]
    raise _wrong(
        value,
        f"a number from {SLOWEST} to {FASTEST}, or two such as [80, 120], the lower one first",
    )


def _is_tempo(value: object) -> TypeGuard[float]:
    # nan fails every comparison, and a whole number may be too large for a float
    return is_number(value) and SLOWEST <= value <= FASTEST


def is_number(value: object) -> TypeGuard[float]:
    """Whether it is a number; Python takes true for one."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def texture(value: object) -> Texture:
    """Who plays."""
    for one in Texture:
        if one.value == value:
            return one
    raise _wrong(value, f"one of {', '.join(one.value for one in Texture)}")


def a_day(value: object) -> int:
    """Questions a day."""
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= MOST_A_DAY:
        return value
    raise _wrong(value, f"a whole number from 1 to {MOST_A_DAY}")


def until(value: object) -> date:
    """The last day."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    raise _wrong(value, "a date without quotes and without a time, such as 2026-12-10")


def _texts(value: object, allowed: str) -> list[str]:
    entries = value if isinstance(value, list) else [value]
    if len(entries) > MOST_ENTRIES:
        raise AssignmentError(f"{len(entries)} were given: give up to {MOST_ENTRIES}")
    texts = [entry for entry in entries if isinstance(entry, str)]
    if len(texts) < len(entries):
        raise _wrong(value, f"a list of texts in quotes: {allowed}")
    return texts


def _wrong(value: object, allowed: str) -> AssignmentError:
    if isinstance(value, bool):
        given = str(value).lower()  # as TOML writes it
    else:
        given = shown(value) if isinstance(value, str) else printable(reprlib.repr(value))
    return AssignmentError(f"{given} was given: give {allowed}")


def _named(texts: list[str]) -> str:
    """The first few of some texts, as they can safely stand in a message."""
    told = ", ".join(map(shown, texts[:MOST_NAMED]))
    return told if len(texts) <= MOST_NAMED else f"{told} and {len(texts) - MOST_NAMED} more"
