"""What comes out of the synthesizer is in tune, by trackers that know nothing of how it was made.

Reference pitches: 12-tone equal temperament on A4 = 440 Hz, ISO 16:1975.
"""

import numpy as np
import pytest

from engine.score import ELECTRIC_PIANO, FINGER_BASS, ORGAN
from tests.sounds.pitch_tracker import cents, harmonic_sum, yin
from tests.sounds.played import RATE, part_of, played

B0, C4 = 23, 60
CLOSE = 5.0
"""Cents. A trained ear hears about that much on a sustained tone (common practice, no source)."""


def hertz(key: int) -> float:
    return float(440 * 2 ** ((key - 69) / 12))


@pytest.mark.parametrize("velocity", [70, 90, 110])
@pytest.mark.parametrize("key", range(B0, C4 + 1))
def test_every_bass_note_is_within_five_cents_by_yin(key: int, velocity: int) -> None:
    early = yin(part_of(played(FINGER_BASS, key, velocity), 0.05, 0.25), RATE)
    late = yin(part_of(played(FINGER_BASS, key, velocity), 0.7, 0.9), RATE)
    assert abs(cents(early, hertz(key))) < CLOSE
    assert abs(cents(late, hertz(key))) < CLOSE


@pytest.mark.parametrize("key", range(B0, C4 + 1))
def test_every_bass_note_is_within_five_cents_by_its_spectrum(key: int) -> None:
    wave = part_of(played(FINGER_BASS, key), 0.05, 0.85)
    assert abs(cents(harmonic_sum(wave, RATE, hertz(key)), hertz(key))) < CLOSE


@pytest.mark.parametrize("key", [26, 28, 33, 40, 47, 55])
def test_a_bass_note_held_into_its_loop_stays_in_tune(key: int) -> None:
    wave = part_of(played(FINGER_BASS, key, held=4.0), 3.0, 3.8)
    assert abs(cents(harmonic_sum(wave, RATE, hertz(key)), hertz(key))) < 1.0


@pytest.mark.parametrize("key", range(43, 85))
def test_every_electric_piano_note_is_within_five_cents(key: int) -> None:
    struck = part_of(played(ELECTRIC_PIANO, key), 0.05, 0.3)
    ringing = part_of(played(ELECTRIC_PIANO, key), 0.4, 0.6)  # YIN would hear the bell as pitch
    assert abs(cents(harmonic_sum(struck, RATE, hertz(key)), hertz(key))) < CLOSE
    assert abs(cents(yin(ringing, RATE, lowest=60), hertz(key))) < CLOSE


@pytest.mark.parametrize("key", range(43, 85))
def test_every_organ_note_is_within_five_cents_an_octave_down(key: int) -> None:
    # the sixteen-foot drawbar sounds an octave below the key: that is the period; the vibrato is
    # averaged over two of its turns
    wave = part_of(played(ORGAN, key), 0.2, 0.8)
    measured = harmonic_sum(wave, RATE, hertz(key - 12))
    assert abs(cents(measured, hertz(key - 12))) < CLOSE


def test_the_trackers_agree_on_a_plain_sawtooth() -> None:
    frames = np.arange(RATE // 2)
    saw = (frames * 55.3 / RATE) % 1.0 - 0.5
    assert abs(cents(yin(saw, RATE), 55.3)) < 0.5
    assert abs(cents(harmonic_sum(saw, RATE, 55.0), 55.3)) < 0.5
