"""The bass line: a plan becomes notes, devices on their promised beats, base pattern between.

A device keeps its contour; so does the base pattern within one chord of one bar, and a leading note
stands alone. What is free is the octave of each such segment, and the octaves are chosen together:
of all lines that stay in the compass, the one with the smallest sum of squared leaps at the seams,
ties broken towards the height that the compass leans to. So a seam is never wider than the range
and its neighbours force it to be.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from engine.catalogue import Device, Family
from engine.chords import Chord
from engine.errors import MusicInputError
from engine.pattern import Mark, Pattern, Spot, Tone
from engine.plan import Plan
from engine.score import NoteEvent
from engine.theory import OCTAVE, Degree, Midi, Note, degree_of, nearest_tonic, spell
from engine.timing import BEATS_PER_BAR, TICKS_PER_BEAT, Tick

E1, A1, A3 = Midi(28), Midi(33), Midi(57)
"""The open E string, the open A string, and the fourteenth fret of the G string."""


@dataclass(frozen=True, slots=True)
class Compass:
    """The lowest and the highest note a line may use."""

    low: Midi = E1
    high: Midi = A3
    lean: float = (A1 + A3) / 2
    """The height that equally smooth lines are drawn to; it never makes a seam wider."""


@dataclass(frozen=True, slots=True)
class LineNote:
    """One note of a line, with what it means."""

    bar: int
    """Index into the bars of the plan."""

    spot: Spot
    """Where it stands in that bar; beats 0 to 3."""

    degree: Degree
    """Against the tonic of the key."""

    note: Note
    event: NoteEvent
    device: str | None = None
    """The id of the device it belongs to; None for the base pattern."""


class _Place(NamedTuple):
    """An eighth of the plan, beats counted from the start of its music."""

    beat: int
    offbeat: bool


class _Cell(NamedTuple):
    """What stands at a place: a token, and whose it is."""

    what: Tone | Mark
    device: str | None
    """None for the base pattern."""

    chord: Chord | None
    """The chord that the token counts against; None for devices, which count against the key."""


_Grid = dict[_Place, _Cell]


@dataclass(frozen=True, slots=True)
class _Voice:
    """A note before its octave is chosen."""

    place: _Place
    semitones: int
    """Above a tonic whose octave is open."""

    note: Note
    segment: int
    device: str | None


def write_line(plan: Plan, seed: int, compass: Compass | None = None) -> tuple[LineNote, ...]:
    """The bass line of a plan.

    The compass is E1 to A3 unless given. Raises MusicInputError when some device or pattern is
    wider than the compass.
    """
    compass = compass or Compass()
    voices, silences = _voices(plan, seed)
    segments = _by_segment(voices)
    octaves = _octaves(plan, segments, compass)
    base = nearest_tonic(plan.key, 0)
    pitches = [Midi(base + voice.semitones + OCTAVE * octaves[voice.segment]) for voice in voices]
    ends = _ends(plan, voices, silences)
    notes = [
        _line_note(plan, voice, pitch, end, seed)
        for voice, pitch, end in zip(voices, pitches, ends, strict=True)
    ]
    return tuple(notes)


HEARD_WELL = Compass(low=A1)
"""For naming by ear: below A1 (55 Hz) many listeners lose the pitch."""


class Strike(NamedTuple):
    """When and which pitch class, octaves aside: what tells two lines apart by ear."""

    beat: int
    offbeat: bool
    pitch_class: int
    """Above the tonic of the key."""


def outline(plan: Plan, seed: int) -> tuple[Strike, ...]:
    """What `write_line` would strike with the same plan and seed, before octaves are chosen.

    Two plans that differ only in their devices sound alike exactly when their outlines are equal.
    """
    voices, _ = _voices(plan, seed)
    return tuple(Strike(*voice.place, voice.semitones % OCTAVE) for voice in voices)


# --- which notes --------------------------------------------------------------------------------


def _voices(plan: Plan, seed: int) -> tuple[list[_Voice], set[_Place]]:
    """Every note with its segment, in order, and the places where a silence starts."""
    grid: _Grid = {}
    for bar in range(len(plan.bars)):
        grid.update(_base_cells(plan, bar, seed))
    for placement in plan.placements:
        _lay_device(grid, placement.device, placement.bar)
    return _resolve(grid, plan, seed)


def _base_cells(plan: Plan, bar: int, seed: int) -> _Grid:
    """The base pattern of one bar; a chord that comes within the bar starts on its root."""
    pattern, skip = _base_pattern(plan, bar, seed)
    planned = plan.bars[bar]
    cells: _Grid = {}
    for step in pattern.steps:
        beat = step.spot.beat - skip
        if not 0 <= beat < BEATS_PER_BAR:
            continue
        chord = planned.chords[beat]
        enters = beat > 0 and chord != planned.chords[beat - 1] and not step.spot.offbeat
        what = Tone(Degree(1)) if enters or planned.landing else step.what
        cells[_Place(bar * BEATS_PER_BAR + beat, step.spot.offbeat)] = _Cell(what, None, chord)
        if planned.landing:
            break
    return cells


def _base_pattern(plan: Plan, bar: int, seed: int) -> tuple[Pattern, int]:
    """The form of the base pattern for a bar, and how many of its beats to skip.

    A pattern of two bars plays its second bar when the bar before had the same chord and the
    first one.
    """
    pattern = random.Random(f"{seed}:base:{bar}").choice(plan.base.alternatives)
    same = 0
    while bar > same and plan.bars[bar - same - 1].chords == plan.bars[bar].chords:
        same += 1
    return pattern, (same % pattern.bars) * BEATS_PER_BAR


def _lay_device(grid: _Grid, device: Device, bar: int) -> None:
    """Put a device over the base pattern; where two devices meet, the later one has the beat."""
    pattern = device.pattern
    first = bar * BEATS_PER_BAR
    for step in pattern.steps:
        if step.what is Mark.BASE:
            continue
        if not step.spot.offbeat:
            grid.pop(_Place(first + step.spot.beat, True), None)
        place = _Place(first + step.spot.beat, step.spot.offbeat)
        grid[place] = _Cell(step.what, device.id, None)
    landing = _Place(first + device.times * pattern.bars * BEATS_PER_BAR, False)
    if pattern.arrival is not None:
        grid[landing] = _Cell(pattern.arrival, device.id, None)
    elif device.family is Family.ENDING:
        grid.pop(landing, None)  # the last note rings over the landing


def _resolve(grid: _Grid, plan: Plan, seed: int) -> tuple[list[_Voice], set[_Place]]:
    voices: list[_Voice] = []
    silences: set[_Place] = set()
    segment, before = -1, None
    for place, cell in sorted(grid.items()):
        if cell.what is Mark.REST:
            silences.add(place)
        if cell.what in (Mark.REST, Mark.HOLD):
            continue
        bar = None if cell.device else place.beat // BEATS_PER_BAR
        owner = (cell.device, bar, cell.chord, cell.what is Mark.LEAD)
        if owner != before:
            segment, before = segment + 1, owner
        if isinstance(cell.what, Tone):
            semitones, note = _sounding(cell.what, cell.chord, plan.key.tonic)
        else:
            semitones, note = _leading(grid, place, plan, seed)
        voices.append(_Voice(place, semitones, note, segment, cell.device))
    return voices, silences


def _sounding(tone: Tone, chord: Chord | None, tonic: Note) -> tuple[int, Note]:
    """Semitones over the tonic, and the spelled note; against the chord when there is one."""
    if chord is None:
        return tone.semitones, spell(tone.degree, tonic)
    degree = _within(tone.degree, chord)
    root = spell(chord.root, tonic)
    above = Tone(degree, tone.octave).semitones
    return chord.root.semitones + above, spell(degree, root)


def _within(degree: Degree, chord: Chord) -> Degree:
    """A degree of a base pattern as the chord bends it: 3, 5, 7 follow the chord's own."""
    own = {tone.number: tone for tone in chord.tones}
    return own.get(degree.number, degree)


def _leading(grid: _Grid, place: _Place, plan: Plan, seed: int) -> tuple[int, Note]:
    """A note that leads into the next downbeat: a half step below or above it, or its fifth.

    About as often as players do: 22, 20 and 24 % of arrivals on a new root (Weimar Jazz Database).
    """
    tonic = plan.key.tonic
    downbeat = _Place((place.beat // BEATS_PER_BAR + 1) * BEATS_PER_BAR, False)
    cell = grid.get(downbeat)
    if cell is None or not isinstance(cell.what, Tone):
        target = tonic
    else:
        target = _sounding(cell.what, cell.chord, tonic)[1]
    ways = (Degree(7), Degree(2, -1), Degree(5))
    way = random.Random(f"{seed}:lead:{place.beat}").choices(ways, (22, 20, 24))[0]
    lead = spell(way, target)
    return (lead.pitch_class - tonic.pitch_class) % OCTAVE, lead


# --- which octave -------------------------------------------------------------------------------


def _by_segment(voices: Sequence[_Voice]) -> list[list[_Voice]]:
    segments: list[list[_Voice]] = [[] for _ in range(voices[-1].segment + 1)]
    for voice in voices:
        segments[voice.segment].append(voice)
    return segments


def _octaves(plan: Plan, segments: list[list[_Voice]], compass: Compass) -> list[int]:
    """The octave of each segment: the cheapest path through all that fit the compass."""
    base = nearest_tonic(plan.key, 0)
    best: dict[int, tuple[int, float, list[int]]] = {}  # octave: seams, height, the way there
    for index, segment in enumerate(segments):
        options = _fitting(segment, base, compass)
        if not options:
            raise MusicInputError(_too_wide(segment, compass))
        reached: dict[int, tuple[int, float, list[int]]] = {}
        for octave in options:
            own = _height_cost(segment, base, octave, compass)
            if index == 0:
                reached[octave] = (0, own, [octave])
                continue
            reached[octave] = min(
                (
                    seam + _seam_cost(segments[index - 1], before, segment, octave),
                    height + own,
                    [*path, octave],
                )
                for before, (seam, height, path) in best.items()
            )
        best = reached
    return min(best.values())[2]


def _fitting(segment: list[_Voice], base: int, compass: Compass) -> list[int]:
    lowest = min(voice.semitones for voice in segment)
    highest = max(voice.semitones for voice in segment)
    return [
        octave
        for octave in range(-1, 10)
        if compass.low <= base + lowest + OCTAVE * octave
        and base + highest + OCTAVE * octave <= compass.high
    ]


def _seam_cost(before: list[_Voice], octave: int, after: list[_Voice], next_octave: int) -> int:
    leap = (after[0].semitones + OCTAVE * next_octave) - (before[-1].semitones + OCTAVE * octave)
    return leap * leap


def _height_cost(segment: list[_Voice], base: int, octave: int, compass: Compass) -> float:
    """Compared only between lines whose seams cost the same."""
    mean = sum(base + voice.semitones + OCTAVE * octave for voice in segment) / len(segment)
    return abs(mean - compass.lean)


def _too_wide(segment: list[_Voice], compass: Compass) -> str:
    owner = segment[0].device or "the base pattern"
    return (
        f"'{owner}' does not fit between MIDI {compass.low} and {compass.high} in this key: "
        "widen the range, or take a longer neck"
    )


# --- how long, how loud -------------------------------------------------------------------------

GAP = Tick(TICKS_PER_BEAT // 16)
"""Between a note and the next: the finger has to come off the string."""


def _ends(plan: Plan, voices: Sequence[_Voice], silences: set[_Place]) -> list[Tick]:
    """Where each note stops: at the next note or silence, less a gap; the last one rings on."""
    stops = sorted({voice.place for voice in voices} | silences)
    following = dict(pairwise(stops))
    ends: list[Tick] = []
    for voice in voices:
        after = following.get(voice.place)
        if after is None:
            ends.append(plan.length)
        else:
            ends.append(Tick(plan.tick(0, Spot(*after)) - GAP))
    return ends


def _line_note(plan: Plan, voice: _Voice, pitch: Midi, end: Tick, seed: int) -> LineNote:
    start = plan.tick(0, Spot(*voice.place))
    bar, beat = divmod(voice.place.beat, BEATS_PER_BAR)
    return LineNote(
        bar=bar,
        spot=Spot(beat, voice.place.offbeat),
        degree=degree_of(voice.note, plan.key.tonic),
        note=voice.note,
        event=NoteEvent(start, Tick(end - start), pitch, _velocity(voice, seed)),
        device=voice.device,
    )


def _velocity(voice: _Voice, seed: int) -> int:
    """Firm on the beat, lighter off it, and never twice the same; 80 to 100."""
    beat, offbeat = voice.place
    accent = 93 if beat % BEATS_PER_BAR == 0 else 90
    spread = random.Random(f"{seed}:touch:{beat}:{offbeat}").randint(-4, 4)
    return accent - (6 if offbeat else 0) + spread
