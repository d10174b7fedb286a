"""Playing single notes through the real synthesizer, for measuring them."""

from dataclasses import replace
from functools import cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from engine.score import (
    PERCUSSION_CHANNEL,
    Instrument,
    NoteEvent,
    Part,
    Score,
    Track,
)
from engine.sound import Mix, render
from engine.theory import Key, Midi, Note
from engine.timing import FRAME_RATE, TICKS_PER_BAR, TICKS_PER_BEAT, Tick
from sounds import soundfont_path

Wave = NDArray[np.float64]

RATE = FRAME_RATE
TEMPO = 120.0
DRY = Mix(reverb=False)
C_MAJOR = Key(Note("C"))


def seconds(length: float) -> Tick:
    """Ticks of a length in seconds at TEMPO."""
    return Tick(round(length * TEMPO / 60 * TICKS_PER_BEAT))


def whole_bars(end: Tick) -> Tick:
    """The end of the bar in which `end` lies."""
    return Tick(ceil(end / TICKS_PER_BAR) * TICKS_PER_BAR)


def score(*tracks: Track, tempo: float = TEMPO) -> Score:
    """A score of these tracks, as long as its notes need."""
    end = max(note.end for track in tracks for note in track.notes)
    return Score(tempo, C_MAJOR, False, tracks, whole_bars(end))


def track(instrument: Instrument, *notes: NoteEvent, part: Part = Part.BASS) -> Track:
    """A track on the channel that the instrument's bank asks for."""
    channel = PERCUSSION_CHANNEL if instrument.bank else 0
    return Track(part, instrument, channel, notes)


@cache
def played(instrument: Instrument, key: int, velocity: int = 90, held: float = 1.0) -> Wave:
    """One dry note from the middle at full channel volume, both channels averaged, 1.0 full scale.

    It lasts `held` seconds and is followed by at least half a second of tail.
    """
    plain = replace(instrument, volume=127, pan=64, reverb=0)
    event = NoteEvent(Tick(0), seconds(held), Midi(key), velocity)
    clip = render(score(track(plain, event)), soundfont_path(), DRY, tail_seconds=0.5)
    wave: Wave = clip.frames.mean(axis=1) / 32768
    wave.flags.writeable = False
    return wave


def part_of(wave: Wave, start: float, end: float) -> Wave:
    """The frames from one second to another."""
    return wave[round(start * RATE) : round(end * RATE)]


def rms(wave: Wave) -> float:
    """Root mean square in decibels under full scale."""
    return 10 * float(np.log10(np.mean(wave**2) + 1e-15))


def band(wave: Wave, low: float, high: float) -> float:
    """The share of the energy between two frequencies, in decibels, 0 for all of it."""
    energy = np.abs(np.fft.rfft(wave * np.hanning(len(wave)))) ** 2
    hertz = np.fft.rfftfreq(len(wave), 1 / RATE)
    inside = energy[(hertz >= low) & (hertz < high)]
    return 10 * float(np.log10(np.sum(inside) / np.sum(energy) + 1e-15))


def roughness(wave: Wave) -> float:
    """The largest second difference: what a click is made of."""
    return float(np.max(np.abs(np.diff(wave, 2))))
