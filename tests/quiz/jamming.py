"""Open jams for tests: on a screen, by a clock that goes on only when it is told to."""

import threading
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from engine.jam import Leg
from engine.jam_places import Cue, cues
from engine.timing import seconds_at
from quiz.app import LastbarApp
from quiz.locations import Locations
from quiz.screens.jam import JamScreen
from quiz.setlist import Setlist
from quiz.settings.file import save
from quiz.settings.values import Settings
from quiz.sound.player import ClockPlayer
from quiz.workbench import Workbench, open_workbench

FAST = Settings(tempo_low=132, tempo_high=132, feels=("shuffle",), texture="bass", reverb=False)
"""The quickest to render: a bass alone."""


MARGIN = 0.001
"""Seconds that are left in the feed: the clock counts in floating point."""


class Hand:
    """A clock that is moved by hand."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


class Jamming:
    """The program on a screen, and a jam in it."""

    def __init__(self, bench: Workbench, app: LastbarApp, pilot: Pilot[None], clock: Hand) -> None:
        self.bench = bench
        self.app = app
        self.pilot = pilot
        self.clock = clock

    @property
    def screen(self) -> JamScreen:
        """The jam that is on the screen."""
        assert isinstance(self.app.screen, JamScreen)
        return self.app.screen

    @property
    def setlist(self) -> Setlist:
        """What the jam plays."""
        return self.screen._setlist

    @property
    def legs(self) -> tuple[Leg, ...]:
        """The legs that are planned so far."""
        stand = self.screen._stand
        assert stand is not None
        return stand.legs

    @property
    def figures(self) -> list[Cue]:
        """The figures of all legs that are planned so far."""
        return [cue for leg in self.legs for cue in cues(leg)]

    async def until(self, true: Callable[[], bool]) -> None:
        """Wait until something holds; fails when it never does."""
        for _ in range(1000):
            if true():
                return
            await self.pilot.pause(0.01)
        pytest.fail("it never came")

    async def begin(self, setlist: Setlist | None = None) -> None:
        """Open a jam from the home screen, or the one that is given; wait until it is planned."""
        if setlist is None:
            await self.pilot.press("j")
        else:
            self.bench.fresh_coach()
            self.app.push_screen(JamScreen(self.bench, setlist))
        await self.until(lambda: isinstance(self.app.screen, JamScreen))
        await self.until(lambda: self.screen._known >= 0)

    async def listen(self, number: int, beats: float = 1.0) -> None:
        """Hear the jam until some beats into the figure of that number, as fast as it is made."""
        await self.until(lambda: len(self.figures) > number)
        tempo = self.setlist.settings.tempo
        await self.listen_to(seconds_at(self.figures[number].start, tempo) + beats * 60 / tempo)

    async def listen_to(self, seconds: float) -> None:
        """Hear the jam up to a moment of the music, as fast as it is made; the screen has seen
        it."""
        stand = self.screen._stand
        assert stand is not None

        def there() -> bool:
            heard = self.bench.player.position()
            assert heard is not None
            made = stand.feed.waiting - MARGIN
            self.clock.now += max(0.0, min(made, seconds - heard))
            return heard >= seconds - 0.01

        await self.until(there)
        assert 0 == stand.feed.starved
        self.screen._follow()
        await self.pilot.pause()

    async def call(self, number: int, right: bool = True) -> None:
        """Press the key of the figure of that number, or of the one beside it."""
        ids = [figure.id for figure in self.setlist.figures]
        place = ids.index(self.figures[number].device) + (0 if right else 1)
        await self.pilot.press(str(place % len(ids) + 1))
        await self.pilot.pause()


def on_stage() -> list[threading.Thread]:
    """The threads in which a band plays."""
    return [thread for thread in threading.enumerate() if thread.name == "bandstand"]


@asynccontextmanager
async def at_the_jam(
    folder: Path,
    settings: Settings = FAST,
    silent: str | None = None,
    size: tuple[int, int] = (80, 24),
    assignment: Path | None = None,
) -> AsyncIterator[Jamming]:
    """The program on its home screen, with a clock in hand."""
    locations, clock = Locations(folder / "config", folder / "data"), Hand()
    save(replace(settings, welcomed=True), locations.settings)
    bench = open_workbench(locations, lambda _device: ClockPlayer(silent, clock), seed=11)
    if assignment is not None:
        bench.assign(assignment)
    app = LastbarApp(bench)
    try:
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            yield Jamming(bench, app, pilot, clock)
    finally:
        bench.close()
