"""The finger bass: a plucked string over a magnetic pickup, one partial at a time.

A string plucked at one place and heard at another lacks the partials that have a node at
either; a soft fingertip and the coil dull the top; what is left dies away in two stages, the
upper partials first (N. H. Fletcher and T. D. Rossing, The Physics of Musical Instruments, 2nd
edition 1998, chapters 2 and 9; from memory). The partials are exactly harmonic: a stiff string
would pull tuners and ears sharp. Numbers were set by comparing spectra, not by listening.
"""

from typing import NamedTuple

import numpy as np

from sounds.exact import Wave, decay, exp2, noise, power, rise, root, sine_of, tone
from sounds.filters import band_pass, filtered
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
    cents_over_key_0,
    timecents,
)

RATE = 22_050
"""Frames a second: the instrument has nothing to say above 8 kHz."""

LEVEL = -14.5
"""K-weighted decibels under full scale of every sample."""

FIRST_ROOT, LAST_ROOT, STEP = 24, 66, 3
"""A sample every third key, B0..C#1 the lowest: no sample is bent by more than a semitone."""

OPEN_STRINGS = (23, 28, 33, 38, 43)
"""B0 E1 A1 D2 G2: every note is taken on the highest string that has it."""

PLUCK, PICKUP = 0.16, 0.13
"""Distance from the bridge as a share of the open string."""

BLUR = 0.3
"""A fingertip and a coil have width: no partial vanishes altogether."""

THIN_HERTZ = 50
"""Below it the amplifier gives way, 6 dB an octave: small speakers need the room elsewhere."""

BEATS = 5
"""A string swings in two planes that are not quite in tune: partials share this many beats."""

TOP_HERTZ = 5_000
RELEASE_SECONDS = 0.18
"""Until a note that is let go is gone (96 dB down): a finger laid on the string."""


BRIGHTEST_HERTZ = 4_200
"""Where a low-pass stands at velocity 127; it comes down with the velocity."""

DARKER = 6000
"""Cents by which it would have come down at velocity 0: 0.7 kHz at velocity 60."""

LOUDER = 640
"""Tenths of a decibel from velocity 0 to 127 (the format's default is 960): an even hand."""


class Touch(NamedTuple):
    """How a layer is plucked."""

    name: str
    velocities: tuple[int, int]
    bright_hertz: float
    """Where the fingertip begins to dull the string."""

    finger: float
    """Level of the finger's own noise against the string."""


TOUCHES = (
    Touch("soft", (0, 82), 1000, 0.05),
    Touch("firm", (83, 95), 1500, 0.08),
    Touch("hard", (96, 127), 2200, 0.13),
)


def finger_bass() -> Instrument:
    """The whole neck from B0 to G4 in three touches; outside it the end samples stretch."""
    roots = range(FIRST_ROOT, LAST_ROOT + 1, STEP)
    zones = [_zone(key, touch) for key in roots for touch in TOUCHES]
    return Instrument(
        "Finger bass",
        zones,
        {
            Generator.RELEASE: timecents(RELEASE_SECONDS),
            Generator.SUSTAIN: 1000,
            Generator.SAMPLE_MODES: LOOPED,
            Generator.FILTER_CUTOFF: cents_over_key_0(BRIGHTEST_HERTZ),
        },
        (
            Modulator(VELOCITY_TO_LEVEL, Generator.ATTENUATION, LOUDER),
            Modulator(VELOCITY_TO_CUTOFF, Generator.FILTER_CUTOFF, -DARKER),
        ),
    )


def _zone(key: int, touch: Touch) -> Zone:
    loop = find_loop(hertz(key), RATE, 0.02, 0.12)
    start = round(_ring_seconds(key) * RATE)
    sample = Sample(
        f"Bass {key} {touch.name}",
        sixteen_bit(_wave(key, touch, loop, start)),
        RATE,
        key,
        loop.correction,
        (start, start + loop.frames),
    )
    lowest = 0 if key == FIRST_ROOT else key - 1
    highest = 127 if key == LAST_ROOT else key + 1
    tail = _decay_rate(1, hertz(key))
    return Zone(
        sample,
        (lowest, highest),
        touch.velocities,
        {
            Generator.HOLD: timecents(start / RATE),
            Generator.DECAY: timecents(96 / tail),
        },
    )


def _ring_seconds(key: int) -> float:
    """How long a sample runs before its loop: low strings have more to tell."""
    return 1.05 - 0.012 * (key - FIRST_ROOT)


def _decay_rate(number: int, fundamental: float) -> float:
    """Decibels a second of a partial's second, slower stage."""
    return (4.5 + 1.2 * (number - 1) + 0.007 * number * fundamental) * exp2(
        (fundamental / 41.2 - 1) / 16
    )


def _wave(key: int, touch: Touch, loop: Loop, start: int) -> Wave:
    total = start + loop.frames + GUARD
    fundamental = loop.periods * RATE / loop.frames
    wave = np.zeros(total)
    beats = [_beat(number, total) for number in range(BEATS)]
    for number in range(1, int(TOP_HERTZ / fundamental) + 1):
        strength = _strength(number, key, fundamental, touch)
        once = partial(loop, number, 0.031 * number * number) * strength
        wave += repeated(once, total) * frozen(
            _ringing(number, fundamental, beats[number % BEATS]), start - GUARD, total
        )
    wave *= rise(round(0.003 * RATE), total)
    wave += _finger_noise(total, touch) * root(power(wave[: RATE // 10]))
    return levelled(wave, RATE, LEVEL)


def _strength(number: int, key: int, fundamental: float, touch: Touch) -> float:
    open_string = max((one for one in OPEN_STRINGS if one <= key), default=OPEN_STRINGS[0])
    shortening = exp2(min(key - open_string, 10) / 12)
    pluck = _node(number * PLUCK * shortening)
    pickup = _node(number * PICKUP * shortening)
    frequency = number * fundamental
    dull = frequency / touch.bright_hertz
    thin = THIN_HERTZ / frequency
    return pluck * pickup / (number * (1 + dull * dull) * root(1 + thin * thin))


def _node(place: float) -> float:
    """How much of a partial is there: half a turn a node, blurred."""
    strength = sine_of(place / 2)
    return root(strength * strength + BLUR * BLUR)


def _ringing(number: int, fundamental: float, beat: Wave) -> Wave:
    """A partial's envelope: a quick stage, a slow one, and the beat of its two planes."""
    slow = _decay_rate(number, fundamental)
    quick = decay(3 * slow + 20, len(beat), RATE)
    depth = min(0.02 * number, 0.15)
    return (0.4 * quick + 0.6 * decay(slow, len(beat), RATE)) * (1 + depth * beat)


def _beat(number: int, total: int) -> Wave:
    """A slow swell, one of BEATS."""
    return tone(0.7 + 0.37 * number, total, RATE, 0.17 * number)


def _finger_noise(total: int, touch: Touch) -> Wave:
    count = round(0.06 * RATE)
    burst = noise(count, 7) * decay(900, count, RATE) * rise(12, count)
    wave = np.zeros(total)
    wave[:count] = filtered(burst, band_pass(1500, RATE, 0.7)) * (touch.finger * 12)
    return wave
