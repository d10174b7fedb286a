"""Where notes begin.

A new note puts energy where there was none: into other partials when the pitch changes, into the
upper ones, which die first, when it does not. So the measure is spectral flux, what each bin of a
short spectrum gains, with two precautions that a bass needs. The gain is counted over the *largest*
value of the bin and its two neighbours from REFERENCE_NEAR to REFERENCE_FAR hops ago, because the
partials of a low note beat with each other within one window; and it is divided by what has sounded
lately, so that it is a share of the sound and not a loudness.

On the basses of a foreign SoundFont with noise 20 dB down the gain over the moment just before
does not tell a low note's beating from a stroke; this one does (`python -m
tests.bench.bench_detection` counts what comes of it).
"""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from engine.listening.pitch import Shape, Wave, hop_of

WINDOW_SECONDS = 0.0464
REFERENCE_NEAR, REFERENCE_FAR = 3, 9
"""Hops: 17 to 52 ms ago, more than one turn of the beating of B0's partials."""

RECENT_SECONDS = 0.4
"""How far back "lately" goes."""

QUIET_SHARE = 0.2
"""Of the usual level of a take: what sounds softer than this counts as if it were so loud."""

FAINT = 0.025
"""Under this nothing is an onset."""

UPPER_EDGE = 0.75
"""The share of the spectrum that is looked at: the filter of the thinned audio ends there."""


def window_of(rate: float) -> int:
    """Thinned frames of one spectrum; even."""
    return 2 * round(WINDOW_SECONDS * rate / 2)


@dataclass(frozen=True, slots=True, eq=False)
class Flux:
    """How much is new, a number a frame in each."""

    middle: Shape
    """Seconds from the start to the middle of the spectrum's window."""

    gain: Shape
    """What the bins gained, all together."""

    total: Shape
    """What they hold, all together."""

    bins: Wave
    """The spectra themselves, one a row; the reference of row 0 lies before them."""


def measure(thin: Wave, rate: float, first: int = 0) -> Flux:
    """The flux of every spectrum in `thin` that has its whole reference before it.

    `first` is where `thin` starts, in thinned frames.
    """
    window, hop = window_of(rate), hop_of(rate)
    if len(thin) < window + REFERENCE_FAR * hop:
        nothing = np.zeros(0)
        return Flux(nothing, nothing, nothing, np.zeros((0, 0)))
    frames = sliding_window_view(thin, window)[::hop]
    bins = np.abs(np.fft.rfft(frames * np.hanning(window), axis=1))
    bins = bins[:, 1 : int(UPPER_EDGE * window / 2)] / window
    wide = np.pad(bins, ((0, 0), (1, 1)))
    wide = np.maximum(np.maximum(wide[:, :-2], wide[:, 2:]), bins)
    count = len(bins) - REFERENCE_FAR
    reference = wide[:count].copy()
    for back in range(REFERENCE_NEAR, REFERENCE_FAR):
        shift = REFERENCE_FAR - back
        np.maximum(reference, wide[shift : shift + count], out=reference)
    now = bins[REFERENCE_FAR:]
    rows = np.arange(REFERENCE_FAR, len(bins))
    return Flux(
        middle=np.asarray((first + rows * hop + window / 2) / rate, dtype=np.float64),
        gain=np.sum(np.maximum(now - reference, 0), axis=1),
        total=np.sum(now, axis=1),
        bins=now,
    )


def novelty(flux: Flux, usual: float, hop_seconds: float) -> Shape:
    """The gain as a share of what has sounded within RECENT_SECONDS, the moment itself included.

    `usual` is the total that the louder moments of the take have.
    """
    back = round(RECENT_SECONDS / hop_seconds)
    padded = np.concatenate([np.zeros(back), flux.total])
    recent = sliding_window_view(padded, back + 1).max(axis=1) if len(flux.total) else flux.total
    share: Shape = flux.gain / np.maximum(np.maximum(recent, QUIET_SHARE * usual), 1e-9)
    return share


@dataclass(frozen=True, slots=True)
class Candidate:
    """A moment at which a note may begin."""

    moment: float
    """Seconds from the start of the take."""

    strength: float
    """How new it is; 1 for all of the sound."""

    fresh: bool
    """Whether something of it stays: a string was struck, and not just knocked against."""

    hole: float
    """Decibels by which what rang before was stopped first, as far as the windows show it."""


APART_SECONDS = 0.05
"""Of two peaks nearer than this only the stronger one counts; of those as strong as EARLY_SHARE of
it, the earliest says when."""

EARLY_SHARE = 0.4

BEFORE = (-9, -3)
AROUND = (-7, 3)
AFTER = (10, 16)
"""Hops from a peak: what rang before it, the moment itself, and what stays, 58 to 87 ms later."""

STAYS = 0.035
"""The least share of the sound that is new and stays, for a stroke on a string that rings."""

STEP_DECIBELS = 1.0
"""So much louder, or"""

DIP_DECIBELS = 2.5
"""after a hole so deep, it is a stroke as well."""


def candidates(flux: Flux, share: Shape) -> list[Candidate]:
    """The peaks of the novelty, in order of time."""
    if len(share) < 3:
        return []
    inner = share[1:-1]
    peaks = 1 + np.flatnonzero((inner > share[:-2]) & (inner >= share[2:]) & (inner > FAINT))
    kept: dict[int, int] = {}
    for peak in sorted(map(int, peaks), key=lambda place: -float(share[place])):
        near = [other for other in kept if _apart(flux, peak, other) < APART_SECONDS]
        if not near:
            kept[peak] = peak
        elif share[peak] >= EARLY_SHARE * share[near[0]]:
            kept[near[0]] = min(kept[near[0]], peak)
    return [
        Candidate(
            float(flux.middle[first]), float(share[at]), is_fresh(flux, at), hole_at(flux, at)
        )
        for at, first in sorted(kept.items(), key=lambda pair: pair[1])
    ]


def _apart(flux: Flux, one: int, other: int) -> float:
    return abs(float(flux.middle[one] - flux.middle[other]))


def is_fresh(flux: Flux, at: int, behind: tuple[int, int] = AFTER) -> bool:
    """Whether what is new at row `at` is there for good.

    A knock on a ringing string is loud and gone, and the string rings on as before. A stroke
    renews partials that stay; or it is louder than what rang before; or the finger stopped the
    string first, which leaves a hole.
    """
    before = flux.bins[max(0, at + BEFORE[0]) : at + BEFORE[1]]
    after = flux.bins[at + behind[0] : at + behind[1]]
    if not len(before) or not len(after):
        return True
    new = float(np.sum(np.maximum(after.min(axis=0) - before.max(axis=0), 0)))
    recent = float(np.max(flux.total[max(0, at - 70) : at + 5]))
    if new >= STAYS * recent:
        return True
    rang = float(np.mean(np.sum(before, axis=1)))
    rings = float(np.mean(np.sum(after, axis=1)))
    if _decibels(rings, rang) >= STEP_DECIBELS:
        return True
    return hole_at(flux, at, behind) >= DIP_DECIBELS


def hole_at(flux: Flux, at: int, behind: tuple[int, int] = AFTER) -> float:
    """How far the sound around row `at` falls under what was before and what comes after."""
    before = flux.total[max(0, at + BEFORE[0]) : at + BEFORE[1]]
    after = flux.total[at + behind[0] : at + behind[1]]
    if not len(before) or not len(after):
        return 0.0
    around = flux.total[max(0, at + AROUND[0]) : at + AROUND[1]]
    return _decibels(min(float(np.mean(before)), float(np.mean(after))), float(np.min(around)))


def _decibels(one: float, other: float) -> float:
    return 20 * float(np.log10(max(one, 1e-9) / max(other, 1e-9)))
