"""The organ: nine sines, of which six are drawn, through a slow rotating speaker.

Drawbar footages and their multiples of the eight-foot pitch are those of every tonewheel organ
(common practice, no source); a drawbar is 3 dB a step. The contacts of a key close one after the
other, which is its click. A gentle vibrato stands in every loop; the slow turn of the speaker
is the synthesizer's own, so that it does not change with the key.
"""

import numpy as np

from sounds.exact import Wave, decay, from_decibels, noise, rise, sine
from sounds.filters import band_pass, filtered
from sounds.looping import GUARD, Loop, find_loop, hertz, repeated, sixteen_bit
from sounds.loudness import levelled
from sounds.sf2 import (
    LOOPED,
    VELOCITY_TO_LEVEL,
    Generator,
    Instrument,
    Modulator,
    Sample,
    Zone,
    cents_over_key_0,
    timecents,
)

RATE = 32_000
LEVEL = -18.0
"""K-weighted decibels under full scale of every sample."""

FIRST_ROOT, LAST_ROOT, STEP = 36, 96, 4

DRAWBARS = ((1, 5), (3, 6), (2, 8), (4, 5), (6, 3), (8, 3))
"""Multiple of the sixteen-foot pitch, and how far the bar is drawn, 1 to 8."""

SWEEP_SECONDS = 0.00011
"""How far the vibrato moves the sound to and fro: about 8 cents."""

CONTACT_SECONDS = 0.0011
"""From one contact of a key to the next."""

CLICK = 0.5
"""Level of the click against the loudest drawbar."""

ATTACK_SECONDS = 0.06
ROTOR_HERTZ = 0.8


def organ() -> Instrument:
    """One registration over the keyboard; velocity hardly matters, as on an organ."""
    return Instrument(
        "Organ",
        [_zone(key) for key in range(FIRST_ROOT, LAST_ROOT + 1, STEP)],
        {
            Generator.RELEASE: timecents(0.12),
            Generator.SAMPLE_MODES: LOOPED,
            Generator.LFO_FREQUENCY: cents_over_key_0(ROTOR_HERTZ),
            Generator.LFO_TO_VOLUME: 8,  # tenths of a decibel, each way
            Generator.VIBRATO_FREQUENCY: cents_over_key_0(ROTOR_HERTZ),
            Generator.VIBRATO_TO_PITCH: 2,
        },
        (Modulator(VELOCITY_TO_LEVEL, Generator.ATTENUATION, 320),),
    )


def _zone(key: int) -> Zone:
    loop = find_loop(hertz(key - 12), RATE, 0.135, 0.165)
    start = round(ATTACK_SECONDS * RATE)
    sample = Sample(
        f"Organ {key}",
        sixteen_bit(_wave(loop, start + loop.frames + GUARD)),
        RATE,
        key,
        loop.correction,
        (start, start + loop.frames),
    )
    lowest = 0 if key == FIRST_ROOT else key - STEP // 2 + 1
    highest = 127 if key == LAST_ROOT else key + STEP // 2
    return Zone(sample, (lowest, highest))


def _wave(loop: Loop, total: int) -> Wave:
    wave = np.zeros(total)
    contact = round(CONTACT_SECONDS * RATE)
    for order, (multiple, drawn) in enumerate(DRAWBARS):
        if multiple * loop.periods * RATE / loop.frames > 0.4 * RATE:
            continue
        sound = repeated(_swept(loop, multiple), total) * from_decibels(3.0 * (drawn - 8))
        late = order * contact
        wave[late:] += sound[late:] * rise(2 * contact, total - late)
    count = round(0.02 * RATE)
    click = filtered(noise(count, 51) * decay(2500, count, RATE), band_pass(2200, RATE, 0.8))
    wave[:count] += click * CLICK
    return levelled(wave, RATE, LEVEL)


def _swept(loop: Loop, multiple: int) -> Wave:
    """One loop of a tonewheel, half of it through the vibrato, which turns once a loop."""
    frames = np.arange(loop.frames)
    turns = frames * (multiple * loop.periods) % loop.frames / loop.frames
    frequency = multiple * loop.periods * RATE / loop.frames
    sweep = sine(frames / loop.frames) * (SWEEP_SECONDS * frequency)
    return 0.5 * sine(turns) + 0.5 * sine(turns + sweep)
