"""The pads an answer is given on: marking bars, ticking figures, and the area that holds them."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path, PurePath
from typing import ClassVar

import pytest
from rich.segment import Segment
from textual import on
from textual.app import App, ComposeResult
from textual.pilot import Pilot
from textual.widget import Widget

import quiz.widgets
from engine.forms import find_form
from engine.pattern import Spot
from quiz.display.signs import PLAIN, RICH, Signs
from quiz.questions.kinds import Kind
from quiz.questions.value import Question
from quiz.widgets.answer_area import AnswerArea
from quiz.widgets.answer_pad import AnswerLine, Choices, Ticks
from quiz.widgets.bar_pad import BarPad
from quiz.widgets.figure_steps import FigureSteps, Tread
from quiz.widgets.form_strip import FormStrip, Mark
from tests.quiz.asking import CATALOGUE, chorus, form_call, question

SHEETS = Path(quiz.widgets.__file__).parent


class Stage(App[None]):
    """One widget alone, and what it has said."""

    CSS = "OptionList { border: none; padding: 0; }"
    CSS_PATH: ClassVar[list[str | PurePath]] = [
        SHEETS / "form_strip.tcss",
        SHEETS / "figure_steps.tcss",
    ]

    def __init__(self, widget: Widget) -> None:
        super().__init__()
        self._widget = widget
        self.bars: list[tuple[int, ...]] = []
        self.ticks: list[tuple[int, ...]] = []
        self.given: list[str] = []
        self.steps: list[str] = []

    def compose(self) -> ComposeResult:
        yield self._widget

    @on(BarPad.Given)
    def _bars(self, message: BarPad.Given) -> None:
        self.bars.append(message.bars)

    @on(Ticks.Given)
    def _ticks(self, message: Ticks.Given) -> None:
        self.ticks.append(message.indices)

    @on(AnswerArea.Given)
    def _given(self, message: AnswerArea.Given) -> None:
        self.given.append(message.text)

    @on(AnswerArea.Stepped)
    def _stepped(self, message: AnswerArea.Stepped) -> None:
        self.steps.append(message.asks)


def segments(widget: Widget) -> list[list[Segment]]:
    return [list(widget.render_line(line)) for line in range(widget.size.height)]


def text(widget: Widget) -> list[str]:
    """What a widget shows, line by line."""
    return ["".join(segment.text for segment in line).rstrip() for line in segments(widget)]


# --- marking bars -------------------------------------------------------------------------------


@asynccontextmanager
async def bar_pad(
    form: str = "twelve-bar", signs: Signs = RICH, size: tuple[int, int] = (80, 24)
) -> AsyncIterator[tuple[BarPad, Stage, Pilot[None]]]:
    pad = BarPad(signs)
    stage = Stage(pad)
    async with stage.run_test(size=size) as pilot:
        pad.ask(find_form(form))
        pad.focus()
        await pilot.pause()
        yield pad, stage, pilot


@pytest.mark.parametrize(("keys", "bars"), [
    ((), ()),
    (("space",), (1,)),
    (("right", "space"), (2,)),
    (("down", "space"), (5,)),
    (("down", "down", "right", "space", "up", "space"), (6, 10)),
    (("right", "left", "space"), (1,)),
    (("left", "up", "space"), (1,)),  # there is nothing before the first bar
    (("down",) * 9 + ("space",), (12,)),  # nor behind the last
    (("space", "space"), ()),
    (("4", "space"), (4,)),
    (("4", "comma", "1", "1", "comma", "1", "2"), (4, 11, 12)),
    (("4", "space", "4", "space"), ()),
    (("1", "2"), (12,)),
    (("4",), (4,)),  # Enter ends the number too
    (("9", "9"), ()),  # no bar has this number
    (("0",), ()),
    (("1", "2", "backspace"), (1,)),
    (("4", "backspace"), ()),
    (("backspace",), ()),
    (("4", "right", "space"), (4, 5)),  # the cursor stands where the number was
    (("4", "space", "8", "space", "ctrl+u"), ()),
    (("4", "space", "ctrl+u", "8"), (8,)),
    (("3", "1", "1"), (11,)),  # of three digits the last two count
])  # fmt: skip
async def test_bars_are_marked_by_keys_and_numbers(
    keys: tuple[str, ...], bars: tuple[int, ...]
) -> None:
    async with bar_pad() as (_pad, stage, pilot):
        await pilot.press(*keys, "enter")
        await pilot.pause()
        assert [bars] == stage.bars


@pytest.mark.parametrize(("size", "place", "bar"), [
    ((80, 24), (1, 0), 1), ((80, 24), (19, 0), 2), ((80, 24), (71, 2), 12),
    ((60, 20), (1, 1), 5), ((60, 20), (15, 0), 2), ((60, 20), (44, 2), 12),
])  # fmt: skip
async def test_a_click_marks_a_bar_and_another_takes_the_mark_away(
    size: tuple[int, int], place: tuple[int, int], bar: int
) -> None:
    async with bar_pad(size=size) as (pad, stage, pilot):
        await pilot.click(BarPad, offset=place)
        assert {bar} == pad.marked
        assert bar == pad.cursor
        await pilot.click(BarPad, offset=place)
        assert not pad.marked
        assert [] == stage.bars


async def test_a_click_on_every_bar_marks_every_bar() -> None:
    async with bar_pad("sixteen-bar", size=(60, 20)) as (pad, _stage, pilot):
        for bar in range(16):
            await pilot.click(BarPad, offset=(bar % 4 * pad.bar_width + 3, bar // 4))
        assert set(range(1, 17)) == pad.marked


async def test_a_click_beside_the_bars_marks_nothing() -> None:
    async with bar_pad() as (pad, _stage, pilot):
        for place in ((76, 0), (3, 3), (3, 4)):
            await pilot.click(BarPad, offset=place)
        assert not pad.marked


async def test_what_is_marked_and_typed_is_said_below_the_bars() -> None:
    async with bar_pad() as (pad, _stage, pilot):
        assert "marked: none" == text(pad)[-1]
        await pilot.press("1", "1", "comma", "4", "comma", "1")
        assert "marked: 4 11   typing: 1_" == text(pad)[-1]


@pytest.mark.parametrize("signs", [PLAIN, RICH])
async def test_a_marked_bar_has_a_sign_before_its_number(signs: Signs) -> None:
    async with bar_pad(signs=signs) as (pad, _stage, pilot):
        await pilot.press("4", "comma")
        shown = text(pad)[0]
        assert f"{signs.bar}{signs.marked} 4 I7" in shown
        assert 1 == shown.count(signs.marked)
        assert signs is RICH or "".join(text(pad)).isascii()


async def test_the_bar_under_the_cursor_is_shown_reversed() -> None:
    async with bar_pad() as (pad, _stage, pilot):
        await pilot.press("right")
        await pilot.pause()
        reversed_text = "".join(
            segment.text
            for line in segments(pad)
            for segment in line
            if segment.style is not None and segment.style.reverse
        )
        assert reversed_text.startswith(f"{RICH.bar}  2 I7")
        assert "3" not in reversed_text


@pytest.mark.parametrize(("form", "lines"), [("eight-bar", 4), ("twelve-bar", 5),
                                             ("sixteen-bar", 6)])  # fmt: skip
async def test_the_pad_is_as_high_as_its_form(form: str, lines: int) -> None:
    async with bar_pad(form, size=(60, 20)) as (pad, _stage, _pilot):
        assert lines == pad.size.height
        assert f"{find_form(form).bars[-1][0]}" in text(pad)[lines - 3]


async def test_a_new_question_finds_nothing_marked_or_typed() -> None:
    async with bar_pad() as (pad, stage, pilot):
        await pilot.press("4", "comma", "9")
        pad.ask(find_form("eight-bar"))
        await pilot.press("enter")
        await pilot.pause()
        assert [()] == stage.bars
        assert 8 == pad.bars


async def test_letters_and_control_keys_go_on_to_the_screen() -> None:
    async with bar_pad() as (pad, _stage, pilot):
        await pilot.press("a", "z", "ctrl+l", "f5")
        assert ("", frozenset()) == (pad.typed, pad.marked)


# --- the strip ----------------------------------------------------------------------------------


async def test_what_became_of_each_bar_is_told_by_signs() -> None:
    strip = FormStrip(RICH)
    async with Stage(strip).run_test(size=(80, 24)) as pilot:
        form = find_form("twelve-bar")
        marks = {4: Mark.HIT, 8: Mark.MISS, 2: Mark.FALSE_ALARM}
        strip.show(form, frozenset(), frozenset(range(1, 13)), marks=marks)
        await pilot.pause()
        first, second, _ = text(strip)
        assert f"{RICH.right} 4 I7" in first
        assert f"{RICH.wrong} 2 I7" in first
        assert f"{RICH.asked} 8 I7" in second


# --- ticking figures ----------------------------------------------------------------------------


@asynccontextmanager
async def ticks(
    *names: str, sign: str = "*", size: tuple[int, int] = (80, 24)
) -> AsyncIterator[tuple[Ticks, Stage, Pilot[None]]]:
    pad = Ticks(sign)
    stage = Stage(pad)
    async with stage.run_test(size=size) as pilot:
        pad.offer(names or ("climb", "fall", "raised one"))
        pad.focus()
        await pilot.pause()
        yield pad, stage, pilot


@pytest.mark.parametrize(("keys", "ticked"), [
    ((), ()),
    (("1",), (0,)),
    (("3", "1"), (0, 2)),
    (("1", "1"), ()),
    (("space",), (0,)),
    (("down", "space", "down", "space"), (1, 2)),
    (("down", "space", "space"), ()),
    (("2", "down", "space"), ()),  # a digit leaves the light on the first; down leads to the second
    (("4", "9", "0", "x"), ()),  # there is no fourth
])  # fmt: skip
async def test_figures_are_ticked_by_digits_and_by_the_space_bar(
    keys: tuple[str, ...], ticked: tuple[int, ...]
) -> None:
    async with ticks() as (_pad, stage, pilot):
        await pilot.press(*keys, "enter")
        await pilot.pause()
        assert [ticked] == stage.ticks


async def test_a_click_ticks_and_another_takes_the_tick_away() -> None:
    async with ticks() as (_pad, stage, pilot):
        await pilot.click(Ticks, offset=(6, 1))
        await pilot.click(Ticks, offset=(6, 2))
        await pilot.click(Ticks, offset=(6, 1))
        await pilot.press("enter")
        await pilot.pause()
        assert [(2,)] == stage.ticks


async def test_a_tick_is_shown_by_its_sign_before_the_name() -> None:
    async with ticks() as (pad, _stage, pilot):
        await pilot.press("2")
        await pilot.pause()
        prompts = [str(pad.get_option_at_index(place).prompt) for place in range(3)]
        assert ["[ ] 1  climb", "[*] 2  fall", "[ ] 3  raised one"] == prompts


async def test_names_are_shown_as_they_are_written() -> None:
    async with ticks("G7[b13]", "[/]", "[bold]climb[/bold]") as (pad, _stage, pilot):
        await pilot.press("2", "3")
        await pilot.pause()
        shown = "\n".join(text(pad))
        for name in ("G7[b13]", "[/]", "[bold]climb[/bold]"):
            assert name in shown


async def test_new_figures_are_offered_with_nothing_ticked() -> None:
    async with ticks() as (pad, stage, pilot):
        await pilot.press("1", "2")
        pad.offer(("long climb", "stay"))
        await pilot.press("enter")
        await pilot.pause()
        assert [()] == stage.ticks
        assert 2 == pad.option_count


# --- the area that holds the pads ---------------------------------------------------------------

CLIMB, FALL = "climb+plain-five", "fall+plain-five"
NAMED = question(CLIMB, kind=Kind.NAME, options=(CLIMB, FALL))
BOTH = question("climb+dip", kind=Kind.NAME, options=(CLIMB, "climb+dip", FALL, "fall+dip"))
VARYING = replace(NAMED, variants=True)
WRITTEN = question(CLIMB)
PLACED = chorus("4:walk-up-one-four")
FITTING = question(CLIMB, kind=Kind.FIT, options=(CLIMB, FALL, "raised-one"))
CALLED = form_call("quick-change", "twelve-bar", "quick-change")


@asynccontextmanager
async def area(asked: Question) -> AsyncIterator[tuple[AnswerArea, Stage, Pilot[None]]]:
    pads = AnswerArea(RICH)
    stage = Stage(pads)
    async with stage.run_test(size=(80, 24)) as pilot:
        pads.ask(asked, CATALOGUE)
        await pilot.pause()
        yield pads, stage, pilot


@pytest.mark.parametrize(("asked", "pad"), [
    (NAMED, Choices), (CALLED, Choices), (WRITTEN, AnswerLine), (PLACED, BarPad), (FITTING, Ticks),
])  # fmt: skip
async def test_the_pad_of_the_kind_is_seen_and_has_the_keys(
    asked: Question, pad: type[Widget]
) -> None:
    async with area(asked) as (pads, _stage, _pilot):
        assert isinstance(pads.visible_content, pad)
        assert pads.query_one(pad).has_focus


@pytest.mark.parametrize(("asked", "keys", "given"), [
    (NAMED, ("2",), FALL),
    (CALLED, ("down", "enter"), "quick-change"),
    (WRITTEN, (*"1 3 4 #4", "enter"), "1 3 4 #4"),
    (PLACED, ("4", "comma", "1", "1", "enter"), "4 11"),
    (PLACED, ("enter",), "none"),
    (FITTING, ("1", "3", "enter"), f"{CLIMB} raised-one"),
    (FITTING, ("enter",), "none"),
    (BOTH, ("1", "2"), "climb+dip"),
    (VARYING, ("2", "2"), f"{FALL}+varied"),
    (VARYING, ("2", "1"), FALL),
])  # fmt: skip
async def test_every_pad_gives_its_answer_as_a_text(
    asked: Question, keys: tuple[str, ...], given: str
) -> None:
    async with area(asked) as (_pads, stage, pilot):
        for key in keys:
            await pilot.press(key)
            await pilot.pause()
        assert [given] == stage.given


async def test_the_steps_of_a_choice_are_told() -> None:
    async with area(BOTH) as (_pads, stage, pilot):
        await pilot.press("1")
        await pilot.pause()
        assert ["First bar 11:", "Now bar 12:"] == stage.steps
    async with area(VARYING) as (_pads, stage, pilot):
        await pilot.press("1")
        await pilot.pause()
        assert ["First the figure:", "Now how it came:"] == stage.steps
    async with area(NAMED) as (_pads, stage, _pilot):
        assert [""] == stage.steps


async def test_a_step_can_be_taken_back_but_not_beyond_the_first() -> None:
    async with area(BOTH) as (pads, stage, pilot):
        assert not pads.step_back()
        await pilot.press("1")
        await pilot.pause()
        assert pads.step_back()
        assert not pads.step_back()
        await pilot.press("2", "2")
        await pilot.pause()
        assert ["fall+dip"] == stage.given


@pytest.mark.parametrize("following", [PLACED, FITTING, WRITTEN, NAMED, CALLED])
async def test_a_question_after_a_choice_in_steps_begins_anew(following: Question) -> None:
    async with area(BOTH) as (pads, _stage, pilot):
        await pilot.press("1")
        await pilot.pause()
        pads.ask(following, CATALOGUE)
        await pilot.pause()
        assert not pads.step_back()


async def test_a_new_question_empties_the_line() -> None:
    async with area(WRITTEN) as (pads, stage, pilot):
        await pilot.press(*"1 3")
        pads.ask(WRITTEN, CATALOGUE)
        await pilot.press("5", "enter")
        await pilot.pause()
        assert ["5"] == stage.given


# --- the drawing of a doubled figure ------------------------------------------------------------


def treads(*labels: str) -> list[Tread]:
    """Two eighths a beat, each with one label."""
    return [
        Tread(Spot(place // 2, place % 2 == 1), 40 + place // 2, (label,))
        for place, label in enumerate(labels)
    ]


@pytest.mark.parametrize("columns", [60, 80])
async def test_a_note_that_is_struck_twice_is_named_once_and_in_full(columns: int) -> None:
    steps = FigureSteps(RICH)
    async with Stage(steps).run_test(size=(columns, 24)) as pilot:
        pairs = [label for name in ("1", "3", "4", "#4") * 2 for label in (name, name)]
        steps.show(treads(*pairs, "8"), ("degree",))
        await pilot.pause()
        assert ["degree", *("1", "3", "4", "#4") * 2, "8"] == text(steps)[-1].split()


async def test_two_different_eighths_are_both_named() -> None:
    steps = FigureSteps(RICH)
    async with Stage(steps).run_test(size=(80, 24)) as pilot:
        steps.show(treads("5", "5", "b6", "5", "5", "5"), ("degree",))
        await pilot.pause()
        assert ["degree", "5", "b6", "5", "5"] == text(steps)[-1].split()
