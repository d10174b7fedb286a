"""The neck of the bass: tunings, positions of a pitch, and a playable path for a line.

Fret n of a string sounds n semitones over the open string. A path is found over all positions of
all notes by the hand that has to move least: see `PathCost`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from engine.errors import MusicInputError, shown
from engine.theory import Midi

FINGERS = 4
"""One finger a fret: a hand at fret n reaches frets n to n + 3."""


@dataclass(frozen=True, slots=True)
class Tuning:
    """The open strings of an instrument."""

    id: str
    name: str
    strings: tuple[tuple[str, Midi], ...]
    """Name and open pitch, lowest string first."""


def _strings(*pairs: tuple[str, int]) -> tuple[tuple[str, Midi], ...]:
    return tuple((name, Midi(pitch)) for name, pitch in pairs)


TUNINGS = (
    # Open strings sounding, a fourth apart: B0 E1 A1 D2 G2 C3. [common practice, no source]
    Tuning(
        "four-string", "four strings, E A D G", _strings(("E", 28), ("A", 33), ("D", 38), ("G", 43))
    ),
    Tuning(
        "drop-d", "four strings, D A D G", _strings(("low D", 26), ("A", 33), ("D", 38), ("G", 43))
    ),
    Tuning(
        "five-string",
        "five strings, B E A D G",
        _strings(("B", 23), ("E", 28), ("A", 33), ("D", 38), ("G", 43)),
    ),
    Tuning(
        "five-string-tenor",
        "five strings, E A D G C",
        _strings(("E", 28), ("A", 33), ("D", 38), ("G", 43), ("C", 48)),
    ),
    Tuning(
        "six-string",
        "six strings, B E A D G C",
        _strings(("B", 23), ("E", 28), ("A", 33), ("D", 38), ("G", 43), ("C", 48)),
    ),
)

FOUR_STRING = TUNINGS[0]
FRETS = 20


@dataclass(frozen=True, slots=True, order=True)
class Position:
    """A place on the neck."""

    string: int
    """Index into the strings of the tuning, 0 the lowest."""

    fret: int
    """0 is the open string."""


@dataclass(frozen=True, slots=True)
class PathCost:
    """What makes a path hard to play; the path with the smallest sum is shown."""

    shift: float = 1.0
    """A fret that the hand moves along the neck."""

    crossing: float = 0.4
    """A string that the next note lies away."""

    open_string: float = 2.5
    """An open string: it rings on, and it cannot be moved to another key."""

    height: float = 0.02
    """A fret up the neck: of two equal paths the lower one is shown."""


def find_tuning(name: str) -> Tuning:
    """The tuning of that id.

    Raises MusicInputError when there is none.
    """
    for tuning in TUNINGS:
        if tuning.id == name:
            return tuning
    allowed = ", ".join(tuning.id for tuning in TUNINGS)
    raise MusicInputError(f"there is no tuning {shown(name)}: give one of {allowed}")


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


def fingering(
    pitches: Sequence[int],
    tuning: Tuning = FOUR_STRING,
    frets: int = FRETS,
    cost: PathCost | None = None,
) -> tuple[Position, ...]:
    """The path over the neck that asks least of the hand, a position for each pitch.

    Raises MusicInputError naming the first pitch that is off the neck.
    """
    cost = cost or PathCost()
    best: dict[tuple[Position, int], tuple[float, tuple[Position, ...]]] = {}
    for index, pitch in enumerate(pitches):
        places = _places(pitch, tuning, frets)
        if index == 0:
            best = {place: (_own(place, cost), (place[0],)) for place in places}
            continue
        best = {place: _cheapest(best, place, cost) for place in places}
    return min(best.values(), default=(0.0, ()))[1]


def _places(pitch: int, tuning: Tuning, frets: int) -> list[tuple[Position, int]]:
    """Positions of a pitch with every place of the hand (its lowest fret) that reaches them."""
    found = positions(pitch, tuning, frets)
    if not found:
        low, high = tuning.strings[0][1], tuning.strings[-1][1] + frets
        raise MusicInputError(
            f"MIDI note {pitch} is off the neck: {tuning.name} with {frets} frets "
            f"has {low} to {high}"
        )
    highest_hand = max(frets - FINGERS + 1, 1)
    return [
        (position, hand)
        for position in found
        for hand in range(1, highest_hand + 1)
        if position.fret == 0 or hand <= position.fret < hand + FINGERS
    ]


def _own(place: tuple[Position, int], cost: PathCost) -> float:
    position, hand = place
    return cost.height * hand + (cost.open_string if position.fret == 0 else 0.0)


def _cheapest(
    best: dict[tuple[Position, int], tuple[float, tuple[Position, ...]]],
    place: tuple[Position, int],
    cost: PathCost,
) -> tuple[float, tuple[Position, ...]]:
    position, hand = place
    spent, path = min(
        (
            before
            + cost.shift * abs(hand - from_hand)
            + cost.crossing * abs(position.string - from_position.string),
            path,
        )
        for (from_position, from_hand), (before, path) in best.items()
    )
    return spent + _own(place, cost), (*path, position)
