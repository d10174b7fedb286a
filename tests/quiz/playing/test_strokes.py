"""From keys to notes: one note at a time, chatter and ghosts left out."""

import pytest

from engine.theory import Midi
from quiz.playing.strokes import CHATTER_SECONDS, GHOST_VELOCITY, Stroke, notes_of


def down(at: float, midi: int, velocity: int = 90) -> Stroke:
    return Stroke(at, Midi(midi), velocity)


def up(at: float, midi: int) -> Stroke:
    return Stroke(at, Midi(midi), 0)


def heard(*strokes: Stroke, end: float = 10.0) -> list[tuple[int, float, float]]:
    notes = notes_of(strokes, 1.0, end)
    return [(note.midi, round(note.onset, 3), round(note.length, 3)) for note in notes]


def test_a_note_lasts_until_its_key_comes_up() -> None:
    assert [(33, 0.0, 0.4), (37, 0.5, 0.4)] == heard(
        down(1.0, 33), up(1.4, 33), down(1.5, 37), up(1.9, 37)
    )


def test_a_note_that_rings_on_ends_where_the_next_begins() -> None:
    assert [(33, 0.0, 0.5), (37, 0.5, 0.5)] == heard(
        down(1.0, 33), down(1.5, 37), up(1.6, 33), up(2.0, 37)
    )


def test_a_key_that_is_still_down_lasts_until_now() -> None:
    assert [(33, 0.0, 2.0)] == heard(down(1.0, 33), end=3.0)


def test_a_fret_that_chatters_gives_one_note() -> None:
    buzz = [down(1.0 + step * CHATTER_SECONDS * 0.8, 33) for step in range(6)]
    assert [(33, 0.0, 1.0)] == heard(*buzz, up(2.0, 33))


@pytest.mark.parametrize("tempo", [60, 120, 180])
def test_repeated_eighths_stay_apart(tempo: float) -> None:
    eighth = 30 / tempo
    strokes = [
        stroke
        for place in range(8)
        for stroke in (down(1 + place * eighth, 33), up(1 + place * eighth + 0.5 * eighth, 33))
    ]
    assert [round(place * eighth, 3) for place in range(8)] == [row[1] for row in heard(*strokes)]


def test_a_soft_brush_of_a_string_is_no_note() -> None:
    ghost = down(1.2, 40, GHOST_VELOCITY - 1)
    assert [(33, 0.0, 1.0)] == heard(down(1.0, 33), ghost, up(1.3, 40), up(2.0, 33))


def test_a_fret_that_was_passed_by_is_no_note() -> None:
    assert [(33, 0.0, 0.5), (36, 0.52, 0.48)] == heard(
        down(1.0, 33), down(1.5, 35), up(1.52, 35), down(1.52, 36), up(2.0, 36)
    )
