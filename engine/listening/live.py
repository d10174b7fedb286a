"""Hearing notes while they are played.

The same measures as for a whole take, frame by frame: a peak of the novelty says that something
began, and the first steady frames that lie wholly behind it say what. A note is told about as soon
as two of them agree, or one that is very steady: at E1 about 0.1 s after the stroke, most of which
is the two periods that any tracker must see. What was told is for showing; for judging, `take`
looks again at everything from some moment on, with all that came after.
"""

from collections import deque
from dataclasses import dataclass
from statistics import median

import numpy as np

from engine.listening.notes import Grid, Take
from engine.listening.onsets import (
    APART_SECONDS,
    FAINT,
    QUIET_SHARE,
    RECENT_SECONDS,
    REFERENCE_FAR,
    Flux,
    is_fresh,
    measure,
)
from engine.listening.pitch import Thinner, Wave, hop_of, lifted, span_of, track
from engine.listening.takes import (
    CHATTER_SECONDS,
    END_DECIBELS,
    HELD_SECONDS,
    LONGEST,
    ONSET_BIAS,
    RINGING_DECIBELS,
    SETTLED_SECONDS,
    STEADY,
    SURE_SHARE,
    hear_thin,
)
from engine.theory import OCTAVE, Cents, Midi

ENOUGH = ((1, 0.08), (2, 0.2), (4, STEADY))
"""So many frames on end that agree are enough when the last one is no rougher than this."""

CORRECTED_SECONDS = 0.3
"""A note so young whose pitch turns out another was mistaken: the thump of a body can hide it."""

WAIT_SECONDS = 0.3
"""After a stroke a pitch is waited for so long."""

SOON_AFTER = (6, 10)
"""Hops: what is new must stay for a stroke of the same key; sooner than for a whole take."""

QUIETEST = -75.0
"""Decibels of the lifted audio: softer frames are silence, whatever came before."""

FALL_DECIBELS, RISE_DECIBELS = 1.5, 1.0
"""A second: how fast the memory of what was loud sinks, and that of what was quiet climbs."""


@dataclass(frozen=True, slots=True)
class NoteBegan:
    """A note was struck, or a finger changed the pitch.

    With the onset of the note before it is that note, heard better.
    """

    onset: float
    """Seconds from the first frame that was fed."""

    midi: Midi
    cents: Cents
    """From its key, the instrument's tuning taken off."""

    confidence: float
    """0 to 1."""


@dataclass(frozen=True, slots=True)
class NoteEnded:
    """The note that was sounding has died away or was stopped."""

    moment: float
    midi: Midi


Event = NoteBegan | NoteEnded


@dataclass(slots=True)
class _Stroke:
    """Something that began and has no pitch yet."""

    moment: float
    row: int
    strength: float


class Listener:
    """Takes sound in block by block and tells of the notes in it."""

    def __init__(self, rate: int) -> None:
        """`rate` is frames a second. Raises TakeError for one that is not allowed."""
        self._thinner = Thinner(rate)
        self._rate = self._thinner.rate
        self._hop = hop_of(self._rate)
        self._fed, self._given = 0, rate
        self._kept: Wave = np.zeros(int(self._rate * 8))
        self._first = self._end = 0  # in thinned frames since the start; what is kept of them
        self._flux_row = REFERENCE_FAR
        self._pitch_row = 0
        back = round(RECENT_SECONDS * self._rate / self._hop)
        self._totals: deque[float] = deque(maxlen=back)
        self._shares: deque[float] = deque([0.0, 0.0], maxlen=2)
        self._usual = 0.0
        self._strengths: deque[float] = deque(maxlen=16)
        self._stroke: _Stroke | None = None
        self._loud, self._quiet = -60.0, 0.0
        self._turning = 0j
        self._steady_frames = 0
        self._key: int | None = None
        self._key_level, self._key_onset = -120.0, 0.0
        self._run: list[tuple[int, float, float, float]] = []
        self._sounded = 0.0

    @property
    def seconds(self) -> float:
        """How much was fed."""
        return self._fed / self._given

    @property
    def silent_for(self) -> float:
        """Seconds since a note was last sounding."""
        return self.seconds - self._sounded

    @property
    def sounding(self) -> Midi | None:
        """The note that is sounding."""
        return None if self._key is None else Midi(self._key)

    @property
    def tuning(self) -> Cents:
        """What is known by now of how the instrument is tuned; 0 until enough was heard."""
        if self._steady_frames < 40:
            return Cents(0.0)
        return Cents(round(float(np.angle(self._turning)) / (2 * np.pi) * 100, 1))

    def feed(self, block: Wave) -> list[Event]:
        """Take in the next frames of one channel, 1.0 full scale; tells what began and ended."""
        self._fed += len(block)
        self._keep(self._thinner.feed(np.asarray(block, dtype=np.float64)))
        events: list[Event] = []
        self._look_for_strokes()
        self._look_for_pitches(events)
        return events

    def take(self, since: float = 0.0, grid: Grid | None = None) -> Take:
        """All notes from a moment on, judged with what came after them.

        The times of the notes, and of the grid, are those of the listener. At most the last
        LONGEST seconds are remembered.
        """
        start = max(self._first, round(since * self._rate))
        thin = self._kept[start - self._first : self._end - self._first]
        moved = start / self._rate
        shifted = None if grid is None else Grid(grid.start - moved, grid.tempo, grid.feel)
        return hear_thin(thin.copy(), self._rate, shifted).later(moved)

    def _keep(self, thin: Wave) -> None:
        held = self._end - self._first
        if held + len(thin) > len(self._kept):
            most = int(LONGEST * self._rate)
            drop = max(0, held + len(thin) - most)
            size = min(max(2 * len(self._kept), held + len(thin)), 2 * most)
            larger = np.zeros(max(size, held - drop + len(thin)))
            larger[: held - drop] = self._kept[drop:held]
            self._kept, self._first = larger, self._first + drop
            held -= drop
        self._kept[held : held + len(thin)] = thin
        self._end += len(thin)

    def _from(self, start: int) -> Wave:
        """What is kept from a thinned frame on."""
        return self._kept[start - self._first : self._end - self._first]

    # --- strokes ---

    def _look_for_strokes(self) -> None:
        start = (self._flux_row - REFERENCE_FAR) * self._hop
        flux = measure(self._from(start), self._rate, start)
        for middle, gain, total in zip(flux.middle, flux.gain, flux.total, strict=True):
            self._usual = max(self._usual * 0.9995, float(total) * 0.7)
            self._totals.append(float(total))
            recent = max(max(self._totals), QUIET_SHARE * self._usual, 1e-6)
            share = float(gain) / recent
            before, last = self._shares
            if last > before and last >= share and last > FAINT:
                moment = float(middle) - self._hop / self._rate - ONSET_BIAS
                self._struck(moment, self._flux_row - 1, last)
            self._shares.append(share)
            self._flux_row += 1

    def _struck(self, moment: float, row: int, strength: float) -> None:
        waiting = self._stroke
        if waiting is not None and moment - waiting.moment < APART_SECONDS:
            waiting.strength = max(waiting.strength, strength)
        else:
            self._stroke = _Stroke(moment, row, strength)

    # --- pitches ---

    def _look_for_pitches(self, events: list[Event]) -> None:
        start = self._pitch_row * self._hop
        if self._end - start < span_of(self._rate):
            return
        thin = self._from(start)
        before = float(self._kept[start - self._first - 1]) if start > self._first else 0.0
        frames = track(lifted(thin, self._rate, before), self._rate, start)
        half = frames.span / 2
        for middle, semitones, roughness, level in zip(
            frames.middle.tolist(),
            frames.semitones.tolist(),
            frames.roughness.tolist(),
            frames.level.tolist(),
            strict=True,
        ):
            self._frame(middle, half, semitones, roughness, level, events)
            self._pitch_row += 1

    def _frame(
        self,
        middle: float,
        half: float,
        semitones: float,
        roughness: float,
        level: float,
        events: list[Event],
    ) -> None:
        hop = self._hop / self._rate
        self._loud = max(level, self._loud - FALL_DECIBELS * hop)
        self._quiet = min(level, self._quiet + RISE_DECIBELS * hop)
        gate = max(self._loud - 34.0, min(self._quiet + 6.0, self._loud - 14.0), QUIETEST)
        self._end_if_over(middle, level, gate, events)
        if roughness >= STEADY or level <= gate:
            self._run.clear()
            self._give_up(middle)
            return
        above = semitones - self.tuning / 100
        key = round(above)
        self._learn_tuning(semitones, roughness)
        if self._run and self._run[-1][0] != key:
            self._run.clear()
        self._run.append((key, middle, above, roughness))
        if self._stroke is not None:
            self._pitch_of_stroke(middle, half, level, events)
        elif self._key is not None:
            self._pitch_without_stroke(level, events)
        if self._key == key:
            self._key_level = max(self._key_level, level)
            self._sounded = middle

    def _learn_tuning(self, semitones: float, roughness: float) -> None:
        angle = 2 * np.pi * semitones
        self._turning += (STEADY - roughness) ** 2 * complex(np.cos(angle), np.sin(angle))
        self._steady_frames += 1

    def _end_if_over(self, middle: float, level: float, gate: float, events: list[Event]) -> None:
        if self._key is None:
            return
        if level <= max(gate, self._key_level - END_DECIBELS):
            events.append(NoteEnded(middle, Midi(self._key)))
            self._key = None

    def _give_up(self, middle: float) -> None:
        """A stroke that gets no pitch was a knock."""
        if self._stroke is not None and middle - self._stroke.moment > WAIT_SECONDS:
            self._stroke = None

    def _pitch_of_stroke(
        self, middle: float, half: float, level: float, events: list[Event]
    ) -> None:
        stroke = self._stroke
        assert stroke is not None  # the caller has looked
        own = [one for one in self._run if one[1] - half >= stroke.moment + SETTLED_SECONDS]
        if not any(len(own) >= count and own[-1][3] < rough for count, rough in ENOUGH):
            return
        key = own[-1][0]
        if key == self._key:
            if self._flux_row - stroke.row <= SOON_AFTER[1]:
                return  # too soon to tell a stroke from a knock
            usual = median(self._strengths) if self._strengths else stroke.strength
            soon = stroke.moment - self._key_onset < CHATTER_SECONDS
            if soon or stroke.strength < SURE_SHARE * usual or not self._fresh(stroke):
                self._stroke = None
                return
        self._begin(stroke.moment, own[-1], level, events)
        self._strengths.append(stroke.strength)
        self._stroke = None

    def _fresh(self, stroke: _Stroke) -> bool:
        first = max(REFERENCE_FAR, stroke.row - 70)
        start = max((first - REFERENCE_FAR) * self._hop, self._first)
        flux: Flux = measure(self._from(start), self._rate, start)
        return is_fresh(flux, stroke.row - first, SOON_AFTER)

    def _pitch_without_stroke(self, level: float, events: list[Event]) -> None:
        hop = self._hop / self._rate
        key, middle, _, _ = self._run[0]
        held = len(self._run) * hop >= HELD_SECONDS
        assert self._key is not None  # the caller has looked
        if not held or key == self._key:
            return
        if middle - self._key_onset < CORRECTED_SECONDS:
            self._begin(self._key_onset, self._run[-1], level, events)
        elif (key - self._key) % OCTAVE and level > self._key_level - RINGING_DECIBELS:
            self._begin(middle, self._run[-1], level, events)

    def _begin(
        self,
        onset: float,
        heard: tuple[int, float, float, float],
        level: float,
        events: list[Event],
    ) -> None:
        key, middle, above, roughness = heard
        if self._key is not None:
            events.append(NoteEnded(onset, Midi(self._key)))
        self._key, self._key_level, self._key_onset = key, level, onset
        self._sounded = middle
        cents = Cents(round(100 * (above - key), 1))
        events.append(NoteBegan(onset, Midi(key), cents, 1 - roughness))
