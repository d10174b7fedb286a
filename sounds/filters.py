"""Second-order filters, one frame at a time: slower than numpy, and the same everywhere.

Coefficients after R. Bristow-Johnson, Cookbook formulae for audio equalizer biquad filter
coefficients (W3C Audio Working Group note, 2021).
"""

from typing import NamedTuple

import numpy as np

from sounds.exact import Wave, sine_of


class Biquad(NamedTuple):
    """Coefficients, normalised so that a0 is 1."""

    b0: float
    b1: float
    b2: float
    a1: float
    a2: float


def _angles(hertz: float, rate: int, quality: float) -> tuple[float, float]:
    turn = hertz / rate
    return sine_of(turn + 0.25), sine_of(turn) / (2 * quality)


def low_pass(hertz: float, rate: int, quality: float = 0.7071067811865476) -> Biquad:
    """Passes what lies below `hertz`, 12 dB an octave."""
    cosine, alpha = _angles(hertz, rate, quality)
    a0, edge = 1 + alpha, (1 - cosine) / 2
    return Biquad(edge / a0, 2 * edge / a0, edge / a0, -2 * cosine / a0, (1 - alpha) / a0)


def high_pass(hertz: float, rate: int, quality: float = 0.7071067811865476) -> Biquad:
    """Passes what lies above `hertz`, 12 dB an octave."""
    cosine, alpha = _angles(hertz, rate, quality)
    a0, edge = 1 + alpha, (1 + cosine) / 2
    return Biquad(edge / a0, -2 * edge / a0, edge / a0, -2 * cosine / a0, (1 - alpha) / a0)


def band_pass(hertz: float, rate: int, quality: float) -> Biquad:
    """Passes a band around `hertz`, 1 at its middle; `quality` is middle over width."""
    cosine, alpha = _angles(hertz, rate, quality)
    a0 = 1 + alpha
    return Biquad(alpha / a0, 0.0, -alpha / a0, -2 * cosine / a0, (1 - alpha) / a0)


def filtered(wave: Wave, *biquads: Biquad) -> Wave:
    """`wave` through the filters, one after the other, from silence."""
    for b0, b1, b2, a1, a2 in biquads:
        frames: list[float] = []
        first = second = 0.0  # transposed direct form II
        for frame in wave.tolist():
            out = b0 * frame + first
            first = b1 * frame - a1 * out + second
            second = b2 * frame - a2 * out
            frames.append(out)
        wave = np.array(frames)
    return wave
