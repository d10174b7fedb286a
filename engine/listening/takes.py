"""From a whole take to the notes in it.

1. The take is thinned out; pitch and novelty are measured frame by frame.
2. Its tuning is measured: the circular mean of how far the steady frames stand from the nearest
   key. Everything after counts from there, so an instrument 30 cents flat is no reason to miss.
3. The peaks of the novelty cut it into stretches. Where a stretch has two pitches on end, each held
   for HELD_SECONDS, it is cut there too: a finger may change the pitch without a stroke.
4. Each stretch gets the key that most of its steady frames agree on, or none.
5. A cut stays when it is sure: the key changes, or the novelty is strong against that of the other
   notes of the take, or, with a grid, there is a beat. Otherwise the two stretches are one note: a
   fret that chatters, a partial that swells.
6. What is left over is no note: stretches without a pitch (ghost notes), short and soft ones,
   and tones that come up without a stroke far under the note before (strings that ring along).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from engine.errors import TakeError
from engine.listening.notes import IN_TUNE, Grid, PlayedNote, Take
from engine.listening.onsets import EARLY_SHARE, Candidate, candidates, measure, novelty
from engine.listening.pitch import PitchFrames, Thinner, Wave, hop_of, lifted, track
from engine.theory import OCTAVE, Cents, Midi

SHORTEST, LONGEST = 0.3, 300.0
"""Seconds that a take may last."""

SILENT = -60.0
"""Decibels under full scale: a take whose loudest moment is softer has nothing in it."""

STEADY = 0.25
"""The roughness under which a frame says something about the pitch."""

HELD_SECONDS = 0.06
"""So long a new pitch without a stroke must hold."""

SETTLED_SECONDS = 0.012
"""After an onset the pitch is not looked at for so long."""

SURE_SHARE = 0.28
"""Of the usual strength of a take's onsets that left something: so strong a stroke of the same key
counts."""

SURE_HOLE = 2.8
"""Decibels: a stroke of the same key after a hole so deep counts, however weak: a string that is
struck again in phase gains next to nothing. But not beside another weak stroke."""

LONELY_SECONDS = 0.3

GRID_SHARE = 0.5
"""What of that is enough where the grid has an eighth, and by what more is needed elsewhere."""

ON_GRID_SECONDS = 0.07

GHOST_SECONDS = 0.07
"""A pitched stretch shorter than this is none, unless the next note takes it in."""

GHOST_DECIBELS = 20.0
"""A note so far under the take's usual one is a ghost."""

BRIEF_SECONDS, BRIEF_DECIBELS = 0.1, 8.0
"""And one that is brief needs only be so far under it."""

EARLY_SECONDS = 0.1
"""A note begins where its rattle begins, but no longer before its pitch than this."""

KNOCK_SECONDS = 0.2
"""A stretch without a pitch that is no longer, inside a note that rings on, is part of the note."""

RINGING_DECIBELS = 9.0
"""A tone without a stroke so far under the note before is a string that rings along."""

CHATTER_SECONDS = 0.075
"""A stroke of the same key that soon is the same note."""

END_DECIBELS = 26.0
"""A note ends where it has fallen so far under its loudest moment."""

HUM_HERTZ = (50.0, 60.0, 100.0, 120.0, 150.0, 180.0)
HUM_SECONDS, HUM_SHARE, HUM_DECIBELS = 0.7, 0.005, 1.5
"""A tone so long, so near to a partial of the mains and so even is hum."""

ONSET_BIAS = 0.009
"""Seconds by which a peak of the novelty comes after the stroke; measured on rendered takes."""

_LEAD = 0.25
"""Seconds of silence that are put around a take, so that every note has two sides."""


def hear_take(samples: Wave, rate: int, grid: Grid | None = None) -> Take:
    """The notes of a take.

    `samples` are from one channel, 1.0 full scale. With a grid, a stroke where it has an eighth
    counts sooner. Raises TakeError for a take that is too short, too long or silent, and for a
    rate that is not allowed.
    """
    seconds = len(samples) / rate if rate > 0 else 0.0
    if seconds < SHORTEST:
        raise TakeError(f"{seconds:.2f} s is too short: play for at least {SHORTEST} s")
    if seconds > LONGEST:
        raise TakeError(f"{seconds:.0f} s is too long: give at most {LONGEST:.0f} s")
    loudest = 20 * float(np.log10(np.max(np.abs(samples)) + 1e-9))
    if loudest < SILENT:
        raise TakeError(
            f"the take is silent (at most {loudest:.0f} dB): check the cable and the input's level"
        )
    thinner = Thinner(rate)
    thin = thinner.feed(np.concatenate([samples, np.zeros(rate // 10)]))
    return replace(hear_thin(thin, thinner.rate, grid), seconds=seconds)


def hear_thin(thin: Wave, rate: float, grid: Grid | None = None) -> Take:
    """`hear_take` for audio that has been through a `Thinner`."""
    lead = round(_LEAD * rate)
    around = np.concatenate([np.zeros(lead), thin, np.zeros(lead)])
    frames = track(lifted(around, rate), rate, -lead)
    flux = measure(around, rate, -lead)
    if not len(flux.middle) or not len(frames.middle):
        return Take((), len(thin) / rate)
    usual = float(np.percentile(flux.total, 90))
    peaks = candidates(flux, novelty(flux, usual, hop_of(rate) / rate))
    tuning = tuning_of(frames)
    desk = _Desk(frames, tuning, hop_of(rate) / rate)
    end = len(thin) / rate
    stretches = _cut_by_pitch(desk, _cut_by_peaks(desk, peaks, end))
    notes = _without_ghosts(desk, _joined(stretches, grid))
    return Take(tuple(_note(desk, one) for one in notes), end, tuning if notes else IN_TUNE)


def tuning_of(frames: PitchFrames) -> Cents:
    """How many cents the instrument stands above A4 = 440 Hz, -50 to 50; 0 when nothing is steady.

    The circular mean of the steady frames' distances from the nearest key, the louder ones and the
    steadier ones counting more.
    """
    steady = (frames.roughness < STEADY) & (frames.level > _gate(frames))
    if not steady.any():
        return Cents(0.0)
    angles = 2 * np.pi * frames.semitones[steady]
    weights = (STEADY - frames.roughness[steady]) ** 2
    mean = complex(np.sum(weights * np.exp(1j * angles)))
    return Cents(round(float(np.angle(mean)) / (2 * np.pi) * 100, 1))


def _gate(frames: PitchFrames) -> float:
    """The level under which a frame is no part of a note: hum, noise, strings that ring along."""
    loud = float(np.percentile(frames.level, 95))
    inside = frames.level[frames.level > -100.0]  # the silence around the take says nothing
    floor = float(np.percentile(inside, 5)) if len(inside) else -100.0
    return max(loud - 34.0, min(floor + 6.0, loud - 14.0))


@dataclass(frozen=True, slots=True, eq=False)
class _Desk:
    """What everything below looks at."""

    frames: PitchFrames
    tuning: Cents
    hop_seconds: float

    @property
    def keys(self) -> NDArray[np.float64]:
        """MIDI keys with their fractions, the tuning taken off."""
        keys: NDArray[np.float64] = self.frames.semitones - self.tuning / 100
        return keys


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A piece of the take between two cuts."""

    start: float
    end: float
    strength: float
    """Of the onset it begins with; 0 where only the pitch changed."""

    fresh: bool
    """Whether that onset left something that stays."""

    hole: float
    """Decibels of quiet just before it."""

    key: int | None
    """None where there is no pitch."""

    cents: float = 0.0
    roughness: float = 1.0
    level: float = -120.0
    """Of its loudest frame."""

    pitched: float = 0.0
    """Seconds for which the pitch was held."""


def _cut_by_peaks(desk: _Desk, peaks: Sequence[Candidate], end: float) -> list[_Stretch]:
    starts = [max(0.0, peak.moment - ONSET_BIAS) for peak in peaks]
    ends = [*starts[1:], end]
    return [
        _stretch(desk, start, stop, peak)
        for start, stop, peak in zip(starts, ends, peaks, strict=True)
        if stop > start
    ]


def _stretch(desk: _Desk, start: float, end: float, peak: Candidate | None) -> _Stretch:
    """The stretch with the key that most of its steady frames agree on; `peak` began it."""
    strength, fresh, hole = (peak.strength, peak.fresh, peak.hole) if peak else (0.0, False, 0.0)
    frames = desk.frames
    half = frames.span / 2
    inside = (frames.middle - half >= start + SETTLED_SECONDS) & (frames.middle + half <= end)
    if not inside.any():  # shorter than a frame: those that mostly lie in it
        inside = (frames.middle >= start + SETTLED_SECONDS) & (frames.middle <= end)
    within = (frames.middle >= start) & (frames.middle <= end)
    level = float(np.max(frames.level[within])) if within.any() else -120.0
    steady = inside & (frames.roughness < STEADY) & (frames.level > _gate(frames))
    if not steady.any():
        return _Stretch(start, end, strength, fresh, hole, None, level=level)
    keys = desk.keys[steady]
    nearest = np.round(keys).astype(int)
    weights = (STEADY - frames.roughness[steady]) ** 2 + 1e-4
    sums: dict[int, float] = {}
    for key, weight in zip(nearest, weights, strict=True):
        sums[int(key)] = sums.get(int(key), 0.0) + float(weight)
    best = max(sums, key=lambda key: sums[key])
    own = nearest == best
    cents = 100 * float(np.median(keys[own]) - best)
    return _Stretch(
        start,
        end,
        strength,
        fresh,
        hole,
        best,
        cents,
        float(np.median(frames.roughness[steady][own])),
        level,
        float(np.sum(own)) * desk.hop_seconds,
    )


def _cut_by_pitch(desk: _Desk, stretches: Sequence[_Stretch]) -> list[_Stretch]:
    cut: list[_Stretch] = []
    for one in stretches:
        moments = _changes(desk, one)
        starts, ends = [one.start, *moments], [*moments, one.end]
        first = Candidate(one.start, one.strength, one.fresh, one.hole) if one.strength else None
        cut.extend(
            _stretch(desk, start, end, first if start == one.start else None)
            for start, end in zip(starts, ends, strict=True)
        )
    return cut


def _changes(desk: _Desk, one: _Stretch) -> list[float]:
    """Where within a stretch one held key gives way to another; octaves are no change, since no
    finger makes them without a stroke."""
    frames = desk.frames
    inside = (frames.middle >= one.start) & (frames.middle <= one.end)
    steady = inside & (frames.roughness < STEADY) & (frames.level > _gate(frames))
    places = np.flatnonzero(steady)
    runs = _runs(places, np.round(desk.keys[places]).astype(int))
    held = [run for run in runs if len(run[1]) * desk.hop_seconds >= HELD_SECONDS]
    moments = []
    for before, after in pairwise(held):
        if (before[0] - after[0]) % OCTAVE:
            middle = (frames.middle[before[1][-1]] + frames.middle[after[1][0]]) / 2
            moments.append(float(middle))
    return moments


def _runs(places: NDArray[np.intp], keys: NDArray[np.int_]) -> list[tuple[int, NDArray[np.intp]]]:
    """Frames on end with one key."""
    if not len(places):
        return []
    breaks = np.flatnonzero((np.diff(keys) != 0) | (np.diff(places) > 2)) + 1
    return [(int(keys[part[0]]), places[part]) for part in np.split(np.arange(len(places)), breaks)]


def _joined(stretches: Sequence[_Stretch], grid: Grid | None) -> list[_Stretch]:
    """The stretches with the cuts taken back that are not sure."""
    strong = [one.strength for one in stretches if one.key is not None and one.fresh]
    usual = float(np.median(strong)) if strong else 1.0
    joined: list[_Stretch] = []
    for one in stretches:
        knock = joined[-1] if joined else None
        inside = knock is not None and knock.key is None and _length(knock) < KNOCK_SECONDS
        before = joined[-2] if inside and len(joined) > 1 else knock
        if before is not None and _goes_on(
            before, one, usual, grid, _lonely(one, stretches, usual)
        ):
            if before is not knock:
                joined.pop()
            joined[-1] = _one_note(before, one)
        else:
            joined.append(one)
    return joined


def _length(one: _Stretch) -> float:
    return one.end - one.start


def _one_note(before: _Stretch, one: _Stretch) -> _Stretch:
    return replace(
        before,
        end=one.end,
        level=max(before.level, one.level),
        pitched=before.pitched + one.pitched,
        roughness=min(before.roughness, one.roughness),
    )


def _lonely(one: _Stretch, stretches: Sequence[_Stretch], usual: float) -> bool:
    """Whether no other weak stroke is near: holes that come again and again are hum that beats."""
    return not any(
        other is not one
        and 0 < other.strength < SURE_SHARE * usual
        and abs(other.start - one.start) < LONELY_SECONDS
        for other in stretches
    )


def _goes_on(
    before: _Stretch, one: _Stretch, usual: float, grid: Grid | None, lonely: bool
) -> bool:
    """Whether `one` is still the note before."""
    if before.key is None or before.key != one.key:
        return False
    if not one.fresh or one.start - before.start < CHATTER_SECONDS:
        return True
    if one.hole >= SURE_HOLE and lonely:
        return False
    needed = SURE_SHARE * usual
    if grid is not None:
        needed *= GRID_SHARE if grid.away(one.start) < ON_GRID_SECONDS else 1 / GRID_SHARE
    return one.strength < needed


def _without_ghosts(desk: _Desk, stretches: Sequence[_Stretch]) -> list[_Stretch]:
    """The stretches that are notes; one too short to be a note gives its onset to the next."""
    levels = [one.level for one in stretches if one.key is not None and one.pitched > GHOST_SECONDS]
    usual = float(np.median(levels)) if levels else 0.0
    notes: list[_Stretch] = []
    early: _Stretch | None = None
    for one in stretches:
        start = one.start
        strength = one.strength
        if early is not None and _begins(early, one):
            start, strength = early.start, max(early.strength, one.strength)
        early = None
        if one.strength > 0 and (one.key is None or _length(one) < GHOST_SECONDS):
            early = replace(one, start=start, strength=strength)
        elif not _is_ghost(one, notes[-1] if notes else None, usual, desk):
            notes.append(replace(one, start=start))
    return notes


def _begins(early: _Stretch, one: _Stretch) -> bool:
    """Whether what came just before `one` is how it began: a fret that chatters, a slow attack."""
    near = early.end == one.start and one.start - early.start < EARLY_SECONDS
    strong = early.strength >= EARLY_SHARE * one.strength
    return near and strong and early.key in (None, one.key)


def _is_hum(one: _Stretch, desk: _Desk) -> bool:
    """Whether it is the mains: on one of their frequencies, and it never dies away."""
    frames = desk.frames
    half = frames.span / 2
    inside = (frames.middle - half > one.start + half) & (frames.middle + half < one.end)
    if one.key is None or _length(one) < HUM_SECONDS or not inside.any():
        return False
    hertz = float(np.median(frames.hertz[inside]))
    mains = any(abs(hertz / line - 1) < HUM_SHARE for line in HUM_HERTZ)
    return mains and float(np.ptp(frames.level[inside])) < HUM_DECIBELS


def _is_ghost(one: _Stretch, before: _Stretch | None, usual: float, desk: _Desk) -> bool:
    under = usual - one.level
    if _is_hum(one, desk):
        return True
    if one.key is None or one.pitched < 2 * desk.hop_seconds or under > GHOST_DECIBELS:
        return True
    if one.pitched < BRIEF_SECONDS and under > BRIEF_DECIBELS:
        return True
    return (
        one.strength == 0.0 and before is not None and one.level < before.level - RINGING_DECIBELS
    )


def _note(desk: _Desk, one: _Stretch) -> PlayedNote:
    assert one.key is not None  # stretches without a pitch have been left out
    frames = desk.frames
    within = np.flatnonzero((frames.middle >= one.start) & (frames.middle <= one.end))
    end = one.end
    if len(within):
        floor = max(one.level - END_DECIBELS, _gate(frames))
        behind = within[int(np.argmax(frames.level[within])) :]
        gone = behind[frames.level[behind] <= floor]
        end = float(frames.middle[gone[0]]) if len(gone) else one.end
    return PlayedNote(
        onset=one.start,
        length=max(0.02, min(end, one.end) - one.start),
        midi=Midi(one.key),
        cents=Cents(round(one.cents, 1)),
        confidence=max(0.0, 1.0 - one.roughness),
    )
