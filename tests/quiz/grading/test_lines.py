"""Grading: worked examples, one a line, and what each part of the rule costs."""

from dataclasses import replace

import pytest

from engine.errors import MusicInputError
from engine.notation import NoteNames
from engine.pattern import Spot
from engine.theory import Degree, Note
from quiz.answers import Verdict
from quiz.errors import AnswerError
from quiz.grading.lines import (
    ASKED_SHARE,
    OTHER_SHARE,
    Error,
    expected_notes,
    grade_choice,
    grade_nothing,
    optional_arrival,
    same_degree,
    same_spelling,
)
from quiz.questions.kinds import Kind
from quiz.questions.value import Wanted
from tests.quiz.asking import CATALOGUE, form_call, graded, question

RIGHT, PARTLY, WRONG = Verdict.RIGHT, Verdict.PARTLY, Verdict.WRONG
CLIMB = question("climb+plain-five", "A")  # 1 3 4 #4 | 5 5 5 5 | 1
FALL = question("fall+walk-up-from-four", "A")  # 8 b7 6 b6 | 5 4 #4 5 | 1


@pytest.mark.parametrize(("text", "verdict", "errors", "of"), [
    ("1 3 4 #4 5 5 5 5", RIGHT, 0, 8),
    ("1 3 4 #4 5 5 5 5 1", RIGHT, 0, 9),  # the downbeat arrived at may be written
    ("1 3 4 #4 5", RIGHT, 0, 5),  # a note that is repeated may be written once
    ("1 3 4 #4 5 1", RIGHT, 0, 6),
    ("1 3 4 b5 5", RIGHT, 0, 5),  # #4 = b5
    ("8 3 4 #4 5 8", RIGHT, 0, 6),  # 1 = 8
    ("R 3 4 #4 5", RIGHT, 0, 5),
    ("134#45", RIGHT, 0, 5),
    ("1,3,4,♯4|5-5-5-5", RIGHT, 0, 8),
    ("A C# D D# E", RIGHT, 0, 5),
    ("a c# d d# e e e e", RIGHT, 0, 8),
    ("A Db D Eb E", RIGHT, 0, 5),  # the right pitches by other names
    ("A C♯ D D♯ E", RIGHT, 0, 5),
    ("1 4 #4 5 5 5 5", PARTLY, 1, 8),  # a dropped note costs one and shifts nothing
    ("1 2 3 4 #4 5 5 5 5", PARTLY, 1, 8),  # an extra note costs one
    ("1 b3 4 #4 5 5 5 5", PARTLY, 1, 8),
    ("1 b3 4 #4 5", PARTLY, 1, 5),
    ("1 3 4 5 5 5 5", PARTLY, 1, 8),
    ("1 3", WRONG, 3, 5),
    ("2", WRONG, 5, 5),
])  # fmt: skip
def test_a_line_costs_one_for_each_note_that_is_wrong_missing_or_extra(
    text: str, verdict: Verdict, errors: int, of: int
) -> None:
    grade = graded(CLIMB, text)
    assert errors == sum(pair.error is not None for pair in grade.pairs)
    assert verdict is grade.verdict
    assert of == sum(pair.expected is not None for pair in grade.pairs)
    assert 1 - errors / of == grade.score


@pytest.mark.parametrize(("text", "score"), [
    ("8 b7 6 b6 5 4 #4 5", 1.0),
    ("8 b7 6 6 5 4 #4 5", 7 / 8),
    ("8 b7 6 b6 4 #4 5", 7 / 8),
    ("8 b7 7 6 b6 5 4 #4 5", 7 / 8),
    ("8 b7 6 b6", 4 / 8),
    ("8 b7 6", 3 / 8),
    ("2 2 2 2 2 2 2 2 2 2 2 2 2 2 2 2 2 2 2 2", 0.0),  # never below nothing
])  # fmt: skip
def test_the_score_is_one_less_errors_over_the_notes_expected(text: str, score: float) -> None:
    assert score == graded(FALL, text).score


@pytest.mark.parametrize(("text", "verdict"), [
    ("8 b7 6 b6 5 4 #4 5", RIGHT), ("8 b7 6 b6", PARTLY), ("8 b7 6", WRONG),
])  # fmt: skip
def test_half_the_notes_are_the_least_that_is_partly_right(text: str, verdict: Verdict) -> None:
    assert verdict is graded(FALL, text).verdict


def test_a_dropped_note_is_called_missing_at_its_own_beat() -> None:
    grade = graded(FALL, "8 b7 b6 5 4 #4 5")
    missing = [pair for pair in grade.pairs if pair.error]
    assert [(Spot(2), Degree(6), Error.MISSING)] == [
        (pair.spot, pair.expected, pair.error) for pair in missing
    ]


def test_an_extra_note_is_called_extra_and_has_no_beat() -> None:
    grade = graded(FALL, "8 7 b7 6 b6 5 4 #4 5")
    extra = [pair for pair in grade.pairs if pair.error]
    assert [(None, None, Degree(7), Error.EXTRA)] == [
        (pair.spot, pair.expected, pair.written, pair.error) for pair in extra
    ]


def test_a_wrong_note_is_paired_with_the_one_it_stands_for() -> None:
    wrong = [pair for pair in graded(FALL, "8 b7 6 6 5 4 #4 5").pairs if pair.error]
    assert [(Spot(3), Degree(6, -1), Degree(6), Error.WRONG)] == [
        (pair.spot, pair.expected, pair.written, pair.error) for pair in wrong
    ]


def test_where_alignments_cost_the_same_late_notes_are_paired_first() -> None:
    # a lone 5 could stand for either five of bar 12; the late one is taken
    pairs = graded(FALL, "5").pairs
    assert [Spot(7)] == [pair.spot for pair in pairs if pair.error is None]
    assert 7 == sum(pair.error is Error.MISSING for pair in pairs)


def test_a_right_pitch_by_another_name_is_right_and_is_remembered() -> None:
    grade = graded(CLIMB, "A C# D Eb E")
    assert RIGHT is grade.verdict
    assert [Note("E", -1)] == [pair.respelled for pair in grade.pairs if pair.respelled]


def test_a_degree_by_another_name_is_right_and_says_nothing_of_notes() -> None:
    grade = graded(CLIMB, "1 3 4 b5 5")
    assert RIGHT is grade.verdict
    assert [None] * 5 == [pair.respelled for pair in grade.pairs]


def test_the_downbeat_of_a_figure_that_ends_on_eight_is_optional_and_may_be_one() -> None:
    walk_up = question("walk-up-five-one", "C")  # 5 6 b7 7 | 8
    for text in ("5 6 b7 7", "5 6 b7 7 8", "5 6 b7 7 1", "G A Bb B C"):
        assert RIGHT is graded(walk_up, text).verdict


def test_a_wrong_downbeat_costs_one() -> None:
    grade = graded(question("walk-up-five-one", "C"), "5 6 b7 7 5")
    assert 1 == sum(pair.error is not None for pair in grade.pairs)


def test_the_expected_notes_leave_the_downbeat_out() -> None:
    walk_up = question("walk-up-one-four")
    assert [Degree(1), Degree(2), Degree(3, -1), Degree(3)] == [
        note.degree for note in expected_notes(walk_up, CATALOGUE)
    ]
    arrival = optional_arrival(walk_up, CATALOGUE)
    assert arrival is not None
    assert (Spot(4), Degree(4)) == (arrival.spot, arrival.degree)


def test_spell_asks_for_the_row_alone_and_write_for_the_whole_turnaround() -> None:
    spelled = question("climb+dip", kind=Kind.SPELL, item="dip")
    written = question("climb+dip", kind=Kind.WRITE, item="dip")
    assert RIGHT is graded(spelled, "5 b6 5 5 5").verdict
    assert RIGHT is graded(written, "1 3 4 #4 5 b6 5 5 5").verdict
    assert RIGHT is not graded(written, "5 b6 5 5 5").verdict


# --- spelling that counts -----------------------------------------------------------------------


def test_another_name_costs_only_where_spelling_counts() -> None:
    free = question("climb+plain-five", "Ab")
    strict = question("climb+plain-five", "Ab", spelling_counts=True)
    assert RIGHT is graded(free, "G# C C# D D# D# D# D#").verdict
    grade = graded(strict, "Ab C Db D Eb Eb Eb D#")
    assert (PARTLY, 7 / 8) == (grade.verdict, grade.score)
    assert RIGHT is graded(strict, "Ab C Db D Eb").verdict


def test_a_misspelt_repeat_costs_where_spelling_counts() -> None:
    strict = question("climb+plain-five", "D", spelling_counts=True)
    assert RIGHT is graded(strict, "D F# G G# A A A A").verdict
    assert RIGHT is not graded(strict, "D F# Gb G G# A").verdict


def test_spelling_never_counts_against_degrees() -> None:
    strict = question("climb+plain-five", "Ab", spelling_counts=True)
    assert RIGHT is graded(strict, "1 3 4 b5 5").verdict


# --- languages and what is wanted ---------------------------------------------------------------


@pytest.mark.parametrize(("in_key", "text"), [
    # German names: B is the B flat of English, H its B. [from memory]
    ("Bb", "B D Es E F"), ("F", "F A B H C"), ("A", "a cis d dis e"), ("E", "E Gis A Ais H"),
    ("Eb", "Es G As A B"),
])  # fmt: skip
def test_german_names_are_read_where_the_player_uses_them(in_key: str, text: str) -> None:
    assert RIGHT is graded(question("climb+plain-five", in_key), text, NoteNames.GERMAN).verdict


def test_fixed_do_is_read_where_the_player_uses_it() -> None:
    asked = question("climb+plain-five", "A")
    assert RIGHT is graded(asked, "La Do# Re Re# Mi", NoteNames.SOLFEGE).verdict


def test_degrees_are_refused_where_notes_are_wanted() -> None:
    asked = question("climb+plain-five", wanted=Wanted.NOTES)
    with pytest.raises(AnswerError, match="asks for note names, such as A Bb F#"):
        graded(asked, "1 3 4 #4")


def test_notes_are_refused_where_degrees_are_wanted() -> None:
    asked = question("climb+plain-five", wanted=Wanted.DEGREES)
    with pytest.raises(AnswerError, match="asks for degrees, such as 1 b3 #4"):
        graded(asked, "A C# D D#")


@pytest.mark.parametrize(("text", "says"), [
    ("", "nothing was written"),
    ("   \t\n", "nothing was written"),
    ("---", "nothing was written"),
    ("1 " * 5000, "10000 characters is too long: an answer has at most 200"),
    ("\U0001f3b8 \U0001f3b8", "is neither a degree"),
    ("1 3 4 \U0001f600", "is neither a degree"),
    ("\x00\x1b[31m\x07", "is neither a degree"),
    ("1\x00 3", "is neither a degree"),
    ("1 C# 4 D#", "mixed"),
    ("9", "is neither a degree"),
    ("0 -1", "is neither a degree"),
    ("1 3 4 H", "is neither a degree"),
    ("###3", "is neither a degree"),
    ("x" * 200, "is neither a degree"),
    ("１ ３", "is neither a degree"),  # full-width digits
    ("1 3 4 #4 \N{RIGHT-TO-LEFT OVERRIDE}5", "is neither a degree"),
])  # fmt: skip
def test_what_cannot_be_read_is_refused_in_one_clear_line(text: str, says: str) -> None:
    with pytest.raises(MusicInputError, match=says) as refused:
        graded(CLIMB, text)
    message = str(refused.value)
    assert message.isprintable()
    assert len(message) < 200


# --- choices ------------------------------------------------------------------------------------

OPTIONS = ("climb+plain-five", "climb+dip", "fall+plain-five", "fall+dip", "long-climb")


def test_the_right_choice_scores_one() -> None:
    asked = question("climb+dip", kind=Kind.NAME, options=OPTIONS)
    grade = grade_choice(asked, "climb+dip", CATALOGUE)
    assert (RIGHT, 1.0, "climb+dip") == (grade.verdict, grade.score, grade.chosen)


@pytest.mark.parametrize(("item", "chosen", "score"), [
    ("climb", "climb+plain-five", ASKED_SHARE),  # asked about the head: head right, tail wrong
    ("climb", "fall+dip", OTHER_SHARE),
    ("climb", "fall+plain-five", 0.0),
    ("climb", "long-climb", 0.0),
    ("dip", "climb+plain-five", OTHER_SHARE),  # asked about the tail: head right, tail wrong
    ("dip", "fall+dip", ASKED_SHARE),
    ("dip", "fall+plain-five", 0.0),
])  # fmt: skip
def test_one_part_of_a_turnaround_is_partly_right(item: str, chosen: str, score: float) -> None:
    asked = question("climb+dip", kind=Kind.NAME, item=item, options=OPTIONS)
    grade = grade_choice(asked, chosen, CATALOGUE)
    assert (score, PARTLY if score else WRONG) == (grade.score, grade.verdict)


def test_the_parts_are_worth_seven_and_three_tenths() -> None:
    assert (0.7, 0.3) == (ASKED_SHARE, OTHER_SHARE)


def test_a_tail_that_all_options_share_says_nothing() -> None:
    asked = question("climb+dip", kind=Kind.NAME, options=("climb+dip", "fall+dip"))
    assert 0.0 == grade_choice(asked, "fall+dip", CATALOGUE).score


@pytest.mark.parametrize(("varies", "chosen", "score"), [
    # the figure counts ASKED_SHARE; that it was a variant OTHER_SHARE, but only where it was one
    (True, "climb+dip+varied", 1.0),
    (True, "climb+dip", ASKED_SHARE),
    (True, "fall+dip+varied", OTHER_SHARE),
    (True, "fall+dip", 0.0),
    (False, "climb+dip", 1.0),
    (False, "climb+dip+varied", ASKED_SHARE),
    (False, "fall+dip", 0.0),
    (False, "fall+dip+varied", 0.0),
    (True, "climb+plain-five+varied", OTHER_SHARE),  # a figure is its head and its tail
    (False, "climb+plain-five", 0.0),
])  # fmt: skip
def test_a_figure_that_may_vary_is_graded_in_two_parts(
    varies: bool, chosen: str, score: float
) -> None:
    asked = replace(
        question("climb+dip+late" if varies else "climb+dip", kind=Kind.NAME, item="climb"),
        options=OPTIONS,
        variants=True,
        varies="climb+dip" if varies else "",
    )
    grade = grade_choice(asked, chosen, CATALOGUE)
    verdict = RIGHT if score == 1 else PARTLY if score else WRONG
    assert (score, verdict) == (grade.score, grade.verdict)
    assert chosen.removesuffix("+varied") == grade.chosen_option


def test_a_wrong_form_is_wrong_however_near() -> None:
    asked = form_call("quick-change", "twelve-bar-five", "quick-change")
    right = grade_choice(asked, "quick-change", CATALOGUE)
    assert (1.0, RIGHT) == (right.score, right.verdict)
    wrong = grade_choice(asked, "twelve-bar-five", CATALOGUE)
    assert (0.0, WRONG) == (wrong.score, wrong.verdict)


def test_what_was_not_offered_cannot_be_picked() -> None:
    asked = question("climb+dip", kind=Kind.NAME, options=OPTIONS)
    with pytest.raises(AnswerError, match="'run-up' was not offered: pick one of"):
        grade_choice(asked, "run-up", CATALOGUE)


def test_giving_up_scores_nothing_and_has_its_own_word() -> None:
    assert (Verdict.GIVEN_UP, 0.0) == (grade_nothing().verdict, grade_nothing().score)


# --- notions of equal ---------------------------------------------------------------------------


@pytest.mark.parametrize(("one", "other", "same"), [
    (Degree(4, 1), Degree(5, -1), True), (Degree(1), Degree(8), True),
    (Degree(1, 1), Degree(2, -1), True), (Degree(3), Degree(4, -1), True),
    (Degree(7), Degree(7, -1), False), (Degree(6), Degree(6, -1), False),
])  # fmt: skip
def test_degrees_are_equal_when_they_are_one_pitch_class(
    one: Degree, other: Degree, same: bool
) -> None:
    assert same is same_degree(one, other)


def test_a_spelling_is_letter_and_accidental() -> None:
    assert same_spelling(Note("F", 1), Note("F", 1))
    assert not same_spelling(Note("F", 1), Note("G", -1))
