"""Results: what a player hands in of one assignment, as a file, and what a teacher makes of many.

A results file is data only: JSON in UTF-8. It says the name that the player chose, and of each
answer the practice day, what was asked and what came of it. It says no time of day, nothing that
was typed, and nothing of the machine.

Each answer carries an id: the first 16 bytes of the SHA-256 of the assignment's id and the id that
the answer has in the history. The same answer has the same id in every file of the assignment, so
it is counted once, however often it is handed in; and the time that stands in the history's own id
cannot be read from it.

Two files belong to one player if they share an answer: a later file of a player holds the earlier
answers too, and two machines whose histories were put together hold each other's. There is no mark
of the player or the machine in the file: it would follow a player from one assignment to the next,
and machines that were set up as copies of one another would all carry the same. Two machines of
one player that never met are two players until their histories are put together.

Nothing proves that a file is true. Whoever can edit a file can write what they like into it.
"""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from engine.errors import printable, shown
from quiz.answers import Answer
from quiz.errors import ResultsError
from quiz.files import read_text
from quiz.teacher.assignment import Assignment
from quiz.teacher.result_fields import (
    ID_BYTES,
    LONGEST_NAME,
    MOST_ITEMS,
    OUTCOME,
    Outcome,
    checked,
    date_text,
    given,
    identity,
    player_name,
    whole,
)

VERSION = 1
"""Of the shape of the file; a file of a higher one is refused."""

LARGEST = 8_000_000
"""Characters, and bytes, of a results file."""

MOST_ANSWERS = 20_000
"""Answers in a file, the newest; they fit into LARGEST whatever they are."""

NAMELESS = "somebody"
"""What a player without a name is called."""

_MARK = "lastbar_results"


@dataclass(frozen=True, slots=True)
class Results:
    """What one player has done of one assignment."""

    assignment: str
    """The id of the assignment."""

    items: int
    """How many items the assignment has."""

    name: str
    """What the player wants to be called; may be empty."""

    answers: tuple[Outcome, ...]
    """At least one, in the order of (day, id); no id stands twice."""

    @property
    def who(self) -> str:
        """The name, or the word for nobody in particular."""
        return self.name or NAMELESS

    @property
    def last_day(self) -> int:
        """The practice day of the last answer."""
        return self.answers[-1].day


def results_of(assignment: Assignment, answers: Iterable[Answer], name: str) -> Results:
    """The results of the answers that were given under an assignment; all others are left out.

    Of more than MOST_ANSWERS the newest are taken. Raises ResultsError when there are none, or the
    name is too long or no line of text.
    """
    try:
        called = player_name(name)
    except ResultsError as error:
        raise ResultsError(f"the name cannot be used: {error}") from error
    place = f"results of assignment '{assignment.id}'"
    mine = [
        _outcome(_fields(answer, assignment.id), place)
        for answer in answers
        if answer.assignment == assignment.id
    ]
    if not mine:
        raise ResultsError(f"{place}: there are no answers yet: open the assignment and play")
    return Results(assignment.id, assignment.items, called, _in_order(mine)[-MOST_ANSWERS:])


def _fields(answer: Answer, assignment: str) -> dict[str, object]:
    """What leaves the machine of an answer, as it stands in the file."""
    digest = hashlib.sha256(assignment.encode() + answer.id).digest()
    return {
        "day": date_text(answer.practice_day),
        "id": digest[:ID_BYTES].hex(),
        "device": answer.device,
        "kind": answer.kind,
        "key": answer.key,
        "tempo": round(answer.tempo, 1),
        "texture": answer.texture,
        "score": round(answer.score, 4),
        "verdict": answer.verdict,
        "seconds": round(answer.response, 1),
        "playings": answer.playings,
    }


def _outcome(data: object, place: str) -> Outcome:
    return Outcome(**checked(data, OUTCOME, place))


def _in_order(outcomes: Iterable[Outcome]) -> tuple[Outcome, ...]:
    """In the order of (day, id), each id once; of two that differ under one id the later one."""
    found: dict[bytes, Outcome] = {}
    for outcome in outcomes:
        found[outcome.id] = max(outcome, found.get(outcome.id, outcome))
    return tuple(sorted(found.values()))


# --- the file -----------------------------------------------------------------------------------


def as_text(results: Results) -> str:
    """The content of a results file, an answer a line.

    Raises ResultsError when there are more than MOST_ANSWERS.
    """
    if len(results.answers) > MOST_ANSWERS:
        raise ResultsError(
            f"{len(results.answers)} answers are too many for one file: give up to {MOST_ANSWERS}"
        )
    head = {
        _MARK: VERSION,
        "assignment": results.assignment,
        "items": results.items,
        "name": results.name,
    }
    lines = ",\n".join(_json(_written(outcome)) for outcome in results.answers)
    return f'{_json(head)[:-1]}, "answers": [\n{lines}\n]}}\n'


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _written(outcome: Outcome) -> dict[str, Any]:
    return outcome._asdict() | {"day": date_text(outcome.day), "id": outcome.id.hex()}


def load_results(path: Path) -> Results:
    """The results in a file; a symbolic link is not followed.

    Raises ResultsError when it cannot be read, or is no results file.
    """
    return read_results(read_text(path, LARGEST, ResultsError, links=False), str(path))


def read_results(text: str, file: str) -> Results:
    """The results in the text of a file; `file` is what messages call it.

    Everything is checked: sizes, the type and range of every field, fields that are missing,
    unknown or there twice. Raises ResultsError naming the file, the place and what to do.
    """
    name = printable(file)
    data = checked(_parsed(text, name), _HEAD, name)
    answers = [
        _outcome(row, f"{name}: answer {number}")
        for number, row in enumerate(data["answers"], start=1)
    ]
    outcomes = _in_order(answers)
    if len(outcomes) < len(answers):
        raise ResultsError(f"{name}: two answers have the same id: ask for the file again")
    return Results(data["assignment"], data["items"], data["name"], outcomes)


def _version(value: object) -> int:
    if value == VERSION and value is not True:
        return VERSION
    raise ResultsError(f"{given(value)} was given: this lastbar reads {VERSION}, update it")


def _answers(value: object) -> list[object]:
    if isinstance(value, list) and 1 <= len(value) <= MOST_ANSWERS:
        return value
    raise ResultsError(f"give a list of 1 to {MOST_ANSWERS} answers")


_HEAD = {
    _MARK: _version,
    "assignment": identity,
    "items": whole(0, MOST_ITEMS),
    "name": player_name,
    "answers": _answers,
}


def _parsed(text: str, name: str) -> object:
    """What the JSON says. What it could blow up into is bounded before it is read."""
    if len(text) > LARGEST:
        raise ResultsError(f"{name} is too large: results have up to {LARGEST // 1000} kB")
    if text.count("[") > 1 + LONGEST_NAME or text.count("{") > 1 + MOST_ANSWERS + LONGEST_NAME:
        raise ResultsError(f"{name} is no results file: there are too many lists in it")
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_refuse)
    except (ValueError, RecursionError) as error:  # a number of 5000 digits is a ValueError
        raise ResultsError(
            f"{name} is no results file ({printable(str(error))}): ask for it again"
        ) from error


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    fields: dict[str, object] = {}
    for name, value in pairs:
        if name in fields:
            raise ValueError(f"field {shown(name)} stands twice")
        fields[name] = value
    return fields


def _refuse(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number in JSON")


# --- many files ---------------------------------------------------------------------------------


def grouped(results: Iterable[Results]) -> tuple[tuple[Results, ...], ...]:
    """The results of each player and assignment together: those that share an answer, directly or
    over others."""
    every = tuple(results)
    leader = list(range(len(every)))  # of each one another of its group, in the end the first

    def first(number: int) -> int:
        while leader[number] != number:
            leader[number] = number = leader[leader[number]]
        return number

    seen: dict[tuple[str, bytes], int] = {}
    for number, one in enumerate(every):
        for outcome in one.answers:
            other = seen.setdefault((one.assignment, outcome.id), number)
            low, high = sorted((first(number), first(other)))
            leader[high] = low
    groups: dict[int, list[Results]] = {}
    for number, one in enumerate(every):
        groups.setdefault(first(number), []).append(one)
    return tuple(map(tuple, groups.values()))


def together(group: Sequence[Results]) -> Results:
    """One result of some that belong to one player and assignment, whatever their order and however
    often one is there. The name is that of the file with the newest answer."""
    newest = max(group, key=lambda one: (one.last_day, one.name))
    return Results(
        assignment=newest.assignment,
        items=max(one.items for one in group),
        name=newest.name,
        answers=_in_order(outcome for one in group for outcome in one.answers),
    )
