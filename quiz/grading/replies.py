"""From what a player gives to a grade, whatever the kind: the one way in for screens and line mode.

What is given is a text in every kind, and the history keeps it: the pick of a choice, a line of
degrees or note names, bars such as `4 8`, ids of options, places on the neck such as `E5 A2`, notes
that were played such as `33@0 37@1.02`.
"""

from collections.abc import Callable, Mapping, Sequence

from engine.catalogue import Catalogue
from engine.notation import NoteNames, format_note
from engine.theory import spell
from quiz.grading.lines import Grade, expected_notes, grade_choice, grade_line
from quiz.grading.marking import (
    NONE,
    grade_bars,
    grade_ticks,
    read_bars,
    read_ticks,
    right_bars,
    right_ticks,
)
from quiz.grading.neck import grade_places, right_places
from quiz.grading.takes import grade_playing, right_playing
from quiz.questions.kinds import KINDS, By
from quiz.questions.value import Question, Wanted

_Reader = Callable[[Question, str, NoteNames, Catalogue], Grade]

_READERS: Mapping[By, _Reader] = {
    By.CHOICE: lambda question, text, _, catalogue: grade_choice(question, text, catalogue),
    By.LINE: grade_line,
    By.NECK: grade_places,
    By.PLAYING: grade_playing,
    By.BARS: lambda question, text, _, catalogue: grade_bars(question, read_bars(text), catalogue),
    By.TICKS: lambda question, text, _, catalogue: grade_ticks(
        question, read_ticks(text, question), catalogue
    ),
}


def grade_reply(question: Question, text: str, names: NoteNames, catalogue: Catalogue) -> Grade:
    """Grade an answer as it was given.

    Raises MusicInputError when it cannot be read, AnswerError when it is none that this question
    could have.
    """
    return _READERS[KINDS[question.kind].answered](question, text, names, catalogue)


def right_reply(question: Question, catalogue: Catalogue) -> str:
    """A right answer as a player could give it; of a typed line in note names, unless degrees are
    wanted."""
    by = KINDS[question.kind].answered
    if by is By.CHOICE:
        return question.right
    if by is By.BARS:
        return listed([str(bar) for bar in right_bars(question, catalogue)])
    if by is By.TICKS:
        return listed(right_ticks(question, catalogue))
    if by is By.NECK:
        return right_places(question, catalogue)
    if by is By.PLAYING:
        return right_playing(question, catalogue)
    degrees = [note.degree for note in expected_notes(question, catalogue)]
    if question.wanted is Wanted.DEGREES:
        return " ".join(map(str, degrees))
    return " ".join(format_note(spell(degree, question.key.tonic)) for degree in degrees)


def listed(marks: Sequence[str]) -> str:
    """Marks as the text that is given."""
    return " ".join(marks) or NONE
