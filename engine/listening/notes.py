"""What was heard: notes with their times, and the grid they were played against.

Times are seconds from the first frame of the take; a tuning is how many cents the whole instrument
stands above A4 = 440 Hz (ISO 16:1975), negative when it is flat.
"""

from dataclasses import dataclass, replace

from engine.feels import Feel, eighth_tick
from engine.theory import OCTAVE, Cents, Key, Midi
from engine.timing import TICKS_PER_BEAT

IN_TUNE = Cents(0.0)


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """One note that somebody played."""

    onset: float
    """Seconds from the start of the take."""

    length: float
    """Seconds until it ended or the next note began."""

    midi: Midi
    cents: Cents = IN_TUNE
    """How far it stood from its key once the instrument's tuning was taken off, -50 to 50."""

    confidence: float = 1.0
    """0 to 1: how periodic it was."""

    def above(self, key: Key) -> int:
        """Semitones above the tonic of `key`, octaves aside: 0 to 11."""
        return (self.midi - key.tonic.pitch_class) % OCTAVE


@dataclass(frozen=True, slots=True)
class Take:
    """What was heard in one go."""

    notes: tuple[PlayedNote, ...]
    """In order of their onsets."""

    seconds: float
    """How long the take is."""

    tuning: Cents = IN_TUNE
    """How the instrument is tuned; the notes' own cents are counted from there."""

    def later(self, seconds: float) -> "Take":
        """The take with its notes so much later."""
        moved = tuple(replace(note, onset=note.onset + seconds) for note in self.notes)
        return replace(self, notes=moved)


@dataclass(frozen=True, slots=True)
class Grid:
    """Where the beats are, when somebody plays along with a count-in."""

    start: float
    """Seconds from the start of the take to beat 0; may be negative."""

    tempo: float
    """Beats a minute."""

    feel: Feel = Feel.STRAIGHT

    @property
    def beat_seconds(self) -> float:
        return 60 / self.tempo

    @property
    def offbeat(self) -> float:
        """Where the second eighth stands, as a share of the beat."""
        return eighth_tick(self.feel, self.tempo) / TICKS_PER_BEAT

    def seconds(self, beat: float) -> float:
        """The moment of a beat, counted from 0."""
        return self.start + beat * self.beat_seconds

    def beats(self, seconds: float) -> float:
        """The moment in beats, counted from beat 0."""
        return (seconds - self.start) / self.beat_seconds

    def away(self, seconds: float) -> float:
        """Seconds from a moment to the nearest eighth of the grid."""
        part = self.beats(seconds) % 1
        return min(abs(part - spot) for spot in (0.0, self.offbeat, 1.0)) * self.beat_seconds
