"""What stands on paper: the bass line of a plan as bars of written notes.

Everything that is printed reads the same value, a `Sheet`, so that tablature and notation cannot
differ. Time is counted in eighths: a bar of 4/4 has 8 of them, a bar of 12/8 has 12. Swung eighths
are written as eighths in 4/4; in 12/8 the second eighth of a beat stands where it sounds, on the
third eighth of the dotted quarter.

A note ends where the line lets it end. One that goes over a bar line is written as notes tied to
each other, and so is one that no single note value can show: what begins between two beats is cut
at the next beat, what begins on a beat is as long as one value allows. [common practice]
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple

from engine.chords import BarChords, Chord
from engine.errors import MusicInputError
from engine.feels import FEELS, Feel
from engine.line import GAP, LineNote
from engine.neck import FOUR_STRING, FRETS, Position, Tuning, fingering
from engine.pattern import Spot
from engine.plan import Placement, Plan
from engine.theory import MOST_SIGNS, Degree, Key, Midi, Note
from engine.timing import BEATS_PER_BAR, Tick


class Value(NamedTuple):
    """A note value."""

    name: str
    """whole, half, quarter or eighth."""

    dots: int


VALUES = {
    # eighths: the value that lasts so long
    12: Value("whole", 1),
    8: Value("whole", 0),
    6: Value("half", 1),
    4: Value("half", 0),
    3: Value("quarter", 1),
    2: Value("quarter", 0),
    1: Value("eighth", 0),
}


@dataclass(frozen=True, slots=True)
class Meter:
    """How a bar is written."""

    beats: int
    """The number over the number 4 or 8."""

    kind: int
    """4 or 8."""

    per_beat: int
    """Eighths in a beat."""

    offbeat: int
    """Eighths from a beat to its second eighth."""

    from_a_beat: tuple[int, ...]
    """The note values, in eighths, that may begin on a beat; the longest first."""

    @property
    def per_bar(self) -> int:
        """Eighths in a bar."""
        return BEATS_PER_BAR * self.per_beat

    def eighth(self, spot: Spot) -> int:
        """Eighths from the start of a pattern to a place in it."""
        return spot.beat * self.per_beat + (self.offbeat if spot.offbeat else 0)


SIMPLE = Meter(4, 4, 2, 1, (8, 6, 4, 3, 2, 1))
COMPOUND = Meter(12, 8, 3, 2, (12, 6, 3, 2))


@dataclass(frozen=True, slots=True)
class Sounding:
    """A note of the line, as it sounds."""

    degree: Degree
    """Against the tonic; in a device as the catalogue writes it, 8 for the upper root."""

    note: Note
    midi: Midi
    position: Position
    device: str | None
    """The id of the device it belongs to; None for the base pattern."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One written sign: a note, a part of a tied note, or a rest."""

    start: int
    """Eighths from the bar line."""

    length: int
    """Eighths; a key of VALUES."""

    sounding: Sounding | None
    """None for a rest."""

    tied_from: bool = False
    """Whether it goes on what was struck before."""

    tied_to: bool = False
    """Whether the next sign goes on with it."""

    @property
    def struck(self) -> bool:
        """Whether a note begins here."""
        return self.sounding is not None and not self.tied_from


class ChordSign(NamedTuple):
    """A chord symbol."""

    beat: int
    """0 to 3."""

    chord: Chord


@dataclass(frozen=True, slots=True)
class SheetBar:
    """A bar on paper."""

    number: int
    """Of the form, counted from 1."""

    landing: bool
    """Whether it is the bar behind the end, on which the line lands."""

    chords: tuple[ChordSign, ...]
    """Where they change, the first always on beat 0."""

    devices: tuple[str, ...]
    """The names of the devices that start here."""

    signs: tuple[Sign, ...]
    """They fill the bar without gap or overlap."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A line on paper."""

    title: str
    key: Key
    feel: Feel
    tempo: float
    """Beats a minute."""

    meter: Meter
    tuning: Tuning
    bars: tuple[SheetBar, ...]

    @property
    def signs(self) -> tuple[Sign, ...]:
        """All signs in order."""
        return tuple(sign for bar in self.bars for sign in bar.signs)


def played(sheet: Sheet) -> str:
    """How it is to be played, in words: `shuffle, 110 beats a minute`."""
    return f"{FEELS[sheet.feel].name}, {sheet.tempo:g} beats a minute"


class _Stretch(NamedTuple):
    """A note or a silence, in eighths from the start of the plan."""

    start: int
    end: int
    sounding: Sounding | None


def notate(
    plan: Plan,
    line: Sequence[LineNote],
    title: str,
    tuning: Tuning = FOUR_STRING,
    frets: int = FRETS,
) -> Sheet:
    """The line of a plan as it is written, with a path over the neck.

    Raises MusicInputError for a key that no signature can hold, and naming the note that is off the
    neck.
    """
    if abs(plan.key.sharps) > MOST_SIGNS:
        raise MusicInputError(
            f"{plan.key} needs {abs(plan.key.sharps)} signs: give the key that sounds alike"
        )
    meter = COMPOUND if plan.compound else SIMPLE
    path = fingering([note.event.midi for note in line], tuning, frets)
    stretches = list(_stretches(plan, meter, line, path))
    bars = (
        SheetBar(
            planned.number,
            planned.landing,
            chord_signs(planned.chords)[: 1 if planned.landing else None],
            tuple(row.device.name for row in plan.placements if row.bar == bar),
            tuple(_signs(stretches, bar, meter)),
        )
        for bar, planned in enumerate(plan.bars)
    )
    return Sheet(title, plan.key, plan.feel, plan.tempo, meter, tuning, tuple(bars))


def chord_signs(chords: BarChords) -> tuple[ChordSign, ...]:
    """The chords of a bar where they change."""
    runs = [list(run) for _, run in groupby(enumerate(chords), key=lambda pair: pair[1])]
    return tuple(ChordSign(*run[0]) for run in runs)


# --- what lasts how long --------------------------------------------------------------------------


def _stretches(
    plan: Plan, meter: Meter, line: Sequence[LineNote], path: Sequence[Position]
) -> Iterator[_Stretch]:
    """The notes and the silences between them; together they fill the plan."""
    ends, names = _ends(plan, meter), _device_degrees(plan)
    now, whole = 0, len(plan.bars) * meter.per_bar
    for note, position in zip(line, path, strict=True):
        start = note.bar * meter.per_bar + meter.eighth(note.spot)
        if now < start:
            yield _Stretch(now, start, None)
        degree = names.get((note.device, start), note.degree)
        sounding = Sounding(degree, note.note, note.event.midi, position, note.device)
        now = ends[note.event.end]
        yield _Stretch(start, now, sounding)
    if now < whole:
        yield _Stretch(now, whole, None)


def _ends(plan: Plan, meter: Meter) -> dict[Tick, int]:
    """Where a note that ends at a tick is written to end: a line lifts the finger a bit early."""
    places = {
        Tick(plan.tick(bar, Spot(beat, offbeat)) - GAP): bar * meter.per_bar
        + meter.eighth(Spot(beat, offbeat))
        for bar in range(len(plan.bars))
        for beat in range(BEATS_PER_BAR)
        for offbeat in (False, True)
    }
    return {**places, plan.length: len(plan.bars) * meter.per_bar}


def _device_degrees(plan: Plan) -> dict[tuple[str | None, int], Degree]:
    """The degrees of the devices as their rows write them, by device and eighth of the plan."""
    meter = COMPOUND if plan.compound else SIMPLE
    return {
        (row.device.id, row.bar * meter.per_bar + meter.eighth(spot)): degree
        for row in plan.placements
        for spot, degree in _named(row)
    }


def _named(row: Placement) -> Iterator[tuple[Spot, Degree]]:
    pattern = row.device.pattern
    yield from zip(pattern.strikes, pattern.degrees, strict=True)
    if pattern.arrival is not None:
        landing = row.device.times * pattern.bars * BEATS_PER_BAR
        yield Spot(landing), pattern.arrival.degree


# --- how it is written ----------------------------------------------------------------------------


def _signs(stretches: Sequence[_Stretch], bar: int, meter: Meter) -> Iterator[Sign]:
    """What is written in a bar of what lasts there."""
    first, behind = bar * meter.per_bar, (bar + 1) * meter.per_bar
    for stretch in stretches:
        start, end = max(stretch.start, first), min(stretch.end, behind)
        for part, length in _parts(start - first, end - start, meter):
            at = first + part
            yield Sign(
                part,
                length,
                stretch.sounding,
                tied_from=stretch.sounding is not None and at > stretch.start,
                tied_to=stretch.sounding is not None and at + length < stretch.end,
            )


def _parts(start: int, length: int, meter: Meter) -> Iterator[tuple[int, int]]:
    """Start and length of the note values that a stretch of one bar is written with."""
    while length > 0:
        between = start % meter.per_beat
        allowed = (meter.per_beat - between,) if between else meter.from_a_beat
        part = min(length, *allowed) if between else next(one for one in allowed if one <= length)
        yield start, part
        start, length = start + part, length - part
