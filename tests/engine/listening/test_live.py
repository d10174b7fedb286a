"""Notes told while they are played."""

import numpy as np
import pytest

from engine.listening.live import Event, Listener, NoteBegan, NoteEnded
from engine.listening.notes import Grid
from engine.listening.takes import hear_take
from tests.engine.listening.takes import (
    LEAD_IN,
    RATE,
    Wave,
    count,
    noisy,
    quarters,
    seconds_of,
    take,
)

TEMPO = 110
LINE = quarters([28, 33, 37, 38, 38, 40, 28, 28, 45, 52])
BLOCK = 256

LATEST = 0.12
"""Seconds from a stroke to its event, in audio time, the block included."""


@pytest.fixture(scope="module")
def wave() -> Wave:
    return noisy(take(LINE, TEMPO), 30, np.random.default_rng(1))


def fed(wave: Wave, block: int = BLOCK) -> tuple[Listener, list[tuple[float, Event]]]:
    """Everything that was told, each with how much had been fed by then."""
    listener = Listener(RATE)
    told: list[tuple[float, Event]] = []
    for first in range(0, len(wave), block):
        for event in listener.feed(wave[first : first + block]):
            told.append((listener.seconds, event))
    return listener, told


def began(told: list[tuple[float, Event]]) -> list[tuple[float, NoteBegan]]:
    return [(at, event) for at, event in told if isinstance(event, NoteBegan)]


def test_every_note_is_told_once_and_soon_enough(wave: Wave) -> None:
    notes = began(fed(wave)[1])
    result = count(LINE, TEMPO, [(note.onset, note.midi) for _, note in notes])
    assert (len(LINE), len(LINE), 0) == result
    late = [at - seconds_of(struck, TEMPO) for (at, _), struck in zip(notes, LINE, strict=True)]
    assert max(late) < LATEST


def test_the_blocks_do_not_change_what_is_heard(wave: Wave) -> None:
    by_one, by_another = (began(fed(wave, block)[1]) for block in (64, 1_000))
    assert [note.midi for _, note in by_one] == [note.midi for _, note in by_another]
    assert np.allclose([note.onset for _, note in by_one], [note.onset for _, note in by_another])


def test_every_note_that_began_has_ended_in_the_end(wave: Wave) -> None:
    listener, told = fed(np.concatenate([wave, np.zeros(RATE)]))
    ended = [event for _, event in told if isinstance(event, NoteEnded)]
    assert len(began(told)) == len(ended)
    assert listener.sounding is None


def test_silence_is_counted_from_the_last_sound(wave: Wave) -> None:
    listener, _ = fed(wave)
    for _ in range(20):
        listener.feed(np.zeros(RATE // 2))
    assert 10 <= listener.silent_for < 13


def test_what_was_fed_can_be_judged_as_a_whole(wave: Wave) -> None:
    listener, _ = fed(wave)
    grid = Grid(LEAD_IN * 60 / TEMPO, TEMPO)
    whole = hear_take(wave, RATE, grid)
    again = listener.take(grid=grid)
    assert [note.midi for note in whole.notes] == [note.midi for note in again.notes]
    since = seconds_of(LINE[5], TEMPO) - 0.05
    later = listener.take(since, grid)
    assert [note.midi for note in LINE[5:]] == [note.midi for note in later.notes]
    assert abs(later.notes[0].onset - seconds_of(LINE[5], TEMPO)) < 0.03
