"""The open jam on a screen: what a key does, what is kept, and how it ends."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable

from engine.jam_places import cues
from engine.timing import seconds_at
from quiz.app import LastbarApp
from quiz.learning.practice import CALLED, Practice
from quiz.locations import Locations
from quiz.screens.jam import JamScreen
from quiz.screens.jam_over import JamOverScreen
from quiz.settings.file import save
from quiz.settings.values import Settings
from quiz.sound.player import ClockPlayer
from quiz.workbench import Workbench, open_workbench
from tests.quiz.benches import staged
from tests.quiz.jamming import Hand
from tests.quiz.test_app import visible, words


def a_bench(folder: Path, clock: Callable[[], float], settings: Settings) -> Workbench:
    locations = Locations(folder / "config", folder / "data")
    save(settings, locations.settings)
    return open_workbench(locations, lambda _device: ClockPlayer(None, clock), seed=11)


FAST = Settings(welcomed=True, tempo_low=132, tempo_high=132, feels=("shuffle",), texture="bass")
"""The quickest to render: a bass alone."""


async def until(pilot: Pilot[None], true: Callable[[], bool]) -> None:
    """Wait until something holds; fails when it never does."""
    for _ in range(500):
        if true():
            return
        await pilot.pause(0.02)
    pytest.fail("it never came")


async def go_on(pilot: Pilot[None], clock: Hand, true: Callable[[], bool]) -> None:
    """Let the music go on, half a second at a time, until something holds."""
    for _ in range(1000):
        if true():
            return
        clock.now += 0.5
        await pilot.pause(0.05)
    pytest.fail("it never came")


def is_open(screen: JamScreen, bench: Workbench, number: int) -> bool:
    """Whether the figure of that number has begun."""
    assert screen._stand is not None
    known = sum(len(cues(leg)) for leg in screen._stand.legs)
    heard = bench.player.position() or 0.0
    return known > number and heard >= at(screen, number)


def at(screen: JamScreen, number: int, beats: float = 1.0) -> float:
    """Seconds of the music, some beats into the figure of that number."""
    assert screen._stand is not None
    tempo = screen._setlist.settings.tempo
    figures = [cue for leg in screen._stand.legs for cue in cues(leg)]
    return seconds_at(figures[number].start, tempo) + beats * 60 / tempo


def number_of(screen: JamScreen, number: int, right: bool = True) -> str:
    """The key that names a figure, or the one beside it."""
    assert screen._stand is not None
    figures = [cue for leg in screen._stand.legs for cue in cues(leg)]
    ids = [figure.id for figure in screen._setlist.figures]
    place = ids.index(figures[number].device)
    return str(place + 1 if right else (place + 1) % len(ids) + 1)


async def playing(pilot: Pilot[None], app: LastbarApp) -> JamScreen:
    """Open a jam, and wait until its first leg is planned."""
    await pilot.press("j")
    await until(pilot, lambda: isinstance(app.screen, JamScreen) and bool(app.screen._known + 1))
    assert isinstance(app.screen, JamScreen)
    return app.screen


async def test_figures_are_caught_mistaken_and_missed_and_every_call_is_kept(
    tmp_path: Path,
) -> None:
    clock = Hand()
    bench = a_bench(tmp_path, clock, FAST)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await playing(pilot, app)
        for number, right in ((0, True), (1, False)):
            await go_on(pilot, clock, partial(is_open, screen, bench, number))
            await pilot.press(number_of(screen, number, right))
        await go_on(pilot, clock, lambda: sum(map(sum, screen._jam.tallies.values())) == 3)
        assert "caught: " in words(app, "#calls")
        assert "you said " in words(app, "#calls")
        assert "missed: " in words(app, "#calls")
        kept = list(bench.store.answers())
        assert ["right", "wrong", "given up"] == [one.verdict for one in kept]
        assert {("jam", CALLED, -1)} == {(one.kind, one.why, one.rung) for one in kept}
        practice = bench.store.practice()
        assert {} == practice.states
        assert 0 == practice.asked_on(bench.day)
        assert Practice.replayed(kept) == practice
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, JamOverScreen)
        table = app.screen.query_one(DataTable)
        total = [str(cell) for cell in table.get_row_at(table.row_count - 1)]
        assert ["all", "1", "1", "1"] == total
        assert "132 bpm" in words(app, "#legend")
        assert screen._stand is not None
        assert screen._stand.feed.closed
    bench.close()


async def test_a_second_call_for_one_figure_changes_nothing(tmp_path: Path) -> None:
    clock = Hand()
    bench = a_bench(tmp_path, clock, FAST)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await playing(pilot, app)
        clock.now = at(screen, 0)
        await pilot.press(number_of(screen, 0, right=False))
        await pilot.press(number_of(screen, 0))
        await pilot.pause()
        assert ["wrong"] == [one.verdict for one in bench.store.answers()]
    bench.close()


async def test_a_call_before_the_first_figure_is_none(tmp_path: Path) -> None:
    async with staged(tmp_path, settings=FAST) as (bench, app, pilot):
        await playing(pilot, app)
        await pilot.press("1")
        await pilot.pause()
        assert [] == list(bench.store.answers())
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(app.screen, (JamScreen, JamOverScreen))


@pytest.mark.parametrize("by_ear", [False, True])
async def test_the_key_is_told_unless_the_ear_is_to_find_it(tmp_path: Path, by_ear: bool) -> None:
    bench = a_bench(tmp_path, Hand(), Settings(welcomed=True, texture="bass", jam_by_ear=by_ear))
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await playing(pilot, app)
        await pilot.pause(0.1)
        assert screen._stand is not None
        told = f"   in {screen._stand.legs[0].key.tonic}" in words(app, "#how")
        assert told is not by_ear
    bench.close()


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_figures_and_the_form_fit_the_screen(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, settings=FAST, size=size) as (_bench, app, pilot):
        screen = await playing(pilot, app)
        shown = visible(app)
        assert f"{len(screen._setlist.figures)}  " in shown
        assert "esc" in shown


async def test_another_jam_can_follow(tmp_path: Path) -> None:
    clock = Hand()
    bench = a_bench(tmp_path, clock, FAST)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await playing(pilot, app)
        clock.now = at(screen, 0)
        await pilot.press("1")
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("n")
        await until(pilot, lambda: isinstance(app.screen, JamScreen))
        assert app.screen is not screen
    bench.close()
