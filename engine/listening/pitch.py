"""The pitch of a bass, frame by frame.

YIN (A. de Cheveigne and H. Kawahara, Journal of the Acoustical Society of America 111(4), 2002,
1917-1930, steps 1 to 5) on audio that is thinned out to about 5.5 kHz first: the highest note of
interest has its first five partials there, and a frame costs some microseconds. The difference
function of step 1 is computed for many frames at once, through the Fourier transform.

Chosen by measurement: `python -m tests.bench.bench_trackers` compares it with probabilistic YIN
and a spectral tracker, with noise, with mains hum and detuned.
"""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from engine.errors import TakeError
from engine.theory import A4, A4_HERTZ, OCTAVE

Wave = NDArray[np.float64]
Shape = NDArray[np.float64]
"""A number a frame."""

Lags = NDArray[np.intp]

SLOWEST_RATE, FASTEST_RATE = 8_000, 192_000
"""Frames a second that a take may have."""

THIN_RATE = 5_000
"""Audio is thinned out by a whole factor, to the lowest rate that is not under this."""

LOWEST, HIGHEST = 29.9, 290.0
"""Hertz: half a semitone under B0 to one over C4, and so any tuning within 50 cents."""

DIP = 0.2
"""Step 4: the first dip under this is the period. The paper uses 0.1; plucked strings are less
even while they start, and between two frames of a short period a bright tone does not fit."""

PASS_HERTZ = 1_950.0
"""What lies above is filtered out: it only blurs the period between two frames."""

HOP_SECONDS = 0.0058
"""From one frame to the next."""

LIFT_HERTZ = 45.0
"""The audio rises by 6 dB an octave from here before its pitch is looked for. The thump of a body
and the first partial of mains hum lie low, the partials of a note do not: from 60 to 200 ms
after the onsets of an acoustic bass 49 frames in 100 were wrong without it, and 2 with it."""

_TAPS = 8
"""Half the length of the filter, in frames of the thinned audio."""


class Thinner:
    """Thins audio out, block by block; what comes out does not depend on the blocks."""

    def __init__(self, rate: int) -> None:
        """Raises TakeError for a rate outside SLOWEST_RATE..FASTEST_RATE."""
        if not SLOWEST_RATE <= rate <= FASTEST_RATE:
            raise TakeError(
                f"{rate} frames a second: give a recording with {SLOWEST_RATE} to {FASTEST_RATE}"
            )
        self._factor = rate // THIN_RATE
        self.rate = rate / self._factor
        """Frames a second of what comes out."""

        taps = 2 * _TAPS * self._factor + 1
        self._filter = _low_pass(taps, PASS_HERTZ / rate)
        ahead = len(self._filter) // 2
        self._rest: Wave = np.zeros(ahead)

    def feed(self, block: Wave) -> Wave:
        """The next frames; the first one stands for the first frame that was ever fed."""
        held = np.concatenate([self._rest, block])
        reach = len(self._filter) - 1
        count = max(0, (len(held) - reach + self._factor - 1) // self._factor)
        if not count:
            self._rest = held
            return np.zeros(0)
        windows = sliding_window_view(held, reach + 1)[:: self._factor][:count]
        self._rest = held[count * self._factor :]
        thin: Wave = windows @ self._filter
        return thin


def _low_pass(taps: int, cutoff: float) -> Wave:
    """A windowed sinc; `cutoff` as a share of the frames a second."""
    places = np.arange(taps) - taps // 2
    shape = np.sinc(2 * cutoff * places) * np.hanning(taps + 2)[1:-1]
    low: Wave = shape / np.sum(shape)
    return low


def hop_of(rate: float) -> int:
    """Thinned frames from one pitch frame to the next."""
    return round(HOP_SECONDS * rate)


def span_of(rate: float) -> int:
    """Thinned frames that one pitch frame looks at: two periods of the lowest note."""
    return 2 * _longest(rate)


def _longest(rate: float) -> int:
    return int(np.ceil(rate / LOWEST)) + 2


def lifted(thin: Wave, rate: float, before: float = 0.0) -> Wave:
    """The audio with its low end taken down; `before` is the frame before its first one."""
    share = np.exp(-2 * np.pi * LIFT_HERTZ / rate)
    high: Wave = thin - share * np.concatenate([[before], thin[:-1]])
    return high


@dataclass(frozen=True, slots=True, eq=False)
class PitchFrames:
    """What was found, a number a frame in each."""

    middle: Shape
    """Seconds from the start to the middle of the frame; it looks at `span` seconds around."""

    hertz: Shape
    roughness: Shape
    """How far the frame is from repeating itself: 0 for a steady tone, about 1 for noise."""

    level: Shape
    """Decibels under full scale."""

    span: float
    """Seconds."""

    @property
    def semitones(self) -> Shape:
        """MIDI key numbers with their fractions, on A4 = 440 Hz."""
        keys: Shape = A4 + OCTAVE * np.log2(self.hertz / A4_HERTZ)
        return keys


def track(thin: Wave, rate: float, first: int = 0) -> PitchFrames:
    """The pitch of every whole frame in `thin`; `first` is where it starts, in thinned frames.

    `thin` has been through `lifted`.
    """
    longest, hop, span = _longest(rate), hop_of(rate), span_of(rate)
    if len(thin) < span:
        nothing = np.zeros(0)
        return PitchFrames(nothing, nothing, nothing, nothing, span / rate)
    frames = sliding_window_view(thin, span)[::hop]
    raw = _differences(frames, longest)
    normal = np.ones_like(raw)
    running = np.maximum(np.cumsum(raw[:, 1:], axis=1), 1e-12)
    normal[:, 1:] = raw[:, 1:] * np.arange(1, longest) / running
    lags = _periods(normal, max(2, int(rate / HIGHEST)))
    rows = np.arange(len(frames))
    return PitchFrames(
        middle=np.asarray((first + rows * hop + span / 2) / rate, dtype=np.float64),
        hertz=rate / _refined(raw, lags, rows),
        roughness=np.minimum(normal[rows, lags], 1.0),
        level=10 * np.log10(np.mean(frames**2, axis=1) + 1e-12),
        span=span / rate,
    )


def _differences(frames: Wave, longest: int) -> Wave:
    """Step 2: how much each frame differs from itself moved by 0 to `longest` - 1."""
    size = 1 << (frames.shape[1] - 1).bit_length()
    fixed = np.fft.rfft(frames[:, :longest], size)
    whole = np.fft.rfft(frames, size)
    products = np.fft.irfft(whole * np.conj(fixed), size)[:, :longest]
    sums = np.zeros((len(frames), frames.shape[1] + 1))
    np.cumsum(frames**2, axis=1, out=sums[:, 1:])
    energy = sums[:, longest : 2 * longest] - sums[:, :longest]
    raw: Wave = np.maximum(energy[:, :1] + energy - 2 * products, 0.0)
    return raw


def _periods(normal: Wave, shortest: int) -> Lags:
    """Step 4: the first dip under DIP, or the deepest one where none is."""
    dips = np.zeros(normal.shape, dtype=bool)
    inner = normal[:, 1:-1]
    dips[:, 1:-1] = (inner < DIP) & (inner <= normal[:, 2:]) & (inner <= normal[:, :-2])
    dips[:, :shortest] = False
    deepest = shortest + np.argmin(normal[:, shortest:-1], axis=1)
    lags: Lags = np.where(dips.any(axis=1), np.argmax(dips, axis=1), deepest)
    return lags


def _refined(raw: Wave, lags: Lags, rows: Lags) -> Wave:
    """Step 5: a parabola through the dip, of the raw difference, which the paper finds unbiased."""
    before, at, after = raw[rows, lags - 1], raw[rows, lags], raw[rows, lags + 1]
    bend = before - 2 * at + after
    offset = 0.5 * (before - after) / np.where(bend > 1e-15, bend, np.inf)
    refined: Wave = lags.astype(np.float64) + np.clip(offset, -1.0, 1.0)
    return refined
