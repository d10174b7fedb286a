"""How fast questions are made and graded, without sound: `python -m tests.bench.bench_questions`.

Makes and grades 10,000 questions over every item, kind and key, and, in turn with them, runs a
fixed piece of plain Python. What counts over machines is the ratio of the two within one run; what
counts for the player is the seconds.
"""

import sys
from itertools import cycle, islice, product
from time import perf_counter

from engine.catalogue import builtin_catalogue
from engine.notation import NoteNames, format_note
from engine.theory import PLAYED_KEYS, spell
from quiz.answers import Verdict
from quiz.generator import Asked, Wishes, make_question
from quiz.grading import Grade, expected_notes, grade_choice, grade_line
from quiz.kinds import KINDS, Kind
from quiz.material import can_ask, learning_order
from quiz.questions import Question, Wanted

QUESTIONS = 10_000
PARTS = 10
"""The questions and the reference take turns this often, so that a busy moment meets both."""

MOST_SECONDS = 10.0
REFERENCE_STEPS = 400_000
"""Steps of the reference in one turn: about a tenth of a second."""


def main() -> int:
    """Measure, print, and give 0 if the target is met, 1 if not."""
    asked = list(islice(_asked(), QUESTIONS))
    share = QUESTIONS // PARTS
    ours = reference = 0.0
    right = 0
    for part in range(PARTS):
        start = perf_counter()
        for seed in range(part * share, (part + 1) * share):
            right += _asked_and_graded(asked[seed], seed).verdict is Verdict.RIGHT
        between = perf_counter()
        _reference()
        ours, reference = ours + between - start, reference + perf_counter() - between
    sys.stdout.write(
        f"{QUESTIONS} questions made and graded, {right} graded right   {ours:.2f} s "
        f"(at most {MOST_SECONDS:.0f})   {ours / QUESTIONS * 1000:.2f} ms each\n"
        f"{PARTS * REFERENCE_STEPS} steps of plain Python   {reference:.2f} s   "
        f"ratio {ours / reference:.2f}\n"
    )
    return 0 if ours <= MOST_SECONDS and right == QUESTIONS else 1


def _asked() -> "cycle[Asked]":
    """Every item, kind and key, over and over; turnarounds with both parts open as well."""
    catalogue = builtin_catalogue()
    rows = [(row, kind) for row in learning_order(catalogue) for kind in Kind if can_ask(row, kind)]
    return cycle(
        [
            Asked(row.id, kind, key, both_vary)
            for both_vary, key, (row, kind) in product((False, True), PLAYED_KEYS, rows)
        ]
    )


def _asked_and_graded(asked: Asked, seed: int) -> Grade:
    """A question made, and its own answer graded."""
    catalogue = builtin_catalogue()
    question = make_question(asked, Wishes(), catalogue, seed)
    if KINDS[question.kind].chosen:
        return grade_choice(question, question.device, catalogue)
    return grade_line(question, _own_answer(question), NoteNames.ENGLISH, catalogue)


def _own_answer(question: Question) -> str:
    degrees = [note.degree for note in expected_notes(question, builtin_catalogue())]
    if question.wanted is Wanted.DEGREES:
        return " ".join(map(str, degrees))
    return " ".join(format_note(spell(degree, question.key.tonic)) for degree in degrees)


def _reference() -> int:
    """A fixed walk through small integers and a dictionary: nothing of the project's."""
    seen: dict[int, int] = {}
    value = 1
    for _ in range(REFERENCE_STEPS):
        value = (value * 1103515245 + 12345) % 2147483648  # ISO C's example of rand()
        seen[value % 1024] = seen.get(value % 1024, 0) + 1
    return max(seen.values())


if __name__ == "__main__":
    sys.exit(main())
