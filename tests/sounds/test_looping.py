"""Loops: exact periods, tuned pitch, no seam."""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from sounds.bass import FIRST_ROOT, LAST_ROOT, finger_bass
from sounds.electric_piano import electric_piano
from sounds.looping import GUARD, find_loop, frozen, hertz, partial, sixteen_bit
from sounds.organ import organ
from sounds.sf2 import Instrument


@cache
def built(build: Callable[[], Instrument]) -> Instrument:
    """An instrument; building one takes seconds, and nothing here changes it."""
    return build()


@pytest.mark.parametrize("key", range(21, 100))
def test_a_loop_and_its_correction_reach_the_pitch_within_half_a_cent(key: int) -> None:
    loop = find_loop(hertz(key), 22_050, 0.02, 0.12)
    sounding = loop.periods * 22_050 / loop.frames * 2 ** (loop.correction / 1200)
    # ISO 16:1975, A4 = 440 Hz, equal temperament
    assert abs(1200 * np.log2(sounding / (440 * 2 ** ((key - 69) / 12)))) < 0.5


def test_a_loop_that_cannot_be_in_tune_is_refused() -> None:
    with pytest.raises(ValueError, match="no loop of"):
        find_loop(20_000.0, 22_050, 0.00001, 0.00005)


def test_a_partial_comes_round_exactly() -> None:
    loop = find_loop(hertz(40), 22_050, 0.02, 0.12)
    once = partial(loop, 7, 0.3)
    turns = np.arange(loop.frames) * 7 * loop.periods / loop.frames + 0.3
    assert np.max(np.abs(once - np.sin(2 * np.pi * turns))) < 1e-9


def test_an_envelope_stands_still_from_where_it_is_frozen() -> None:
    held = frozen(np.linspace(1, 0, 100), 30, 100)
    assert np.array_equal(np.linspace(1, 0, 100)[:30], held[:30])
    assert len(set(held[30:].tolist())) == 1


def test_a_wave_over_full_scale_is_refused() -> None:
    with pytest.raises(ValueError, match=r"reaches 1\.50 of full scale"):
        sixteen_bit(np.array([0.1, -1.5]))


@pytest.mark.parametrize("build", [finger_bass, electric_piano, organ])
def test_what_follows_a_loop_is_its_beginning_to_the_bit(build: Callable[[], Instrument]) -> None:
    for zone in built(build).zones:
        start, end = zone.sample.loop
        frames = zone.sample.frames
        assert np.array_equal(frames[start : start + GUARD], frames[end : end + GUARD])
        assert np.array_equal(frames[start - 8 : start], frames[end - 8 : end])


def test_no_bass_sample_is_bent_by_more_than_a_semitone_on_the_neck() -> None:
    for zone in built(finger_bass).zones:
        for key in range(max(zone.keys[0], FIRST_ROOT - 1), min(zone.keys[1], LAST_ROOT + 1) + 1):
            assert abs(key - zone.sample.root) <= 1


@pytest.mark.parametrize("build", [finger_bass, electric_piano, organ])
def test_every_key_and_velocity_has_exactly_one_sample(build: Callable[[], Instrument]) -> None:
    covered = np.zeros((128, 128), dtype=int)
    for zone in built(build).zones:
        keys, velocities = (slice(low, high + 1) for low, high in (zone.keys, zone.velocities))
        covered[keys, velocities] += 1
    assert np.all(covered == 1)
