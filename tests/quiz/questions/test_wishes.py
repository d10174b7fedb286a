"""What a question is asked with, and how what is left open is drawn."""

import random
from dataclasses import replace

import pytest

from engine.catalogue import Family
from engine.feels import FEELS, Feel
from engine.textures import Texture
from quiz.questions.kinds import Kind
from quiz.questions.rungs import LADDERS, Rung
from quiz.questions.value import Question, Wanted
from quiz.questions.wishes import (
    FORM_WEIGHTS,
    Wishes,
    draw_base,
    draw_feel,
    draw_tempo,
    form_weight,
)
from quiz.settings.values import BY_REACH, Settings
from tests.quiz.asking import CATALOGUE, device, made


def many(item: str, kind: Kind = Kind.WRITE, wishes: Wishes | None = None) -> list[Question]:
    return [made(item, kind, "F", seed, wishes=wishes) for seed in range(200)]


def tempi(feel: Feel, wishes: Wishes, name: str | None = None) -> set[float]:
    """Every tempo that some seed draws."""
    played = device(name) if name else None
    return {draw_tempo(played, feel, wishes, random.Random(seed)) for seed in range(400)}


# --- what the player likes ----------------------------------------------------------------------


def test_wishes_are_those_of_the_settings() -> None:
    settings = Settings(
        tempo_low=90,
        tempo_high=100,
        feels=("swing",),
        texture="drums",
        comping="organ",
        answer_as="notes",
        spelling_counts=True,
    )
    assert Wishes(90, 100, (Feel.SWING,), Texture.DRUMS, "organ", Wanted.NOTES, True) == Wishes.of(
        settings
    )


def test_where_the_settings_leave_the_players_to_the_reach_it_is_the_whole_band() -> None:
    assert BY_REACH == Settings().texture
    assert Texture.BAND is Wishes.of(Settings()).texture


def test_the_feels_are_those_the_player_wants() -> None:
    assert {"swing"} == {asked.feel for asked in many("climb", wishes=Wishes(feels=(Feel.SWING,)))}
    assert {feel.value for feel in Feel} == {
        asked.feel for asked in many("climb", wishes=Wishes(feels=()))
    }


def test_texture_and_comping_are_the_players() -> None:
    asked = made("climb", Kind.WRITE, wishes=Wishes(texture=Texture.BASS, comping="organ"))
    assert ("bass", "organ") == (asked.texture, asked.comping)


def test_spell_asks_in_one_direction_at_a_time() -> None:
    both = {asked.wanted for asked in many("climb", Kind.SPELL)}
    assert {Wanted.DEGREES, Wanted.NOTES} == both
    assert {Wanted.EITHER} == {asked.wanted for asked in many("climb", Kind.WRITE)}
    notes = Wishes(wanted=Wanted.NOTES)
    assert {Wanted.NOTES} == {asked.wanted for asked in many("climb", Kind.SPELL, notes)}


def test_spelling_counts_where_the_player_wants_it() -> None:
    assert made("climb", Kind.SPELL, wishes=Wishes(spelling_counts=True)).spelling_counts
    assert not made("climb", Kind.SPELL).spelling_counts


# --- on a rung ----------------------------------------------------------------------------------

HARD = Rung(Texture.BAND, 5, near=True, key_given=False, playings=2, variants=True)


def test_a_rung_brings_its_conditions_and_leaves_the_rest() -> None:
    likes = Wishes(tempo_low=70, comping="organ", feels=(Feel.SLOW,))
    assert replace(
        likes, options=5, near=True, key_given=False, playings=2, variants=True, rung=7
    ) == likes.on(HARD, 7)


def test_other_players_than_the_rungs_can_be_set() -> None:
    assert Texture.DRUMS is Wishes().on(HARD, 7, Texture.DRUMS).texture


@pytest.mark.parametrize(("texture", "given"), [
    (Texture.BASS, True), (Texture.DRUMS, True), (Texture.BAND, False),
])  # fmt: skip
def test_without_the_keys_a_chord_gives_the_key_in_any_case(texture: Texture, given: bool) -> None:
    # a bass alone never fixes a chord [common practice, no source]
    assert given is Wishes().on(HARD, 7, texture).key_given


def test_no_rung_leaves_the_key_to_a_band_without_keys() -> None:
    for ladder in LADDERS.values():
        assert all(step.key_given or step.texture is Texture.BAND for step in ladder)


# --- tempo --------------------------------------------------------------------------------------


def test_tempo_is_drawn_fresh_between_the_limits() -> None:
    wishes = Wishes(tempo_low=100, tempo_high=120, feels=(Feel.SHUFFLE,))
    assert {float(bpm) for bpm in range(100, 121, 2)} == tempi(Feel.SHUFFLE, wishes)


@pytest.mark.parametrize(("tempo", "low", "high"), [
    (100, 94.0, 106.0), (120, 112.8, 127.2),
    (84, 80, 89.04), (130, 122.2, 132),  # within what the player allows
    (60, 80, 80), (200, 132, 132),
])  # fmt: skip
def test_a_reach_is_asked_about_a_little_around_it(tempo: float, low: float, high: float) -> None:
    around = Wishes().around(tempo)
    assert pytest.approx((low, high)) == (around.tempo_low, around.tempo_high)


def test_slow_twelve_eight_keeps_its_own_tempo() -> None:
    # 50 to 75 beats a minute, a dotted quarter each [from memory]
    wishes = Wishes(tempo_low=150, tempo_high=160)
    assert {float(bpm) for bpm in range(50, 76, 2)} == tempi(Feel.SLOW, wishes)


@pytest.mark.parametrize(("feel", "reach", "low", "high"), [
    (Feel.SWING, 80, 90, 96),  # no slower player is asked at 220
    (Feel.SHUFFLE, 200, 141, 150),  # and no faster one at 80
    (Feel.STRAIGHT, 60, 80, 86),
])  # fmt: skip
def test_a_feel_that_lives_outside_the_reach_is_asked_at_its_near_end(
    feel: Feel, reach: float, low: float, high: float
) -> None:
    wishes = Wishes(tempo_low=50, tempo_high=220).around(reach)
    drawn = tempi(feel, wishes)
    assert low <= min(drawn) <= max(drawn) <= high
    assert len(drawn) > 1


@pytest.mark.parametrize("feel", Feel)
def test_the_tempo_never_leaves_the_feel(feel: Feel) -> None:
    for reach in range(50, 221, 10):
        drawn = tempi(feel, Wishes(tempo_low=50, tempo_high=220).around(reach))
        assert FEELS[feel].slowest <= min(drawn) <= max(drawn) <= FEELS[feel].fastest


def test_fast_swung_off_beats_are_not_asked() -> None:
    # at 220 beats a minute the short note of 1.92:1 lasts 93 ms [computed from the ratio below]
    # long to short 3.46 - 0.0070 bpm: drummers' medians of 34 trio tracks, Jazz Trio Database
    wishes = Wishes(tempo_low=180, tempo_high=220)
    fastest = {name: max(tempi(Feel.SWING, wishes, name)) for name in ("two-five", "dip")}
    assert 220 == fastest["two-five"]
    assert 0.100 <= 60 / fastest["dip"] / (3.46 - 0.0070 * fastest["dip"] + 1)
    assert fastest["dip"] < 220


# --- base pattern and form ----------------------------------------------------------------------


@pytest.mark.parametrize("feel", Feel)
def test_every_base_pattern_that_suits_the_feel_is_drawn_and_no_other(feel: Feel) -> None:
    suited = {base.id for base in CATALOGUE.family(Family.BASE) if feel in base.feels}
    assert suited == {draw_base(CATALOGUE, feel, random.Random(seed)).id for seed in range(200)}


def test_without_a_base_pattern_that_suits_any_is_drawn() -> None:
    two_beat = device("two-beat")
    only = replace(CATALOGUE, devices=(two_beat,))
    assert Feel.SLOW not in two_beat.feels
    assert two_beat == draw_base(only, Feel.SLOW, random.Random(1))


def test_every_form_that_comes_with_the_program_has_a_weight_and_any_other_weighs_one() -> None:
    assert {form.id for form in CATALOGUE.forms} == set(FORM_WEIGHTS)
    own = replace(CATALOGUE.forms[0], id="our-thursday-form")
    assert 1 == form_weight(own)


def test_without_feels_all_are_drawn() -> None:
    drawn = {draw_feel(Wishes(feels=()), random.Random(seed)) for seed in range(100)}
    assert set(Feel) == drawn
