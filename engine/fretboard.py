"""An instrument's neck, and the places on it: which pitch lies where.

Fret n of a string sounds n semitones over the open string.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from engine.theory import OCTAVE, Midi
from engine.tunings import FOUR_STRING, Tuning

FRETS = 20
LEAST_FRETS, MOST_FRETS = 20, 24
"""How many frets a neck may have."""


class OpenStrings(Enum):
    """What a player thinks of open strings. The value is what a settings file holds."""

    AVOID = "avoid"
    NEUTRAL = "neutral"
    PREFER = "prefer"


@dataclass(frozen=True, slots=True)
class Neck:
    """An instrument, and what its player thinks of open strings."""

    tuning: Tuning = FOUR_STRING
    frets: int = FRETS
    open_strings: OpenStrings = OpenStrings.AVOID

    @property
    def lowest(self) -> int:
        """The lowest pitch, MIDI number."""
        return self.tuning.open_pitches[0]

    @property
    def highest(self) -> int:
        """The highest pitch, MIDI number."""
        return self.tuning.open_pitches[-1] + self.frets


USUAL_NECK = Neck()
"""Four strings and twenty frets, open strings avoided."""


@dataclass(frozen=True, slots=True, order=True)
class Position:
    """A place on the neck."""

    string: int
    """Index into the strings of the tuning, 0 the lowest."""

    fret: int
    """0 is the open string."""


def positions(midi: int, tuning: Tuning = FOUR_STRING, frets: int = FRETS) -> tuple[Position, ...]:
    """Every position of a pitch, lowest string first; none when it is off the neck."""
    return tuple(
        Position(string, midi - pitch)
        for string, (_, pitch) in enumerate(tuning.strings)
        if 0 <= midi - pitch <= frets
    )


def sounding(position: Position, tuning: Tuning = FOUR_STRING) -> Midi:
    """The pitch of a position."""
    return Midi(tuning.strings[position.string][1] + position.fret)


def octaves_that_fit(
    pitches: Sequence[int], tuning: Tuning = FOUR_STRING, frets: int = FRETS
) -> int | None:
    """By how many octaves a line has to be moved for all of it to lie on the neck, as few as can
    be, up rather than down; None when it fits nowhere."""
    for octaves in sorted(range(-9, 10), key=lambda by: (abs(by), -by)):
        moved = [pitch + OCTAVE * octaves for pitch in pitches]
        if all(positions(pitch, tuning, frets) for pitch in moved):
            return octaves
    return None


def octave_words(octaves: int) -> str:
    """`an octave higher` or `2 octaves lower`."""
    direction = "higher" if octaves > 0 else "lower"
    return f"{'an octave' if abs(octaves) == 1 else f'{abs(octaves)} octaves'} {direction}"
