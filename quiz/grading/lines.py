"""Grading, documented like a metric.

Notions of equal
    `same_degree`      two degrees are one pitch class over the tonic: #4 = b5, 1 = 8
    `same_spelling`    two notes have one letter and one accidental: F# is not Gb
    `engine.theory.same_pitch`  two notes are one pitch class: F# = Gb

A typed line is compared note by note with the line that was played. The alignment is the one with
the fewest errors, each of them a note that is wrong, missing or extra (Levenshtein distance, unit
costs), so a dropped note costs one and does not shift the rest. Where alignments cost the same,
late notes are paired before any note is called missing, and missing before extra.

    score = max(0, 1 - errors / notes expected)

Repeats may be written once: when both lines, with equal neighbours collapsed, have fewer errors,
that reading counts (where spelling counts, F# and Gb are no equal neighbours). The downbeat
arrived at may be written or left out.

A choice scores 1 for the right device. In a turnaround the part that the question is about (head
or tail) counts ASKED_SHARE, the other one OTHER_SHARE. Where the player also says whether the
figure came as a variant, the figure counts ASKED_SHARE and that OTHER_SHARE; that alone counts only
where a variant was heard, since most figures are none. Bars and ticks are graded in
`quiz.grading.marking`.

    verdict   right         no error, or the right device
              partly right  score >= PARTLY
              wrong         less, or given up
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import NamedTuple

from engine.catalogue import Catalogue, Device, Family
from engine.fretboard import Position
from engine.notation import NoteNames, Written, parse_line
from engine.pattern import Spot
from engine.theory import Degree, Note, degree_of, same_pitch, spell
from quiz.answers import Verdict
from quiz.errors import AnswerError
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.value import VARIED, Question, Wanted, asked_device

PARTLY = 0.5
"""The lowest score of a partly right line."""

ASKED_SHARE, OTHER_SHARE = 0.7, 0.3
"""Of a turnaround: what the part that the question is about is worth, and the other part."""


class Error(Enum):
    """What can be wrong with one note."""

    WRONG = "wrong"
    MISSING = "missing"
    EXTRA = "extra"


@dataclass(frozen=True, slots=True)
class Pair:
    """One step of the alignment: an expected note, a written one, or both."""

    spot: Spot | None
    """Where the expected note is struck; None for an extra one."""

    expected: Degree | None
    written: Degree | None
    error: Error | None
    """None when the two are equal."""

    respelled: Note | None = None
    """The note as it was written, when it is the right pitch by another name."""

    place: Position | None = None
    """Of answers on the neck: where it was played."""


@dataclass(frozen=True, slots=True)
class Marks:
    """What became of each mark: bars by their numbers, or options by their ids."""

    hits: tuple[str, ...] = ()
    """Marked, and rightly."""

    misses: tuple[str, ...] = ()
    """Not marked, but should have been."""

    false_alarms: tuple[str, ...] = ()
    """Marked, but should not have been."""


@dataclass(frozen=True, slots=True)
class Grade:
    """What came of an answer."""

    verdict: Verdict
    score: float
    """0 to 1."""

    pairs: tuple[Pair, ...] = ()
    """Of typed answers: the alignment, in order."""

    chosen: str | None = None
    """Of choices: what was picked, one of the question's `picks`."""

    places: tuple[Position, ...] = ()
    """Of answers on the neck: where each note was played, in order."""

    marks: Marks | None = None
    """Of answers that mark bars or tick options."""

    said: str = ""
    """Of answers that were played: notes, order and time in a sentence."""

    @property
    def chosen_option(self) -> str:
        """Of choices: the option that was picked, whether as a variant or not."""
        return (self.chosen or "").removesuffix(VARIED)


def same_degree(one: Degree, other: Degree) -> bool:
    """Whether two degrees are one pitch class over the tonic."""
    return one.pitch_class == other.pitch_class


def same_spelling(one: Note, other: Note) -> bool:
    """Whether two notes are written the same."""
    return one == other


def grade_nothing() -> Grade:
    """The grade of a question that was given up."""
    return Grade(Verdict.GIVEN_UP, 0.0)


def grade_choice(question: Question, chosen: str, catalogue: Catalogue) -> Grade:
    """Grade what was picked of the question's `picks`.

    Raises AnswerError when it was not offered.
    """
    if chosen not in question.picks:
        raise AnswerError(f"'{chosen}' was not offered: pick one of {', '.join(question.picks)}")
    if chosen == question.right:
        return Grade(Verdict.RIGHT, 1.0, chosen=chosen)
    if question.variants:
        score = _half(chosen, question.right)
    elif question.kind is Kind.FORM:
        score = 0.0
    else:
        score = _shared(catalogue.find(chosen), question, catalogue)
    return Grade(Verdict.PARTLY if score else Verdict.WRONG, score, chosen=chosen)


def _half(chosen: str, right: str) -> float:
    """What the figure, or that it was a variant, is worth when only one of them is right."""
    if chosen.removesuffix(VARIED) == right.removesuffix(VARIED):
        return ASKED_SHARE
    return OTHER_SHARE if chosen.endswith(VARIED) and right.endswith(VARIED) else 0.0


def _shared(picked: Device, question: Question, catalogue: Catalogue) -> float:
    """What head and tail are worth when one of them is right."""
    played = asked_device(question, catalogue)
    asked_head = catalogue.find(question.item).family is Family.HEAD
    if played.head == picked.head:
        return ASKED_SHARE if asked_head else OTHER_SHARE
    if played.tail is not None and played.tail == picked.tail:
        # Only where the tail was asked for too does a right one say anything.
        tails = {catalogue.find(option).tail for option in question.options}
        if len(tails) > 1:
            return OTHER_SHARE if asked_head else ASKED_SHARE
    return 0.0


def grade_line(question: Question, text: str, names: NoteNames, catalogue: Catalogue) -> Grade:
    """Grade a typed line, degrees or note names as the question wants them.

    Raises MusicInputError when the text cannot be read, AnswerError when it is in the wrong one
    of degrees and notes.
    """
    written = parse_line(text, names)
    _check_wanted(question.wanted, written)
    expected = expected_notes(question, catalogue)
    optional = optional_arrival(question, catalogue)
    tonic = question.key.tonic
    answer = [(degree, spell(degree, tonic)) for degree in written.degrees]
    answer += [(degree_of(note, tonic), note) for note in written.notes]
    same = same_spelling if question.spelling_counts and written.notes else same_pitch
    pairs = _best(expected, optional, answer, tonic, same)
    if written.degrees:  # no note was written, so none by another name
        pairs = [replace(pair, respelled=None) for pair in pairs]
    return grade_of(pairs)


def grade_of(pairs: Sequence[Pair]) -> Grade:
    """The score and the verdict of an alignment."""
    errors = count_errors(pairs)
    score = max(0.0, 1 - errors / sum(pair.expected is not None for pair in pairs))
    verdict = (
        Verdict.RIGHT if not errors else (Verdict.PARTLY if score >= PARTLY else Verdict.WRONG)
    )
    return Grade(verdict, score, tuple(pairs))


def count_errors(pairs: Sequence[Pair]) -> int:
    """Notes that are wrong, missing or extra."""
    return sum(pair.error is not None for pair in pairs)


def _check_wanted(wanted: Wanted, written: Written) -> None:
    if wanted is Wanted.DEGREES and written.notes:
        raise AnswerError("note names were given: this question asks for degrees, such as 1 b3 #4")
    if wanted is Wanted.NOTES and written.degrees:
        raise AnswerError("degrees were given: this question asks for note names, such as A Bb F#")


@dataclass(frozen=True, slots=True)
class Expected:
    """A note that the answer should have."""

    spot: Spot
    """Beats from the start of the figure."""

    degree: Degree


def expected_notes(question: Question, catalogue: Catalogue) -> tuple[Expected, ...]:
    """The notes that are asked for, the downbeat arrived at left out.

    `spell` asks for the row alone; what is heard is asked for whole, head and tail.
    """
    device = asked_part(question, catalogue)
    pattern = device.pattern
    degrees = pattern.degrees[: -1 if pattern.arrival else None]
    return tuple(map(Expected, pattern.strikes, degrees))


def optional_arrival(question: Question, catalogue: Catalogue) -> Expected | None:
    """The downbeat arrived at, which may be written too."""
    pattern = asked_part(question, catalogue).pattern
    if pattern.arrival is None:
        return None
    return Expected(pattern.strikes[-1], pattern.arrival.degree)


def asked_part(question: Question, catalogue: Catalogue) -> Device:
    """What a typed answer spells: the whole device where it is heard, else the row alone."""
    return catalogue.find(question.device if KINDS[question.kind].heard else question.item)


_Answered = tuple[Degree, Note]
_Equal = Callable[[Expected, _Answered], bool]
_Same = Callable[[Note, Note], bool]


def _best(
    expected: Sequence[Expected],
    optional: Expected | None,
    answer: Sequence[_Answered],
    tonic: Note,
    same: _Same,
) -> list[Pair]:
    """The alignment with the fewest errors over the readings that the rules allow."""

    def equal(note: Expected, answered: _Answered) -> bool:
        return same(spell(note.degree, tonic), answered[1])

    readings = [list(expected)] + ([[*expected, optional]] if optional else [])
    tried: list[list[Pair]] = []
    for reading in readings:
        tried.append(align(reading, answer, equal))
        tried.append(align(_collapsed_line(reading), _collapsed_answer(answer, same), equal))
    return min(tried, key=count_errors)


def _collapsed_line(line: Sequence[Expected]) -> list[Expected]:
    return [
        note
        for place, note in enumerate(line)
        if place == 0 or not same_degree(note.degree, line[place - 1].degree)
    ]


def _collapsed_answer(answer: Sequence[_Answered], same: _Same) -> list[_Answered]:
    return [
        note
        for place, note in enumerate(answer)
        if place == 0 or not same(note[1], answer[place - 1][1])
    ]


def align(expected: Sequence[Expected], answer: Sequence[_Answered], equal: _Equal) -> list[Pair]:
    """The cheapest alignment of two lines; see the head of this module."""
    pairs: list[Pair] = []
    steps = match(
        len(expected), len(answer), lambda row, column: equal(expected[row], answer[column])
    )
    for row, column, differs in steps:
        if column is None:
            assert row is not None  # a step has one of the two at least
            note = expected[row]
            pairs.append(Pair(note.spot, note.degree, None, Error.MISSING))
        elif row is None:
            pairs.append(Pair(None, None, answer[column][0], Error.EXTRA))
        else:
            pairs.append(_pair(expected[row], answer[column], differs))
    return pairs


class Match(NamedTuple):
    """One step of an alignment."""

    row: int | None
    """Which of the expected notes; None for an extra one."""

    column: int | None
    """Which of the notes given; None where one is missing."""

    differs: bool


def match(rows: int, columns: int, equal: Callable[[int, int], bool]) -> list[Match]:
    """The cheapest alignment of so many expected notes with so many given ones, `equal` saying
    which of them are; see the head of this module."""
    cost = [
        [row + column if not row or not column else 0 for column in range(columns + 1)]
        for row in range(rows + 1)
    ]
    for row in range(1, rows + 1):
        for column in range(1, columns + 1):
            cost[row][column] = min(
                cost[row - 1][column - 1] + (not equal(row - 1, column - 1)),
                cost[row - 1][column] + 1,
                cost[row][column - 1] + 1,
            )
    return _traced(cost, equal)


def _traced(cost: Sequence[Sequence[int]], equal: Callable[[int, int], bool]) -> list[Match]:
    row, column = len(cost) - 1, len(cost[0]) - 1
    steps: list[Match] = []
    while row or column:
        here = cost[row][column]
        if row and column:
            differs = not equal(row - 1, column - 1)
            if here == cost[row - 1][column - 1] + differs:
                row, column = row - 1, column - 1
                steps.append(Match(row, column, differs))
                continue
        if row and here == cost[row - 1][column] + 1:
            row -= 1
            steps.append(Match(row, None, True))
        else:
            column -= 1
            steps.append(Match(None, column, True))
    return steps[::-1]


def _pair(note: Expected, written: _Answered, differs: bool) -> Pair:
    degree, as_written = written
    other_name = degree.number % 7 != note.degree.number % 7 and same_degree(degree, note.degree)
    return Pair(
        note.spot,
        note.degree,
        degree,
        Error.WRONG if differs else None,
        as_written if other_name else None,
    )
