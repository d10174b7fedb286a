"""What the program says, sentence by sentence."""

from dataclasses import replace
from itertools import product

import pytest

from engine.notation import NoteNames
from engine.theory import Note
from quiz.display.wording import (
    answer_name,
    bars_words,
    degrees_text,
    heading_words,
    key_words,
    notes_text,
    pick_words,
    place_words,
    question_sentence,
    verdict_sentence,
    why_words,
)
from quiz.grading.lines import grade_choice, grade_nothing
from quiz.questions.kinds import KINDS, ROUND_KINDS, Kind
from quiz.questions.value import Next, Question, Wanted
from tests.quiz.asking import (
    CATALOGUE,
    answered,
    chorus,
    device,
    every_row,
    form_call,
    graded,
    key,
    made,
    on_rung,
    question,
)

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


@pytest.mark.parametrize(("asked", "says"), [
    (question(CLIMB, kind=Kind.FIT, options=(CLIMB, "fall+plain-five")),
     "The keys play bars 11 and 12 without a bass. Tick every figure that agrees with them."),
    (form_call("quick-change", "twelve-bar", "quick-change"), "Which form is it?"),
    (chorus("4:walk-up-one-four"),
     "In which of the 12 bars does the bass leave its pattern? Mark them all, or none."),
    (chorus("4:walk-up-one-four", form="sixteen-bar"),
     "In which of the 16 bars does the bass leave its pattern? Mark them all, or none."),
    (replace(question(CLIMB, kind=Kind.NAME), variants=True),
     "Which figure is it in bars 11 and 12? It may come as a variant."),
])  # fmt: skip
def test_the_other_kinds_are_asked_as_plainly(asked: Question, says: str) -> None:
    assert says == question_sentence(asked, CATALOGUE)


def test_no_heard_question_gives_its_answer_or_its_key_away() -> None:
    heard = [kind for kind in ROUND_KINDS if KINDS[kind].heard]
    for kind in heard:
        for row in every_row(kind):
            asked = made(row.id, kind, "Gb")
            sentence = question_sentence(asked, CATALOGUE)
            assert row.name not in sentence
            assert ("Gb" in sentence) == (kind is Kind.PLAY)  # it is played in the key that is told


@pytest.mark.parametrize(("why", "days", "says"), [
    ("new", 0, "new"), ("due", 1, "due: asked 1 day ago"), ("due", 5, "due: asked 5 days ago"),
    ("ahead", 0, "nothing is due: ahead of time"),
    ("contrast", 0, "the neighbour you mistook it for"),
])  # fmt: skip
def test_why_a_question_is_asked(why: str, days: int, says: str) -> None:
    assert says == why_words(Next(question(CLIMB), why, days))


@pytest.mark.parametrize(("asked", "says"), [
    (question(CLIMB), ["Write it down", "2 of 12", "new", "whole band", "shuffle, 100 bpm"]),
    (replace(question(CLIMB), playings=1, texture="bass"),
     ["Write it down", "2 of 12", "1 playing", "new", "bass alone", "shuffle, 100 bpm"]),
    (replace(question(CLIMB, kind=Kind.FIT), playings=3),
     ["Fit the band", "2 of 12", "3 playings", "new", "band, no bass", "shuffle, 100 bpm"]),
    (question(CLIMB, kind=Kind.SPELL), ["Spell it", "2 of 12", "new"]),
    (made("climb", Kind.FIND), ["On the neck", "2 of 12", "new", "a guess hits 1 in 20"]),
])  # fmt: skip
def test_the_heading_says_who_plays_and_how_fast_where_something_is_heard(
    asked: Question, says: list[str]
) -> None:
    assert says == heading_words(Next(asked, "new"), 2, 12)


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


@pytest.mark.parametrize(("pick", "says"), [
    ("climb+dip", "climb + dip"),
    ("climb+dip+varied", "climb + dip, a variant"),
    ("quick-change", "quick change"),
])  # fmt: skip
def test_a_pick_is_offered_by_its_name(pick: str, says: str) -> None:
    asked = question("climb+dip", kind=Kind.NAME, options=("climb+dip",))
    assert says == pick_words(asked, pick, CATALOGUE)


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


@pytest.mark.parametrize(("bars", "says"), [
    ((), "no bar at all"), ((4,), "bar 4"), ((4, 8), "bars 4 and 8"),
    ((4, 11, 12), "bars 4, 11 and 12"), (("4", "8"), "bars 4 and 8"),
])  # fmt: skip
def test_bars_are_listed_in_words(bars: tuple[int | str, ...], says: str) -> None:
    assert says == bars_words(bars)


PLACED = chorus("4:walk-up-one-four", "11:climb+plain-five")


@pytest.mark.parametrize(("marked", "says"), [
    ("4 11 12", "Right: bars 4, 11 and 12."),
    ("4 11", "Partly right: found bars 4 and 11; missed bar 12."),
    ("4 11 12 2", "Partly right: found bars 4, 11 and 12; a false alarm in bar 2."),
    ("2 4", "Wrong: found bar 4; missed bars 11 and 12; a false alarm in bar 2."),
    ("none", "Wrong: missed bars 4, 11 and 12."),
])  # fmt: skip
def test_the_verdict_on_marked_bars(marked: str, says: str) -> None:
    assert says == verdict_sentence(PLACED, answered(PLACED, marked), CATALOGUE)


def test_the_verdict_on_a_chorus_with_nothing_in_it() -> None:
    nothing = chorus(item="stay-on-one")
    assert "Right: no bar at all." == verdict_sentence(
        nothing, answered(nothing, "none"), CATALOGUE
    )
    assert "Wrong: a false alarm in bars 3 and 9." == verdict_sentence(
        nothing, answered(nothing, "3 9"), CATALOGUE
    )
    assert "It was no bar at all." == verdict_sentence(nothing, grade_nothing(), CATALOGUE)


FITTING = question(
    CLIMB, kind=Kind.FIT, options=(CLIMB, "fall+plain-five", "one-four-one-five", "raised-one")
)
"""Over a bar of one and a bar of five the climb and the fall agree, the other two do not."""


@pytest.mark.parametrize(("ticked", "says"), [
    ("1 2", "Right: climb + plain five and fall + plain five."),
    ("1", "Partly right: found climb + plain five; missed fall + plain five."),
    ("1 2 4", "Partly right: found climb + plain five and fall + plain five; "
     "wrongly ticked raised one."),
    ("none", "Partly right: missed climb + plain five and fall + plain five."),
    ("3", "Wrong: missed climb + plain five and fall + plain five; "
     "wrongly ticked one-four, one-five."),
])  # fmt: skip
def test_the_verdict_on_ticked_figures(ticked: str, says: str) -> None:
    assert says == verdict_sentence(FITTING, answered(FITTING, ticked), CATALOGUE)


def test_the_verdict_on_a_form() -> None:
    asked = form_call("quick-change", "twelve-bar", "quick-change")
    assert "Right: quick change." == verdict_sentence(
        asked, answered(asked, "quick-change"), CATALOGUE
    )
    assert "Wrong: it was quick change, you said twelve-bar blues." == verdict_sentence(
        asked, answered(asked, "twelve-bar"), CATALOGUE
    )


VARIED = replace(
    question("climb+plain-five+doubled", kind=Kind.NAME, item="climb"),
    options=(CLIMB, "fall+plain-five"),
    variants=True,
    varies=CLIMB,
)


@pytest.mark.parametrize(("chosen", "says"), [
    (f"{CLIMB}+varied",
     "Right: climb + plain five, a variant (climb + plain five, doubled)."),
    (CLIMB, "Partly right: it was climb + plain five, a variant (climb + plain five, doubled), "
     "you said climb + plain five."),
    ("fall+plain-five", "Wrong: it was climb + plain five, a variant (climb + plain five, "
     "doubled), you said fall + plain five."),
    ("fall+plain-five+varied", "Partly right: it was climb + plain five, a variant "
     "(climb + plain five, doubled), you said fall + plain five, a variant."),
])  # fmt: skip
def test_the_verdict_where_a_variant_may_come(chosen: str, says: str) -> None:
    assert says == verdict_sentence(VARIED, grade_choice(VARIED, chosen, CATALOGUE), CATALOGUE)


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_every_question_has_a_sentence_and_an_answer_to_tell(kind: Kind) -> None:
    for row, place in product(every_row(kind), (0, 7)):
        asked = made(row.id, kind, "Eb", seed=2, wishes=on_rung(kind, place))
        assert question_sentence(asked, CATALOGUE).endswith((".", "?", ")"))
        told = verdict_sentence(asked, grade_nothing(), CATALOGUE)
        assert told.startswith("It was ")
        assert answer_name(asked, CATALOGUE) in told
