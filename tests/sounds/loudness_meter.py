"""Loudness as ITU-R BS.1770 measures it, written from its printed table, in the spectrum.

The table of annex 1 gives the two filters for 48 kHz. Their response is evaluated at the
frequencies of the sound, whatever its rate; so nothing here is shared with the filters that the
SoundFont is built with.
"""

import numpy as np
from numpy.typing import NDArray

from engine.clip import Clip

SHELF_B = (1.53512485958697, -2.69169618940638, 1.19839281085285)
SHELF_A = (1.0, -1.69065929318241, 0.73248077421585)
HIGH_PASS_B = (1.0, -2.0, 1.0)
HIGH_PASS_A = (1.0, -1.99004745483398, 0.99007225036621)

BLOCK_SECONDS = 0.4
OVERLAP = 4
ABSOLUTE_GATE, RELATIVE_GATE = -70.0, -10.0
"""BS.1770: blocks of 400 ms, a new one every 100 ms; quiet ones do not count."""


def weighting(hertz: NDArray[np.floating]) -> NDArray[np.float64]:
    """The factor of power that K-weighting gives each frequency, below 24 kHz."""
    turn = np.exp(-2j * np.pi * hertz / 48_000)
    response = np.ones_like(turn)
    for top, bottom in ((SHELF_B, SHELF_A), (HIGH_PASS_B, HIGH_PASS_A)):
        response = response * np.polyval(top[::-1], turn) / np.polyval(bottom[::-1], turn)
    return np.asarray(np.abs(response) ** 2)


def level(wave: NDArray[np.float64], rate: int, seconds: float = BLOCK_SECONDS) -> float:
    """Loudness of the first `seconds` of one channel, full scale 1.0, in LUFS."""
    return _decibels(_power(wave[: round(seconds * rate)], rate))


def integrated(clip: Clip) -> float:
    """Gated loudness of a whole clip, in LUFS; -inf is given for silence."""
    waves = clip.frames.T / 32768
    length = round(BLOCK_SECONDS * clip.rate)
    starts = range(0, waves.shape[1] - length + 1, length // OVERLAP)
    blocks = [
        sum(_power(wave[start : start + length], clip.rate) for wave in waves) for start in starts
    ]
    loud = [block for block in blocks if _decibels(block) > ABSOLUTE_GATE]
    if not loud:
        return float("-inf")
    gate = _decibels(float(np.mean(loud))) + RELATIVE_GATE
    return _decibels(float(np.mean([block for block in loud if _decibels(block) > gate])))


def _power(wave: NDArray[np.float64], rate: int) -> float:
    size = 2 * len(wave)
    spectrum = np.abs(np.fft.rfft(wave, size)) ** 2
    weighted = spectrum * weighting(np.fft.rfftfreq(size, 1 / rate))
    return float(np.sum(weighted)) * 2 / size / len(wave)  # the half spectrum counts twice


def _decibels(power: float) -> float:
    return -0.691 + 10 * float(np.log10(power + 1e-15))
