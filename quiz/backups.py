"""Copies of the history: one a practice day, seven kept, and what to do with a damaged file."""

import os
import shutil
from datetime import UTC, datetime
from pathlib import Path

from quiz.answers import DAY_SECONDS
from quiz.errors import StoreError, StoreUnwritable
from quiz.store import Store, open_store

KEPT = 7


def daily_backup(store: Store, folder: Path, day: int) -> Path | None:
    """Make the backup of a practice day unless there is one, and let go of the oldest.

    Gives the file that was made. An empty history is not backed up. Raises StoreUnwritable when
    the folder cannot be written.
    """
    date = datetime.fromtimestamp(day * DAY_SECONDS, UTC).date().isoformat()
    target = folder / f"history-{date}.db"
    if target.exists() or not store.count():
        return None
    partial = folder / f".history-{date}.{os.getpid()}.part"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        partial.unlink(missing_ok=True)
        store.copy_into(partial)
        os.replace(partial, target)
        for old in backups(folder)[KEPT:]:
            old.unlink(missing_ok=True)
    except OSError as error:
        raise StoreUnwritable(
            f"no backup could be made in {folder} ({error.strerror}): make it writable"
        ) from error
    finally:
        partial.unlink(missing_ok=True)
    return target


def backups(folder: Path) -> tuple[Path, ...]:
    """The backups there are, newest first."""
    return tuple(sorted(folder.glob("history-????-??-??.db"), reverse=True))


def newest_sound_backup(folder: Path) -> Path | None:
    """The newest backup that opens; None when there is none."""
    for backup in backups(folder):
        try:
            open_store(backup).close()
        except StoreError:
            continue
        return backup
    return None


def set_aside(path: Path) -> Path:
    """Rename a damaged history and what belongs to it; gives the new name. Nothing is deleted.

    Raises StoreUnwritable when it cannot be renamed.
    """
    number = 1
    while (aside := path.with_name(f"{path.name}.damaged-{number}")).exists():
        number += 1
    try:
        path.rename(aside)
        journal = path.with_name(f"{path.name}-journal")
        if journal.exists():
            journal.rename(aside.with_name(f"{aside.name}-journal"))
    except OSError as error:
        raise StoreUnwritable(f"{path} cannot be renamed ({error.strerror})") from error
    return aside


def restore(backup: Path, path: Path) -> Path | None:
    """Put a backup in place of the history; what stood there is set aside.

    Gives the name of what was set aside, if anything was. Raises StoreError when the backup is
    no sound history, StoreUnwritable when nothing can be written.
    """
    open_store(backup).close()
    partial = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        shutil.copyfile(backup, partial)
        aside = set_aside(path) if path.exists() else None
        os.replace(partial, path)
    except OSError as error:
        raise StoreUnwritable(f"{path} cannot be written ({error.strerror})") from error
    finally:
        partial.unlink(missing_ok=True)
    return aside
