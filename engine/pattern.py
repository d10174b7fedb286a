"""Lines as the catalogue writes them, beat by beat.

One token a beat, `|` between bars, two tokens in brackets for two eighths in the feel of the
tune. A last bar of a single token is the downbeat that the line arrives at:

    1 2 b3 3 | 4        four quarters, then the downbeat
    5 (b6 5) 5 5 | 1    the second beat is two eighths

A token is a degree, with `,` for the octave below and `'` for the octave above, or a mark:

    -   the note before rings on
    x   silence
    *   whatever the base pattern plays here
    ~   a note that leads into the next bar's chord (base patterns only)
"""

import re
from dataclasses import dataclass
from enum import Enum

from engine.errors import MusicInputError, shown
from engine.notation import parse_degree
from engine.theory import OCTAVE, Degree
from engine.timing import BEATS_PER_BAR


class Mark(Enum):
    """A token that is no degree."""

    HOLD = "-"
    REST = "x"
    BASE = "*"
    LEAD = "~"


@dataclass(frozen=True, slots=True)
class Tone:
    """A degree at a height: how far above the tonic (or the root) below it the line stands."""

    degree: Degree
    octave: int = 0
    """Octaves up, or down when negative, from where the degree itself stands."""

    @property
    def semitones(self) -> int:
        """Semitones above the tonic of the register; negative below it."""
        return self.degree.semitones + OCTAVE * self.octave

    def __str__(self) -> str:
        return str(self.degree) + ("'" * self.octave if self.octave > 0 else "," * -self.octave)


@dataclass(frozen=True, slots=True, order=True)
class Spot:
    """A place on the grid of eighths."""

    beat: int
    """Beats from the start of the pattern, 0 first."""

    offbeat: bool = False
    """The second eighth of the beat, where the feel puts it."""

    @property
    def bar(self) -> int:
        """Bars from the start of the pattern, 0 first."""
        return self.beat // BEATS_PER_BAR

    def __str__(self) -> str:
        return f"beat {self.beat % BEATS_PER_BAR + 1}{' and' if self.offbeat else ''}"


@dataclass(frozen=True, slots=True)
class Step:
    """One token at its place."""

    spot: Spot
    what: Tone | Mark


@dataclass(frozen=True, slots=True)
class Pattern:
    """A line in degrees."""

    bars: int
    """Whole bars, the arrival not counted."""

    steps: tuple[Step, ...]
    """In order of place; every beat has one or two."""

    arrival: Tone | None = None
    """The downbeat the line arrives at, just after its last bar."""

    @property
    def tones(self) -> tuple[Tone, ...]:
        """The notes that are struck, marks left out, arrival last."""
        struck = tuple(step.what for step in self.steps if isinstance(step.what, Tone))
        return struck if self.arrival is None else (*struck, self.arrival)

    @property
    def degrees(self) -> tuple[Degree, ...]:
        """The degrees of `tones`."""
        return tuple(tone.degree for tone in self.tones)

    @property
    def text(self) -> str:
        """The pattern in degrees alone, without the marks of octaves: `1 1 6 6 | 2 2 5 5 | 1`."""
        return re.sub(r"(?<=\d)[,']+", "", str(self))

    @property
    def strikes(self) -> tuple[Spot, ...]:
        """Where each of `tones` is struck, the arrival last."""
        spots = tuple(step.spot for step in self.steps if isinstance(step.what, Tone))
        arrival = () if self.arrival is None else (Spot(self.bars * BEATS_PER_BAR),)
        return spots + arrival

    def then(self, other: "Pattern") -> "Pattern":
        """This pattern and `other` right behind it; `other` is what is arrived at."""
        shift = self.bars * BEATS_PER_BAR
        moved = tuple(
            Step(Spot(step.spot.beat + shift, step.spot.offbeat), step.what) for step in other.steps
        )
        return Pattern(self.bars + other.bars, self.steps + moved, other.arrival)

    def doubled(self) -> "Pattern":
        """Each quarter as two eighths of the same degree; eighths stay as they are."""
        halved = {step.spot.beat for step in self.steps if step.spot.offbeat}
        steps: list[Step] = []
        for step in self.steps:
            steps.append(step)
            if isinstance(step.what, Tone) and step.spot.beat not in halved:
                steps.append(Step(Spot(step.spot.beat, True), step.what))
        return Pattern(self.bars, tuple(steps), self.arrival)

    def later(self, beats: int) -> "Pattern":
        """This pattern begun `beats` later: the base pattern plays till then, and what would stand
        behind the last bar is cut off."""
        waits = tuple(Step(Spot(beat), Mark.BASE) for beat in range(beats))
        end = self.bars * BEATS_PER_BAR
        moved = tuple(
            Step(Spot(step.spot.beat + beats, step.spot.offbeat), step.what)
            for step in self.steps
            if step.spot.beat + beats < end
        )
        return Pattern(self.bars, waits + moved, self.arrival)

    def __str__(self) -> str:
        beats: dict[int, list[str]] = {}
        for step in self.steps:
            what = step.what.value if isinstance(step.what, Mark) else str(step.what)
            beats.setdefault(step.spot.beat, []).append(what)
        words = [
            tokens[0] if len(tokens) == 1 else f"({' '.join(tokens)})"
            for _, tokens in sorted(beats.items())
        ]
        bars = [
            " ".join(words[first : first + BEATS_PER_BAR])
            for first in range(0, len(words), BEATS_PER_BAR)
        ]
        return " | ".join([*bars, str(self.arrival)] if self.arrival else bars)


_TOKEN = re.compile(r"\([^()]*\)|\S+")


def parse_pattern(text: str) -> Pattern:
    """Read a pattern; see the head of this module for how one is written.

    Raises MusicInputError naming the bar and the token that breaks a rule.
    """
    bars = [_TOKEN.findall(bar) for bar in text.split("|")]
    arrival: Tone | None = None
    if len(bars) > 1 and len(bars[-1]) == 1:
        last = _token(bars.pop()[0], len(bars) + 1)
        if isinstance(last, Mark) and last is not Mark.HOLD:
            raise MusicInputError(
                f"{shown(text)} arrives at {last.value}: give a degree after the last |, "
                "or - to ring on"
            )
        arrival = last if isinstance(last, Tone) else None
    steps: list[Step] = []
    for number, tokens in enumerate(bars):
        if len(tokens) != BEATS_PER_BAR:
            raise MusicInputError(
                f"bar {number + 1} of {shown(text)} has {len(tokens)} beats: give "
                f"{BEATS_PER_BAR}, or one token after the last | for the downbeat arrived at"
            )
        for place, token in enumerate(tokens):
            steps.extend(_beat(token, number * BEATS_PER_BAR + place, number + 1))
    if steps and steps[0].what is Mark.HOLD:
        raise MusicInputError(
            f"{shown(text)} starts with - but has no note to ring on: give a degree"
        )
    return Pattern(len(bars), tuple(steps), arrival)


def _beat(token: str, beat: int, bar: int) -> list[Step]:
    if not token.startswith("("):
        return [Step(Spot(beat), _token(token, bar))]
    halves = token.strip("()").split()
    if len(halves) != 2:
        raise MusicInputError(f"bar {bar}: {shown(token)} must hold two tokens, one an eighth")
    return [
        Step(Spot(beat, offbeat), _token(half, bar))
        for offbeat, half in zip((False, True), halves, strict=True)
    ]


def _token(text: str, bar: int) -> Tone | Mark:
    if text in {mark.value for mark in Mark}:
        return Mark(text)
    name = text.rstrip("',")
    ending = text[len(name) :]
    try:
        degree = parse_degree(name)
    except MusicInputError as error:
        raise MusicInputError(f"bar {bar}: {error}, or one of the marks - x * ~") from error
    return Tone(degree, ending.count("'") - ending.count(","))
