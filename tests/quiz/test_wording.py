"""What the program says, sentence by sentence."""

from itertools import product

import pytest

from engine.notation import NoteNames
from engine.theory import PLAYED_KEYS, Degree, Key, Note
from quiz.answers import Verdict
from quiz.grading import Grade, grade_choice, grade_nothing
from quiz.kinds import Kind
from quiz.questions import Question, Wanted
from quiz.wording import (
    answer_name,
    degrees_text,
    feedback_lines,
    key_words,
    notes_text,
    option_words,
    place_words,
    question_sentence,
    respelling_words,
    verdict_sentence,
)
from tests.quiz.asking import CATALOGUE, ENGLISH, device, every_item, graded, key, made, question

CLIMB = "climb+plain-five"


# --- questions ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("asked", "says"), [
    (question(CLIMB, kind=Kind.NAME), "Which figure is it in bars 11 and 12?"),
    (question("walk-up-one-four", kind=Kind.NAME), "Which figure is it from bar 4 into bar 5?"),
    (question("last-four-twice", kind=Kind.NAME), "Which figure is it in bars 9 to 12?"),
    (question(CLIMB), "Write what the bass plays in bars 11 and 12, as degrees or note names."),
    (question(CLIMB, wanted=Wanted.DEGREES),
     "Write what the bass plays in bars 11 and 12, as degrees."),
    (question(CLIMB, wanted=Wanted.NOTES, spelling_counts=True),
     "Write what the bass plays in bars 11 and 12, as note names. Spelling counts."),
    (question(CLIMB, wanted=Wanted.DEGREES, spelling_counts=True),
     "Write what the bass plays in bars 11 and 12, as degrees."),
    (question("walk-up-one-four", "Bb", Kind.SPELL, wanted=Wanted.NOTES),
     "In Bb, spell 1 2 b3 3 4 as note names. (chromatic walk-up into the four)"),
    (question("walk-up-one-four", "Bb", Kind.SPELL, wanted=Wanted.DEGREES),
     "In Bb, which degrees are Bb C Db D Eb? (chromatic walk-up into the four)"),
    (question(CLIMB, "Ab", Kind.SPELL, wanted=Wanted.NOTES, spelling_counts=True),
     "In Ab, spell 1 3 4 #4 as note names. (climb) Spelling counts."),
])  # fmt: skip
def test_a_question_is_one_sentence(asked: Question, says: str) -> None:
    assert says == question_sentence(asked, CATALOGUE)


def test_a_sentence_speaks_the_language_of_the_players_note_names() -> None:
    asked = question("walk-up-one-four", "Bb", Kind.SPELL, wanted=Wanted.DEGREES)
    german = question_sentence(asked, CATALOGUE, NoteNames.GERMAN)
    assert "In B, which degrees are B C Des D Es?" in german
    assert "Sib" in question_sentence(asked, CATALOGUE, NoteNames.SOLFEGE)


def test_no_heard_question_gives_its_answer_or_its_key_away() -> None:
    for row, kind in product(every_item(Kind.WRITE), (Kind.NAME, Kind.WRITE)):
        asked = made(row.id, kind, "Gb")
        sentence = question_sentence(asked, CATALOGUE)
        assert row.name not in sentence
        assert "Gb" not in sentence


def test_a_pickup_into_the_top_leads_from_the_last_bar_into_bar_one() -> None:
    assert "from bar 12 into bar 1" == place_words(question("walk-up-five-one"), CATALOGUE)


def test_a_pickup_of_two_bars_is_placed_by_its_first_bar_and_its_target() -> None:
    assert "from bar 5 into bar 7" == place_words(question("sharp-four-bar"), CATALOGUE)


@pytest.mark.parametrize(("name", "names", "says"), [
    ("Bb", NoteNames.ENGLISH, "Bb"), ("C minor", NoteNames.ENGLISH, "C minor"),
    ("Bb", NoteNames.GERMAN, "B"), ("B minor", NoteNames.GERMAN, "H minor"),
    ("Eb", NoteNames.SOLFEGE, "Mib"),
])  # fmt: skip
def test_keys_are_named_in_the_players_language(name: str, names: NoteNames, says: str) -> None:
    assert says == key_words(key(name), names)


def test_degrees_and_notes_stand_with_a_space_between() -> None:
    climb = device("climb").pattern.degrees
    assert "1 3 4 #4" == degrees_text(climb)
    assert "A C# D D#" == notes_text(climb, Note("A"))  # key of A [common practice, no source]
    assert "A Cis D Dis" == notes_text(climb, Note("A"), NoteNames.GERMAN)


def test_an_option_is_offered_by_its_name() -> None:
    assert "climb + dip" == option_words(device("climb+dip"))


# --- verdicts -----------------------------------------------------------------------------------

OPTIONS = ("climb+plain-five", "climb+dip", "fall+plain-five", "fall+dip", "long-climb")
NAMED = question("climb+dip", kind=Kind.NAME, options=OPTIONS)


@pytest.mark.parametrize(("chosen", "says"), [
    ("climb+dip", "Right: climb + dip."),
    ("climb+plain-five",
     "Partly right: the climb it was, but bar 12 was 'dip', not 'plain five'."),
    ("fall+dip", "Partly right: bar 12 is right, but bar 11 was 'climb', not 'fall'."),
    ("fall+plain-five", "Wrong: it was 'climb + dip', you said 'fall + plain five'."),
    ("long-climb", "Wrong: it was 'climb + dip', you said 'long climb'."),
])  # fmt: skip
def test_the_verdict_on_a_choice(chosen: str, says: str) -> None:
    grade = grade_choice(NAMED, chosen, CATALOGUE)
    assert says == verdict_sentence(NAMED, grade, CATALOGUE)


def test_a_tail_that_was_not_asked_for_is_not_called_right() -> None:
    asked = question("climb+dip", kind=Kind.NAME, options=("climb+dip", "fall+dip"))
    grade = grade_choice(asked, "fall+dip", CATALOGUE)
    assert "Wrong: it was 'climb', not 'fall'." == verdict_sentence(asked, grade, CATALOGUE)


@pytest.mark.parametrize(("text", "says"), [
    ("A C# D D# E", "Right: climb + plain five."),
    ("A C D D# E", "Partly right: climb + plain five."),
    ("B", "Wrong: climb + plain five."),
])  # fmt: skip
def test_the_verdict_on_a_typed_line(text: str, says: str) -> None:
    asked = question(CLIMB)
    assert says == verdict_sentence(asked, graded(asked, text), CATALOGUE)


def test_who_gives_up_is_told_the_answer() -> None:
    assert "It was climb + dip." == verdict_sentence(NAMED, grade_nothing(), CATALOGUE)


def test_spell_names_the_row_alone() -> None:
    assert "dip" == answer_name(question("climb+dip", kind=Kind.SPELL, item="dip"), CATALOGUE)


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
