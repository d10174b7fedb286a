"""Marked bars and ticked figures: hits, misses, false alarms, and reading what was typed."""

import pytest

from quiz.answers import Verdict
from quiz.errors import AnswerError
from quiz.grading.lines import Marks
from quiz.grading.marking import (
    NONE,
    grade_bars,
    grade_ticks,
    read_bars,
    read_ticks,
    right_bars,
    right_ticks,
)
from quiz.questions.kinds import Kind
from tests.laws.strategies import AWKWARD_TEXTS
from tests.quiz.asking import CATALOGUE, chorus, question

PLACED = chorus("4:walk-up-one-four", "11:climb+plain-five")
NOTHING = chorus(item="stay-on-one")
FITTING = question(
    "climb+plain-five",
    kind=Kind.FIT,
    options=("climb+plain-five", "fall+plain-five", "one-four-one-five", "raised-one"),
)
"""Over I7 and V7 the first two agree and the others do not."""

CLIMB, FALL, FOUR, RAISED = FITTING.options


# --- bars ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("bars", "score", "verdict"), [
    # score = hits / (hits + misses + false alarms): the Jaccard index of two sets
    ((4, 11, 12), 1.0, Verdict.RIGHT),
    ((12, 4, 11), 1.0, Verdict.RIGHT),
    ((4, 11), 2 / 3, Verdict.PARTLY),
    ((4, 11, 12, 2), 3 / 4, Verdict.PARTLY),
    ((4, 11, 2), 2 / 4, Verdict.PARTLY),
    ((4, 2), 1 / 4, Verdict.WRONG),
    ((4,), 1 / 3, Verdict.WRONG),
    ((1, 2, 3), 0.0, Verdict.WRONG),
    ((), 0.0, Verdict.WRONG),
    (tuple(range(1, 13)), 3 / 12, Verdict.WRONG),
])  # fmt: skip
def test_marked_bars_are_graded_bar_by_bar(
    bars: tuple[int, ...], score: float, verdict: Verdict
) -> None:
    grade = grade_bars(PLACED, bars, CATALOGUE)
    assert (score, verdict) == (grade.score, grade.verdict)


def test_what_became_of_each_bar_is_kept() -> None:
    assert (
        Marks(("4", "11"), ("12",), ("2", "10"))
        == grade_bars(PLACED, (10, 2, 11, 4), CATALOGUE).marks
    )


def test_marking_none_is_right_where_nothing_was_there() -> None:
    grade = grade_bars(NOTHING, (), CATALOGUE)
    assert (1.0, Verdict.RIGHT, Marks()) == (grade.score, grade.verdict, grade.marks)


def test_marking_any_is_wrong_where_nothing_was_there() -> None:
    grade = grade_bars(NOTHING, (3,), CATALOGUE)
    assert (0.0, Verdict.WRONG, Marks((), (), ("3",))) == (grade.score, grade.verdict, grade.marks)


@pytest.mark.parametrize("bars", [(0,), (13,), (4, 99), (-1,)])
def test_a_bar_that_the_form_does_not_have_is_refused(bars: tuple[int, ...]) -> None:
    with pytest.raises(AnswerError, match="this form has bars 1 to 12"):
        grade_bars(PLACED, bars, CATALOGUE)


@pytest.mark.parametrize(("placed", "bars"), [
    (("4:walk-up-one-four",), (4,)),
    (("11:climb+plain-five",), (11, 12)),
    (("6:half-below-into-one", "11:climb+dip"), (6, 11, 12)),
    ((), ()),
])  # fmt: skip
def test_the_bars_to_mark_are_those_of_the_devices(
    placed: tuple[str, ...], bars: tuple[int, ...]
) -> None:
    assert bars == right_bars(chorus(*placed), CATALOGUE)


# --- ticks --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("ticked", "score", "verdict"), [
    # score = options judged rightly / options, ticked or not
    ((CLIMB, FALL), 1.0, Verdict.RIGHT),
    ((FALL, CLIMB), 1.0, Verdict.RIGHT),
    ((CLIMB,), 3 / 4, Verdict.PARTLY),
    ((CLIMB, FALL, FOUR), 3 / 4, Verdict.PARTLY),
    ((), 2 / 4, Verdict.PARTLY),
    ((CLIMB, FOUR), 2 / 4, Verdict.PARTLY),
    ((FOUR,), 1 / 4, Verdict.WRONG),
    ((FOUR, RAISED), 0.0, Verdict.WRONG),
    ((CLIMB, FALL, FOUR, RAISED), 2 / 4, Verdict.PARTLY),
])  # fmt: skip
def test_ticks_are_graded_option_by_option(
    ticked: tuple[str, ...], score: float, verdict: Verdict
) -> None:
    grade = grade_ticks(FITTING, ticked, CATALOGUE)
    assert (score, verdict) == (grade.score, grade.verdict)


def test_what_became_of_each_tick_is_kept_in_the_order_of_the_options() -> None:
    assert (
        Marks((CLIMB,), (FALL,), (FOUR, RAISED))
        == grade_ticks(FITTING, (RAISED, CLIMB, FOUR), CATALOGUE).marks
    )


def test_a_figure_that_was_not_offered_is_refused() -> None:
    with pytest.raises(AnswerError, match="'long-climb' was not offered"):
        grade_ticks(FITTING, (CLIMB, "long-climb"), CATALOGUE)


def test_the_figures_to_tick_are_those_that_agree() -> None:
    assert (CLIMB, FALL) == right_ticks(FITTING, CATALOGUE)


def test_over_other_chords_other_figures_agree() -> None:
    # I7 #Idim7 / IIm7 V7: the raised one is home there, the climb is not
    over = question("raised-one", kind=Kind.FIT, options=FITTING.options)
    assert (RAISED,) == right_ticks(over, CATALOGUE)


# --- reading ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "bars"), [
    ("4", (4,)), ("4 8", (4, 8)), ("4,8", (4, 8)), ("4, 8; 11", (4, 8, 11)),
    ("11-12", (11, 12)), ("4 11-12", (4, 11, 12)), ("12 4 4", (4, 12)), (" 4  ", (4,)),
    ("9-9", (9,)), ("004", (4,)),
    ("none", ()), ("None", ()), ("nothing", ()), ("0", ()), ("-", ()), (" none ", ()),
])  # fmt: skip
def test_bars_are_read_as_players_type_them(text: str, bars: tuple[int, ...]) -> None:
    assert bars == read_bars(text)


@pytest.mark.parametrize("text", [
    "four", "4 none", "12-11", "4-", "-4", "4--5", "1-2-3", "4.5", "+4", "٤", "４", "1e1", "9999",
    "0x4", "4 [/]",
])  # fmt: skip
def test_what_is_no_bar_is_refused_with_what_to_give(text: str) -> None:
    with pytest.raises(AnswerError, match="is no bar: give numbers such as 4 8 or 11-12, or none"):
        read_bars(text)


@pytest.mark.parametrize("text", ["", " ", ",", " ; , "])
def test_an_empty_answer_is_none_only_when_it_is_said(text: str) -> None:
    for read in (read_bars, lambda given: read_ticks(given, FITTING)):
        with pytest.raises(AnswerError, match=f"say {NONE} if that is what you mean"):
            read(text)


@pytest.mark.parametrize(("text", "ticked"), [
    ("1", (CLIMB,)), ("1 2", (CLIMB, FALL)), ("4,1", (RAISED, CLIMB)),
    ("climb+plain-five raised-one", (CLIMB, RAISED)), ("2 raised-one", (FALL, RAISED)),
    ("none", ()), ("0", ()), ("-", ()), ("NOTHING", ()),
])  # fmt: skip
def test_ticks_are_read_by_numbers_or_ids(text: str, ticked: tuple[str, ...]) -> None:
    assert ticked == read_ticks(text, FITTING)


@pytest.mark.parametrize("text", ["5", "1 5", "0 1", "climb", "1-2", "-1", "１"])
def test_what_is_no_option_is_refused_with_what_to_give(text: str) -> None:
    with pytest.raises(AnswerError, match="is no option: give numbers from 1 to 4, or none"):
        read_ticks(text, FITTING)


@pytest.mark.parametrize("text", AWKWARD_TEXTS, ids=range(len(AWKWARD_TEXTS)))
def test_awkward_texts_are_read_or_refused_in_one_short_printable_line(text: str) -> None:
    said = []
    for read in (read_bars, lambda given: read_ticks(given, FITTING)):
        try:
            read(text)
        except AnswerError as error:
            said.append(str(error))
    assert all(len(line) < 200 and line.isprintable() for line in said), said
