"""The round screen in the kinds that are not about one figure, and with its harder conditions."""

from dataclasses import replace
from pathlib import Path

import pytest
from textual.pilot import Pilot

from engine.theory import Key, Note
from quiz.app import LastbarApp
from quiz.grading.marking import right_bars, right_ticks
from quiz.grading.replies import right_reply
from quiz.learning.material import Only
from quiz.learning.memory import Item
from quiz.learning.reach import ItemReach, Reaches
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import Kind
from quiz.questions.value import Question, from_parameters
from quiz.screens.home import HomeScreen
from quiz.screens.round import RoundScreen
from quiz.session import Phase
from quiz.settings.values import Pin, Settings
from quiz.widgets.answer_pad import Choices, Ticks
from quiz.widgets.bar_pad import BarPad
from quiz.widgets.figure_steps import FigureSteps
from quiz.widgets.form_strip import FormStrip
from quiz.workbench import Workbench
from tests.quiz.benches import staged
from tests.quiz.test_app import heard, start, visible, words

IN_A = (Key(Note("A")),)
ITEMS = {
    Kind.NAME: "fall",
    Kind.WRITE: "climb",
    Kind.SPELL: "climb",
    Kind.FIND: "climb",
    Kind.PLACE: "walk-up-one-four",
    Kind.FIT: "climb",
    Kind.FORM: "quick-change",
    Kind.PLAY: "climb",
}
"""What is asked in each kind."""

NEW_KINDS = (Kind.PLACE, Kind.FIT, Kind.FORM)
SIZES = [(80, 24), (60, 20)]


def only(kind: Kind) -> Only:
    return Only(kinds=(kind,), devices=(ITEMS[kind],), keys=IN_A)


def at_rung(bench: Workbench, kind: Kind, rung: int) -> None:
    """Let the player stand on a rung."""
    reaches = Reaches(items={Item(ITEMS[kind], kind.value): ItemReach(rung, 0, 0.0)})
    bench.coach._practice = replace(bench.coach._practice, reaches=reaches)


def asked(app: LastbarApp) -> Question:
    screen = app.screen
    assert isinstance(screen, RoundScreen)
    return screen._state.current.question


def offered(app: LastbarApp) -> set[str]:
    """What the footer offers."""
    return {
        active.binding.description
        for active in app.screen.active_bindings.values()
        if active.binding.show and active.enabled
    }


def sounds(app: LastbarApp) -> Excerpt:
    """What was cued last."""
    screen = app.screen
    assert isinstance(screen, RoundScreen)
    cue = screen._sounding._cue
    assert isinstance(cue, Excerpt)
    return cue


async def marked(pilot: Pilot[None], bars: tuple[int, ...]) -> None:
    """Mark bars by their numbers, and give them."""
    for bar in bars:
        await pilot.press(*str(bar), "comma")
    await pilot.press("enter")
    await pilot.pause()


QUICK = Settings(
    feels=("swing",),
    tempo_high=220,
    pins={name: Pin("band", 220) for name in ("walk-up-one-four", "quick-change")},
)
"""So quick that the count-in is over after a second."""


def in_the_first_bar(bench: Workbench) -> bool:
    """Whether the band is in the count-in, in bar 1 or on the first beat of bar 2."""
    position = bench.player.position()
    assert position is not None
    return position < 9 * 60 / 220


# --- which bar ----------------------------------------------------------------------------------


async def test_bars_are_marked_graded_shown_and_kept(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.PLACE)) as (bench, app, pilot):
        await start(pilot, bench)
        assert isinstance(app.focused, BarPad)
        bars = right_bars(asked(app), bench.catalogue)
        await marked(pilot, bars)
        assert words(app, "#verdict").startswith(f"{bench.signs.right} Right: bar")
        (answer,) = bench.store.answers()
    assert ("place", "right", " ".join(map(str, bars))) == (
        answer.kind,
        answer.verdict,
        answer.given,
    )


async def test_hits_misses_and_false_alarms_stand_in_the_form(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.PLACE)) as (bench, app, pilot):
        await start(pilot, bench)
        right = right_bars(asked(app), bench.catalogue)
        length = len(bench.catalogue.form(asked(app).form))
        wrong = next(bar for bar in range(1, length + 1) if bar not in right)
        await marked(pilot, (wrong,))
        strip = app.screen.query_one("#strip", FormStrip)
        shown = visible(app)
        assert strip.display
        assert f"{bench.signs.wrong}{wrong:>2} " in shown
        for bar in right:
            assert f"{bench.signs.asked}{bar:>2} " in shown


async def test_no_bar_is_an_answer(tmp_path: Path) -> None:
    nothing = Only(kinds=(Kind.PLACE,), devices=("stay-on-one",))
    async with staged(tmp_path, nothing) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("enter")
        await pilot.pause()
        assert words(app, "#verdict").endswith("Right: no bar at all.")
        assert "the base pattern went on from the first bar to the last" in words(app, "#remarks")


async def test_a_mouse_click_marks_a_bar(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.PLACE)) as (bench, app, pilot):
        await start(pilot, bench)
        pad = app.screen.query_one(BarPad)
        await pilot.click(BarPad, offset=(pad.bar_width + 2, 1))
        assert {6} == pad.marked


async def test_the_sounding_bar_is_hidden_before_the_answer_and_shown_after_it(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, only(Kind.PLACE), QUICK) as (bench, app, pilot):
        await start(pilot, bench)
        await heard(pilot, bench)
        strip, pad = app.screen.query_one("#strip", FormStrip), app.screen.query_one(BarPad)
        while in_the_first_bar(bench):
            await pilot.pause(0.05)
            assert strip.sounding is None
            assert pad.sounding is None
            assert bench.signs.sounding not in visible(app)
        assert not strip.display
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("ctrl+r")
        await heard(pilot, bench)
        for _ in range(80):
            await pilot.pause(0.1)
            if strip.sounding is not None:
                break
        assert strip.sounding is not None
        assert bench.signs.sounding in visible(app)


async def test_escape_leaves_the_round_from_the_bars(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.PLACE)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("4", "comma", "escape")
        await pilot.pause()
        assert isinstance(app.screen, HomeScreen)
        assert 0 == bench.store.count()


# --- fit the band -------------------------------------------------------------------------------


async def test_figures_are_ticked_graded_and_explained(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FIT), size=(80, 30)) as (bench, app, pilot):
        await start(pilot, bench)
        assert isinstance(app.focused, Ticks)
        question = asked(app)
        right = right_ticks(question, bench.catalogue)
        for option in right:
            await pilot.press(str(question.options.index(option) + 1))
        await pilot.press("enter")
        await pilot.pause()
        assert words(app, "#verdict").startswith(f"{bench.signs.right} Right: ")
        remarks = words(app, "#remarks")
        (answer,) = bench.store.answers()
    for option in question.options:
        says = f"{bench.catalogue.name(option)}: "
        assert says in remarks
        assert (option in right) == (f"{says}agrees" in remarks)
    assert ("fit", "right", " ".join(right)) == (answer.kind, answer.verdict, answer.given)


async def test_before_the_answer_the_band_plays_without_a_bass(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FIT)) as (bench, app, pilot):
        await start(pilot, bench)
        await heard(pilot, bench)
        assert sounds(app).device is None
        await pilot.press("ctrl+r")
        await heard(pilot, bench)
        assert sounds(app).device is None


async def test_after_the_answer_the_chosen_bass_is_heard_and_digits_pick_another(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, only(Kind.FIT)) as (bench, app, pilot):
        await start(pilot, bench)
        question = asked(app)
        right = right_ticks(question, bench.catalogue)
        place = question.options.index(right[-1]) + 1
        await pilot.press(str(place), "enter")
        await heard(pilot, bench)
        assert question.options[place - 1] == getattr(sounds(app).device, "id", None)
        for other in range(1, len(question.options) + 1):
            await pilot.press(str(other))
            await heard(pilot, bench)
            assert question.options[other - 1] == getattr(sounds(app).device, "id", None)
        await pilot.press("ctrl+r")  # the question again: the band alone
        await heard(pilot, bench)
        assert sounds(app).device is None


async def test_a_digit_without_a_figure_changes_nothing(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FIT)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("1", "enter")
        await heard(pilot, bench)
        before = sounds(app)
        await pilot.press("6")
        await pilot.pause()
        assert before == sounds(app)


async def test_after_giving_up_a_figure_that_agrees_can_be_heard(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FIT)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+g")
        await heard(pilot, bench)
        first = getattr(sounds(app).device, "id", None)
        assert first in right_ticks(asked(app), bench.catalogue)


async def test_the_chords_of_the_turnaround_show_only_after_the_answer(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FIT)) as (bench, app, pilot):
        await start(pilot, bench)
        bar = asked(app).bar
        before = visible(app).splitlines()
        row = next(line for line in before if f"{bench.signs.asked}{bar:>2} " in line)
        assert "7" not in row.split(f"{bench.signs.asked}{bar:>2} ")[1]
        await pilot.press("enter")
        await pilot.pause()
        after = visible(app).splitlines()
        row = next(line for line in after if f"{bench.signs.asked}{bar:>2} " in line)
        assert "I7" in row.split(f"{bench.signs.asked}{bar:>2} ")[1]


# --- call the form ------------------------------------------------------------------------------


async def test_a_form_is_called_and_told_with_what_gave_it_away(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FORM)) as (bench, app, pilot):
        await start(pilot, bench)
        await heard(pilot, bench)
        assert not app.screen.query_one("#strip", FormStrip).display
        place = asked(app).options.index("quick-change") + 1
        await pilot.press(str(place))
        await pilot.pause()
        assert "Right: quick change." in words(app, "#verdict")
        assert "What gives it away: Bar 2 already goes to the four" in words(app, "#remarks")
        assert app.screen.query_one("#strip", FormStrip).display
        assert "2 IV7" in visible(app)
        assert not app.screen.query_one(FigureSteps).display


async def test_a_wrong_form_is_told_where_the_two_part(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FORM)) as (bench, app, pilot):
        await start(pilot, bench)
        options = asked(app).options
        wrong = next(option for option in options if option != "quick-change")
        await pilot.press(str(options.index(wrong) + 1))
        await pilot.pause()
        assert "was played; the form you named has" in words(app, "#remarks")


async def test_the_sounding_bar_of_a_form_is_hidden_before_the_answer(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.FORM), QUICK) as (bench, app, pilot):
        await start(pilot, bench)
        await heard(pilot, bench)
        while in_the_first_bar(bench):
            await pilot.pause(0.05)
            assert app.screen.query_one("#strip", FormStrip).sounding is None
        assert bench.signs.sounding not in visible(app)


# --- variants -----------------------------------------------------------------------------------


async def test_the_figure_is_chosen_and_then_how_it_came(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.NAME)) as (bench, app, pilot):
        at_rung(bench, Kind.NAME, 5)
        await start(pilot, bench)
        question = asked(app)
        assert question.variants
        assert "First the figure:" in words(app, "#sentence")
        plain = question.right.removesuffix("+varied")
        await pilot.press(str(question.options.index(plain) + 1))
        await pilot.pause()
        assert "Now how it came:" in words(app, "#sentence")
        await pilot.press("2" if question.varies else "1")
        await pilot.pause()
        assert "Right: fall" in words(app, "#verdict")


# --- how often, and with which key --------------------------------------------------------------


@pytest.mark.parametrize(("kind", "rung", "says"), [
    (Kind.PLACE, 5, "1 playing "), (Kind.PLACE, 4, "2 playings"), (Kind.NAME, 6, "3 playings"),
    (Kind.FORM, 4, "1 playing "), (Kind.FIT, 4, "3 playings"), (Kind.WRITE, 3, "4 playings"),
])  # fmt: skip
@pytest.mark.parametrize("size", SIZES)
async def test_how_often_it_may_be_heard_is_said(
    tmp_path: Path, kind: Kind, rung: int, says: str, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, only(kind), size=size) as (bench, app, pilot):
        at_rung(bench, kind, rung)
        await start(pilot, bench)
        assert says in visible(app).splitlines()[0] + " "


async def test_the_key_for_again_goes_when_the_last_playing_is_used_up(tmp_path: Path) -> None:
    async with staged(tmp_path, only(Kind.PLACE)) as (bench, app, pilot):
        at_rung(bench, Kind.PLACE, 4)
        screen = await start(pilot, bench)
        await heard(pilot, bench)
        assert {"Again", "Slower"} <= offered(app)
        await pilot.press("ctrl+r")
        await heard(pilot, bench)
        assert not {"Again", "Slower"} & offered(app)
        await pilot.press("ctrl+r", "ctrl+l")
        assert 2 == screen._state.playings
        await pilot.press("enter")
        await pilot.pause()
        assert {"Again", "Slower"} <= offered(app)


# --- what every kind has in common --------------------------------------------------------------

BEFORE = {"Again", "Slower", "Stop", "Save", "Pass", "Leave", "Quit", "Help"}
AFTER = {"Next", "Undo", "Again", "Slower", "Stop", "Save", "Leave", "Quit", "Help"}


@pytest.mark.parametrize(("kind", "before", "after"), [
    (Kind.PLACE, {"Answer", "Mark"}, set()),
    (Kind.FIT, {"Answer", "Tick"}, {"Mine", "With bass"}),
    (Kind.FORM, set(), set()),
    (Kind.WRITE, {"Answer"}, set()),
    (Kind.FIND, {"Answer", "Note", "Take back"}, set()),
    (Kind.NAME, set(), set()),
])  # fmt: skip
async def test_the_footer_offers_what_can_be_done(
    tmp_path: Path, kind: Kind, before: set[str], after: set[str]
) -> None:
    async with staged(tmp_path, only(kind)) as (bench, app, pilot):
        await start(pilot, bench)
        assert BEFORE | before == offered(app) - {"Palette", "Select"}
        await pilot.press("ctrl+g")
        await pilot.pause()
        assert AFTER | after == offered(app) - {"Palette"}


@pytest.mark.parametrize("kind", NEW_KINDS)
@pytest.mark.parametrize("size", SIZES)
async def test_everything_fits_the_screen(
    tmp_path: Path, kind: Kind, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, only(kind), size=size) as (bench, app, pilot):
        at_rung(bench, kind, 5)
        await start(pilot, bench)
        shown = visible(app)
        question = asked(app)
        form = bench.catalogue.form(question.form)
        if kind is Kind.PLACE:
            assert f"{len(form):>2} {form.bars[-1][0]}" in shown
            assert "marked: none" in shown
        else:
            for option in question.options:
                assert bench.catalogue.name(option)[:40] in shown
        await pilot.press("ctrl+g")
        await pilot.pause()
        assert f"{bench.signs.wrong} It was" in visible(app)
        assert any(f"{len(form):>2} " in line for line in visible(app).splitlines())


@pytest.mark.parametrize("kind", NEW_KINDS)
async def test_every_kind_has_an_ascii_form(tmp_path: Path, kind: Kind) -> None:
    plain = Settings(ascii=True)
    async with staged(tmp_path, only(kind), plain, size=(60, 20)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("1", "space")
        await pilot.pause()
        assert visible(app).isascii(), visible(app)
        if kind is not Kind.FORM:  # there the digit was the answer
            await pilot.press("enter")
            await pilot.pause()
        assert visible(app).isascii(), visible(app)


@pytest.mark.parametrize("kind", NEW_KINDS)
async def test_without_colours_the_verdict_is_still_told(
    tmp_path: Path, kind: Kind, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with staged(tmp_path, only(kind)) as (bench, app, pilot):
        await start(pilot, bench)
        question = asked(app)
        reply = right_reply(question, bench.catalogue)
        if kind is Kind.PLACE:
            await marked(pilot, tuple(map(int, reply.split())))
        elif kind is Kind.FIT:
            for option in reply.split():
                await pilot.press(str(question.options.index(option) + 1))
            await pilot.press("enter")
        else:
            app.screen.query_one(Choices).highlighted = question.options.index(reply)
            await pilot.press("enter")
        await pilot.pause()
        assert f"{bench.signs.right} Right" in visible(app)


@pytest.mark.parametrize("kind", NEW_KINDS)
async def test_enter_goes_on_to_the_next_question(tmp_path: Path, kind: Kind) -> None:
    async with staged(tmp_path, Only(kinds=(kind,))) as (bench, app, pilot):
        screen = await start(pilot, bench, 3)
        for number in (1, 2):
            assert (number, Phase.ASKING) == (screen._state.number, screen._state.phase)
            await pilot.press("ctrl+g")
            await pilot.pause()
            await pilot.press("enter")
            await pilot.pause()
        assert isinstance(app.screen, RoundScreen)
        assert 3 == screen._state.number


@pytest.mark.parametrize("kind", NEW_KINDS)
async def test_what_is_asked_can_be_saved_before_the_answer(
    tmp_path: Path, kind: Kind, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with staged(tmp_path, only(kind)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+o")
        await pilot.pause()
        assert "Written" in words(app, "#notice")
    assert 1 == len(list(tmp_path.glob("lastbar-*.wav")))


@pytest.mark.parametrize("kind", NEW_KINDS)
async def test_an_answer_is_taken_back_and_given_anew(tmp_path: Path, kind: Kind) -> None:
    async with staged(tmp_path, only(kind)) as (bench, app, pilot):
        screen = await start(pilot, bench)
        question, playings = asked(app), screen._state.playings
        await pilot.press("ctrl+g")
        await pilot.pause()
        await pilot.press("ctrl+z")
        await pilot.pause()
        assert (question, playings) == (asked(app), screen._state.playings)
        assert "Taken back" in visible(app)
        assert "Undo" not in offered(app)
        assert [] == list(bench.store.answers())
        await pilot.press("ctrl+z", "ctrl+g")  # there is nothing more to take back
        await pilot.pause()
        assert "Taken back" not in visible(app)
        (answer,) = bench.store.answers()
        assert question == from_parameters(answer.question)
        assert 2 == len(list(bench.store.every_answer()))


# --- the end of the day's work ------------------------------------------------------------------


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_when_nothing_is_due_any_more_it_is_seen_without_scrolling_once(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    settings = Settings(daily_questions=6, texture="bass")  # a third of them may be new
    within = Only(kinds=(Kind.WRITE,))
    async with staged(tmp_path, within, settings, size=size) as (bench, app, pilot):
        await start(pilot, bench, length=8)
        seen = []
        for _ in range(4):
            await pilot.press("ctrl+g")
            await pilot.pause()
            seen.append("Nothing is due any more today" in words(app, "#notice"))
            assert seen[-1] == app.screen.query_one("#notice").display
            await pilot.press("enter")
            await pilot.pause()
        assert [False, True, False, False] == seen
        assert "nothing is due: ahead of time" in words(app, "#count")
