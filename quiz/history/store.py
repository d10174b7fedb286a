"""The history: all answers, and what has been worked out from them.

The answers and the undos are the truth and are only ever added to. Item states, key tallies and
reaches are a cache: they are written with each answer, caught up when another instance of the
program has written meanwhile, and made anew by replay when the rules have changed, an answer came
in late or one among others was taken back. One answer is one transaction, on disk before `append`
returns; so is one undo.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import Any, TypeVar

from quiz.answers import INVENTED, Answer, Past, Verdict, new_origin
from quiz.errors import StoreError, StoreUnwritable
from quiz.history import cache, counts
from quiz.history.counts import Confusion, Group, Heading
from quiz.history.database import Database, Progress
from quiz.history.schema import open_database, open_to_read
from quiz.history.tables import (
    INSERT_ANSWER,
    INSERT_UNDO,
    SCHEMA,
    SELECT_ANSWERS,
    SELECT_PAST,
    SELECT_UNDOS,
    STANDS,
    answer_of,
    answer_row,
    note,
    past_of,
    select_answers_of,
    set_note,
    undo_of,
    undo_row,
)
from quiz.history.undo import Records, Undo
from quiz.learning.practice import Practice

PAGE = 1000
"""Answers read at a time; nothing is locked between two pages."""

_ORIGIN = "origin"

Row = tuple[Any, ...]
Read = TypeVar("Read", Answer, Past)


def _untold(share: float) -> None:
    """Nobody wants to know."""


class Store:
    """An open history. Use it from one thread."""

    def __init__(self, database: Database, lasts: bool = True) -> None:
        """Use `open_store` or `memory_store`."""
        self.lasts = lasts
        """Whether it outlives the program."""
        self._database = database
        self._held: cache.Position | None = None  # how far the practice given out goes
        self._limited: tuple[int, cache.Position, Practice] | None = None
        """The last day that counts, how far the history went, and the practice of that."""
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
            now = cache.position(database)
            in_order = cache.newest_moment(database, now.answer) < (answer.at, answer.id)
            current = held == now == cache.covered(database)
            if not database.run(INSERT_ANSWER, answer_row(answer)):
                return
            counts.count_added(database, now.answer)
            if current and in_order and self.find(answer.id):
                held = cache.position(database)
                cache.save_one(database, practice, answer, held)
        self._held = held

    def undo(self, undo: Undo, practice: Practice | None = None) -> None:
        """Take an answer back. It is on disk when this returns.

        The answer stays in the file, and may come into it later than its undo. `practice`, if
        known, is the practice without it: then no replay is needed, provided the answer was the
        newest. Raises as `append` does.
        """
        held, self._held = self._held, None
        database = self._database
        with database.atomic():
            now, answer = cache.position(database), self.find(undo.answer)
            current = held == now == cache.covered(database)
            newest = answer is not None and self.newest() == answer
            self._add_undo(undo)
            if practice is not None and answer is not None and current and newest:
                held = cache.position(database)
                cache.save_one(database, practice, answer, held)
        self._held = held

    def take_in(self, answers: Iterable[Answer], undos: Iterable[Undo] = ()) -> tuple[int, int]:
        """Keep many answers and undos in one transaction; those that are there are passed over.

        Gives how many answers and how many undos were new. Their order is of no matter.
        """
        database = self._database
        with database.atomic():
            last = cache.position(database).answer
            new = sum(database.run(INSERT_ANSWER, answer_row(answer)) for answer in answers)
            counts.count_added(database, last)
            return new, sum(map(self._add_undo, undos))

    def answers(
        self,
        since_day: int | None = None,
        until_day: int | None = None,
        device: str | None = None,
        kind: str | None = None,
        key: str | None = None,
        assignment: str | None = None,
    ) -> Iterator[Answer]:
        """Answers in the order of (time, id), but for those that were taken back; both days belong
        to the range."""
        limits = {
            "practice_day >= ?": since_day,
            "practice_day <= ?": until_day,
            "device = ?": device,
            "kind = ?": kind,
            "key = ?": key,
            "assignment = ?": assignment,
        }
        given = {test: value for test, value in limits.items() if value is not None}
        return self._paged(" AND ".join([STANDS, *given]), list(given.values()))

    def every_answer(self) -> Iterator[Answer]:
        """All answers in the order of (time, id), those that were taken back too."""
        return self._paged("true", [])

    def undos(self) -> Iterator[Undo]:
        """All undos in the order of (time, id)."""
        return map(undo_of, self._database.rows(SELECT_UNDOS + " ORDER BY at, id"))

    def records(self) -> Records:
        """Everything the history consists of."""
        return Records(tuple(self.every_answer()), tuple(self.undos()))

    def latest(
        self,
        count: int,
        before: Answer | None = None,
        device: str | None = None,
        kind: str | None = None,
        key: str | None = None,
        wrong_only: bool = False,
    ) -> tuple[Answer, ...]:
        """The newest `count` answers, newest first, but for those that were taken back.

        `before` is the oldest that is known already: those that come before it are given.
        """
        limits = {
            "(at, id) < (?, ?)": before and (before.at, before.id),
            "device = ?": device and (device,),
            "kind = ?": kind and (kind,),
            "key = ?": key and (key,),
            "verdict <> ?": (Verdict.RIGHT.value,) if wrong_only else None,
        }
        given = {test: values for test, values in limits.items() if values}
        rows = self._database.rows(
            f"{SELECT_ANSWERS} WHERE {' AND '.join([STANDS, *given])} "
            "ORDER BY at DESC, id DESC LIMIT ?",
            [*(value for values in given.values() for value in values), count],
        )
        return tuple(map(answer_of, rows))

    def find(self, answer: bytes) -> Answer | None:
        """The answer with an id; None when there is none, or it was taken back."""
        rows = self._database.rows(f"{SELECT_ANSWERS} WHERE id = ? AND {STANDS}", (answer,))
        return answer_of(rows[0]) if rows else None

    def known(self, ids: Sequence[bytes]) -> dict[bytes, Answer | Undo]:
        """Which of some ids there are already, and what stands under them; those that were taken
        back too."""
        marks = ", ".join("?" * len(ids))
        answers = self._database.rows(f"{SELECT_ANSWERS} WHERE id IN ({marks})", ids)
        undos = self._database.rows(f"{SELECT_UNDOS} WHERE id IN ({marks})", ids)
        records: list[Answer | Undo] = [*map(answer_of, answers), *map(undo_of, undos)]
        return {record.id: record for record in records}

    def count(self) -> int:
        """How many answers there are, but for those that were taken back."""
        return int(
            self._database.value(
                "SELECT (SELECT count(*) FROM answer) - (SELECT count(*) FROM answer "
                "WHERE id IN (SELECT answer FROM undone))"
            )
        )

    def practice(self, progress: Progress = _untold, until: int | None = None) -> Practice:
        """States and tallies as they stand now, answers of other instances included.

        `progress` is told how far a replay is, if there has to be one. Answers of practice days
        after `until` are left out, see `quiz.learning.practice.counted_until`; where there are any,
        all others are replayed the first time.
        """
        left_out = None if until is None else self._first_day_after(until)
        if left_out is not None:
            return self._practice_until(left_out - 1, progress)
        with self._database.snapshot():
            now = cache.position(self._database)
            behind = cache.covered(self._database) != now
            practice = cache.load(self._database)
        if practice is None:
            practice = self._replayed(now, progress)
        if behind:
            self._save_cache(practice, now)
        self._held = now
        return practice

    def _first_day_after(self, day: int) -> int | None:
        """The first practice day after one that has answers."""
        found = self._database.value(
            "SELECT min(practice_day) FROM answer WHERE practice_day > ?", (day,)
        )
        return None if found is None else int(found)

    def _practice_until(self, day: int, progress: Progress) -> Practice:
        """The practice without what lies after a day. It is kept as long as the history is open, so
        that one replay is enough, and never goes into the cache as if it were all."""
        self._held, practice = None, None
        with self._database.snapshot():
            now = cache.position(self._database)
            if self._limited is not None and self._limited[0] == day:
                _, known, held = self._limited
                practice = cache.caught_up(self._database, held, known, day)
        if practice is None:
            practice = self._replayed(now, progress, day)
        self._limited = day, now, practice
        return practice

    def counted(self, heading: Heading, since_day: int | None = None) -> tuple[Group, ...]:
        """Answers counted under each name of a heading, in the order of the names or days."""
        return counts.counted(self._database, heading, since_day)

    def confusions(self, since_day: int | None = None) -> tuple[Confusion, ...]:
        """How often one row was taken for another, most frequent first."""
        return counts.confusions(self._database, since_day)

    def forget_practice(self) -> None:
        """Let what is kept beside the answers be worked out anew, the next time it is asked for."""
        self._held = None
        with self._database.atomic():
            cache.forget(self._database)

    def newest(self) -> Answer | None:
        """The answer that was given last and stands, None when there is none."""
        return next(iter(self.latest(1)), None)

    def copy_into(self, target: Path, progress: Progress | None = None) -> None:
        """Write a whole, compact copy to `target`, which must not exist; on disk at the end.

        Raises StoreUnwritable when it cannot be written.
        """
        self._database.copy_into(target, progress)

    def name(self, origin: str) -> None:
        """Give the history another origin, for all answers from now on."""
        with self._database.atomic():
            set_note(self._database, _ORIGIN, origin)
        self.origin = origin

    def close(self) -> None:
        """Close the file."""
        self._database.close()

    def _add_undo(self, undo: Undo) -> bool:
        """Put an undo into the file, and its answer out of the counts; whether it was new."""
        new = bool(self._database.run(INSERT_UNDO, undo_row(undo)))
        times = self._database.value("SELECT count(*) FROM undone WHERE answer = ?", (undo.answer,))
        if new and times == 1:
            counts.take_off(self._database, undo.answer)
        return new

    def _paged(self, where: str, values: list[object]) -> Iterator[Answer]:
        return chain.from_iterable(self._pages(SELECT_ANSWERS, answer_of, where, values))

    def _pages(
        self, select: str, read: Callable[[Row], Read], where: str, values: Sequence[object]
    ) -> Iterator[list[Read]]:
        """Answers in the order of (time, id), PAGE at a time."""
        after: tuple[int, bytes] = (-1, b"")
        while True:
            rows = self._database.rows(
                f"{select} WHERE (at, id) > (?, ?) AND {where} ORDER BY at, id LIMIT ?",
                [*after, *values, PAGE],
            )
            page = [read(row) for row in rows]
            yield page
            if len(page) < PAGE:
                return
            after = page[-1].at, page[-1].id

    def _replayed(
        self, up_to: cache.Position, progress: Progress, until: int = cache.LAST_DAY
    ) -> Practice:
        """From the answers and undos up to a position: what comes meanwhile changes nothing, so
        nothing has to be locked."""
        where = (
            "seq <= ? AND NOT EXISTS "
            "(SELECT 1 FROM undone WHERE undone.answer = answer.id AND undone.seq <= ?) "
            "AND practice_day <= ?"
        )
        pages = self._pages(SELECT_PAST, past_of, where, [*up_to, until])
        return Practice.replayed(_telling(pages, up_to.answer, progress))

    def _save_cache(self, practice: Practice, held: cache.Position) -> None:
        try:
            with self._database.atomic():
                cache.save_all(self._database, practice, held)
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


def _telling(pages: Iterable[list[Past]], total: int, progress: Progress) -> Iterator[Past]:
    read = 0
    for page in pages:
        progress(read / max(1, total))
        yield from page
        read += len(page)


def open_store(path: Path, progress: Progress | None = None) -> Store:
    """Open the history, made new if there is none.

    `progress` is told how far things are when the file has to be brought to a new version.

    Raises StoreDamaged for a file that is no sound history, StoreTooNew for one that a newer
    version wrote (both before any write), StoreUnwritable when it cannot be made or opened.
    """
    database = open_database(path, SCHEMA, progress)
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


def records_in(path: Path) -> Iterator[Answer | Undo]:
    """All answers and undos of a sound history of any version, never writing to it. Raises
    StoreError."""
    database = open_to_read(path, SCHEMA)
    try:
        rows = database.rows("SELECT name FROM pragma_table_info('answer')")
        for row in database.stream(select_answers_of({row[0] for row in rows})):
            yield answer_of(row)
        if database.rows("SELECT 1 FROM pragma_table_info('undone') LIMIT 1"):
            yield from map(undo_of, database.stream(SELECT_UNDOS))
    finally:
        database.close()


def answers_in(path: Path) -> int:
    """How many answers a sound history of any version holds, those that were taken back too; never
    writing to it. Raises StoreError."""
    return _number_in(path, "SELECT count(*) FROM answer")


def invented_in(path: Path) -> int:
    """How many of them no player gave. Raises StoreError."""
    return _number_in(path, "SELECT count(*) FROM answer WHERE origin = ?", INVENTED)


def _number_in(path: Path, sql: str, *values: object) -> int:
    database = open_to_read(path, SCHEMA)
    try:
        return int(database.value(sql, values))
    finally:
        database.close()
