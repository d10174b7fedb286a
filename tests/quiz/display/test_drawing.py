"""Figures as rows of labels."""

from engine.figure import figure
from engine.neck import Neck, OpenStrings
from engine.notation import NoteNames
from engine.pattern import Spot
from engine.tunings import own_tuning
from quiz.display.drawing import ROWS, drawn, missed_spots, neck_labels
from quiz.grading.lines import grade_nothing
from tests.quiz.asking import device, graded, key, question


def test_each_note_has_its_degree_its_name_and_its_place_on_the_neck() -> None:
    # in A, bar 4: A B C C# to D; on the neck E-string fret 5, A-string frets 2 3 4, then 5
    # [common practice, no source]
    notes = drawn(device("walk-up-one-four"), key("A"))
    assert ("degree", "note", "neck") == ROWS
    assert [
        ("1", "A", "E5"),
        ("2", "B", "A2"),
        ("b3", "C", "A3"),
        ("3", "C#", "A4"),
        ("4", "D", "A5"),
    ] == [note.labels for note in notes]
    assert [33, 35, 36, 37, 38] == [note.height for note in notes]
    assert [Spot(0), Spot(1), Spot(2), Spot(3), Spot(4)] == [note.spot for note in notes]


def test_names_are_those_of_the_players_language() -> None:
    notes = drawn(device("walk-up-five-one"), key("Eb"), NoteNames.GERMAN)
    assert ["B", "C", "Des", "D", "Es"] == [note.labels[1] for note in notes]


def test_missed_notes_are_marked() -> None:
    notes = drawn(device("climb"), key("F"), missed=(Spot(1), Spot(3)))
    assert [False, True, False, True] == [note.missed for note in notes]


def test_a_figure_that_is_off_the_neck_has_an_empty_neck_row() -> None:
    notes = drawn(device("fall"), key("Ab"), neck=Neck(frets=0))
    assert {""} == {note.labels[2] for note in notes}
    assert ["8", "b7", "6", "b6"] == [note.labels[0] for note in notes]
    assert ("",) * 4 == neck_labels(figure(device("fall"), key("Ab")), Neck(frets=0))


def test_open_strings_stand_where_the_player_likes_them() -> None:
    liked = Neck(open_strings=OpenStrings.PREFER)
    notes = drawn(device("walk-up-one-four"), key("A"), neck=liked)
    assert ["A0", "A2", "A3", "A4", "D0"] == [note.labels[2] for note in notes]


def test_where_the_usual_height_is_off_the_neck_the_figure_is_moved_by_octaves() -> None:
    high = Neck(own_tuning("high", ["E2", "A2", "D3", "G3"]))
    notes = drawn(device("walk-up-one-four"), key("A"), neck=high)
    assert [45, 47, 48, 49, 50] == [note.height for note in notes]
    assert ["E5", "A2", "A3", "A4", "A5"] == [note.labels[2] for note in notes]


def test_wrong_and_missing_notes_are_missed_and_extra_ones_are_not() -> None:
    asked = question("fall+plain-five", "A")
    assert frozenset({Spot(3)}) == missed_spots(graded(asked, "8 b7 6 6 5 5 5 5"))
    assert frozenset({Spot(2)}) == missed_spots(graded(asked, "8 b7 b6 5 5 5 5"))
    assert frozenset() == missed_spots(graded(asked, "8 7 b7 6 b6 5 5 5 5"))
    assert frozenset() == missed_spots(graded(asked, "8 b7 6 b6 5"))


def test_giving_up_marks_nothing() -> None:
    assert frozenset() == missed_spots(grade_nothing())
