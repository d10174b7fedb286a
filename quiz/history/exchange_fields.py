"""The lines of a file of answers, field by field: what each is, and how it is written and read.

The one place where the open format is explained; `lastbar keep export --help` prints it. The file
is JSON Lines: UTF-8 text, one JSON object (RFC 8259) a line. Moments are RFC 3339 in UTC to the
microsecond, days are ISO 8601, ids are 32 hexadecimal digits.

    first line      the head: HEAD_FIELDS
    last line       the end: END_FIELDS; a file without it has been cut short
    all others      in any order, each an answer (ANSWER_FIELDS) or an undo (UNDO_FIELDS)
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple

from quiz.answers import Answer, Verdict, date_of, day_of, storable
from quiz.errors import ExchangeError
from quiz.history.undo import Undo

FORMAT, VERSION = "lastbar answers", 1
"""What the head says of the format. The version rises when a reader of this one would go wrong;
fields may be added without: readers leave out what they do not know."""

ANSWER, UNDO, END = "answer", "undo", "end"
"""The kinds of record."""

HEAD_FIELDS = {
    "format": f'always "{FORMAT}"',
    "version": f"a whole number; this program writes {VERSION}",
    "program": "the version of the program that wrote the file",
}

END_FIELDS = {
    "record": f'always "{END}"',
    "answers": "how many answers the file has, those that were taken back among them",
    "undos": "how many undos the file has",
}

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


class Form(NamedTuple):
    """A way to write values in JSON."""

    says: str
    """What is allowed, after "give"."""

    write: Callable[[Any], object]
    read: Callable[[Any], object]
    """From what JSON gave. Raises ValueError or OverflowError for what is not allowed."""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a record."""

    name: str
    """In the file and in the program."""

    form: Form
    says: str
    """What it is."""

    default: object = None
    """What a line has that lacks the field; None where no line may lack it."""


def _only(kind: type) -> Callable[[Any], Any]:
    """Takes values of one type as they are; True is no number."""

    def read(value: Any) -> Any:
        if type(value) is not kind:
            raise ValueError
        return value

    return read


def _number(value: Any) -> float:
    if type(value) not in (int, float):
        raise ValueError
    return float(value)


def _moment(value: Any) -> int:
    moment = datetime.fromisoformat(_only(str)(value))
    if moment.utcoffset() != timedelta(0):
        raise ValueError
    return (moment - _EPOCH) // _MICROSECOND


def _written_moment(at: int) -> str:
    return (_EPOCH + at * _MICROSECOND).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def _digits(value: Any) -> bytes:
    found = bytes.fromhex(_only(str)(value))
    if len(found) != 16:
        raise ValueError
    return found


def _word(value: Any) -> str:
    return Verdict(value).value


_TEXT = Form("a text", str, lambda value: storable(_only(str)(value)))
_WHOLE = Form("a whole number", int, _only(int))
_NUMBER = Form("a number", float, _number)
_YES = Form("true or false", bool, _only(bool))
_ID = Form("32 hexadecimal digits", bytes.hex, _digits)
_MOMENT = Form("a moment in UTC such as 2026-11-26T20:15:30.250000Z", _written_moment, _moment)
_DAY = Form(
    "a day such as 2026-11-26",
    lambda day: date_of(day).isoformat(),
    lambda value: day_of(date.fromisoformat(_only(str)(value))),
)
_VERDICT = Form(", ".join(verdict.value for verdict in Verdict), str, _word)

ANSWER_FIELDS = (
    Field("id", _ID, "unique everywhere, ordered by time (UUID version 7, RFC 9562)"),
    Field("at", _MOMENT, "when it was given"),
    Field("utc_offset", _WHOLE, "seconds by which the player's clock was ahead of UTC"),
    Field("practice_day", _DAY, "the practice day, which ends at four in the morning"),
    Field("device", _TEXT, "the id of the device or form that was asked"),
    Field("kind", _TEXT, "the kind of question"),
    Field("key", _TEXT, "the tonic"),
    Field("tempo", _NUMBER, "beats a minute, 0 to 1000"),
    Field("feel", _TEXT, "how the beat was divided"),
    Field("texture", _TEXT, "who played"),
    Field("options", _WHOLE, "how many options were offered, 0 to 1000; 0 where it was typed"),
    Field("guess_rate", _NUMBER, "the chance of being right by luck, 0 to 1"),
    Field("score", _NUMBER, "0 to 1"),
    Field("verdict", _VERDICT, "the word on the screen"),
    Field("seconds", _NUMBER, "from the end of the first playing to the answer"),
    Field("playings", _WHOLE, "how often it was played, 0 to 1000000"),
    Field("slowed", _YES, "whether it was also played slower"),
    Field("interrupted", _YES, "whether a playing was stopped"),
    Field("given", _TEXT, "what was typed, or the id of what was picked"),
    Field("chosen", _TEXT, "the row that was picked in place of the right one; empty otherwise"),
    Field("question", _TEXT, "the whole question and its seed: JSON, written as a text"),
    Field("why", _TEXT, "why it was asked"),
    Field("version", _TEXT, "the version of the program that asked"),
    Field("origin", _TEXT, "the installation that recorded it"),
    Field("rung", _WHOLE, "the step of its kind's ladder, -1 to 100; -1 for none", -1),
    Field("assignment", _TEXT, "the id of the assignment that was open; empty without one", ""),
)

UNDO_FIELDS = (
    Field("id", _ID, "unique everywhere, as an answer's"),
    Field("answer", _ID, "the id of the answer that is taken back"),
    Field("at", _MOMENT, "when it was taken back"),
    Field("utc_offset", _WHOLE, "seconds by which the player's clock was ahead of UTC"),
    Field("origin", _TEXT, "the installation that recorded it"),
)

_KNOWN = {
    kind: frozenset(("record", *(field.name for field in fields)))
    for kind, fields in ((ANSWER, ANSWER_FIELDS), (UNDO, UNDO_FIELDS))
}


def written(record: Answer | Undo) -> dict[str, object]:
    """A record as the object of its line; `read` is the inverse."""
    kind, fields = (ANSWER, ANSWER_FIELDS) if isinstance(record, Answer) else (UNDO, UNDO_FIELDS)
    values = {field.name: field.form.write(getattr(record, field.name)) for field in fields}
    return {"record": kind, **values}


def read(row: object) -> Answer | Undo:
    """The record of a line. Fields that no record has are left out, see `unknown_fields`.

    Raises ExchangeError, or AnswerError for a number outside its range, with what is wrong.
    """
    if not isinstance(row, dict):
        raise ExchangeError("it is no JSON object: a record stands in braces")
    match row.get("record"):
        case "answer":
            return Answer(**_values(row, ANSWER_FIELDS))
        case "undo":
            return Undo(**_values(row, UNDO_FIELDS))
        case None:
            raise ExchangeError(f"'record' is missing: give '{ANSWER}' or '{UNDO}'")
        case other:
            raise ExchangeError(f"'record' is {_shown(other)}: give '{ANSWER}' or '{UNDO}'")


def unknown_fields(row: Mapping[str, object]) -> frozenset[str]:
    """The names in a line that `read` left out."""
    return frozenset(row) - _KNOWN.get(str(row.get("record")), frozenset())


def _values(row: Mapping[str, object], fields: Sequence[Field]) -> dict[str, Any]:
    return {field.name: _value(row, field) for field in fields}


def _value(row: Mapping[str, object], field: Field) -> object:
    given = row.get(field.name, field.default)
    if given is None:
        raise ExchangeError(f"'{field.name}' is missing: give {field.form.says}")
    try:
        return field.form.read(given)
    except (ValueError, OverflowError) as error:
        raise ExchangeError(f"'{field.name}' is {_shown(given)}: give {field.form.says}") from error


def _shown(value: object) -> str:
    """A value in a message, short and printable."""
    return "".join(char for char in repr(value)[:40] if char.isprintable())


def explained() -> str:
    """The whole format in plain words, for `--help`."""
    parts = [
        "FILE is JSON Lines: UTF-8, one JSON object a line. The first line is the head:",
        *(f"  {name:<14}{says}" for name, says in HEAD_FIELDS.items()),
        "The last line is the end; a file without it has been cut short:",
        *(f"  {name:<14}{says}" for name, says in END_FIELDS.items()),
        "All others are records, in any order. An answer:",
        f'  {"record":<14}always "{ANSWER}"',
        *map(_line, ANSWER_FIELDS),
        "An answer that was taken back:",
        f'  {"record":<14}always "{UNDO}"',
        *map(_line, UNDO_FIELDS),
        "Fields that are not listed are left out when the file is read, and reported.",
    ]
    return "\n".join(parts)


def _line(field: Field) -> str:
    absent = "" if field.default is None else "; may be missing"
    return f"  {field.name:<14}{field.says} ({field.form.says}{absent})"
