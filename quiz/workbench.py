"""Everything that is open while the program runs, put together in one place.

What the first screen does not need (studio, sound output) is opened at its first use, so that the
program is there at once.
"""

import random
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import EngineError
from engine.notation import NoteNames
from quiz.clock import now
from quiz.display.signs import Signs, signs
from quiz.errors import (
    InstrumentError,
    QuestionError,
    QuizError,
    SoundInputError,
    StoreError,
    StoreUnwritable,
)
from quiz.history.backups import daily_backup, open_kept
from quiz.history.database import Waiting, in_silence
from quiz.history.store import Store, memory_store
from quiz.history.unsaved import read_unsaved, take_in
from quiz.learning.practice import counted_until
from quiz.locations import Locations
from quiz.settings.values import PlayBy, Settings, load
from quiz.sound.player import LatePlayer, Player, open_player
from quiz.version import VERSION

if TYPE_CHECKING:
    from engine.catalogue import Catalogue
    from engine.neck import Neck, Tuning
    from quiz.coach import Coach
    from quiz.learning.material import Only
    from quiz.learning.today import Today
    from quiz.playing.instrument import Instrument
    from quiz.playing.live_take import LiveTake
    from quiz.questions.value import Question
    from quiz.setlist import Setlist
    from quiz.sound.studio import Studio
    from quiz.teacher.assignment import Assignment, Progress

OpenPlayer = Callable[[str | None], Player]
"""Opens the sound output of that name, None for the system's default."""


class Workbench:
    """The open parts of the program."""

    def __init__(
        self,
        locations: Locations,
        settings: Settings,
        store: Store,
        open_output: OpenPlayer,
        only: "Only | None",
        seed: int | None,
        problems: list[str],
        catalogue_files: Sequence[Path] = (),
    ) -> None:
        """Use `open_workbench`."""
        self.locations = locations
        self.settings = settings
        self.store = store
        self.problems = problems
        """What went wrong on the way, a line each, still to be shown."""
        self.tell: Callable[[Sequence[str]], object] = problems.extend
        """Is told of problems that turn up late; until somebody listens they join the others."""
        self.ascii_terminal = False
        """Whether the terminal's encoding has no other signs."""
        self._open_output = open_output
        self._only = only
        self._seed = seed
        self._catalogue_files = catalogue_files
        self._studio: Studio | None = None
        self.player = open_output(settings.output_device or None)
        self._coach: Coach | None = None
        self._instrument: Instrument | None = None
        self._instrument_problem: str | None = None
        self._opening = threading.Lock()  # an instrument may be opened in a thread
        self.take_silence: float | None = None
        """Without a new note for so many seconds a take ends; None for as many as usual."""
        self.assignment: Assignment | None = None
        """What a teacher has set, while the player works at it."""

    def assign(self, file: Path) -> None:
        """Work at the assignment in a file: its limits take the place of others.

        Raises AssignmentError when it cannot be read or breaks rules.
        """
        from quiz.teacher.assignment import limits, load_assignment

        self.assignment = load_assignment(file, self.catalogue)
        self._only = limits(self.assignment, self.catalogue)
        self._coach = None

    def progress(self) -> "Progress | None":
        """How far the player has come with the assignment; None without one."""
        from quiz.teacher.assignment import how_far

        if self.assignment is None:
            return None
        answers = self.store.answers(assignment=self.assignment.id)
        return how_far(self.assignment, answers, self.day)

    def hand_in(self, name: str, target: Path) -> None:
        """Write the results of the assignment, under the name that the player chose to give.

        Raises ResultsError when there are none, or the file cannot be written.
        """
        from quiz.files import write_whole
        from quiz.teacher.results import as_text, results_of

        assert self.assignment is not None  # offered only while there is one
        answers = self.store.answers(assignment=self.assignment.id)
        write_whole(target, as_text(results_of(self.assignment, answers, name)))

    @cached_property
    def catalogue(self) -> "Catalogue":
        """All devices and forms, the player's own among them; what is wrong with those is told."""
        from quiz.own_catalogue import load_catalogue

        loaded = load_catalogue((self.locations.catalogue, *self._catalogue_files))
        if loaded.problems:
            self.tell(loaded.problems)
        return loaded.catalogue

    @property
    def studio(self) -> "Studio":
        """Where clips are made; opened when it is first needed."""
        if self._studio is None:
            self._studio = open_studio(self.catalogue, self.settings)
        return self._studio

    @property
    def coach(self) -> "Coach":
        """Who asks; called in when somebody wants to be asked."""
        if self._coach is None:
            self._coach = self._new_coach(self._limits())
        return self._coach

    @property
    def day(self) -> int:
        """The present practice day."""
        return now().day

    def today(self) -> "Today":
        """How the day stands.

        Raises QuestionError when there is nothing to ask.
        """
        return self.coach.today()

    @property
    def names(self) -> NoteNames:
        """The language of note names."""
        return NoteNames(self.settings.note_names)

    @property
    def neck(self) -> "Neck":
        """The instrument, and what its player thinks of open strings."""
        return self.settings.neck

    @property
    def tuning(self) -> "Tuning":
        """How the instrument is strung."""
        return self.neck.tuning

    @property
    def plain(self) -> bool:
        """Whether the screen has to do with ASCII: the player wants it, or the terminal does."""
        return self.settings.ascii or self.ascii_terminal

    @property
    def signs(self) -> Signs:
        """The signs that the screen is drawn with."""
        return signs(self.plain)

    @property
    def silence(self) -> str | None:
        """Why nothing can be heard, as far as that is known already; never waits."""
        player = self.player
        return None if isinstance(player, LatePlayer) and not player.is_open else player.silent

    def change(self, settings: Settings) -> str:
        """Take new settings and write them. Gives a line when they could not be written."""
        from quiz.settings.file import save

        before, self.settings = self.settings, settings
        if (before.soundfont, before.reverb) != (settings.soundfont, settings.reverb):
            self._close_studio()
        if before.output_device != settings.output_device:
            self.player.close()
            self.player = self._open_output(settings.output_device or None)
        if _played_on(before) != _played_on(settings):
            self._close_instrument()
        self._coach = None
        if self.silence is not None:  # what needs an ear is not counted
            self._coach = self._new_coach(replace(self._limits(), silent=True))
        try:
            save(settings, self.locations.settings)
        except QuizError as error:
            return str(error)
        return ""

    @property
    def playable(self) -> bool:
        """Whether an instrument is chosen and, as far as that is known already, opens."""
        chosen = self.settings.play_by != PlayBy.NOTHING.value
        return chosen and self._instrument_problem is None

    @property
    def to_be_opened(self) -> bool:
        """Whether an instrument is chosen and not open."""
        return self.settings.play_by != PlayBy.NOTHING.value and self._instrument is None

    @property
    def untried(self) -> bool:
        """Whether it is not known yet whether the instrument that is chosen opens."""
        return self.to_be_opened and self._instrument_problem is None

    def try_instrument(self) -> str | None:
        """Open the instrument that is chosen, unless that has happened; why it cannot be played on,
        or None.

        One that does not answer takes seconds. May be called from another thread.
        """
        from quiz.playing.instrument import open_instrument

        with self._opening:
            if self._instrument is not None:
                return self._instrument.problem
            chosen = _played_on(self.settings)
            try:
                found = open_instrument(*chosen)
            except (InstrumentError, SoundInputError) as error:
                if chosen == _played_on(self.settings):
                    self._instrument_problem = str(error)
                return str(error)
            if chosen != _played_on(self.settings):  # another was chosen meanwhile
                found.close()
                return None
            self._instrument, self._instrument_problem = found, None
            return found.problem

    def live_take(self, question: "Question") -> "LiveTake":
        """A take that answers a question.

        Raises InstrumentError when there is nothing to play on.
        """
        from quiz.playing.live_take import LiveTake
        from quiz.playing.taking import SILENCE_SECONDS

        problem = self.try_instrument()
        if self._instrument is None:
            raise InstrumentError(problem or "there is no instrument")
        return LiveTake(
            question,
            self.catalogue,
            self._instrument,
            self.player,
            self.studio,
            self.names,
            SILENCE_SECONDS if self.take_silence is None else self.take_silence,
        )

    def fresh_coach(self, only: "Only | None" = None, placing: bool = False) -> None:
        """A coach for a new round, or a placement, limited as given or as the bench is; without a
        sound output it asks only what needs no ear.

        An instrument that is chosen is opened, unless that has failed already: `try_instrument`
        tries it again.
        """
        limits = only or self._limits()
        silent = limits.silent or self.player.silent is not None
        if self.settings.play_by != PlayBy.NOTHING.value:
            problem = self._instrument_problem or self.try_instrument()
            if problem is not None and self._instrument is None:
                self.tell([f"{problem}. Nothing asks to be played until then."])
        limits = replace(limits, silent=silent, playing=limits.playing and self.playable)
        self._coach = self._new_coach(limits, placing)

    def place(self, silent_too: bool = False) -> None:
        """A coach for a placement; `silent_too` asks by ear even where nothing can be heard.

        Raises QuestionError when the history is long enough to know better.
        """
        if not self.coach.probes_left:
            raise QuestionError("the history knows by now what you know: start a round")
        if silent_too:
            self._coach = self._new_coach(self._limits(), placing=True)
        else:
            self.fresh_coach(placing=True)

    def focus_lines(self) -> list[str]:
        """What rests and what is put forward, a line each."""
        from quiz.learning.focus import Focus, focus_lines

        return focus_lines(Focus(self.settings.resting, self.settings.leading), self.catalogue)

    def setlist(self) -> "Setlist":
        """A new open jam, with figures that the player has met and at the tempo they have reached.

        Raises QuestionError when there are not two figures to tell apart.
        """
        from quiz.setlist import Setlist, circumstances

        practice = self.store.practice(until=counted_until(self.day))
        seed = random.Random(self._seed).getrandbits(48)
        wanted = circumstances(self.settings, practice.states, practice.reaches, seed)
        return Setlist(self.catalogue, wanted, seed)

    def save_clip(self, question: "Question") -> str:
        """Write a question's sound to a WAV file in the working folder; gives what to say."""
        from engine.sound import write_wav
        from quiz.questions.excerpts import Excerpt

        target = Path.cwd() / f"lastbar-{question.seed}.wav"
        try:
            take = self.studio.prepare(Excerpt(question)).result()
            write_wav(take.clip, target)
        except (EngineError, OSError) as error:
            return f"the sound could not be written: {error}"
        return f"Written: {target.name}"

    def close(self) -> None:
        """Give everything back."""
        self.player.close()
        self._close_instrument()
        self._close_studio()
        self.store.close()

    def _close_instrument(self) -> None:
        if self._instrument is not None:
            self._instrument.close()
        self._instrument = self._instrument_problem = None

    def _close_studio(self) -> None:
        if self._studio is not None:
            self._studio.close()
            self._studio = None

    def _limits(self) -> "Only":
        from quiz.learning.material import Only

        only = self._only or Only()
        return replace(only, playing=only.playing or self.playable)

    def _planned(self) -> Settings:
        """The settings that the schedule plans with: an assignment says how many questions."""
        if self.assignment is None:
            return self.settings
        return replace(self.settings, daily_questions=self.assignment.a_day)

    def _new_coach(self, only: "Only", placing: bool = False) -> "Coach":
        from quiz.coach import Coach

        chance = random.Random(self._seed)
        return Coach(
            self.catalogue,
            self._planned(),
            self.store,
            now,
            self.locations.unsaved,
            VERSION,
            chance=chance,
            prepare=self._prepare,
            only=only,
            placing=placing,
        )

    def _prepare(self, question: "Question") -> None:
        """Render a question that is likely to come next, if there is anything to hear."""
        from quiz.questions.excerpts import Excerpt

        self.studio.prepare(Excerpt(question))


def open_workbench(
    locations: Locations,
    open_output: OpenPlayer = open_player,
    only: "Only | None" = None,
    seed: int | None = None,
    catalogue_files: Sequence[Path] = (),
    waiting: Waiting = in_silence,
) -> Workbench:
    """Open settings, history, sound output and coach; `seed` makes the coach's choices repeatable.

    `catalogue_files` are read behind the player's own catalogue, once that is needed. `waiting` is
    for what takes long when the history is long: after a change of rules or format, and once a day.
    A history that has no place to be kept is kept in memory, with a line in `problems`. Raises
    StoreDamaged and StoreTooNew, which somebody has to decide about.
    """
    loaded = load(locations.settings)
    problems = list(loaded.problems)
    store = _open_history(locations, problems, waiting)
    return Workbench(
        locations, loaded.settings, store, open_output, only, seed, problems, catalogue_files
    )


def _played_on(settings: Settings) -> tuple[PlayBy, str, str]:
    """What the settings say of the instrument."""
    return PlayBy(settings.play_by), settings.midi_input, settings.input_device


def open_studio(catalogue: "Catalogue", settings: Settings) -> "Studio":
    """The studio that the settings ask for."""
    from quiz.sound.studio import Studio

    own = Path(settings.soundfont).expanduser() if settings.soundfont else None
    return Studio(catalogue, own, settings.reverb)


def _open_history(locations: Locations, problems: list[str], waiting: Waiting) -> Store:
    try:
        with waiting("Opening the history") as progress:
            store = open_kept(locations.history, locations.backups, progress)
    except StoreUnwritable as error:
        problems.append(f"{error}. Until then answers wait in {locations.unsaved}.")
        store = memory_store()
        store.take_in(*read_unsaved(locations.unsaved))
        return store
    try:
        take_in(locations.unsaved, store.take_in)
        with waiting("Making the backup of the day") as progress:
            daily_backup(store, locations.backups, now().day, progress)
        with waiting("Going through all answers") as progress:
            # kept, so that the first question need not wait for it
            store.practice(progress, until=counted_until(now().day))
    except StoreError as error:
        problems.append(str(error))
    return store
