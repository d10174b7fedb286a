"""Questions on the neck: made, graded, worded and explained."""

from dataclasses import replace

import pytest

from engine.errors import MusicInputError
from engine.frets import parse_positions
from engine.neck import Neck, OpenStrings, find_tuning, positions, sounding
from engine.notation import NoteNames
from engine.tunings import own_tuning
from quiz.answers import Verdict
from quiz.display.cautions import HANDS
from quiz.display.feedback import feedback_lines
from quiz.display.wording import neck_words, question_sentence, verdict_sentence
from quiz.grading.lines import Error, Grade
from quiz.grading.neck import right_places
from quiz.grading.replies import grade_reply
from quiz.grading.tried import tried_device
from quiz.neck.notes import neck_notes
from quiz.neck.paths import compared
from quiz.questions.excerpts import Excerpt, question_line
from quiz.questions.kinds import Kind
from quiz.questions.rungs import LADDERS
from quiz.questions.value import Question, from_parameters, parameters
from quiz.questions.wishes import Wishes
from tests.quiz.asking import CATALOGUE, answered, every_item, made, on_rung

WALK_UP = made("walk-up-one-four", Kind.FIND)
CLIMB = made("climb", Kind.FIND)
IN_PLACE = replace(CLIMB, octave_counts=True)


def lines(asked: Question, text: str) -> tuple[str, ...]:
    return feedback_lines(asked, answered(asked, text), CATALOGUE)


# --- grading ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "E5 A2 A3 A4 A5",  # where players find it [common practice, no source]
        "E5 A2 A3 A4",  # the downbeat arrived at left out
        "A0 A2 A3 A4 D0",
        "E5 E7 E8 E9 E10",
        "4/5 3/2 3/3 3/4 3/5",
        "D7 G4 G5 G6 G7",  # an octave up
        "E5 G4 A3 A4 D12",  # every note in an octave of its own
        "E5 A2 A3 A4 A5 A5",  # struck twice, given twice
    ],
)
def test_every_playable_place_of_the_right_notes_is_right(text: str) -> None:
    grade = answered(WALK_UP, text)
    assert (Verdict.RIGHT, 1.0) == (grade.verdict, grade.score)
    assert parse_positions(text, Neck()) == grade.places


@pytest.mark.parametrize(
    ("text", "score", "errors"),
    [
        ("E5 A4 A5", 0.75, [Error.MISSING]),
        ("E5 A4 A5 A7", 0.75, [Error.WRONG]),
        ("E5 E7 A4 A5 A6", 0.75, [Error.EXTRA]),
        ("E6 E6", 0.0, [Error.MISSING, Error.MISSING, Error.WRONG, Error.WRONG]),
    ],
)
def test_a_line_is_aligned_note_by_note(text: str, score: float, errors: list[Error]) -> None:
    grade = answered(CLIMB, text)  # A C# D D#: E5 A4 A5 A6
    assert score == grade.score
    assert errors == sorted(
        (pair.error for pair in grade.pairs if pair.error), key=lambda error: error.value
    )


def test_the_octave_is_free_unless_the_question_asks() -> None:
    assert Verdict.RIGHT is answered(CLIMB, "D7 G6 G7 G8").verdict
    assert Verdict.WRONG is answered(IN_PLACE, "D7 G6 G7 G8").verdict
    for there in ("E5 A4 A5 A6", "A0 E9 D0 D1", "4/5 4/9 4/10 4/11"):
        assert Verdict.RIGHT is answered(IN_PLACE, there).verdict


@pytest.mark.parametrize("text", ["E21 A4 A5 A6", "X5", "5/3", "", "A C# D"])
def test_what_the_neck_does_not_have_is_refused(text: str) -> None:
    with pytest.raises(MusicInputError):
        answered(CLIMB, text)


def test_strings_may_be_called_in_the_players_language() -> None:
    grade = grade_reply(CLIMB, "Mi5 La4 La5 La6", NoteNames.SOLFEGE, CATALOGUE)
    assert Verdict.RIGHT is grade.verdict


@pytest.mark.parametrize("tuning", ["four-string", "drop-d", "five-string", "six-string"])
def test_the_right_answer_of_every_item_grades_right_on_every_rung(tuning: str) -> None:
    neck = Neck(find_tuning(tuning), 24, OpenStrings.PREFER)
    for place, row in enumerate(every_item(Kind.FIND)):
        wishes = replace(on_rung(Kind.FIND, place % 4), neck=neck)
        asked = made(row.id, Kind.FIND, "Eb", seed=place, wishes=wishes)
        assert neck == asked.neck
        grade = answered(asked, right_places(asked, CATALOGUE))
        assert (Verdict.RIGHT, 1.0) == (grade.verdict, grade.score)
        assert asked == from_parameters(parameters(asked))


# --- the question -------------------------------------------------------------------------------


def test_the_ladder_tells_less_and_less() -> None:
    says = [
        question_sentence(
            made("climb", Kind.FIND, "Ab", wishes=on_rung(Kind.FIND, place)), CATALOGUE
        )
        for place in range(len(LADDERS[Kind.FIND]))
    ]
    where = "In Ab, where on the neck is 'climb'"
    give = "Give string and fret of each note."
    assert [
        f"{where} (Ab C Db D)? {give}",
        f"{where} (1 3 4 #4)? {give}",
        f"{where}? {give}",
        f"{where}? {give} The octave counts: it starts on Ab2.",
    ] == says


def test_the_words_below_say_the_strings_and_how_it_could_be_guessed() -> None:
    assert 1 / 20 == CLIMB.guess_rate
    assert (
        "strings E, A, D, G; frets 0 (open) to 20; such as E5 A2; a guess hits 1 note in 20"
        == neck_words(CLIMB)
    )


def test_what_the_settings_say_of_the_neck_is_asked() -> None:
    high = Neck(own_tuning("high", ["E2", "A2", "D3", "G3"]), 22)
    asked = made("climb", Kind.FIND, wishes=Wishes(neck=high))
    assert (high, 1 / 22) == (asked.neck, asked.guess_rate)
    assert [45, 49, 50, 51] == [note.midi for note in neck_notes(asked, CATALOGUE)]
    assert "E5 A4 A5 A6" == right_places(asked, CATALOGUE)


def test_the_figure_sounds_where_it_is_found_on_the_neck() -> None:
    for seed, item in enumerate(["climb", "dip", "walk-up-one-four", "run-up"] * 3):
        asked = made(item, Kind.FIND, "F", seed=seed)
        notes = neck_notes(asked, CATALOGUE)
        part = [note for note in question_line(asked, CATALOGUE) if note.device == asked.device]
        heights = [note.event.midi for note in part]
        wanted = [note.midi for note in notes]
        assert wanted == (heights[-len(wanted) :] if item == "dip" else heights[: len(wanted)])
        _, score = Excerpt(asked).passage(CATALOGUE)
        assert score.tracks[0].notes == tuple(
            note.event for note in question_line(asked, CATALOGUE)
        )


# --- what is said -------------------------------------------------------------------------------


def test_the_players_own_path_and_a_better_one_are_told_with_what_it_saves() -> None:
    told = lines(WALK_UP, "E5 E7 E8 E9 E10")
    mine, less = told[0], told[1]
    # worked by hand: frets 5 to 10 on one string are six, two more than the hand spans; a stretch
    # would spare one of the two shifts but costs more
    assert "you played E5 E7 E8 E9 E10 (the hand moves 2 frets)" == mine
    assert (
        "less to do: E5 A2 A3 A4 A5 (the hand stays); that saves 2 frets of hand movement" == less
    )
    both = compared(WALK_UP, answered(WALK_UP, "E5 E7 E8 E9 E10"), CATALOGUE)
    assert 2 == both.saved
    assert "E5 A2 A3 A4 A5" == " ".join(f"{'EADG'[at.string]}{at.fret}" for at in both.shown)


def test_the_best_path_is_told_to_be_the_best() -> None:
    told = lines(WALK_UP, "E5 A2 A3 A4 A5")
    assert "you played E5 A2 A3 A4 A5 (the hand stays): no path asks less of the hand" == told[0]
    assert all(line.startswith("another way: ") for line in told[1:] if line != HANDS)
    assert 2 == sum(line.startswith("another way: ") for line in told)


def test_a_path_can_be_easier_without_saving_movement() -> None:
    told = lines(WALK_UP, "A0 A2 A3 A4 A5")
    assert "that saves 1 open string" in told[1]


def test_another_octave_is_remarked_on_where_it_is_free() -> None:
    remark = "in another octave than the figure usually stands, which is free here"
    assert remark == lines(CLIMB, "D7 G6 G7 G8")[0]
    assert remark not in lines(CLIMB, "E5 A4 A5 A6")


def test_wrong_notes_are_told_with_place_and_note() -> None:
    told = lines(CLIMB, "E5 A3 A5 A6")
    assert "bar 11, beat 2: you played A3, a b3 (C), where the figure has 3 (C#)" == told[0]
    assert "it lies at E5 A4 A5 A6 (the hand stays)" == told[1]
    assert "bar 11, beat 2: 3 (C#) is missing" == lines(CLIMB, "E5 A5 A6")[0]
    assert "E7, a 2 (B), is one note too many" == lines(CLIMB, "E5 E7 A4 A5 A6")[0]
    octave = lines(IN_PLACE, "D7 A4 A5 A6")[0]
    assert "bar 11, beat 1: D7, a 1 (A), is in another octave than the figure" == octave


def test_where_a_stretch_is_shown_the_hands_are_cautioned() -> None:
    stretched = lines(CLIMB, "E5 E9 A5 A6")
    assert "you played E5 E9 A5 A6 (the hand stays, 1 stretch)" == stretched[0]
    assert HANDS == stretched[-1]
    calm = lines(made("half-below-into-four", Kind.FIND), "A4")
    assert not any("stretch" in line for line in calm)
    assert HANDS not in calm


def test_the_verdict_names_the_figure() -> None:
    assert "Right: climb." == verdict_sentence(CLIMB, answered(CLIMB, "E5 A4 A5 A6"), CATALOGUE)
    wrong = verdict_sentence(CLIMB, answered(CLIMB, "E6 A3"), CATALOGUE)
    assert "Wrong: climb." == wrong
    given_up = Grade(Verdict.GIVEN_UP, 0.0)
    assert "it lies at E5 A4 A5 A6 (the hand stays)" in feedback_lines(CLIMB, given_up, CATALOGUE)


def test_what_was_played_wrong_can_be_heard() -> None:
    mine = tried_device(CLIMB, answered(CLIMB, "E5 A3 A5 A6"), CATALOGUE)
    assert mine is not None
    assert ["1", "b3", "4", "#4"] == [str(degree) for degree in mine.pattern.degrees[:4]]
    assert tried_device(CLIMB, answered(CLIMB, "E5 A4 A5 A6"), CATALOGUE) is None


def test_of_all_places_of_a_note_each_is_right() -> None:
    first = neck_notes(CLIMB, CATALOGUE)[0]
    rest = "A4 A5 A6"
    for octave in (0, 12):
        for place in positions(first.midi + octave):
            name = f"{'EADG'[place.string]}{place.fret}"
            assert Verdict.RIGHT is answered(CLIMB, f"{name} {rest}").verdict
            assert sounding(place) == first.midi + octave
