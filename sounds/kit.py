"""The drum kit: kick, side stick, snare and cymbals, at their General MIDI level 1 keys.

Numbers were set by comparing spectra and envelopes with recorded kits, not by listening.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from sounds.cymbals import RATE, closed_hat, crash, hiss, pedal_hat, ride, stick
from sounds.exact import Wave, decay, from_decibels, rise, sine, tone
from sounds.filters import filtered, low_pass
from sounds.looping import sixteen_bit
from sounds.loudness import levelled
from sounds.sf2 import (
    VELOCITY_TO_CUTOFF,
    Generator,
    Instrument,
    Modulator,
    Sample,
    Zone,
    timecents,
)

DRIVE = 1.7
"""Where the peak of a drum lies on the curve of `driven`, below 3."""

HATS = 1
"""Exclusive class: a foot on the hat ends what a stick began, and the reverse."""


class Piece(NamedTuple):
    """One drum or cymbal."""

    name: str
    key: int
    strike: Callable[[int], Wave]
    seconds: float
    level: float
    """K-weighted decibels under full scale."""

    pan: int
    """Tenths of a percent: -500 left, 500 right, seen from the seats."""

    exclusive: int = 0


def kick(total: int) -> Wave:
    """A small bass drum with a felt beater: a short fall in pitch, more tone than click."""
    hertz = 58 + 95 * decay(420, total, RATE)
    wave = sine(np.cumsum(hertz) / RATE) * decay(125, total, RATE) * rise(60, total)
    wave += modes(total, (176, -8, 200), (262, -11, 260))
    return driven(wave + filtered(stick(total, 41, 700), low_pass(3500, RATE)) * 5.5)


def side_stick(total: int) -> Wave:
    """The stick laid across the rim: wood, and a little of the shell."""
    wave = modes(
        total,
        (410, -17, 240),
        (905, -3, 330),
        (1240, -5, 300),
        (1730, 0, 380),
        (2560, -4, 430),
        (3710, -3, 480),
        (5130, -7, 560),
        (7300, -12, 700),
    )
    return driven(wave * rise(8, total) + stick(total, 42, 2500) * 2.5)


def snare(total: int) -> Wave:
    """Two heads and the wires: a short tone and a crisp rattle."""
    wave = modes(total, (184, -4, 190), (247, -2, 200), (331, -5, 230), (487, -10, 280))
    wires = hiss(total, 43, 1400, 8000, 140) * rise(50, total)
    wires += hiss(total, 44, 3500, 11_000, 200)
    return driven(wave * rise(20, total) + wires * 0.7 + stick(total, 45, 1500) * 0.8)


def driven(wave: Wave) -> Wave:
    """The loudest moments pressed, as a close microphone and a desk do.

    The curve is the Pade approximant of the hyperbolic tangent, flat at 3.
    """
    hot = wave * (DRIVE / float(np.max(np.abs(wave))))
    square = hot * hot
    return hot * (27 + square) / (27 + 9 * square)


def modes(total: int, *each: tuple[float, float, float]) -> Wave:
    """Sines: hertz, decibels, decibels a second."""
    wave = np.zeros(total)
    for hertz, level, fall in each:
        wave += tone(hertz, total, RATE) * decay(fall, total, RATE) * from_decibels(level)
    return wave


PIECES = (
    Piece("Kick", 36, kick, 0.42, -19.0, 0),
    Piece("Side stick", 37, side_stick, 0.22, -19.0, -60),
    Piece("Snare", 38, snare, 0.42, -17.0, -40),
    Piece("Closed hat", 42, closed_hat, 0.26, -24.5, -180, HATS),
    Piece("Pedal hat", 44, pedal_hat, 0.26, -25.0, -180, HATS),
    Piece("Crash", 49, crash, 2.6, -13.5, 150),
    Piece("Ride", 51, ride, 1.7, -21.0, 200),
)


def drum_kit() -> Instrument:
    """The seven pieces, each on its own key; soft blows are darker."""
    return Instrument(
        "Drum kit",
        [_zone(piece) for piece in PIECES],
        {Generator.RELEASE: timecents(20)},  # a note-off must not cut a cymbal
        (Modulator(VELOCITY_TO_CUTOFF, Generator.FILTER_CUTOFF, -2400),),
    )


def _zone(piece: Piece) -> Zone:
    total = round(piece.seconds * RATE)
    wave = levelled(_faded(piece.strike(total)), RATE, piece.level)
    sample = Sample(
        piece.name,
        sixteen_bit(wave),
        RATE,
        piece.key,
        0,
        (8, total - 8),  # never played, but readers want every sample to have one
    )
    generators = {Generator.ROOT_KEY: piece.key, Generator.PAN: piece.pan}
    if piece.exclusive:
        generators[Generator.EXCLUSIVE_CLASS] = piece.exclusive
    return Zone(sample, (piece.key, piece.key), (0, 127), generators)


def _faded(wave: Wave) -> Wave:
    """To silence over the last tenth."""
    return wave * rise(len(wave) // 10, len(wave))[::-1]
