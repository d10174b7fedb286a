"""A recorded answer, its identity, and the practice day it belongs to."""

import os
import random
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum
from typing import NamedTuple, Protocol

from quiz.errors import AnswerError

MICROSECONDS = 1_000_000
DAY_SECONDS = 86_400
NIGHT_SECONDS = 4 * 3600
"""A practice day ends at four in the morning, local time."""

LONGEST_RESPONSE = 60.0
"""Seconds: a longer response time counts as this."""

LATEST = 2**53
"""Microseconds (the year 2255): moments up to here are exact in every JSON reader too."""

INVENTED = "invented"
"""The origin of answers that no player gave, as a demonstration has them; a real history takes
none in."""

GIVEN_KEPT = 2000
"""Characters of what was typed that are kept."""

_FIRST_DAY = date(1970, 1, 1)


class Verdict(Enum):
    """The word on screen and in the history."""

    RIGHT = "right"
    PARTLY = "partly right"
    WRONG = "wrong"
    GIVEN_UP = "given up"


class Outcome(Protocol):
    """What memory, reach and tallies look at in an answer: an `Answer` is one, a `Past` another.

    What the names mean stands with `Answer`.
    """

    @property
    def device(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def key(self) -> str: ...
    @property
    def practice_day(self) -> int: ...
    @property
    def tempo(self) -> float: ...
    @property
    def guess_rate(self) -> float: ...
    @property
    def score(self) -> float: ...
    @property
    def slowed(self) -> bool: ...
    @property
    def interrupted(self) -> bool: ...
    @property
    def why(self) -> str: ...
    @property
    def rung(self) -> int: ...


class Past(NamedTuple):
    """An `Outcome` and its place in the order, as a long history is read through."""

    id: bytes
    at: int
    device: str
    kind: str
    key: str
    practice_day: int
    tempo: float
    guess_rate: float
    score: float
    slowed: bool
    interrupted: bool
    why: str
    rung: int


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer as the history keeps it. Never changed once written.

    Raises AnswerError when a number is outside its range.
    """

    id: bytes
    """16 bytes, unique everywhere, ordered by time (UUID version 7, RFC 9562)."""

    at: int
    """Microseconds since 1970 in UTC, up to LATEST."""

    utc_offset: int
    """Seconds by which the player's clock was ahead of UTC."""

    practice_day: int
    """Days since 1970 of the practice day."""

    device: str
    """The id of the item's catalogue row."""

    kind: str
    key: str
    tempo: float
    """Beats a minute."""

    feel: str
    texture: str
    options: int
    """How many options were offered; 0 for typed answers."""

    guess_rate: float
    """The chance of being right by luck, 0 to 1."""

    score: float
    """0 to 1."""

    verdict: str
    """right, partly right, wrong or given up."""

    seconds: float
    """From the end of the first playing to the answer, as measured."""

    playings: int
    slowed: bool
    interrupted: bool
    given: str
    """What was typed, or the id of the device that was picked; the first GIVEN_KEPT characters."""

    chosen: str
    """Of a choice: the id of the row picked in place of the item; empty otherwise."""

    question: str
    """The question's full parameters and seed, as JSON."""

    why: str
    """Why it was asked."""

    version: str
    """The version of the program."""

    origin: str
    """The installation that recorded it."""

    rung: int = -1
    """The rung of the ladder in `quiz.questions.rungs` that the question stood on; -1 where its
    conditions came from elsewhere (pinned, set by an assignment, or a kind without a ladder)."""

    assignment: str = ""
    """The id of the assignment that was open; empty without one."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "given", storable(self.given)[:GIVEN_KEPT])
        if problems := _problems(self):
            raise AnswerError(f"an answer cannot be kept: {'; '.join(problems)}")

    @property
    def response(self) -> float:
        """Seconds that count, at most LONGEST_RESPONSE."""
        return min(self.seconds, LONGEST_RESPONSE)


def _problems(answer: Answer) -> list[str]:
    """What is outside its range, in words."""
    ranges: tuple[tuple[str, float, float, float], ...] = (
        ("bytes of the id", len(answer.id), 16, 16),
        ("'at'", answer.at, 0, LATEST),
        ("'utc_offset'", answer.utc_offset, -DAY_SECONDS, DAY_SECONDS),
        ("'practice_day'", answer.practice_day, -2, LATEST // MICROSECONDS // DAY_SECONDS + 2),
        ("'tempo'", answer.tempo, 0, 1000),
        ("'options'", answer.options, 0, 1000),
        ("'guess_rate'", answer.guess_rate, 0, 1),
        ("'score'", answer.score, 0, 1),
        ("'seconds'", answer.seconds, 0, LATEST),
        ("'playings'", answer.playings, 0, 1_000_000),
        ("'rung'", answer.rung, -1, 100),
    )
    return [
        f"{name} is {value}, give {least} to {most}"
        for name, value, least, most in ranges
        if not least <= value <= most
    ]


def storable(text: str) -> str:
    """A text with every half of a character written out, since no file can hold one; terminals that
    are not UTF-8 give some."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def practice_day(at: int, utc_offset: int) -> int:
    """The practice day of a moment: local time less four hours, in whole days since 1970."""
    return (at // MICROSECONDS + utc_offset - NIGHT_SECONDS) // DAY_SECONDS


def date_of(day: int) -> date:
    """The date of a practice day."""
    return _FIRST_DAY + timedelta(days=day)


def day_of(when: date) -> int:
    """The practice day of a date."""
    return (when - _FIRST_DAY).days


class AnswerIds:
    """Makes ids that are unique and rise with time, also within one millisecond.

    Layout: UUID version 7 of RFC 9562: 48 bits of milliseconds, the version, 12 bits that count
    within a millisecond, the variant, 62 random bits.
    """

    def __init__(self, chance: random.Random | None = None) -> None:
        """`chance` is the system's own randomness unless given."""
        self._chance = chance or random.SystemRandom()
        self._last = 0

    def make(self, at: int) -> bytes:
        """The id of an answer at `at` microseconds; later than every id made before."""
        stamp = max((at // 1000 << 12) | (at % 1000 * 4096 // 1000), self._last + 1)
        self._last = stamp
        milliseconds, within = stamp >> 12, stamp & 0xFFF
        tail = 0b10 << 62 | self._chance.getrandbits(62)
        return (milliseconds << 80 | 7 << 76 | within << 64 | tail).to_bytes(16, "big")


def new_origin() -> str:
    """A name for this installation: random, and nothing about its owner."""
    return os.urandom(6).hex()
