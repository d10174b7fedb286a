"""Voicings of the keys: which notes of a chord, in which order, and which voicing comes next.

The cost of going from one voicing to the next is the semitones that the voices move in all (each
voice of the larger chord to its own or the nearest voice of the other), half of that again for the
top voice, which is heard most, a quarter of the distance of the mean from the middle of the
register, and 2 for each half step between neighbours. The cheapest voicing is next. The register,
the costs and what is added to a chord are common practice, no source.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import pairwise, product

from engine.chords import Chord
from engine.theory import OCTAVE, Degree, Midi

LOWEST, HIGHEST = Midi(52), Midi(76)
"""Between these lie all voices: E3, above nearly all of the bass, to E5."""

MIDDLE = 64
WIDEST_GAP = 9
"""Semitones between neighbouring voices, at most."""

FIFTH, NINTH, THIRTEENTH = Degree(5), Degree(2), Degree(6)
ADDED: dict[str, tuple[tuple[Degree, ...], ...]] = {
    # quality: what may stand beside third and seventh, in threes and in fours
    "7": ((FIFTH,), (NINTH,), (THIRTEENTH,), (FIFTH, NINTH), (NINTH, THIRTEENTH)),
    "maj7": ((FIFTH,), (NINTH,), (FIFTH, NINTH)),
    "m7": ((FIFTH,), (NINTH,), (FIFTH, NINTH)),
    "m6": ((FIFTH,), (NINTH,), (FIFTH, NINTH)),
    "6": ((FIFTH,), (NINTH,), (FIFTH, NINTH)),
    "m7b5": ((Degree(5, -1),),),
    "dim7": ((Degree(5, -1),),),
}

HOME_TONES = {
    # what may be added to a chord without leaving the key: degrees of the key, minor or not
    False: (
        Degree(1),
        Degree(2),
        Degree(3, -1),
        Degree(3),
        Degree(4),
        Degree(5),
        Degree(6),
        Degree(7, -1),
    ),
    True: (Degree(1), Degree(2), Degree(3, -1), Degree(4), Degree(5), Degree(6, -1), Degree(7, -1)),
}

Voicing = tuple[Midi, ...]
"""The voices of a chord, from low to high."""


def nearest(before: Voicing | None, options: Iterable[Voicing]) -> Voicing:
    """The cheapest of the options after `before`, the lower one of two that cost the same."""
    return min(options, key=lambda voicing: (cost(before, voicing), voicing))


def cost(before: Voicing | None, after: Voicing) -> float:
    """How far it is from one voicing to the next; see the head of this module."""
    mean = sum(after) / len(after)
    halves = sum(high - low == 1 for low, high in pairwise(after))
    place = abs(mean - MIDDLE) / 4 + 2 * halves
    if before is None:
        return place
    return _movement(before, after) + abs(after[-1] - before[-1]) / 2 + place


def _movement(before: Voicing, after: Voicing) -> int:
    if len(before) == len(after):
        return sum(abs(one - other) for one, other in zip(before, after, strict=True))
    small, large = sorted((before, after), key=len)
    return sum(min(abs(one - other) for other in small) for one in large)


@cache
def voicings(chord: Chord, tonic: int, minor: bool, voices: int) -> tuple[Voicing, ...]:
    """Every voicing of a chord in the key whose tonic has pitch class `tonic`.

    Third and seventh (or sixth) are in all of them, the root in none. `voices` are 3 or 4; a
    chord that has not enough notes in the key has 3.
    """
    pairs = [
        _pitches((chord.tones[1], chord.tones[3], *added), chord, tonic)
        for added in ADDED[chord.quality]
        if all(_at_home(degree, chord, minor) for degree in added)
    ]
    most = min(voices, max(map(len, pairs)))
    return tuple(
        sorted(
            {voicing for pitches in pairs if len(pitches) == most for voicing in _spread(pitches)}
        )
    )


def _at_home(added: Degree, chord: Chord, minor: bool) -> bool:
    own = added in chord.tones
    place = (chord.root.semitones + added.semitones) % OCTAVE
    return own or place in {degree.semitones for degree in HOME_TONES[minor]}


def _pitches(degrees: Iterable[Degree], chord: Chord, tonic: int) -> tuple[int, ...]:
    return tuple((tonic + chord.root.semitones + degree.semitones) % OCTAVE for degree in degrees)


def _spread(pitches: Sequence[int]) -> Iterator[Voicing]:
    """All ways to lay the pitch classes out in the register without a gap that is too wide."""
    places = [
        [Midi(midi) for midi in range(LOWEST, HIGHEST + 1) if midi % OCTAVE == pitch]
        for pitch in pitches
    ]
    for laid in product(*places):
        voicing = tuple(sorted(laid))
        if all(high - low <= WIDEST_GAP for low, high in pairwise(voicing)):
            yield voicing
