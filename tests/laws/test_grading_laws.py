"""Laws of grading, among them an alignment that is counted again by other means."""

from collections.abc import Callable, Sequence
from functools import cache

from hypothesis import assume, given
from hypothesis import strategies as st

from engine.errors import MusicInputError
from engine.notation import NoteNames, format_note, parse_line
from engine.theory import TONICS, Degree, Note, degree_of, spell
from quiz.answers import Verdict
from quiz.errors import AnswerError
from quiz.grading.lines import (
    PARTLY,
    Error,
    Grade,
    align,
    expected_notes,
    optional_arrival,
)
from quiz.questions.kinds import Kind
from quiz.questions.value import Question
from tests.quiz.asking import CATALOGUE, every_item, graded, made

degrees = st.builds(Degree, st.integers(1, 8), st.integers(-1, 1))
lines = st.lists(degrees, min_size=1, max_size=12)
questions = st.builds(
    made,
    st.sampled_from([row.id for row in every_item(Kind.WRITE)]),
    st.sampled_from((Kind.WRITE,)),
    st.sampled_from([str(tonic) for tonic in TONICS]),
    st.integers(0, 10_000),
)


def edits(
    expected: Sequence[Degree],
    written: Sequence[Degree],
    equal: Callable[[Degree, Degree], bool],
) -> int:
    """The least number of notes to change, add or leave out, by its plain recursive definition.

    V. I. Levenshtein, Soviet Physics Doklady 10(8), 1966, 707-710; the recurrence is that of
    R. A. Wagner and M. J. Fischer, Journal of the ACM 21(1), 1974, 168-173.
    """

    @cache
    def least(left: int, right: int) -> int:
        if not left or not right:
            return left + right
        change = not equal(expected[left - 1], written[right - 1])
        return min(
            least(left - 1, right - 1) + change,
            least(left - 1, right) + 1,
            least(left, right - 1) + 1,
        )

    return least(len(expected), len(written))


def sounds_alike(one: Degree, other: Degree) -> bool:
    return one.semitones % 12 == other.semitones % 12


def once(line: Sequence[Degree]) -> list[Degree]:
    """The line with repeats written once."""
    return [
        degree
        for place, degree in enumerate(line)
        if not place or not sounds_alike(degree, line[place - 1])
    ]


def least_errors(question: Question, written: Sequence[Degree]) -> int:
    """The errors of the best of the readings that the rules allow."""
    expected = [note.degree for note in expected_notes(question, CATALOGUE)]
    arrival = optional_arrival(question, CATALOGUE)
    readings = [expected] + ([[*expected, arrival.degree]] if arrival else [])
    return min(
        edits(one, other, sounds_alike)
        for reading in readings
        for one, other in ((reading, written), (once(reading), once(written)))
    )


def errors(grade: Grade) -> int:
    return sum(pair.error is not None for pair in grade.pairs)


def text_of(line: Sequence[Degree]) -> str:
    return " ".join(map(str, line))


@given(questions, lines)
def test_errors_are_counted_as_the_edit_distance_of_the_best_reading(
    question: Question, line: list[Degree]
) -> None:
    assert least_errors(question, line) == errors(graded(question, text_of(line)))


@given(questions, st.data())
def test_near_answers_are_counted_as_the_edit_distance_too(
    question: Question, data: st.DataObject
) -> None:
    line = [note.degree for note in expected_notes(question, CATALOGUE)]
    for _ in range(data.draw(st.integers(0, 4))):
        place = data.draw(st.integers(0, max(len(line) - 1, 0)))
        way = data.draw(st.sampled_from(("drop", "add", "change")))
        line[place : place + (way != "add")] = [] if way == "drop" else [data.draw(degrees)]
    assume(line)
    assert least_errors(question, line) == errors(graded(question, text_of(line)))


@given(questions, lines)
def test_the_alignment_holds_every_written_note_once_and_in_order(
    question: Question, line: list[Degree]
) -> None:
    expected = expected_notes(question, CATALOGUE)
    tonic = question.key.tonic
    answer = [(degree, spell(degree, tonic)) for degree in line]
    pairs = align(expected, answer, lambda note, other: sounds_alike(note.degree, other[0]))
    assert line == [pair.written for pair in pairs if pair.written is not None]
    assert [note.degree for note in expected] == [
        pair.expected for pair in pairs if pair.expected is not None
    ]
    for pair in pairs:
        assert (pair.error is Error.MISSING) == (pair.written is None)
        assert (pair.error is Error.EXTRA) == (pair.expected is None) == (pair.spot is None)


@given(questions, lines)
def test_score_and_verdict_follow_from_the_errors(question: Question, line: list[Degree]) -> None:
    grade = graded(question, text_of(line))
    expected = sum(pair.expected is not None for pair in grade.pairs)
    assert max(0.0, 1 - errors(grade) / expected) == grade.score
    assert (errors(grade) == 0) == (grade.verdict is Verdict.RIGHT)
    assert (errors(grade) > 0 and grade.score >= PARTLY) == (grade.verdict is Verdict.PARTLY)


@given(questions, lines)
def test_degrees_and_the_notes_they_mean_are_graded_alike(
    question: Question, line: list[Degree]
) -> None:
    notes = [spell(degree, question.key.tonic) for degree in line]
    assume(all(abs(note.alter) <= 2 for note in notes))
    names = " ".join(format_note(note) for note in notes)
    assume(not parse_line(names, NoteNames.ENGLISH).degrees)
    assert graded(question, text_of(line)).score == graded(question, names).score


@given(questions)
def test_leaving_one_note_out_never_costs_more_than_one(question: Question) -> None:
    line = [note.degree for note in expected_notes(question, CATALOGUE)]
    for place in range(len(line)):
        shorter = line[:place] + line[place + 1 :]
        if shorter:
            assert errors(graded(question, text_of(shorter))) <= 1


@given(questions, degrees, st.integers(0, 12))
def test_one_note_more_never_costs_more_than_one(
    question: Question, degree: Degree, place: int
) -> None:
    line = [note.degree for note in expected_notes(question, CATALOGUE)]
    line.insert(place, degree)
    assert errors(graded(question, text_of(line))) <= 1


@given(questions)
def test_the_answer_is_right_in_all_three_languages_of_note_names(question: Question) -> None:
    notes = [spell(note.degree, question.key.tonic) for note in expected_notes(question, CATALOGUE)]
    for names in NoteNames:
        text = " ".join(format_note(note, names) for note in notes)
        assert Verdict.RIGHT is graded(question, text, names).verdict, text


@given(st.sampled_from(TONICS), degrees)
def test_a_degree_is_spelled_and_read_back_as_the_same_pitch(tonic: Note, degree: Degree) -> None:
    note = spell(degree, tonic)
    assert sounds_alike(degree, degree_of(note, tonic))


def outcome(question: Question, text: str) -> Grade | str:
    """The grade of a text, or the message that refuses it."""
    try:
        return graded(question, text)
    except (MusicInputError, AnswerError) as error:
        return str(error)


@given(questions, st.one_of(st.text(max_size=300), st.text("12345678b#ABCDEFG \x00♭", max_size=60)))
def test_every_text_is_either_graded_or_refused_in_one_printable_line(
    question: Question, text: str
) -> None:
    came = outcome(question, text)
    if isinstance(came, str):
        assert came.isprintable()
    else:
        assert 0.0 <= came.score <= 1.0
