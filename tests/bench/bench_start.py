"""Start to a usable home screen, against an empty Textual app: `python -m tests.bench.bench_start`.

Both are whole processes without a window, each ended as soon as its first screen has been drawn.
Aim: a ratio of at most 1.5.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 9

EMPTY = """
from textual.app import App
class Empty(App):
    def on_ready(self): self.call_after_refresh(self.exit)
Empty().run(headless=True)
"""

LASTBAR = """
import sys, quiz.app, quiz.cli
from quiz.app import LastbarApp
LastbarApp.on_ready = lambda app: app.call_after_refresh(app.exit)
sys.exit(quiz.cli.main([]))
"""
"""The command itself, but without a window."""


def main() -> None:
    """Print both times and the ratio of their medians."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "settings.toml").write_text("welcomed = true\n", encoding="utf-8")
        times: dict[str, list[float]] = {EMPTY: [], LASTBAR: []}
        for code in (EMPTY, LASTBAR):
            _seconds(code, folder)  # byte code and caches warm
        for _ in range(ROUNDS):
            for code, seconds in times.items():
                seconds.append(_seconds(code, folder))
    empty, lastbar = (statistics.median(seconds) for seconds in times.values())
    sys.stdout.write(
        f"empty app {empty:.3f} s, lastbar {lastbar:.3f} s, "
        f"ratio {lastbar / empty:.2f} (aim: at most 1.5)\n"
    )


def _seconds(code: str, folder: str) -> float:
    environment = os.environ | {
        "TEXTUAL_DRIVER": "textual.drivers.headless_driver:HeadlessDriver",
        "LASTBAR_CONFIG": folder,
        "LASTBAR_DATA": folder,
    }
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", code], env=environment, check=True, stdout=subprocess.DEVNULL
    )
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
