"""How fast questions are made and graded, without sound: `python -m tests.bench.bench_questions`.

Makes and grades 10,000 questions over every item, kind, key and rung, and, in turn with them, runs
a fixed piece of plain Python. What counts over machines is the ratio of the two within one run;
what counts for the player is the seconds.

`--kind K` (again and again for several) makes the 10,000 of each kind that is named alone, and
`--count N` so many. `--prove` looks at every question beside: its right answer grades right and
others do not, no two options sound alike in the notes that are played, and the bars to mark are
those in which the notes differ from the plain chorus. That takes longer and is not timed.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import cycle, islice, product
from time import perf_counter

from engine.catalogue import Device, builtin_catalogue, places
from engine.line import LineNote, write_line
from engine.notation import NoteNames
from engine.theory import OCTAVE, PLAYED_KEYS
from engine.timing import TICKS_PER_BAR
from quiz.answers import Verdict
from quiz.errors import QuestionError
from quiz.grading.replies import grade_reply, listed, right_reply
from quiz.learning.material import can_ask, learning_order
from quiz.questions.excerpts import chorus_plan, question_compass, question_line
from quiz.questions.generator import make_question
from quiz.questions.kinds import KINDS, ROUND_KINDS, By, Kind
from quiz.questions.rungs import LADDERS, rung
from quiz.questions.value import Question, from_parameters, parameters
from quiz.questions.wishes import Asked, Wishes

QUESTIONS = 10_000
PARTS = 10
"""The questions and the reference take turns this often, so that a busy moment meets both."""

MOST_SECONDS = 20.0
REFERENCE_STEPS = 400_000
"""Steps of the reference in one turn: about a tenth of a second."""

CATALOGUE = builtin_catalogue()


@dataclass(slots=True)
class Tally:
    """What came of the questions of a run."""

    made: Counter[Kind] = field(default_factory=Counter)
    right: int = 0
    refused: list[str] = field(default_factory=list)
    """What could not be asked, with the reason."""

    unproved: list[str] = field(default_factory=list)
    making: Counter[Kind] = field(default_factory=Counter)
    """Microseconds."""

    grading: Counter[Kind] = field(default_factory=Counter)

    @property
    def seconds(self) -> float:
        """Making and grading, over all."""
        return (self.making.total() + self.grading.total()) / 1e6


def main() -> int:
    """Measure, print, and give 0 if the target is met and all is right, 1 if not."""
    arguments = _arguments()
    kinds = [Kind(name) for name in arguments.kind or ()]
    runs = [[kind] for kind in kinds] or [list(ROUND_KINDS)]
    good = True
    for run in runs:
        good = _run(run, arguments.count, arguments.prove, timed=not kinds) and good
    return 0 if good else 1


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="How fast questions are made and graded.")
    names = [kind.value for kind in ROUND_KINDS]
    parser.add_argument("--kind", action="append", choices=names, help="this kind alone")
    parser.add_argument("--count", type=int, default=QUESTIONS, help="questions of each run")
    parser.add_argument("--prove", action="store_true", help="look at every question beside")
    return parser.parse_args()


def _run(kinds: Sequence[Kind], count: int, prove: bool, timed: bool) -> bool:
    """Make, grade and print so many questions of some kinds, mixed; whether all was well."""
    asked = list(islice(_asked(kinds), count))
    tally = Tally()
    reference = 0.0
    for part in range(PARTS):
        share = range(part * count // PARTS, (part + 1) * count // PARTS)
        questions = [_made_and_graded(*asked[seed], seed, tally) for seed in share]
        start = perf_counter()
        _reference()
        reference += perf_counter() - start
        if prove:
            tally.unproved += _unproved(question for question in questions if question)
    _print(kinds, count, tally, reference, prove)
    all_right = tally.right == count and not tally.refused and not tally.unproved
    return all_right and (not timed or count != QUESTIONS or tally.seconds <= MOST_SECONDS)


def _print(kinds: Sequence[Kind], count: int, tally: Tally, reference: float, prove: bool) -> None:
    write, ours = sys.stdout.write, tally.seconds
    for kind in kinds:
        if number := tally.made[kind]:
            write(
                f"{kind.value:<6} {number:>6} questions   {tally.making[kind] / number / 1000:.2f} "
                f"ms to make, {tally.grading[kind] / number / 1000:.2f} ms to grade\n"
            )
    write(
        f"{count} questions made and graded, {tally.right} graded right   {ours:.2f} s "
        f"(10,000 mixed: at most {MOST_SECONDS:.0f})   {ours / count * 1000:.2f} ms each\n"
        f"{PARTS * REFERENCE_STEPS} steps of plain Python   {reference:.2f} s   "
        f"ratio {ours / reference:.2f}\n"
    )
    for line in tally.refused[:5] + tally.unproved[:5]:
        write(f"  {line}\n")
    if prove:
        write(f"{len(tally.unproved)} of {sum(tally.made.values())} questions failed a proof\n")


def _asked(kinds: Sequence[Kind]) -> "cycle[tuple[Asked, Wishes]]":
    """Every item, kind, key and rung, over and over; turnarounds with both parts open as well."""
    rows = [
        (row, kind) for row in learning_order(CATALOGUE) for kind in kinds if can_ask(row, kind)
    ]
    turns = product((False, True), PLAYED_KEYS, rows)
    return cycle(
        [
            (Asked(row.id, kind, key, both_vary), _on_a_rung(kind, turn))
            for turn, (both_vary, key, (row, kind)) in enumerate(turns)
        ]
    )


def _on_a_rung(kind: Kind, turn: int) -> Wishes:
    if kind not in LADDERS:
        return Wishes()
    place = turn // 7 % len(LADDERS[kind])
    return Wishes().on(rung(kind, place), place)


def _made_and_graded(asked: Asked, wishes: Wishes, seed: int, tally: Tally) -> Question | None:
    """A question made, and its own answer graded; None when it cannot be asked."""
    start = perf_counter()
    try:
        question = make_question(asked, wishes, CATALOGUE, seed)
    except QuestionError as error:
        tally.refused.append(f"{asked.kind.value} {asked.item}: {error}")
        return None
    made = perf_counter()
    reply = right_reply(question, CATALOGUE)
    known = perf_counter()  # finding the right answer is no part of grading one
    grade = grade_reply(question, reply, NoteNames.ENGLISH, CATALOGUE)
    end = perf_counter()
    tally.made[asked.kind] += 1
    tally.right += grade.verdict is Verdict.RIGHT
    tally.making[asked.kind] += round(1e6 * (made - start))
    tally.grading[asked.kind] += round(1e6 * (end - known))
    return question


# --- proofs, by the notes that are played -------------------------------------------------------


def _unproved(questions: Iterable[Question]) -> Iterator[str]:
    """The questions that fail a proof."""
    for question in questions:
        if problem := _problem(question):
            yield f"{problem}: {parameters(question)}"


def _problem(question: Question) -> str:
    """What is wrong with a question; empty when nothing is."""
    if from_parameters(parameters(question)) != question:
        return "it is not opened as it was written"
    if question.kind is Kind.FORM:
        forms = {CATALOGUE.form(option).bars for option in question.options}
        return "" if len(forms) == len(question.options) else "two forms have the same chords"
    if question.kind is Kind.PLACE and _struck_bars(question) != _right_bars(question):
        return "the bars to mark are not those that differ"
    if not _options_differ(question):
        return "two options sound alike"
    return _other_answers(question)


def _options_differ(question: Question) -> bool:
    """Whether no option, and no variant of it where they may come, sounds like another's."""
    heard: set[tuple[tuple[int, int], ...]] = set()
    for option in question.options:
        lines = [question_line(question, CATALOGUE, way) for way in _ways(question, option)]
        sounds = set(map(_changes, lines))
        if sounds & heard:
            return False
        heard |= sounds
    return True


def _ways(question: Question, option: str) -> list[Device]:
    device = CATALOGUE.find(option)
    if not question.variants:
        return [device]
    form = CATALOGUE.form(question.form)
    return [device, *(v for v in CATALOGUE.variants(device) if question.bar in places(v, form))]


def _changes(line: Iterable[LineNote]) -> tuple[tuple[int, int], ...]:
    """(tick, pitch class) of the notes that bring another pitch class than the one before."""
    kept: list[tuple[int, int]] = []
    for note in line:
        pitch_class = note.event.midi % OCTAVE
        if not kept or kept[-1][1] != pitch_class:
            kept.append((note.event.start, pitch_class))
    return tuple(kept)


def _struck_bars(question: Question) -> set[int]:
    """The bars in which the bass strikes other pitch classes, or at other moments."""
    plan = chorus_plan(question, CATALOGUE, plain=True)
    played, plain = (
        {(note.event.start, note.event.midi % OCTAVE) for note in line}
        for line in (
            question_line(question, CATALOGUE),
            write_line(plan, question.seed, question_compass(question)),
        )
    )
    return {start // TICKS_PER_BAR for start, _ in played ^ plain}


def _right_bars(question: Question) -> set[int]:
    reply = right_reply(question, CATALOGUE)
    return set() if reply == "none" else set(map(int, reply.split()))


def _other_answers(question: Question) -> str:
    """Whether answers that are not the right one are graded wrong."""
    by = KINDS[question.kind].answered
    if by is By.CHOICE:
        others = [pick for pick in question.picks if pick != question.right]
    elif by is By.TICKS:
        right = right_reply(question, CATALOGUE).split()
        others = [
            listed([one for one in question.options if (one in right) != (one == changed)])
            for changed in question.options
        ]
    elif by is By.BARS:
        bars = _right_bars(question)
        others = [listed([str(bar) for bar in sorted(bars ^ {changed})]) for changed in (1, 5, 8)]
    else:
        return ""
    for other in others:
        grade = grade_reply(question, other, NoteNames.ENGLISH, CATALOGUE)
        if grade.verdict is Verdict.RIGHT:
            return f"{other} is graded right too"
    return ""


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
