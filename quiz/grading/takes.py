"""Grading of answers that were played against a count-in, and how such an answer is written down.

What is given, and kept in the history, is a text: for each note its MIDI number, `@`, and the beat
on which it was struck, counted in the question's tempo from the first beat of the figure, which is
0; up to three decimals, negative before it. `none` is a take without notes.

    33@0 37@1.02 38@1.985 39@3     four quarters from A1, the second 0.02 beats late

Notes, order and time are graded by `quiz.grading.playing`, the octave being free.
"""

import re
from collections.abc import Sequence
from itertools import pairwise

from engine.catalogue import Catalogue
from engine.errors import MusicInputError, shown
from engine.feels import find_feel
from engine.figure import figure
from engine.listening.notes import Grid, PlayedNote
from engine.notation import NoteNames
from engine.theory import Degree, Midi, usual_degree
from quiz.grading.lines import Grade, Pair, asked_part, expected_notes, optional_arrival
from quiz.grading.marking import NONE
from quiz.grading.playing import (
    PlayedPair,
    asked_of,
    beat_of,
    grade_played,
    played_sentence,
)
from quiz.questions.value import Question

MOST_NOTES = 120
"""Notes of a take that are kept: as many as find place where the history keeps an answer."""

LONGEST_BEATS = 999
"""A beat before or behind this belongs to no figure."""

_NOTE = re.compile(r"([0-9]{1,3})@(-?[0-9]{1,3}(?:\.[0-9]{1,3})?)", re.ASCII)


def question_grid(question: Question) -> Grid:
    """The beats of the figure, beat 0 at second 0."""
    return Grid(0.0, question.tempo, find_feel(question.feel))


def write_played(notes: Sequence[PlayedNote], grid: Grid) -> str:
    """The text of what was played against a grid."""
    words = []
    for note in notes:
        beat = grid.beats(note.onset)
        if abs(beat) <= LONGEST_BEATS:
            words.append(f"{note.midi}@{round(beat, 3) + 0.0:g}")
    return " ".join(words[:MOST_NOTES]) or NONE


def read_played(text: str, question: Question) -> tuple[PlayedNote, ...]:
    """The notes that a text says, onsets in seconds from the first beat of the figure; each lasts
    until the next.

    Raises MusicInputError for another text.
    """
    words = text.split()
    if words == [NONE]:
        return ()
    if not words or len(words) > MOST_NOTES:
        raise MusicInputError(
            f"{len(words)} notes were given: give 1 to {MOST_NOTES} as MIDI number, @ and beat, "
            f"such as 33@0 37@1, or {NONE}"
        )
    grid = question_grid(question)
    struck = sorted(((grid.seconds(beat), midi) for beat, midi in map(_note, words)))
    lengths = [after[0] - one[0] for one, after in pairwise(struck)] + [grid.beat_seconds]
    return tuple(
        PlayedNote(onset, length, midi)
        for (onset, midi), length in zip(struck, lengths, strict=True)
    )


def _note(word: str) -> tuple[float, Midi]:
    match = _NOTE.fullmatch(word)
    if match is None or int(match[1]) > 127:
        raise MusicInputError(
            f"{shown(word)} is no played note: give a MIDI number from 0 to 127, @ and a beat, "
            "such as 33@0 or 37@1.02"
        )
    return float(match[2]), Midi(int(match[1]))


def grade_playing(question: Question, text: str, _names: NoteNames, catalogue: Catalogue) -> Grade:
    """Grade what was played.

    Raises MusicInputError when the text cannot be read.
    """
    arrival = optional_arrival(question, catalogue)
    graded = grade_played(
        asked_of(expected_notes(question, catalogue)),
        read_played(text, question),
        question.key,
        question_grid(question),
        asked_of([arrival])[0] if arrival is not None else None,
    )
    own = asked_part(question, catalogue).pattern.degrees
    pairs = tuple(_pair(pair, question, own) for pair in graded.pairs)
    return Grade(graded.verdict, graded.score, pairs, said=played_sentence(graded))


def _pair(pair: PlayedPair, question: Question, own: Sequence[Degree]) -> Pair:
    asked, played = pair.asked, pair.played
    written = None
    if played is not None:
        written = asked.degree if asked and not pair.error else played_degree(played, question, own)
    return Pair(asked.spot if asked else None, asked.degree if asked else None, written, pair.error)


def played_degree(note: PlayedNote, question: Question, own: Sequence[Degree] = ()) -> Degree:
    """What a note is called over the key: as `own` degrees have it, else as usual."""
    above = note.above(question.key)
    return next((one for one in own if one.pitch_class == above), usual_degree(above))


def right_playing(question: Question, catalogue: Catalogue) -> str:
    """A right answer: the notes of the figure on their beats, the downbeat arrived at left out."""
    part = asked_part(question, catalogue)
    grid = question_grid(question)
    notes = figure(part, question.key).notes
    if part.pattern.arrival is not None:
        notes = notes[:-1]
    onsets = [grid.seconds(beat_of(note.spot, grid)) for note in notes]
    played = [
        PlayedNote(onset, grid.beat_seconds, note.midi)
        for onset, note in zip(onsets, notes, strict=True)
    ]
    return write_played(played, grid)
