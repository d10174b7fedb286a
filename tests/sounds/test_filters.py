"""Filters and the loudness measure of the build."""

import numpy as np
import pytest

from sounds.filters import Biquad, band_pass, filtered, high_pass, low_pass
from sounds.loudness import EDGE_HERTZ, EDGE_QUALITY, head_shelf, levelled, loudness_power
from tests.sounds.loudness_meter import (
    HIGH_PASS_A,
    SHELF_A,
    SHELF_B,
    level,
)

RATE = 44_100


def gain(biquad: Biquad, hertz: float) -> float:
    """Decibels at a frequency, from the answer to a single impulse."""
    impulse = np.zeros(1 << 15)
    impulse[0] = 1.0
    turns = np.exp(-2j * np.pi * hertz / RATE * np.arange(len(impulse)))
    return 20 * float(np.log10(abs(np.sum(filtered(impulse, biquad) * turns))))


def test_a_low_pass_and_a_high_pass_are_three_decibels_down_at_their_corner() -> None:
    for biquad in (low_pass(1000, RATE), high_pass(1000, RATE)):
        assert gain(biquad, 1000) == pytest.approx(-3.01, abs=0.01)
    assert gain(low_pass(1000, RATE), 20) == pytest.approx(0.0, abs=0.01)
    assert gain(high_pass(1000, RATE), 15_000) == pytest.approx(0.0, abs=0.05)
    assert gain(low_pass(1000, RATE), 8000) < -35
    assert gain(high_pass(1000, RATE), 125) < -35


def test_a_band_pass_is_one_in_its_middle() -> None:
    assert gain(band_pass(1500, RATE, 2.0), 1500) == pytest.approx(0.0, abs=0.01)
    assert gain(band_pass(1500, RATE, 2.0), 150) < -20


def test_the_loudness_filters_are_those_of_the_recommendation() -> None:
    # ITU-R BS.1770-4, annex 1, tables 1 and 2 (coefficients for 48 kHz)
    assert head_shelf(48_000) == pytest.approx((*SHELF_B, *SHELF_A[1:]), abs=1e-8)
    edge = high_pass(EDGE_HERTZ, 48_000, EDGE_QUALITY)
    assert edge[3:] == pytest.approx(HIGH_PASS_A[1:], abs=1e-8)


@pytest.mark.parametrize("hertz", [41.0, 110.0, 1000.0, 5000.0])
def test_levelled_samples_measure_as_loud_as_asked(hertz: float) -> None:
    tone = np.sin(2 * np.pi * hertz / RATE * np.arange(RATE))
    measured = level(levelled(tone, RATE, -20.0), RATE)
    # the meter adds the -0.691 dB of BS.1770, which makes a 997 Hz sine read its own level
    assert measured == pytest.approx(-20.0 - 0.691, abs=0.2)


def test_a_short_sample_counts_the_silence_after_it() -> None:
    long, short = np.ones(RATE), np.ones(RATE // 10)
    tone = np.sin(np.arange(RATE) / 7)
    whole = loudness_power(tone * long, RATE)
    assert loudness_power(tone[: RATE // 10] * short, RATE) == pytest.approx(whole / 4, rel=0.05)
