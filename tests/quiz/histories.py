"""Invented answers for tests: a player called nobody, at a jam every Thursday."""

from dataclasses import replace
from typing import Any

from quiz.answers import DAY_SECONDS, MICROSECONDS, Answer, practice_day

FIRST_DAY = 20_000
"""A practice day to begin with: 2024-10-04, a Friday."""

EVENING = 20 * 3600
"""Seconds after midnight, UTC."""


def moment(day: float = FIRST_DAY, second: float = EVENING) -> int:
    """Microseconds since 1970 of a second of a day in UTC."""
    return int((day * DAY_SECONDS + second) * MICROSECONDS)


def an_answer(number: int = 0, day: float = FIRST_DAY, **changed: Any) -> Answer:
    """An answer that is right unless told otherwise; `number` makes id and second its own."""
    at = changed.pop("at", moment(day, EVENING + number % 3600))
    plain = Answer(
        id=number.to_bytes(16, "big"),
        at=at,
        utc_offset=0,
        practice_day=practice_day(at, 0),
        device="climb",
        kind="name",
        key="Bb",
        tempo=96.0,
        feel="shuffle",
        texture="band",
        options=4,
        guess_rate=0.25,
        score=1.0,
        verdict="right",
        seconds=4.5,
        playings=1,
        slowed=False,
        interrupted=False,
        given="climb+dip",
        chosen="",
        question='{"device": "climb+dip"}',
        why="new",
        version="0.1.0",
        origin="0123456789ab",
    )
    return replace(plain, **changed)


def a_wrong_answer(number: int = 0, day: float = FIRST_DAY, **changed: Any) -> Answer:
    """An answer that took the fall for the climb, unless told otherwise."""
    wrong = {"score": 0.0, "verdict": "wrong", "given": "fall+dip", "chosen": "fall"}
    return an_answer(number, day, **(wrong | changed))
