"""The screens, driven by keys and mouse as a player drives them."""

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, OptionList, Static

from engine.theory import Key, Note
from quiz.app import LastbarApp
from quiz.learning.material import Only
from quiz.questions.kinds import Kind
from quiz.questions.value import Next
from quiz.screens.catalogue import CatalogueScreen
from quiz.screens.help import HelpScreen
from quiz.screens.home import HomeScreen
from quiz.screens.round import RoundScreen
from quiz.screens.scores import ScoresScreen
from quiz.screens.settings import SettingsScreen, TypedSetting
from quiz.screens.summary import SummaryScreen
from quiz.screens.welcome import WelcomeScreen
from quiz.settings.values import Settings, load
from quiz.widgets.answer_pad import AnswerLine, Choices
from quiz.widgets.form_strip import FormStrip
from quiz.workbench import Workbench
from tests.quiz.asking import question
from tests.quiz.benches import opened, staged

IN_A = Key(Note("A"))
CLIMB_BY_NAME = Only(kinds=(Kind.NAME,), devices=("climb",), keys=(IN_A,))
CLIMB_SPELLED = Only(kinds=(Kind.SPELL,), devices=("climb",), keys=(IN_A,))


def words(app: LastbarApp, selector: str) -> str:
    return str(app.screen.query_one(selector, Static).content)


def visible(app: LastbarApp) -> str:
    """What stands on the screen, as text."""
    return "\n".join(
        "".join(segment.text for segment in strip)
        for strip in app.screen._compositor.render_strips()
    )


async def start(pilot: Pilot[None], bench: Workbench, length: int = 3) -> RoundScreen:
    """Open a round with the coach that the bench has."""
    screen = RoundScreen(bench, length)
    pilot.app.push_screen(screen)
    await pilot.pause()
    return screen


async def heard(pilot: Pilot[None], bench: Workbench) -> None:
    """Wait until the band plays."""
    for _ in range(200):
        if bench.player.position() is not None:
            return
        await pilot.pause(0.02)
    raise AssertionError("nothing was played")


async def test_the_first_run_asks_three_things_and_can_be_skipped(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.change(Settings(welcomed=False))
        app = LastbarApp(bench)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            assert isinstance(app.screen, WelcomeScreen)
            await pilot.press("escape")
            await pilot.pause()
            assert isinstance(app.screen, HomeScreen)
        assert load(bench.locations.settings).settings.welcomed


async def test_the_test_tone_sounds(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.change(Settings(welcomed=False))
        app = LastbarApp(bench)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause()
            await pilot.press("f5")
            await heard(pilot, bench)


async def test_ready_keeps_what_was_chosen(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.change(Settings(welcomed=False))
        app = LastbarApp(bench)
        async with app.run_test(size=(80, 30)) as pilot:
            await pilot.pause()
            app.screen.query_one("#names").value = "german"  # type: ignore[attr-defined]
            await pilot.pause()
            await pilot.click("#done")
            await pilot.pause()
        assert "german" == load(bench.locations.settings).settings.note_names


@pytest.mark.parametrize(
    ("key", "screen"),
    [
        ("r", RoundScreen),
        ("c", CatalogueScreen),
        ("s", ScoresScreen),
        ("e", SettingsScreen),
        ("question_mark", HelpScreen),
        ("f2", HelpScreen),
    ],
)
async def test_home_leads_everywhere_by_key_and_escape_leads_back(
    tmp_path: Path, key: str, screen: type
) -> None:
    async with staged(tmp_path) as (_bench, app, pilot):
        await pilot.pause()
        await pilot.press(key)
        await pilot.pause()
        assert isinstance(app.screen, screen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_the_menu_works_by_mouse(tmp_path: Path) -> None:
    async with staged(tmp_path) as (_bench, app, pilot):
        await pilot.pause()
        menu = app.screen.query_one("#menu", OptionList)
        await pilot.click(menu, offset=(3, menu.get_option_index("catalogue")))
        await pilot.pause()
        assert isinstance(app.screen, CatalogueScreen)


async def test_ctrl_q_quits_from_a_round(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+q")
        await pilot.pause()
        assert 0 == app.return_code


async def test_a_question_is_heard_named_and_kept(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, app, pilot):
        screen = await start(pilot, bench)
        await heard(pilot, bench)
        question = screen._state.current.question
        place = question.options.index(question.device)
        await pilot.press(str(place + 1))
        await pilot.pause()
        assert words(app, "#verdict").startswith(bench.signs.right)
        assert "climb" in words(app, "#verdict")
        (answer,) = bench.store.answers()
        assert ("climb", "name", "A", "right") == (
            answer.device,
            answer.kind,
            answer.key,
            answer.verdict,
        )


async def test_a_wrong_name_says_where_the_two_part_and_plays_both(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME, size=(80, 30)) as (bench, app, pilot):
        screen = await start(pilot, bench)
        await heard(pilot, bench)
        question = screen._state.current.question
        wrong = next(
            place for place, option in enumerate(question.options) if option != question.device
        )
        await pilot.press(str(wrong + 1))
        await pilot.pause()
        assert f"bar {question.bar}, beat" in words(app, "#remarks")
        assert bench.player.position() is None
        await pilot.press("ctrl+y")
        await heard(pilot, bench)
        await pilot.press("ctrl+t")
        await pilot.pause()
        assert bench.player.position() is None
        await pilot.press("ctrl+r")
        await heard(pilot, bench)


async def test_replay_slower_and_stop_are_keys_and_are_recorded(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, _app, pilot):
        await start(pilot, bench)
        await heard(pilot, bench)
        await pilot.press("ctrl+r", "ctrl+l")
        await heard(pilot, bench)
        await pilot.press("ctrl+t")
        await pilot.pause()
        assert bench.player.position() is None
        await pilot.press("ctrl+g")
        await pilot.pause()
        (answer,) = bench.store.answers()
        assert (3, True, True, "given up") == (
            answer.playings,
            answer.slowed,
            answer.interrupted,
            answer.verdict,
        )


async def test_the_sounding_bar_moves(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, app, pilot):
        screen = await start(pilot, bench)
        await heard(pilot, bench)
        seen: set[int] = set()
        tempo = screen._state.current.question.tempo
        for _ in range(round(3.2 * 4 * 60 / tempo / 0.1)):
            await pilot.pause(0.1)
            sounding = app.screen.query_one(FormStrip).sounding
            if sounding is not None:
                seen.add(sounding[0])
        first = screen._state.current.question.first
        assert {first, first + 1} <= seen


async def test_a_line_is_typed_rubbed_out_and_given(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_SPELLED, Settings(answer_as="notes")) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press(*"a c# d e")
        await pilot.press("backspace", *"d#", "enter")
        await pilot.pause()
        assert words(app, "#verdict").startswith(bench.signs.right)
        (answer,) = bench.store.answers()
        assert "a c# d d#" == answer.given


async def test_ctrl_u_empties_the_line(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_SPELLED) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press(*"xyz", "ctrl+u")
        assert "" == app.screen.query_one(AnswerLine).text


@pytest.mark.parametrize("rubbish", ["", "hello there", "1 c", "[/]", "[b]1[/b]", "9 9"])
async def test_rubbish_is_refused_with_a_line_and_nothing_is_kept(
    tmp_path: Path, rubbish: str
) -> None:
    async with staged(tmp_path, CLIMB_SPELLED) as (bench, app, pilot):
        await start(pilot, bench)
        app.screen.query_one(AnswerLine).text = rubbish
        await pilot.press("enter")
        await pilot.pause()
        assert words(app, "#notice")
        assert app.screen.query_one(AnswerLine).has_focus
        assert 0 == bench.store.count()


BOTH_OPEN = question(
    "climb+dip",
    kind=Kind.NAME,
    options=("climb+plain-five", "climb+dip", "fall+plain-five", "fall+dip"),
)


async def test_head_and_tail_are_chosen_in_two_steps_and_escape_goes_back_one(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, app, pilot):
        screen = await start(pilot, bench)
        screen._state = replace(screen._state, current=Next(BOTH_OPEN, "new"))
        screen._show_question()
        await pilot.pause()
        first = words(app, "#sentence")
        assert "First bar 11:" in first
        await pilot.press("2")
        await pilot.pause()
        assert "Now bar 12:" in words(app, "#sentence")
        await pilot.press("escape")
        await pilot.pause()
        assert first == words(app, "#sentence")
        assert isinstance(app.screen, RoundScreen)
        await pilot.press("1", "2")
        await pilot.pause()
        assert "Right: climb + dip." in words(app, "#verdict")


async def test_a_round_ends_in_a_summary_and_another_can_follow(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_SPELLED, Settings(round_length=2)) as (bench, app, pilot):
        await start(pilot, bench, 2)
        for _ in range(2):
            await pilot.press("ctrl+g")
            await pilot.pause()
            await pilot.press("enter")
            await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        assert "given up" in words(app, "#summary")
        await pilot.press("n")
        await pilot.pause()
        assert isinstance(app.screen, RoundScreen)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)


async def test_ctrl_o_writes_the_sound_to_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+o")
        await pilot.pause()
        assert "Written" in words(app, "#notice")
    assert 1 == len(list(tmp_path.glob("lastbar-*.wav")))


async def test_without_a_sound_output_rounds_ask_what_needs_no_ear(tmp_path: Path) -> None:
    async with staged(tmp_path, silent="no sound: there is no output") as (_bench, app, pilot):
        await pilot.pause()
        assert "no sound" in words(app, "#today")
        await pilot.press("r")
        await pilot.pause()
        assert isinstance(app.screen, RoundScreen)
        assert Kind.SPELL is app.screen._state.current.question.kind


async def test_without_a_sound_output_home_counts_what_needs_no_ear_after_settings_too(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, silent="no sound: there is no output") as (bench, app, pilot):
        await pilot.pause()
        bench.fresh_coach()
        items = bench.today().items
        bench.change(replace(bench.settings, frets=24))
        assert items == bench.today().items
        for key in ("e", "escape"):
            await pilot.press(key)
            await pilot.pause()
        await pilot.pause()
        assert f"of {items}:" in words(app, "#today")


async def test_the_catalogue_changes_key_tempo_feel_and_texture_and_sounds(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.pause()
        await pilot.press("c")
        await pilot.pause()
        first = words(app, "#how")
        assert "climb in C, shuffle" in first
        await pilot.press("k", "plus", "t")
        await pilot.pause()
        assert "climb in Db, shuffle at 107, bass" == words(app, "#how")
        await pilot.press("K", "minus", "f", "down")
        await pilot.pause()
        assert "climb with the flat third in C, straight" in words(app, "#how")
        await pilot.press("enter")
        await heard(pilot, bench)
        await pilot.press("ctrl+t")
        await pilot.pause()
        assert bench.player.position() is None
        await pilot.press("ctrl+r")
        await heard(pilot, bench)


async def test_every_device_of_the_catalogue_can_be_shown(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.pause()
        await pilot.press("c")
        await pilot.pause()
        listed = app.screen.query_one("#devices", OptionList)
        shown = set()
        for place in range(listed.option_count):
            if not listed.get_option_at_index(place).disabled:
                listed.highlighted = place
                await pilot.pause()
                shown.add(words(app, "#how").split(" in ")[0])
        names = [device.name for device in bench.catalogue.devices]
        names += [form.name for form in bench.catalogue.forms]
        assert {name.split(" in ")[0] for name in names} == shown


async def test_settings_step_through_choices_and_are_kept_at_once(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, _app, pilot):
        await pilot.pause()
        await pilot.press("e")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert "drop-d" == load(bench.locations.settings).settings.tuning


async def test_a_typed_setting_says_what_is_allowed(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.pause()
        await pilot.press("e", *["down"] * 8)
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, TypedSetting)
        await pilot.press("backspace", "backspace", "7", "enter")
        await pilot.pause()
        assert "50 to 220" in words(app, "#problem")
        await pilot.press("0", "enter")
        await pilot.pause()
        assert isinstance(app.screen, SettingsScreen)
        assert 70 == load(bench.locations.settings).settings.tempo_low


async def test_an_own_tuning_is_typed_and_becomes_the_instrument(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.pause()
        await pilot.press("e", "down", "enter")
        await pilot.pause()
        assert isinstance(app.screen, TypedSetting)
        await pilot.press(*"low", "enter")
        await pilot.pause()
        assert "a name and a colon are missing" in words(app, "#problem")
        await pilot.press("colon", *"D1A1", "enter")
        await pilot.pause()
        assert "1 strings were given: give 3 to 8" in words(app, "#problem")
        await pilot.press("backspace", "backspace", "space", *"A1", "space", *"D2", "enter")
        await pilot.pause()
        assert isinstance(app.screen, SettingsScreen)
        await pilot.press("up", *["enter"] * 5)  # past the built-in ones
        await pilot.pause()
        kept = load(bench.locations.settings).settings
        assert ("low", {"low": ("D1", "A1", "D2")}) == (kept.tuning, kept.own_tunings)
        assert ["low D", "A", "D"] == list(bench.neck.tuning.names)
        assert "low: D1 A1 D2" in visible(app)


async def test_scores_show_what_was_answered(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_SPELLED) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+g")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, SummaryScreen)
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("s")
        await pilot.pause()
        table = app.screen.query(DataTable).first()
        assert "0/1" == str(table.get_row_at(0)[1])


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (200, 60)])
async def test_the_round_fits_every_size(tmp_path: Path, size: tuple[int, int]) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME, size=size) as (bench, app, pilot):
        screen = await start(pilot, bench)
        choices = app.screen.query_one(Choices)
        assert choices.option_count <= choices.size.height
        await pilot.press("ctrl+g")
        await pilot.pause()
        shown = visible(app)
        assert "degree" in shown
        assert screen._state.current.question.item in shown


async def test_ascii_mode_draws_with_ascii_signs_alone(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME, Settings(ascii=True)) as (bench, app, pilot):
        await start(pilot, bench)
        assert visible(app).isascii()
        await pilot.press("ctrl+g")
        await pilot.pause()
        assert visible(app).isascii()


@pytest.mark.parametrize("key", ["c", "s", "e", "question_mark", "r"])
async def test_every_screen_has_an_ascii_form(tmp_path: Path, key: str) -> None:
    plain = Settings(ascii=True)
    async with staged(tmp_path, CLIMB_SPELLED, plain, size=(60, 20)) as (_bench, app, pilot):
        await pilot.pause()
        assert visible(app).isascii()
        await pilot.press(key)
        await pilot.pause()
        assert visible(app).isascii(), visible(app)


async def test_the_welcome_has_an_ascii_form(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.change(Settings(welcomed=False, ascii=True))
        app = LastbarApp(bench)
        async with app.run_test(size=(60, 20)) as pilot:
            await pilot.pause()
            assert visible(app).isascii(), visible(app)


async def test_without_colours_the_verdict_is_still_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with staged(tmp_path, CLIMB_BY_NAME) as (bench, app, pilot):
        screen = await start(pilot, bench)
        question = screen._state.current.question
        await pilot.press(str(question.options.index(question.device) + 1))
        await pilot.pause()
        assert f"{bench.signs.right} Right" in visible(app)


async def test_help_tells_the_keys_of_the_screen_before_those_of_every_list(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME, size=(60, 20)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("question_mark")
        await pilot.pause()
        assert "See the answer without guessing" in visible(app)


async def test_help_lists_the_keys_of_the_screen_below_and_the_cautions(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB_BY_NAME, size=(80, 60)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("question_mark")
        await pilot.pause()
        shown = visible(app)
        assert "three quarters of the tempo" in shown
        await pilot.press("end")
        await pilot.pause()
        shown = visible(app)
        assert "H.870" in shown
        assert "Stop when hand or wrist hurts" in shown
