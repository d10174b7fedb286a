"""Two textbook ways to find the pitch of a steady note; neither knows how the note was made.

`yin`: A. de Cheveigne and H. Kawahara, YIN, a fundamental frequency estimator for speech and
music, Journal of the Acoustical Society of America 111(4), 2002, 1917-1930, steps 1 to 5.

`harmonic_sum`: the spectrum itself. Of all pitches tried, the one at whose multiples most
amplitude lies (D. J. Hermes, Measurement of pitch by subharmonic summation, Journal of the
Acoustical Society of America 83(1), 1988, 257-264, with its weight of 0.84 a partial).
"""

from math import log2

import numpy as np
from numpy.typing import NDArray

Wave = NDArray[np.float64]

THRESHOLD = 0.1
"""Step 4 of YIN: the first dip below this is the period."""


def yin(wave: Wave, rate: int, lowest: float = 25.0, highest: float = 1200.0) -> float:
    """The pitch of `wave` in hertz, between `lowest` and `highest`.

    `wave` must be at least three periods of `lowest` long: one for the longest lag, two to compare.
    """
    longest = int(rate / lowest) + 2
    window = len(wave) - longest
    if window < 2 * rate / lowest:
        raise ValueError(f"{len(wave)} frames are too few for {lowest} Hz")
    fixed = wave[:window]
    difference = np.array(
        [np.sum((fixed - wave[lag : lag + window]) ** 2) for lag in range(longest)]
    )
    lags = np.arange(1, longest)
    normal = np.ones(longest)
    normal[1:] = difference[1:] * lags / np.cumsum(difference[1:])
    return rate / _refined(difference, _first_dip(normal, int(rate / highest)))


def _first_dip(normal: Wave, shortest: int) -> int:
    for lag in range(shortest, len(normal) - 1):
        if normal[lag] < THRESHOLD and normal[lag] <= normal[lag + 1]:
            return lag
    return shortest + int(np.argmin(normal[shortest:-1]))


def _refined(difference: Wave, lag: int) -> float:
    """Step 5: a parabola through the dip, of the raw difference, which the paper finds unbiased."""
    lag += int(np.argmin(difference[lag - 1 : lag + 2])) - 1
    before, at, after = difference[lag - 1 : lag + 2]
    return lag + float(0.5 * (before - after) / (before - 2 * at + after))


def harmonic_sum(
    wave: Wave, rate: int, near: float, cents_around: float = 60.0, partials: int = 12
) -> float:
    """The pitch in hertz within `cents_around` of `near`, to a tenth of a cent."""
    frames = np.arange(len(wave)) / rate
    shaded = wave * np.hanning(len(wave))

    def weight(pitch: float) -> float:
        turn = np.exp(-2j * np.pi * pitch * frames)
        turned, total = shaded.astype(complex), 0.0
        for number in range(1, min(partials, int(rate / 2 / pitch)) + 1):
            turned *= turn
            total += 0.84 ** (number - 1) * float(abs(np.sum(turned)))
        return total

    best, step = near, cents_around / 6
    while step > 0.1:
        tried = [best * 2 ** (count * step / 1200) for count in range(-6, 7)]
        best = max(tried, key=weight)
        step /= 4
    return best


def cents(pitch: float, reference: float) -> float:
    """How far `pitch` is above `reference`."""
    return 1200 * log2(pitch / reference)
