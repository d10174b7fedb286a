"""Keeping native libraries off the screen.

Sound libraries write to file descriptor 2 when they please. The terminal interface draws there
too, so the descriptor is not silenced but moved: Python's own stderr goes on to a copy of it, and
what still writes to number 2 lands in a log file.
"""

import os
import sys
from pathlib import Path


def move_native_noise(log: Path) -> None:
    """Send what native code writes to descriptor 2 into `log`, or nowhere if that cannot be.

    Call it once, before any sound library is loaded. Does nothing on Windows, where the terminal
    is not drawn through descriptor 2 and the libraries are silent.
    """
    if sys.platform == "win32" or sys.__stderr__ is None:
        return
    try:
        log.parent.mkdir(parents=True, exist_ok=True)
        target = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    except OSError:
        target = os.open(os.devnull, os.O_WRONLY)
    screen = os.fdopen(
        os.dup(2), "w", buffering=1, encoding=sys.__stderr__.encoding, errors="replace"
    )
    sys.stderr = sys.__stderr__ = screen  # type: ignore[misc]  # its type says Final
    os.dup2(target, 2)
    os.close(target)
