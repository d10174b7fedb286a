"""A round as a state table: (state, event) to (state, effects). No clock, no sound, no store.

The screens and the line mode turn keys and lines into events and carry the effects out. Times are
seconds of any monotonic clock; they come in with the events.

    phase      event          next phase   effects
    ASKING     Replayed       ASKING       Play
    ASKING     PlayingEnded   ASKING       none (the first one is when the response starts)
    ASKING     Stopped        ASKING       Silence
    ASKING     Answered       FEEDBACK     Silence, Record
    FEEDBACK   Replayed       FEEDBACK     Play
    FEEDBACK   Stopped        FEEDBACK     Silence
    FEEDBACK   Continued      ASKING       Silence, Play (of the next question)
    FEEDBACK   Continued      OVER         Silence (when it was the last)
    FEEDBACK   TakenBack      ASKING       Silence, TakeBack (the same question is open again)
    any        Left           OVER         Silence

An event that has no row in a phase changes nothing; nor does Replayed in ASKING where nothing can
be heard before the answer, or when the question may not be heard more often. Where it is heard only
when the player asks for it, a playing changes nothing of when the response starts.

A question whose answer is taken back goes on as it was left: how often it has been heard counts on,
and the time that the feedback was read is no response time. It is not sounded by itself.
"""

from dataclasses import dataclass, replace
from enum import Enum

from quiz.grading.lines import Grade
from quiz.questions.kinds import KINDS
from quiz.questions.value import Next, Question

SLOWER = 0.75
"""The tempo of slower playing, as a share of the question's own."""


class Phase(Enum):
    """Where a round stands."""

    ASKING = "asking"
    FEEDBACK = "feedback"
    OVER = "over"


@dataclass(frozen=True, slots=True)
class Round:
    """The state of a round."""

    length: int
    """Questions in the whole round."""

    current: Next
    number: int = 1
    """Of the present question, counted from 1."""

    phase: Phase = Phase.ASKING
    asked_at: float = 0.0
    """When the present question came up."""

    heard_at: float | None = None
    """When its first playing ended; None while that has not happened."""

    playings: int = 0
    slowed: bool = False
    """Whether it was played slower before the answer."""

    interrupted: bool = False
    """Whether a playing was stopped before the answer."""

    answered_at: float | None = None
    """When the answer was given; None before."""

    grade: Grade | None = None
    results: tuple[Grade, ...] = ()

    @property
    def may_replay(self) -> bool:
        """Whether it may be heard now: in feedback always, before the answer as often as the
        question allows."""
        question = self.current.question
        if self.phase is not Phase.ASKING:
            return True
        allowed = question.playings == 0 or self.playings < question.playings
        return KINDS[question.kind].may_be_heard and allowed

    @property
    def last(self) -> bool:
        """Whether the present question is the last of the round."""
        return self.number >= self.length


# --- events -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Replayed:
    """The player wants to hear it (again)."""

    slower: bool = False
    mine: bool = False
    """In feedback: what was answered, in place of the figure."""


@dataclass(frozen=True, slots=True)
class PlayingEnded:
    """The clip was heard to its end."""

    at: float


@dataclass(frozen=True, slots=True)
class Stopped:
    """The player stopped the sound; that ends the first playing too."""

    at: float


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer was given and graded."""

    at: float
    given: str
    """As it was typed or picked; empty when the question was given up."""

    grade: Grade


@dataclass(frozen=True, slots=True)
class Continued:
    """The player goes on; `following` is the next question, ignored after the last one."""

    at: float
    following: Next | None = None


@dataclass(frozen=True, slots=True)
class TakenBack:
    """The player takes the answer back that was just given."""

    at: float


@dataclass(frozen=True, slots=True)
class Left:
    """The player leaves the round."""


Event = Replayed | PlayingEnded | Stopped | Answered | Continued | TakenBack | Left


# --- effects ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Play:
    """Sound the question, or what was answered in its place."""

    question: Question
    speed: float = 1.0
    mine: bool = False


@dataclass(frozen=True, slots=True)
class Silence:
    """Stop all sound at once."""


@dataclass(frozen=True, slots=True)
class Record:
    """Keep an answer."""

    question: Question
    why: str
    given: str
    grade: Grade
    seconds: float
    """From the end of the first playing, 0 when the answer came before that. Where nothing is
    heard: from when the question came up. Never negative."""

    playings: int
    slowed: bool
    interrupted: bool


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Let the answer that was recorded last count no more."""


Effect = Play | Silence | Record | TakeBack


def begin(length: int, first: Next, at: float) -> tuple[Round, tuple[Effect, ...]]:
    """A new round, its first question sounding if it is one that is heard."""
    return _ask(Round(length, first, number=1), first, at)


def step(state: Round, event: Event) -> tuple[Round, tuple[Effect, ...]]:
    """What an event makes of a round; see the table at the head of this module."""
    if isinstance(event, Left):
        return replace(state, phase=Phase.OVER), (Silence(),)
    if state.phase is Phase.ASKING:
        return _while_asking(state, event)
    if state.phase is Phase.FEEDBACK:
        return _in_feedback(state, event)
    return state, ()


def _while_asking(state: Round, event: Event) -> tuple[Round, tuple[Effect, ...]]:
    question = state.current.question
    match event:
        case Replayed(slower=slower) if state.may_replay:
            heard = replace(state, playings=state.playings + 1, slowed=state.slowed or slower)
            return heard, (Play(question, SLOWER if slower else 1.0),)
        case PlayingEnded(at=at) if state.heard_at is None and KINDS[question.kind].heard:
            return replace(state, heard_at=at), ()
        case Stopped(at=at):
            interrupted = KINDS[question.kind].heard
            heard_at = at if interrupted and state.heard_at is None else state.heard_at
            return replace(state, interrupted=interrupted, heard_at=heard_at), (Silence(),)
        case Answered():
            answered = replace(
                state,
                phase=Phase.FEEDBACK,
                answered_at=event.at,
                grade=event.grade,
                results=(*state.results, event.grade),
            )
            return answered, (Silence(), _record(state, event))
    return state, ()


def _in_feedback(state: Round, event: Event) -> tuple[Round, tuple[Effect, ...]]:
    match event:
        case Replayed(slower=slower, mine=mine):
            return state, (Play(state.current.question, SLOWER if slower else 1.0, mine),)
        case Stopped():
            return state, (Silence(),)
        case Continued(at=at, following=following):
            if state.last or following is None:
                return replace(state, phase=Phase.OVER), (Silence(),)
            fresh = Round(state.length, following, state.number + 1, results=state.results)
            asking, effects = _ask(fresh, following, at)
            return asking, (Silence(), *effects)
        case TakenBack(at=at):
            return _open_again(state, at), (Silence(), TakeBack())
    return state, ()


def _open_again(state: Round, at: float) -> Round:
    """The question as it stood before its answer; the clock stood still in between."""
    assert state.answered_at is not None  # there is no feedback before an answer
    away = at - state.answered_at
    return replace(
        state,
        phase=Phase.ASKING,
        asked_at=state.asked_at + away,
        heard_at=None if state.heard_at is None else state.heard_at + away,
        answered_at=None,
        grade=None,
        results=state.results[:-1],
    )


def _ask(state: Round, following: Next, at: float) -> tuple[Round, tuple[Effect, ...]]:
    heard = KINDS[following.question.kind].heard
    asking = replace(state, asked_at=at, playings=1 if heard else 0)
    return asking, (Play(following.question),) if heard else ()


def _record(state: Round, event: Answered) -> Record:
    since = state.asked_at if state.heard_at is None else state.heard_at
    never_heard = KINDS[state.current.question.kind].heard and state.heard_at is None
    return Record(
        question=state.current.question,
        why=state.current.why,
        given=event.given,
        grade=event.grade,
        seconds=0.0 if never_heard else max(0.0, event.at - since),
        playings=state.playings,
        slowed=state.slowed,
        interrupted=state.interrupted,
    )
