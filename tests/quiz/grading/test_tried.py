"""What was answered, as something that can be heard."""

from dataclasses import replace
from itertools import product

import pytest

from engine.catalogue import Device
from quiz.answers import Verdict
from quiz.grading.lines import Grade, Marks, grade_choice, grade_nothing
from quiz.grading.tried import answer_heard, played_back, tried_device
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import Kind
from quiz.questions.value import Question
from tests.quiz.asking import (
    CATALOGUE,
    answered,
    chorus,
    device,
    every_item,
    form_call,
    graded,
    made,
    on_rung,
    question,
)

CLIMB = question("climb+plain-five", "A")


def tried(asked: Question, text: str) -> Device:
    found = tried_device(asked, graded(asked, text), CATALOGUE)
    assert found is not None
    return found


@pytest.mark.parametrize("grade", [
    graded(CLIMB, "1 3 4 #4 5 5 5 5"), graded(CLIMB, "A C# D Eb E"), grade_nothing(),
])  # fmt: skip
def test_a_right_answer_and_none_leave_nothing_else_to_hear(grade: Grade) -> None:
    assert tried_device(CLIMB, grade, CATALOGUE) is None


@pytest.mark.parametrize(("text", "line"), [
    ("1 b3 4 #4 5 5 5 5", "1 b3 4 #4 | 5 5 5 5 | 1"),
    ("1 4 #4 5 5 5 5", "1 x 4 #4 | 5 5 5 5 | 1"),  # a missing note is a silence
    ("1 2 3 4 #4 5 5 5 5", "1 3 4 #4 | 5 5 5 5 | 1"),  # there is no beat for an extra one
])  # fmt: skip
def test_the_figure_is_heard_as_it_was_written(text: str, line: str) -> None:
    assert line == str(tried(CLIMB, text).pattern)


def test_a_written_note_sounds_in_the_octave_nearest_to_the_one_played() -> None:
    # the figure falls from 8; a written 7 there is the one just below it, not the one above
    fall = question("fall+plain-five", "A")
    assert "8 7 6 b6 | 5 5 5 5 | 1" == str(tried(fall, "8 7 6 b6 5 5 5 5").pattern)
    one = question("three-six-two-five", "A")  # 3 3 6, 6, | 2 2 5, 5, | 1
    assert "7," in str(tried(one, "3 3 7 7 2 2 5 5").pattern)


def test_a_spelled_tail_is_changed_in_its_own_bar() -> None:
    asked = question("climb+dip", "A", Kind.SPELL, item="dip")
    assert "1 3 4 #4 | 5 (6 5) 5 5 | 1" == str(tried(asked, "5 6 5 5 5").pattern)


def test_a_spelled_head_keeps_its_tail() -> None:
    asked = question("climb+dip", "A", Kind.SPELL, item="climb")
    assert "1 b3 4 #4 | 5 (b6 5) 5 5 | 1" == str(tried(asked, "1 b3 4 #4").pattern)


def test_a_wrong_choice_is_heard_in_place_of_the_figure() -> None:
    asked = question("climb+dip", kind=Kind.NAME, options=("climb+dip", "fall+dip"))
    wrong = grade_choice(asked, "fall+dip", CATALOGUE)
    assert device("fall+dip") == tried_device(asked, wrong, CATALOGUE)
    assert tried_device(asked, grade_choice(asked, "climb+dip", CATALOGUE), CATALOGUE) is None


@pytest.mark.parametrize("text", ["2", "7 7 7 7 7 7 7 7", "b2 #4 6 1 3"])
def test_every_wrong_answer_can_be_played(text: str) -> None:
    for row in every_item(Kind.WRITE):
        asked = made(row.id, Kind.WRITE, "Db")
        grade = graded(asked, text)
        mine = tried_device(asked, grade, CATALOGUE)
        if mine is not None:
            plan, score = Excerpt(asked, mine).passage(CATALOGUE)
            assert plan.length == score.length


def test_every_option_can_be_played_in_place_of_the_answer() -> None:
    for row, in_key in product(every_item(Kind.NAME), ("E", "F", "Ab", "B")):
        asked = made(row.id, Kind.NAME, in_key, seed=2, both_vary=True)
        for option in asked.options:
            plan, score = Excerpt(asked, device(option)).passage(CATALOGUE)
            assert plan.length == score.length


# --- the other kinds ----------------------------------------------------------------------------

CLIMB_OR_FALL = ("climb+plain-five", "fall+plain-five")
LATE = replace(
    question("climb+plain-five+late", kind=Kind.NAME, item="climb"),
    options=CLIMB_OR_FALL,
    variants=True,
    varies="climb+plain-five",
)
AS_IT_IS = replace(
    question("climb+plain-five", kind=Kind.NAME), options=CLIMB_OR_FALL, variants=True
)


@pytest.mark.parametrize(("asked", "chosen", "heard"), [
    (LATE, "climb+plain-five+varied", None),
    (LATE, "climb+plain-five", "climb+plain-five"),
    (LATE, "fall+plain-five", "fall+plain-five"),
    (LATE, "fall+plain-five+varied", "fall+plain-five"),  # which variant nobody said
    (AS_IT_IS, "climb+plain-five", None),
    (AS_IT_IS, "climb+plain-five+varied", None),  # it is what was played
    (AS_IT_IS, "fall+plain-five+varied", "fall+plain-five"),
])  # fmt: skip
def test_of_a_variant_the_figure_that_was_named_is_heard(
    asked: Question, chosen: str, heard: str | None
) -> None:
    found = tried_device(asked, answered(asked, chosen), CATALOGUE)
    assert heard == (found.id if found else None)


@pytest.mark.parametrize(("asked", "given"), [
    (form_call("quick-change", "quick-change", "twelve-bar"), "twelve-bar"),
    (chorus("4:walk-up-one-four"), "3 5"),
    (question("climb+plain-five", kind=Kind.FIT, options=CLIMB_OR_FALL), "none"),
])  # fmt: skip
def test_where_nothing_stands_in_one_place_nothing_else_is_heard(
    asked: Question, given: str
) -> None:
    assert tried_device(asked, answered(asked, given), CATALOGUE) is None


def test_every_pick_can_be_played_in_place_of_a_variant() -> None:
    for row, seed in product(every_item(Kind.NAME), range(2)):
        asked = made(row.id, Kind.NAME, "B", seed, wishes=on_rung(Kind.NAME, 7))
        for pick in asked.picks:
            mine = tried_device(asked, answered(asked, pick), CATALOGUE)
            if mine is not None:
                plan, score = Excerpt(asked, mine).passage(CATALOGUE)
                assert plan.length == score.length


# --- as it is heard in place of the question ----------------------------------------------------


def test_another_figure_is_heard_in_the_place_of_the_question_and_slower_with_it() -> None:
    asked = made("climb", Kind.NAME)
    other = next(pick for pick in asked.picks if pick != asked.right)
    grade = grade_choice(asked, other, CATALOGUE)
    heard = answer_heard(asked, grade, other, CATALOGUE, 0.75)
    assert Excerpt(asked, CATALOGUE.find(grade.chosen_option), 0.75) == heard


def test_nothing_is_heard_of_a_right_answer_of_none_and_before_one() -> None:
    right = graded(CLIMB, "1 3 4 #4 5 5 5 5")
    assert answer_heard(CLIMB, right, "1 3 4 #4 5 5 5 5", CATALOGUE) is None
    assert answer_heard(CLIMB, grade_nothing(), "", CATALOGUE) is None
    assert answer_heard(CLIMB, None, "", CATALOGUE) is None


def test_a_take_is_heard_as_it_was_played_also_where_it_was_right() -> None:
    asked = made("climb", Kind.PLAY)
    take = "33@0 37@1 38@2 39@3"
    grade = answered(asked, take)
    assert played_back(asked, take) == answer_heard(asked, grade, take, CATALOGUE)
    assert played_back(asked, take) is not None


@pytest.mark.parametrize(("hits", "false_alarms", "first"), [
    (("climb+dip",), ("fall+dip",), "climb+dip"), ((), ("fall+dip",), "fall+dip"),
])  # fmt: skip
def test_of_ticked_figures_one_that_agrees_is_heard_before_one_that_does_not(
    hits: tuple[str, ...], false_alarms: tuple[str, ...], first: str
) -> None:
    asked = made("climb", Kind.FIT)
    grade = Grade(Verdict.PARTLY, 0.5, marks=Marks(hits, (), false_alarms))
    given = " ".join((*hits, *false_alarms))
    assert Excerpt(asked, device(first)) == answer_heard(asked, grade, given, CATALOGUE)
    ticked_none = Grade(Verdict.WRONG, 0.0, marks=Marks((), hits, ()))
    assert answer_heard(asked, ticked_none, "", CATALOGUE) is None
