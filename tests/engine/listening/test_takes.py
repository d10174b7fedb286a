"""Whole takes, played by the project's own bass and spoiled in the ways that stages spoil them."""

import numpy as np
import pytest

from engine.errors import TakeError
from engine.listening.notes import Grid, Take
from engine.listening.takes import hear_take
from tests.engine.listening.takes import (
    LEAD_IN,
    RATE,
    Count,
    Struck,
    Wave,
    chattering,
    count,
    humming,
    knocked,
    mixed,
    noisy,
    quarters,
    seconds_of,
    take,
)

TEMPO = 110
LINE = quarters([33, 37, 38, 39, 40, 40, 41, 40, 33, 28, 31, 45, 52, 52, 28])
"""A walk with repeated notes and leaps."""


def heard(wave: Wave, grid: Grid | None = None) -> Take:
    return hear_take(wave, RATE, grid)


def counted(result: Take) -> Count:
    return count(LINE, TEMPO, [(note.onset, note.midi) for note in result.notes])


ALL = Count(len(LINE), len(LINE), 0)


def moments() -> list[float]:
    return [seconds_of(note, TEMPO) for note in LINE]


def test_every_note_of_a_line_is_heard_once_where_it_was_struck() -> None:
    assert ALL == counted(heard(take(LINE, TEMPO)))


@pytest.mark.parametrize("cents", [-30, 30])
def test_a_detuned_instrument_is_measured_and_compensated(cents: int) -> None:
    result = heard(take(LINE, TEMPO, cents=cents))
    assert [note.midi for note in LINE] == [note.midi for note in result.notes]
    assert abs(result.tuning - cents) < 5
    assert max(abs(note.cents) for note in result.notes) < 10


@pytest.mark.parametrize("hertz", [50, 60])
def test_mains_hum_is_no_note_and_hides_none(hertz: int) -> None:
    assert ALL == counted(heard(humming(take(LINE, TEMPO), 20, hertz)))


def test_knocks_on_a_ringing_string_are_no_notes() -> None:
    between = [moment + 0.3 for moment in moments()[::2]]
    assert ALL == counted(heard(knocked(take(LINE, TEMPO), between, np.random.default_rng(1))))


def test_a_chattering_fret_is_one_note_from_its_first_stroke() -> None:
    spoiled = chattering(take(LINE, TEMPO), moments()[::2], np.random.default_rng(1))
    assert ALL == counted(heard(spoiled))


def test_short_soft_notes_between_the_beats_are_ghosts() -> None:
    ghosts = [Struck(note.beat + 0.5, note.midi + 2, 0.12, 60) for note in LINE[::2]]
    assert ALL == counted(heard(mixed(take(LINE, TEMPO), take(ghosts, TEMPO), 6)))


def test_open_strings_that_ring_along_are_not_heard() -> None:
    ringing = take([Struck(0, 28, len(LINE)), Struck(0, 38, len(LINE))], TEMPO)
    assert ALL == counted(heard(mixed(take(LINE, TEMPO), ringing, 22)))


def test_noise_twenty_decibels_down_hides_nothing() -> None:
    assert ALL == counted(heard(noisy(take(LINE, TEMPO), 20, np.random.default_rng(1))))


def test_a_grid_helps_with_repeated_notes_and_changes_nothing_else() -> None:
    grid = Grid(LEAD_IN * 60 / TEMPO, TEMPO)
    assert ALL == counted(heard(take(LINE, TEMPO), grid))


def test_a_take_that_begins_and_ends_in_mid_note_loses_neither() -> None:
    wave = take(LINE, TEMPO)
    first, last = seconds_of(LINE[0], TEMPO), seconds_of(LINE[-1], TEMPO)
    cut = wave[int(first * RATE) : int((last + 0.3) * RATE)]
    assert [note.midi for note in LINE] == [note.midi for note in heard(cut).notes]


def test_the_length_of_a_note_is_told() -> None:
    short, long = heard(take([Struck(0, 33, 0.5), Struck(2, 40, 2)], 60)).notes
    assert 0.35 < short.length < 0.7
    assert 1.5 < long.length < 2.2


@pytest.mark.parametrize(
    ("wave", "says"),
    [
        (np.zeros(0), "too short"),
        (np.zeros(RATE // 10), "too short"),
        (np.zeros(RATE), "silent"),
        (np.zeros(RATE * 301), "too long"),
    ],
)
def test_a_take_with_nothing_to_hear_is_refused(wave: Wave, says: str) -> None:
    with pytest.raises(TakeError, match=says):
        heard(wave)


def test_noise_alone_has_no_notes() -> None:
    assert () == heard(np.random.default_rng(3).normal(0, 0.1, RATE * 3)).notes


def test_hum_alone_has_no_notes() -> None:
    assert not heard(humming(np.zeros(RATE * 3) + 0.02, 20, 50)).notes
