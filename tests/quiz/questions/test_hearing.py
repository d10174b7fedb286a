"""Hearing any device in any key."""

from dataclasses import replace
from itertools import product

import pytest

from engine.catalogue import Family, places
from engine.errors import MusicInputError
from engine.feels import FEELS, Feel
from engine.score import Part
from engine.textures import Texture
from engine.theory import PLAYED_KEYS
from quiz.questions.hearing import BASES, Hearing, usual_place, usual_tempo
from tests.quiz.asking import CATALOGUE, device, key

BB = key("Bb")


@pytest.mark.parametrize("name", [row.id for row in CATALOGUE.devices])
def test_every_row_can_be_heard_in_every_key(name: str) -> None:
    for in_key in PLAYED_KEYS:
        plan, score = Hearing(name, in_key, 100.0).passage(CATALOGUE)
        bass = score.track(Part.BASS)
        assert bass is not None
        assert bass.notes
        assert in_key == score.key
        assert plan.bars[-1].landing


@pytest.mark.parametrize(("name", "played"), [
    ("climb", "climb+plain-five"), ("dip", "climb+dip"), ("stay-on-one", "stay+stay-on-one"),
    ("fall+dip", "fall+dip"), ("dip+doubled", None), ("run-up", "run-up"),
])  # fmt: skip
def test_a_part_of_a_turnaround_is_completed(name: str, played: str | None) -> None:
    if played is None:
        plan, _ = Hearing(name, BB, 100.0).passage(CATALOGUE)
        assert device(name).pattern.steps[0].spot == plan.placements[0].device.pattern.steps[0].spot
        return
    plan, _ = Hearing(name, BB, 100.0).passage(CATALOGUE)
    assert [played] == [placement.device.id for placement in plan.placements]


def test_a_base_pattern_is_heard_for_a_whole_chorus() -> None:
    plan, _ = Hearing("boogie", BB, 100.0).passage(CATALOGUE)
    assert [*range(1, 13), 1] == [bar.number for bar in plan.bars]
    assert "boogie" == plan.base.id


def test_bars_that_are_played_three_times_are_heard_three_times() -> None:
    plan, _ = Hearing("last-four-three-times", BB, 100.0).passage(CATALOGUE)
    assert 13 == len(plan.bars)


def test_the_same_hearing_sounds_the_same_and_another_seed_plays_it_anew() -> None:
    hearing = Hearing("climb", BB, 100.0, Feel.SWING)
    assert hearing.passage(CATALOGUE) == hearing.passage(CATALOGUE)
    assert hearing.passage(CATALOGUE) != replace(hearing, seed=2).passage(CATALOGUE)


@pytest.mark.parametrize(("feel", "texture"), product(Feel, Texture))
def test_every_feel_and_texture_can_be_heard(feel: Feel, texture: Texture) -> None:
    _, score = Hearing("fall", BB, usual_tempo(feel), feel, texture, "organ").passage(CATALOGUE)
    assert FEELS[feel].compound is score.compound


def test_a_minor_key_is_heard_in_a_minor_form() -> None:
    plan, _ = Hearing("climb-flat-third", key("C minor"), 100.0).passage(CATALOGUE)
    assert plan.form.minor


@pytest.mark.parametrize(("hearing", "says"), [
    (Hearing("moonwalk", BB, 100.0), "there is no device 'moonwalk'"),
    (Hearing("climb+late-five", BB, 100.0), "does not follow"),
    (Hearing("", BB, 100.0), "there is no device ''"),
    (Hearing("climb", BB, 0.0), "tempo"), (Hearing("climb", BB, -5.0), "tempo"),
    (Hearing("climb", BB, 1e9), "tempo"), (Hearing("climb", BB, float("nan")), "tempo"),
])  # fmt: skip
def test_what_cannot_be_played_is_refused(hearing: Hearing, says: str) -> None:
    with pytest.raises(MusicInputError, match=f"(?i){says}"):
        hearing.passage(CATALOGUE)


def test_the_usual_place_is_one_where_the_device_may_start() -> None:
    for row in CATALOGUE.devices:
        if row.family is not Family.BASE:
            form, bar = usual_place(CATALOGUE.completed(row), False, CATALOGUE)
            assert bar in places(CATALOGUE.completed(row), form)


def test_turnarounds_stand_in_bar_11_of_the_twelve_bar_form() -> None:
    form, bar = usual_place(device("climb+dip"), False, CATALOGUE)
    assert ("twelve-bar", 11) == (form.id, bar)


@pytest.mark.parametrize("feel", list(Feel))
def test_the_usual_tempo_lies_in_the_range_of_the_feel(feel: Feel) -> None:
    assert FEELS[feel].slowest < usual_tempo(feel) < FEELS[feel].fastest
    assert feel in device(BASES[feel]).feels
