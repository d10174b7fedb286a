"""A take in the making: the table of `taking`, an instrument, and the sound that counts in.

Whoever shows it calls `begin`, then `tick` many times a second, and reads what is heard. Where
beat 0 is comes from the player's own position in the count-in, as it is heard, so that what the
sound output takes to sound does not count; what the sound input takes is off already.
"""

import time
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING

from engine.errors import EngineError
from engine.feels import bar_tick, find_feel
from engine.listening.notes import Grid, PlayedNote
from engine.notation import NoteNames, format_note
from engine.plan import COUNT_IN_BARS, Plan
from engine.score import Part, Score
from engine.theory import Cents, Degree, spell
from engine.timing import BEATS_PER_BAR
from quiz.errors import InstrumentError, SoundInputError
from quiz.grading.lines import asked_part
from quiz.grading.takes import played_degree, write_played
from quiz.playing.instrument import Instrument
from quiz.playing.taking import (
    EARLY_BEATS,
    NOTHING_HEARD,
    SILENCE_SECONDS,
    Began,
    Broke,
    Do,
    Effect,
    Event,
    Finished,
    Heard,
    Left,
    Located,
    Stage,
    Taking,
    Tell,
    Ticked,
    step,
)
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import KINDS, By, Kind
from quiz.questions.value import Question, Wanted, asked_device
from quiz.sound.player import Player
from quiz.sound.studio import Studio
from quiz.sound.studio import Take as Sound

if TYPE_CHECKING:
    from engine.catalogue import Catalogue

COUNT_BEATS = COUNT_IN_BARS * BEATS_PER_BAR

TUNING_TOLD = 5.0
"""Cents: less is not worth a word."""

MOST_CENTS = 30.0
"""Up to here the ear that finds the notes has been measured."""


@dataclass(frozen=True, slots=True)
class CountIn:
    """The bar that is counted in, and nothing else."""

    question: Question

    def passage(self, catalogue: "Catalogue") -> tuple[Plan, Score]:
        """The sticks of the excerpt's own count-in. Raises MusicInputError as that does."""
        plan, score = Excerpt(self.question).passage(catalogue)
        end = bar_tick(COUNT_IN_BARS)
        tracks = tuple(
            replace(track, notes=tuple(note for note in track.notes if note.end <= end))
            for track in score.tracks
            if track.part is Part.DRUMS
        )
        return replace(plan, bars=(), placements=()), replace(score, tracks=tracks, length=end)


def can_be_played(question: Question) -> bool:
    """Whether a question may be answered by playing: `play` always; of typed ones those in which
    playing gives away no more than the answer. It does not where the key is to be found out, where
    notes are told and degrees asked for, or where the spelling counts, which nobody can hear."""
    if question.kind is Kind.PLAY:
        return True
    if KINDS[question.kind].answered is not By.LINE or not question.key_given:
        return False
    if question.kind is Kind.SPELL and question.wanted is not Wanted.NOTES:
        return False
    return not (question.spelling_counts and question.wanted is Wanted.NOTES)


class LiveTake:
    """One take after another, until one is given."""

    def __init__(
        self,
        question: Question,
        catalogue: "Catalogue",
        instrument: Instrument,
        player: Player,
        studio: Studio,
        names: NoteNames = NoteNames.ENGLISH,
        silence: float = SILENCE_SECONDS,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """Answers to `play` are counted in, those to other kinds are free."""
        self.question = question
        self.told = ""
        """What was said last; empty for nothing."""
        self.given: str | None = None
        """The answer as a text, once there is one."""
        self._instrument, self._player, self._studio = instrument, player, studio
        self._clock = clock
        self._names = names
        self._own = asked_part(question, catalogue).pattern.degrees
        bars = asked_device(question, catalogue).pattern.bars + 1  # and a bar behind it
        beats = bars * BEATS_PER_BAR if question.kind is Kind.PLAY else 0
        self._state = Taking(beats, 60 / question.tempo, silence)
        self._began = 0.0
        self._notes: tuple[PlayedNote, ...] = ()
        self._tuning = Cents(0.0)
        self._count: Future[Sound] | None = None
        self._starts: list[float] = []

    @property
    def stage(self) -> Stage:
        return self._state.stage

    @property
    def counted(self) -> bool:
        """Whether a bar is counted in."""
        return self._state.counted

    @property
    def running(self) -> bool:
        """Whether it is being counted or played."""
        return self._state.running

    @property
    def problem(self) -> str | None:
        """Why the instrument is not there at the moment."""
        return self._instrument.problem

    @property
    def degrees(self) -> tuple[Degree, ...]:
        """What has been heard so far, against the key."""
        return tuple(played_degree(note, self.question) for note in self._notes)

    @property
    def beat(self) -> float | None:
        """The beat that is now, 0 the first of the figure, negative while it is counted in."""
        start = self._state.start
        return None if start is None else (self._clock() - start) / self._state.beat_seconds

    @property
    def tuning_words(self) -> str:
        """What was measured of the instrument's tuning and taken off; empty for next to nothing."""
        cents = self._tuning
        if abs(cents) < TUNING_TOLD:
            return ""
        side = "flat" if cents < 0 else "sharp"
        tune = " Tune it: so much may mislead." if abs(cents) > MOST_CENTS else ""
        return f"Your instrument is {abs(cents):.0f} cents {side}: that has been taken off.{tune}"

    # --- what happens ---------------------------------------------------------------------------

    def begin(self) -> None:
        """Start a take."""
        self.told, self._notes, self._tuning = "", (), Cents(0.0)
        self._happen(Began(self._clock()))

    def tick(self) -> None:
        """Look at the clock, the sound and the instrument."""
        if not self.running:
            return
        if problem := self._instrument.problem:
            self._happen(Broke(f"{problem[:1].upper()}{problem[1:]}. The take does not count."))
            return
        if self.stage is Stage.COUNT_IN:
            self._locate()
        self._listen()
        self._happen(Ticked(self._clock()))

    def finish(self) -> None:
        """The player is done."""
        if self.stage is Stage.PLAYING:
            self._listen()
            self._happen(Finished())

    def leave(self) -> None:
        """Stop the take; it does not count."""
        self._happen(Left())

    def _happen(self, event: Event) -> None:
        self._state, effects = step(self._state, event)
        for effect in effects:
            self._carry_out(effect)

    def _carry_out(self, effect: Effect) -> None:
        match effect:
            case Tell(text=text):
                self.told = text
            case Do.LISTEN:
                try:
                    self._began = self._instrument.begin()
                except (InstrumentError, SoundInputError) as error:
                    self._happen(Broke(str(error)))
            case Do.COUNT:
                self._starts = []
                self._count = self._studio.prepare(CountIn(self.question))
            case Do.GIVE:
                self._give()
            case Do.HUSH:
                self._hush()

    def _hush(self) -> None:
        if self._count is not None:
            self._count = None
            self._player.stop()
        self._instrument.rest()

    def _locate(self) -> None:
        """Start the count-in when it is rendered, and find out when its end is heard."""
        seconds = COUNT_BEATS * self._state.beat_seconds
        if self._count is not None and not self._starts:
            if not self._count.done() or not self._instrument.ready:
                return
            try:
                sound = self._count.result()
            except EngineError as error:
                self._happen(Broke(str(error)))
                return
            self._player.play(sound.clip)
            self._starts.append(self._clock() + seconds)
            self._happen(Located(self._starts[0]))
            return
        position = self._player.position()
        if position:
            self._starts.append(self._clock() - position + seconds)
            self._happen(Located(median(self._starts[1:])))

    def _listen(self) -> None:
        self._notes = self._of_the_take(self._instrument.heard())
        if self.stage is Stage.PLAYING:
            self._tuning = self._instrument.tuning
            self._happen(Heard(self._clock(), len(self._notes)))

    def _of_the_take(self, notes: tuple[PlayedNote, ...]) -> tuple[PlayedNote, ...]:
        """The notes that belong to it: none from the count-in."""
        if not self.counted:
            return notes
        grid = self._grid
        return tuple(
            note for note in notes if grid is not None and grid.beats(note.onset) >= -EARLY_BEATS
        )

    @property
    def _grid(self) -> Grid | None:
        """The beats, counted from the beginning of the take; None where it is free."""
        start = self._state.start
        if start is None:
            return None
        question = self.question
        return Grid(start - self._began, question.tempo, find_feel(question.feel))

    def _give(self) -> None:
        grid = self._grid
        take = self._instrument.take(grid)
        self._tuning = take.tuning
        self._notes = self._of_the_take(take.notes)
        if not self._notes:
            self._happen(Broke(NOTHING_HEARD))
            return
        self._hush()
        self.given = self._as_line() if grid is None else write_played(self._notes, grid)

    def _as_line(self) -> str:
        """The text of a typed answer, in what the question wants. Nobody can hear how a note is
        spelled, so one that is in the figure is written as there."""
        degrees = [played_degree(note, self.question, self._own) for note in self._notes]
        if self.question.wanted is not Wanted.NOTES:
            return " ".join(map(str, degrees))
        tonic = self.question.key.tonic
        return " ".join(format_note(spell(degree, tonic), self._names) for degree in degrees)
