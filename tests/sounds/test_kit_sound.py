"""The drum kit as it comes out of the synthesizer."""

import numpy as np
import pytest

from engine.score import KIT, Drum, Instrument, NoteEvent, Part
from engine.sound import render
from engine.theory import Midi
from sounds import soundfont_path
from tests.sounds.loudness_meter import level
from tests.sounds.played import DRY, RATE, Wave, band, part_of, played, rms, score, seconds, track

PLAIN = Instrument("plain kit", 0, bank=128, volume=127, reverb=0)


def struck(*blows: tuple[float, Drum], held: float = 0.05) -> Wave:
    """The dry kit, each piece struck at a second of its own."""
    notes = [
        NoteEvent(seconds(start), seconds(held), Midi(drum.value), 100) for start, drum in blows
    ]
    clip = render(score(track(PLAIN, *notes, part=Part.DRUMS)), soundfont_path(), DRY)
    return np.asarray(clip.frames.mean(axis=1) / 32768)


@pytest.mark.parametrize("drum", Drum)
def test_every_piece_sounds_at_once_and_dies_away(drum: Drum) -> None:
    wave = played(KIT, drum.value, 100, held=3.5)
    assert np.argmax(np.abs(wave) > 0.01) < 0.006 * RATE
    assert 0.0 == np.max(np.abs(part_of(wave, 3.0, 3.5)))


@pytest.mark.parametrize(
    ("drum", "low", "high"),
    [
        # where most of a recorded piece's energy lies (common practice, no source)
        (Drum.KICK, 40, 200),
        (Drum.SIDE_STICK, 700, 6000),
        (Drum.SNARE, 150, 12_000),
        (Drum.CLOSED_HAT, 3000, 18_000),
        (Drum.PEDAL_HAT, 1000, 18_000),
        (Drum.CRASH, 300, 16_000),
        (Drum.RIDE, 1500, 16_000),
    ],
)
def test_every_piece_lies_in_its_own_band(drum: Drum, low: float, high: float) -> None:
    assert band(part_of(played(KIT, drum.value, 100), 0.0, 0.4), low, high) > -0.8


def test_the_snare_has_a_tone_and_wires() -> None:
    wave = part_of(played(KIT, Drum.SNARE.value, 100), 0.0, 0.1)
    assert band(wave, 150, 400) > -8
    assert band(wave, 2000, 12_000) > -14


def test_a_soft_stroke_is_quieter_and_darker() -> None:
    for drum in (Drum.SNARE, Drum.RIDE, Drum.CLOSED_HAT):
        soft, hard = (part_of(played(KIT, drum.value, one), 0.0, 0.3) for one in (50, 110))
        assert rms(soft) < rms(hard) - 8
        assert band(soft, 6000, 20_000) < band(hard, 6000, 20_000) - 0.5


def test_a_note_off_does_not_cut_a_cymbal() -> None:
    short = struck((0.0, Drum.RIDE), held=0.05)
    long = struck((0.0, Drum.RIDE), held=1.5)
    difference = rms(part_of(short, 1.0, 1.4)) - rms(part_of(long, 1.0, 1.4))
    assert abs(difference) < 6


def test_the_foot_closes_a_hat_that_was_struck() -> None:
    both = struck((0.0, Drum.CLOSED_HAT), (0.02, Drum.PEDAL_HAT))
    alone, foot = struck((0.0, Drum.CLOSED_HAT)), struck((0.02, Drum.PEDAL_HAT))
    left = both - foot[: len(both)]  # what is left of the stick's stroke
    assert rms(part_of(left, 0.06, 0.10)) < rms(part_of(alone, 0.06, 0.10)) - 4
    assert rms(part_of(left, 0.10, 0.15)) < rms(part_of(alone, 0.10, 0.15)) - 8


def test_ride_and_hat_are_softer_than_snare_and_kick() -> None:
    loud = {drum: level(played(KIT, drum.value, 100), RATE) for drum in Drum}
    assert loud[Drum.RIDE] < loud[Drum.SNARE]
    assert loud[Drum.CLOSED_HAT] < loud[Drum.SNARE]
    assert loud[Drum.PEDAL_HAT] < loud[Drum.SNARE]
    assert abs(loud[Drum.KICK] - loud[Drum.SNARE]) < 4
