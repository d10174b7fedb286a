"""From an answer as it is given to a grade, whatever the kind."""

from dataclasses import replace
from itertools import product

import pytest

from engine.errors import MusicInputError
from engine.notation import NoteNames
from quiz.answers import Verdict
from quiz.errors import AnswerError
from quiz.grading.replies import grade_reply, listed, right_reply
from quiz.questions.kinds import ROUND_KINDS, Kind
from quiz.questions.value import Question, Wanted
from tests.quiz.asking import (
    CATALOGUE,
    ENGLISH,
    answered,
    chorus,
    every_row,
    form_call,
    made,
    on_rung,
    question,
)

CLIMB = "climb+plain-five"
NAMED = question(CLIMB, kind=Kind.NAME, options=(CLIMB, "fall+plain-five"))
WRITTEN = question(CLIMB)
SPELLED = question("climb+dip", kind=Kind.SPELL, item="dip", wanted=Wanted.NOTES)
PLACED = chorus("4:walk-up-one-four", "11:climb+plain-five")
FITTING = question(CLIMB, kind=Kind.FIT, options=(CLIMB, "fall+plain-five", "raised-one"))
CALLED = form_call("quick-change", "quick-change", "twelve-bar")
VARIED = replace(NAMED, device=f"{CLIMB}+late", varies=CLIMB, variants=True)


@pytest.mark.parametrize(("asked", "right", "wrong"), [
    (NAMED, CLIMB, "fall+plain-five"),
    (VARIED, f"{CLIMB}+varied", "fall+plain-five"),
    (WRITTEN, "1 3 4 #4 5", "2 2 2 2"),
    (SPELLED, "E F E", "B B"),
    (PLACED, "4 11-12", "1 2 3"),
    (FITTING, f"{CLIMB} fall+plain-five", "raised-one"),
    (CALLED, "quick-change", "twelve-bar"),
])  # fmt: skip
def test_every_kind_is_graded_from_what_is_given(asked: Question, right: str, wrong: str) -> None:
    assert Verdict.RIGHT is answered(asked, right).verdict
    assert Verdict.WRONG is answered(asked, wrong).verdict


@pytest.mark.parametrize(("asked", "reply"), [
    (NAMED, CLIMB),
    (VARIED, f"{CLIMB}+varied"),
    (WRITTEN, "A C# D D# E E E E"),
    (SPELLED, "E F E E E"),
    (replace(SPELLED, wanted=Wanted.DEGREES), "5 b6 5 5 5"),
    (PLACED, "4 11 12"),
    (chorus(item="stay-on-one"), "none"),
    (FITTING, f"{CLIMB} fall+plain-five"),
    (CALLED, "quick-change"),
])  # fmt: skip
def test_a_right_answer_is_given_as_a_player_could_give_it(asked: Question, reply: str) -> None:
    assert reply == right_reply(asked, CATALOGUE)


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_the_right_answer_of_every_question_grades_right(kind: Kind) -> None:
    for row, place in product(every_row(kind), (0, 4, 7)):
        asked = made(row.id, kind, "Eb", seed=place, wishes=on_rung(kind, place))
        grade = answered(asked, right_reply(asked, CATALOGUE))
        assert (1.0, Verdict.RIGHT) == (grade.score, grade.verdict)


@pytest.mark.parametrize(("asked", "given"), [
    (NAMED, "long-climb"), (NAMED, f"{CLIMB}+varied"), (NAMED, "1"), (NAMED, ""),
    (CALLED, "eight-bar"), (CALLED, "quick-change+varied"),
    (PLACED, "13"), (PLACED, "first"), (PLACED, ""),
    (FITTING, "4"), (FITTING, ""), (FITTING, "long-climb"),
    (SPELLED, "5 b6 5"),
])  # fmt: skip
def test_what_no_answer_could_be_is_refused(asked: Question, given: str) -> None:
    with pytest.raises(AnswerError):
        answered(asked, given)


@pytest.mark.parametrize("given", ["hello there", "9 9", "1 c"])
def test_a_line_that_cannot_be_read_is_refused(given: str) -> None:
    with pytest.raises(MusicInputError):
        answered(WRITTEN, given)


def test_a_line_is_read_in_the_players_note_names() -> None:
    grade = grade_reply(WRITTEN, "A Cis D Dis E", NoteNames.GERMAN, CATALOGUE)
    assert Verdict.RIGHT is grade.verdict
    with pytest.raises(MusicInputError):
        grade_reply(WRITTEN, "A Cis D Dis E", ENGLISH, CATALOGUE)


def test_marks_are_listed_or_said_to_be_none() -> None:
    assert "4 8" == listed(["4", "8"])
    assert "none" == listed([])
