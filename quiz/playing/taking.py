"""A take as a state table: (state, event) to (state, effects). No clock, no sound, no instrument.

A take is counted in, or free where it has no beats. Times are seconds of any clock; they come in
with the events.

    stage     event      when                             next      effects
    WAITING   Began      it is counted in                 COUNT_IN  Listen, Count
    WAITING   Began      it is free                       PLAYING   Listen
    COUNT_IN  Located                                     COUNT_IN  none (beat 0 is known)
    COUNT_IN  Ticked     half a beat before beat 0        PLAYING   none
    PLAYING   Heard      there are more notes             PLAYING   none (it is not silent)
    PLAYING   Ticked     the last beat has passed         over      see below
    PLAYING   Ticked     no new note for `silence`        over      see below, Tell
    PLAYING   Finished                                    over      see below
    either    Broke                                       WAITING   Hush, Tell
    either    Left                                        WAITING   Hush

    over      with notes                                  DONE      Give
    over      without                                     WAITING   Hush, Tell
    DONE      Broke      nothing is left of it            WAITING   Hush, Tell

An event that has no row in a stage changes nothing. A take in which nothing was played is no
answer, nor is one whose instrument went away: another may be started.
"""

from dataclasses import dataclass, replace
from enum import Enum

SILENCE_SECONDS = 10.0
"""Without a new note for so long a take ends."""

EARLY_BEATS = 0.5
"""Beats before beat 0 from which on what is played belongs to the take."""

NOTHING_HEARD = "Nothing was heard: look at the instrument, then start another take."


class Stage(Enum):
    """Where a take stands."""

    WAITING = "waiting"
    COUNT_IN = "count-in"
    PLAYING = "playing"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Taking:
    """The state of a take."""

    beats: int
    """From beat 0 until it ends; 0 where it is free."""

    beat_seconds: float = 0.5
    silence: float = SILENCE_SECONDS
    stage: Stage = Stage.WAITING
    start: float | None = None
    """When beat 0 is; None before that is known."""

    sounded: float = 0.0
    """When a new note was there last, or the playing began."""

    notes: int = 0

    @property
    def counted(self) -> bool:
        """Whether it is counted in."""
        return self.beats > 0

    @property
    def running(self) -> bool:
        return self.stage in (Stage.COUNT_IN, Stage.PLAYING)


# --- events -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Began:
    """The player starts the take."""

    at: float


@dataclass(frozen=True, slots=True)
class Located:
    """The count-in tells when beat 0 will be."""

    start: float


@dataclass(frozen=True, slots=True)
class Heard:
    """So many notes have been heard by now."""

    at: float
    notes: int


@dataclass(frozen=True, slots=True)
class Ticked:
    """Time has passed."""

    at: float


@dataclass(frozen=True, slots=True)
class Finished:
    """The player says that this was it."""


@dataclass(frozen=True, slots=True)
class Broke:
    """The instrument or the sound went away."""

    why: str


@dataclass(frozen=True, slots=True)
class Left:
    """The player stops the take."""


Event = Began | Located | Heard | Ticked | Finished | Broke | Left


# --- effects ------------------------------------------------------------------------------------


class Do(Enum):
    """What is to be done."""

    LISTEN = "listen to the instrument"
    COUNT = "sound the count-in"
    GIVE = "judge the take and give it as the answer"
    HUSH = "listen and sound no more"


@dataclass(frozen=True, slots=True)
class Tell:
    """Something to say to the player."""

    text: str


Effect = Do | Tell
_Step = tuple[Taking, tuple[Effect, ...]]


def step(state: Taking, event: Event) -> _Step:
    """What an event makes of a take; see the table at the head of this module."""
    if state.stage is Stage.WAITING:
        return _begun(state, event)
    if isinstance(event, Broke):
        return _anew(state), (Do.HUSH, Tell(event.why))
    if not state.running:
        return state, ()
    if isinstance(event, Left):
        return _anew(state), (Do.HUSH,)
    return _counting(state, event) if state.stage is Stage.COUNT_IN else _playing(state, event)


def _anew(state: Taking) -> Taking:
    return Taking(state.beats, state.beat_seconds, state.silence)


def _begun(state: Taking, event: Event) -> _Step:
    if not isinstance(event, Began):
        return state, ()
    if state.counted:
        return replace(_anew(state), stage=Stage.COUNT_IN), (Do.LISTEN, Do.COUNT)
    return replace(_anew(state), stage=Stage.PLAYING, sounded=event.at), (Do.LISTEN,)


def _counting(state: Taking, event: Event) -> _Step:
    match event:
        case Located(start=start):
            return replace(state, start=start), ()
        case Ticked(at=at) if state.start is not None:
            if at >= state.start - EARLY_BEATS * state.beat_seconds:
                return replace(state, stage=Stage.PLAYING, sounded=at), ()
    return state, ()


def _playing(state: Taking, event: Event) -> _Step:
    match event:
        case Heard(at=at, notes=notes) if notes > state.notes:
            return replace(state, notes=notes, sounded=at), ()
        case Ticked(at=at):
            last = None if state.start is None else state.start + state.beats * state.beat_seconds
            if state.counted and last is not None and at >= last:
                return _over(state, NOTHING_HEARD)
            if at - state.sounded >= state.silence:
                return _over(state, silence_words(state.silence), silent=True)
        case Finished():
            return _over(state, NOTHING_HEARD)
    return state, ()


def _over(state: Taking, nothing: str, silent: bool = False) -> _Step:
    if not state.notes:
        return _anew(state), (Do.HUSH, Tell(nothing))
    said = (Tell(nothing),) if silent else ()
    return replace(state, stage=Stage.DONE), (Do.GIVE, *said)


def silence_words(seconds: float) -> str:
    """Why a take has ended."""
    return f"Nothing new was played for {seconds:g} seconds: the take has ended."
