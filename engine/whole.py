"""Files that are whole or not there at all."""

import os
import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A name beside `path` to write to; when the block ends well, it is renamed to `path`.

    So whatever stands at `path` is a whole file, old or new. Raises OSError when the folder is
    missing or not writable or the disk is full; then, and when the block is left by any other
    exception, nothing is left behind. A process that was killed can leave its part behind; it goes
    when the same file is written the next time.
    """
    clear_leftovers(path)
    partial = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}.part")
    try:
        yield partial
        os.replace(partial, path)
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)


def clear_leftovers(path: Path) -> None:
    """Remove the parts of `path` whose writers are no more."""
    own = re.compile(rf"\.{re.escape(path.name)}\.(\d+)-\d+\.part")
    with suppress(OSError):  # no such folder, or not ours to clear: that is told when writing
        for beside in list(path.parent.iterdir()):
            name = own.fullmatch(beside.name)
            if name is not None and not _lives(int(name[1])):
                beside.unlink(missing_ok=True)


def _lives(process: int) -> bool:
    """Whether there may be such a process."""
    if os.name == "nt":
        return False  # asking would end it; but what it holds open cannot be removed there
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True  # somebody else's
    return True
