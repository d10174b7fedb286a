"""Questions about what agrees with the band."""

from collections import Counter
from dataclasses import replace
from itertools import product

import pytest

from engine.catalogue import Family, places
from engine.line import outline
from engine.textures import Texture
from quiz.errors import QuestionError
from quiz.grading.marking import right_ticks
from quiz.questions.excerpts import Accompaniment, question_plan
from quiz.questions.figures import pitch_changes
from quiz.questions.generator import make_question
from quiz.questions.kinds import Kind
from quiz.questions.rungs import LADDERS
from quiz.questions.value import Question
from quiz.questions.wishes import Asked, Wishes
from tests.quiz.asking import CATALOGUE, device, every_item, key, made, on_rung

HEADS = [head for head in CATALOGUE.family(Family.HEAD) if head.variant_of is None]


def asked_over(item: str, count: int = 60, wishes: Wishes | None = None) -> list[Question]:
    return [made(item, Kind.FIT, "F", seed, wishes=wishes) for seed in range(count)]


def test_the_keys_play_the_chords_of_the_head_that_is_learned() -> None:
    for row in every_item(Kind.FIT):
        asked = made(row.id, Kind.FIT, "Ab")
        whole = CATALOGUE.completed(row)
        plan = question_plan(asked, CATALOGUE)
        start = asked.bar - asked.first
        chords = [bar.chords for bar in plan.bars[start : start + 2]]
        assert whole.id == asked.device
        if not asked.key.minor and whole.chords:
            assert list(whole.chords) == chords


def test_whole_turnarounds_are_offered_each_head_once_and_no_variant() -> None:
    for row, seed in product(every_item(Kind.FIT), range(10)):
        options = [device(option) for option in made(row.id, Kind.FIT, "F", seed).options]
        heads = [option.head for option in options]
        assert len(heads) == len(set(heads))
        assert set(heads) <= {head.id for head in HEADS}
        assert all(option.complete for option in options)


def test_figures_are_offered_in_the_order_of_the_catalogue() -> None:
    order = [row.id for row in CATALOGUE.devices]
    for row, seed in product(every_item(Kind.FIT), range(10)):
        ranks = [
            order.index(device(option).head) for option in made(row.id, Kind.FIT, "F", seed).options
        ]
        assert sorted(ranks) == ranks


def test_several_right_answers_are_normal_and_there_is_always_one() -> None:
    counts = Counter(
        len(right_ticks(made(row.id, Kind.FIT, "F", seed), CATALOGUE))
        for row, seed in product(every_item(Kind.FIT), range(20))
    )
    assert 0 == counts[0]
    assert {1, 2, 3} <= set(counts)
    assert counts.total() / 3 < counts.total() - counts[1]


@pytest.mark.parametrize("place", range(len(LADDERS[Kind.FIT])))
def test_as_many_figures_are_offered_as_the_rung_says(place: int) -> None:
    # only where a form has fewer, as a minor one has, fewer are
    wishes = on_rung(Kind.FIT, place)
    for row, seed in product(every_item(Kind.FIT), range(6)):
        asked = made(row.id, Kind.FIT, "F", seed, wishes=wishes)
        assert wishes.options == len(asked.options)


def test_what_clashes_on_a_rung_with_near_options_clashes_least() -> None:
    for row, seed in product(every_item(Kind.FIT), range(8)):
        asked = made(row.id, Kind.FIT, "F", seed, wishes=on_rung(Kind.FIT, 3))
        band = Accompaniment.of(asked, CATALOGUE)
        whole = [CATALOGUE.completed(head) for head in HEADS]
        form = CATALOGUE.form(asked.form)
        there = [one for one in whole if asked.bar in places(one, form)]
        left = [len(band.clashes(one)) for one in there if one.id not in asked.options]
        offered = [len(band.clashes(device(option))) for option in asked.options]
        wrong = [count for count in offered if count]
        others = [count for count in left if count]
        assert not wrong or not others or max(wrong) <= min(others)


def test_no_two_figures_strike_the_same_pitches_at_the_same_times() -> None:
    for row, seed in product(every_item(Kind.FIT), range(8)):
        asked = made(row.id, Kind.FIT, "F", seed, wishes=on_rung(Kind.FIT, 5))
        heard = [
            pitch_changes(outline(question_plan(asked, CATALOGUE, device(option)), asked.seed))
            for option in asked.options
        ]
        assert len(heard) == len(set(heard))


def test_a_figure_and_its_twin_are_not_both_offered() -> None:
    twin = replace(device("fall"), id="our-fall", name="our fall")
    catalogue = replace(CATALOGUE, devices=(*CATALOGUE.devices, twin))
    wishes = on_rung(Kind.FIT, 5)
    for seed in range(40):
        asked = make_question(Asked("climb", Kind.FIT, key("F")), wishes, catalogue, seed)
        assert {"fall+plain-five", "our-fall+plain-five"} - set(asked.options)


def test_there_is_a_band_whatever_the_texture_that_is_wished() -> None:
    asked = made("climb", Kind.FIT, wishes=Wishes(texture=Texture.BASS))
    assert "band" == asked.texture


def test_the_conditions_of_the_rung_are_the_questions() -> None:
    asked = made("climb", Kind.FIT, wishes=on_rung(Kind.FIT, 5))
    assert (False, 2, 5) == (asked.key_given, asked.playings, asked.rung)


def test_a_form_that_only_one_figure_suits_is_left_out() -> None:
    # of the heads that are no variants only the stay suits a minor tune
    assert {False} == {asked.key.minor for asked in asked_over("stay", 120)}


def test_with_a_single_figure_there_is_nothing_to_ask() -> None:
    alone = replace(
        CATALOGUE,
        devices=tuple(row for row in CATALOGUE.devices if row not in HEADS or row.id == "climb"),
    )
    with pytest.raises(QuestionError):
        make_question(Asked("climb", Kind.FIT, key("F")), Wishes(), alone, 1)


def test_many_feels_and_forms_are_met() -> None:
    asked = asked_over("climb", 120)
    assert 4 == len({one.feel for one in asked})
    assert len({one.form for one in asked}) > 4
