"""Two histories put together: the union of two sets of answers and undos, and a replay.

What comes first or twice makes no difference. The other side is another machine's history or a file
of answers; it is only read. Nothing that is here is changed: under an id that both have, what is
here stays, and it is told where the two differ. Records of the origin INVENTED, which a
demonstration makes, are left out.
"""

import stat
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import Protocol, TypeVar

from engine.errors import printable
from quiz.answers import INVENTED, Answer
from quiz.errors import AnswerError, ExchangeError, StoreDamaged, StoreUnwritable
from quiz.files import DATABASE
from quiz.history.database import Progress
from quiz.history.exchange import ExportFile
from quiz.history.store import Store, answers_in, records_in
from quiz.history.undo import Undo

BATCH = 500
"""Records in one transaction: other instances wait no longer than that takes."""

Item = TypeVar("Item")


class Source(Protocol):
    """Where records come from."""

    @property
    def path(self) -> Path:
        """The file."""

    def records(self, progress: Progress | None = None) -> Iterator[Answer | Undo]:
        """All of them, in any order."""


class OtherHistory:
    """Another history, of any version of the program."""

    def __init__(self, path: Path) -> None:
        """Raises ExchangeError when it is no sound history, or cannot be read."""
        self.path = path
        with _told(path):
            self._total = answers_in(path)

    def records(self, progress: Progress | None = None) -> Iterator[Answer | Undo]:
        """All answers and undos. Raises ExchangeError when they cannot be read to the end."""
        with _told(self.path):
            for number, record in enumerate(records_in(self.path)):
                if progress is not None and number % BATCH == 0:
                    progress(min(1.0, number / max(1, self._total)))
                yield record


@dataclass
class Coming:
    """What a source brings, counted."""

    answers: int = 0
    """New ones."""

    undos: int = 0
    """New ones."""

    known: int = 0
    """Records that are here already."""

    differing: int = 0
    """Records whose id is here already, and something else under it: left out."""

    invented: int = 0
    """Records of a demonstration: left out."""

    first_day: int | None = None
    """Of the new answers."""

    last_day: int | None = None
    origins: Counter[str] = field(default_factory=Counter)
    """The new answers by the installation that recorded them."""

    @property
    def new(self) -> int:
        """New records."""
        return self.answers + self.undos


def source_of(path: Path) -> Source:
    """The history or the file of answers at a path. Raises ExchangeError when it is neither."""
    place = printable(str(path))
    try:
        if stat.S_ISFIFO(path.stat().st_mode):  # to open it would be to wait for somebody
            raise ExchangeError(f"{place} is no plain file: give one")
        with path.open("rb") as file:
            head = file.read(len(DATABASE))
    except OSError as error:
        raise ExchangeError(
            f"{place} cannot be read ({error.strerror}): give a history or a file of answers"
        ) from error
    return OtherHistory(path) if head == DATABASE else ExportFile(path)


def foresee(store: Store, source: Source, progress: Progress | None = None) -> Coming:
    """What a merge would take in. Nothing is written."""
    return _gone_through(store, source, progress, keep=False)


def merge(store: Store, source: Source, progress: Progress | None = None) -> Coming:
    """Take in what the source has; gives what came in.

    When it breaks off, what is in is in, and doing it again does the rest. Raises ExchangeError
    when the source cannot be read to its end, StoreError when the history takes no more.
    """
    return _gone_through(store, source, progress, keep=True)


def _gone_through(store: Store, source: Source, progress: Progress | None, keep: bool) -> Coming:
    coming, seen = Coming(), dict[bytes, int]()
    for batch in _batches(source.records(progress)):
        ids = [record.id for record in batch]
        known = {id_: hash(record) for id_, record in store.known(ids).items()}
        known |= {id_: seen[id_] for id_ in ids if id_ in seen}
        fresh = [record for record in batch if _is_new(record, known, coming)]
        answers = [record for record in fresh if isinstance(record, Answer)]
        undos = [record for record in fresh if isinstance(record, Undo)]
        _count(answers, undos, coming)
        if keep:
            store.take_in(answers, undos)
        else:
            seen.update((record.id, hash(record)) for record in fresh)
    return coming


def _is_new(record: Answer | Undo, known: dict[bytes, int], coming: Coming) -> bool:
    """Whether a record is to be taken in; what is not is counted. `known` holds those seen."""
    if record.origin == INVENTED:
        coming.invented += 1
    elif record.id not in known:
        known[record.id] = hash(record)
        return True
    elif known[record.id] == hash(record):
        coming.known += 1
    else:
        coming.differing += 1
    return False


def _count(answers: Sequence[Answer], undos: Sequence[Undo], coming: Coming) -> None:
    coming.answers += len(answers)
    coming.undos += len(undos)
    coming.origins.update(answer.origin for answer in answers)
    days = [answer.practice_day for answer in answers]
    days += [day for day in (coming.first_day, coming.last_day) if day is not None]
    if days:
        coming.first_day, coming.last_day = min(days), max(days)


def _batches(records: Iterator[Item]) -> Iterator[list[Item]]:
    while batch := list(islice(records, BATCH)):
        yield batch


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Say of the other history what is said of one's own, without what does not fit it."""
    place = printable(str(path))
    try:
        yield
    except (StoreDamaged, AnswerError) as error:
        raise ExchangeError(
            f"{place} is no sound history ({error}): give another file, or mend it on its machine "
            "with `lastbar keep restore`, then merge that"
        ) from error
    except StoreUnwritable as error:
        raise ExchangeError(
            f"{place} cannot be read ({error}): close the program that writes it, or give a copy "
            "in a folder of this machine"
        ) from error
