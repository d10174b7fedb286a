"""An assignment in the program: what home says, what is asked, and handing in."""

import json
from pathlib import Path

import pytest

from quiz.app import LastbarApp
from quiz.learning.memory import Item
from quiz.locations import Locations
from quiz.settings.file import save
from quiz.settings.values import Pin, Settings
from quiz.sound.player import ClockPlayer
from quiz.workbench import Workbench, open_workbench
from tests.quiz.test_app import words
from tests.quiz.test_cli_assignment import ASSIGNMENT


@pytest.fixture
def bench(tmp_path: Path) -> Workbench:
    """At work on an assignment, without a sound output."""
    locations = Locations(tmp_path / "config", tmp_path / "data")
    save(Settings(welcomed=True, pins={"climb": Pin("bass", 60)}), locations.settings)
    file = tmp_path / "work.toml"
    file.write_text(ASSIGNMENT.replace('["spell"]', '["spell", "name"]'), encoding="utf-8")
    opened = open_workbench(locations, lambda _device: ClockPlayer(None), seed=11)
    opened.assign(file)
    return opened


def test_what_was_set_beats_pins_and_reach(bench: Workbench) -> None:
    asked = [bench.coach.next().question for _ in range(12)]
    assert {"climb", "fall"} == {one.item for one in asked}
    assert {"F", "Bb"} == {str(one.key.tonic) for one in asked}
    heard = [one for one in asked if one.kind.value == "name"]
    assert {(96.0, "drums", -1)} == {(one.tempo, one.texture, one.rung) for one in heard}
    bench.close()


def test_the_schedule_plans_with_the_questions_that_were_set(bench: Workbench) -> None:
    assert 2 == bench.today().new_left, "a third of six"
    bench.close()


async def test_home_says_what_was_set_and_how_far_it_is(bench: Workbench) -> None:
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.pause()
        assert "Assignment: Thursday with the horns." in words(app, "#today")
        assert "0 of 6 today" in words(app, "#today")
    bench.close()


async def test_answers_carry_the_assignment_and_are_handed_in_under_a_name(
    bench: Workbench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("r")
        await pilot.pause()
        await pilot.press("ctrl+g")
        await pilot.pause()
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert ["thursday-horns"] == [one.assignment for one in bench.store.answers()]
        await pilot.press("h")
        await pilot.pause()
        await pilot.press(*"Dot", "enter")
        await pilot.pause()
    data = json.loads((tmp_path / "lastbar-thursday-horns.json").read_text(encoding="utf-8"))
    assert ("Dot", 1) == (data["name"], len(data["answers"]))
    bench.close()


async def test_with_nothing_answered_handing_in_says_so_and_stays(
    bench: Workbench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("h")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        assert "thursday-horns" in words(app, "#problem")
    assert [] == list(tmp_path.glob("*.json"))
    bench.close()


async def test_without_an_assignment_there_is_nothing_to_hand_in(tmp_path: Path) -> None:
    locations = Locations(tmp_path / "config", tmp_path / "data")
    save(Settings(welcomed=True), locations.settings)
    bench = open_workbench(locations, lambda _device: ClockPlayer(None), seed=11)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        home = app.screen
        await pilot.press("h")
        await pilot.pause()
        assert home is app.screen
    bench.close()


async def test_p_in_the_catalogue_pins_tempo_and_players_and_lets_go_again(
    tmp_path: Path,
) -> None:
    locations = Locations(tmp_path / "config", tmp_path / "data")
    save(Settings(welcomed=True), locations.settings)
    bench = open_workbench(locations, lambda _device: ClockPlayer(None), seed=11)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c")
        await pilot.pause()
        assert "Name it: new, bass and drums, 3 options, 88 bpm" in words(app, "#reach")
        await pilot.press("t", "plus", "p")
        await pilot.pause()
        (pin,) = bench.settings.pins.values()
        assert Pin("bass", 107) == pin
        assert "bass alone, 107 bpm, pinned" in words(app, "#reach")
        assert "bass alone, 107 bpm, pinned" == bench.coach.reach(Item("climb", "name"))
        await pilot.press("p")
        await pilot.pause()
        assert {} == bench.settings.pins
    bench.close()


async def test_forms_are_seen_and_heard_in_the_catalogue(tmp_path: Path) -> None:
    locations = Locations(tmp_path / "config", tmp_path / "data")
    save(Settings(welcomed=True), locations.settings)
    bench = open_workbench(locations, lambda _device: ClockPlayer(None), seed=11)
    app = LastbarApp(bench)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("end")
        await pilot.pause()
        last = bench.catalogue.forms[-1]
        assert last.tell in words(app, "#about")
        await pilot.press("enter")
        for _ in range(300):
            if bench.player.position() is not None:
                break
            await pilot.pause(0.02)
        assert bench.player.position() is not None
    bench.close()
