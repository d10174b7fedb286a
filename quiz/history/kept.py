"""What is kept and whether it is sound: the copies there are, and a look through the history.

Beside the daily copies of `quiz.history.backups` there are two kinds: one is made before a merge or
an import, BEFORE_KEPT of those stay; and one when somebody asks for it, which stays for good.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from engine.errors import amount
from quiz.answers import INVENTED, Answer, Verdict, date_of
from quiz.errors import AnswerError, StoreError
from quiz.files import free_name
from quiz.history import cache
from quiz.history.backups import (
    asked_for,
    backups,
    before,
    number_of,
    problem_of,
    write_copy,
)
from quiz.history.counts import Heading
from quiz.history.database import Database, Progress
from quiz.history.schema import open_to_read
from quiz.history.store import Store, answers_in
from quiz.history.tables import SCHEMA
from quiz.learning.practice import Practice

BEFORE_KEPT = 3
"""Copies made before a merge or an import."""

DAILY, BEFORE, ASKED_FOR = "daily", "before a merge", "asked for"


class Copy(NamedTuple):
    """A copy of the history."""

    path: Path
    why: str
    """DAILY, BEFORE or ASKED_FOR."""

    answers: int | None
    """None when it is not sound."""

    problem: str
    """What is wrong with it; empty when nothing is."""


class Findings(NamedTuple):
    """What a look through the history has found."""

    path: Path
    problems: tuple[str, ...]
    """What is wrong, a line each, with what to do; none when it is sound."""

    answers: int = 0
    """Those that were taken back too."""

    taken_back: int = 0
    days: int = 0
    """Practice days with answers."""

    first_day: int | None = None
    last_day: int | None = None
    installations: int = 0
    """That recorded the answers."""

    format: int = 0
    """The version of the file's shape."""

    practice: str = ""
    """How what is kept beside the answers stands: HOLDS, BEHIND or WRONG."""


HOLDS, BEHIND, WRONG = "equals a replay", "is worked out at the next start", "was wrong"


# --- copies ---------------------------------------------------------------------------------------


def copies(folder: Path) -> Iterator[Copy]:
    """All copies there are in the folder, the daily ones first, newest first."""
    for why, paths in (
        (DAILY, backups(folder)),
        (BEFORE, before(folder)),
        (ASKED_FOR, asked_for(folder)),
    ):
        for path in paths:
            problem = problem_of(path)
            yield Copy(path, why, None if problem else answers_in(path), str(problem or ""))


def copy_asked_for(store: Store, folder: Path, day: int) -> Path:
    """Make a copy that stays for good; gives its path. Raises StoreUnwritable."""
    target = free_name(folder / f"asked-{date_of(day)}.db")
    write_copy(store, target)
    return target


def copy_before(store: Store, folder: Path) -> Path:
    """Make a copy before much is taken in, and let go of those but BEFORE_KEPT; gives its path.

    Raises StoreUnwritable.
    """
    number = max(map(number_of, before(folder)), default=0) + 1
    target = folder / f"before-{number:06}.db"
    write_copy(store, target)
    for old in before(folder)[BEFORE_KEPT:]:
        with suppress(OSError):  # one too many does no harm
            old.unlink()
    return target


# --- a look through the history -------------------------------------------------------------------


def look_through(path: Path, progress: Progress | None = None) -> Findings:
    """Whether every page of the history is sound, every answer can be read, and what is kept beside
    the answers follows from them. Nothing is written, nothing is raised."""
    try:
        database = open_to_read(path, SCHEMA, whole=True)
    except StoreError as error:
        return Findings(path, (f"{error}: `lastbar keep restore` brings back what can be",))
    try:
        return _looked_through(database, path, progress)
    except (StoreError, AnswerError) as error:
        return Findings(path, (f"{error}: `lastbar keep restore` brings back what can be",))
    finally:
        database.close()


def _looked_through(database: Database, path: Path, progress: Progress | None) -> Findings:
    rows = database.rows(
        "SELECT count(*), count(DISTINCT practice_day), min(practice_day), max(practice_day), "
        "count(DISTINCT origin), ifnull(sum(origin = ?), 0) FROM answer",
        (INVENTED,),
    )
    answers, days, first, last, installations, invented = rows[0]
    problems = []
    if invented:
        problems.append(
            f"{amount(invented, 'answer in it is', 'answers in it are')} invented, as a "
            "demonstration makes them: "
            "`lastbar keep export FILE`, `lastbar keep fresh` and `lastbar keep import FILE` "
            "leave them out"
        )
    format_ = database.value("PRAGMA user_version")
    found = Findings(path, tuple(problems), answers, 0, days, first, last, installations, format_)
    if format_ < SCHEMA.version:  # it has no undos yet, and the next start makes the rest anew
        return found._replace(practice=BEHIND)
    store = Store(database)
    tallies = Counter[tuple[Heading, str, bool]]()
    replayed = Practice.replayed(_tallied(_told(store, progress), tallies))
    if not _counts_hold(store, tallies):
        problems.append(
            "the counted scores do not follow from the answers: `lastbar keep export FILE`, "
            "`lastbar keep fresh` and `lastbar keep import FILE` count them anew"
        )
    practice = _practice(database, replayed)
    if practice == WRONG:
        problems.append("what was kept beside the answers did not follow from them")
    return found._replace(
        taken_back=answers - store.count(), practice=practice, problems=tuple(problems)
    )


def _told(store: Store, progress: Progress | None) -> Iterator[Answer]:
    total = max(1, store.count())
    for number, answer in enumerate(store.answers()):
        if progress is not None and number % 1000 == 0:
            progress(min(1.0, number / total))
        yield answer


def _tallied(
    answers: Iterable[Answer], tallies: Counter[tuple[Heading, str, bool]]
) -> Iterator[Answer]:
    """The answers, counted by every heading on their way."""
    for answer in answers:
        right = answer.verdict == Verdict.RIGHT.value
        for heading in Heading:
            tallies[heading, str(getattr(answer, heading.value)), right] += 1
        yield answer


def _counts_hold(store: Store, tallies: Counter[tuple[Heading, str, bool]]) -> bool:
    kept = Counter[tuple[Heading, str, bool]]()
    for heading in Heading:
        for group in store.counted(heading):
            kept[heading, group.name, True] = group.right
            kept[heading, group.name, False] = group.answers - group.right
    return +kept == tallies


def _practice(database: Database, replayed: Practice) -> str:
    if cache.covered(database) != cache.position(database):
        return BEHIND
    return HOLDS if cache.load(database) == replayed else WRONG
