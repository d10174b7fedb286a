"""Which device was played, documented like a metric.

A device in a key is a row of strikes: a pitch class over the tonic, and a beat. What was played is
a row of notes: a pitch class and a moment. Octaves never matter, nor how long a note lasts.

    beat of a note   (moment - first) / period; period and first are fitted to the device, near the
                     stated tempo where there is one, anywhere from SLOWEST to FASTEST otherwise
    cost of a pair   1 when the pitch classes differ, otherwise how late or early the note is:
                     0 up to EARLY_BEATS from its beat, rising evenly to 1 at LOST_BEATS; a second
                     eighth may lie anywhere between straight and the longest shuffle
    cost of a note that is missing, or too many   1
    distance         the cheapest alignment in order, divided by the strikes of the device: 0 for
                     its notes on its beats, 1 when nothing fits

The downbeat that a device arrives at may be played or left out. Where a device leaves beats to the
base pattern, the root of the chord or one of the catalogue's base patterns may stand there.

    it           distance up to SAME
    a variant    distance up to NEAR from a device with all notes of its own, when enough of them
                 fit to tell it by: FEWEST with so many different pitch classes, or MANY with
                 LIVELY; or the device doubled or late, up to SAME
    none         everything else

Devices at the same distance are told together: in bar 8 `1 3 4 #4 | 5` is a walk-up, in bar 11 a
climb, and a recording does not say which bar it was. Without a stated key every key is tried; the
one with the smallest distance is told, with all others that are as near, since the same steps
belong to several keys (`1 2 b3 3 | 4` is `5 6 b7 7 | 8` a fourth higher). [the measure is our own;
that real players vary a figure, late by two beats or with a flat third: common practice]
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from engine.catalogue import Catalogue, Device, Family
from engine.errors import MusicInputError
from engine.listening.notes import PlayedNote
from engine.pattern import Mark, Pattern, Tone
from engine.theory import OCTAVE, PLAYED_KEYS, Degree, Key
from engine.timing import BEATS_PER_BAR, FASTEST, SLOWEST

EARLY_BEATS, LOST_BEATS = 0.2, 0.6
EIGHTHS = (0.45, 0.78)
"""Where in the beat a second eighth may lie: straight to the longest shuffle, with some play."""

SAME = 0.08
NEAR = 0.23
"""One quarter in a bar and its arrival, two in two bars."""

FEWEST, MANY, LIVELY = 4, 6, 3
TEMPO_SLACK = 0.06
"""By how much of a stated tempo the played one may differ."""

SPARSEST = 3
"""Fewer notes are no figure."""

TIE = 0.005


class Standing(Enum):
    """What the nearest device is to what was played."""

    IT = "it"
    VARIANT = "variant"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Match:
    """A device in a key, and how far it is from what was played."""

    device: str
    """The id; of a device that was doubled or came late, its own without the change."""

    key: Key
    distance: float
    change: str | None = None
    """`doubled` or `late`, where that is what was played."""

    tempo: float = 0.0
    """Beats a minute that fit it best."""

    differs: tuple[str, ...] = ()
    """What is different, note by note, in words of degrees and beats."""


@dataclass(frozen=True, slots=True)
class Naming:
    """What came of naming a line."""

    standing: Standing
    nearest: Match | None
    """None when there was too little to compare."""

    also: tuple[Match, ...] = ()
    """Others as near; true as well."""


class Strike(NamedTuple):
    """A note that a device has."""

    earliest: float
    """Beats from its first strike; for a note on the beat both are the same."""

    latest: float
    pitch_class: int
    """Over the tonic."""

    @property
    def beat(self) -> float:
        return (self.earliest + self.latest) / 2


@dataclass(frozen=True, slots=True)
class Line:
    """One way to play a device."""

    device: str
    strikes: tuple[Strike, ...]
    change: str | None
    rank: int
    """Of lines as near, the lower comes first."""


class _Sounded(NamedTuple):
    moment: float
    pitch_class: int
    """Over the tonic."""


def name_line(
    notes: Sequence[PlayedNote],
    catalogue: Catalogue,
    key: Key | None = None,
    tempo: float | None = None,
) -> Naming:
    """The device nearest to what was played, in the stated key or in the best one."""
    if len(notes) < SPARSEST:
        return Naming(Standing.NONE, None)
    keys = PLAYED_KEYS if key is None else (key,)
    lines = lines_of(catalogue)
    tried: list[tuple[float, int, Line, Key]] = []
    for one in keys:
        sounded = [_Sounded(note.onset, note.above(one)) for note in notes]
        tried.extend((_least(line, sounded), line.rank, line, one) for line in lines)
    tried.sort(key=lambda row: row[:2])
    found: list[tuple[float, int, Match, int, int]] = []
    best = 1.0
    for least, rank, line, one in tried:
        if least > best + TIE:
            break
        sounded = [_Sounded(note.onset, note.above(one)) for note in notes]
        fit = _fit(line, sounded, tempo)
        if fit.distance <= best + TIE:
            best = min(best, fit.distance)
            match = Match(
                line.device,
                one,
                round(fit.distance, 3),
                line.change,
                round(60 / fit.period, 1),
                _differences(line, sounded, fit),
            )
            found.append((fit.distance, rank, match, fit.fitting, fit.lively))
    return _told(found, best)


def _told(found: Sequence[tuple[float, int, Match, int, int]], best: float) -> Naming:
    near = sorted((row for row in found if row[0] <= best + TIE), key=lambda row: (row[1], row[0]))
    if not near:
        return Naming(Standing.NONE, None)
    distance, rank, match, fitting, lively = near[0]
    own = match.change is None and rank < LEANING
    others: dict[tuple[str, Key], Match] = {}
    for _, _, other, _, _ in near[1:]:
        if (other.device, other.key) != (match.device, match.key):
            others.setdefault((other.device, other.key), other)
    if distance <= SAME:
        standing = Standing.IT if match.change is None else Standing.VARIANT
    elif own and distance <= NEAR and _telling(fitting, lively):
        standing = Standing.VARIANT
    else:
        standing = Standing.NONE
    return Naming(standing, match, tuple(others.values()))


def _telling(fitting: int, lively: int) -> bool:
    """Whether so many notes that fit, of so many pitch classes, are enough to tell a device by."""
    return lively >= FEWEST or (fitting >= MANY and lively >= LIVELY)


# --- the lines there are -------------------------------------------------------------------------


@lru_cache(maxsize=4)
def lines_of(catalogue: Catalogue) -> tuple[Line, ...]:
    """Every way to play every device that has a note of its own."""
    whole = list(catalogue.turnarounds())
    rows = [row for row in catalogue.devices if row.family is not Family.TURNAROUND]
    there = {device.id for device in whole}
    plain = whole + [row for row in rows if row.id not in there]
    changed = [
        (device, varied)
        for device in plain
        if device.family in (Family.TURNAROUND, Family.PICKUP, Family.ENDING, Family.HEAD)
        for varied in catalogue.variants(device)
        if "+" in varied.id and varied.id.rpartition("+")[0] == device.id
    ]
    lines: list[Line] = []
    for rank, device in enumerate(plain):
        lines.extend(_ways(device, device.id, None, _rank(device, rank), catalogue))
    for rank, (device, varied) in enumerate(changed):
        change = varied.id.rpartition("+")[2]
        lines.extend(_ways(varied, device.id, change, CHANGED + rank, catalogue))
    return tuple(lines)


LEANING, QUIET, CHANGED = 1_000_000, 2_000_000, 3_000_000
"""From these ranks on: devices that lean on the base pattern, plain ones, changed ones."""


def _rank(device: Device, place: int) -> int:
    """What says more comes first: a device with a note of its own on every beat, then those that
    lean on the base pattern, then base patterns and what is plain."""
    leans = any(step.what is Mark.BASE for step in device.pattern.steps)
    quiet = device.plain or device.family is Family.BASE
    return place + (QUIET if quiet else LEANING if leans else 0)


def _ways(
    device: Device, called: str, change: str | None, rank: int, catalogue: Catalogue
) -> Iterable[Line]:
    if not any(isinstance(step.what, Tone) for step in device.pattern.steps):
        return
    seen: set[tuple[Strike, ...]] = set()
    patterns = device.alternatives or (device.pattern,)
    for pattern in patterns:
        for filled in _filled(device, pattern, catalogue):
            for strikes in _readings(filled, device):
                if len(strikes) >= SPARSEST and strikes not in seen:
                    seen.add(strikes)
                    yield Line(called, strikes, change, rank)


_Beat = tuple[float, float, int]


def _filled(device: Device, pattern: Pattern, catalogue: Catalogue) -> list[list[_Beat]]:
    """The strikes of a pattern, once for each thing that may fill what it leaves to the base."""
    root = device.change.here.semitones if device.change is not None else 0
    own: list[_Beat] = []
    free: set[int] = set()
    for step in pattern.steps:
        if isinstance(step.what, Tone):
            shares = EIGHTHS if step.spot.offbeat else (0.0, 0.0)
            own.append(
                (
                    step.spot.beat + shares[0],
                    step.spot.beat + shares[1],
                    step.what.semitones % OCTAVE,
                )
            )
        elif step.what is Mark.BASE:
            free.add(step.spot.beat)
        elif step.what is Mark.LEAD:
            free.add(-1 - step.spot.beat)
    if device.family is Family.BASE:
        leads = [-1 - beat for beat in free]
        return [
            sorted([*own, *((beat, beat, way) for beat in leads)])
            for way in ((11, 1, 7) if leads else (0,))
        ]
    if not free:
        return [own]
    fills = [[(float(beat), float(beat), root % OCTAVE) for beat in free]]
    for row in catalogue.family(Family.BASE):
        if not any(step.what is Mark.LEAD for step in row.pattern.steps):
            fills.append(_from_base(row.pattern, free, root))
    return [sorted([*own, *fill]) for fill in fills]


def _from_base(pattern: Pattern, free: set[int], root: int) -> list[_Beat]:
    """What a base pattern plays on the free beats, over a dominant seventh."""
    length = pattern.bars * BEATS_PER_BAR
    strikes: list[_Beat] = []
    for step in pattern.steps:
        if not isinstance(step.what, Tone):
            continue
        shares = EIGHTHS if step.spot.offbeat else (0.0, 0.0)
        for beat in free:
            if beat % length == step.spot.beat:
                above = (root + step.what.semitones) % OCTAVE
                strikes.append((beat + shares[0], beat + shares[1], above))
    return strikes


def _readings(strikes: Sequence[_Beat], device: Device) -> Iterable[tuple[Strike, ...]]:
    """With the downbeat arrived at, and without; a base pattern of one bar also twice."""
    own = [Strike(*strike) for strike in strikes]
    pattern = device.pattern
    end = float(pattern.bars * BEATS_PER_BAR)
    if device.family is Family.BASE:
        again = [Strike(one.earliest + end, one.latest + end, one.pitch_class) for one in own]
        tonic = Strike(end, end, Degree(1).pitch_class)
        landing = Strike(2 * end, 2 * end, Degree(1).pitch_class)
        yield from (tuple(own), (*own, tonic), (*own, *again), (*own, *again, landing))
        return
    yield tuple(own)
    if pattern.arrival is not None:
        yield (*own, Strike(end, end, pattern.arrival.semitones % OCTAVE))


# --- how far -------------------------------------------------------------------------------------


class _Fit(NamedTuple):
    distance: float
    period: float
    first: float
    pairs: tuple[tuple[int | None, int | None], ...]
    fitting: int
    """Strikes that were played right and in time."""

    lively: int
    """Different pitch classes among them."""


def _least(line: Line, sounded: Sequence[_Sounded]) -> float:
    """A distance that the line cannot fall under: what is missing or too many, order aside."""
    mine = Counter(strike.pitch_class for strike in line.strikes)
    theirs = Counter(note.pitch_class for note in sounded)
    common = sum((mine & theirs).values())
    return (max(len(line.strikes), len(sounded)) - common) / len(line.strikes)


def _fit(line: Line, sounded: Sequence[_Sounded], tempo: float | None) -> _Fit:
    best: _Fit | None = None
    for period in _periods(line, sounded, tempo):
        for first in _firsts(line, sounded, period):
            fit = _aligned(line, sounded, period, first)
            refined = _refined(line, sounded, fit, tempo)
            if refined is not None:
                fit = min(fit, refined, key=lambda one: one.distance)
            if best is None or fit.distance < best.distance:
                best = fit
            if best.distance == 0.0:
                return best
    assert best is not None  # there is always a period
    return best


def _periods(line: Line, sounded: Sequence[_Sounded], tempo: float | None) -> list[float]:
    """Lengths of a beat that may be meant, in seconds."""
    if tempo is not None:
        return [60 / tempo]
    span = line.strikes[-1].beat - line.strikes[0].beat
    taken = sounded[-1].moment - sounded[0].moment
    steps = [after.moment - before.moment for before, after in pairwise(sounded)]
    step = median(steps)
    tried: list[float] = []
    for period in (taken / max(span, 1e-3), step, 2 * step, step / 2):
        held = min(max(period, 60 / FASTEST), 60 / SLOWEST)
        if all(abs(held / other - 1) > 0.03 for other in tried):
            tried.append(held)
    return tried


def _firsts(line: Line, sounded: Sequence[_Sounded], period: float) -> list[float]:
    """Moments at which beat 0 of the line may be: its ends laid on those of what was played."""
    start = sounded[0].moment - line.strikes[0].beat * period
    end = sounded[-1].moment - line.strikes[-1].beat * period
    return [start] if abs(start - end) < 0.1 * period else [start, end]


def _cost(strike: Strike, note: _Sounded, beat: float) -> float:
    if strike.pitch_class != note.pitch_class:
        return 1.0
    away = max(strike.earliest - beat, beat - strike.latest, 0.0)
    return min(max(away - EARLY_BEATS, 0.0) / (LOST_BEATS - EARLY_BEATS), 1.0)


def _aligned(line: Line, sounded: Sequence[_Sounded], period: float, first: float) -> _Fit:
    strikes = line.strikes
    beats = [(note.moment - first) / period for note in sounded]
    rows, columns = len(strikes) + 1, len(sounded) + 1
    cost = [[float(row + column) for column in range(columns)] for row in range(rows)]
    for row in range(1, rows):
        above, here, strike = cost[row - 1], cost[row], strikes[row - 1]
        for column in range(1, columns):
            pair = above[column - 1] + _cost(strike, sounded[column - 1], beats[column - 1])
            here[column] = min(pair, above[column] + 1.0, here[column - 1] + 1.0)
    pairs = _traced(cost, strikes, sounded, beats)
    hits = [
        strikes[one].pitch_class
        for one, other in pairs
        if one is not None
        and other is not None
        and _cost(strikes[one], sounded[other], beats[other]) < 1.0
    ]
    return _Fit(cost[-1][-1] / len(strikes), period, first, pairs, len(hits), len(set(hits)))


def _traced(
    cost: Sequence[Sequence[float]],
    strikes: Sequence[Strike],
    sounded: Sequence[_Sounded],
    beats: Sequence[float],
) -> tuple[tuple[int | None, int | None], ...]:
    row, column = len(strikes), len(sounded)
    pairs: list[tuple[int | None, int | None]] = []
    while row or column:
        here = cost[row][column]
        if row and column:
            own = _cost(strikes[row - 1], sounded[column - 1], beats[column - 1])
            if abs(here - cost[row - 1][column - 1] - own) < 1e-9:
                row, column = row - 1, column - 1
                pairs.append((row, column))
                continue
        if row and abs(here - cost[row - 1][column] - 1.0) < 1e-9:
            row -= 1
            pairs.append((row, None))
        else:
            column -= 1
            pairs.append((None, column))
    return tuple(pairs[::-1])


def _refined(
    line: Line, sounded: Sequence[_Sounded], fit: _Fit, tempo: float | None
) -> _Fit | None:
    """The alignment once more, with the beat drawn through the notes that fitted."""
    points = [
        (line.strikes[one].beat, sounded[other].moment)
        for one, other in fit.pairs
        if one is not None
        and other is not None
        and line.strikes[one].pitch_class == sounded[other].pitch_class
    ]
    if len(points) < 3:
        return None
    middle = sum(beat for beat, _ in points) / len(points)
    moment = sum(at for _, at in points) / len(points)
    spread = sum((beat - middle) ** 2 for beat, _ in points)
    if spread < 1e-6:
        return None
    period = sum((beat - middle) * (at - moment) for beat, at in points) / spread
    low, high = 60 / FASTEST, 60 / SLOWEST
    if tempo is not None:
        low, high = 60 / tempo * (1 - TEMPO_SLACK), 60 / tempo * (1 + TEMPO_SLACK)
    period = min(max(period, low), high)
    return _aligned(line, sounded, period, moment - middle * period)


# --- in words ------------------------------------------------------------------------------------

DEGREES = (
    Degree(1), Degree(2, -1), Degree(2), Degree(3, -1), Degree(3), Degree(4), Degree(4, 1),
    Degree(5), Degree(6, -1), Degree(6), Degree(7, -1), Degree(7),
)  # fmt: skip
"""How a bass player calls the twelve steps over a tonic. [common practice, no source]"""


def degree_above(semitones: int) -> Degree:
    """The degree of a pitch class over the tonic, as it is usually called."""
    return DEGREES[semitones % OCTAVE]


def _differences(line: Line, sounded: Sequence[_Sounded], fit: _Fit) -> tuple[str, ...]:
    said: list[str] = []
    for one, other in fit.pairs:
        if one is None and other is not None:
            said.append(f"{degree_above(sounded[other].pitch_class)} too many")
        elif other is None and one is not None:
            strike = line.strikes[one]
            said.append(f"{_place(strike)}: {degree_above(strike.pitch_class)} missing")
        elif one is not None and other is not None:
            strike, note = line.strikes[one], sounded[other]
            beat = (note.moment - fit.first) / fit.period
            if strike.pitch_class != note.pitch_class:
                was, is_now = degree_above(strike.pitch_class), degree_above(note.pitch_class)
                said.append(f"{_place(strike)}: {is_now} in place of {was}")
            elif _cost(strike, note, beat) > 0:
                said.append(f"{_place(strike)}: {beat - strike.beat:+.1f} beats off")
    return tuple(said)


def _place(strike: Strike) -> str:
    beat = int(strike.earliest + 1e-9)
    half = " and" if strike.latest > strike.earliest else ""
    return f"bar {beat // BEATS_PER_BAR + 1} beat {beat % BEATS_PER_BAR + 1}{half}"


def find_name(match: Match, catalogue: Catalogue) -> str:
    """What the screen calls the device of a match, the change said with it."""
    try:
        name = catalogue.find(match.device).name
    except MusicInputError:
        return match.device
    words = {"doubled": "doubled", "late": "two beats late"}
    return name if match.change is None else f"{name}, {words[match.change]}"
