"""A workbench for tests: the real parts, a folder of its own, and a clock for a sound device."""

from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from dataclasses import replace
from pathlib import Path

from textual.pilot import Pilot

from quiz.app import LastbarApp
from quiz.learning.material import Only
from quiz.locations import Locations
from quiz.settings.file import save
from quiz.settings.values import Settings
from quiz.sound.player import ClockPlayer
from quiz.workbench import Workbench, open_workbench

SEED = 11


@contextmanager
def opened(
    folder: Path,
    only: Only | None = None,
    settings: Settings | None = None,
    silent: str | None = None,
) -> Iterator[Workbench]:
    """Everything open, the first-run questions behind it, and repeatable questions."""
    locations = Locations(folder / "config", folder / "data")
    save(replace(settings or Settings(), welcomed=True), locations.settings)
    bench = open_workbench(locations, lambda _device: ClockPlayer(silent), only, SEED)
    try:
        yield bench
    finally:
        bench.close()


@asynccontextmanager
async def staged(
    folder: Path,
    only: Only | None = None,
    settings: Settings | None = None,
    silent: str | None = None,
    size: tuple[int, int] = (80, 24),
) -> AsyncIterator[tuple[Workbench, LastbarApp, Pilot[None]]]:
    """The program on a screen of `size` columns and lines, with somebody who presses keys."""
    with opened(folder, only, settings, silent) as bench:
        app = LastbarApp(bench)
        async with app.run_test(size=size) as pilot:
            yield bench, app, pilot
