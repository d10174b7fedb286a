"""A twelve-bar chorus for three, written out here so that measurements do not depend on the band.

A shuffle in F at 120 beats a minute: walking bass, chords of four on the off-beats, ride and
snare. Invented for measuring; common practice, no source.
"""

from engine.score import (
    ELECTRIC_PIANO,
    FINGER_BASS,
    KIT,
    PERCUSSION_CHANNEL,
    Drum,
    Instrument,
    NoteEvent,
    Part,
    Score,
    Track,
)
from engine.theory import Key, Midi, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick

TEMPO = 120.0
ROOTS = (41, 46, 41, 41, 46, 46, 41, 38, 43, 36, 41, 36)
"""The lowest root of each bar: F Bb F F, Bb Bb F D, G C F C."""

WALK = (0, 4, 7, 9)
CHORD = (16, 22, 26, 31)
"""Third, seventh, ninth and fifth, in semitones above the root two octaves down."""

LATE = Tick(TICKS_PER_BEAT * 2 // 3)
"""The off-beat of a shuffle."""


def chorus(comping: Instrument = ELECTRIC_PIANO) -> Score:
    """The whole chorus, 24 seconds."""
    tracks = (
        Track(Part.BASS, FINGER_BASS, 0, tuple(_bass())),
        Track(Part.KEYS, comping, 1, tuple(_keys())),
        Track(Part.DRUMS, KIT, PERCUSSION_CHANNEL, tuple(_drums())),
    )
    length = Tick(len(ROOTS) * TICKS_PER_BAR)
    return Score(TEMPO, Key(Note("F")), False, tracks, length)


def _bass() -> list[NoteEvent]:
    return [
        _note(bar, beat, 0, root - 12 * (root > 43) + step, 94 if beat == 0 else 90, 880)
        for bar, root in enumerate(ROOTS)
        for beat, step in enumerate(WALK)
    ]


def _keys() -> list[NoteEvent]:
    return [
        _note(bar, beat, LATE, root - 12 * (root > 43) + step, 80 + 2 * beat, length)
        for bar, root in enumerate(ROOTS)
        for beat, length in ((0, 300), (2, 600))
        for step in CHORD
    ]


def _drums() -> list[NoteEvent]:
    notes = []
    for bar in range(len(ROOTS)):
        for beat in range(4):
            back = beat % 2 == 1
            notes.append(_note(bar, beat, 0, Drum.SNARE.value if back else Drum.KICK.value, 92))
            if back:
                notes.append(_note(bar, beat, 0, Drum.PEDAL_HAT.value, 84))
            notes.append(_note(bar, beat, 0, Drum.RIDE.value, 90))
            notes.append(_note(bar, beat, LATE, Drum.RIDE.value, 76))
    return sorted(notes, key=lambda note: (note.start, note.midi))


def _note(bar: int, beat: int, late: int, midi: int, velocity: int, length: int = 160) -> NoteEvent:
    start = bar * TICKS_PER_BAR + beat * TICKS_PER_BEAT + late
    return NoteEvent(Tick(start), Tick(length), Midi(midi), velocity)
