"""Pins and reaches in the catalogue screen, and what the coach makes of them."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from textual.containers import VerticalScroll
from textual.widgets import OptionList

from engine.catalogue import Family
from engine.feels import FEELS, Feel
from quiz.learning.material import Only, can_ask, learning_order
from quiz.learning.memory import Item
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.value import Question
from quiz.screens.settings import ROWS, SettingsScreen
from quiz.settings.values import Pin, Settings, load
from quiz.widgets.figure_steps import FigureSteps
from quiz.widgets.form_strip import FormStrip
from tests.quiz.asking import CATALOGUE
from tests.quiz.benches import opened, staged
from tests.quiz.test_app import heard, visible, words

CLIMB = Only(devices=("climb",))


def questions(folder: Path, settings: Settings, only: Only, count: int = 10) -> Iterator[Question]:
    """What a coach asks, one question after the other."""
    with opened(folder, only, settings) as bench:
        for _ in range(count):
            yield bench.coach.next().question


# --- p --------------------------------------------------------------------------------------------


async def test_p_pins_to_what_is_set_here_and_it_is_kept(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("t", "t", "minus", "p")
        await pilot.pause()
        assert {"climb": Pin("drums", 99)} == bench.settings.pins
        assert {"climb": Pin("drums", 99)} == load(bench.locations.settings).settings.pins
        assert "Pinned: climb is asked at 99 bpm, bass and drums." == words(app, "#notice")


async def test_p_again_lets_go_and_that_is_kept_too(tmp_path: Path) -> None:
    pinned = Settings(pins={"climb": Pin("bass", 60), "fall": Pin("band", 120)})
    async with staged(tmp_path, settings=pinned) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        assert "bass alone, 60 bpm, pinned" in words(app, "#reach")
        await pilot.press("p")
        await pilot.pause()
        assert {"fall": Pin("band", 120)} == load(bench.locations.settings).settings.pins
        assert "climb goes on by your reach." == words(app, "#notice")
        assert "pinned" not in words(app, "#reach")
        assert {"fall": Pin("band", 120)} == bench.settings.pins


async def test_a_pin_is_there_at_the_next_start(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, _app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("p")
        await pilot.pause()
        pins = bench.settings.pins
        kept = load(bench.locations.settings).settings
    async with staged(tmp_path, settings=kept) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        assert pins == bench.settings.pins
        assert "103 bpm, pinned" in words(app, "#reach")


async def lit(app: object, row: str) -> None:
    """Light a row of the catalogue screen."""
    listed = app.screen.query_one("#devices", OptionList)  # type: ignore[attr-defined]
    listed.highlighted = listed.get_option_index(row)


@pytest.mark.parametrize("row", [base.id for base in CATALOGUE.family(Family.BASE)])
async def test_a_base_pattern_is_asked_by_nobody_and_cannot_be_pinned(
    tmp_path: Path, row: str
) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await lit(app, row)
        await pilot.pause()
        assert "" == words(app, "#reach")
        await pilot.press("p")
        await pilot.pause()
        assert {} == bench.settings.pins
        name = CATALOGUE.name(row)
        assert f"Nobody asks about {name}, so there is nothing to pin." == words(app, "#notice")


async def test_a_form_is_pinned_with_the_whole_band(tmp_path: Path) -> None:
    async with staged(tmp_path, Only(devices=("quick-change",))) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await lit(app, "quick-change")
        await pilot.press("t", "p")  # a bass alone cannot tell a form
        await pilot.pause()
        assert words(app, "#notice").endswith("is asked at 103 bpm, whole band.")
        assert "Call the form: new, whole band, 103 bpm, pinned" in words(app, "#reach")
        asked = bench.coach.next().question
        assert (Kind.FORM, "band", 103.0, -1) == (
            asked.kind,
            asked.texture,
            asked.tempo,
            asked.rung,
        )


async def test_settings_that_cannot_be_written_are_told_and_the_pin_holds_until_the_end(
    tmp_path: Path,
) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        bench.locations = replace(bench.locations, config=Path("/dev/null/nowhere"))
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("p")
        await pilot.pause()
        assert "/dev/null/nowhere" in words(app, "#notice")
        assert {"climb"} == set(bench.settings.pins)


# --- what the coach asks --------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [Kind.NAME, Kind.WRITE])
@pytest.mark.parametrize(
    ("texture", "tempo"), [("bass", 60), ("drums", 99), ("band", 120), ("bass", 200)]
)
def test_a_pinned_device_is_asked_at_its_tempo_with_its_players_and_off_the_ladder(
    tmp_path: Path, kind: Kind, texture: str, tempo: int
) -> None:
    pinned = Settings(pins={"climb": Pin(texture, tempo)})
    asked = list(questions(tmp_path, pinned, Only((kind,), ("climb",))))
    assert {(texture, float(tempo), -1)} == {(one.texture, one.tempo, one.rung) for one in asked}
    for one in asked:
        facts = FEELS[Feel(one.feel)]
        assert facts.slowest <= tempo <= facts.fastest


def test_a_tempo_that_none_of_the_liked_feels_bears_is_asked_as_near_as_they_do(
    tmp_path: Path,
) -> None:
    pinned = Settings(pins={"climb": Pin("bass", 60)}, feels=("shuffle",))
    asked = list(questions(tmp_path, pinned, Only((Kind.NAME,), ("climb",))))
    assert {"shuffle"} == {one.feel for one in asked}
    assert all(80 <= one.tempo <= 86 for one in asked)


def test_where_the_band_is_what_is_asked_about_a_pin_gives_the_tempo_alone(tmp_path: Path) -> None:
    pinned = Settings(pins={"climb": Pin("bass", 96)})
    (asked,) = questions(tmp_path, pinned, Only((Kind.FIT,), ("climb",)), 1)
    assert ("band", 96.0, -1) == (asked.texture, asked.tempo, asked.rung)


def test_what_is_not_pinned_goes_by_its_reach(tmp_path: Path) -> None:
    pinned = Settings(pins={"climb": Pin("band", 120)})
    asked = list(questions(tmp_path, pinned, Only((Kind.NAME,), ("climb", "fall"))))
    assert {"climb", "fall"} == {one.item for one in asked}
    assert {("drums", 1)} == {(one.texture, one.rung) for one in asked if one.item == "fall"}


def test_a_pin_wins_over_who_plays_in_the_settings(tmp_path: Path) -> None:
    settings = Settings(texture="bass", pins={"climb": Pin("band", 120)})
    asked = list(questions(tmp_path, settings, Only((Kind.NAME,), ("climb", "fall"))))
    assert {("climb", "band"), ("fall", "bass")} == {(one.item, one.texture) for one in asked}


async def test_answers_to_a_pinned_device_leave_its_reach_where_it_was(tmp_path: Path) -> None:
    pinned = Settings(pins={"climb": Pin("band", 120)})
    only = Only((Kind.NAME,), ("climb",))
    async with staged(tmp_path, only, pinned) as (bench, _app, pilot):
        await pilot.press("r")
        await heard(pilot, bench)
        await pilot.press("1")
        await pilot.pause()
        (answer,) = bench.store.answers()
        assert -1 == answer.rung
        assert {} == bench.store.practice().reaches.items
        assert {Item("climb", "name")} == set(bench.store.practice().states)  # memory goes on


# --- reach lines ----------------------------------------------------------------------------------


@pytest.mark.parametrize("row", learning_order(CATALOGUE), ids=lambda row: row.id)
def test_a_reach_is_a_line_for_each_kind_that_is_heard(tmp_path: Path, row: object) -> None:
    with opened(tmp_path) as bench:
        for kind in Kind:
            words = bench.coach.reach(Item(row.id, kind.value))  # type: ignore[attr-defined]
            assert (", 88 bpm" in words) == (KINDS[kind].heard and kind is not Kind.JAM)


async def test_the_catalogue_says_how_far_one_has_come_in_each_kind(tmp_path: Path) -> None:
    async with staged(tmp_path) as (_bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        assert [
            "How you stand",
            "Name it: new, bass and drums, 3 options, 88 bpm",
            "Write it down: new, bass and drums, 88 bpm",
            "Spell it: new",
            "On the neck: new, degrees shown",
            "Fit the band: new, band without the bass, 3 figures, 88 bpm",
        ] == words(app, "#reach").splitlines()


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
@pytest.mark.parametrize("row", ["climb", "walk-up-one-four", "quick-change"])
async def test_the_keyboard_leads_to_the_reach_on_a_small_screen(
    tmp_path: Path, row: str, size: tuple[int, int]
) -> None:
    async with staged(tmp_path, size=size) as (_bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await lit(app, row)
        await pilot.pause()
        await pilot.press("tab", "end")
        await pilot.wait_for_scheduled_animations()
        assert "88 bpm" in visible(app)
        assert app.screen.query_one("#details", VerticalScroll).has_focus
        await pilot.press("shift+tab", "k", "p")
        await pilot.pause()
        assert "Pinned: " in words(app, "#notice")


# --- forms ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", CATALOGUE.forms, ids=lambda form: form.id)
async def test_a_form_shows_its_bars_what_tells_it_and_its_reach(
    tmp_path: Path, form: object
) -> None:
    found = next(one for one in CATALOGUE.forms if one is form)
    async with staged(tmp_path) as (_bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await lit(app, found.id)
        await pilot.pause()
        assert words(app, "#how").startswith(f"{found.name} in C")
        assert found.tell == words(app, "#about")
        assert not app.screen.query_one(FigureSteps).display
        assert -(-len(found) // 4) == app.screen.query_one(FormStrip).size.height
        assert "Call the form: " in words(app, "#reach")
        assert f"Known from: {found.source}" == words(app, "#source")


@pytest.mark.parametrize("form", ["twelve-bar", "minor-blues", "sixteen-bar-tag"])
async def test_a_form_sounds_from_its_first_bar(tmp_path: Path, form: str) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await lit(app, form)
        await pilot.pause()
        await pilot.press("t", "enter")
        await heard(pilot, bench)
        assert "" == words(app, "#notice")
        clip = bench.player._clip  # type: ignore[attr-defined]  # a clock stands for the device
        beats = 4 * (1 + len(CATALOGUE.form(form)))  # a bar is counted in
        assert clip.seconds > beats * 60 / 103


# --- who plays ------------------------------------------------------------------------------------


async def test_who_plays_steps_through_the_reach_and_all_textures(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await pilot.press("e")
        await pilot.pause()
        assert isinstance(app.screen, SettingsScreen)
        place = [row.key for row in ROWS].index("texture")
        await pilot.press(*["down"] * place)
        shown, kept = [], []
        for _ in range(5):
            option = app.screen.query_one("#settings", OptionList).get_option_at_index(place)
            shown.append(str(option.prompt).split())
            kept.append(load(bench.locations.settings).settings.texture)
            await pilot.press("enter")
            await pilot.pause()
        assert ["reach", "band", "drums", "bass", "reach"] == kept
        assert [["Who", "plays", texture] for texture in kept] == shown


def test_by_reach_who_plays_is_what_the_rung_says(tmp_path: Path) -> None:
    (asked,) = questions(tmp_path, Settings(), Only((Kind.NAME,), ("climb",)), 1)
    assert ("drums", 1) == (asked.texture, asked.rung)


@pytest.mark.parametrize("texture", ["bass", "drums", "band"])
def test_else_it_is_what_the_setting_says_and_the_rung_still_counts(
    tmp_path: Path, texture: str
) -> None:
    settings = Settings(texture=texture)
    (asked,) = questions(tmp_path, settings, Only((Kind.NAME,), ("climb",)), 1)
    assert (texture, 1) == (asked.texture, asked.rung)


def test_every_row_that_can_be_pinned_can_be_asked() -> None:
    for row in learning_order(CATALOGUE):
        assert any(can_ask(row, kind) for kind in Kind), row.id
