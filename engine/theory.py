"""Letters, notes, degrees and keys: spelling by rule, never by looking a pitch up.

A note is a letter and its accidentals; a degree is a step of the major scale and its
accidentals, counted against the tonic of the key. Spelling counts letters from the tonic, so
b3 of C is Eb and never D#. C# and Db are different values that share a pitch class.
"""

from dataclasses import dataclass
from functools import cache
from typing import NewType

from engine.errors import MusicInputError

Midi = NewType("Midi", int)
"""A MIDI key number, 0 to 127; 60 is middle C (C4)."""

Cents = NewType("Cents", float)
"""Hundredths of an equal-tempered semitone."""

OCTAVE = 12

LETTERS = "CDEFGAB"
LETTER_PITCH = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
MAJOR_STEPS = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of the major scale's seven degrees above its tonic."""

A4 = Midi(69)
A4_HERTZ = 440.0
"""ISO 16:1975 standard tuning frequency."""


def accidental_text(alter: int) -> str:
    """`##` for 2, `` for 0, `bb` for -2: one sign a semitone."""
    return "#" * alter if alter > 0 else "b" * -alter


@dataclass(frozen=True, slots=True, order=True)
class Note:
    """A spelled note without an octave."""

    letter: str
    """One of C D E F G A B."""

    alter: int = 0
    """Semitones by which accidentals move the letter; -1 is one flat."""

    @property
    def pitch_class(self) -> int:
        """0 for C to 11 for B, whatever the spelling."""
        return (LETTER_PITCH[self.letter] + self.alter) % OCTAVE

    def __str__(self) -> str:
        return self.letter + accidental_text(self.alter)


@dataclass(frozen=True, slots=True, order=True)
class Degree:
    """A scale degree against a tonic: 1 b3 #4 8."""

    number: int
    """1 to 8; 8 is the octave above 1."""

    alter: int = 0
    """Semitones by which accidentals move the step of the major scale."""

    @property
    def semitones(self) -> int:
        """Semitones above the tonic, before any folding into one octave."""
        octaves, step = divmod(self.number - 1, len(MAJOR_STEPS))
        return octaves * OCTAVE + MAJOR_STEPS[step] + self.alter

    @property
    def pitch_class(self) -> int:
        """Semitones above the tonic, folded into one octave: 1 and 8 are both 0."""
        return self.semitones % OCTAVE

    def __str__(self) -> str:
        return accidental_text(self.alter) + str(self.number)


USUAL_DEGREES = tuple(
    Degree(number, alter)
    for number, alter in (
        (1, 0), (2, -1), (2, 0), (3, -1), (3, 0), (4, 0),
        (5, -1), (5, 0), (6, -1), (6, 0), (7, -1), (7, 0),
    )
)  # fmt: skip
"""What the twelve semitones over a tonic are called when nothing else says it."""


def usual_degree(semitones: int) -> Degree:
    """What a pitch so far over a tonic is called when nothing else says it."""
    return USUAL_DEGREES[semitones % OCTAVE]


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """A tonic, and whether the tune is minor."""

    tonic: Note
    minor: bool = False

    @property
    def sharps(self) -> int:
        """Sharps in the key signature, flats negative: 3 for A major, -3 for C minor."""
        fifths = "FCGDAEB".index(self.tonic.letter) - 1 + 7 * self.tonic.alter
        return fifths - 3 if self.minor else fifths

    def __str__(self) -> str:
        return f"{self.tonic} minor" if self.minor else str(self.tonic)


TONICS = tuple(
    Note(letter, alter)
    for alter, letters in ((-1, "CGDAEB"), (0, "FCGDAEB"), (1, "FC"))
    for letter in letters
)
"""The tonics of the fifteen major keys with up to seven accidentals, round the fifths from Cb."""

PLAYED_KEYS = tuple(
    Key(Note(name[0], -name.count("b")))
    for name in ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
)
"""The twelve keys that questions come in; a player may prefer F# to Gb. [common practice]"""

F_SHARP, G_FLAT = Key(Note("F", 1)), Key(Note("G", -1))


def as_called(key: Key, f_sharp: bool) -> Key:
    """A played key by the name that the player gives it: Gb is F# where that is preferred."""
    return F_SHARP if key == G_FLAT and f_sharp else key


MOST_SIGNS = 7
"""Sharps or flats that a key signature can hold."""


def with_signature(key: Key) -> Key:
    """The key, or the one that sounds alike when it needs more signs than a signature can hold."""
    if abs(key.sharps) <= MOST_SIGNS:
        return key
    step = -1 if key.sharps > 0 else 1
    letter = LETTERS[(LETTERS.index(key.tonic.letter) - step) % len(LETTERS)]
    alter = next(
        alter for alter in (-1, 0, 1) if Note(letter, alter).pitch_class == key.tonic.pitch_class
    )
    return Key(Note(letter, alter), key.minor)


@cache
def spell(degree: Degree, tonic: Note) -> Note:
    """The note of `degree` over `tonic`: count the letters, then adjust to the pitch."""
    steps = degree.number - 1
    letter = LETTERS[(LETTERS.index(tonic.letter) + steps) % len(LETTERS)]
    wanted = tonic.pitch_class + degree.semitones
    plain = LETTER_PITCH[letter]
    alter = (wanted - plain + OCTAVE // 2) % OCTAVE - OCTAVE // 2
    return Note(letter, alter)


def degree_of(note: Note, tonic: Note) -> Degree:
    """The degree, from 1 to 7, that `note` spells over `tonic`: the inverse of `spell`."""
    steps = (LETTERS.index(note.letter) - LETTERS.index(tonic.letter)) % len(LETTERS)
    distance = note.pitch_class - tonic.pitch_class - MAJOR_STEPS[steps]
    return Degree(steps + 1, (distance + OCTAVE // 2) % OCTAVE - OCTAVE // 2)


def same_pitch(one: Note, other: Note) -> bool:
    """Whether two spelled notes sound alike, octaves aside: F# and Gb do."""
    return one.pitch_class == other.pitch_class


def nearest_tonic(key: Key, low: int) -> Midi:
    """The lowest MIDI number of the key's tonic at or above `low`.

    Raises MusicInputError when `low` is no MIDI number.
    """
    if not 0 <= low <= 127:
        raise MusicInputError(f"MIDI number {low}: give 0 to 127")
    return Midi(low + (key.tonic.pitch_class - low) % OCTAVE)
