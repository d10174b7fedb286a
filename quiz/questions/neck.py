"""Questions on the neck: `find`."""

from dataclasses import replace

from engine.catalogue import Catalogue
from quiz.questions.excerpts import question_line
from quiz.questions.figures import figure_question
from quiz.questions.value import Question, Wanted
from quiz.questions.wishes import Asked, Wishes


def find_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """A question about where a figure lies on the player's neck.

    Raises QuestionError when the item has no place, MusicInputError when the neck is too short for
    it.
    """
    question = replace(
        figure_question(asked, wishes, catalogue, seed),
        wanted=Wanted.EITHER,
        spelling_counts=False,
        neck=wishes.neck,
        told=wishes.told,
        octave_counts=wishes.octave_counts,
        rung=wishes.rung,
    )
    question_line(question, catalogue)  # raises where the neck is too short
    return question
