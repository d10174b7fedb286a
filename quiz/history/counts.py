"""Counted answers, so that no score has to go through the whole history.

They hold the answers that stand, and are brought up to date in the transaction that adds an answer
or an undo: an undo that comes before its answer, after it, or twice leaves the same counts. Times
are whole microseconds, so that sums do not depend on the order.
"""

from enum import Enum
from typing import NamedTuple

from quiz.answers import MICROSECONDS
from quiz.history.database import Database


class Heading(Enum):
    """What answers are counted by. The value is a column."""

    DEVICE = "device"
    KEY = "key"
    KIND = "kind"
    DAY = "practice_day"


class Group(NamedTuple):
    """Answers counted under one name of a heading."""

    name: str
    """A practice day is given in digits."""

    answers: int
    right: int
    """With the verdict right."""

    seconds: float | None
    """Mean response time of the right answers, each cut at LONGEST_RESPONSE; None without any."""

    spent: float = 0.0
    """Seconds of all answers together, right or not, each cut at LONGEST_RESPONSE."""

    timed: int = 0
    """The right answers that took some time: those that `seconds` is the mean of."""


class Confusion(NamedTuple):
    """How often one row of the catalogue was taken for another."""

    asked: str
    chosen: str
    times: int


# --- writing ------------------------------------------------------------------------------------

_TABLES = (
    # of the practice days themselves the name is empty
    "CREATE TABLE counted (heading TEXT, name TEXT, practice_day INTEGER, "
    "answers INTEGER NOT NULL, right INTEGER NOT NULL, timed INTEGER NOT NULL, "
    "response INTEGER NOT NULL, spent INTEGER NOT NULL, "
    "PRIMARY KEY (heading, name, practice_day)) STRICT, WITHOUT ROWID",
    "CREATE TABLE mistaken (asked TEXT, chosen TEXT, practice_day INTEGER, "
    "times INTEGER NOT NULL, PRIMARY KEY (asked, chosen, practice_day)) STRICT, WITHOUT ROWID",
    "CREATE TABLE day_tally (practice_day INTEGER PRIMARY KEY, asked INTEGER NOT NULL, "
    "contrasts INTEGER NOT NULL) STRICT",
)
_NAMES = {"device": "device", "key": "key", "kind": "kind", "practice_day": "''"}
_TOOK = "CAST(round(min(seconds, 60.0) * 1000000) AS INTEGER)"
_RIGHT = "verdict = 'right'"
_TIMED = "verdict = 'right' AND seconds > 0"
_COUNTED = (
    "count(*)",
    f"sum({_RIGHT})",
    f"sum({_TIMED})",
    f"sum(({_TIMED}) * {_TOOK})",
    f"sum({_TOOK})",
)
_ASKED = ("count(*)", "sum(why = 'contrast')")


def _count(source: str, sign: str = "") -> tuple[str, ...]:
    """Statements that count the answers of a source, or with a minus take them off.

    A migration has them too: they are not changed once released, whatever becomes of the constants
    elsewhere, so what they say stands in them as plain words and numbers.
    """
    return (
        *(
            f"INSERT INTO counted SELECT '{heading}', {name}, practice_day, "
            f"{_signed(_COUNTED, sign)} FROM {source} GROUP BY {name}, practice_day "
            "ON CONFLICT (heading, name, practice_day) DO UPDATE SET "
            f"{_raised('answers', 'right', 'timed', 'response', 'spent')}"
            for heading, name in _NAMES.items()
        ),
        f"INSERT INTO mistaken SELECT device, chosen, practice_day, {sign}count(*) "
        f"FROM {source} AND chosen <> '' GROUP BY device, chosen, practice_day "
        f"ON CONFLICT (asked, chosen, practice_day) DO UPDATE SET {_raised('times')}",
        f"INSERT INTO day_tally SELECT practice_day, {_signed(_ASKED, sign)} "
        f"FROM {source} AND why <> 'open jam' GROUP BY practice_day "
        f"ON CONFLICT (practice_day) DO UPDATE SET {_raised('asked', 'contrasts')}",
    )


def _signed(sums: tuple[str, ...], sign: str) -> str:
    return ", ".join(f"{sign}{one}" for one in sums)


def _raised(*columns: str) -> str:
    return ", ".join(f"{column} = {column} + excluded.{column}" for column in columns)


COUNTED_TABLES = (*_TABLES, *_count("answer WHERE true"))
"""The tables, and what they hold of a file that had none. Kept short: what a file says of its
tables fits into one page, so that no other page is needed to read the rest."""

_MORE = _count(
    "answer NOT INDEXED WHERE seq > ? "  # no index leads to the last few as their number does
    "AND NOT EXISTS (SELECT 1 FROM undone WHERE undone.answer = answer.id)"
)
_LESS = _count("answer WHERE id = ?", "-")


def count_added(database: Database, since: int) -> None:
    """Count the answers with numbers above `since` that stand, inside `atomic()`."""
    for statement in _MORE:
        database.run(statement, (since,))


def take_off(database: Database, answer: bytes) -> None:
    """Take off an answer, if it is there, that has just been taken back, inside `atomic()`."""
    for statement in _LESS:
        database.run(statement, (answer,))


# --- reading ------------------------------------------------------------------------------------


def counted(database: Database, heading: Heading, since_day: int | None) -> tuple[Group, ...]:
    """Answers counted under each name of a heading, in the order of the names or days."""
    name = "practice_day" if heading is Heading.DAY else "name"
    rows = database.rows(
        f"SELECT {name}, sum(answers), sum(right), sum(response), sum(spent), sum(timed) "
        f"FROM counted WHERE heading = ? AND practice_day >= ? GROUP BY {name} "
        f"HAVING sum(answers) > 0 ORDER BY {name}",
        (heading.value, _from_day(since_day)),
    )
    return tuple(_group(*row) for row in rows)


def confusions(database: Database, since_day: int | None) -> tuple[Confusion, ...]:
    """How often one row was taken for another, most frequent first."""
    rows = database.rows(
        "SELECT asked, chosen, sum(times) AS all_times FROM mistaken WHERE practice_day >= ? "
        "GROUP BY asked, chosen HAVING all_times > 0 ORDER BY all_times DESC, asked, chosen",
        (_from_day(since_day),),
    )
    return tuple(Confusion(*row) for row in rows)


def day_rows(database: Database, count: int) -> list[tuple[int, int, int]]:
    """The latest `count` practice days with questions: day, questions, contrasts."""
    return [
        (day, asked, contrasts)
        for day, asked, contrasts in database.rows(
            "SELECT * FROM day_tally WHERE asked > 0 ORDER BY practice_day DESC LIMIT ?", (count,)
        )
    ]


def _group(
    name: str | int, answers: int, right: int, response: int, spent: int, timed: int
) -> Group:
    mean = response / timed / MICROSECONDS if timed else None
    return Group(str(name), answers, right, mean, spent / MICROSECONDS, timed)


def _from_day(day: int | None) -> int:
    return -(2**31) if day is None else day
