"""Whole files of text: read within limits, and written so that there is never half a file."""

import os
import stat
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from engine.errors import printable
from engine.whole import whole_file
from quiz.errors import FileError, QuizError, ResultsError

ENCODING = "utf-8-sig"
"""UTF-8; some editors put a byte order mark in front."""

DATABASE = b"SQLite format 3\0"
"""How the file of a history begins (sqlite.org, Database File Format, 1.3.1)."""

_PLAIN = os.O_RDONLY | getattr(os, "O_BINARY", 0)
_WAITS_FOR_NOBODY = getattr(os, "O_NONBLOCK", 0)  # a pipe that nobody writes to would hang
_FOLLOWS_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


def read_text(path: Path, most: int, wrong: Callable[[str], QuizError], links: bool = True) -> str:
    """The text of a plain file of at most `most` bytes, in UTF-8.

    A symbolic link is followed only if `links` says so. What is wrong is raised as what `wrong`
    makes of the sentence.
    """
    place = printable(str(path))
    try:
        raw = _read_bytes(path, most, links)
    except OSError as error:
        raise wrong(
            f"{place} cannot be read ({error.strerror}): give a file you may read"
        ) from error
    if raw is None:
        raise wrong(f"{place} is no plain file: give one")
    if len(raw) > most:
        raise wrong(f"{place} is too large: a file may have {most // 1000} kB")
    try:
        return raw.decode(ENCODING)
    except UnicodeDecodeError as error:
        raise wrong(
            f"{place} is no text in UTF-8 (byte {error.start + 1}): save it as UTF-8"
        ) from error


def _read_bytes(path: Path, most: int, links: bool) -> bytes | None:
    """Up to one byte more than `most`; None when it is a folder, a pipe or a device."""
    flags = _PLAIN | _WAITS_FOR_NOBODY | (0 if links else _FOLLOWS_NO_LINK)
    with os.fdopen(os.open(path, flags), "rb", closefd=True) as file:
        # looked at once it is open: what the name stands for can change under us
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            return None
        return file.read(most + 1)


def write_whole(path: Path, text: str) -> None:
    """Write `text` as the whole content of `path`, in UTF-8, on disk when this returns.

    It is written under a name of its own beside `path` and renamed when complete, so whatever
    stands at `path` is a whole file, old or new; a symbolic link there is replaced, what it leads
    to is left alone. Raises ResultsError when the folder is missing or not writable or the disk is
    full, FileError when a database stands there; then nothing is left behind.
    """
    partial = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}.part")
    check_no_history(path)
    try:
        with partial.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, path)
    except OSError as error:
        raise ResultsError(
            f"{printable(str(path))} cannot be written ({error.strerror}): give a folder you may "
            "write to, and check that the disk has room"
        ) from error
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)


@contextmanager
def new_file(path: Path, force: bool = False) -> Iterator[Path]:
    """A name to write to that becomes `path` when the block ends well; a file that stands there
    already is left alone, unless `force` says otherwise.

    Raises FileError when the name is taken, the folder is missing or not writable or the disk is
    full; then, and when the block is left by any other exception, nothing is left behind.
    """
    check_free(path, force)
    try:
        with whole_file(path) as partial:
            yield partial
            check_free(path, force)  # somebody may have taken it while the file was made
    except OSError as error:
        raise FileError(
            f"{printable(str(path))} cannot be written ({error.strerror or error}): give a folder "
            "you may write to, and check that the disk has room"
        ) from error


def check_free(path: Path, force: bool = False) -> None:
    """Return quietly if a file may be written there; raises FileError when the name is taken, and
    by a database even with `force`: that may be somebody's history."""
    check_no_history(path)
    if os.path.lexists(path) and not force:
        raise FileError(
            f"{printable(str(path))} is there already: give another name, or --force to replace it"
        )


def check_no_history(path: Path) -> None:
    """Raises FileError when a database stands there: nothing is written over a history."""
    with suppress(OSError):  # nothing there, or nothing that can be read
        raw = _read_bytes(path, len(DATABASE), links=True)
        if raw is not None and raw.startswith(DATABASE):
            raise FileError(
                f"{printable(str(path))} is a database, perhaps a history of answers, and is not "
                "written over: give another name"
            )


def free_name(path: Path) -> Path:
    """`path`, or with the first number from 2 up behind its name that no file has yet."""
    free, number = path, 1
    while os.path.lexists(free):
        number += 1
        free = path.with_name(f"{path.stem}-{number}{path.suffix}")
    return free
