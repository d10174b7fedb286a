"""An assignment: what a teacher gives players to practise, in one small TOML file.

The file is one table without headings. Only `id` and `title` have to be there:

    id = "thursday-horns"        in every result: small letters, digits, hyphens
    title = "Thursday: flat keys"
    note = "Ten minutes a day."  one line to the player
    devices = ["climb"]          ids of devices and forms; together with
    families = ["tail", "form"]  all of a family; neither means all there is
    kinds = ["name", "write"]    kinds of question; unset means all
    keys = ["F", "Bb"]           English names; unset means all twelve
    tempo = [80, 120]            beats a minute, from and to, or one number; unset: as far as the
                                 player's reach goes
    texture = "drums"            bass, drums or band; unset: as far as the player's reach goes
    a_day = 12                   questions a day
    until = 2026-12-10           the last day, without quotes

One id means one piece of work: a file that asks for something else needs an id of its own, or old
answers count for the new one.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from engine.catalogue import Catalogue
from engine.errors import printable
from engine.textures import Texture
from engine.theory import Key
from quiz.answers import Answer, Verdict, day_of
from quiz.errors import AssignmentError, QuestionError
from quiz.files import read_text
from quiz.learning.material import Given, Only, family_name, items_within, learning_order
from quiz.learning.memory import Item
from quiz.questions.kinds import Kind
from quiz.teacher import assignment_fields as allowed
from quiz.teacher.assignment_fields import LARGEST, LONGEST_NOTE, LONGEST_TITLE, Fields, parsed

USUAL_A_DAY = 12
"""Questions a day where the file does not say: a round, about ten minutes."""


@dataclass(frozen=True, slots=True)
class Assignment:
    """What a teacher has set."""

    id: str
    title: str
    note: str = ""
    """One line to the player; may be empty."""

    devices: tuple[str, ...] = ()
    """Ids of catalogue rows, forms among them; with `families` it says what is asked about."""

    families: tuple[str, ...] = ()
    """Some of `quiz.settings.checks.FAMILIES`. Without these and devices everything is asked."""

    kinds: tuple[Kind, ...] = ()
    """Empty means every kind."""

    keys: tuple[Key, ...] = ()
    """Some of PLAYED_KEYS; empty means all twelve."""

    tempo: tuple[float, float] | None = None
    """Beats a minute, from and to; None for the player's reach."""

    texture: Texture | None = None
    """None for the player's reach."""

    a_day: int = USUAL_A_DAY
    """Questions a day."""

    until: date | None = None
    """The last practice day; None without an end."""

    items: int = 0
    """How many items it had when it was read."""


class Tally(NamedTuple):
    """Answers to one item."""

    item: Item
    right: int
    """With the verdict right."""

    answers: int


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a player has come with an assignment."""

    today: int
    """Answers on this practice day."""

    a_day: int
    """Answers that a day should have."""

    days_done: int
    """Practice days that had as many."""

    days_left: int | None
    """Practice days up to the last, this one among them; 0 when it is over, None without an end."""

    tallies: tuple[Tally, ...]
    """Of each item that was answered, in the order of names."""


def load_assignment(path: Path, catalogue: Catalogue) -> Assignment:
    """The assignment in a file.

    Raises AssignmentError when it cannot be read, or breaks rules.
    """
    return read_assignment(read_text(path, LARGEST, AssignmentError), str(path), catalogue)


def read_assignment(text: str, file: str, catalogue: Catalogue) -> Assignment:
    """The assignment in the text of a file; `file` is what messages call it.

    Raises AssignmentError naming the file, every field that is wrong, what was given and what is
    allowed; also when nothing is left to ask.
    """
    name = printable(file)
    try:
        fields = Fields(parsed(text))
    except AssignmentError as error:
        raise AssignmentError(f"{name}: {error}") from error
    assignment = _taken(fields, catalogue)
    if not fields.problems:
        try:
            return replace(assignment, items=len(assigned_items(assignment, catalogue)))
        except QuestionError as error:
            fields.problems.append(str(error))
    raise AssignmentError(*(f"{name}: {problem}" for problem in fields.problems))


def _taken(fields: Fields, catalogue: Catalogue) -> Assignment:
    """What the fields say; `fields.problems` says what is wrong with them."""
    assignment = Assignment(
        id=fields.needed("id", allowed.identity, "a short name such as thursday-horns"),
        title=fields.needed("title", allowed.line(LONGEST_TITLE), "a title in quotes"),
        note=fields.take("note", allowed.line(LONGEST_NOTE), ""),
        devices=fields.take("devices", allowed.devices(catalogue), ()),
        families=fields.take("families", allowed.families, ()),
        kinds=fields.take("kinds", allowed.kinds, ()),
        keys=fields.take("keys", allowed.keys, ()),
        tempo=fields.take("tempo", allowed.tempo, None),
        texture=fields.take("texture", allowed.texture, None),
        a_day=fields.take("a_day", allowed.a_day, USUAL_A_DAY),
        until=fields.take("until", allowed.until, None),
    )
    fields.finish()
    return assignment


def assigned_items(assignment: Assignment, catalogue: Catalogue) -> tuple[Item, ...]:
    """The material of an assignment, in the order of learning.

    Raises QuestionError when nothing is left: none of its rows can be asked in one of its kinds.
    """
    return items_within(limits(assignment, catalogue), catalogue)


def limits(assignment: Assignment, catalogue: Catalogue) -> Only:
    """What an assignment limits a round to: rows, kinds, keys and conditions.

    Raises QuestionError when nothing is left.
    """
    rows = tuple(
        row.id
        for row in learning_order(catalogue)
        if row.id in assignment.devices or family_name(row) in assignment.families
    )
    only = Only(
        assignment.kinds,
        rows,
        assignment.keys,
        given=Given(assignment.tempo, assignment.texture),
        assignment=assignment.id,
    )
    limited = bool(assignment.devices or assignment.families)
    try:
        if rows or not limited:
            items_within(only, catalogue)
            return only
    except QuestionError:
        pass  # told below, in the words of the file
    raise QuestionError(
        f"nothing of assignment '{assignment.id}' can be asked: none of its devices and families "
        "goes with one of its kinds; leave out kinds, or add devices"
    )


def how_far(assignment: Assignment, answers: Iterable[Answer], today: int) -> Progress:
    """How far a player has come on practice day `today`; answers to anything else are left out."""
    days: dict[int, int] = {}
    items: dict[Item, tuple[int, int]] = {}
    for answer in answers:
        if answer.assignment != assignment.id:
            continue
        days[answer.practice_day] = days.get(answer.practice_day, 0) + 1
        item = Item(answer.device, answer.kind)
        right, asked = items.get(item, (0, 0))
        items[item] = right + (answer.verdict == Verdict.RIGHT.value), asked + 1
    return Progress(
        today=days.get(today, 0),
        a_day=assignment.a_day,
        days_done=sum(count >= assignment.a_day for count in days.values()),
        days_left=_days_left(assignment.until, today),
        tallies=tuple(Tally(item, *items[item]) for item in sorted(items)),
    )


def _days_left(until: date | None, today: int) -> int | None:
    if until is None:
        return None
    return max(0, day_of(until) - today + 1)
