"""Whether a bass figure agrees with what the keys play under no bass, beat by beat.

Conventions. Pitch classes are whole numbers, 0 (C) to 11. Beats are counted from the start of the
figure, 0 first; the downbeat that it arrives at is its last beat. Only distances between pitch
classes are looked at, so octaves never matter and the verdict is the same in every key.

Let N(b) be what the bass plays in beat b, C(b) the tones of its chord (root, third, fifth, seventh
or sixth) and V(b) what the keys sound in it.

- A beat is silent when N(b) is empty: the bass rests there, or plays what nobody judges.
- A beat is right when some note of N(b) is in C(b). In a beat split into two eighths the other note
  is an ornament and no part of the line: the dip `(b6 5)` over the five is right.
- A run is as many beats on end as there are that are neither silent nor right. It passes when the
  beats just before and just behind it are right, and the line goes in one direction, one or two
  semitones a step, from the last chord tone before it through all notes of the run to the first
  chord tone behind it. So neither the first beat nor the last can pass, a silent beat cuts the
  line, and a note that is held into a second beat takes no step.
- A stranger is a beat of a run that does not pass.
- A voice v of V(b) rubs against a note n in beat b when they lie a half step apart, octaves aside,
  and not both are in C(b).
- A rub is a beat that has, with a neighbouring beat, one and the same note as all that the bass
  plays, and one and the same voice that rubs against it in both. The keys may strike that voice
  anew. A half step that lasts a single beat is no rub.

The figure agrees when no beat is a stranger and none is a rub.

That a passing note joins two chord tones by steps in one direction: P. Schubert and C. Neidhoefer,
"Baroque Counterpoint" (2006), p. 40, as an essay on passing notes quotes it. That a bass line may
do so over several beats, and the rest of the above: common practice, no source.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum
from itertools import groupby, pairwise
from typing import NamedTuple

from engine.comping import SHORTEST
from engine.errors import MusicInputError
from engine.pattern import Mark, Pattern, Spot, Tone
from engine.plan import Plan
from engine.score import Track
from engine.theory import OCTAVE, Note
from engine.timing import BEATS_PER_BAR

UP, DOWN = frozenset({1, 2}), frozenset({OCTAVE - 1, OCTAVE - 2})
"""The steps of a passing line, as distances between pitch classes."""

HALF_STEPS = (1, OCTAVE - 1)
"""What stands a half step from a note, as distances above it."""

NEAREST_FIRST = (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6)
"""Distances by their size. Of two as near the one above comes first: a minor ninth over the bass is
harsher than a major seventh. [common practice, no source]"""


class ClashKind(Enum):
    """What is wrong with a beat."""

    STRANGER = "stranger"
    """The bass note is no chord tone and does not pass between two."""

    RUB = "rub"
    """The bass note lies a half step from a voice for more than a beat."""


class Clash(NamedTuple):
    """A beat in which the bass disagrees with the keys."""

    beat: int
    """From the start of the figure, 0 first."""

    kind: ClashKind
    bass: int
    """The pitch class of the bass note, the first one of a split beat."""

    against: int
    """The pitch class it rubs against: of a stranger the nearest chord tone, of a rub the voice."""


@dataclass(frozen=True, slots=True)
class BassBeat:
    """What the bass plays in a beat.

    Raises MusicInputError for a number that is no pitch class.
    """

    notes: tuple[int, ...] = ()
    """The pitch classes that are struck in the beat or ring on into it, in order, each kept once;
    empty where the bass rests or nothing is judged."""

    def __post_init__(self) -> None:
        _check_pitch_classes(self.notes)
        object.__setattr__(self, "notes", tuple(dict.fromkeys(self.notes)))


@dataclass(frozen=True, slots=True)
class BandBeat:
    """What the rest of the band plays in a beat.

    Raises MusicInputError for a number that is no pitch class, and for a chord without tones.
    """

    tones: frozenset[int]
    """The pitch classes of the chord of the beat, as `Chord.pitch_classes` has them."""

    voices: frozenset[int] = frozenset()
    """The pitch classes that the keys sound in the beat."""

    nearest: tuple[int, ...] = field(init=False, repr=False, compare=False)
    """For each of the twelve pitch classes the chord tone nearest to it."""

    rubbing: tuple[frozenset[int], ...] = field(init=False, repr=False, compare=False)
    """For each of the twelve pitch classes how far above it the voices are that rub: 1, 11."""

    def __post_init__(self) -> None:
        _check_pitch_classes((*self.tones, *self.voices))
        if not self.tones:
            raise MusicInputError("a beat has a chord without tones: give at least one")
        object.__setattr__(self, "nearest", _nearest(self.tones))
        object.__setattr__(self, "rubbing", _rubbing(self.tones, self.voices))


def agreement(bass: Sequence[BassBeat], band: Sequence[BandBeat]) -> tuple[Clash, ...]:
    """Where a figure clashes with the band, by beats, a stranger before a rub; empty if it agrees.

    See the head of this module for the rules. What the band plays behind the figure's last beat is
    not looked at. Raises MusicInputError when the figure goes on longer than the band.
    """
    if len(band) < len(bass):
        raise MusicInputError(
            f"the figure has {len(bass)} beats and the band {len(band)}: give the band at least as "
            "many, the downbeat arrived at included"
        )
    clashes = [*_strangers(bass, band), *_rubs(bass, band)]
    clashes.sort(key=lambda clash: clash.beat)
    return tuple(clashes)


def bass_beats(pattern: Pattern, tonic: Note) -> tuple[BassBeat, ...]:
    """The beats of a device's pattern in the key of `tonic`, the downbeat arrived at last.

    A note that rings on is heard in every beat it lasts. Beats that the base pattern plays (`*`)
    have no notes, as rests have none.
    """
    heard: list[list[int]] = [[] for _ in range(pattern.bars * BEATS_PER_BAR)]
    ringing: int | None = None
    for step in pattern.steps:
        if isinstance(step.what, Tone):
            ringing = _pitch_class(step.what, tonic)
        elif step.what is not Mark.HOLD:
            ringing = None
        if ringing is not None:
            heard[step.spot.beat].append(ringing)
    if pattern.arrival is not None:
        heard.append([_pitch_class(pattern.arrival, tonic)])
    return tuple(BassBeat(tuple(notes)) for notes in heard)


def band_beats(plan: Plan, keys: Track, first_bar: int, bars: int) -> tuple[BandBeat, ...]:
    """The beats of `bars` bars from index `first_bar` of the plan on, and the downbeat after them.

    Chords are the plan's. A voice counts in a beat when it sounds for at least SHORTEST in it, so
    the few milliseconds that a hand comes early do not count, and a push does.
    Raises MusicInputError when the plan does not have these bars and one more behind them.
    """
    last = len(plan.bars) - 1
    if first_bar < 0 or bars < 1 or first_bar + bars > last:
        raise MusicInputError(
            f"{bars} bars from bar index {first_bar} of a plan of {last + 1}: give at least one "
            f"bar, and end before the last, index {last}"
        )
    return tuple(
        _band_beat(plan, keys, first_bar, beat) for beat in range(bars * BEATS_PER_BAR + 1)
    )


# --- strangers ----------------------------------------------------------------------------------


def _strangers(bass: Sequence[BassBeat], band: Sequence[BandBeat]) -> Iterator[Clash]:
    foreign = [
        bool(beat.notes) and under.tones.isdisjoint(beat.notes)
        for beat, under in zip(bass, band, strict=False)
    ]
    for in_run, group in groupby(range(len(bass)), foreign.__getitem__):
        beats = list(group)
        if in_run and not _passes(bass, band, beats[0], beats[-1] + 1):
            for beat in beats:
                note = bass[beat].notes[0]
                yield Clash(beat, ClashKind.STRANGER, note, band[beat].nearest[note])


def _passes(bass: Sequence[BassBeat], band: Sequence[BandBeat], first: int, behind: int) -> bool:
    """Whether the run of beats from `first` up to `behind` passes from chord tone to chord tone."""
    if first == 0 or behind == len(bass):
        return False
    start = [note for note in bass[first - 1].notes if note in band[first - 1].tones]
    end = [note for note in bass[behind].notes if note in band[behind].tones]
    if not start or not end:  # silence on one side
        return False
    run = (note for beat in bass[first:behind] for note in beat.notes)
    line = (start[-1], *run, end[0])
    steps = {(after - before) % OCTAVE for before, after in pairwise(line)}
    return steps <= UP or steps <= DOWN


def _nearest(tones: frozenset[int]) -> tuple[int, ...]:
    return tuple(
        next(tone for step in NEAREST_FIRST if (tone := (note + step) % OCTAVE) in tones)
        for note in range(OCTAVE)
    )


# --- rubs ---------------------------------------------------------------------------------------


def _rubs(bass: Sequence[BassBeat], band: Sequence[BandBeat]) -> Iterator[Clash]:
    found: set[tuple[int, int]] = set()  # the beat, and how far above the bass the voice is
    for beat in range(1, len(bass)):
        notes = bass[beat].notes
        if len(notes) != 1 or notes != bass[beat - 1].notes:
            continue
        for above in band[beat - 1].rubbing[notes[0]] & band[beat].rubbing[notes[0]]:
            found |= {(beat - 1, above), (beat, above)}
    for beat, above in sorted(found):
        note = bass[beat].notes[0]
        yield Clash(beat, ClashKind.RUB, note, (note + above) % OCTAVE)


def _rubbing(tones: frozenset[int], voices: frozenset[int]) -> tuple[frozenset[int], ...]:
    return tuple(
        frozenset(
            above
            for above in HALF_STEPS
            if (voice := (note + above) % OCTAVE) in voices and not {note, voice} <= tones
        )
        for note in range(OCTAVE)
    )


# --- reading pattern, plan and track ------------------------------------------------------------


def _pitch_class(tone: Tone, tonic: Note) -> int:
    return (tonic.pitch_class + tone.semitones) % OCTAVE


def _band_beat(plan: Plan, keys: Track, first_bar: int, beat: int) -> BandBeat:
    bar, within = divmod(beat, BEATS_PER_BAR)
    start, end = (plan.tick(first_bar, Spot(place)) for place in (beat, beat + 1))
    return BandBeat(
        plan.chord(first_bar + bar, within).pitch_classes(plan.key.tonic),
        frozenset(
            note.midi % OCTAVE
            for note in keys.notes
            if min(note.end, end) - max(note.start, start) >= SHORTEST
        ),
    )


def _check_pitch_classes(numbers: Iterable[int]) -> None:
    for number in numbers:
        if not 0 <= number < OCTAVE:
            raise MusicInputError(
                f"{number} is no pitch class: give 0 (C) to {OCTAVE - 1} (B), octaves folded"
            )
