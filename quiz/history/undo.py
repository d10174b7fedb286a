"""An answer taken back: a record of its own, so that nothing that was written ever goes.

    An undo names the answer it takes back, whether that answer is in the history yet or not.
    An answer that some undo names does not count: no score, no memory, no reach holds it.
    It stays in the file, and no undo can be undone.
    Several undos of one answer take it back once.

Histories are sets of answers and of undos; putting sets together asks for no order.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from quiz.answers import DAY_SECONDS, LATEST, Answer
from quiz.errors import AnswerError


@dataclass(frozen=True, slots=True)
class Undo:
    """One answer taken back. Never changed once written.

    Raises AnswerError when something is outside its range.
    """

    id: bytes
    """16 bytes, unique everywhere, ordered by time, as an answer has it."""

    answer: bytes
    """The id of the answer that is taken back."""

    at: int
    """Microseconds since 1970 in UTC, up to LATEST."""

    utc_offset: int
    """Seconds by which the player's clock was ahead of UTC."""

    origin: str
    """The installation that recorded it."""

    def __post_init__(self) -> None:
        if problems := list(_problems(self)):
            raise AnswerError(f"an undo cannot be kept: {'; '.join(problems)}")


class Records(NamedTuple):
    """What a history consists of; all else is worked out from it."""

    answers: tuple[Answer, ...] = ()
    """Those that were taken back too."""

    undos: tuple[Undo, ...] = ()


def _problems(undo: Undo) -> Iterator[str]:
    """What is outside its range, in words."""
    for name, number, least, most in (
        ("bytes of the id", len(undo.id), 16, 16),
        ("bytes of the answer's id", len(undo.answer), 16, 16),
        ("'at'", undo.at, 0, LATEST),
        ("'utc_offset'", undo.utc_offset, -DAY_SECONDS, DAY_SECONDS),
    ):
        if not least <= number <= most:
            yield f"{name} is {number}, give {least} to {most}"
