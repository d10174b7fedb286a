"""Making a question: (what is to be asked, under which conditions, a seed) to a Question.

Every choice comes from the seed, so the same three give the same question.
"""

from collections.abc import Callable, Mapping

from engine.catalogue import Catalogue
from engine.errors import MusicInputError
from quiz.errors import QuestionError
from quiz.learning.material import can_ask, find_row
from quiz.questions.choruses import form_question, place_question
from quiz.questions.figures import figure_question
from quiz.questions.fit import fit_question
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.neck import find_question
from quiz.questions.value import Question
from quiz.questions.wishes import Asked, Wishes

Maker = Callable[[Asked, Wishes, Catalogue, int], Question]

MAKERS: Mapping[Kind, Maker] = {
    Kind.NAME: figure_question,
    Kind.WRITE: figure_question,
    Kind.SPELL: figure_question,
    Kind.PLACE: place_question,
    Kind.FIND: find_question,
    Kind.FIT: fit_question,
    Kind.FORM: form_question,
    Kind.PLAY: figure_question,
}
"""Who makes the questions of each kind that a round asks."""


def make_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """A question about `asked.item`.

    Raises QuestionError when the item cannot be asked that way, has no place, or cannot be told
    from what else would be offered; MusicInputError when the catalogue has no such row.
    """
    row = find_row(asked.item, catalogue)
    if not can_ask(row, asked.kind):
        raise QuestionError(f"'{row.name}' is not asked as '{KINDS[asked.kind].label}'")
    try:
        return MAKERS[asked.kind](asked, wishes, catalogue, seed)
    except MusicInputError as error:
        raise QuestionError(f"'{row.name}' cannot be asked here: {error}") from error
