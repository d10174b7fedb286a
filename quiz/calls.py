"""An open jam as a state table: (state, event) to (state, effects). No clock, no sound, no store.

A figure is open from its first beat until the next one begins, and, where it has not been called
by then, for LATE seconds more: nobody can name a figure by its first moment, so a call in that time
is meant for the one before. The first call of a figure counts. Times are seconds of the music, as
they are heard.

    event    effects
    Cued     none (figures that are coming)
    Called   Counted, if a figure is open that has not been called yet
    Heard    Counted, for each figure that is over and was not called

A call before the first figure, or a second one for the same figure, changes nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import NamedTuple

from quiz.answers import Verdict
from quiz.grading.lines import Grade
from quiz.questions.value import Question

LATE = 0.5
"""Seconds into the next figure in which a call still counts for the one before: about an eighth at
a middling tempo, and the time it takes to press a key. [chosen here, no source]"""


class Outcome(Enum):
    """What became of a figure."""

    CAUGHT = "caught"
    MISTAKEN = "mistaken"
    MISSED = "missed"


class Coming(NamedTuple):
    """A figure in the course of the jam."""

    question: Question
    start: float
    """Seconds of the music to its first beat."""

    arrival: float
    """Seconds of the music to the beat it arrives at."""


class Tally(NamedTuple):
    """What became of one figure so far."""

    caught: int = 0
    mistaken: int = 0
    missed: int = 0


@dataclass(frozen=True, slots=True)
class Jam:
    """The state of an open jam. It stays small however long the jam goes on."""

    coming: tuple[Coming, ...] = ()
    """Figures that are open or still to come, in order."""

    called: bool = False
    """Whether the first of them has been called."""

    tallies: Mapping[str, Tally] = field(default_factory=dict)
    """By the id of the whole device."""


@dataclass(frozen=True, slots=True)
class Cued:
    """Figures that are going to be heard, later than all before."""

    coming: tuple[Coming, ...]


@dataclass(frozen=True, slots=True)
class Called:
    """The player names a figure."""

    at: float
    pick: str
    """The id of a whole device, one of the question's options."""


@dataclass(frozen=True, slots=True)
class Heard:
    """The music has come so far."""

    at: float


Event = Cued | Called | Heard


@dataclass(frozen=True, slots=True)
class Counted:
    """A figure has been called, or is over without a call: keep it."""

    question: Question
    outcome: Outcome
    grade: Grade
    given: str
    seconds: float
    """From the beat it arrived at to the call; 0 for an earlier call, or none."""


def step(state: Jam, event: Event) -> tuple[Jam, tuple[Counted, ...]]:
    """What an event makes of a jam; see the table at the head of this module."""
    match event:
        case Cued(coming=coming):
            return replace(state, coming=(*state.coming, *coming)), ()
        case Heard(at=at):
            return _over(state, at)
        case Called(at=at, pick=pick):
            state, counted = _over(state, at)
            if not state.coming or state.called or at < state.coming[0].start:
                return state, counted
            call = _call(state.coming[0], at, pick)
            return replace(_tallied(state, call), called=True), (*counted, call)


def _over(state: Jam, at: float) -> tuple[Jam, tuple[Counted, ...]]:
    """Close every figure behind which another one has begun, a little later if it is uncalled."""
    counted: list[Counted] = []
    while len(state.coming) > 1 and state.coming[1].start + (0 if state.called else LATE) <= at:
        if not state.called:
            missed = Counted(
                state.coming[0].question,
                Outcome.MISSED,
                Grade(Verdict.GIVEN_UP, 0.0),
                given="",
                seconds=0.0,
            )
            state = _tallied(state, missed)
            counted.append(missed)
        state = replace(state, coming=state.coming[1:], called=False)
    return state, tuple(counted)


def _call(open_figure: Coming, at: float, pick: str) -> Counted:
    right = pick == open_figure.question.right
    verdict = Verdict.RIGHT if right else Verdict.WRONG
    return Counted(
        open_figure.question,
        Outcome.CAUGHT if right else Outcome.MISTAKEN,
        Grade(verdict, float(right), chosen=pick),
        given=pick,
        seconds=max(0.0, at - open_figure.arrival),
    )


def _tallied(state: Jam, counted: Counted) -> Jam:
    device = counted.question.device
    before = state.tallies.get(device, Tally())
    name = counted.outcome.value
    after = before._replace(**{name: getattr(before, name) + 1})
    return replace(state, tallies={**state.tallies, device: after})
