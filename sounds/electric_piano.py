"""The electric piano: a struck tine swinging past a magnetic pickup.

The flux through a coil falls off with the square of the tine's distance from the pole, and the
coil hears its change; so a soft blow gives nearly a sine, a hard one barks, and every note
mellows while it dies away. The formula is the simplest one with that shape. A tine is a bar
clamped at one end: its second and third modes, 6.27 and 17.5 times the first (N. H. Fletcher and
T. D. Rossing, The Physics of Musical Instruments, 2nd edition 1998, chapter 2; from memory), are
the bell at the start. Numbers were set by comparing spectra, not by listening.
"""

from typing import NamedTuple

import numpy as np

from sounds.exact import Wave, decay, exp2, noise, rise, tone
from sounds.filters import filtered, low_pass
from sounds.looping import GUARD, Loop, find_loop, frozen, hertz, partial, repeated, sixteen_bit
from sounds.loudness import levelled
from sounds.sf2 import (
    LOOPED,
    VELOCITY_TO_CUTOFF,
    VELOCITY_TO_LEVEL,
    Generator,
    Instrument,
    Modulator,
    Sample,
    Zone,
    timecents,
)

RATE = 32_000
LEVEL = -15.0
"""K-weighted decibels under full scale of every sample."""

FIRST_ROOT, LAST_ROOT, STEP = 36, 96, 6
"""A sample every sixth key, from C2 to C7."""

OFFSET = 0.32
"""How far off the pole the tine rests: the nearer, the more of the second partial."""

BELL = ((6.267, 1.0, 70.0), (17.55, 0.35, 160.0))
"""Times the fundamental, strength, decibels a second."""

RELEASE_SECONDS = 0.3
LOUDER = 720
"""Tenths of a decibel from velocity 0 to 127; the format's default is 960."""


class Blow(NamedTuple):
    """How a layer is struck."""

    name: str
    velocities: tuple[int, int]
    swing: float
    """How far the tine of middle C goes at first, in distances between pole and tine."""

    bell: float
    hammer: float
    """Levels of the bell and of the hammer's thud."""


BLOWS = (
    Blow("soft", (0, 71), 0.22, 0.010, 0.010),
    Blow("firm", (72, 87), 0.40, 0.028, 0.016),
    Blow("hard", (88, 127), 0.65, 0.055, 0.030),
)


def electric_piano() -> Instrument:
    """Three blows over the keyboard; the end samples stretch outwards."""
    roots = range(FIRST_ROOT, LAST_ROOT + 1, STEP)
    return Instrument(
        "Electric piano",
        [_zone(key, blow) for key in roots for blow in BLOWS],
        {
            Generator.RELEASE: timecents(RELEASE_SECONDS),
            Generator.SUSTAIN: 1000,
            Generator.SAMPLE_MODES: LOOPED,
        },
        (
            Modulator(VELOCITY_TO_LEVEL, Generator.ATTENUATION, LOUDER),
            Modulator(VELOCITY_TO_CUTOFF, Generator.FILTER_CUTOFF, 0),  # the layers do this
        ),
    )


def _zone(key: int, blow: Blow) -> Zone:
    loop = find_loop(hertz(key), RATE, 0.015, 0.06)
    start = round((0.75 - 0.005 * (key - FIRST_ROOT)) * RATE)
    sample = Sample(
        f"Piano {key} {blow.name}",
        sixteen_bit(_wave(key, blow, loop, start)),
        RATE,
        key,
        loop.correction,
        (start, start + loop.frames),
    )
    lowest = 0 if key == FIRST_ROOT else key - STEP // 2 + 1
    highest = 127 if key == LAST_ROOT else key + STEP // 2
    return Zone(
        sample,
        (lowest, highest),
        blow.velocities,
        {Generator.HOLD: timecents(start / RATE), Generator.DECAY: timecents(96 / _slow(key))},
    )


def _slow(key: int) -> float:
    """Decibels a second of the long stage of a key."""
    return 3.0 + 0.12 * (key - FIRST_ROOT)


def _wave(key: int, blow: Blow, loop: Loop, start: int) -> Wave:
    total = start + loop.frames + GUARD
    fundamental = loop.periods * RATE / loop.frames
    fading = 0.3 * decay(25 + 2 * _slow(key), total, RATE) + 0.7 * decay(_slow(key), total, RATE)
    swing = frozen(fading, start - GUARD, total) * (blow.swing * exp2((60 - key) / 30))
    wave = _pickup(
        repeated(partial(loop, 1, 0.0), total), repeated(partial(loop, 1, 0.25), total), swing
    )
    wave *= rise(round(0.002 * RATE), total)
    quick = start - GUARD
    wave[:quick] += _bell(key, fundamental, quick) * blow.bell
    wave[:quick] += _thud(quick) * blow.hammer
    return levelled(wave, RATE, LEVEL)


def _pickup(place: Wave, speed: Wave, swing: Wave) -> Wave:
    """What the coil hears of a tine at `place` with `speed`, both of a swing of 1."""
    distance = swing * place - OFFSET
    field = 1 + distance * distance
    return -distance * speed * swing / (field * field)


def _bell(key: int, fundamental: float, total: int) -> Wave:
    """The upper modes, weaker and shorter the shorter the tine."""
    wave = np.zeros(total)
    octaves = (key - 60) / 12
    for times, strength, fall in BELL:
        frequency = times * fundamental
        if frequency < 0.4 * RATE:
            quicker = fall * exp2(max(octaves, 0) / 2)
            ringing = tone(frequency, total, RATE) * decay(quicker, total, RATE)
            wave += ringing * (strength * exp2(-octaves / 2))
    return wave * rise(24, total) * rise(total // 3, total)[::-1]


def _thud(total: int) -> Wave:
    count = round(0.05 * RATE)
    wave = np.zeros(total)
    burst = noise(count, 11) * decay(700, count, RATE) * rise(16, count)
    wave[:count] = filtered(burst, low_pass(900, RATE)) * 6
    return wave
