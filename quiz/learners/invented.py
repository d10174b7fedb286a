"""The invented player of the demonstration: eleven weeks of answers, given by a simulated learner.

The scenario is the project's own: a bass player who goes to a Thursday jam with a horn section, so
F, Bb, Eb and Ab come as often as E and A. The questions are the program's own, asked by its own
schedule; who answers them is a `Learner`. Every answer has the origin `INVENTED`, which no real
history takes in.

`play` makes the answers anew; `python -m demo.player` writes them into `FILE`, since that takes too
long for a start. `answers_up_to` reads them, moved by whole weeks so that they end yesterday.
"""

import json
import lzma
import random
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from quiz.answers import DAY_SECONDS, INVENTED, MICROSECONDS, Answer, AnswerIds
from quiz.clock import Moment
from quiz.errors import AnswerError, DemonstrationError
from quiz.history.tables import ADDED_LATER, ANSWER_COLUMNS, answer_of
from quiz.learners.learner import Learner, Traits
from quiz.learners.memory_models import Activation, When
from quiz.learning.memory import Item
from quiz.questions.kinds import KINDS, By
from quiz.settings.values import GUITAR_KEYS, HORN_KEYS, Settings, favouring

if TYPE_CHECKING:
    from engine.catalogue import Catalogue
    from quiz.coach import Coach
    from quiz.questions.value import Question

FILE = Path(__file__).parent / "invented.jsonl.xz"
"""The committed answers."""

SEED = 1959
MADE_BY = "0.2.0"
"""What stands as the version of the program in every answer: the file stays the same when that
rises."""

FIRST_DAY = (date(2025, 1, 6) - date(1970, 1, 1)).days
"""A Monday."""

WEEKS = 11
"""Ten whole weeks and the one that runs, of which only the past days are shown."""

KEYS = (*HORN_KEYS, *GUITAR_KEYS[:2])
"""What the jam with the horns plays most."""

A_DAY = (14, 34)
"""The fewest and the most questions of a day."""

EVENING = 19 * 3600 + 30 * 60
"""Seconds after midnight at which the player sits down."""

PAUSE = 22.0
"""Seconds from an answer to the next one, response time left out: listening and reading."""

TRAITS = Traits(skill=2.2, unlike=1.2, known_before=0.12, missed=0.22, key_trouble=0.3, seconds=5.0)


def settings() -> Settings:
    """What the invented player has set."""
    return replace(Settings(), welcomed=True, key_weights=favouring(KEYS))


def play(catalogue: "Catalogue", weeks: int = WEEKS) -> Iterator[Answer]:
    """The answers of the first weeks, each as soon as it is given; the same on every machine."""
    from quiz.coach import Coach
    from quiz.history.store import open_store

    learner, chance = Learner(Activation(), SEED, TRAITS), random.Random(SEED)
    clock, ids = _Clock(), AnswerIds(random.Random(SEED))
    with TemporaryDirectory() as folder, closing(open_store(Path(folder) / "history.db")) as store:
        store.name(INVENTED)
        unsaved = Path(folder) / "unsaved.jsonl"
        for day in range(weeks * 7):
            clock.begin(day)
            if not learner.comes(day):
                continue
            coach = Coach(
                catalogue, settings(), store, clock.now, unsaved, MADE_BY, random.Random(day)
            )
            for _ in range(chance.randint(*A_DAY)):
                _ask(coach, learner, clock, catalogue, chance)
        for answer in store.answers():
            yield replace(answer, id=ids.make(answer.at))


class _Clock:
    """The time of the invented player."""

    def __init__(self) -> None:
        self.when = When(0)

    def begin(self, day: int) -> None:
        """A day's practice begins."""
        self.when = When(day)

    def go_on(self, seconds: float) -> None:
        """Time passes."""
        self.when = When(self.when.day, self.when.second + seconds)

    def now(self) -> Moment:
        """The moment, of a clock that shows UTC."""
        seconds = (FIRST_DAY + self.when.day) * DAY_SECONDS + EVENING + self.when.second
        return Moment(round(seconds * MICROSECONDS), 0)


def _ask(
    coach: "Coach",
    learner: Learner,
    clock: _Clock,
    catalogue: "Catalogue",
    chance: random.Random,
) -> None:
    """One question, answered and kept."""
    from engine.notation import NoteNames
    from quiz.grading.lines import grade_nothing
    from quiz.grading.replies import grade_reply
    from quiz.session import Record

    following = coach.next()
    question = following.question
    item = Item(question.item, question.kind.value)
    response = learner.answer(item, clock.when, question.guess_rate, str(question.key.tonic))
    given = _reply(question, response.right, catalogue, chance)
    grade = grade_reply(question, given, NoteNames.ENGLISH, catalogue) if given else grade_nothing()
    again = 0 if response.remembered else chance.choice((0, 0, 1, 2))
    heard = KINDS[question.kind].heard
    clock.go_on(PAUSE + response.seconds)
    playings = min(1 + again, question.playings or 3) if heard else 0
    coach.record(
        Record(question, following.why, given, grade, response.seconds, playings, False, False)
    )


def _reply(question: "Question", right: bool, catalogue: "Catalogue", chance: random.Random) -> str:
    """What is given: the right answer, or one that a player could give for it; "" for none."""
    from quiz.grading.marking import NONE
    from quiz.grading.replies import right_reply

    answer = right_reply(question, catalogue)
    if right:
        return answer
    if chance.random() < 0.12:
        return ""
    by = KINDS[question.kind].answered
    if by is By.CHOICE:
        return chance.choice([pick for pick in question.picks if pick != answer])
    if by is By.TICKS:
        option = chance.choice(question.options)
        return " ".join(_turned(answer.split(), option, question.options)) or NONE
    if by is By.BARS:
        bars = {int(bar) for bar in answer.split() if bar.isdecimal()}
        return " ".join(map(str, sorted(bars ^ {chance.randrange(1, 9)}))) or NONE
    notes = answer.split()
    notes[chance.randrange(len(notes))] = chance.choice(notes)
    if chance.random() < 0.5 and len(notes) > 1:
        del notes[chance.randrange(len(notes))]
    return " ".join(notes)


def _turned(ticked: Sequence[str], one: str, options: Sequence[str]) -> list[str]:
    """The ticks with one option turned over, in the order of the options."""
    return [option for option in options if (option in ticked) != (option == one)]


# --- the file -----------------------------------------------------------------------------------


def as_lines(answers: Iterator[Answer]) -> Iterator[str]:
    """A line of JSON for each answer."""
    for answer in answers:
        row = asdict(answer) | {"id": answer.id.hex()}
        yield json.dumps(row, sort_keys=True, separators=(",", ":")) + "\n"


def read(path: Path = FILE) -> Iterator[Answer]:
    """The answers of the file.

    Raises DemonstrationError when it cannot be read.
    """
    try:
        with lzma.open(path, "rt", encoding="utf-8") as file:
            for line in file:
                row = ADDED_LATER | json.loads(line)
                row["id"] = bytes.fromhex(row["id"])
                yield answer_of(tuple(row[column] for column in ANSWER_COLUMNS))
    except (OSError, EOFError, lzma.LZMAError, ValueError, KeyError, AnswerError) as error:
        raise DemonstrationError(
            f"{path} cannot be read ({error}): install the program anew, or write the file with "
            "`python -m demo.player`"
        ) from error


def answers_up_to(yesterday: int) -> Iterator[Answer]:
    """The answers, moved by whole weeks so that the last whole week ends within a week before the
    practice day `yesterday`; what would lie behind that day is left out.

    Raises DemonstrationError when the file cannot be read.
    """
    weeks = (yesterday - (FIRST_DAY + (WEEKS - 1) * 7 - 1)) // 7
    ids = AnswerIds(random.Random(SEED))
    for answer in read(FILE):
        moved = answer.at + weeks * 7 * DAY_SECONDS * MICROSECONDS
        day = answer.practice_day + weeks * 7
        if day <= yesterday:
            yield replace(answer, at=moved, practice_day=day, id=ids.make(moved))
