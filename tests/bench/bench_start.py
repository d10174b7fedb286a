"""Start to a usable home screen, against an empty Textual app: `python -m tests.bench.bench_start`.

Both are whole processes in a terminal of their own, from the start of the interpreter until their
first screen has been drawn; the empty app shows one word. The menu can be used before the numbers
of the day have been counted, so both moments are shown. Needs a pseudo-terminal, so it does not run
on Windows.
"""

import os
import pty
import signal
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 15
LONGEST = 20.0
"""Seconds after which a start has failed."""

EMPTY = """
from textual.app import App
from textual.widgets import Static
class Empty(App):
    def compose(self):
        yield Static("usable")
Empty().run()
"""
LASTBAR = "import sys, quiz.cli; sys.exit(quiz.cli.main([]))"
PROGRAMS = {
    "empty app": (EMPTY, b"usable"),
    "lastbar": (LASTBAR, b"Settings"),
    "lastbar with today's numbers": (LASTBAR, b"You have met"),
}
"""Code, and a word that stands on the screen when it can be used."""


def main() -> None:
    """Print both times and the ratio of their medians."""
    times: dict[str, list[float]] = {name: [] for name in PROGRAMS}
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "settings.toml").write_text("welcomed = true\n", encoding="utf-8")
        for round_ in range(ROUNDS + 1):
            for name, (code, word) in PROGRAMS.items():
                seconds = _seconds(code, word, folder)
                if round_:  # the first start only warms the caches
                    times[name].append(seconds)
    middles = {name: statistics.median(seconds) for name, seconds in times.items()}
    empty = next(iter(middles.values()))
    for name, seconds in middles.items():
        sys.stdout.write(f"{name:<30}{seconds:.3f} s   ratio {seconds / empty:.2f}\n")
    sys.stdout.write("aim: at most 1.5 until the home screen can be used\n")


def _seconds(code: str, word: bytes, folder: str) -> float:
    start = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        os.environ |= {"LASTBAR_CONFIG": folder, "LASTBAR_DATA": folder, "TERM": "xterm-256color"}
        os.execv(sys.executable, [sys.executable, "-c", code])
    try:
        seen = b""
        while word not in seen:
            seen += os.read(terminal, 65536)
            if time.perf_counter() - start > LONGEST:
                raise TimeoutError(f"no {word!r} on the screen after {LONGEST} s")
        return time.perf_counter() - start
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(terminal)


if __name__ == "__main__":
    main()
