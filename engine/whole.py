"""Files that are whole or not there at all."""

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """A name beside `path` to write to; when the block ends well, it is renamed to `path`.

    So whatever stands at `path` is a whole file, old or new. Raises OSError when the folder is
    missing or not writable or the disk is full; then, and when the block is left by any other
    exception, nothing is left behind.
    """
    partial = path.with_name(f".{path.name}.{os.getpid()}-{threading.get_ident()}.part")
    try:
        yield partial
        os.replace(partial, path)
    finally:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
