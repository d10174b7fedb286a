"""The SoundFont as an independent parser reads it: sf2utils, LGPL."""

import logging
import warnings
from collections.abc import Iterator
from typing import Any

import pytest

from sounds import soundfont_path

# General MIDI level 1 sound set, zero-based programs; bank 128 is the usual place of kits
EXPECTED = {(0, 4), (0, 16), (0, 33), (128, 0)}

# General MIDI level 1 percussion map
KIT_KEYS = {36, 37, 38, 42, 44, 49, 51}


@pytest.fixture(scope="module")
def font() -> Iterator[Any]:
    with warnings.catch_warnings():
        # the parser imports a standard module that Python 3.11 and 3.12 call deprecated
        warnings.simplefilter("ignore", DeprecationWarning)
        parser = pytest.importorskip("sf2utils.sf2parse", exc_type=ImportError)
    with soundfont_path().open("rb") as file:
        yield parser.Sf2File(file)


def presets(font: Any) -> dict[tuple[int, int], Any]:
    return {(one.bank, one.preset): one for one in font.presets if one.name != "EOP"}


def test_it_is_read_without_a_warning(font: Any, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING):
        samples = [sample for sample in font.samples if sample.name != "EOS"]
        font.build_presets()
        font.build_instruments()
    assert len(samples) > 50
    assert [] == caplog.messages


def test_the_presets_are_where_general_midi_has_them(font: Any) -> None:
    assert set(presets(font)) == EXPECTED


def test_the_kit_has_the_seven_pieces_at_their_general_midi_keys(font: Any) -> None:
    (bag,) = presets(font)[128, 0].bags
    zones = [zone for zone in bag.instrument.bags if zone.sample is not None]
    assert {zone.key_range[0] for zone in zones} == KIT_KEYS
    assert all(zone.base_note == zone.key_range[0] for zone in zones)


@pytest.mark.parametrize("place", [(0, 4), (0, 16), (0, 33)])
def test_every_melodic_sample_is_looped_and_centred_on_its_key(
    font: Any, place: tuple[int, int]
) -> None:
    (bag,) = presets(font)[place].bags
    shared, *zones = bag.instrument.bags
    assert shared.sample_loop
    assert len(zones) > 10
    for zone in zones:
        low, high = zone.key_range
        assert low <= zone.sample.original_pitch <= high
        assert zone.sample.is_mono
        assert abs(zone.sample.pitch_correction) <= 50


def test_it_names_itself_and_its_licence(font: Any) -> None:
    assert "lastbar" in font.info.bank_name
    assert "MIT" in font.info.comments
