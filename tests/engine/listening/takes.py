"""Takes for tests: a bass line, played by the project's SoundFont or by a foreign one, and spoiled.

Debian's `timgm6mb-soundfont` (Tim Brechbill's General MIDI set, GPL-2) has four basses at programs
32 to 35: acoustic, finger, pick and fretless. Where it is missing, the tests that want it skip.
"""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil, pi
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from engine.score import FINGER_BASS, NoteEvent, Part, Score, Track
from engine.sound import Mix, render
from engine.theory import Key, Midi, Note
from engine.timing import FRAME_RATE, TICKS_PER_BAR, TICKS_PER_BEAT, Tick
from sounds import soundfont_path

Wave = NDArray[np.float64]

FOREIGN = Path("/usr/share/sounds/sf2/TimGM6mb.sf2")
needs_foreign = pytest.mark.skipif(
    not FOREIGN.exists(), reason="install timgm6mb-soundfont: these takes are played by it"
)
BASSES = (32, 33, 34, 35)
"""General MIDI level 1, counted from 0: acoustic, finger, pick and fretless bass."""

RATE = FRAME_RATE
LEAD_IN = 1
"""Beats of silence before the first note."""

GAP = TICKS_PER_BEAT // 16
"""The finger comes off the string this long before the next note."""


class Struck(NamedTuple):
    """A note of a take."""

    beat: float
    """From the first downbeat."""

    midi: int
    beats: float = 1.0
    """How long it lasts."""

    velocity: int = 92


def quarters(pitches: Sequence[int]) -> list[Struck]:
    """A line of quarter notes."""
    return [Struck(float(place), pitch) for place, pitch in enumerate(pitches)]


def seconds_of(note: Struck, tempo: float) -> float:
    """When a note of a take begins, from the take's first frame."""
    return (note.beat + LEAD_IN) * 60 / tempo


def take(
    notes: Sequence[Struck],
    tempo: float,
    program: int = 33,
    cents: float = 0.0,
    soundfont: Path | None = None,
) -> Wave:
    """The sound of a line, both channels averaged, 1.0 full scale, detuned by `cents`.

    Without a SoundFont the project's own plays; it has the finger bass alone.
    """
    events = tuple(
        NoteEvent(
            Tick(round((note.beat + LEAD_IN) * TICKS_PER_BEAT)),
            Tick(round(note.beats * TICKS_PER_BEAT) - GAP),
            Midi(note.midi),
            note.velocity,
        )
        for note in notes
    )
    bass = replace(FINGER_BASS, program=program, pan=64, reverb=0)
    end = Tick(ceil(max(event.end for event in events) / TICKS_PER_BAR) * TICKS_PER_BAR)
    track = Track(Part.BASS, bass, 0, events)
    score = Score(tempo, Key(Note("C")), False, (track,), end)
    clip = render(score, soundfont or soundfont_path(), Mix(reverb=False), tail_seconds=0.5)
    wave: Wave = clip.frames.mean(axis=1) / 32768
    return detuned(wave, cents) if cents else wave


def detuned(wave: Wave, cents: float) -> Wave:
    """The whole take higher by `cents`, and so much shorter, as a tape that runs too fast."""
    ratio = 2 ** (cents / 1200)
    places = np.arange(0, len(wave) - 1, ratio)
    stretched: Wave = np.interp(places, np.arange(len(wave)), wave)
    return stretched


def noisy(wave: Wave, decibels: float, rng: np.random.Generator) -> Wave:
    """The take with white noise, `decibels` under the level of what sounds in it."""
    loud = wave[np.abs(wave) > 0.01 * np.max(np.abs(wave))]
    level = float(np.sqrt(np.mean(loud**2))) * 10 ** (-decibels / 20)
    louder: Wave = wave + rng.normal(0, level, len(wave))
    return louder


def humming(wave: Wave, decibels: float, hertz: float) -> Wave:
    """The take with mains hum, three partials, `decibels` under the level of what sounds in it."""
    loud = wave[np.abs(wave) > 0.01 * np.max(np.abs(wave))]
    level = float(np.sqrt(np.mean(loud**2))) * 10 ** (-decibels / 20)
    turns = 2 * pi * hertz * np.arange(len(wave)) / RATE
    hum = np.sin(turns) + 0.5 * np.sin(2 * turns + 1) + 0.3 * np.sin(3 * turns + 2)
    louder: Wave = wave + level * hum / np.sqrt(0.5 * (1 + 0.25 + 0.09))
    return louder


def knocked(wave: Wave, moments: Sequence[float], rng: np.random.Generator) -> Wave:
    """The take with a knock at each moment: 35 ms of dull noise, no pitch."""
    spoiled = wave.copy()
    peak = float(np.max(np.abs(wave)))
    length = int(0.035 * RATE)
    for moment in moments:
        noise = rng.normal(0, 1, length) * np.hanning(length)
        dull = np.convolve(noise, np.ones(20) / 20, "same")
        first = int(moment * RATE)
        spoiled[first : first + length] += 0.15 * peak * dull / np.max(np.abs(dull))
    return spoiled


def chattering(wave: Wave, moments: Sequence[float], rng: np.random.Generator) -> Wave:
    """The take with a fret that rattles four times after each moment, 30 ms apart."""
    spoiled = wave.copy()
    peak = float(np.max(np.abs(wave)))
    length = int(0.006 * RATE)
    for moment in moments:
        for turn in range(4):
            first = int((moment + 0.03 + 0.03 * turn) * RATE)
            noise = rng.normal(0, 1, length) * np.hanning(length)
            spoiled[first : first + length] += 0.2 * peak * noise
    return spoiled


def mixed(wave: Wave, other: Wave, decibels: float) -> Wave:
    """Two takes at once, the other one `decibels` under its own level."""
    length = min(len(wave), len(other))
    louder = wave.copy()
    louder[:length] += other[:length] * 10 ** (-decibels / 20)
    return louder


class Count(NamedTuple):
    """How a take was heard."""

    struck: int
    heard: int
    """With the right key, within NEAR_SECONDS of the stroke."""

    extra: int
    """Notes that nobody struck."""


NEAR_SECONDS = 0.08


def count(notes: Sequence[Struck], tempo: float, heard: Sequence[tuple[float, int]]) -> Count:
    """What became of the notes of a take; `heard` are onsets and MIDI keys."""
    left = list(heard)
    right = 0
    for note in notes:
        moment = seconds_of(note, tempo)
        for one in left:
            if abs(one[0] - moment) < NEAR_SECONDS and one[1] == note.midi:
                left.remove(one)
                right += 1
                break
    return Count(len(notes), right, len(left))
