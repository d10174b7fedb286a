"""Grading of answers on the neck.

A note is right where it is played if it has the pitch class of the note that is asked for, or its
pitch, where the question says that the octave counts. Every place of such a pitch is as right as
any other. The answer is aligned with the figure like a typed line (see `quiz.grading.lines`), with
the same score and the same verdicts; notes played twice in a row may be given once, and the
downbeat arrived at may be given or left out.
"""

from collections.abc import Sequence
from itertools import groupby

from engine.catalogue import Catalogue
from engine.figure import FigureNote
from engine.fretboard import Position, sounding
from engine.frets import format_positions, parse_positions
from engine.neck import Neck, fingerings, path_cost
from engine.notation import NoteNames
from engine.theory import OCTAVE, Degree, usual_degree
from quiz.grading.lines import Error, Grade, Pair, count_errors, grade_of, match
from quiz.neck.notes import neck_notes
from quiz.questions.value import Question


def grade_places(question: Question, text: str, names: NoteNames, catalogue: Catalogue) -> Grade:
    """Grade a line of places.

    Raises MusicInputError when the text cannot be read, or names a place that the neck does not
    have.
    """
    given = parse_positions(text, question.own_neck, names)
    tried: list[list[Pair]] = []
    for reading in _readings(question, catalogue):
        tried.append(_aligned(question, reading, given))
        tried.append(_aligned(question, _once(reading), _struck_once(given, question.own_neck)))
    graded = grade_of(min(tried, key=count_errors))
    return Grade(graded.verdict, graded.score, graded.pairs, places=given)


def right_places(question: Question, catalogue: Catalogue) -> str:
    """A right answer: the path that asks least of the hand, without the downbeat arrived at."""
    neck, notes = question.own_neck, _readings(question, catalogue)[0]
    pitches = [note.midi for note in notes]
    (best,) = fingerings(pitches, neck.tuning, neck.frets, path_cost(neck), best=1)
    return format_positions(best.positions, neck.tuning)


def _readings(question: Question, catalogue: Catalogue) -> list[Sequence[FigureNote]]:
    """The notes that are asked for, without the downbeat arrived at and with it."""
    notes = neck_notes(question, catalogue)
    arrives = catalogue.find(question.item).pattern.arrival is not None
    return [notes[:-1], notes] if arrives else [notes]


def _once(notes: Sequence[FigureNote]) -> list[FigureNote]:
    return [next(same) for _, same in groupby(notes, key=lambda note: note.midi)]


def _struck_once(given: Sequence[Position], neck: Neck) -> list[Position]:
    return [next(same) for _, same in groupby(given, key=lambda at: sounding(at, neck.tuning))]


def _aligned(
    question: Question, notes: Sequence[FigureNote], given: Sequence[Position]
) -> list[Pair]:
    pitches = [sounding(place, question.own_neck.tuning) for place in given]

    def equal(row: int, column: int) -> bool:
        apart = pitches[column] - notes[row].midi
        return apart == 0 if question.octave_counts else apart % OCTAVE == 0

    pairs: list[Pair] = []
    for row, column, differs in match(len(notes), len(given), equal):
        note = None if row is None else notes[row]
        place = None if column is None else given[column]
        pairs.append(
            Pair(
                note.spot if note else None,
                note.degree if note else None,
                None if column is None else _degree(pitches[column], question, note),
                _error(note, place, differs),
                place=place,
            )
        )
    return pairs


def _error(note: FigureNote | None, place: Position | None, differs: bool) -> Error | None:
    if note is None:
        return Error.EXTRA
    if place is None:
        return Error.MISSING
    return Error.WRONG if differs else None


def _degree(pitch: int, question: Question, note: FigureNote | None) -> Degree:
    """What a pitch is called: as the figure calls it where it is the note, else as usual."""
    if note is not None and (pitch - note.midi) % OCTAVE == 0:
        return note.degree
    return usual_degree(pitch - question.key.tonic.pitch_class)
