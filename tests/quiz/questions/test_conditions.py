"""Under which conditions an item is asked: assignment, pin, setting, reach, in this order."""

import pytest

from engine.feels import Feel
from engine.textures import Texture
from quiz.learning.material import Given
from quiz.learning.memory import Item
from quiz.learning.reach import ItemReach, Reaches
from quiz.questions.conditions import reach_of, wishes_for
from quiz.questions.kinds import Kind
from quiz.questions.rungs import LADDERS
from quiz.questions.wishes import Wishes
from quiz.settings.values import Pin, Settings

CLIMB = Item("climb", "name")


def reached(item: Item, rung: int, tempo: float = 100.0) -> Reaches:
    """A reach of an item at a rung, and near a tempo: 88 * 2 ** octaves."""
    octaves = {100.0: 0.184, 60.0: -0.553, 200.0: 1.184}[tempo]
    return Reaches(items={item: ItemReach(rung, 0, octaves)})


# --- the reach ----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", LADDERS)
def test_without_anything_set_an_item_is_asked_at_its_reach(kind: Kind) -> None:
    item = Item("climb", kind.value)
    for place, rung in enumerate(LADDERS[kind]):
        wishes = wishes_for(item, Settings(), reached(item, place))
        assert (rung.texture, rung.options, rung.near, rung.key_given, rung.playings, place) == (
            wishes.texture,
            wishes.options,
            wishes.near,
            wishes.key_given,
            wishes.playings,
            wishes.rung,
        )


def test_the_tempo_lies_around_the_reach() -> None:
    wishes = wishes_for(CLIMB, Settings(), reached(CLIMB, 2))
    assert pytest.approx((94, 106)) == (wishes.tempo_low, wishes.tempo_high)


@pytest.mark.parametrize(("tempo", "asked"), [(60.0, 90), (200.0, 110)])
def test_the_tempo_stays_within_what_the_player_allows(tempo: float, asked: float) -> None:
    settings = Settings(tempo_low=90, tempo_high=110)
    wishes = wishes_for(CLIMB, settings, reached(CLIMB, 2, tempo))
    assert (asked, asked) == (wishes.tempo_low, wishes.tempo_high)


def test_what_is_no_matter_of_reach_comes_from_the_settings() -> None:
    settings = Settings(feels=("swing",), comping="organ", answer_as="notes", spelling_counts=True)
    wishes = wishes_for(CLIMB, settings, Reaches())
    assert ((Feel.SWING,), "organ", True) == (
        wishes.feels,
        wishes.comping,
        wishes.spelling_counts,
    )


def test_a_kind_without_a_ladder_is_asked_as_the_settings_say() -> None:
    settings = Settings(pins={"climb": Pin("bass", 60)})
    assert Wishes.of(settings) == wishes_for(Item("climb", "spell"), settings, Reaches())


# --- the setting --------------------------------------------------------------------------------


def test_players_that_are_set_stand_in_for_the_rungs_and_the_reach_goes_on() -> None:
    wishes = wishes_for(CLIMB, Settings(texture="bass"), reached(CLIMB, 4))
    assert (Texture.BASS, 4, True, 4) == (
        wishes.texture,
        wishes.options,
        wishes.near,
        wishes.rung,
    )


def test_where_the_setting_takes_the_keys_away_a_chord_gives_the_key() -> None:
    wishes = wishes_for(CLIMB, Settings(texture="bass"), reached(CLIMB, 7))
    assert wishes.key_given
    assert not wishes_for(CLIMB, Settings(), reached(CLIMB, 7)).key_given


@pytest.mark.parametrize("kind", [Kind.FIT, Kind.FORM])
def test_where_chords_are_asked_about_the_band_plays_whoever_is_set(kind: Kind) -> None:
    item = Item("climb", kind.value)
    pinned = Settings(texture="bass", pins={"climb": Pin("drums", 100)})
    wishes = wishes_for(item, pinned, Reaches(), Given(texture=Texture.BASS))
    assert Texture.BAND is wishes.texture


# --- the pin ------------------------------------------------------------------------------------

PINNED = Settings(texture="drums", tempo_high=100, pins={"climb": Pin("bass", 120)})


def test_a_pin_fixes_tempo_and_players_and_says_nothing_of_the_reach() -> None:
    wishes = wishes_for(CLIMB, PINNED, reached(CLIMB, 4))
    assert (120, 120, Texture.BASS, -1) == (
        wishes.tempo_low,
        wishes.tempo_high,
        wishes.texture,
        wishes.rung,
    )


def test_a_pin_leaves_what_is_offered_to_the_rung() -> None:
    wishes = wishes_for(CLIMB, PINNED, reached(CLIMB, 6))
    assert (5, True, True) == (wishes.options, wishes.near, wishes.variants)


def test_a_pin_holds_for_its_device_alone_in_every_kind() -> None:
    other = wishes_for(Item("fall", "name"), PINNED, Reaches())
    assert (Texture.DRUMS, 1) == (other.texture, other.rung)
    assert -1 == wishes_for(Item("climb", "write"), PINNED, Reaches()).rung


# --- the assignment -----------------------------------------------------------------------------


def test_what_an_assignment_gives_is_stronger_than_a_pin() -> None:
    given = Given(tempo=(60, 70), texture=Texture.BAND)
    wishes = wishes_for(CLIMB, PINNED, reached(CLIMB, 4), given)
    assert (60, 70, Texture.BAND, -1) == (
        wishes.tempo_low,
        wishes.tempo_high,
        wishes.texture,
        wishes.rung,
    )


def test_what_an_assignment_leaves_open_stays_as_it_is() -> None:
    only_tempo = wishes_for(CLIMB, Settings(), reached(CLIMB, 1), Given(tempo=(60, 70)))
    assert (Texture.DRUMS, -1) == (only_tempo.texture, only_tempo.rung)
    only_players = wishes_for(CLIMB, Settings(), reached(CLIMB, 1), Given(texture=Texture.BASS))
    assert pytest.approx((94, 106)) == (only_players.tempo_low, only_players.tempo_high)
    assert -1 == only_players.rung


def test_an_assignment_without_conditions_leaves_the_reach_alone() -> None:
    assert 4 == wishes_for(CLIMB, Settings(), reached(CLIMB, 4), Given()).rung


# --- in words -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("item", "settings", "place", "says"), [
    (CLIMB, Settings(), 0, "bass alone, 3 options, 100 bpm"),
    (CLIMB, Settings(texture="drums"), 0, "bass and drums, 3 options, 100 bpm"),
    (CLIMB, Settings(), 7, "whole band, 5 near options, with variants, key from what is played, "
     "at most 2 playings, 100 bpm"),
    (CLIMB, Settings(texture="bass"), 7,
     "bass alone, 5 near options, with variants, at most 2 playings, 100 bpm"),
    (CLIMB, PINNED, 4, "bass alone, 120 bpm, pinned"),
    (Item("climb", "fit"), PINNED, 4, "band without the bass, 120 bpm, pinned"),
    (Item("climb", "fit"), Settings(texture="bass"), 0,
     "band without the bass, 2 figures, 100 bpm"),
    (Item("quick-change", "form"), Settings(texture="bass"), 0, "whole band, 2 forms, 100 bpm"),
    (Item("walk-up-one-four", "place"), Settings(), 0, "bass alone, at most 1 pickup, 100 bpm"),
    (Item("climb", "spell"), Settings(), 0, ""),
])  # fmt: skip
def test_a_reach_is_told_as_it_is_asked(
    item: Item, settings: Settings, place: int, says: str
) -> None:
    assert says == reach_of(item, settings, reached(item, place))
