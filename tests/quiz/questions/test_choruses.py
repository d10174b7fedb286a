"""Questions about a whole chorus: what it holds, and that it can be told."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise, product

import pytest

from engine.catalogue import Device, Family, places, read_catalogue
from engine.textures import Texture
from engine.theory import PLAYED_KEYS
from quiz.errors import QuestionError
from quiz.grading.marking import right_bars
from quiz.questions.choruses import MOST_PICKUPS
from quiz.questions.excerpts import question_line
from quiz.questions.generator import make_question
from quiz.questions.kinds import Kind
from quiz.questions.neighbours import changed_beats, rival_forms
from quiz.questions.rungs import LADDERS
from quiz.questions.value import Question, placements
from quiz.questions.wishes import Asked, Wishes
from tests.quiz.asking import CATALOGUE, device, every_item, every_row, key, made, on_rung

UP = "walk-up-one-four"


def placed(item: str, count: int = 100, wishes: Wishes | None = None) -> list[Question]:
    return [made(item, Kind.PLACE, "F", seed, wishes=wishes) for seed in range(count)]


def held(asked: Question) -> list[tuple[int, Device]]:
    return [(bar, CATALOGUE.find(name)) for bar, name in placements(asked)]


# --- which bar ----------------------------------------------------------------------------------


def test_the_chorus_holds_what_is_asked_about() -> None:
    for row, seed in product(every_item(Kind.PLACE), range(6)):
        asked = made(row.id, Kind.PLACE, "Eb", seed)
        if not row.plain:
            assert row.id in {name for _, name in placements(asked)}


def test_a_chorus_may_hold_nothing_which_is_an_answer_of_its_own() -> None:
    for asked in placed("stay-on-one"):
        assert () == asked.placed
        assert () == right_bars(asked, CATALOGUE)


def test_one_to_three_pickups_are_held_and_perhaps_a_turnaround() -> None:
    pickups, turnarounds = Counter[int](), Counter[int]()
    for asked in placed(UP, 300, replace(Wishes(), options=3)):
        families = Counter(device.family for _, device in held(asked))
        pickups[families[Family.PICKUP]] += 1
        turnarounds[families[Family.TURNAROUND] + families[Family.HEAD]] += 1
        assert families.total() == len(asked.placed)
    assert {1, 2, MOST_PICKUPS} == set(pickups)
    assert {0, 1} == set(turnarounds)
    assert 60 <= turnarounds[1] <= 180  # four in ten, less what has no room


@pytest.mark.parametrize("place", range(len(LADDERS[Kind.PLACE])))
def test_no_more_pickups_are_held_than_the_rung_says(place: int) -> None:
    wishes = on_rung(Kind.PLACE, place)
    most = max(
        sum(device.family is Family.PICKUP for _, device in held(asked))
        for asked in placed(UP, 60, wishes)
    )
    assert most == wishes.options


def test_every_device_starts_where_it_may_and_has_a_free_bar_around_it() -> None:
    for row, seed in product(every_item(Kind.PLACE), range(6)):
        asked = made(row.id, Kind.PLACE, "Ab", seed, wishes=on_rung(Kind.PLACE, 3))
        form = CATALOGUE.form(asked.form)
        for bar, one in held(asked):
            assert bar in places(one, form)
        for (bar, one), (following, _) in pairwise(held(asked)):
            assert bar + one.pattern.bars < following


def test_in_a_minor_tune_nothing_is_held_that_does_not_suit_it() -> None:
    minor = [asked for asked in placed(UP, 300) if asked.key.minor]
    assert minor
    for asked in minor:
        assert CATALOGUE.form(asked.form).minor
        assert all(device.minor for _, device in held(asked))


def test_the_whole_chorus_is_played() -> None:
    for asked in placed(UP):
        assert (1, 1, len(CATALOGUE.form(asked.form))) == (asked.bar, asked.first, asked.last)
        assert "" == asked.device


def test_the_line_can_always_be_played() -> None:
    for row, seed in product(every_item(Kind.PLACE), range(6)):
        asked = made(row.id, Kind.PLACE, "B", seed, wishes=on_rung(Kind.PLACE, 5))
        assert 28 <= min(note.event.midi for note in question_line(asked, CATALOGUE))  # E1


def test_many_forms_keys_feels_and_bars_are_met() -> None:
    asked = placed("walk-up-four-one", 200)
    assert {form.id for form in CATALOGUE.forms if places(device("walk-up-four-one"), form)} == {
        one.form for one in asked
    }
    assert 4 == len({one.feel for one in asked})
    assert {"low", "high"} == {one.register for one in asked}


def test_the_conditions_of_the_rung_are_the_questions() -> None:
    asked = made(UP, Kind.PLACE, wishes=on_rung(Kind.PLACE, 5))
    assert (False, 1, 5, "band") == (asked.key_given, asked.playings, asked.rung, asked.texture)
    first = made(UP, Kind.PLACE, wishes=on_rung(Kind.PLACE, 0))
    assert (True, 0, 0, "bass") == (first.key_given, first.playings, first.rung, first.texture)


def test_limited_playings_hold_where_the_reach_is_left_aside_too() -> None:
    pinned = replace(on_rung(Kind.FORM, 4), rung=-1)
    assert 1 == made("quick-change", Kind.FORM, wishes=pinned).playings


HIDDEN = """
[[device]]
id = "only-base"
name = "only base"
family = "base"
bars = [1]
degrees = "1 1 1 1"
feels = ["shuffle", "straight", "swing", "slow"]
says = "Roots."
source = "common practice"

[[device]]
id = "hidden"
name = "hidden pickup"
family = "pickup"
bars = [4]
serves = "I > IV"
degrees = "* * 1 1 | 4"
says = "Nobody can hear this one."
source = "common practice"
"""


def test_what_cannot_be_told_from_the_pattern_is_not_asked() -> None:
    catalogue = read_catalogue(HIDDEN, "own.toml")
    with pytest.raises(QuestionError, match="in which 'hidden pickup' can be told"):
        make_question(Asked("hidden", Kind.PLACE, key("F")), Wishes(), catalogue, 1)


def test_what_is_wider_than_the_instrument_is_not_asked() -> None:
    wide = HIDDEN.replace("* * 1 1 | 4", "1,, 3 8'' 7 | 4")
    catalogue = read_catalogue(wide, "own.toml")
    with pytest.raises(QuestionError, match="no chorus was found"):
        make_question(Asked("hidden", Kind.PLACE, key("F")), Wishes(), catalogue, 1)


def test_what_is_just_wide_enough_is_asked_in_the_keys_in_which_it_fits() -> None:
    # from E1 to A3 there are 29 semitones; 28 of them, from a root up, fit over E and over F
    wide = HIDDEN.replace("* * 1 1 | 4", "1, 3 3' b3' | 4")
    catalogue = read_catalogue(wide, "own.toml")
    fitting = set()
    for in_key in PLAYED_KEYS:
        try:
            make_question(Asked("hidden", Kind.PLACE, in_key), Wishes(), catalogue, 1)
        except QuestionError:
            continue
        fitting.add(str(in_key))
    assert {"E", "F"} == fitting


@pytest.mark.parametrize("name", ["fifth-into-four", "half-below-into-four"])
def test_a_single_note_is_asked_only_over_patterns_that_do_not_play_it_anyway(name: str) -> None:
    # over root eighths the fifth of the four, which is the one, is what the pattern plays
    bases = {asked.base for asked in placed(name, 200)}
    assert ("root-eighths" in bases) == (name == "half-below-into-four")


# --- call the form ------------------------------------------------------------------------------


def test_the_form_that_is_played_is_offered_once_among_others() -> None:
    for row, seed in product(every_row(Kind.FORM), range(12)):
        asked = made(row.id, Kind.FORM, "F", seed)
        assert row.id == asked.form == asked.right
        assert 1 == asked.options.count(row.id)
        assert 4 == len(asked.options) == len(set(asked.options))


def test_forms_are_offered_in_the_order_of_the_file() -> None:
    order = [form.id for form in CATALOGUE.forms]
    for row, seed in product(every_row(Kind.FORM), range(6)):
        options = made(row.id, Kind.FORM, "F", seed).options
        assert sorted(options, key=order.index) == list(options)


@pytest.mark.parametrize("place", range(len(LADDERS[Kind.FORM])))
def test_as_many_forms_are_offered_as_the_rung_says(place: int) -> None:
    wishes = on_rung(Kind.FORM, place)
    for row in every_row(Kind.FORM):
        assert wishes.options == len(made(row.id, Kind.FORM, "F", 3, wishes=wishes).options)


def test_near_forms_are_the_nearest_there_are() -> None:
    near = on_rung(Kind.FORM, 3)
    for row in every_row(Kind.FORM):
        form = CATALOGUE.form(row.id)
        nearest = {other.id for other in rival_forms(form, CATALOGUE)[:3]}
        assert {row.id, *nearest} == set(made(row.id, Kind.FORM, "F", 3, wishes=near).options)


def test_far_forms_change_with_the_seed() -> None:
    offers = {made("quick-change", Kind.FORM, "F", seed).options for seed in range(30)}
    assert len(offers) > 10


def test_the_band_plays_whatever_the_texture_that_is_wished() -> None:
    asked = made("quick-change", Kind.FORM, wishes=Wishes(texture=Texture.BASS))
    assert "band" == asked.texture


def test_a_minor_form_is_asked_in_a_minor_key() -> None:
    assert made("minor-blues", Kind.FORM, "Eb").key.minor
    assert not made("quick-change", Kind.FORM, "Eb").key.minor


def test_a_form_with_the_same_chords_is_never_offered_beside_it() -> None:
    twin = replace(CATALOGUE.form("quick-change"), id="our-quick-change", name="ours")
    doubled = replace(CATALOGUE, forms=(*CATALOGUE.forms, twin))
    for asked_for in ("quick-change", "our-quick-change"):
        for seed in range(20):
            question = make_question(
                Asked(asked_for, Kind.FORM, key("F")), Wishes(options=6), doubled, seed
            )
            assert len({"quick-change", "our-quick-change"} & set(question.options)) == 1


def test_two_others_that_are_twins_are_not_both_offered() -> None:
    twin = replace(CATALOGUE.form("quick-change"), id="our-quick-change", name="ours")
    doubled = replace(CATALOGUE, forms=(*CATALOGUE.forms, twin))
    for seed in range(40):
        question = make_question(
            Asked("twelve-bar", Kind.FORM, key("F")), Wishes(options=6), doubled, seed
        )
        offered = [doubled.form(option) for option in question.options]
        assert len(offered) == len({form.bars for form in offered})


def test_without_another_form_nothing_is_asked() -> None:
    alone = replace(CATALOGUE, forms=(CATALOGUE.form("quick-change"),))
    with pytest.raises(QuestionError, match="no other form differs from the quick change"):
        make_question(Asked("quick-change", Kind.FORM, key("F")), Wishes(), alone, 1)


def test_every_pair_of_forms_differs_in_some_beat() -> None:
    for one, other in product(CATALOGUE.forms, repeat=2):
        assert (one != other) == bool(changed_beats(one, other))
