"""Pitch frame by frame, on waves whose pitch is known by how they are made.

Pitches: 12-tone equal temperament on A4 = 440 Hz, ISO 16:1975.
"""

import numpy as np
import pytest

from engine.errors import TakeError
from engine.listening.pitch import Thinner, Wave, lifted, track
from sounds.looping import hertz

B0, C4 = 23, 60


def saw(hertz: float, rate: int, seconds: float = 0.4) -> Wave:
    """A sawtooth of the partials that the rate can carry, up to twelve."""
    turns = 2 * np.pi * hertz * np.arange(round(rate * seconds)) / rate
    partials = range(1, min(12, int(0.45 * rate / hertz)) + 1)
    wave: Wave = 0.2 * np.sum([np.sin(one * turns) / one for one in partials], axis=0)
    return wave


def tracked(wave: Wave, rate: int) -> Wave:
    thinner = Thinner(rate)
    thin = thinner.feed(wave)
    return track(lifted(thin, thinner.rate), thinner.rate).semitones[5:-5]


@pytest.mark.parametrize("rate", [8_000, 11_025, 16_000, 44_100, 48_000, 96_000, 192_000])
@pytest.mark.parametrize("midi", [B0, 28, 33, 43, 55, C4])
def test_every_frame_of_a_steady_tone_is_within_five_cents_at_any_rate(
    midi: int, rate: int
) -> None:
    keys = tracked(saw(hertz(midi), rate), rate)
    assert len(keys) > 20
    assert np.max(np.abs(keys - midi)) < 0.05


@pytest.mark.parametrize("cents", [-30, -12, 7, 30])
def test_a_detuned_tone_is_measured_where_it_stands(cents: int) -> None:
    keys = tracked(saw(hertz(40 + cents / 100), 44_100), 44_100)
    assert abs(float(np.median(keys)) - 40 - cents / 100) < 0.02


def test_noise_has_no_pitch() -> None:
    noise = np.random.default_rng(1).normal(0, 0.1, 44_100)
    thinner = Thinner(44_100)
    frames = track(lifted(thinner.feed(noise), thinner.rate), thinner.rate)
    assert np.median(frames.roughness) > 0.5


@pytest.mark.parametrize("block", [1, 7, 256, 4_001])
def test_thinning_block_by_block_gives_what_thinning_at_once_gives(block: int) -> None:
    wave = np.random.default_rng(2).normal(0, 0.1, 9_000)
    whole = Thinner(44_100).feed(wave)
    thinner = Thinner(44_100)
    pieces = [thinner.feed(wave[at : at + block]) for at in range(0, len(wave), block)]
    assert np.allclose(whole, np.concatenate(pieces))


@pytest.mark.parametrize("rate", [0, 4_000, 400_000])
def test_a_rate_that_no_recording_has_is_refused(rate: int) -> None:
    with pytest.raises(TakeError, match="8000 to 192000"):
        Thinner(rate)
