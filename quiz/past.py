"""A past question: opened from the history, graded again, and ready to be heard.

What the history says of an answer stands; grading it again only finds the words and the notes.
Where a question cannot be opened or heard any more it is said why.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from engine.catalogue import Catalogue
from engine.errors import MusicInputError
from engine.notation import NoteNames
from quiz.answers import MICROSECONDS, Answer, Verdict
from quiz.display.feedback import feedback_lines
from quiz.display.wording import bars_words, pick_words, question_sentence, verdict_sentence
from quiz.errors import AnswerError
from quiz.grading.lines import Grade, grade_nothing
from quiz.grading.replies import grade_reply
from quiz.grading.takes import played_degree, read_played
from quiz.questions.excerpts import question_plan
from quiz.questions.kinds import KINDS, By, Kind
from quiz.questions.value import Question, from_parameters


@dataclass(frozen=True, slots=True)
class Past:
    """An answer of the history and what can be made of it."""

    answer: Answer
    question: Question | None
    """None when it cannot be opened or played any more."""

    grade: Grade | None
    """None when the answer cannot be read any more."""

    problem: str
    """What cannot be done and why; empty when all can."""


def open_past(answer: Answer, catalogue: Catalogue, names: NoteNames) -> Past:
    """Make a past question ready; never raises: what is wrong is in `problem`."""
    try:
        question = from_parameters(answer.question)
    except AnswerError as error:
        return Past(answer, None, None, f"{error}. What was answered is kept all the same.")
    try:
        question_plan(question, catalogue)
        for option in question.picks:
            pick_words(question, option, catalogue)
    except MusicInputError as error:
        return Past(
            answer,
            None,
            None,
            f"This question cannot be heard again: {error}. It comes back when the figure is in "
            "a catalogue file again.",
        )
    grade = _graded(question, answer, catalogue, names)
    problem = "" if grade else "What was answered cannot be read any more; it is shown as it was."
    return Past(answer, question, grade, problem)


def past_sentences(past: Past, catalogue: Catalogue, names: NoteNames) -> Iterator[str]:
    """The question, what was answered and what came of it, each in a line."""
    question, grade, answer = past.question, past.grade, past.answer
    if question is not None:
        yield question_sentence(question, catalogue, names)
    yield f"You answered: {given_words(answer, question, catalogue)}"
    if question is not None and grade is not None:
        if grade.verdict.value != answer.verdict:
            yield f"Graded today it would be: {grade.verdict.value}."
        yield verdict_sentence(question, grade, catalogue)
        yield from feedback_lines(question, grade, catalogue, names)


def given_words(answer: Answer, question: Question | None, catalogue: Catalogue) -> str:
    """What was answered, as a player reads it."""
    if not answer.given:
        return "nothing" if answer.verdict == Verdict.GIVEN_UP.value else "no word is kept"
    by = KINDS[Kind(answer.kind)].answered if _is_kind(answer.kind) else By.LINE
    marks = answer.given.split()
    if by is By.BARS and all(mark.isdecimal() for mark in marks):
        return bars_words(marks)
    if by is By.TICKS:
        return ", ".join(map(catalogue.name, marks))
    if by is By.PLAYING and question is not None:
        return _played_words(answer.given, question)
    if by is By.CHOICE:
        return pick_words(question, answer.given, catalogue) if question else answer.given
    return answer.given


def _played_words(given: str, question: Question) -> str:
    """The degrees that were played; what cannot be read any more stands as it was kept."""
    try:
        notes = read_played(given, question)
    except MusicInputError:
        return given
    return " ".join(str(played_degree(note, question)) for note in notes) or "no note"


def when_words(answer: Answer) -> str:
    """`28 Nov 2026 20:14`, by the player's own clock then."""
    at = datetime.fromtimestamp(answer.at // MICROSECONDS, UTC)
    return (at + timedelta(seconds=answer.utc_offset)).strftime("%d %b %Y %H:%M")


def verdict_of(answer: Answer) -> Verdict | None:
    """The verdict that is kept; None for a word that this version does not know."""
    return next((verdict for verdict in Verdict if verdict.value == answer.verdict), None)


def _is_kind(kind: str) -> bool:
    return kind in {known.value for known in Kind}


def _graded(
    question: Question, answer: Answer, catalogue: Catalogue, names: NoteNames
) -> Grade | None:
    """The answer graded again, note names in any language: the setting may be another by now."""
    if answer.verdict == Verdict.GIVEN_UP.value:
        return grade_nothing()
    for language in (names, *(other for other in NoteNames if other is not names)):
        try:
            return grade_reply(question, answer.given, language, catalogue)
        except (MusicInputError, AnswerError):
            continue
    return None
