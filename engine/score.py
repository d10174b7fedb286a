"""A score: what each player of the band does, in ticks, ready for MIDI or for sound."""

from dataclasses import dataclass, replace
from enum import Enum

from engine.theory import Key, Midi
from engine.timing import Tick

PERCUSSION_CHANNEL = 9
"""General MIDI level 1: percussion sounds on the tenth channel, index 9."""


class Part(Enum):
    """A chair in the band. The value names the track in a MIDI file."""

    BASS = "Bass"
    KEYS = "Keys"
    DRUMS = "Drums"


class Drum(Enum):
    """The pieces of the kit, with their General MIDI percussion keys."""

    KICK = 36
    SIDE_STICK = 37
    SNARE = 38
    CLOSED_HAT = 42
    PEDAL_HAT = 44
    CRASH = 49
    RIDE = 51


@dataclass(frozen=True, slots=True)
class Instrument:
    """A sound for a part, in General MIDI's zero-based numbers."""

    name: str
    program: int
    """0 to 127."""

    bank: int = 0
    """0 for melodic sounds, 128 for kits."""

    volume: int = 100
    """Channel volume (controller 7), 0 to 127: the balance of the band is set here."""

    pan: int = 64
    """Controller 10: 0 left, 64 middle, 127 right."""

    reverb: int = 40
    """Controller 91, the reverb send, 0 to 127."""


FINGER_BASS = Instrument("finger bass", 33, volume=112, reverb=8)
ELECTRIC_PIANO = Instrument("electric piano", 4, volume=84, pan=44)
ORGAN = Instrument("organ", 16, volume=66, pan=44)
KIT = Instrument("drum kit", 0, bank=128, volume=100, pan=72)


@dataclass(frozen=True, slots=True)
class NoteEvent:
    """One sounding note."""

    start: Tick
    length: Tick
    """More than 0."""

    midi: Midi
    """For drums the percussion key."""

    velocity: int
    """1 to 127; below 60 the synthesizer is very quiet."""

    @property
    def end(self) -> Tick:
        return Tick(self.start + self.length)


@dataclass(frozen=True, slots=True)
class Track:
    """All that one part plays."""

    part: Part
    instrument: Instrument
    channel: int
    """MIDI channel index, 0 to 15; drums are on PERCUSSION_CHANNEL."""

    notes: tuple[NoteEvent, ...]
    """In order of start, then pitch. No two notes of one pitch overlap."""


@dataclass(frozen=True, slots=True)
class Score:
    """A passage for the band."""

    tempo: float
    """Beats a minute."""

    key: Key
    compound: bool
    """True when a beat is a dotted quarter (12/8), False when it is a quarter (4/4)."""

    tracks: tuple[Track, ...]
    length: Tick
    """Whole bars, the final bar included even if notes in it ring on."""

    def track(self, part: Part) -> Track | None:
        """The track of `part`, or None when that chair is empty."""
        return next((track for track in self.tracks if track.part is part), None)

    def with_notes(self, part: Part, notes: tuple[NoteEvent, ...]) -> "Score":
        """The score with these notes in the track of `part`, if that chair is taken."""
        tracks = (
            replace(track, notes=notes) if track.part is part else track for track in self.tracks
        )
        return replace(self, tracks=tuple(tracks))
