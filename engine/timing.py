"""Musical time: integer ticks inside the engine, turned into frames once and absolutely.

A beat is 960 ticks and a bar four beats, in every feel: in slow 12/8 the beat is the dotted
quarter. A frame is one stereo sample pair.
"""

from typing import NewType

from engine.errors import MusicInputError

Tick = NewType("Tick", int)
"""A moment or a length in ticks, counted from the start of a score."""

Frame = NewType("Frame", int)
"""A moment or a length in audio frames at FRAME_RATE."""

TICKS_PER_BEAT = 960
"""Divisible by 2, 3, 4, 5, 6, 8 and 64: eighths, triplets and fine swing are whole ticks."""

BEATS_PER_BAR = 4
TICKS_PER_BAR = TICKS_PER_BEAT * BEATS_PER_BAR

FRAME_RATE = 44_100
"""Frames a second."""

BLOCK = 64
"""The synthesizer acts on an event at the next block of this many frames."""

SLOWEST, FASTEST = 30.0, 320.0
"""Beats a minute the engine will play."""


def checked_tempo(bpm: float) -> float:
    """Give `bpm` back as a float if it can be played.

    Raises MusicInputError for anything outside SLOWEST..FASTEST, including nan.
    """
    if not SLOWEST <= bpm <= FASTEST:  # nan fails every comparison
        raise MusicInputError(f"tempo {bpm:g}: give beats a minute from {SLOWEST:g} to {FASTEST:g}")
    return float(bpm)


def seconds_at(tick: Tick, bpm: float) -> float:
    """Seconds from the start of the score to `tick` at `bpm` beats a minute."""
    return tick * 60.0 / (bpm * TICKS_PER_BEAT)


def frame_at(tick: Tick, bpm: float) -> Frame:
    """The frame of `tick`, rounded once to the nearest whole synthesizer block."""
    return Frame(round(seconds_at(tick, bpm) * FRAME_RATE / BLOCK) * BLOCK)
