"""Making questions, and each way in which the ear could be fooled."""

from collections import Counter
from itertools import product

import pytest

from engine.catalogue import Family, places, read_catalogue
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import find_form
from engine.line import A1, E1, Strike
from engine.score import Texture
from engine.theory import PLAYED_KEYS
from quiz.errors import QuestionError
from quiz.excerpts import question_plan
from quiz.generator import FORM_WEIGHTS, Asked, Wishes, make_question, pitch_changes
from quiz.kinds import Kind
from quiz.material import can_ask
from quiz.questions import Question, Wanted
from tests.quiz.asking import CATALOGUE, device, every_item, key, made, question

SEEDS = range(60)


def offered(item: str, seeds: range = SEEDS, both_vary: bool = False) -> set[str]:
    """Every option that some seed offers for an item."""
    return {
        option for seed in seeds for option in made(item, Kind.NAME, "F", seed, both_vary).options
    }


# --- what can be asked --------------------------------------------------------------------------


def test_base_patterns_and_whole_turnarounds_are_not_asked() -> None:
    for row in CATALOGUE.family(Family.BASE):
        assert not any(can_ask(row, kind) for kind in Kind)
    assert not any(can_ask(device("climb+dip"), kind) for kind in Kind)


def test_a_line_that_does_not_move_is_named_but_not_spelled() -> None:
    for name in ("stay", "plain-five", "stay-on-one"):
        assert can_ask(device(name), Kind.NAME)
        assert not can_ask(device(name), Kind.SPELL)


@pytest.mark.parametrize(("item", "kind", "says"), [
    ("plain-five", Kind.SPELL, "'plain five' is not asked as 'Spell it'"),
    ("boogie", Kind.NAME, "'boogie' is not asked as 'Name it'"),
    ("climb+dip", Kind.NAME, "is not asked as 'Name it'"),
])  # fmt: skip
def test_what_makes_no_question_is_refused(item: str, kind: Kind, says: str) -> None:
    with pytest.raises(QuestionError, match=says):
        made(item, kind)


def test_an_unknown_item_is_refused_with_where_to_look() -> None:
    with pytest.raises(MusicInputError, match="`lastbar devices` lists them all"):
        made("moonwalk", Kind.NAME)


LONELY = """
[[device]]
id = "lonely"
name = "lonely ending"
family = "ending"
bars = [11]
degrees = "1 3 5 6 | 5 - 1 - | 1"
says = "Nothing else ends this tune."
source = "common practice"

[[device]]
id = "only-base"
name = "only base"
family = "base"
bars = [1]
degrees = "1 - 5 -"
feels = ["shuffle", "straight", "swing", "slow"]
says = "Root and fifth."
source = "common practice"
"""
TWIN = LONELY.replace('id = "lonely"', 'id = "twin"').replace('"lonely ending"', '"twin ending"')


@pytest.mark.parametrize("text", [LONELY, LONELY + TWIN.split('[[device]]\nid = "only')[0]])
def test_without_a_distractor_that_sounds_different_nothing_is_asked(text: str) -> None:
    catalogue = read_catalogue(text, "own.toml")
    with pytest.raises(QuestionError, match="nothing sounds different enough"):
        make_question(Asked("lonely", Kind.NAME, key("F")), Wishes(), catalogue, 1)


def test_a_twin_in_the_catalogue_is_never_offered_beside_the_answer() -> None:
    other = LONELY.split('[[device]]\nid = "only')[0].replace('"lonely"', '"other"')
    other = other.replace("1 3 5 6", "1 3 5 b7").replace("lonely ending", "other ending")
    twin = TWIN.split('[[device]]\nid = "only')[0]
    catalogue = read_catalogue(LONELY + twin + other, "own.toml")
    for seed in SEEDS:
        asked = make_question(Asked("lonely", Kind.NAME, key("F")), Wishes(), catalogue, seed)
        assert {"lonely", "other"} == set(asked.options)


PICKUPS = """
[[device]]
id = "two-bars"
name = "two bars"
family = "pickup"
bars = [5, 6]
serves = "IV > I"
degrees = "4 4 6 6 | 4 6 b7 7 | 8"
says = "Two bars up."
source = "common practice"

[[device]]
id = "two-bars-down"
name = "two bars down"
family = "pickup"
bars = [5, 6]
serves = "IV > I"
degrees = "4 4 6 6 | 4 3 b3 2 | 1"
says = "Two bars down."
source = "common practice"

[[device]]
id = "one-bar"
name = "one bar"
family = "pickup"
bars = [6]
serves = "IV > I"
degrees = "4 6 b7 7 | 8"
says = "One bar up."
source = "common practice"
"""


def test_a_rival_that_cannot_stand_in_the_bar_is_not_offered() -> None:
    catalogue = read_catalogue(PICKUPS + LONELY, "own.toml")
    for seed in SEEDS:
        asked = make_question(Asked("two-bars", Kind.NAME, key("F")), Wishes(), catalogue, seed)
        assert {"two-bars", "two-bars-down"} == set(asked.options)


# --- where the ear can be fooled ----------------------------------------------------------------


@pytest.mark.parametrize(("one", "other"), [
    ("walk-up-one-four", "walk-up-five-one"),  # 1 2 b3 3 | 4 and 5 6 b7 7 | 8
    ("scale-up-one-four", "scale-up-five-one"),  # 1 1 2 3 | 4 and 5 5 6 7 | 8
    ("walk-up-one-five", "climb+plain-five"),  # 1 3 4 #4 in bar 8 and in bar 11
    ("walk-up-one-four", "long-climb"),  # 1 2 b3 3 in bar 4 and in bar 11
    ("climb+plain-five", "climb-five-one"),  # 1 3 4 #4 opens a turnaround and an ending
    ("fall+plain-five", "fall-half-above"),
    ("half-above-into-one", "stop-half-above"),  # b2 to 1: approach or ending
    ("fifth-into-one", "straight-five-one"),  # 5 to 1: fifth of the target or root motion
])  # fmt: skip
def test_one_run_of_notes_in_two_places_is_never_a_choice(one: str, other: str) -> None:
    items = [(device(name).head, name, not_it) for name, not_it in ((one, other), (other, one))]
    for item, played, not_it in items:
        for both_vary in (False, True):
            choices = offered(item, both_vary=both_vary)
            assert played in choices or both_vary
            assert not_it not in choices


def test_one_first_bar_is_always_heard_on_to_the_bar_that_tells_the_devices_apart() -> None:
    for name in (
        "climb",
        "fall",
        "climb-five-one",
        "climb-half-above",
        "fall-five-one",
        "fall-half-above",
        "chromatic-fall",
        "long-climb",
    ):
        for seed in SEEDS:
            asked = made(name, Kind.NAME, "Ab", seed)
            plan = question_plan(asked, CATALOGUE)
            assert len(find_form(asked.form)) == asked.last
            assert plan.bars[-1].landing


@pytest.mark.parametrize(("item", "straight"), [
    ("walk-up-one-four", "straight-one-four"), ("walk-up-four-one", "straight-four-one"),
    ("walk-up-one-five", "straight-one-five"), ("walk-up-five-one", "straight-five-one"),
    ("walk-down-five-four", "straight-five-four"), ("sharp-four-bar", "straight-four-bars"),
])  # fmt: skip
def test_straight_on_is_a_real_answer_before_every_change(item: str, straight: str) -> None:
    assert straight in offered(item)
    asked = made(straight, Kind.NAME, "Bb", 5)
    assert straight == asked.device
    assert straight in asked.options


def test_staying_on_one_is_a_real_answer() -> None:
    assert "stay+stay-on-one" in offered("stay", both_vary=True)
    asked = made("stay-on-one", Kind.NAME, "Eb", 2)
    assert "stay+stay-on-one" == asked.device
    assert {"stay"} == {device(option).head for option in asked.options}
    late = [made("late-five", Kind.NAME, "Eb", seed).options for seed in SEEDS]
    assert any("stay+stay-on-one" in options for options in late)


@pytest.mark.parametrize(("item", "contrast"), [
    ("climb", "climb-flat-third+plain-five"), ("climb-five-one", "climb-half-above"),
    ("fall-five-one", "fall-half-above"), ("stop-half-above", "stop-half-below"),
    ("one-six-two-five", "three-six-two-five"), ("walk-up-one-four", "scale-up-one-four"),
])  # fmt: skip
def test_contrast_pairs_are_used_on_purpose(item: str, contrast: str) -> None:
    # one or two quarters apart [common practice, no source]
    assert contrast in offered(item)


def test_the_fifth_of_the_target_and_straight_on_are_no_choice_where_both_are_one_four_times() -> (
    None
):
    # over root eighths the bar is 1 1 1 1 in any case, struck in quarters or in eighths
    over_eighths = [
        asked
        for asked in (made("fifth-into-four", Kind.NAME, "A", seed) for seed in range(400))
        if asked.base == "root-eighths"
    ]
    assert len(over_eighths) > 50
    assert not any("straight-one-four" in asked.options for asked in over_eighths)


def test_striking_a_note_again_tells_nothing_apart() -> None:
    strikes = [Strike(0, False, 0), Strike(0, True, 0), Strike(1, False, 7), Strike(2, False, 7),
               Strike(3, False, 0)]  # fmt: skip
    assert (strikes[0], strikes[2], strikes[4]) == pitch_changes(strikes)
    assert () == pitch_changes(())


def test_the_place_in_the_list_says_nothing() -> None:
    order = {row.id: place for place, row in enumerate(CATALOGUE.devices)}
    for row, seed in product(every_item(Kind.NAME), range(4)):
        options = made(row.id, Kind.NAME, "D", seed, both_vary=True).options
        ranks = [
            (order[option.head], order.get(option.tail or "", 0)) for option in map(device, options)
        ]
        assert sorted(ranks) == ranks


# --- what the player likes ----------------------------------------------------------------------


def many(item: str, kind: Kind = Kind.WRITE, wishes: Wishes | None = None) -> list[Question]:
    return [made(item, kind, "F", seed, wishes=wishes) for seed in range(200)]


def test_the_feels_are_those_the_player_wants() -> None:
    assert {"swing"} == {asked.feel for asked in many("climb", wishes=Wishes(feels=(Feel.SWING,)))}
    assert {feel.value for feel in Feel} == {
        asked.feel for asked in many("climb", wishes=Wishes(feels=()))
    }


def test_tempo_is_drawn_fresh_between_the_limits() -> None:
    wishes = Wishes(tempo_low=100, tempo_high=120, feels=(Feel.SHUFFLE,))
    assert {float(bpm) for bpm in range(100, 121, 2)} == {
        asked.tempo for asked in many("climb", wishes=wishes)
    }


def test_a_feel_that_lives_outside_the_limits_keeps_its_own_tempo() -> None:
    asked = many("climb", wishes=Wishes(tempo_low=150, tempo_high=160, feels=(Feel.SLOW,)))
    assert all(50 <= one.tempo <= 75 for one in asked)  # slow 12/8 [from memory]


def test_fast_swung_off_beats_are_not_asked() -> None:
    # at 220 beats a minute the short note of 1.92:1 lasts 93 ms [computed from the ratio below]
    # long to short 3.46 - 0.0070 bpm: drummers' medians of 34 trio tracks, Jazz Trio Database
    wishes = Wishes(tempo_low=180, tempo_high=220, feels=(Feel.SWING,))
    fastest = {
        item: max(asked.tempo for asked in many(item, wishes=wishes))
        for item in ("two-five", "dip")
    }
    assert 220 == fastest["two-five"]
    assert 0.100 <= 60 / fastest["dip"] / (3.46 - 0.0070 * fastest["dip"] + 1)
    assert fastest["dip"] < 220


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


# --- form, bar and register ---------------------------------------------------------------------


def test_the_form_is_one_in_which_the_device_has_a_place() -> None:
    for row, seed in product(every_item(Kind.NAME), range(8)):
        asked = made(row.id, Kind.NAME, "Bb", seed)
        assert asked.bar in places(device(asked.device), find_form(asked.form))


def test_forms_are_heard_about_as_often_as_their_weights_say() -> None:
    seen = Counter(asked.form for asked in many("climb-flat-third"))
    assert set(FORM_WEIGHTS) == set(seen)  # it suits minor tunes too
    assert seen["twelve-bar-five"] > seen["jazz-blues"]


def test_only_devices_that_suit_minor_are_asked_in_minor() -> None:
    for row, seed in product(every_item(Kind.NAME), range(8)):
        asked = made(row.id, Kind.NAME, "Bb", seed)
        played = device(asked.device)
        assert asked.key.minor is find_form(asked.form).minor
        assert played.minor or not asked.key.minor


def test_both_registers_are_heard() -> None:
    assert {"low", "high"} == {asked.register for asked in many("climb")}


def test_every_figure_stands_at_or_above_the_open_a_string_where_it_can() -> None:
    # 630 of 636 figures fit A1 to G3 [computed]; the rest go down to E1
    lows = [
        made(row.id, Kind.NAME, str(in_key)).low
        for row, in_key in product(every_item(Kind.NAME), PLAYED_KEYS)
    ]
    assert {A1, E1} >= set(lows)
    assert 0.95 <= lows.count(A1) / len(lows)


def test_a_question_that_is_not_heard_stands_at_the_usual_place() -> None:
    usual = question("climb+plain-five")
    for seed in range(20):
        asked = made("climb", Kind.SPELL, "A", seed)
        assert (usual.form, usual.bar) == (asked.form, asked.bar)


def test_a_head_keeps_its_plain_tail_unless_both_vary() -> None:
    assert {"climb+plain-five"} == {asked.device for asked in many("climb", Kind.NAME)}
    both = {made("climb", Kind.NAME, "F", seed, both_vary=True).device for seed in SEEDS}
    assert {f"climb+{tail.id}" for tail in CATALOGUE.tails_for(device("climb"))} == both


def test_where_both_parts_vary_both_are_offered() -> None:
    asked = made("climb", Kind.NAME, "F", 1, both_vary=True)
    options = [device(option) for option in asked.options]
    assert len({option.head for option in options}) > 1
    assert len({option.tail for option in options}) > 1
