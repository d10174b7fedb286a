"""The history: all answers, and what has been worked out from them.

The answers are the truth and are only ever added to. Item states, key tallies and reaches are a
cache: they are written with each answer, caught up when another instance of the program has written
meanwhile, and made anew by replay when the rules have changed or an answer came in late. One answer
is one transaction, on disk before `append` returns.
"""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from quiz.answers import LONGEST_RESPONSE, Answer, Verdict, new_origin
from quiz.errors import AnswerError, StoreError, StoreUnwritable
from quiz.history import cache
from quiz.history.database import Access, Database
from quiz.history.schema import open_database, open_to_read
from quiz.history.tables import (
    INSERT_ANSWER,
    SCHEMA,
    SELECT_ANSWERS,
    Confusion,
    Group,
    Heading,
    answer_of,
    answer_row,
    note,
    select_answers_of,
    set_note,
)
from quiz.practice import Practice

PAGE = 1000
"""Answers read at a time; nothing is locked between two pages."""

_ORIGIN = "origin"


class Store:
    """An open history. Use it from one thread."""

    def __init__(self, database: Database, lasts: bool = True) -> None:
        """Use `open_store` or `memory_store`."""
        self.lasts = lasts
        """Whether it outlives the program."""
        self._database = database
        self._held: int | None = None  # the last answer that the practice given out holds
        self.origin = self._named()

    def append(self, answer: Answer, practice: Practice) -> None:
        """Keep an answer. It is on disk when this returns.

        `practice` is what `practice()` gave, with this answer and all since taken into it. An
        answer whose id is there already is passed over. Raises StoreUnwritable when the disk is
        full or nothing may be written, StoreError when another program holds the file too long.
        """
        held, self._held = self._held, None  # when this fails, `practice` knows more than the file
        database = self._database
        with database.atomic():
            last = cache.last_answer(database)
            in_order = cache.newest_moment(database, last) < (answer.at, answer.id)
            current = held == last == cache.covered(database)
            if not database.run(INSERT_ANSWER, answer_row(answer)):
                return
            if current and in_order:
                held = cache.last_answer(database)
                cache.save_one(database, practice, answer, held)
        self._held = held

    def add_all(self, answers: Iterable[Answer]) -> None:
        """Keep many answers in one transaction; those that are there already are passed over."""
        with self._database.atomic():
            for answer in answers:
                self._database.run(INSERT_ANSWER, answer_row(answer))

    def answers(
        self,
        since_day: int | None = None,
        until_day: int | None = None,
        device: str | None = None,
        kind: str | None = None,
        key: str | None = None,
        assignment: str | None = None,
    ) -> Iterator[Answer]:
        """Answers in the order of (time, id); both days belong to the range."""
        limits = {
            "practice_day >= ?": since_day,
            "practice_day <= ?": until_day,
            "device = ?": device,
            "kind = ?": kind,
            "key = ?": key,
            "assignment = ?": assignment,
        }
        given = {test: value for test, value in limits.items() if value is not None}
        return self._paged(" AND ".join(["(at, id) > (?, ?)", *given]), list(given.values()))

    def count(self) -> int:
        """How many answers there are."""
        return int(self._database.value("SELECT count(*) FROM answer"))

    def practice(self) -> Practice:
        """States and tallies as they stand now, answers of other instances included."""
        with self._database.snapshot():
            last = cache.last_answer(self._database)
            behind = cache.covered(self._database) != last
            practice = cache.load(self._database) or Practice.replayed(self.answers())
        if behind:
            self._save_cache(practice, last)
        self._held = last
        return practice

    def counted(self, heading: Heading, since_day: int | None = None) -> tuple[Group, ...]:
        """Answers counted under each name of a heading, in the order of the names."""
        column = heading.value
        rows = self._database.rows(
            f"SELECT {column}, count(*), sum(verdict = ?), "
            "avg(CASE WHEN verdict = ? AND seconds > 0 THEN min(seconds, ?) END) "
            f"FROM answer WHERE practice_day >= ? GROUP BY {column} ORDER BY {column}",
            (Verdict.RIGHT.value, Verdict.RIGHT.value, LONGEST_RESPONSE, _from_day(since_day)),
        )
        return tuple(Group(str(name), *numbers) for name, *numbers in rows)

    def confusions(self, since_day: int | None = None) -> tuple[Confusion, ...]:
        """How often one row was taken for another, most frequent first."""
        rows = self._database.rows(
            "SELECT device, chosen, count(*) AS times FROM answer "
            "WHERE chosen <> '' AND practice_day >= ? "
            "GROUP BY device, chosen ORDER BY times DESC, device, chosen",
            (_from_day(since_day),),
        )
        return tuple(Confusion(*row) for row in rows)

    def newest(self) -> Answer | None:
        """The answer that was given last, None when there is none."""
        rows = self._database.rows(SELECT_ANSWERS + " ORDER BY at DESC, id DESC LIMIT 1")
        return answer_of(rows[0]) if rows else None

    def copy_into(self, target: Path) -> None:
        """Write a whole, compact copy to `target`, which must not exist; on disk at the end.

        Raises StoreUnwritable when it cannot be written.
        """
        self._database.copy_into(target)

    def name(self, origin: str) -> None:
        """Give the history another origin, for all answers from now on."""
        with self._database.atomic():
            set_note(self._database, _ORIGIN, origin)
        self.origin = origin

    def close(self) -> None:
        """Close the file."""
        self._database.close()

    def _paged(self, where: str, values: list[object]) -> Iterator[Answer]:
        after: tuple[int, bytes] = (-1, b"")
        while True:
            rows = self._database.rows(
                f"{SELECT_ANSWERS} WHERE {where} ORDER BY at, id LIMIT ?",
                [*after, *values, PAGE],
            )
            answers = [answer_of(row) for row in rows]
            yield from answers
            if len(answers) < PAGE:
                return
            after = answers[-1].at, answers[-1].id

    def _save_cache(self, practice: Practice, last: int) -> None:
        try:
            with self._database.atomic():
                if cache.last_answer(self._database) == last:
                    cache.save_all(self._database, practice, last)
        except StoreUnwritable:
            return  # a history that can only be read is worked out again at every start

    def _named(self) -> str:
        """The name of this installation, given once and for all."""
        known = note(self._database, _ORIGIN)
        if known:
            return known
        try:
            with self._database.atomic():
                known = note(self._database, _ORIGIN) or new_origin()
                set_note(self._database, _ORIGIN, known)
        except StoreUnwritable:
            return new_origin()  # a history that can only be read: the name lasts for this run
        return known


def open_store(path: Path) -> Store:
    """Open the history, made new if there is none.

    Raises StoreDamaged for a file that is no sound history, StoreTooNew for one that a newer
    version wrote (both before any write), StoreUnwritable when it cannot be made or opened.
    """
    database = open_database(path, SCHEMA)
    try:
        return Store(database)
    except BaseException:
        database.close()
        raise


def memory_store() -> Store:
    """A history that is gone when the program ends; for when there is no place to keep one."""
    return Store(open_database(None, SCHEMA), lasts=False)


def diagnose(path: Path) -> StoreError | None:
    """What keeps a history from being opened; None when nothing does. Nothing is written."""
    try:
        open_to_read(path, SCHEMA).close()
    except StoreError as error:
        return error
    return None


def readable_answers(path: Path) -> tuple[Answer, ...]:
    """The answers that can still be read in a damaged history, from both ends towards the damage.

    Nothing is written, and nothing is raised: where nothing can be read there are none.
    """
    found: dict[bytes, Answer] = {}
    for order in ("ASC", "DESC"):
        try:
            database = Database(path, Access.FROZEN)
        except StoreError:
            return ()
        try:
            columns = {
                row[0] for row in database.rows("SELECT name FROM pragma_table_info('answer')")
            }
            select = select_answers_of(columns)
            for row in database.stream(f"{select} NOT INDEXED ORDER BY seq {order}"):
                with suppress(AnswerError):
                    answer = answer_of(row)
                    found.setdefault(answer.id, answer)
        except StoreError:
            continue  # this is where the damage begins
        finally:
            database.close()
    return tuple(found.values())


def _from_day(day: int | None) -> int:
    return -(2**31) if day is None else day
