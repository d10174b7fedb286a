"""The roster on the screen, driven by keys as a teacher drives it."""

import csv
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from textual.geometry import Region
from textual.pilot import Pilot
from textual.widgets import DataTable

from quiz.app import LastbarApp
from quiz.screens.home import HomeScreen
from quiz.screens.roster import CSV_NAME, PlayerScreen, RosterScreen
from quiz.settings.values import Settings
from quiz.teacher.assignment import Assignment
from quiz.teacher.results import as_text, results_of
from tests.quiz.benches import staged
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.test_app import visible, words

SIZES = [(80, 24), (60, 20)]


def put(folder: Path, file: str, name: str, first: int, assignment: str = "horns") -> None:
    """Results of three answers, two of them right, of which the first has number `first`."""
    answers = [
        an_answer(first, FIRST_DAY, assignment=assignment),
        a_wrong_answer(first + 1, FIRST_DAY + 1, assignment=assignment),
        an_answer(first + 2, assignment=assignment, device="quick-change", kind="form"),
    ]
    results = results_of(Assignment(assignment, "T", items=24), answers, name)
    (folder / file).write_text(as_text(results), encoding="utf-8")


def row(app: LastbarApp, place: int) -> list[str]:
    return [str(cell) for cell in app.screen.query_one(DataTable).get_row_at(place)]


@asynccontextmanager
async def opened(
    tmp_path: Path, **more: Any
) -> AsyncIterator[tuple[LastbarApp, Pilot[None], Path]]:
    """The roster of the folder `horns` on the screen, read."""
    folder = tmp_path / "horns"
    folder.mkdir(exist_ok=True)
    async with staged(tmp_path, **more) as (bench, app, pilot):
        await pilot.pause()
        app.push_screen(RosterScreen(bench, folder))
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.pause()
        yield app, pilot, folder


@pytest.fixture
def horns(tmp_path: Path) -> Path:
    folder = tmp_path / "horns"
    folder.mkdir()
    put(folder, "ada.json", "Ada", 1)
    put(folder, "ben.json", "Ben", 11)
    return folder


@pytest.mark.parametrize("size", SIZES)
async def test_every_player_has_a_line(tmp_path: Path, horns: Path, size: tuple[int, int]) -> None:
    async with opened(tmp_path, size=size) as (app, _pilot, _folder):
        assert "2 players. Enter shows what one has done." == words(app, "#state")
        assert ["Ada", "2/3", "67%?", "21%-94%", "0/24", "2", "2024-10-05", "horns"] == row(app, 0)
        assert "Ben" == row(app, 1)[0]
        shown = visible(app)
        assert "Roster: horns" in shown
        assert "Ada" in shown


@pytest.mark.parametrize("size", SIZES)
async def test_enter_opens_the_items_of_the_player_that_is_lit_and_escape_leads_back(
    tmp_path: Path, horns: Path, size: tuple[int, int]
) -> None:
    async with opened(tmp_path, size=size) as (app, pilot, _folder):
        await pilot.press("down", "enter")
        await pilot.pause()
        assert isinstance(app.screen, PlayerScreen)
        assert "Ben" in visible(app)
        assert "horns: 2 of 3 right on 2 days, 0 of 24 items done." == words(app, "#state")
        assert ["climb", "Name it", "1/2", "50%?", "9%-91%", "2024-10-05"] == row(app, 0)
        assert "Call the form" == row(app, 1)[1]
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, RosterScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_the_command_that_the_footer_shows_opens_the_items_too(
    tmp_path: Path, horns: Path
) -> None:
    async with opened(tmp_path) as (app, pilot, _folder):
        await app.screen.run_action("open")
        await pilot.pause()
        assert isinstance(app.screen, PlayerScreen)


async def test_w_writes_the_table_into_the_working_folder_beside_what_is_there(
    tmp_path: Path, horns: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / CSV_NAME).write_text("kept", encoding="utf-8")
    async with opened(tmp_path) as (app, pilot, _folder):
        await pilot.press("w")
        await pilot.pause()
        assert "Written: lastbar-roster-2.csv" == words(app, "#state")
    with (tmp_path / "lastbar-roster-2.csv").open(encoding="utf-8") as file:
        assert ["Ada", "Ada", "Ada", "Ben", "Ben", "Ben"] == [
            found["who"] for found in csv.DictReader(file)
        ]
    assert "kept" == (tmp_path / CSV_NAME).read_text(encoding="utf-8")


async def test_a_table_that_cannot_be_written_is_told(
    tmp_path: Path, horns: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    async with opened(tmp_path) as (app, pilot, _folder):
        gone.rmdir()
        await pilot.press("w")
        await pilot.pause()
        assert "No such file" in words(app, "#state")


async def test_what_could_not_be_read_stands_below(tmp_path: Path, horns: Path) -> None:
    (horns / "bad.json").write_text("{}", encoding="utf-8")
    async with opened(tmp_path) as (app, _pilot, _folder):
        assert "2 players. Enter shows what one has done." == words(app, "#state")
        assert "bad.json, field 'lastbar_results': it is missing" in words(app, "#lines")
        assert app.screen.query_one("#problems").region != Region()


async def test_without_problems_no_room_is_kept_for_them(tmp_path: Path, horns: Path) -> None:
    async with opened(tmp_path) as (app, _pilot, _folder):
        assert not app.screen.query_one("#problems").display


async def test_many_problems_leave_room_for_the_players_and_can_be_scrolled(
    tmp_path: Path, horns: Path
) -> None:
    for number in range(40):
        (horns / f"bad-{number}.json").write_text("{}", encoding="utf-8")
    async with opened(tmp_path, size=(60, 20)) as (app, pilot, _folder):
        assert app.screen.query_one(DataTable).size.height >= 3
        await pilot.press("tab", "end")
        await pilot.wait_for_scheduled_animations()
        assert app.screen.query_one("#problems").scroll_offset.y > 0


async def test_an_empty_folder_says_what_to_do_and_its_keys_do_no_harm(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with opened(tmp_path) as (app, pilot, _folder):
        assert "put the players' files into this folder" in words(app, "#state")
        await pilot.press("enter", "w")
        await pilot.pause()
        assert isinstance(app.screen, RosterScreen)
        assert "Written: lastbar-roster.csv" == words(app, "#state")


async def test_a_folder_that_is_not_there_is_told_and_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with staged(tmp_path) as (bench, app, pilot):
        app.push_screen(RosterScreen(bench, tmp_path / "none"))
        await pilot.pause()
        await app.workers.wait_for_complete()
        await pilot.press("w")
        await pilot.pause()
        assert "give a folder with results files" in words(app, "#state")
    assert not (tmp_path / CSV_NAME).exists()


async def test_leaving_before_the_folder_is_read_does_no_harm(tmp_path: Path, horns: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.pause()
        app.push_screen(RosterScreen(bench, horns))
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


@pytest.mark.parametrize("name", ["[bold]Ada[/]", "[/]", "[@click=app.quit]x[/]", "$x {y} %s"])
async def test_a_name_is_text_and_never_markup(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "horns"
    folder.mkdir()
    put(folder, "a.json", name, 1)
    async with opened(tmp_path) as (app, pilot, _folder):
        assert name[:17] in visible(app)
        await pilot.press("enter")
        await pilot.pause()
        assert name in visible(app)


async def test_a_file_name_is_text_and_never_markup(tmp_path: Path, horns: Path) -> None:
    (horns / "[red]bad.json").write_text("{}", encoding="utf-8")
    async with opened(tmp_path, size=(200, 24)) as (app, _pilot, _folder):
        assert "[red]bad.json" in visible(app)


async def test_a_long_name_is_cut_in_the_table_and_whole_with_its_items(tmp_path: Path) -> None:
    folder = tmp_path / "horns"
    folder.mkdir()
    put(folder, "a.json", "a" * 60, 1)
    async with opened(tmp_path) as (app, pilot, _folder):
        assert "a" * 17 + "…" == row(app, 0)[0]
        await pilot.press("enter")
        await pilot.pause()
        assert "a" * 60 in visible(app)


async def test_both_screens_have_an_ascii_form(tmp_path: Path, horns: Path) -> None:
    (horns / "bad.json").write_text("{}", encoding="utf-8")
    put(horns, "long.json", "a" * 60, 21)
    plain = Settings(ascii=True)
    async with opened(tmp_path, settings=plain, size=(60, 20)) as (app, pilot, _folder):
        assert visible(app).isascii(), visible(app)
        await pilot.press("enter")
        await pilot.pause()
        assert visible(app).isascii(), visible(app)


async def test_without_colours_the_table_says_the_same(
    tmp_path: Path, horns: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(tmp_path) as (app, _pilot, _folder):
        assert "67%?" in visible(app)
