"""What is said about an answer, line by line."""

from dataclasses import replace
from itertools import product

import pytest

from engine.notation import NoteNames
from engine.theory import PLAYED_KEYS, Degree, Key, Note
from quiz.answers import Verdict
from quiz.display.feedback import (
    MOST_DIFFERENCES,
    feedback_lines,
    respelling_words,
    teachers_word,
)
from quiz.grading.lines import Grade, grade_choice, grade_nothing
from quiz.grading.marking import right_ticks
from quiz.questions.kinds import Kind
from quiz.questions.value import Question
from tests.quiz.asking import (
    CATALOGUE,
    ENGLISH,
    answered,
    chorus,
    device,
    every_item,
    every_row,
    form_call,
    graded,
    made,
    on_rung,
    question,
)

CLIMB = "climb+plain-five"

# --- what happened at which beat ----------------------------------------------------------------

FALL = question("fall+plain-five", "A")


def lines(asked: Question, text: str, names: NoteNames = ENGLISH) -> tuple[str, ...]:
    return feedback_lines(asked, graded(asked, text, names), CATALOGUE, names)


@pytest.mark.parametrize(("text", "says"), [
    ("8 b7 6 b6 5 5 5 5", ()),
    ("8 b7 6 6 5 5 5 5", ("bar 11, beat 4: you wrote 6 (F#) where the line has b6 (F)",)),
    ("8 b7 b6 5 5 5 5", ("bar 11, beat 3: 6 (F#) is missing",)),
    ("8 7 b7 6 b6 5 5 5 5", ("7 (G#) is one note too many",)),
    ("8 b7 6 b6 4 5 5 5", ("bar 12, beat 1: you wrote 4 (D) where the line has 5 (E)",)),
    ("8 b7 6 b6 5 5 5 5 2", ("2 (B) is one note too many",)),  # the downbeat is not asked for
])  # fmt: skip
def test_feedback_says_what_happened_at_which_beat(text: str, says: tuple[str, ...]) -> None:
    assert says == lines(FALL, text)


def test_off_beats_are_named() -> None:
    asked = question("climb+dip", "A")
    assert ("bar 12, beat 2: you wrote 6 (F#) where the line has b6 (F)",) == lines(
        asked, "1 3 4 #4 5 6 5 5 5"
    )
    assert ("bar 12, beat 2 and: you wrote 4 (D) where the line has 5 (E)",) == lines(
        asked, "1 3 4 #4 5 b6 4 5 5"
    )


def test_a_spelled_tail_is_placed_in_its_own_bar() -> None:
    asked = question("climb+dip", "A", Kind.SPELL, item="dip")
    assert ("bar 12, beat 2: you wrote 6 (F#) where the line has b6 (F)",) == lines(
        asked, "5 6 5 5 5"
    )


def test_feedback_speaks_the_players_language() -> None:
    assert ("bar 11, beat 4: you wrote 6 (Fis) where the line has b6 (F)",) == lines(
        FALL, "a g fis fis e e e e", NoteNames.GERMAN
    )


def test_every_degree_that_can_be_typed_can_be_named_in_every_language() -> None:
    for in_key, names in product(PLAYED_KEYS, NoteNames):
        asked = question(CLIMB, str(in_key))
        for text in ("bb1", "bb2", "bb3", "bb4", "bb5", "bb6", "bb7", "##3", "##7", "bb8"):
            assert lines(asked, text, names)


# --- right by another name ----------------------------------------------------------------------


def test_the_charts_name_of_a_double_flat_is_right_with_a_remark() -> None:
    # b6 of Db is Bbb; charts write A [common practice, no source]
    asked = question("fall+plain-five", "Db")
    assert ("A: right; in this key it is written Bbb, charts often say A",) == lines(
        asked, "Db Cb Bb A Ab Ab Ab Ab"
    )


def test_another_name_that_no_chart_uses_gets_the_short_remark() -> None:
    asked = question(CLIMB, "A")
    assert ("Eb: right; in this key it is written D#",) == lines(asked, "A C# D Eb E")


def test_the_right_double_flat_gets_no_remark() -> None:
    assert () == lines(question("fall+plain-five", "Db"), "Db Cb Bb Bbb Ab")


def test_a_degree_by_another_name_gets_no_remark_about_notes() -> None:
    assert () == lines(question(CLIMB, "A"), "1 3 4 b5 5")


def test_a_remark_speaks_german_too() -> None:
    says = respelling_words(Degree(6, -1), Note("A"), Key(Note("D", -1)), NoteNames.GERMAN)
    assert "A: right; in this key it is written Heses, charts often say A" == says


def test_a_misspelling_that_costs_is_shown_as_it_was_written() -> None:
    asked = question(CLIMB, "A", spelling_counts=True)
    assert ("bar 11, beat 4: you wrote b5 (Eb) where the line has #4 (D#)",) == lines(
        asked, "A C# D Eb E"
    )


# --- where two figures part ways ----------------------------------------------------------------


def parted(played: str, picked: str, base: str = "two-beat") -> tuple[str, ...]:
    asked = question(played, kind=Kind.NAME, options=(played, picked), base=base)
    return feedback_lines(asked, grade_choice(asked, picked, CATALOGUE), CATALOGUE)


def test_a_right_choice_needs_no_lines() -> None:
    assert () == parted(CLIMB, CLIMB)


def test_a_wrong_choice_is_told_where_the_two_part_ways() -> None:
    assert ("bar 11, beat 2: 3 was played; the figure you named has b3",) == parted(
        CLIMB, "climb-flat-third+plain-five"
    )


def test_a_note_that_only_one_of_them_strikes_is_said() -> None:
    assert ("bar 12, beat 3: 5 was played; the figure you named has b2",) == parted(
        "climb-five-one", "climb-half-above"
    )
    assert (
        "bar 12, beat 2: b6 was played; the figure you named has 5",
        "bar 12, beat 2 and: 5 was struck; the figure you named has nothing new there",
    ) == parted("climb+dip", "climb+plain-five")


def test_what_the_base_pattern_strikes_counts_as_played() -> None:
    # under * the box plays 1 1 8 8 in bar 4, or b7 b7 5 5: never nothing
    found = parted("half-below-into-four", "walk-up-one-four", base="box")
    assert found
    assert not any("nothing new" in line for line in found)
    assert not any("beat 4" in line for line in found)


def test_figures_that_differ_only_in_how_often_they_are_played_say_so() -> None:
    assert ("the bars were played 3 times; the figure you named plays them once",) == parted(
        "last-four-three-times", "last-four-once"
    )
    assert ("the bars were played once; the figure you named plays them twice",) == parted(
        "last-four-once", "last-four-twice"
    )


def test_every_wrong_choice_that_can_be_offered_is_explained() -> None:
    for row in every_item(Kind.NAME):
        asked = made(row.id, Kind.NAME, "Eb", seed=3, both_vary=True)
        for option in asked.options:
            told = feedback_lines(asked, Grade(Verdict.WRONG, 0.0, chosen=option), CATALOGUE)
            assert (option != asked.device) == bool(told), (asked, option)


# --- a figure that may come as a variant --------------------------------------------------------

DOUBLED = replace(
    question("climb-flat-third+plain-five", kind=Kind.NAME, item="climb"),
    options=(CLIMB, "fall+plain-five"),
    variants=True,
    varies=CLIMB,
)


def told(asked: Question, text: str) -> tuple[str, ...]:
    return feedback_lines(asked, answered(asked, text), CATALOGUE)


def test_a_variant_that_was_taken_for_the_figure_is_told_apart_from_it() -> None:
    assert ("bar 11, beat 2: b3 was played; the figure you named has 3",) == told(DOUBLED, CLIMB)


def test_a_variant_that_was_called_one_needs_no_lines() -> None:
    assert () == told(DOUBLED, f"{CLIMB}+varied")


def test_a_figure_that_was_wrongly_called_a_variant_is_said_to_be_as_it_is() -> None:
    asked = replace(DOUBLED, device=CLIMB, varies="")
    assert ("every beat was the figure's own: it came as it is",) == told(asked, f"{CLIMB}+varied")


def test_every_wrong_pick_is_explained_where_variants_may_come() -> None:
    for row, seed in product(every_item(Kind.NAME), range(2)):
        asked = made(row.id, Kind.NAME, "Eb", seed, wishes=on_rung(Kind.NAME, 5))
        for pick in asked.picks:
            lines = feedback_lines(asked, grade_choice(asked, pick, CATALOGUE), CATALOGUE)
            assert (pick != asked.right) == bool(lines), (asked, pick)


# --- a whole chorus -----------------------------------------------------------------------------

PLACED = chorus("4:walk-up-one-four", "11:climb+plain-five")
HELD = (
    "bar 4: chromatic walk-up into the four, 1 2 b3 3 | 4",
    "bars 11 and 12: climb + plain five, 1 3 4 #4 | 5 5 5 5 | 1",
)


def test_all_that_the_chorus_held_is_told_bar_by_bar() -> None:
    assert HELD == told(PLACED, "4 11 12")
    assert HELD == feedback_lines(PLACED, grade_nothing(), CATALOGUE)


def test_false_alarms_are_told_what_was_there() -> None:
    assert (*HELD, "bars 2 and 7: the base pattern went on") == told(PLACED, "2 4 7 11 12")


def test_a_chorus_with_nothing_in_it_is_said_to_be_one() -> None:
    nothing = "the base pattern went on from the first bar to the last"
    assert (nothing,) == told(chorus(item="stay-on-one"), "none")
    assert (nothing,) == told(chorus(item="stay-on-one"), "3 9")


def test_a_wrong_form_is_told_where_the_two_part_ways() -> None:
    asked = form_call("quick-change", "quick-change", "twelve-bar-five", "twelve-bar")
    second = "bar 2: IV7 was played; the form you named has I7"
    assert (second,) == told(asked, "twelve-bar-five")
    assert (second, "bar 12: V7 was played; the form you named has I7") == told(asked, "twelve-bar")


def test_the_right_form_needs_no_lines() -> None:
    assert () == told(form_call("quick-change", "quick-change", "twelve-bar"), "quick-change")


def test_a_form_of_another_length_is_said_to_have_begun_anew() -> None:
    longer = form_call("sixteen-bar", "sixteen-bar", "twelve-bar")
    assert (
        "bar 5: I7 was played; the form you named has IV7",
        "bar 6: I7 was played; the form you named has IV7",
        "bar 9: IV7 was played; the form you named has V7",
        "bar 13: V7 was played; the form you named has begun anew",
        "bar 14: IV7 was played; the form you named has begun anew",
        "bar 15: I7 was played; the form you named has begun anew",
        "and 1 bar more",
    ) == told(longer, "twelve-bar")
    shorter = form_call("twelve-bar", "sixteen-bar", "twelve-bar")
    assert "bar 13: the form had begun anew; the one you named has V7" in told(
        shorter, "sixteen-bar"
    )


def test_no_more_than_six_places_are_listed() -> None:
    asked = form_call("minor-blues", "minor-blues", "jazz-blues")
    lines = told(asked, "jazz-blues")
    assert MOST_DIFFERENCES + 1 == len(lines)
    assert "and 5 bars more" == lines[-1]  # all have other chords but bar 10, the five in both


def test_every_wrong_form_that_can_be_offered_is_explained() -> None:
    for row in every_row(Kind.FORM):
        asked = made(row.id, Kind.FORM, "F", seed=1, wishes=on_rung(Kind.FORM, 4))
        for option in asked.options:
            assert (option != asked.right) == bool(told(asked, option))


# --- figures over the band ----------------------------------------------------------------------

FITTING = question(
    CLIMB, "A", Kind.FIT, options=(CLIMB, "fall+plain-five", "one-four-one-five", "raised-one")
)


def test_every_figure_is_told_whether_it_agrees_and_where_it_does_not() -> None:
    # over A7 and E7: 4 (D) is no chord tone of A7 and does not pass, nor does #1 (A#), which is
    # called as the figure calls it
    lines = told(FITTING, "1 2")
    assert "climb + plain five: agrees" == lines[0]
    assert "fall + plain five: agrees" == lines[1]
    assert lines[2].startswith("one-four, one-five: bar 11, beat 3: 4 (D) is foreign to the chord")
    assert lines[3].startswith("raised one: bar 11, beat 3: #1 (A#) is foreign to the chord")


def test_a_clash_names_the_nearest_note_of_the_chord() -> None:
    line = told(FITTING, "1 2")[3]
    assert "whose nearest note is 1 (A)" in line


def test_the_rest_of_a_figures_clashes_are_counted() -> None:
    assert told(FITTING, "1 2")[2].endswith("beats more")


def test_every_wrong_figure_is_explained_with_its_beat_and_two_notes() -> None:
    for row, seed in product(every_item(Kind.FIT), range(6)):
        asked = made(row.id, Kind.FIT, "Bb", seed, wishes=on_rung(Kind.FIT, 4))
        right = right_ticks(asked, CATALOGUE)
        lines = feedback_lines(asked, grade_nothing(), CATALOGUE)
        assert len(asked.options) == len(lines)
        for option, line in zip(asked.options, lines, strict=True):
            assert (option in right) == line.endswith(": agrees")
            assert option in right or (", beat " in line and 2 <= line.count("(")), line


def test_clashes_are_told_in_the_players_note_names() -> None:
    lines = feedback_lines(FITTING, grade_nothing(), CATALOGUE, NoteNames.GERMAN)
    assert "#1 (Ais) is foreign" in lines[3]


# --- what a teacher would say -------------------------------------------------------------------


def test_a_teachers_word_is_that_of_the_figure() -> None:
    assert device(CLIMB).says == teachers_word(question(CLIMB), CATALOGUE)


def test_of_a_form_it_is_what_gives_it_away() -> None:
    asked = form_call("quick-change", "quick-change", "twelve-bar")
    tell = "Bar 2 already goes to the four, and bars 9 and 10 are the five and the four."
    assert f"What gives it away: {tell}" == teachers_word(asked, CATALOGUE)


def test_of_a_whole_chorus_there_is_none() -> None:
    assert "" == teachers_word(PLACED, CATALOGUE)
