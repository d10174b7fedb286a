"""The fields of a results file: what each may be. They come from elsewhere, so all are checked.

A check gives the value to keep, or raises ResultsError saying what was given and what is allowed.
"""

import re
import reprlib
from collections.abc import Callable, Collection, Mapping
from datetime import date
from typing import Any, NamedTuple

from engine.errors import printable, shown
from engine.textures import Texture
from engine.theory import LETTERS, Key, Note
from quiz.answers import (
    DAY_SECONDS,
    LATEST,
    LONGEST_RESPONSE,
    MICROSECONDS,
    Verdict,
    date_of,
    day_of,
)
from quiz.errors import ResultsError
from quiz.questions.kinds import Kind
from quiz.teacher.assignment_fields import is_number

LONGEST_NAME, LONGEST_ID = 60, 100
"""Characters of a player's name, and of the id of an assignment or a device."""

MOST_ITEMS = 10_000
"""Items of an assignment."""

ID_BYTES = 16

_DAYS = range(-2, LATEST // MICROSECONDS // DAY_SECONDS + 3)  # what an answer may have
_ID = re.compile(r"[a-z0-9]+([-+][a-z0-9]+)*")
_HEX = re.compile(r"[0-9a-f]{32}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_KEYS = frozenset(
    str(key)
    for letter in LETTERS
    for alter in (-1, 0, 1)
    for key in (Key(Note(letter, alter)), Key(Note(letter, alter), minor=True))
    if abs(key.sharps) <= 7
)

Check = Callable[[object], Any]


class Outcome(NamedTuple):
    """What became of one answer, as far as it leaves the player's machine."""

    day: int
    """The practice day, in days since 1970; there is no time of day."""

    id: bytes
    """ID_BYTES bytes that tell one answer from another and say nothing else."""

    device: str
    kind: str
    key: str
    tempo: float
    """Beats a minute."""

    texture: str
    score: float
    """0 to 1."""

    verdict: str
    seconds: float
    """Response time, at most LONGEST_RESPONSE."""

    playings: int


def date_text(day: int) -> str:
    """A practice day as a date: `2026-11-25`."""
    return date_of(day).isoformat()


def player_name(value: object) -> str:
    """A name that a player has chosen; may be empty."""
    if isinstance(value, str) and len(name := value.strip()) <= LONGEST_NAME and name.isprintable():
        return name
    raise _wrong(value, f"a name of up to {LONGEST_NAME} characters in one line, or none")


def identity(value: object) -> str:
    """The id of an assignment, a device or a form."""
    if isinstance(value, str) and len(value) <= LONGEST_ID and _ID.fullmatch(value):
        return value
    raise _wrong(value, "an id of small letters, digits, + and -")


def whole(least: int, most: int) -> Check:
    """A whole number in a range."""

    def check(value: object) -> int:
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        raise _wrong(value, f"a whole number from {least} to {most}")

    return check


def _number(least: float, most: float) -> Check:
    def check(value: object) -> float:
        if is_number(value) and least <= value <= most:  # nan fails every comparison
            return float(value)
        raise _wrong(value, f"a number from {least:g} to {most:g}")

    return check


def _one_of(words: Collection[str], what: str) -> Check:
    def check(value: object) -> str:
        if isinstance(value, str) and value in words:
            return value
        raise _wrong(value, f"{what} (a newer lastbar may know more: update this one)")

    return check


def _day(value: object) -> int:
    if isinstance(value, str) and _DATE.fullmatch(value):
        try:
            day = day_of(date.fromisoformat(value))
        except ValueError:  # such as the 30th of February
            day = _DAYS.stop
        if day in _DAYS:
            return day
    raise _wrong(value, "a date such as 2026-11-25")


def _answer_id(value: object) -> bytes:
    if isinstance(value, str) and _HEX.fullmatch(value):
        return bytes.fromhex(value)
    raise _wrong(value, f"{2 * ID_BYTES} digits from 0 to f")


OUTCOME: Mapping[str, Check] = {
    "day": _day,
    "id": _answer_id,
    "device": identity,
    "kind": _one_of([kind.value for kind in Kind], f"one of {', '.join(k.value for k in Kind)}"),
    "key": _one_of(_KEYS, "a key such as Bb or C minor"),
    "tempo": _number(0, 1000),
    "texture": _one_of(
        [texture.value for texture in Texture], f"one of {', '.join(t.value for t in Texture)}"
    ),
    "score": _number(0, 1),
    "verdict": _one_of(
        [verdict.value for verdict in Verdict], f"one of {', '.join(v.value for v in Verdict)}"
    ),
    "seconds": _number(0, LONGEST_RESPONSE),
    "playings": whole(0, 1_000_000),
}
"""What each field of an outcome may be, in the order of its fields."""


def checked(data: object, checks: Mapping[str, Check], place: str) -> dict[str, Any]:
    """The values to keep of a JSON object, field by field; `place` is what messages call it.

    Raises ResultsError when it is no object, a field is missing or unknown, or a value is wrong.
    """
    if not isinstance(data, dict):
        raise ResultsError(f"{place}: {given(data)} stands here: there must be {{ }} with fields")
    for name in (*checks, *data):
        if name not in data:
            raise ResultsError(f"{place}, field '{name}': it is missing: ask for the file again")
        if name not in checks:
            raise ResultsError(
                f"{place}: there is no field {shown(name)}: the fields are {', '.join(checks)}"
            )
    values = {}
    for name, check in checks.items():
        try:
            values[name] = check(data[name])
        except ResultsError as error:
            raise ResultsError(f"{place}, field '{name}': {error}") from error
    return values


def given(value: object) -> str:
    """A value as it can safely stand in a message."""
    return shown(value) if isinstance(value, str) else printable(reprlib.repr(value))


def _wrong(value: object, allowed: str) -> ResultsError:
    return ResultsError(f"{given(value)} was given: give {allowed}")
