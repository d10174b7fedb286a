"""Chords as the charts of a key write them: `I7`, `IVm7`, `#IVdim7`, `bVI7`.

The roman numeral gives the root as a degree of the key (upper case always); what follows gives
the quality. Notes of the chord are degrees against its own root.
"""

import re
from dataclasses import dataclass

from engine.errors import MusicInputError, shown
from engine.theory import OCTAVE, Degree, Note, spell

QUALITIES: dict[str, tuple[Degree, ...]] = {
    # quality: root, third, fifth, seventh. Standard chord construction, e.g. R. Hutchinson,
    # "Music Theory for the 21st-Century Classroom", chapter on seventh chords.
    "7": (Degree(1), Degree(3), Degree(5), Degree(7, -1)),
    "maj7": (Degree(1), Degree(3), Degree(5), Degree(7)),
    "m7": (Degree(1), Degree(3, -1), Degree(5), Degree(7, -1)),
    "m6": (Degree(1), Degree(3, -1), Degree(5), Degree(6)),
    "6": (Degree(1), Degree(3), Degree(5), Degree(6)),
    "m7b5": (Degree(1), Degree(3, -1), Degree(5, -1), Degree(7, -1)),
    "dim7": (Degree(1), Degree(3, -1), Degree(5, -1), Degree(7, -2)),
}

NUMERALS = ("I", "II", "III", "IV", "V", "VI", "VII")
_CHORD = re.compile(rf"([b#]?)({'|'.join(sorted(NUMERALS, key=len, reverse=True))})(\S*)")


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord of a key."""

    root: Degree
    """Against the tonic of the key, 1 to 7."""

    quality: str
    """A row of QUALITIES."""

    @property
    def tones(self) -> tuple[Degree, ...]:
        """Root, third, fifth and seventh (or sixth), against the chord's own root."""
        return QUALITIES[self.quality]

    def pitch_classes(self, tonic: Note) -> frozenset[int]:
        """The pitch classes (0 is C) that sound over `tonic`."""
        root = tonic.pitch_class + self.root.semitones
        return frozenset((root + tone.semitones) % OCTAVE for tone in self.tones)

    def symbol(self, tonic: Note) -> str:
        """The chord as a chart in the key of `tonic` writes it, such as `Bb7`."""
        return f"{spell(self.root, tonic)}{self.quality}"

    def __str__(self) -> str:
        return f"{str(self.root)[:-1]}{NUMERALS[self.root.number - 1]}{self.quality}"


def parse_chord(text: str) -> Chord:
    """Read a chord such as `IV7` or `#IVdim7`.

    Raises MusicInputError when the numeral or the quality is unknown.
    """
    match = _CHORD.fullmatch(text)
    if match is None or match[3] not in QUALITIES:
        raise MusicInputError(
            f"{shown(text)} is no chord: give a numeral from I to VII, b or # before it if need "
            f"be, and one of {' '.join(QUALITIES)} behind it, such as I7 or bVI7"
        )
    alter = {"": 0, "b": -1, "#": 1}[match[1]]
    return Chord(Degree(NUMERALS.index(match[2]) + 1, alter), match[3])


BarChords = tuple[Chord, Chord, Chord, Chord]
"""The chord that sounds on each of the four beats of a bar."""


def parse_bars(text: str) -> tuple[BarChords, ...]:
    """Read bars such as `I7 | IV7 V7 | I7`: one, two or four chords a bar, evenly spread.

    Raises MusicInputError when a bar holds another number of chords, or one is unreadable.
    """
    return tuple(_parse_bar(bar, number) for number, bar in enumerate(text.split("|"), start=1))


def _parse_bar(text: str, number: int) -> BarChords:
    chords = [parse_chord(token) for token in text.split()]
    if len(chords) not in (1, 2, 4):
        raise MusicInputError(
            f"bar {number} holds {len(chords)} chords ({shown(text.strip())}): give one, two or "
            "four"
        )
    beats = 4 // len(chords)
    one, two, three, four = (chord for chord in chords for _ in range(beats))
    return one, two, three, four
