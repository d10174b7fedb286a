"""Past questions: opened years later, graded again, and told plainly when they cannot be heard."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from engine.catalogue import builtin_catalogue
from engine.notation import NoteNames
from quiz.answers import Answer, Verdict
from quiz.grading.lines import Grade
from quiz.grading.replies import grade_reply, right_reply
from quiz.past import Past, given_words, open_past, past_sentences, verdict_of, when_words
from quiz.questions.kinds import ROUND_KINDS, Kind
from quiz.questions.value import Question, parameters
from tests.quiz.asking import every_row, made, question
from tests.quiz.histories import an_answer

CATALOGUE = builtin_catalogue()


def asked_as(kind: Kind) -> Question:
    """A question of a kind, about the first row that it can be asked of."""
    return made(next(every_row(kind)).id, kind)


def answered(asked: Question, given: str, verdict: str = "right") -> Answer:
    return an_answer(
        device=asked.item,
        kind=asked.kind.value,
        given=given,
        verdict=verdict,
        question=parameters(asked),
        seconds=4.5,
    )


def opened(answer: Answer, names: NoteNames = NoteNames.ENGLISH) -> Past:
    return open_past(answer, CATALOGUE, names)


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_a_right_answer_of_every_kind_opens_and_is_right_again(kind: Kind) -> None:
    asked = asked_as(kind)
    past = opened(answered(asked, right_reply(asked, CATALOGUE)))
    assert "" == past.problem
    assert asked == past.question
    assert past.grade is not None
    assert Verdict.RIGHT is past.grade.verdict
    said = list(past_sentences(past, CATALOGUE, NoteNames.ENGLISH))
    assert any(line.startswith("You answered: ") for line in said)
    assert any(line.startswith("Right: ") for line in said)


def test_a_call_of_a_jam_opens_like_any_question() -> None:
    asked = question("climb+dip", kind=Kind.JAM, options=("climb+dip", "fall+dip"))
    past = opened(answered(asked, "fall+dip", "wrong"))
    assert "" == past.problem
    said = "\n".join(past_sentences(past, CATALOGUE, NoteNames.ENGLISH))
    assert f"You answered: {CATALOGUE.name('fall+dip')}" in said


def test_what_was_given_up_is_told_with_the_answer() -> None:
    past = opened(answered(asked_as(Kind.NAME), "", "given up"))
    said = "\n".join(past_sentences(past, CATALOGUE, NoteNames.ENGLISH))
    assert "You answered: nothing" in said
    assert "It was " in said


def test_note_names_of_another_language_are_still_read() -> None:
    asked = asked_as(Kind.WRITE)
    german = "H"  # what English calls B
    past = opened(answered(asked, german, "wrong"), NoteNames.ENGLISH)
    assert past.grade is not None
    assert "" == past.problem


@pytest.mark.parametrize(
    ("broken", "told"),
    [
        (lambda asked: replace(asked, device="gone+dip"), "'gone'"),
        (lambda asked: replace(asked, base="a-base-that-is-gone"), "a-base-that-is-gone"),
        (lambda asked: replace(asked, form="a-form-that-is-gone"), "a-form-that-is-gone"),
    ],
)
def test_a_question_whose_rows_left_the_catalogue_says_so(
    broken: Callable[[Question], Question], told: str
) -> None:
    past = opened(answered(broken(asked_as(Kind.NAME)), "climb+dip"))
    assert past.question is None
    assert "cannot be heard again" in past.problem
    assert told in past.problem
    assert ["You answered: climb+dip"] == list(past_sentences(past, CATALOGUE, NoteNames.ENGLISH))


@pytest.mark.parametrize("text", ["", "{}", "no json", '{"device": "climb+dip"}', "[1]"])
def test_a_question_that_another_version_wrote_is_no_fault(text: str) -> None:
    past = opened(an_answer(question=text))
    assert past.question is None
    assert "another version" in past.problem


def test_an_answer_that_cannot_be_read_any_more_is_shown_as_it_was() -> None:
    past = opened(answered(asked_as(Kind.NAME), "no-such-option", "wrong"))
    assert past.question is not None
    assert past.grade is None
    assert "shown as it was" in past.problem


def test_a_verdict_that_would_be_another_today_is_said() -> None:
    asked = asked_as(Kind.NAME)
    past = opened(answered(asked, right_reply(asked, CATALOGUE), "wrong"))
    assert "Graded today it would be: right." in list(
        past_sentences(past, CATALOGUE, NoteNames.ENGLISH)
    )


def test_what_was_given_reads_as_a_player_gave_it() -> None:
    asked = asked_as(Kind.NAME)
    assert CATALOGUE.name("climb+dip") == given_words(
        answered(asked, "climb+dip"), asked, CATALOGUE
    )
    bars = an_answer(kind="place", given="4 8")
    assert "bars 4 and 8" == given_words(bars, None, CATALOGUE)
    ticks = an_answer(kind="fit", given="climb fall")
    assert "climb, fall" == given_words(ticks, None, CATALOGUE)
    assert "1 3 4" == given_words(an_answer(kind="from the future", given="1 3 4"), None, CATALOGUE)


def test_the_moment_is_that_of_the_players_own_clock() -> None:
    assert "04 Oct 2024 21:00" == when_words(an_answer(utc_offset=3600))


def test_a_verdict_of_a_later_version_has_no_sign() -> None:
    assert Verdict.RIGHT is verdict_of(an_answer())
    assert verdict_of(an_answer(verdict="sung")) is None


def test_grading_again_is_what_grading_was() -> None:
    asked = asked_as(Kind.PLACE)
    kept: Grade = grade_reply(asked, "3", NoteNames.ENGLISH, CATALOGUE)
    past = opened(answered(asked, "3", kept.verdict.value))
    assert kept == past.grade
