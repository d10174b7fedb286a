"""Electric piano and organ as they come out of the synthesizer."""

from itertools import pairwise

import numpy as np
import pytest

from engine.score import ELECTRIC_PIANO, FINGER_BASS, ORGAN, Instrument
from tests.sounds.loudness_meter import level
from tests.sounds.played import RATE, band, part_of, played, rms, roughness

COMPING = range(48, 80)
"""Where a left-hand-less comping part lies, with room (common practice, no source)."""

SOME = (48, 53, 57, 60, 64, 69, 72, 76)


@pytest.mark.parametrize("instrument", [ELECTRIC_PIANO, ORGAN], ids=["piano", "organ"])
@pytest.mark.parametrize("velocity", [65, 80, 100])
def test_loudness_over_the_register_is_even_within_two_units(
    instrument: Instrument, velocity: int
) -> None:
    levels = [level(played(instrument, key, velocity), RATE) for key in COMPING]
    assert max(levels) - min(levels) < 2.0


@pytest.mark.parametrize("instrument", [ELECTRIC_PIANO, ORGAN], ids=["piano", "organ"])
def test_a_single_key_is_about_as_loud_as_the_bass_before_the_mix(instrument: Instrument) -> None:
    bass = level(played(FINGER_BASS, 33, 90), RATE)
    assert abs(level(played(instrument, 60, 90), RATE) - bass) < 3.0


@pytest.mark.parametrize("key", SOME)
def test_the_electric_piano_is_soft_at_60_and_barks_at_110(key: int) -> None:
    fundamental = 440 * 2 ** ((key - 69) / 12)
    soft, hard = (
        band(part_of(played(ELECTRIC_PIANO, key, one), 0.05, 0.4), 1.5 * fundamental, 9000)
        for one in (60, 110)
    )
    assert soft < -8
    assert hard > soft + 5


@pytest.mark.parametrize("key", SOME)
def test_the_electric_piano_begins_with_a_bell_that_does_not_last(key: int) -> None:
    fundamental = 440 * 2 ** ((key - 69) / 12)
    # the second mode of a clamped bar lies 6.27 times above the first (from memory)
    bell = (6.13 * fundamental, 6.4 * fundamental)
    wave = played(ELECTRIC_PIANO, key, 100)
    assert band(part_of(wave, 0.0, 0.1), *bell) > -38
    assert band(part_of(wave, 0.5, 0.8), *bell) < -50


@pytest.mark.parametrize("key", SOME)
def test_an_organ_key_sounds_as_loud_after_three_seconds_as_at_first(key: int) -> None:
    wave = played(ORGAN, key, held=4.0)
    tenths = [rms(part_of(wave, start / 10, start / 10 + 0.3)) for start in range(1, 36)]
    assert max(tenths) - min(tenths) < 4.0  # the rotor's swell
    assert max(tenths) - min(tenths) > 0.5


def test_an_organ_hardly_minds_how_hard_a_key_is_struck() -> None:
    soft, hard = (level(played(ORGAN, 60, velocity), RATE) for velocity in (60, 120))
    assert 0 < hard - soft < 6


@pytest.mark.parametrize("instrument", [ELECTRIC_PIANO, ORGAN], ids=["piano", "organ"])
@pytest.mark.parametrize("key", SOME)
def test_nothing_clicks_when_the_sample_loops(instrument: Instrument, key: int) -> None:
    wave = played(instrument, key, 90, held=3.5)
    tenths = [roughness(part_of(wave, start / 10, start / 10 + 0.2)) for start in range(2, 33)]
    for before, after in pairwise(tenths):
        assert after < 1.15 * before + 2 / 32768


@pytest.mark.parametrize("instrument", [ELECTRIC_PIANO, ORGAN], ids=["piano", "organ"])
@pytest.mark.parametrize("key", SOME)
def test_nothing_clicks_when_a_key_is_let_go(instrument: Instrument, key: int) -> None:
    wave = played(instrument, key, 90, held=0.8)
    before = roughness(part_of(wave, 0.6, 0.8))
    assert roughness(part_of(wave, 0.8, 1.3)) < 1.1 * before


@pytest.mark.parametrize("instrument", [ELECTRIC_PIANO, ORGAN], ids=["piano", "organ"])
def test_a_key_let_go_falls_silent(instrument: Instrument) -> None:
    wave = played(instrument, 60, held=0.5)
    assert 0.0 == np.max(np.abs(part_of(wave, 0.9, 1.3)))
