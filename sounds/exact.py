"""Arithmetic that gives the same bits on every machine.

The SoundFont is rebuilt and compared byte by byte, so nothing here may depend on a C library,
on a numpy version or on what a processor offers. IEEE 754 fixes the result of + - * / and of
the square root, and rounding to whole numbers; sines and powers are built from those alone.
Therefore this package calls no sin, exp, log or power of math or numpy on anything that becomes
a sample, uses no numpy function that adds up or multiplies and adds in one go (sum, dot, interp,
convolve, fft, complex numbers: their order and their fused steps differ between builds), and
adds up with math.fsum, which rounds once.
"""

from math import factorial, floor, fsum, ldexp, sqrt

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float64]
"""One channel of sound, full scale 1.0."""

PI = 3.141592653589793
LN_2 = 0.6931471805599453
LOG2_10 = 3.321928094887362

_SINE = tuple((-1) ** (power // 2) / factorial(power) for power in range(1, 18, 2))
_EXPONENTIAL = tuple(1 / factorial(power) for power in range(18))


def sine(turns: Wave) -> Wave:
    """The sine of an angle in whole turns, within 1e-12; period exactly 1."""
    turn = turns - np.rint(turns)
    turn = np.where(np.abs(turn) > 0.25, np.copysign(0.5, turn) - turn, turn)
    angle = turn * (2 * PI)
    square = angle * angle
    total = np.full_like(angle, _SINE[-1])
    for coefficient in reversed(_SINE[:-1]):
        total = total * square + coefficient
    return np.asarray(total * angle)


def sine_of(turn: float) -> float:
    """`sine` of one number."""
    return float(sine(np.array([turn]))[0])


def tone(hertz: float, count: int, rate: int, phase: float = 0.0) -> Wave:
    """`count` frames of a sine; `phase` in turns."""
    return sine(np.arange(count, dtype=np.float64) * (hertz / rate) + phase)


def exp2(power: float) -> float:
    """Two to a power, within 1e-15 of itself."""
    whole = floor(power)
    rest = (power - whole) * LN_2
    total = 0.0
    for coefficient in reversed(_EXPONENTIAL):
        total = total * rest + coefficient
    return ldexp(total, whole)


def from_decibels(level: float) -> float:
    """The factor of amplitude of a level in decibels."""
    return exp2(level * LOG2_10 / 20)


def decay(decibels_a_second: float, count: int, rate: int) -> Wave:
    """`count` frames of an exponential that starts at 1.

    Each doubling of what is there is one multiplication a frame.
    """
    wave = np.ones(count)
    done, factor = 1, from_decibels(-decibels_a_second / rate)
    while done < count:
        more = min(done, count - done)
        wave[done : done + more] = wave[:more] * factor
        done += more
        factor *= factor
    return wave


def rise(count: int, total: int) -> Wave:
    """`total` frames: from 0 to 1 over the first `count` along half a cosine, then 1."""
    wave = np.ones(total)
    count = min(count, total)
    wave[:count] = 0.5 - 0.5 * sine(np.arange(count) / (2 * max(count, 1)) + 0.25)
    return wave


def noise(count: int, seed: int) -> Wave:
    """White noise, evenly spread between -1 and 1, the same for the same seed.

    SplitMix64 (G. Steele, D. Lea, C. Flood, Fast Splittable Pseudorandom Number Generators,
    OOPSLA 2014), counted instead of stepped.
    """
    state = np.arange(1, count + 1, dtype=np.uint64) + np.uint64(seed << 32)
    state *= np.uint64(0x9E3779B97F4A7C15)
    state = (state ^ (state >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    state = (state ^ (state >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    state ^= state >> np.uint64(31)
    return (state >> np.uint64(11)).astype(np.float64) * ldexp(1.0, -52) - 1.0


def power(wave: Wave) -> float:
    """The mean square of a wave."""
    return fsum((wave * wave).tolist()) / len(wave)


def root(value: float) -> float:
    """The square root, which IEEE 754 fixes to the last bit."""
    return sqrt(value)
