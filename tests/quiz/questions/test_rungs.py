"""The ladders: each rung at least as hard as the one before."""

from itertools import pairwise

import pytest

from engine.textures import Texture
from quiz.questions.kinds import KINDS, ROUND_KINDS, By, Kind
from quiz.questions.rungs import LADDERS, Rung, Told, rung

PLAYERS = list(Texture)
"""From few to many, which is from easy to hard."""

STEPS = [
    (kind, place, *pair)
    for kind, ladder in LADDERS.items()
    for place, pair in enumerate(pairwise(ladder))
]


def hardness(rung: Rung) -> tuple[int, int, bool, bool, float, bool, int, bool]:
    """Each condition as a number that rises with how hard it makes a question."""
    often = rung.playings or float("inf")
    return (
        PLAYERS.index(rung.texture),
        rung.options,
        rung.near,
        rung.variants,
        -often,
        not rung.key_given,
        list(Told).index(rung.told),
        rung.octave_counts,
    )


def test_every_kind_that_is_heard_has_a_ladder_and_one_that_tells_less_and_less() -> None:
    heard = {kind for kind in ROUND_KINDS if KINDS[kind].heard}
    assert heard | {Kind.FIND} == set(LADDERS)


@pytest.mark.parametrize(("kind", "place", "lower", "upper"), STEPS)
def test_a_rung_is_in_no_way_easier_than_the_one_below(
    kind: Kind, place: int, lower: Rung, upper: Rung
) -> None:
    harder = [two > one for one, two in zip(hardness(lower), hardness(upper), strict=True)]
    easier = [two < one for one, two in zip(hardness(lower), hardness(upper), strict=True)]
    assert any(harder), (kind, place)
    assert not any(easier), (kind, place)


TELLING = (Kind.FIND, Kind.PLAY)
"""Kinds whose questions say the key."""


@pytest.mark.parametrize("kind", [kind for kind in LADDERS if kind not in TELLING])
def test_a_key_that_must_be_found_out_comes_last(kind: Kind) -> None:
    assert [False] == [step.key_given for step in LADDERS[kind] if not step.key_given]
    assert not LADDERS[kind][-1].key_given


def test_a_question_on_the_neck_tells_notes_then_degrees_then_the_name_alone() -> None:
    assert all(step.key_given for step in LADDERS[Kind.PLAY])
    ladder = LADDERS[Kind.FIND]
    assert [Told.NOTES, Told.DEGREES, Told.NAME, Told.NAME] == [step.told for step in ladder]
    assert [False, False, False, True] == [step.octave_counts for step in ladder]
    assert all(step.key_given for step in ladder)


def test_variants_come_in_naming_alone() -> None:
    assert {Kind.NAME} == {kind for kind in LADDERS if any(one.variants for one in LADDERS[kind])}


@pytest.mark.parametrize("kind", LADDERS)
def test_a_rung_offers_something_where_something_is_chosen(kind: Kind) -> None:
    least = {By.CHOICE: 2, By.TICKS: 2, By.BARS: 1, By.LINE: 0, By.NECK: 0, By.PLAYING: 0}[
        KINDS[kind].answered
    ]
    assert all(step.options >= least for step in LADDERS[kind])


@pytest.mark.parametrize("kind", [Kind.FIT, Kind.FORM])
def test_what_is_about_chords_is_played_by_the_whole_band(kind: Kind) -> None:
    assert {Texture.BAND} == {step.texture for step in LADDERS[kind]}


@pytest.mark.parametrize(("place", "expected"), [(-1, 0), (0, 0), (3, 3), (7, 7), (8, 7), (99, 7)])
def test_a_place_beyond_the_ladder_is_its_end(place: int, expected: int) -> None:
    assert LADDERS[Kind.NAME][expected] == rung(Kind.NAME, place)
