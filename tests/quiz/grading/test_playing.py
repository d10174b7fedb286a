"""What was played against what was asked: notes, order and timing, each by itself."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.feels import Feel
from engine.listening.notes import Grid, PlayedNote
from engine.notation import parse_degree, parse_key
from engine.pattern import Spot, parse_pattern
from engine.theory import Midi
from quiz.answers import Verdict
from quiz.grading.lines import Error
from quiz.grading.playing import Asked, PlayedGrade, beat_of, grade_played, played_sentence

F = parse_key("F")
GRID = Grid(1.0, 120, Feel.SHUFFLE)


def asked(line: str) -> list[Asked]:
    pattern = parse_pattern(line)
    return [
        Asked(spot, degree) for spot, degree in zip(pattern.strikes, pattern.degrees, strict=True)
    ]


CLIMB = asked("1 3 4 #4")
DIP = asked("5 (b6 5) 5 5")


def played(line: list[Asked], late: dict[int, float] | None = None) -> list[PlayedNote]:
    """The line as asked, some notes late by seconds (early when negative), anywhere on the neck."""
    return [
        PlayedNote(
            GRID.seconds(beat_of(note.spot, GRID)) + (late or {}).get(place, 0.0),
            0.4,
            Midi(29 + note.degree.semitones % 12 + 12 * (place % 2)),
        )
        for place, note in enumerate(line)
    ]


def graded(notes: list[PlayedNote], line: list[Asked] = CLIMB) -> PlayedGrade:
    return grade_played(line, notes, F, GRID)


@pytest.mark.parametrize("line", [CLIMB, DIP])
def test_what_was_asked_is_right_in_any_octave(line: list[Asked]) -> None:
    grade = graded(played(line), line)
    assert (Verdict.RIGHT, 1.0) == (grade.verdict, grade.score)
    assert "Right notes; in time." == played_sentence(grade)


def test_a_beat_that_came_early_is_told_and_its_notes_stay_right() -> None:
    grade = graded(played(CLIMB, {2: -0.08}))
    assert (1.0, 1.0, 0.75) == (grade.notes, grade.order, grade.timing)
    assert Verdict.RIGHT is grade.verdict
    assert "Right notes; beat 3 came 80 ms early." == played_sentence(grade)


def test_time_that_is_lost_costs_the_right_verdict_but_not_the_notes() -> None:
    grade = graded(played(CLIMB, {0: 0.1, 1: -0.15, 2: 0.2, 3: -0.12}))
    assert (0, Verdict.PARTLY) == (grade.errors, grade.verdict)
    assert 0.7 == pytest.approx(grade.score)


def test_what_is_late_as_a_whole_is_told_once() -> None:
    grade = graded(played(CLIMB, dict.fromkeys(range(4), 0.12)))
    assert 1.0 == grade.timing
    assert "Right notes; all of it came 120 ms late." == played_sentence(grade)


def test_a_wrong_note_is_named_with_what_was_wanted() -> None:
    notes = played(CLIMB)
    notes[1] = PlayedNote(notes[1].onset, 0.4, Midi(32))
    grade = graded(notes)
    assert (1, 0.75) == (grade.errors, grade.score)
    assert "Beat 2 wants 3; in time." == played_sentence(grade)


def test_right_notes_in_another_order_are_told_as_that() -> None:
    notes = played(CLIMB)
    swapped = [
        notes[0],
        PlayedNote(notes[1].onset, 0.4, notes[2].midi),
        PlayedNote(notes[2].onset, 0.4, notes[1].midi),
        notes[3],
    ]
    grade = graded(swapped)
    assert 1.0 == grade.notes
    assert grade.order < 1
    assert "but in another order" in played_sentence(grade)


def test_a_missing_and_an_extra_note_cost_one_each() -> None:
    notes = played(CLIMB)
    assert [Error.MISSING] == [pair.error for pair in graded(notes[:3]).pairs if pair.error]
    more = [*notes, PlayedNote(notes[-1].onset + 0.25, 0.1, Midi(30))]
    assert [Error.EXTRA] == [pair.error for pair in graded(more).pairs if pair.error]


def test_of_repeated_notes_the_one_that_is_missing_is_found_by_its_beat() -> None:
    line = asked("5 5 5 5")
    notes = played(line)
    pairs = graded([notes[0], notes[1], notes[3]], line).pairs
    assert [2] == [
        pair.asked.spot.beat for pair in pairs if pair.error is Error.MISSING and pair.asked
    ]


def test_the_downbeat_arrived_at_may_be_played_or_left_out() -> None:
    arrival = Asked(Spot(4), parse_degree("5"))
    for notes in (played(CLIMB), played([*CLIMB, arrival])):
        grade = grade_played(CLIMB, notes, F, GRID, arrival)
        assert (Verdict.RIGHT, 0) == (grade.verdict, grade.errors)


def test_where_the_octave_is_asked_for_it_counts() -> None:
    high = [Asked(note.spot, note.degree, Midi(41 + note.degree.semitones)) for note in CLIMB]
    right = [
        PlayedNote(one.onset, 0.4, note.midi or Midi(0))
        for one, note in zip(played(CLIMB), high, strict=True)
    ]
    assert Verdict.RIGHT is grade_played(high, right, F, GRID).verdict
    lower = [PlayedNote(one.onset, 0.4, Midi(one.midi - 12)) for one in right]
    assert 4 == grade_played(high, lower, F, GRID).errors


def test_nothing_played_is_wrong() -> None:
    grade = graded([])
    assert (Verdict.WRONG, 0.0, None) == (grade.verdict, grade.score, grade.timing)
    assert "Nothing was played." == played_sentence(grade)


def test_without_a_grid_nothing_is_said_of_time() -> None:
    grade = grade_played(CLIMB, played(CLIMB, {1: 0.4}), F)
    assert (Verdict.RIGHT, None) == (grade.verdict, grade.timing)
    assert "Right notes." == played_sentence(grade)


@given(
    st.lists(st.integers(28, 60), max_size=8),
    st.lists(st.floats(0, 6), min_size=8, max_size=8),
)
def test_grades_stay_in_their_ranges_whatever_is_played(
    keys: list[int], moments: list[float]
) -> None:
    moments.sort()
    notes = [PlayedNote(moments[place], 0.1, Midi(key)) for place, key in enumerate(keys)]
    grade = graded(notes)
    assert 0 <= grade.score <= 1
    assert 0 <= grade.notes <= 1
    assert 0 <= grade.order <= 1
    assert len(notes) == sum(pair.played is not None for pair in grade.pairs)
    assert len(CLIMB) == sum(pair.asked is not None for pair in grade.pairs)
    assert (grade.verdict is Verdict.RIGHT) <= (grade.errors == 0)
