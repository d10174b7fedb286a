"""What can be asked in which kind, and what is refused."""

from itertools import product

import pytest

from engine.catalogue import Family
from engine.errors import MusicInputError
from engine.theory import PLAYED_KEYS
from quiz.errors import QuestionError
from quiz.learning.material import can_ask
from quiz.questions.generator import MAKERS, make_question
from quiz.questions.kinds import ROUND_KINDS, Kind
from quiz.questions.rungs import LADDERS
from quiz.questions.wishes import Asked, Wishes
from tests.quiz.asking import CATALOGUE, device, every_row, made, on_rung


def test_every_kind_of_a_round_has_somebody_who_makes_it() -> None:
    assert set(ROUND_KINDS) == set(MAKERS)


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
    ("climb", Kind.PLACE, "'climb' is not asked as 'Which bar'"),
    ("walk-up-one-four", Kind.FIT, "is not asked as 'Fit the band'"),
    ("climb", Kind.FORM, "'climb' is not asked as 'Call the form'"),
    ("quick-change", Kind.NAME, "'quick change' is not asked as 'Name it'"),
    ("climb", Kind.JAM, "'climb' is not asked as 'Open jam'"),
])  # fmt: skip
def test_what_makes_no_question_is_refused(item: str, kind: Kind, says: str) -> None:
    with pytest.raises(QuestionError, match=says):
        made(item, kind)


def test_an_unknown_item_is_refused_with_where_to_look() -> None:
    with pytest.raises(MusicInputError, match="`lastbar devices` lists them all"):
        made("moonwalk", Kind.NAME)


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_a_question_is_of_the_kind_and_the_item_that_were_asked_for(kind: Kind) -> None:
    for row, in_key in product(every_row(kind), PLAYED_KEYS[::5]):
        question = make_question(Asked(row.id, kind, in_key), Wishes(), CATALOGUE, 3)
        assert (kind, row.id, in_key.tonic) == (question.kind, question.item, question.key.tonic)


@pytest.mark.parametrize("kind", list(LADDERS))
def test_every_rung_of_every_ladder_can_be_asked(kind: Kind) -> None:
    for place, row in product(range(len(LADDERS[kind])), every_row(kind)):
        question = made(row.id, kind, "Ab", seed=5, wishes=on_rung(kind, place))
        rung = LADDERS[kind][place]
        assert (place, rung.key_given, rung.playings) == (
            question.rung,
            question.key_given,
            question.playings,
        )
