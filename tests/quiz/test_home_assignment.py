"""What a teacher has set, as home shows it, rounds keep to it, and the file that is handed in."""

import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from quiz.answers import Answer
from quiz.app import LastbarApp
from quiz.clock import now
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.value import Question
from quiz.screens.hand_in import HandInScreen
from quiz.screens.home import HomeScreen
from quiz.screens.round import RoundScreen
from quiz.settings.values import KEY_NAMES, Pin, Settings
from quiz.teacher.result_fields import LONGEST_NAME
from quiz.teacher.results import load_results
from quiz.workbench import Workbench
from tests.quiz.benches import opened
from tests.quiz.histories import a_wrong_answer, an_answer
from tests.quiz.test_app import visible, words

FIRST_DAY = date(1970, 1, 1)
WORK = {
    "id": '"thursday-horns"',
    "title": '"Thursday: flat keys"',
    "devices": '["climb", "fall", "quick-change"]',
    "kinds": '["name", "write", "spell", "form"]',
    "keys": '["F", "Bb", "Eb"]',
}


def assigned(bench: Workbench, folder: Path, **more: str) -> None:
    """Set the bench to work at an assignment of WORK and what is given in TOML."""
    file = folder / "work.toml"
    lines = (f"{field} = {value}" for field, value in (WORK | more).items())
    file.write_text("\n".join(lines), encoding="utf-8")
    bench.assign(file)


@asynccontextmanager
async def at_home(
    folder: Path,
    answers: tuple[Answer, ...] = (),
    silent: str | None = None,
    size: tuple[int, int] = (80, 24),
    settings: Settings | None = None,
    **more: str,
) -> AsyncIterator[tuple[Workbench, LastbarApp, Pilot[None]]]:
    """The home screen of somebody who works at the assignment."""
    with opened(folder, None, settings, silent) as bench:
        bench.store.take_in(answers)
        assigned(bench, folder, **more)
        app = LastbarApp(bench)
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await pilot.pause()
            yield bench, app, pilot


def today_line(app: LastbarApp) -> str:
    """The line that says how far the assignment has come."""
    return words(app, "#today").splitlines()[1]


def days_from_today(days: int) -> str:
    """A date as TOML has it."""
    return (FIRST_DAY + timedelta(days=now().day + days)).isoformat()


def of_this(number: int, right: bool = True, days_ago: int = 0) -> Answer:
    """An answer to the assignment."""
    make = an_answer if right else a_wrong_answer
    return make(number, now().day - days_ago, assignment="thursday-horns")


# --- home -----------------------------------------------------------------------------------------


async def test_home_names_the_assignment_and_its_note(tmp_path: Path) -> None:
    async with at_home(tmp_path, note='"Ten minutes a day."') as (_bench, app, _pilot):
        first = words(app, "#today").splitlines()[0]
        assert "Assignment: Thursday: flat keys. Ten minutes a day." == first


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (None, "0 full days; 0 of 0 right"),
        (-1, "0 full days, it is over; 0 of 0 right"),
        (0, "0 full days, 1 day left; 0 of 0 right"),
        (6, "0 full days, 7 days left; 0 of 0 right"),
    ],
)
async def test_home_says_how_many_days_are_left(
    tmp_path: Path, days: int | None, said: str
) -> None:
    until: dict[str, Any] = {} if days is None else {"until": days_from_today(days)}
    async with at_home(tmp_path, **until) as (_bench, app, _pilot):
        assert said in today_line(app)


async def test_home_counts_answers_of_the_assignment_and_no_others(tmp_path: Path) -> None:
    answers = (
        *(of_this(number, days_ago=1) for number in range(2)),
        of_this(2),
        of_this(3, right=False),
        replace(of_this(4), assignment="another"),
        replace(of_this(5), assignment=""),
    )
    async with at_home(tmp_path, answers, a_day="2") as (_bench, app, _pilot):
        assert today_line(app).startswith("2 of 2 today, 2 full days; 3 of 4 right.")


async def test_one_full_day_is_a_day(tmp_path: Path) -> None:
    async with at_home(tmp_path, (of_this(1, days_ago=1),), a_day="1") as (_bench, app, _pilot):
        assert today_line(app).startswith("0 of 1 today, 1 full day; 1 of 1 right.")


async def test_where_nothing_can_be_asked_in_silence_the_assignment_is_still_told(
    tmp_path: Path,
) -> None:
    quiet = "no sound: there is no output"
    async with at_home(tmp_path, silent=quiet, kinds='["name"]') as (bench, app, pilot):
        bench.fresh_coach()  # as the program does when it knows that there is no output
        home = app.screen
        assert isinstance(home, HomeScreen)
        home.show_today()
        await pilot.pause()
        assert "Assignment: Thursday: flat keys." in words(app, "#today")
        assert "h hands in the results" in words(app, "#today")
        assert quiet in words(app, "#today")
        await pilot.press("r")
        await pilot.pause()
        assert home is app.screen


@pytest.mark.parametrize("title", ["[b]Horns[/]", "[/]", "[@click=app.quit]x[/]", "$x {y} %s"])
async def test_a_title_is_text_and_never_markup(tmp_path: Path, title: str) -> None:
    async with at_home(tmp_path, title=f'"{title}"', note=f'"{title}"') as (_b, app, _pilot):
        assert f"Assignment: {title}. {title}" in visible(app)


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_menu_stays_on_the_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    note = '"' + "seventy " * 12 + '"'
    async with at_home(tmp_path, size=size, note=note) as (_bench, app, _pilot):
        shown = visible(app)
        for word in ("Start a round", "Open jam", "Settings", "Quit", "h Hand in"):
            assert word in shown


async def test_home_with_an_assignment_has_an_ascii_form(tmp_path: Path) -> None:
    plain = Settings(ascii=True)
    async with at_home(tmp_path, settings=plain, size=(60, 20)) as (_bench, app, pilot):
        assert visible(app).isascii(), visible(app)
        await pilot.press("h")
        await pilot.pause()
        assert visible(app).isascii(), visible(app)


# --- rounds ---------------------------------------------------------------------------------------


def asked(folder: Path, settings: Settings | None = None, **more: str) -> list[Question]:
    """Many questions that are asked under the assignment, by coaches of different luck."""
    found: list[Question] = []
    with opened(folder, None, settings) as bench:
        assigned(bench, folder, **more)
        for seed in range(8):
            bench._seed = seed
            bench.fresh_coach()
            found += [bench.coach.next().question for _ in range(3)]
    return found


@pytest.mark.parametrize(
    ("tempo", "low", "high"),
    [("96", 96, 96), ("[80, 100]", 80, 100), ("[60, 70]", 60, 70), ("200", 200, 200)],
)
def test_rounds_keep_to_rows_kinds_keys_tempo_and_players(
    tmp_path: Path, tempo: str, low: int, high: int
) -> None:
    questions = asked(tmp_path, tempo=tempo, texture='"drums"')
    assert {one.item for one in questions} <= {"climb", "fall", "quick-change"}
    assert {one.kind.value for one in questions} <= {"name", "write", "spell", "form"}
    assert {"F", "Bb", "Eb"} == {str(one.key.tonic) for one in questions}
    played = [one for one in questions if KINDS[one.kind].heard]
    assert len(played) >= 8
    for one in played:
        assert low <= one.tempo <= high, (one.tempo, one.feel)
        assert ("band" if one.kind is Kind.FORM else "drums", -1) == (one.texture, one.rung)


def test_what_was_set_comes_before_pins_settings_and_weights_of_keys(tmp_path: Path) -> None:
    weights = dict.fromkeys(KEY_NAMES, 0.0) | {"E": 1.0}
    own = Settings(texture="bass", pins={"climb": Pin("bass", 60)}, key_weights=weights)
    questions = asked(tmp_path, own, tempo="120", texture='"band"', kinds='["name"]')
    assert {"F", "Bb", "Eb"} == {str(one.key.tonic) for one in questions}
    assert {(120.0, "band")} == {(one.tempo, one.texture) for one in questions}


def test_what_was_not_set_goes_by_the_reach(tmp_path: Path) -> None:
    questions = asked(tmp_path, kinds='["name"]', devices='["climb"]')
    assert {("drums", 1)} == {(one.texture, one.rung) for one in questions}


@pytest.mark.parametrize(("a_day", "new"), [("3", 1), ("12", 4), ("36", 12)])
def test_the_questions_a_day_reach_the_schedule(tmp_path: Path, a_day: str, new: int) -> None:
    """A third of a day's questions may be new."""
    with opened(tmp_path, None, Settings(daily_questions=90)) as bench:
        assigned(bench, tmp_path, a_day=a_day, families='["head"]')
        assert new == bench.today().new_left  # as home counts before anybody is asked
        bench.fresh_coach()
        assert new == bench.coach.today().new_left


async def test_a_round_keeps_its_answers_under_the_assignment_and_home_counts_them(
    tmp_path: Path,
) -> None:
    async with at_home(tmp_path, kinds='["spell"]', devices='["climb"]') as (bench, app, pilot):
        await pilot.press("r")
        await pilot.pause()
        assert isinstance(app.screen, RoundScreen)
        await pilot.press("ctrl+g")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        await pilot.pause()
        assert ["thursday-horns"] == [one.assignment for one in bench.store.answers()]
        assert today_line(app).startswith("1 of 12 today, 0 full days; 0 of 1 right.")


# --- handing in -----------------------------------------------------------------------------------


RIGHT = of_this(1)


@asynccontextmanager
async def handing_in(
    folder: Path, answers: tuple[Answer, ...] = (RIGHT,), **more: Any
) -> AsyncIterator[tuple[Workbench, LastbarApp, Pilot[None]]]:
    """The screen that asks for a name."""
    async with at_home(folder, answers, **more) as (bench, app, pilot):
        await pilot.press("h")
        await pilot.pause()
        assert isinstance(app.screen, HandInScreen)
        yield bench, app, pilot


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The working folder, with nothing in it."""
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


NAME = "lastbar-thursday-horns.json"


@pytest.mark.parametrize(
    ("typed", "name"), [("", ""), ("Dot", "Dot"), ("  Dot ", "Dot"), ("[b]Dot[/]", "[b]Dot[/]")]
)
async def test_the_file_holds_the_name_that_was_typed_or_none(
    tmp_path: Path, here: Path, typed: str, name: str
) -> None:
    async with handing_in(tmp_path) as (_bench, app, pilot):
        app.screen.query_one(Input).value = typed
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        (toast,) = app._notifications
        assert f"Written: {here / NAME}" == toast.message
    assert name == load_results(here / NAME).name


async def test_the_file_holds_the_answers_of_this_assignment_and_nothing_that_was_typed(
    tmp_path: Path, here: Path
) -> None:
    answers = (
        replace(RIGHT, given="my secret"),
        replace(of_this(2), assignment="another"),
        replace(of_this(3), assignment="", kind="jam"),
    )
    async with handing_in(tmp_path, answers) as (bench, _app, pilot):
        await pilot.press("enter")
        await pilot.pause()
        origin = bench.store.origin
    text = (here / NAME).read_text(encoding="utf-8")
    assert 1 == len(json.loads(text)["answers"])
    for told in ("my secret", RIGHT.id.hex(), str(RIGHT.at), origin, RIGHT.origin):
        assert told not in text


async def test_a_file_that_is_there_is_left_alone(tmp_path: Path, here: Path) -> None:
    (here / NAME).write_text("kept", encoding="utf-8")
    async with handing_in(tmp_path) as (_bench, _app, pilot):
        await pilot.press("enter")
        await pilot.pause()
    assert "kept" == (here / NAME).read_text(encoding="utf-8")
    assert 1 == len(load_results(here / "lastbar-thursday-horns-2.json").answers)


async def test_escape_writes_nothing(tmp_path: Path, here: Path) -> None:
    async with handing_in(tmp_path) as (_bench, app, pilot):
        await pilot.press(*"Dot", "escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
    assert [] == list(here.iterdir())


async def test_no_more_can_be_typed_than_a_name_may_have(tmp_path: Path, here: Path) -> None:
    async with handing_in(tmp_path) as (_bench, app, pilot):
        await pilot.press(*"x" * (LONGEST_NAME + 5), "enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
    assert "x" * LONGEST_NAME == load_results(here / NAME).name


@pytest.mark.parametrize("name", ["x" * (LONGEST_NAME + 1), "a\tb"])
async def test_a_name_that_cannot_be_used_is_told_and_can_be_mended(
    tmp_path: Path, here: Path, name: str
) -> None:
    async with handing_in(tmp_path) as (_bench, app, pilot):
        field = app.screen.query_one(Input)
        field.value = name
        await pilot.press("enter")
        await pilot.pause()
        assert "the name cannot be used" in words(app, "#problem")
        assert [] == list(here.iterdir())
        field.value = "Dot"
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_with_nothing_answered_yet_it_says_what_to_do(tmp_path: Path, here: Path) -> None:
    async with handing_in(tmp_path, ()) as (_bench, app, pilot):
        await pilot.press("enter")
        await pilot.pause()
        assert "there are no answers yet" in words(app, "#problem")
        assert isinstance(app.screen, HandInScreen)
    assert [] == list(here.iterdir())


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="a folder that takes no files")
async def test_a_folder_that_takes_no_files_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir("/proc/self")
    async with handing_in(tmp_path) as (_bench, app, pilot):
        await pilot.press("enter")
        await pilot.pause()
        assert "give a folder you may write to" in words(app, "#problem")


async def test_a_working_folder_that_is_gone_is_told(tmp_path: Path, here: Path) -> None:
    async with handing_in(tmp_path) as (_bench, app, pilot):
        here.rmdir()
        await pilot.press("enter")
        await pilot.pause()
        assert "No such file" in words(app, "#problem")


async def test_a_history_that_cannot_be_read_is_told(tmp_path: Path, here: Path) -> None:
    async with handing_in(tmp_path) as (bench, app, pilot):
        bench.store._database.rows("DROP TABLE answer")
        await pilot.press("enter")
        await pilot.pause()
        assert "no such table" in words(app, "#problem")
        await pilot.press("ctrl+q")


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_screen_says_what_goes_out_and_how(
    tmp_path: Path, here: Path, size: tuple[int, int]
) -> None:
    async with handing_in(tmp_path, size=size) as (_bench, app, _pilot):
        shown = " ".join(visible(app).split())
        assert "nothing else" in shown
        assert "Enter writes the file" in shown
        assert "Not now" in shown


async def test_without_an_assignment_the_footer_offers_nothing_to_hand_in(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        app = LastbarApp(bench)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            assert "Hand in" not in visible(app)
