"""Scores of a few notes, for tests of the sound."""

import hashlib

import numpy as np

from engine.score import (
    ELECTRIC_PIANO,
    FINGER_BASS,
    KIT,
    PERCUSSION_CHANNEL,
    Instrument,
    NoteEvent,
    Part,
    Score,
    Track,
)
from engine.sound import Clip
from engine.theory import Key, Midi, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick

KEY = Key(Note("F"))


def hit(tick: int, midi: int, velocity: int = 100, length: int = TICKS_PER_BEAT) -> NoteEvent:
    return NoteEvent(Tick(tick), Tick(length), Midi(midi), velocity)


def score(*tracks: Track, bars: int = 1, tempo: float = 120.0) -> Score:
    return Score(tempo, KEY, False, tracks, Tick(bars * TICKS_PER_BAR))


def bass(*notes: NoteEvent, instrument: Instrument = FINGER_BASS) -> Track:
    return Track(Part.BASS, instrument, 0, notes)


def keys(*notes: NoteEvent, instrument: Instrument = ELECTRIC_PIANO) -> Track:
    return Track(Part.KEYS, instrument, 1, notes)


def drums(*notes: NoteEvent) -> Track:
    return Track(Part.DRUMS, KIT, PERCUSSION_CHANNEL, notes)


def peak(clip: Clip) -> float:
    """Decibels under full scale of the largest frame."""
    return 20 * float(np.log10(np.max(np.abs(clip.frames.astype(float))) / 32768 + 1e-9))


def digest(clip: Clip) -> str:
    """A name for exactly these frames."""
    return hashlib.sha256(clip.frames.tobytes()).hexdigest()
