"""Rest, put forward, and placement on the screens."""

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Button, OptionList

from engine.catalogue import builtin_catalogue
from quiz.app import LastbarApp
from quiz.learning.material import Only, learning_order
from quiz.questions.kinds import ROUND_KINDS, Kind
from quiz.screens.focus import FocusScreen
from quiz.screens.home import MENU, HomeScreen
from quiz.screens.round import RoundScreen
from quiz.screens.settings import ROWS
from quiz.screens.summary import SummaryScreen
from quiz.screens.welcome import WelcomeScreen
from quiz.settings.values import Settings, load
from tests.quiz.benches import staged
from tests.quiz.histories import an_answer
from tests.quiz.test_app import words


def options(app: LastbarApp, name: str) -> list[str]:
    shown = app.screen.query_one(name, OptionList)
    return [str(shown.get_option_at_index(at).prompt) for at in range(shown.option_count)]


# --- the catalogue --------------------------------------------------------------------------------


async def test_r_lets_a_device_rest_and_wakes_it(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("r")
        await pilot.pause()
        assert ("device:climb",) == load(bench.locations.settings).settings.resting
        assert "climb: rests: it is not asked until you wake it." == words(app, "#notice")
        assert "How you stand: rests" in words(app, "#reach")
        await pilot.press("r")
        await pilot.pause()
        assert () == load(bench.locations.settings).settings.resting
        assert "climb: asked as usual." == words(app, "#notice")


async def test_w_puts_a_device_forward_and_r_after_it_lets_it_rest(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("w")
        await pilot.pause()
        assert (("device:climb",), ()) == (bench.settings.leading, bench.settings.resting)
        assert "put forward" in words(app, "#notice")
        await pilot.press("r")
        await pilot.pause()
        assert ((), ("device:climb",)) == (bench.settings.leading, bench.settings.resting)


async def test_what_nobody_asks_about_cannot_rest(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        devices = app.screen.query_one("#devices", OptionList)
        devices.highlighted = devices.get_option_index("two-beat")
        await pilot.pause()
        await pilot.press("r")
        await pilot.pause()
        assert words(app, "#notice").startswith("Nobody asks about")
        assert () == bench.settings.resting


async def test_the_catalogue_tells_the_stage_in_each_kind(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        bench.store.append(an_answer(), bench.store.practice().after(an_answer()))
        bench.fresh_coach()
        await pilot.press("c")
        await pilot.pause()
        assert "Name it: shaky, " in words(app, "#reach")
        assert "Spell it: new" in words(app, "#reach")


# --- families, kinds and keys ---------------------------------------------------------------------


async def open_focus(app: LastbarApp, pilot: Pilot[None]) -> None:
    await pilot.press("e")
    await pilot.pause()
    row = [row.key for row in ROWS].index("resting")
    app.screen.query_one("#settings", OptionList).highlighted = row
    await pilot.press("enter")
    await pilot.pause()


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_enter_steps_a_topic_through_its_stances_and_they_are_kept(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, size=size) as (bench, app, pilot):
        await open_focus(app, pilot)
        assert isinstance(app.screen, FocusScreen)
        await pilot.press("enter")
        await pilot.pause()
        assert ("family:head",) == load(bench.locations.settings).settings.leading
        await pilot.press("enter")
        await pilot.pause()
        assert ("family:head",) == load(bench.locations.settings).settings.resting
        assert "all heads               rests" == options(app, "#focus")[0]
        await pilot.press("escape")
        await pilot.pause()
        assert "1 rest, 0 forward" in "\n".join(options(app, "#settings"))
        await pilot.press("escape")
        await pilot.pause()
        assert "Resting: all heads." in words(app, "#today")


async def test_devices_that_rest_can_be_woken_there_too(tmp_path: Path) -> None:
    settings = Settings(resting=("device:climb", "device:deleted-since"))
    async with staged(tmp_path, settings=settings) as (bench, app, pilot):
        await open_focus(app, pilot)
        app.screen.query_one("#focus", OptionList).highlighted = len(options(app, "#focus")) - 1
        assert "deleted-since" in options(app, "#focus")[-1]
        await pilot.press("enter")
        await pilot.pause()
        assert ("device:climb",) == bench.settings.resting


async def test_everything_is_set_as_usual_with_one_key_and_brought_back_with_it(
    tmp_path: Path,
) -> None:
    resting, leading = ("device:climb", "kind:spell"), ("key:B",)
    settings = Settings(resting=resting, leading=leading)
    async with staged(tmp_path, settings=settings) as (bench, app, pilot):
        await open_focus(app, pilot)
        changed = [row for row in options(app, "#focus") if row.endswith(("rests", "forward"))]
        assert 3 == len(changed)
        await pilot.press("u")
        await pilot.pause()
        kept = load(bench.locations.settings).settings
        assert ((), ()) == (kept.resting, kept.leading)
        assert not any(row.endswith(("rests", "forward")) for row in options(app, "#focus"))
        await pilot.press("u")
        await pilot.pause()
        kept = load(bench.locations.settings).settings
        assert (resting, leading) == (kept.resting, kept.leading)
        assert set(changed) < set(options(app, "#focus"))


async def test_a_long_name_stands_apart_from_how_it_stands(tmp_path: Path) -> None:
    longest = max(builtin_catalogue().devices, key=lambda device: len(device.name))
    settings = Settings(resting=(f"device:{longest.id}",))
    async with staged(tmp_path, settings=settings) as (_bench, app, pilot):
        await open_focus(app, pilot)
        assert f"{longest.name} rests" == options(app, "#focus")[-1]


async def test_the_menu_stays_in_sight_however_much_rests(tmp_path: Path) -> None:
    rows = learning_order(builtin_catalogue())
    settings = Settings(resting=tuple(f"device:{row.id}" for row in rows))
    async with staged(tmp_path, settings=settings, size=(60, 20)) as (_bench, app, pilot):
        await pilot.pause()
        today = app.screen.query_one("#today").region
        assert today.bottom + 3 < 20


async def test_home_and_a_round_say_when_everything_rests(tmp_path: Path) -> None:
    every = Settings(resting=tuple(f"kind:{kind.value}" for kind in ROUND_KINDS))
    async with staged(tmp_path, settings=every) as (_bench, app, pilot):
        await pilot.pause()
        assert "everything that could be asked rests" in words(app, "#today")
        await pilot.press("r")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


# --- placement ------------------------------------------------------------------------------------

SPELLING = Only(kinds=(Kind.SPELL,))


async def test_home_offers_a_placement_and_it_can_be_stopped(tmp_path: Path) -> None:
    async with staged(tmp_path, SPELLING) as (bench, app, pilot):
        await pilot.pause()
        assert options(app, "#menu")[1].startswith("Placement")
        await pilot.press("down", "enter")
        await pilot.pause()
        await pilot.pause()
        assert isinstance(app.screen, RoundScreen)
        assert "1 of 24   placement" in words(app, "#count")
        await pilot.press("ctrl+g")
        await pilot.pause()
        assert "Left today" not in words(app, "#remarks")
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert "Spell it: " in words(app, "#summary")
        assert "Nothing is presumed known" in words(app, "#summary")
        assert 1 == bench.store.count()  # the second question was left: it counts for nothing


async def test_the_offer_goes_when_the_history_knows_better(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.pause()
        assert len(MENU) + 1 == len(options(app, "#menu"))
        bench.store.take_in(an_answer(number) for number in range(150))
        bench.fresh_coach()
        assert isinstance(app.screen, HomeScreen)
        app.screen.show_today()
        assert [line for _, line in MENU] == options(app, "#menu")


async def test_the_welcome_leads_to_a_placement(tmp_path: Path) -> None:
    async with staged(tmp_path, SPELLING) as (bench, app, pilot):
        app.push_screen(WelcomeScreen(bench))
        await pilot.pause()
        app.screen.query_one("#place", Button).press()
        await pilot.pause()
        await pilot.pause()
        assert isinstance(app.screen, RoundScreen)
        assert bench.coach.placing


async def test_between_questions_it_is_said_what_is_left(tmp_path: Path) -> None:
    async with staged(tmp_path, SPELLING) as (_bench, app, pilot):
        await pilot.press("r")
        await pilot.pause()
        await pilot.press("ctrl+g")
        await pilot.pause()
        assert "Left today: 11 new." in words(app, "#remarks")


async def test_help_says_what_the_stages_mean(tmp_path: Path) -> None:
    async with staged(tmp_path) as (_bench, app, pilot):
        await pilot.press("question_mark")
        await pilot.pause()
        text = " ".join(str(each.render()) for each in app.screen.query("Static"))
        assert "steady (lasts a week or more)" in text
