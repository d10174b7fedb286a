"""Ticks, seconds and frames."""

import math

import pytest

from engine.errors import MusicInputError
from engine.timing import (
    BLOCK,
    FASTEST,
    FRAME_RATE,
    SLOWEST,
    TICKS_PER_BAR,
    TICKS_PER_BEAT,
    Tick,
    checked_tempo,
    frame_at,
    seconds_at,
)


@pytest.mark.parametrize("parts", [2, 3, 4, 5, 6, 8, 64])
def test_a_beat_divides_into_whole_ticks(parts: int) -> None:
    assert 0 == TICKS_PER_BEAT % parts


@pytest.mark.parametrize("bpm", [SLOWEST, 60, 119.5, FASTEST])
def test_a_tempo_within_the_limits_is_given_back_as_a_float(bpm: float) -> None:
    tempo = checked_tempo(bpm)
    assert bpm == tempo
    assert isinstance(tempo, float)


@pytest.mark.parametrize(
    "bpm", [0, -5, 1e9, math.nan, math.inf, -math.inf, SLOWEST - 0.1, FASTEST + 0.1]
)
def test_a_tempo_outside_the_limits_is_refused_with_the_limits(bpm: float) -> None:
    with pytest.raises(MusicInputError, match=r"^tempo \S+: give beats a minute from 30 to 320$"):
        checked_tempo(bpm)


@pytest.mark.parametrize(
    ("beats", "bpm", "seconds"), [(1, 60, 1.0), (4, 120, 2.0), (1, 90, 2 / 3), (0, 77, 0.0)]
)
def test_seconds_are_beats_times_sixty_over_the_tempo(
    beats: int, bpm: float, seconds: float
) -> None:
    assert seconds == pytest.approx(seconds_at(Tick(beats * TICKS_PER_BEAT), bpm))


def test_a_frame_is_a_whole_block_and_at_most_half_a_block_off() -> None:
    for tick in range(0, 40 * TICKS_PER_BAR, 977):
        frame = frame_at(Tick(tick), 133.7)
        exact = seconds_at(Tick(tick), 133.7) * FRAME_RATE
        assert 0 == frame % BLOCK
        assert abs(frame - exact) <= BLOCK / 2


def test_rounding_does_not_add_up_over_an_hour() -> None:
    beats = 7200  # an hour at 120 beats a minute
    assert 3600 * FRAME_RATE == pytest.approx(
        frame_at(Tick(beats * TICKS_PER_BEAT), 120.0), abs=BLOCK / 2
    )
