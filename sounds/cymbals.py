"""Cymbals: many unrelated modes of a thin plate, and noise for those too close to tell apart.

The modes of a plate lie evenly in frequency, the higher ones die sooner, and a stick's energy
takes some milliseconds to spread upwards (N. H. Fletcher and T. D. Rossing, The Physics of
Musical Instruments, 2nd edition 1998, chapter 20; from memory). Numbers were set by comparing
spectra and envelopes, not by listening.
"""

from typing import NamedTuple

import numpy as np

from sounds.exact import Wave, decay, from_decibels, noise, rise, tone
from sounds.filters import filtered, high_pass, low_pass

RATE = 44_100


class Plate(NamedTuple):
    """A bundle of modes."""

    modes: int
    lowest: float
    highest: float
    """Hertz."""

    decibels: float
    """Level of the whole bundle."""

    tilt: float
    """Decibels an octave above the lowest, usually negative."""

    fall: float
    """Decibels a second of the lowest mode."""

    fall_a_kilohertz: float
    """Decibels a second more for each 1000 Hz."""

    spread_seconds: float
    """Until the highest mode is fully there; the lower ones take less."""


def ride(total: int) -> Wave:
    """A stick's tip on the bow: a clear ping and a low wash under it."""
    wave = plate(Plate(9, 390, 1900, -29, -1, 18, 5, 0.002), total, 21)
    wave += plate(Plate(14, 2300, 6200, -12, -2, 22, 4, 0.001), total, 22)
    wave += plate(Plate(150, 1500, 15_000, -5, -1, 16, 3, 0.010), total, 23)
    wave += hiss(total, 31, 3500, 13_000, 60) * 0.12
    tip = hiss(total, 38, 3000, 14_000, 800) * 1.6
    return wave + tip + stick(total, 32, 6000)


def crash(total: int) -> Wave:
    """The shoulder of the stick on the edge: everything at once, then a long roar."""
    wave = plate(Plate(34, 260, 2400, -10, -1, 18, 4, 0.006), total, 24)
    wave += plate(Plate(190, 1200, 14_500, 0, -0.8, 11, 2.1, 0.03), total, 25)
    wave += hiss(total, 33, 1500, 12_000, 35) * rise(RATE // 60, total) * 0.25
    return wave + stick(total, 34, 2500) * 0.25


def closed_hat(total: int) -> Wave:
    """Two plates pressed together: only the top is left, and not for long."""
    wave = plate(Plate(70, 2500, 15_500, 0, 0.5, 190, 9, 0.0), total, 26)
    wave += hiss(total, 35, 5500, 16_000, 330) * 0.55
    return wave + stick(total, 36, 6000) * 0.35


def pedal_hat(total: int) -> Wave:
    """The foot claps the plates together: a softer start, a darker sound, a quick end."""
    wave = plate(Plate(60, 1100, 13_500, 0, 0, 200, 9, 0.0), total, 27)
    wave += plate(Plate(4, 230, 420, -27, 0, 190, 0, 0.0), total, 28)
    wave += hiss(total, 37, 2600, 12_000, 260) * 0.6
    return wave * rise(RATE // 150, total)


def plate(plate: Plate, total: int, seed: int) -> Wave:
    """The modes of `plate` struck once, all about equally strong but for the tilt."""
    scatter = noise(3 * plate.modes, seed).tolist()
    wave = np.zeros(total)
    span = plate.highest - plate.lowest
    for number in range(plate.modes):
        place, phase, strength = scatter[3 * number : 3 * number + 3]
        share = (number + 0.5 + 0.45 * place) / plate.modes
        frequency = plate.lowest + span * share
        octaves = _octaves(frequency / plate.lowest)
        level = from_decibels(plate.tilt * octaves + 5 * strength)
        fall = plate.fall + plate.fall_a_kilohertz * frequency / 1000
        count = min(total, round(72 / fall * RATE))  # 72 dB down there is nothing to hear
        mode = tone(frequency, count, RATE, phase)
        mode *= decay(fall, count, RATE) * rise(round(plate.spread_seconds * share * RATE), count)
        wave[:count] += mode * level
    return wave * (from_decibels(plate.decibels) / plate.modes * 3)


def _octaves(ratio: float) -> float:
    """Log to the base 2 of a ratio from 1 to 64, straight between whole octaves."""
    octaves = 0
    while ratio >= 2:
        ratio /= 2
        octaves += 1
    return octaves + ratio - 1


def hiss(total: int, seed: int, low: float, high: float, fall: float) -> Wave:
    """Noise between two frequencies that falls by `fall` decibels a second."""
    count = min(total, round(72 / fall * RATE))
    wave = np.zeros(total)
    band = filtered(noise(count, seed), high_pass(low, RATE), low_pass(high, RATE))
    wave[:count] = band * decay(fall, count, RATE)
    return wave


def stick(total: int, seed: int, hertz: float) -> Wave:
    """The blow itself: two or three milliseconds of noise above `hertz`."""
    count = min(total, RATE // 80)
    wave = np.zeros(total)
    click = filtered(noise(count, seed), high_pass(hertz, RATE))
    wave[:count] = click * decay(4500, count, RATE)
    return wave
