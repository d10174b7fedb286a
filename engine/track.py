"""A play-along track as a value: choruses, the devices in them, the tempi, who plays the bass.

A track is a row of stretches, one for each tempo: a bar of counting, some choruses, and the
downbeat on which they land. All that is played follows from the plan alone.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from engine.arrangement import arrange
from engine.catalogue import Device
from engine.choosing import MOST_TEMPI, Chorus
from engine.errors import MusicInputError, amount
from engine.feels import Feel, bar_tick
from engine.forms import Form
from engine.line import LineNote, write_line
from engine.plan import COUNT_IN_BARS, Plan, plan_choruses
from engine.score import ELECTRIC_PIANO, Instrument, Part, Score
from engine.textures import Texture
from engine.theory import Key
from engine.timing import checked_tempo, seconds_at

LONGEST_SECONDS = 2 * 60 * 60.0
"""Of a track; more fits no practice, and a WAV file of six hours no player."""

MOST_CHORUSES = 400
"""At one tempo."""


class BassPart(Enum):
    """Who plays the bass. The value is what commands say."""

    IN = "in"
    """The band's bass plays."""

    OUT = "out"
    """The player does, all the time."""

    TURNS = "turns"
    """The band's bass plays every other chorus, the first one too; the player answers."""


@dataclass(frozen=True, slots=True)
class TrackPlan:
    """A track in one key. `planned` makes one and looks whether it is sound."""

    form: Form
    key: Key
    feel: Feel
    base: Device
    tempi: tuple[float, ...]
    """Beats a minute, one stretch each."""

    choruses: tuple[Chorus, ...]
    """Of the whole track, equally many for each tempo."""

    bass: BassPart = BassPart.IN
    texture: Texture = Texture.BAND
    comping: Instrument = ELECTRIC_PIANO
    seed: int = 1

    @property
    def per_tempo(self) -> int:
        """Choruses at one tempo."""
        return len(self.choruses) // len(self.tempi)

    def plays(self, chorus: int) -> bool:
        """Whether the band's bass plays in chorus index `chorus` of the track."""
        return self.bass is BassPart.IN or (self.bass is BassPart.TURNS and chorus % 2 == 0)


class Stretch(NamedTuple):
    """What is played at one tempo."""

    plan: Plan
    line: tuple[LineNote, ...]
    """What the band's bass plays."""

    score: Score


class ChorusPlace(NamedTuple):
    """A chorus in the course of a track."""

    number: int
    """Counted from 1."""

    tempo: float
    start: float
    """Seconds from the start of the track to its first downbeat."""

    bass: bool
    """Whether the band's bass plays."""

    devices: Chorus


def planned(plan: TrackPlan) -> TrackPlan:
    """The plan itself, when it can be played.

    Raises MusicInputError for no chorus, too many of them, too long a track, nobody who plays, a
    tempo that cannot be played, and devices that have no place, overlap or do not fit the bass.
    """
    tempi, count = len(plan.tempi), len(plan.choruses)
    if not 1 <= tempi <= MOST_TEMPI:
        raise MusicInputError(f"{tempi} tempi: give 1 to {MOST_TEMPI}")
    if count == 0 or count % tempi or plan.per_tempo > MOST_CHORUSES:
        raise MusicInputError(
            f"{amount(count, 'chorus', 'choruses')} for {amount(tempi, 'tempo', 'tempi')}: give 1 "
            f"to {MOST_CHORUSES} for each"
        )
    if plan.bass is BassPart.OUT and plan.texture is Texture.BASS:
        raise MusicInputError("the bass is out and nobody else plays: give drums or band with it")
    for tempo in plan.tempi:
        checked_tempo(tempo)
    if (length := seconds(plan)) > LONGEST_SECONDS:
        raise MusicInputError(
            f"a track of {length / 60:.0f} minutes is too long: give fewer choruses or tempi, "
            f"{LONGEST_SECONDS / 60:.0f} minutes at most"
        )
    for index in range(tempi):
        write_line(_bars(plan, index), plan.seed)
    return plan


def stretches(plan: TrackPlan) -> Iterator[Stretch]:
    """What is played, one stretch a tempo, each in ticks from its own beginning."""
    for index in range(len(plan.tempi)):
        bars = _bars(plan, index)
        whole = write_line(bars, plan.seed)
        score = arrange(bars, whole, plan.texture, plan.seed, plan.comping)
        line = tuple(note for note in whole if plan.plays(_chorus_of(plan, index, bars, note)))
        bass = tuple(note.event for note in line)
        yield Stretch(bars, line, score.with_notes(Part.BASS, bass))


def seconds(plan: TrackPlan) -> float:
    """How long the music lasts, the ringing of the last chord not counted."""
    return sum(_stretch_seconds(plan, index) for index in range(len(plan.tempi)))


def chorus_places(plan: TrackPlan) -> Iterator[ChorusPlace]:
    """The choruses in order, with what is in them."""
    start = 0.0
    for index, tempo in enumerate(plan.tempi):
        for chorus, devices in enumerate(_own(plan, index)):
            number = index * plan.per_tempo + chorus
            first = bar_tick(COUNT_IN_BARS + chorus * len(plan.form))
            at = start + seconds_at(first, tempo)
            yield ChorusPlace(number + 1, tempo, at, plan.plays(number), devices)
        start += _stretch_seconds(plan, index)


def _own(plan: TrackPlan, index: int) -> tuple[Chorus, ...]:
    """The choruses of a stretch."""
    return plan.choruses[index * plan.per_tempo : (index + 1) * plan.per_tempo]


def _stretch_seconds(plan: TrackPlan, index: int) -> float:
    own = _own(plan, index)
    again = sum((row.device.times - 1) * row.device.pattern.bars for rows in own for row in rows)
    bars = COUNT_IN_BARS + len(own) * len(plan.form) + again + 1  # the last bar is the landing
    return seconds_at(bar_tick(bars), plan.tempi[index])


def _bars(plan: TrackPlan, index: int) -> Plan:
    own = _own(plan, index)
    rows = [(chorus, *row) for chorus, placed in enumerate(own) for row in placed]
    tempo = plan.tempi[index]
    return plan_choruses(plan.form, plan.key, plan.feel, tempo, plan.base, rows, len(own))


def _chorus_of(plan: TrackPlan, index: int, bars: Plan, note: LineNote) -> int:
    """The chorus of the track that a note belongs to; who plays a chorus lands, too."""
    return index * plan.per_tempo + min(bars.bars[note.bar].chorus, plan.per_tempo - 1)
