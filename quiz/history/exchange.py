"""Answers as an open text: written whole, and read line by line, bad lines told and passed over.

`quiz.history.exchange_fields` explains the format.
"""

import json
import os
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import chain
from pathlib import Path
from typing import BinaryIO, NamedTuple, NoReturn

from engine.errors import printable
from quiz.answers import Answer
from quiz.errors import AnswerError, ExchangeError
from quiz.history.database import Progress
from quiz.history.exchange_fields import END, FORMAT, VERSION, read, unknown_fields, written
from quiz.history.store import Store
from quiz.history.undo import Undo
from quiz.version import VERSION as PROGRAM

LONGEST_LINE = 1_000_000
"""Bytes. The longest that this program writes is about 10,000."""

BAD_LINES_TOLD = 20
"""Bad lines that are named one by one; the others are counted."""

_BEAT = 1000
"""Records between two beats of a progress."""

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class Exported(NamedTuple):
    """What was written."""

    answers: int
    """Those that were taken back too."""

    undos: int


class BadLine(NamedTuple):
    """A line that holds no record, and why."""

    number: int
    says: str


def export(store: Store, target: Path, progress: Progress | None = None) -> Exported:
    """Write everything that the history consists of to `target`, on disk when this returns.

    Whatever stands there is a whole file, old or new; a symbolic link is replaced. Raises
    ExchangeError when it cannot be written.
    """
    partial = target.with_name(f".{target.name}.{os.getpid()}.part")
    done = Exported(0, 0)
    try:
        with partial.open("xb") as file:
            file.write(_line({"format": FORMAT, "version": VERSION, "program": PROGRAM}))
            for record in _telling(chain(store.every_answer(), store.undos()), store, progress):
                file.write(_line(written(record)))
                done = _counted(done, record)
            file.write(_line({"record": END, **done._asdict()}))
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, target)
    except OSError as error:
        raise ExchangeError(
            f"{printable(str(target))} cannot be written ({error.strerror}): give a folder you may "
            "write to, and check that the disk has room"
        ) from error
    finally:
        with suppress(OSError):
            partial.unlink()
    return done


def _telling(
    records: Iterable[Answer | Undo], store: Store, progress: Progress | None
) -> Iterator[Answer | Undo]:
    total = max(1, store.count())
    for number, record in enumerate(records):
        if progress is not None and number % _BEAT == 0:
            progress(min(1.0, number / total))
        yield record


def _counted(done: Exported, record: Answer | Undo) -> Exported:
    if isinstance(record, Answer):
        return Exported(done.answers + 1, done.undos)
    return Exported(done.answers, done.undos + 1)


def _line(row: dict[str, object]) -> bytes:
    return json.dumps(row, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


class ExportFile:
    """A file of answers that is read line by line; what was wrong with it is known afterwards."""

    def __init__(self, path: Path) -> None:
        """Looks at the head. Raises ExchangeError when it is no such file, or too new."""
        self.path = path
        self.bad: list[BadLine] = []
        """The first BAD_LINES_TOLD bad lines."""
        self.bad_lines = 0
        """How many there are."""
        self.unknown: Counter[str] = Counter()
        """Fields that were left out, and in how many lines."""
        self.end = ""
        """What is wrong with the end of the file; empty when nothing is."""
        with self._opened() as file:
            self._check_head(file.readline(LONGEST_LINE))

    def records(self, progress: Progress | None = None) -> Iterator[Answer | Undo]:
        """The records of the good lines. What is wrong is counted anew each time."""
        self.bad, self.bad_lines, self.unknown = [], 0, Counter()
        done, said = Exported(0, 0), dict[str, object]()
        size = max(1, self.path.stat().st_size)
        with self._opened() as file:
            file.readline(LONGEST_LINE)
            for number, line in _lines(file):
                if progress is not None and number % _BEAT == 2:  # the first line that is read
                    progress(file.tell() / size)
                try:
                    row = _parsed(line)
                    if row.get("record") == END:
                        said = row
                        continue
                    record = read(row)
                except (ExchangeError, AnswerError) as error:
                    self._note(BadLine(number, str(error)))
                    continue
                self.unknown.update(unknown_fields(row))
                done = _counted(done, record)
                yield record
        self.end = _compared(said, done, self.bad_lines)

    def _opened(self) -> BinaryIO:
        try:
            if not self.path.is_file():
                raise ExchangeError(f"{self._name} is no plain file: give one")
            return self.path.open("rb")
        except OSError as error:
            raise ExchangeError(
                f"{self._name} cannot be read ({error.strerror}): give a file you may read"
            ) from error

    def _check_head(self, line: bytes) -> None:
        try:
            head = _parsed(line.removeprefix(_BYTE_ORDER_MARK))
        except ExchangeError:
            head = {}
        version = head.get("version")
        if head.get("format") != FORMAT or type(version) is not int or version < 1:
            raise ExchangeError(
                f'{self._name} is no file of answers: its first line must be {{"format": '
                f'"{FORMAT}", "version": {VERSION}}}, as `lastbar keep export` writes it'
            )
        if version > VERSION:
            raise ExchangeError(
                f"{self._name} was written by a newer version of lastbar (format {version}, this "
                f"one knows {VERSION}): update the program"
            )

    def _note(self, line: BadLine) -> None:
        self.bad_lines += 1
        if len(self.bad) < BAD_LINES_TOLD:
            self.bad.append(line)

    @property
    def _name(self) -> str:
        return printable(str(self.path))


def _lines(file: BinaryIO) -> Iterator[tuple[int, bytes]]:
    """The lines from the second on with their numbers, but for empty ones; of one that is too long
    the first LONGEST_LINE + 1 bytes."""
    number = 1
    while line := file.readline(LONGEST_LINE + 1):
        number += 1
        rest = line
        while not rest.endswith(b"\n") and (rest := file.readline(LONGEST_LINE)):
            pass  # the line goes on
        if line.strip():
            yield number, line


def _parsed(line: bytes) -> dict[str, object]:
    """The object of a line. Raises ExchangeError."""
    if len(line) > LONGEST_LINE:
        raise ExchangeError(f"it is too long: a line may have {LONGEST_LINE} bytes")
    try:
        row = json.loads(line.decode("utf-8"), parse_constant=_no_number)
    except UnicodeDecodeError as error:
        raise ExchangeError(f"it is no text in UTF-8 (byte {error.start + 1})") from error
    except (ValueError, RecursionError) as error:
        raise ExchangeError("it is no JSON, or has been cut short") from error
    if not isinstance(row, dict):
        raise ExchangeError("it is no JSON object: a record stands in braces")
    return row


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _compared(said: dict[str, object], done: Exported, bad: int) -> str:
    """What is wrong when the end of a file is held against what was in it."""
    if not said:
        return "it has no end: it has been cut short, and what is left of it was read"
    missing = [
        f"{wanted} {name} and has {found}"
        for name, found in done._asdict().items()
        if (wanted := said.get(name)) != found
    ]
    if missing and not bad:
        return f"its last line says that it has {' and '.join(missing)}"
    return ""
