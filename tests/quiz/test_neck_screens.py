"""The neck on the screens: giving places by key, mouse and typing; feedback; the catalogue."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path, PurePath
from typing import ClassVar

import pytest
from textual import events, on
from textual.app import App, ComposeResult
from textual.pilot import Pilot

import quiz.widgets
from engine.neck import Neck, Position, find_tuning
from engine.notation import NoteNames
from engine.theory import Key, Note
from quiz.display.cautions import HANDS
from quiz.display.signs import PLAIN
from quiz.grading.neck import right_places
from quiz.learning.material import Only
from quiz.questions.kinds import Kind
from quiz.screens.round import RoundScreen
from quiz.settings.values import Settings
from quiz.widgets.figure_steps import FigureSteps
from quiz.widgets.neck import NeckDrawing, NeckPad
from quiz.widgets.outcome import Outcome
from quiz.workbench import Workbench
from tests.quiz.benches import staged
from tests.quiz.neck.test_drawing import text as drawing
from tests.quiz.test_app import heard, start, visible, words

CLIMB = Only(kinds=(Kind.FIND,), devices=("climb",), keys=(Key(Note("A")),))


class Stage(App[None]):
    """A pad alone, and what it has given."""

    CSS_PATH: ClassVar[list[str | PurePath]] = [Path(quiz.widgets.__file__).parent / "neck.tcss"]

    def __init__(self, pad: NeckPad, neck: Neck) -> None:
        super().__init__()
        self._pad, self._neck = pad, neck
        self.given: list[str] = []

    def compose(self) -> ComposeResult:
        yield self._pad

    def on_mount(self) -> None:
        self._pad.ask(self._neck)
        self._pad.focus()

    @on(NeckPad.Given)
    def _given(self, message: NeckPad.Given) -> None:
        self.given.append(message.text)


def drawn_at(pad: NeckPad, place: Position) -> tuple[int, int]:
    """The column and the row of a pad in which a place is drawn."""
    row = len(pad.view.neck.tuning.strings) - place.string
    return drawing(pad.view, place)[row].index("o"), row


@asynccontextmanager
async def padded(
    neck: Neck | None = None,
    left_handed: bool = False,
    names: NoteNames = NoteNames.ENGLISH,
    size: tuple[int, int] = (80, 24),
) -> AsyncIterator[tuple[Stage, NeckPad, Pilot[None]]]:
    pad = NeckPad(PLAIN, left_handed, names)
    stage = Stage(pad, neck or Neck())
    async with stage.run_test(size=size) as pilot:
        await pilot.pause()
        yield stage, pad, pilot


def text(pad: NeckPad) -> list[str]:
    """What the pad shows, line by line."""
    return [
        "".join(segment.text for segment in pad.render_line(line)).rstrip()
        for line in range(pad.size.height)
    ]


# --- the pad ------------------------------------------------------------------------------------


async def test_places_are_given_with_the_arrow_keys_and_the_space_bar() -> None:
    async with padded() as (stage, pad, pilot):
        await pilot.press(*["right"] * 4, "space", "up", "left", "space", "right", "comma")
        assert "given: E5 A4 A5" in text(pad)
        await pilot.press("enter")
        assert ["E5 A4 A5"] == stage.given


async def test_places_are_typed() -> None:
    async with padded() as (stage, pad, pilot):
        await pilot.press(*"e5", "space", "A", "space", *"4", "comma", *"3/5", "comma", *"a6")
        assert "given: E5 A4 A5   typing: a6_" in text(pad)
        await pilot.press("enter")
        assert ["E5 A4 A5 A6"] == stage.given


async def test_places_that_are_typed_fast_are_all_there_once() -> None:
    # a terminal hands over a burst of keys; none waits until the one before has been worked off
    async with padded() as (stage, pad, pilot):
        for char in "E5 A4 A55\b D1,D2 ":
            key = {" ": "space", ",": "comma", "\b": "backspace"}.get(char, char)
            stage.post_message(events.Key(key, char))
        await pilot.pause()
        assert "given: E5 A4 A5 D1 D2" in text(pad)


async def test_what_cannot_be_read_is_handed_on_so_that_it_is_told() -> None:
    async with padded() as (stage, _pad, pilot):
        await pilot.press(*"E5", "space", *"X9", "enter")
        assert ["E5 X9"] == stage.given


async def test_notes_are_taken_back_one_by_one_or_all_at_once() -> None:
    async with padded() as (_stage, pad, pilot):
        await pilot.press(*"E5", "space", *"A4", "space", *"A", "backspace", "backspace")
        assert [Position(0, 5)] == list(pad.line)
        await pilot.press("ctrl+u")
        assert not pad.line
        assert "given: nothing yet" in text(pad)


@pytest.mark.parametrize("left_handed", [False, True])
async def test_a_click_on_a_fret_gives_it(left_handed: bool) -> None:
    async with padded(left_handed=left_handed) as (stage, pad, pilot):
        for place in (Position(0, 5), Position(1, 0), Position(3, 12)):
            await pilot.click(NeckPad, offset=drawn_at(pad, place))
            assert place == pad.line[-1] == pad.cursor
        await pilot.press("enter")
        assert ["E5 A0 G12"] == stage.given


async def test_a_click_beside_the_neck_gives_nothing() -> None:
    async with padded() as (_stage, pad, pilot):
        await pilot.click(NeckPad, offset=(10, 0))
        await pilot.click(NeckPad, offset=(1, 2))
        assert () == pad.line


async def test_for_the_left_handed_the_arrows_go_the_other_way() -> None:
    async with padded(left_handed=True) as (_stage, pad, pilot):
        await pilot.press("left", "left")
        assert Position(0, 3) == pad.cursor
        await pilot.press("right")
        assert Position(0, 2) == pad.cursor


async def test_the_cursor_stays_on_the_neck_and_the_window_follows_it() -> None:
    async with padded(Neck(frets=24), size=(40, 20)) as (_stage, pad, pilot):
        await pilot.press("left", "left", "down")
        assert Position(0, 0) == pad.cursor
        await pilot.press(*["right"] * 30, *["up"] * 9)
        assert Position(3, 24) == pad.cursor
        assert " 24" in text(pad)[0]
        assert "[-]|" in text(pad)[1]


async def test_strings_are_called_as_the_player_calls_notes() -> None:
    five = Neck(find_tuning("five-string"))
    async with padded(five, names=NoteNames.GERMAN) as (stage, _pad, pilot):
        await pilot.press(*"H3", "space", *"B3", "enter")
        assert ["B3 B3"] == stage.given


async def test_pasted_places_are_taken() -> None:
    async with padded() as (stage, pad, pilot):
        pad.post_message(events.Paste("E5\nA4  A5"))
        await pilot.pause()
        await pilot.press("enter")
        assert ["E5 A4 A5"] == stage.given


# --- the round ----------------------------------------------------------------------------------


def right_line(app: object, bench: Workbench) -> str:
    screen = getattr(app, "screen", None)
    assert isinstance(screen, RoundScreen)
    return right_places(screen._state.current.question, bench.catalogue)


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_places_are_given_graded_shown_and_kept(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, CLIMB, size=size) as (bench, app, pilot):
        await start(pilot, bench)
        assert isinstance(app.focused, NeckPad)
        line = right_line(app, bench)
        assert "E5 A4 A5 A6" == line
        for row in (" G ", " D ", " A ", " E "):
            assert any(shown.startswith(row) for shown in visible(app).splitlines())
        await pilot.press(*line.replace(" ", ","), "enter")
        await pilot.pause()
        assert words(app, "#verdict") == f"{bench.signs.right} Right: climb."
        assert "you played E5 A4 A5 A6 (the hand stays)" in words(app, "#remarks")
        assert not app.screen.query_one(FigureSteps).display
        assert f"─{bench.signs.place}─" in visible(app)
        (answer,) = bench.store.answers()
    assert ("find", "right", "E5 A4 A5 A6", 1 / 20) == (
        answer.kind,
        answer.verdict,
        answer.given,
        answer.guess_rate,
    )


async def test_a_click_on_the_neck_answers_too(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB) as (bench, app, pilot):
        await start(pilot, bench)
        pad = app.screen.query_one(NeckPad)
        for string, fret in ((0, 5), (1, 4), (1, 5), (1, 6)):
            await pilot.click(NeckPad, offset=drawn_at(pad, Position(string, fret)))
        await pilot.press("enter")
        await pilot.pause()
        assert "Right: climb." in words(app, "#verdict")


async def test_the_players_path_and_a_better_one_are_drawn_and_the_figure_is_played(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, CLIMB) as (bench, app, pilot):
        await start(pilot, bench)
        assert bench.player.position() is None
        await pilot.press(*"E5,E9,E10,E11", "enter")
        await pilot.pause()
        assert "that saves 3 frets of hand movement" in words(app, "#remarks")
        neck = app.screen.query_one("#neck", NeckDrawing)
        own, path = bench.signs.own, bench.signs.place
        shown = "".join(line for line in visible(app).splitlines() if line.startswith(" E "))
        assert (3, 1) == (shown.count(own), shown.count(path))
        await heard(pilot, bench)
        assert neck.display


async def test_a_place_that_the_neck_does_not_have_is_told_and_nothing_is_lost(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path, CLIMB) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press(*"E5,E25", "enter")
        await pilot.pause()
        assert "'E25' is beyond the neck: frets are 0 (open) to 20" in words(app, "#notice")
        assert "given: E5   typing: E25_" in visible(app)
        assert 0 == bench.store.count()


async def test_it_may_be_heard_before_the_answer_and_nothing_is_lit_then(tmp_path: Path) -> None:
    async with staged(tmp_path, CLIMB) as (bench, app, pilot):
        screen = await start(pilot, bench)
        await pilot.press("ctrl+r")
        await heard(pilot, bench)
        assert not screen.query_one(Outcome).lights
        assert app.screen.query_one("#neck", NeckDrawing).lit is None


async def test_the_first_question_on_the_neck_cautions_the_hands(tmp_path: Path) -> None:
    async with staged(tmp_path, Only(kinds=(Kind.FIND,))) as (bench, app, pilot):
        await start(pilot, bench)
        assert HANDS == words(app, "#notice")
        await pilot.press("ctrl+g")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert "2 of 3" in words(app, "#count")
        assert "" == words(app, "#notice")


async def test_the_figure_lights_up_while_it_sounds(tmp_path: Path) -> None:
    quick = Settings(tempo_low=220, tempo_high=220, feels=("swing",))
    only = Only(kinds=(Kind.FIND,), devices=("half-below-into-four",), keys=CLIMB.keys)
    async with staged(tmp_path, only, quick) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+g")
        await heard(pilot, bench)
        neck = app.screen.query_one("#neck", NeckDrawing)
        seen: list[Position] = []
        while bench.player.position() is not None and len(seen) < 2:
            await pilot.pause(0.03)
            if neck.lit is not None and neck.lit not in seen:
                seen.append(neck.lit)
                assert bench.signs.lit in visible(app)
        places = [light.place for light in app.screen.query_one(Outcome).lights]
    assert seen
    assert seen == list(dict.fromkeys(places))[: len(seen)]


@pytest.mark.parametrize("kind", [Kind.SPELL, Kind.WRITE, Kind.NAME])
async def test_other_questions_about_a_figure_end_on_the_neck_too(
    tmp_path: Path, kind: Kind
) -> None:
    only = Only(kinds=(kind,), devices=("climb",), keys=CLIMB.keys)
    async with staged(tmp_path, only, size=(80, 45)) as (bench, app, pilot):
        await start(pilot, bench)
        await pilot.press("ctrl+g")
        await pilot.pause()
        assert app.screen.query_one("#neck", NeckDrawing).display
        assert app.screen.query_one(FigureSteps).display
        assert f"{bench.signs.place} the path" in visible(app)


async def test_without_colours_and_signs_the_neck_reads_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    plain = Settings(ascii=True, left_handed=True, tuning="six-string", frets=24)
    async with staged(tmp_path, CLIMB, plain, size=(60, 20)) as (bench, app, pilot):
        await start(pilot, bench)
        assert visible(app).isascii(), visible(app)
        await pilot.press(*"E5,E9,G3", "enter")
        await pilot.pause()
        shown = visible(app)
        assert shown.isascii(), shown
        assert "x yours, wrong" in shown
        low = next(line for line in shown.splitlines() if line.rstrip().endswith(" E"))
        assert low.index("o") < low.index("H")  # the nut is at the right


# --- the catalogue ------------------------------------------------------------------------------


async def test_the_catalogue_draws_the_neck_and_lights_it(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(100, 50)) as (bench, app, pilot):
        await pilot.pause()
        await pilot.press("c")
        await pilot.pause()
        neck = app.screen.query_one("#neck", NeckDrawing)
        assert f"{bench.signs.place} the path" in visible(app)
        await pilot.press("enter")
        await heard(pilot, bench)
        assert app.screen._lights  # type: ignore[attr-defined]
        await pilot.press("down")  # another device is shown while the first one sounds
        await pilot.pause(0.1)
        assert neck.lit is None
        await pilot.press("end")  # a form
        await pilot.pause()
        assert not neck.display


async def test_a_caution_stands_beside_a_path_with_a_stretch(tmp_path: Path) -> None:
    async with staged(tmp_path, size=(120, 50)) as (_bench, app, pilot):
        await pilot.pause()
        await pilot.press("c")
        await pilot.pause()
        await pilot.press(*["down"] * 6)  # the long climb
        hands = app.screen.query_one("#hands")
        cautioned = []
        for _ in range(12):
            await pilot.pause()
            assert bool(hands.display) == (HANDS in visible(app))
            if hands.display:
                cautioned.append(words(app, "#how").split(",")[0])
            await pilot.press("k")
    assert ["long climb in Eb", "long climb in Bb"] == cautioned
