"""The scores on the screen: every tab, in every size and without colours or signs."""

import asyncio
import re
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from random import Random
from xml.etree import ElementTree

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Static, TabbedContent

from quiz.app import LastbarApp
from quiz.clock import now
from quiz.history.store import open_store
from quiz.progress.names import CHARTS
from quiz.screens.history import HistoryScreen
from quiz.screens.scores import PLOTTED, TITLES, ScoresScreen
from quiz.settings.values import Settings
from quiz.widgets.chart_plot import ChartPlot
from tests.quiz.benches import staged
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.rememberers import Leaking, answers_of
from tests.quiz.test_app import visible

SIZES = [(80, 24), (60, 20)]


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight weeks of an invented learner, some mistakes, and one answer of today."""
    path = tmp_path_factory.mktemp("scores") / "history.db"
    chance, store = Random(2), open_store(path)
    store.take_in(answers_of(Leaking(chance), chance, daily=10))
    store.take_in(a_wrong_answer(5000 + n, FIRST_DAY + n) for n in range(12))
    moment = now()
    today = an_answer(6000, at=moment.at, utc_offset=moment.utc_offset, practice_day=moment.day)
    store.take_in([today])
    store.practice()  # what has been worked out is kept too
    store.close()
    return path


@asynccontextmanager
async def played(
    folder: Path,
    history: Path,
    settings: Settings | None = None,
    size: tuple[int, int] = (80, 24),
) -> AsyncIterator[tuple[LastbarApp, Pilot[None]]]:
    """The program with that history."""
    (folder / "data").mkdir(parents=True)
    shutil.copy(history, folder / "data")
    async with staged(folder, settings=settings, size=size) as (_bench, app, pilot):
        yield app, pilot


async def at_tab(pilot: Pilot[None], name: str) -> ScoresScreen:
    """The scores, open at a tab."""
    if not isinstance(pilot.app.screen, ScoresScreen):
        await pilot.press("s")
        await pilot.pause()
    screen = pilot.app.screen
    assert isinstance(screen, ScoresScreen)
    screen.query_one(TabbedContent).active = name
    for _ in range(100):
        await pilot.pause(0.01)
        if screen.query_one(f"#view-{name}").children:
            break
    await pilot.pause()
    return screen


async def test_every_tab_says_in_words_what_it_shows(tmp_path: Path, history: Path) -> None:
    async with played(tmp_path, history, size=(60, 20)) as (app, pilot):
        for name in CHARTS:
            screen = await at_tab(pilot, name)
            says = str(screen.query_one(f"#view-{name} .says", Static).content)
            assert says.startswith(screen._chart(name).says)
            assert " ".join(says.split())[:30] in " ".join(visible(app).split())
            assert bool(screen.query(f"#view-{name} ChartPlot")) == (name in PLOTTED)
            assert screen.query(f"#view-{name} DataTable") or name == "mistaken"


async def test_every_tab_has_an_ascii_form(tmp_path: Path, history: Path) -> None:
    async with played(tmp_path, history, Settings(ascii=True), (60, 20)) as (app, pilot):
        for name in CHARTS:
            await at_tab(pilot, name)
            assert visible(app).isascii(), visible(app)


@pytest.mark.parametrize("size", SIZES)
async def test_a_plot_is_seen_with_the_table_below_it(
    tmp_path: Path, history: Path, size: tuple[int, int]
) -> None:
    async with played(tmp_path, history, size=size) as (app, pilot):
        view = (await at_tab(pilot, "keys")).query_one("#view-keys")
        plot, table = view.query_one(ChartPlot), view.query_one(DataTable)
        assert plot.region.height >= 6
        assert table.region.height >= 3
        assert plot.region.bottom <= table.region.y
        shown = visible(app)
        assert "●" in shown
        assert all(key in shown for key in ("Bb", "Eb", "G"))
        assert re.search(r"Bb +Eb +Ab +Db +Gb +B +E ", shown)  # round the fourths


async def test_without_colours_points_bars_and_mistakes_are_still_told(
    tmp_path: Path, history: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with played(tmp_path, history) as (app, pilot):
        screen = await at_tab(pilot, "days")
        assert "█" in visible(app)
        screen.query_one(TabbedContent).active = "mistaken"
        await pilot.pause()
        await pilot.pause()
        assert "'climb' taken for 'fall'" in visible(app)
        assert "picked:" in visible(app)


async def test_names_below_a_plot_are_thinned_out_where_room_is_scarce(
    tmp_path: Path, history: Path
) -> None:
    async with played(tmp_path, history, size=(60, 20)) as (_app, pilot):
        screen = await at_tab(pilot, "days")
        plot = screen.query_one("#view-days ChartPlot", ChartPlot)
        narrow = len(plot._x_ticks or ())
        await pilot.resize_terminal(140, 40)
        await pilot.pause()
        assert narrow < len(plot._x_ticks or ()) <= 28


async def test_an_empty_history_is_told_without_a_plot(tmp_path: Path) -> None:
    async with staged(tmp_path) as (_bench, app, pilot):
        screen = await at_tab(pilot, "weeks")
        assert "No answers yet." in visible(app)
        assert not screen.query(ChartPlot)


async def test_tabs_are_reached_by_the_arrow_keys(tmp_path: Path, history: Path) -> None:
    async with played(tmp_path, history) as (app, pilot):
        await pilot.press("s")
        await pilot.pause()
        for name in [*CHARTS[1:], CHARTS[0]]:
            await pilot.press("right")
            await asyncio.sleep(0)
            await pilot.pause()
            assert name == app.screen.query_one(TabbedContent).active
        assert set(TITLES) == set(CHARTS)


async def test_the_chart_of_a_tab_is_written_beside_what_is_there(
    tmp_path: Path, history: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with played(tmp_path, history) as (app, pilot):
        await at_tab(pilot, "kinds")
        await pilot.press("w")
        await pilot.press("w")
        await pilot.pause()
        assert "Written: lastbar-kinds-2.svg" in visible(app)
    for name in ("lastbar-kinds.svg", "lastbar-kinds-2.svg"):
        root = ElementTree.parse(tmp_path / name).getroot()
        assert "{http://www.w3.org/2000/svg}svg" == root.tag


async def test_a_folder_that_takes_no_chart_is_told(
    tmp_path: Path, history: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    async with played(tmp_path / "home", history) as (app, pilot):
        await at_tab(pilot, "weeks")
        await pilot.press("w")
        await pilot.pause()
        assert "Written" not in visible(app)
        assert "No such file" in visible(app)


async def test_past_questions_open_from_the_scores(tmp_path: Path, history: Path) -> None:
    async with played(tmp_path, history) as (app, pilot):
        await at_tab(pilot, "weeks")
        await pilot.press("p")
        await pilot.pause()
        assert isinstance(app.screen, HistoryScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, ScoresScreen)
