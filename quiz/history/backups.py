"""Copies of the history: one a practice day, seven kept, and what to do with a damaged file.

Nothing is ever overwritten or deleted but the oldest copies: what has to make room is renamed. A
clock that stood ahead leaves copies dated in the future. They are counted apart, so they neither
push out today's copy nor go before their time; and the copy that is offered is not the one with the
latest date but the one with the most answers.
"""

import os
import shutil
from collections.abc import Sequence
from contextlib import closing, suppress
from pathlib import Path

from quiz.answers import date_of
from quiz.errors import StoreDamaged, StoreError, StoreUnwritable
from quiz.history.database import Progress
from quiz.history.salvage import readable
from quiz.history.store import Store, answers_in, diagnose, invented_in, open_store

KEPT = 7
"""Daily copies."""

_NAMED = "history-{}.db"

_COMPANIONS = ("-journal", "-wal", "-shm", "-unsure")
"""Ends of the names of files that stand beside a database and belong to it."""


def open_kept(path: Path, folder: Path, progress: Progress | None = None) -> Store:
    """Open the history as `open_store` does; a StoreDamaged names the newest sound backup.

    A history that is missing or empty although there is a backup counts as damaged too, so that
    nobody begins anew without having been asked.
    """
    try:
        if not (path.exists() and path.stat().st_size) and newest_sound_backup(folder):
            raise StoreDamaged(f"the history {path} is missing, but there are backups of it", path)
        return open_store(path, progress)
    except StoreDamaged as error:
        raise StoreDamaged(str(error), path, newest_sound_backup(folder)) from error
    except OSError as error:
        raise StoreUnwritable(f"{path} cannot be read ({error.strerror})") from error


def daily_backup(
    store: Store, folder: Path, day: int, progress: Progress | None = None
) -> Path | None:
    """Make the backup of a practice day unless there is one, and let go of the oldest.

    Gives the file that was made. An empty history is not backed up. Raises StoreUnwritable when
    the folder cannot be written.
    """
    date = date_of(day).isoformat()
    target = folder / _NAMED.format(date)
    if target.exists() or not store.count():
        return None
    write_copy(store, target, progress)
    try:
        for old in too_old(backups(folder), date):
            old.unlink(missing_ok=True)
    except OSError as error:
        raise _unwritable(folder, error) from error
    return target


def write_copy(store: Store, target: Path, progress: Progress | None = None) -> None:
    """Write a whole copy of the history, its folder made if there is none; never half a one.

    Raises StoreUnwritable.
    """
    partial = target.with_name(f".{target.stem}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partial.unlink(missing_ok=True)
        store.copy_into(partial, progress)
        os.replace(partial, target)
    except OSError as error:
        raise _unwritable(target.parent, error) from error
    finally:
        _drop(partial)


def _unwritable(folder: Path, error: OSError) -> StoreUnwritable:
    return StoreUnwritable(
        f"no backup could be made in {folder} ({error.strerror}): make it writable"
    )


def too_old(dated: Sequence[Path], today: str) -> tuple[Path, ...]:
    """Of the daily backups, newest first, those to let go: all but KEPT up to today, and all but
    KEPT of those that carry a later date, `2026-11-28`."""
    later = [backup for backup in dated if backup.name > _NAMED.format(today)]
    return (*later[KEPT:], *dated[len(later) + KEPT :])


def backups(folder: Path) -> tuple[Path, ...]:
    """The daily backups there are, newest first."""
    return tuple(sorted(folder.glob("history-????-??-??.db"), reverse=True))


def newest_sound_backup(folder: Path) -> Path | None:
    """The copy to restore: of all that are sound the one with the most answers, and of equal ones
    the daily one with the latest date; None when there is none."""
    found = (*backups(folder), *before(folder), *asked_for(folder))
    sound = [copy for copy in found if problem_of(copy) is None]
    return max(sound, key=answers_in, default=None)


def before(folder: Path) -> tuple[Path, ...]:
    """The copies that were made before much was taken in, newest first."""
    return tuple(sorted(folder.glob("before-??????.db"), key=number_of, reverse=True))


def number_of(copy: Path) -> int:
    """The number of a copy that was made before much was taken in; 0 for any other file."""
    digits = copy.stem.removeprefix("before-")
    return int(digits) if digits.isdecimal() else 0


def asked_for(folder: Path) -> tuple[Path, ...]:
    """The copies that somebody has asked for, by date, newest first."""
    return tuple(sorted(folder.glob("asked-*.db"), reverse=True))


def make_room(path: Path) -> Path | None:
    """Set aside what stands in a history's place, be it only a journal; gives its new name, None
    when there was nothing. Raises StoreUnwritable."""
    if any(_companion(path, end).exists() for end in ("", *_COMPANIONS)):
        return set_aside(path)
    return None


def set_aside(path: Path) -> Path:
    """Rename a history and what belongs to it; gives its new name. Nothing is deleted.

    Raises StoreUnwritable when it cannot be renamed.
    """
    number = 1
    while any(_companion(path, f".damaged-{number}{end}").exists() for end in ("", *_COMPANIONS)):
        number += 1
    aside = _companion(path, f".damaged-{number}")
    try:
        # the journal first: left behind, SQLite would roll it back into the file that comes next
        for end in (*_COMPANIONS, ""):
            if _companion(path, end).exists():
                _companion(path, end).rename(_companion(aside, end))
    except OSError as error:
        raise StoreUnwritable(
            f"{path} cannot be renamed ({error.strerror}): make its folder writable"
        ) from error
    return aside


def restore(backup: Path, path: Path) -> Path | None:
    """Put a backup in place of the history, with what can still be read of what stands there; that
    is set aside.

    Gives the name of what was set aside, if anything was. The backup itself stays as it is. The new
    file takes its place when it is whole: where there is no room for it nothing changes. Raises
    StoreError when the backup is no sound history or has answers that no player gave,
    StoreUnwritable when nothing can be written.
    """
    if problem := problem_of(backup):
        raise StoreError(f"the backup cannot be used, choose another one: {problem}") from problem
    if invented_in(backup):
        raise StoreError(
            f"the backup {backup} holds invented answers, as a demonstration has them: choose one "
            "of a real history"
        )
    partial = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _copy(backup, partial)
        read = _stamp(path)
        _take_over(path, partial)
        aside = make_room(path)
        os.replace(partial, path)
    except OSError as error:
        raise StoreUnwritable(
            f"{path} cannot be written ({error.strerror}): free some space, or make its folder "
            "writable"
        ) from error
    finally:
        for left in path.parent.glob(f"{partial.stem}[.-]*"):
            _drop(left)
    if aside is not None and _stamp(aside) != read:
        _take_over(aside, path)  # somebody has answered meanwhile
    return aside


def problem_of(backup: Path) -> StoreError | None:
    """What keeps a backup from being used. An empty file opens as a new history; it is none."""
    if backup.is_file() and not backup.stat().st_size:
        return StoreError(f"the backup {backup} is empty")
    return diagnose(backup)


def _take_over(source: Path, target: Path) -> None:
    """Take what can still be read of a history into another one."""
    if not source.exists():
        return
    try:
        with closing(open_store(target)) as store:
            store.take_in(*readable(source))
    except StoreUnwritable as error:
        raise StoreUnwritable(f"the answers in {source} were not taken over: {error}") from error


def _stamp(path: Path) -> tuple[int, int] | None:
    """Changes when the file is written; None where there is none."""
    with suppress(OSError):
        found = path.stat()
        return found.st_mtime_ns, found.st_size
    return None


def _copy(source: Path, target: Path) -> None:
    """Copy a file; the copy is on disk when this returns."""
    shutil.copyfile(source, target)
    with target.open("rb+") as file:
        os.fsync(file.fileno())


def _companion(path: Path, end: str) -> Path:
    return path.with_name(path.name + end)


def _drop(partial: Path) -> None:
    with suppress(OSError):  # whatever stopped the writing is the error to tell
        partial.unlink()
