"""Paths over the neck: which of all places of a line's notes are played, and where the hand lies.

A hand lies at a fret with one finger a fret, so at fret n it reaches n to n + 3, and with a stretch
n + 4. A path gives every note a place and the hand that plays it; what it costs is the sum of

    shift         a fret that the hand moves along the neck, from one note to the next
    stretch       a note at the fifth fret of the hand
    crossing      a string that the next note lies away
    open string   a note on an open string, during which the hand stays where it was. It rings on
                  and cannot be moved to another key, so it costs something unless the player likes
                  open strings; where they are preferred it earns something
    height        a fret up the neck, so that of two equal paths the lower one is shown

`PathCost` holds the numbers [chosen here, no source: with them the figures lie where players find
them]. Movement is what the hand travels in all, in frets.

The search is exact. Going backwards over the notes it finds what the rest of the line costs at
least from every place and hand; then it follows the cheapest beginnings first, each with that known
rest, so that paths come out in the order of their cost and nothing else is tried. Two paths are
different when some note is played at another place; each is shown with the hand that suits it
best. A note that is struck again stays where it is, which never costs more.
"""

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import NamedTuple

from engine.errors import MusicInputError
from engine.fretboard import FRETS as FRETS
from engine.fretboard import LEAST_FRETS as LEAST_FRETS
from engine.fretboard import MOST_FRETS as MOST_FRETS
from engine.fretboard import USUAL_NECK as USUAL_NECK
from engine.fretboard import Neck as Neck
from engine.fretboard import OpenStrings as OpenStrings
from engine.fretboard import Position as Position
from engine.fretboard import octave_words, octaves_that_fit
from engine.fretboard import positions as positions
from engine.fretboard import sounding as sounding
from engine.tunings import FOUR_STRING as FOUR_STRING
from engine.tunings import TUNINGS as TUNINGS
from engine.tunings import Tuning as Tuning
from engine.tunings import find_tuning as find_tuning

FINGERS = 4
"""One finger a fret: a hand at fret n reaches frets n to n + 3."""

REACH = FINGERS + 1
"""Frets that a hand reaches with a stretch."""

MOST_PATHS = 20
"""Paths that are looked for at most."""

EXACT = 9
"""Decimals to which costs are compared: sums of the same numbers in another order are equal."""


@dataclass(frozen=True, slots=True)
class PathCost:
    """What makes a path hard to play; the path with the smallest sum is shown first."""

    shift: float = 1.0
    """A fret that the hand moves along the neck."""

    crossing: float = 0.4
    """A string that the next note lies away."""

    open_string: float = 2.5
    """An open string; below 0 it is sought."""

    height: float = 0.02
    """A fret up the neck."""

    stretch: float = 1.25
    """A note at the fifth fret of the hand: dearer than moving over by a fret for good, cheaper
    than moving over and back."""


OPEN_COSTS = {OpenStrings.AVOID: 2.5, OpenStrings.NEUTRAL: 0.0, OpenStrings.PREFER: -1.5}
"""What an open string costs a player who thinks so. [chosen here, no source]"""


def path_cost(neck: Neck) -> PathCost:
    """What makes a path hard for the player of a neck."""
    return PathCost(open_string=OPEN_COSTS[neck.open_strings])


class Parts(NamedTuple):
    """What a path costs, part by part."""

    shift: float
    stretch: float
    crossing: float
    open_string: float
    height: float

    @property
    def total(self) -> float:
        """All of it."""
        return sum(self)


@dataclass(frozen=True, slots=True)
class Fingering:
    """A path over the neck, and the hand that plays it."""

    positions: tuple[Position, ...]
    hands: tuple[int, ...]
    """The lowest fret of the hand at each note."""

    parts: Parts

    @property
    def cost(self) -> float:
        """The sum of the parts."""
        return self.parts.total

    @property
    def movement(self) -> int:
        """Frets that the hand travels in all."""
        return _movement(self.hands)

    @property
    def stretches(self) -> int:
        """Notes that need a stretch over more than four frets."""
        return sum(map(_is_stretch, self.positions, self.hands))


def fingering(
    pitches: Sequence[int],
    tuning: Tuning = FOUR_STRING,
    frets: int = FRETS,
    cost: PathCost | None = None,
) -> tuple[Position, ...]:
    """The path over the neck that asks least of the hand, a position for each pitch.

    Raises MusicInputError naming the first pitch that is off the neck.
    """
    return fingerings(pitches, tuning, frets, cost, best=1)[0].positions


def fingerings(
    pitches: Sequence[int],
    tuning: Tuning = FOUR_STRING,
    frets: int = FRETS,
    cost: PathCost | None = None,
    best: int = 3,
) -> tuple[Fingering, ...]:
    """The `best` different paths over the neck, the cheapest first; fewer where there are fewer.

    Raises MusicInputError naming the first pitch that is off the neck and what octave would fit,
    or when no path, or more than MOST_PATHS, are asked for.
    """
    if not 1 <= best <= MOST_PATHS:
        raise MusicInputError(f"{best} paths were asked for: give 1 to {MOST_PATHS}")
    cost = cost or PathCost()
    struck = [(pitch, len(list(same))) for pitch, same in groupby(pitches)]
    places = [_checked_positions(pitch, pitches, tuning, frets) for pitch, _ in struck]
    hand = _Hand.over((one for some in places for one in some), frets, cost)
    steps = [
        [hand.place(position, times) for position in some]
        for some, (_, times) in zip(places, struck, strict=True)
    ]
    found = _cheapest(steps, hand, best)
    counts = [times for _, times in struck]
    return tuple(placed(_repeated(path, counts), frets, cost) for path in found)


def placed(path: Sequence[Position], frets: int = FRETS, cost: PathCost | None = None) -> Fingering:
    """A path that somebody plays, with the hand that makes it cheapest: of equal ones that which
    moves least."""
    cost = cost or PathCost()
    hand = _Hand.over(path, frets, cost)
    hands = _best_hands([hand.place(position, 1) for position in path], hand)
    parts = Parts(
        shift=cost.shift * _movement(hands),
        stretch=cost.stretch * sum(map(_is_stretch, path, hands)),
        crossing=cost.crossing * sum(abs(b.string - a.string) for a, b in pairwise(path)),
        open_string=cost.open_string * sum(position.fret == 0 for position in path),
        height=cost.height * sum(position.fret for position in path),
    )
    return Fingering(tuple(path), hands, parts)


def _movement(hands: Sequence[int]) -> int:
    return sum(abs(b - a) for a, b in pairwise(hands))


def _is_stretch(position: Position, hand: int) -> bool:
    return position.fret - hand >= FINGERS


def _repeated(path: Sequence[Position], counts: Sequence[int]) -> list[Position]:
    return [place for place, times in zip(path, counts, strict=True) for _ in range(times)]


def _checked_positions(
    pitch: int, pitches: Sequence[int], tuning: Tuning, frets: int
) -> tuple[Position, ...]:
    found = positions(pitch, tuning, frets)
    if found:
        return found
    low, high = tuning.strings[0][1], tuning.strings[-1][1] + frets
    fits = octaves_that_fit(pitches, tuning, frets)
    hint = "no octave fits" if fits is None else f"{octave_words(fits)} the whole line fits"
    raise MusicInputError(
        f"MIDI note {pitch} is off the neck: {tuning.name} with {frets} frets "
        f"has {low} to {high}; {hint}"
    )


# --- the hand -----------------------------------------------------------------------------------


class _Place(NamedTuple):
    """A position, with what it costs by itself from each hand that reaches it."""

    position: Position
    hands: Mapping[int, float]


_Costs = dict[int, float]
"""By the place of the hand."""


@dataclass(frozen=True, slots=True)
class _Hand:
    """What a hand can do on a neck."""

    cost: PathCost
    highest: int
    """The highest fret at which it may lie."""

    everywhere: tuple[int, ...]
    """Where it may lie while an open string sounds: wherever another note of the line wants it."""

    @classmethod
    def over(cls, places: Iterable[Position], frets: int, cost: PathCost) -> "_Hand":
        """The hand for a line that may be played at these places."""
        highest = max(frets - FINGERS + 1, 1)
        fretted = {place.fret for place in places if place.fret}
        wanted = {hand for fret in fretted for hand in _reaching(fret, highest)}
        return cls(cost, highest, tuple(sorted(wanted or {1})))

    def place(self, position: Position, times: int) -> _Place:
        """A position that is struck so many times running."""
        cost, fret = self.cost, position.fret
        if fret == 0:
            return _Place(position, dict.fromkeys(self.everywhere, times * cost.open_string))
        return _Place(
            position,
            {
                hand: times
                * (cost.height * fret + (cost.stretch if _is_stretch(position, hand) else 0.0))
                for hand in _reaching(fret, self.highest)
            },
        )

    def onward(self, spent: _Costs, here: Position, there: _Place) -> _Costs:
        """What it costs at least to be at `there` with each hand, coming from `here`."""
        crossed = self.cost.crossing * abs(there.position.string - here.string)
        if there.position.fret == 0:  # the hand stays
            return {hand: cost + crossed + there.hands[hand] for hand, cost in spent.items()}
        shift = self.cost.shift
        return {
            hand: min(cost + shift * abs(hand - before) for before, cost in spent.items())
            + crossed
            + own
            for hand, own in there.hands.items()
        }

    def rest(self, here: _Place, there: _Place, after: _Costs) -> _Costs:
        """What the line still costs at least behind `here`, going on to `there`, behind which it
        costs `after`."""
        crossed = self.cost.crossing * abs(there.position.string - here.position.string)
        if there.position.fret == 0:
            return {hand: crossed + there.hands[hand] + after[hand] for hand in here.hands}
        shift = self.cost.shift
        ends = [(hand, own + after[hand]) for hand, own in there.hands.items()]
        return {
            hand: crossed + min(cost + shift * abs(hand - to) for to, cost in ends)
            for hand in here.hands
        }


def _reaching(fret: int, highest: int) -> range:
    """The places of the hand that reach a fret, with a stretch or without."""
    return range(max(1, fret - REACH + 1), min(fret, highest) + 1)


# --- the search ---------------------------------------------------------------------------------


def _cheapest(steps: Sequence[Sequence[_Place]], hand: _Hand, best: int) -> list[list[Position]]:
    """The cheapest paths, in order; of equal ones the one on the lower string first."""
    if not steps:
        return [[]]
    rests = _rests(steps, hand)
    waiting = [
        _Beginning.of((index,), dict(place.hands), rests) for index, place in enumerate(steps[0])
    ]
    heapq.heapify(waiting)
    found: list[list[Position]] = []
    while waiting and len(found) < best:
        begun = heapq.heappop(waiting)
        done = len(begun.indices)
        if done == len(steps):
            path = zip(steps, begun.indices, strict=True)
            found.append([places[index].position for places, index in path])
            continue
        here = steps[done - 1][begun.indices[-1]].position
        for index, there in enumerate(steps[done]):
            spent = hand.onward(begun.spent, here, there)
            heapq.heappush(waiting, _Beginning.of((*begun.indices, index), spent, rests))
    return found


_Rests = list[list[_Costs]]
"""By note and by place: what the line behind it costs at least from each hand."""


class _Beginning(NamedTuple):
    """A path up to some note. The cheapest comes first, of equal ones the longest."""

    least: float
    """What the whole path costs at least."""

    left: int
    """Notes to go."""

    indices: tuple[int, ...]
    """Of the places taken, note by note."""

    spent: _Costs

    @classmethod
    def of(cls, indices: tuple[int, ...], spent: _Costs, rests: _Rests) -> "_Beginning":
        rest = rests[len(indices) - 1][indices[-1]]
        least = min(cost + rest[at] for at, cost in spent.items())
        return cls(round(least, EXACT), len(rests) - len(indices), indices, spent)


def _rests(steps: Sequence[Sequence[_Place]], hand: _Hand) -> _Rests:
    rests: _Rests = [[dict.fromkeys(place.hands, 0.0) for place in steps[-1]]]
    for here, there in zip(steps[-2::-1], steps[:0:-1], strict=True):
        behind = rests[-1]
        rests.append([_rest(place, there, behind, hand) for place in here])
    return rests[::-1]


def _rest(here: _Place, there: Sequence[_Place], behind: list[_Costs], hand: _Hand) -> _Costs:
    ways = [hand.rest(here, place, after) for place, after in zip(there, behind, strict=True)]
    return {at: min(way[at] for way in ways) for at in here.hands}


class _Placing(NamedTuple):
    """A hand up to some note of a path; smaller is better."""

    cost: float
    movement: int
    hands: tuple[int, ...]


def _best_hands(path: Sequence[_Place], hand: _Hand) -> tuple[int, ...]:
    """Where the hand lies at each note of a path."""
    if not path:
        return ()
    best = {at: _Placing(own, 0, (at,)) for at, own in path[0].hands.items()}
    for place in path[1:]:
        best = {
            at: min(
                _Placing(
                    round(one.cost + hand.cost.shift * abs(at - before) + own, EXACT),
                    one.movement + abs(at - before),
                    (*one.hands, at),
                )
                for before, one in best.items()
                if place.position.fret or at == before
            )
            for at, own in place.hands.items()
            if place.position.fret or at in best
        }
    return min(best.values()).hands
