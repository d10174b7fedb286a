"""Samples that go on for as long as a note is held.

A loop is an exact number of frames that holds an exact number of periods, so every partial
comes round to the bit. The pitch is tuned by the choice of the loop; what is left goes into the
sample's pitch correction, in whole cents.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sounds.exact import Wave, exp2, sine

GUARD = 64
"""Frames of the loop's start written again behind its end: an interpolator reads past it."""

PEAK = 32_700
"""The largest sample value: a little headroom for interpolation."""


class Loop(NamedTuple):
    """A whole number of periods in a whole number of frames."""

    frames: int
    periods: int
    correction: int
    """Cents from its pitch to the wanted one, whole."""


def hertz(key: float) -> float:
    """The frequency of a MIDI key: twelve-tone equal temperament on A4 = 440 Hz (ISO 16)."""
    return 440 * exp2((key - 69) / 12)


def find_loop(frequency: float, rate: int, shortest: float, longest: float) -> Loop:
    """The loop between two lengths in seconds whose pitch, once corrected, is best in tune."""
    best: tuple[float, Loop] | None = None
    first = max(1, int(shortest * frequency))
    for periods in range(first, max(first + 1, int(longest * frequency)) + 1):
        frames = round(periods * rate / frequency)
        cents = (frequency * frames / (periods * rate) - 1) * 1731.234  # small, so log is straight
        correction = round(cents)
        error = abs(cents - correction)
        if abs(correction) <= 50 and (best is None or error < best[0] - 0.02):
            best = (error, Loop(frames, periods, correction))
    if best is None:
        raise ValueError(f"no loop of {shortest} to {longest} s is in tune at {frequency} Hz")
    return best[1]


def partial(loop: Loop, number: int, phase: float) -> Wave:
    """One loop of the partial `number` of the loop's pitch; `phase` in turns."""
    steps = np.arange(loop.frames) * (number * loop.periods) % loop.frames
    return sine(steps / loop.frames + phase)


def repeated(once: Wave, count: int) -> Wave:
    """`once` over and over for `count` frames."""
    return np.resize(once, count)


def frozen(envelope: Wave, at: int, count: int) -> Wave:
    """`envelope` up to the frame `at`, and from there on its value at that frame."""
    held = np.full(count, envelope[at])
    held[:at] = envelope[:at]
    return held


def sixteen_bit(wave: Wave) -> NDArray[np.int16]:
    """Full scale 1.0 to 16-bit frames.

    Raises ValueError when the wave is louder than full scale.
    """
    frames = np.rint(wave * PEAK)
    loudest = float(np.max(np.abs(frames)))
    if loudest > PEAK:
        raise ValueError(f"a sample reaches {loudest / PEAK:.2f} of full scale: lower its level")
    return frames.astype(np.int16)
