"""The end of an open jam: the table of what was caught, mistaken and missed, and what follows."""

from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable

from quiz.app import LastbarApp
from quiz.calls import Jam, Tally
from quiz.screens.home import HomeScreen
from quiz.screens.jam import JamScreen
from quiz.screens.jam_over import JamOverScreen
from quiz.setlist import Circumstances, Setlist
from quiz.settings.values import Settings
from tests.quiz.asking import CATALOGUE
from tests.quiz.benches import staged
from tests.quiz.jamming import at_the_jam
from tests.quiz.test_app import visible, words

TALLIES = {
    "climb+plain-five": Tally(caught=3, mistaken=1),
    "walk-up-four-one": Tally(missed=2),  # its name is the longest
    "stay+stay-on-one": Tally(caught=1, mistaken=2, missed=4),
}


@asynccontextmanager
async def over(
    folder: Path,
    tallies: Mapping[str, Tally] = TALLIES,
    settings: Settings | None = None,
    size: tuple[int, int] = (80, 24),
) -> AsyncIterator[tuple[LastbarApp, Pilot[None]]]:
    """The table on the screen."""
    async with staged(folder, settings=settings, size=size) as (bench, app, pilot):
        await pilot.pause()
        setlist = Setlist(CATALOGUE, Circumstances(104.0), 1)
        app.push_screen(JamOverScreen(bench, setlist, Jam(tallies=tallies)))
        await pilot.pause()
        yield app, pilot


def rows(app: LastbarApp) -> list[list[str]]:
    table = app.screen.query_one(DataTable)
    return [list(map(str, table.get_row_at(place))) for place in range(table.row_count)]


async def test_every_figure_has_a_line_and_the_last_one_is_the_sum(tmp_path: Path) -> None:
    async with over(tmp_path) as (app, _pilot):
        assert [
            ["climb", "3", "1", "0"],
            ["chromatic walk-up home from the four", "0", "0", "2"],
            ["no turnaround: stays on one", "1", "2", "4"],
            ["all", "4", "3", "6"],
        ] == rows(app)


async def test_form_feel_and_tempo_stand_below(tmp_path: Path) -> None:
    async with over(tmp_path) as (app, _pilot):
        made = Setlist(CATALOGUE, Circumstances(104.0), 1).settings
        assert words(app, "#legend").startswith(
            f"{made.form.name}, {made.feel.value} at {made.tempo:g} bpm."
        )


MANY = {
    figure.id: Tally(caught=100, mistaken=100, missed=100)
    for figure in Setlist(CATALOGUE, Circumstances(104.0), 1).figures
}


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_names_numbers_and_keys_fit_the_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    async with over(tmp_path, MANY, size=size) as (app, _pilot):
        shown = visible(app)
        for word in ("caught", "mistaken", "missed", "100", "600", "Another jam", "bpm", "Home"):
            assert word in shown
        assert 3 * len(MANY) == shown.count("100")
        for figure in MANY:
            last_word = CATALOGUE.find(figure).name.split()[-1]
            assert last_word in shown


async def test_the_table_has_an_ascii_form(tmp_path: Path) -> None:
    plain = Settings(ascii=True)
    async with over(tmp_path, MANY, plain, size=(60, 20)) as (app, _pilot):
        assert visible(app).isascii(), visible(app)


async def test_a_name_is_text_and_never_markup(tmp_path: Path) -> None:
    odd = replace(CATALOGUE.find("walk-up-one-four"), id="odd", name="[b]odd[/] $x")
    async with staged(tmp_path) as (bench, app, pilot):
        bench.catalogue = replace(CATALOGUE, devices=(*CATALOGUE.devices, odd))
        setlist = Setlist(CATALOGUE, Circumstances(104.0), 1)
        app.push_screen(JamOverScreen(bench, setlist, Jam(tallies={"odd": Tally(1)})))
        await pilot.pause()
        assert "[b]odd[/] $x" in visible(app)


@pytest.mark.parametrize("key", ["enter", "escape"])
async def test_enter_and_escape_lead_home(tmp_path: Path, key: str) -> None:
    async with over(tmp_path) as (app, pilot):
        await pilot.press(key)
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_n_begins_another_jam_and_leaving_it_at_once_leads_home(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        first = jam.screen
        await jam.listen(0)
        await jam.call(0)
        await jam.pilot.press("escape")
        await jam.until(lambda: isinstance(jam.app.screen, JamOverScreen))
        await jam.pilot.press("n")
        await jam.until(lambda: isinstance(jam.app.screen, JamScreen))
        assert first is not jam.app.screen
        await jam.until(lambda: jam.screen._known >= 0)
        assert "" == words(jam.app, "#calls")
        await jam.pilot.press("escape")
        await jam.until(lambda: isinstance(jam.app.screen, HomeScreen))
        assert 1 == len(jam.app.screen_stack)


async def test_a_jam_without_a_single_figure_has_no_table(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen_to(1.0)
        await jam.pilot.press("escape")
        await jam.until(lambda: isinstance(jam.app.screen, HomeScreen))
