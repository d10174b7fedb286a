"""Everything that is open while the program runs, put together in one place."""

import random
from dataclasses import dataclass, replace
from pathlib import Path

from engine.catalogue import Catalogue, builtin_catalogue
from engine.errors import EngineError
from engine.neck import Tuning, find_tuning
from engine.notation import NoteNames
from engine.sound import write_wav
from quiz.backups import daily_backup
from quiz.clock import now
from quiz.coach import Coach, Only
from quiz.errors import QuizError, StoreError, StoreUnwritable
from quiz.excerpts import Excerpt
from quiz.locations import Locations
from quiz.player import ClockPlayer, Player, open_player
from quiz.questions import Question
from quiz.settings import Settings, load, save
from quiz.signs import Signs, signs
from quiz.store import Store, memory_store, open_store
from quiz.studio import Studio
from quiz.unsaved import read_unsaved
from quiz.version import VERSION


@dataclass(slots=True)
class Workbench:
    """The open parts of the program. Settings are values: changing them makes a new coach."""

    locations: Locations
    settings: Settings
    catalogue: Catalogue
    store: Store
    player: Player
    studio: Studio
    coach: Coach
    problems: list[str]
    """What went wrong on the way, a line each, still to be shown."""

    only: Only

    @property
    def names(self) -> NoteNames:
        """The language of note names."""
        return NoteNames(self.settings.note_names)

    @property
    def tuning(self) -> Tuning:
        """The instrument."""
        return find_tuning(self.settings.tuning)

    @property
    def signs(self) -> Signs:
        """The signs that the screen is drawn with."""
        return signs(self.settings.ascii)

    def change(self, settings: Settings) -> str:
        """Take new settings and write them. Gives a line when they could not be written."""
        before, self.settings = self.settings, settings
        if (before.soundfont, before.reverb) != (settings.soundfont, settings.reverb):
            self.studio.close()
            self.studio = open_studio(self.catalogue, settings)
        if before.output_device != settings.output_device:
            self.player.close()
            self.player = open_player(settings.output_device or None)
        self.fresh_coach()
        try:
            save(settings, self.locations.settings)
        except QuizError as error:
            return str(error)
        return ""

    def fresh_coach(self, only: Only | None = None) -> None:
        """A coach with the present settings, limited as given."""
        limits = only or replace(self.only, silent=self.player.silent is not None)
        self.coach = open_coach(self.catalogue, self.settings, self.store, self.studio,
                                self.locations, limits)

    def save_clip(self, question: Question) -> str:
        """Write a question's sound to a WAV file in the working folder; gives what to say."""
        target = Path.cwd() / f"lastbar-{question.seed}.wav"
        try:
            take = self.studio.prepare(Excerpt(question)).result()
            write_wav(take.clip, target)
        except (EngineError, OSError) as error:
            return f"the sound could not be written: {error}"
        return f"Written: {target.name}"

    def close(self) -> None:
        """Give everything back."""
        self.player.stop()
        self.player.close()
        self.studio.close()
        self.store.close()


def open_workbench(locations: Locations, sound: bool = True, only: Only | None = None) -> Workbench:
    """Open settings, history, sound output and coach.

    A history that has no place to be kept is kept in memory, with a line in `problems`. Raises
    StoreDamaged and StoreTooNew, which somebody has to decide about.
    """
    loaded = load(locations.settings)
    problems = list(loaded.problems)
    store = _open_history(locations, problems)
    catalogue = builtin_catalogue()
    settings = loaded.settings
    player = open_player(settings.output_device or None) if sound else ClockPlayer("no sound")
    studio = open_studio(catalogue, settings)
    limits = only or Only(silent=player.silent is not None)
    coach = open_coach(catalogue, settings, store, studio, locations, limits)
    return Workbench(locations, settings, catalogue, store, player, studio, coach, problems, limits)


def open_studio(catalogue: Catalogue, settings: Settings) -> Studio:
    """The studio that the settings ask for."""
    own = Path(settings.soundfont).expanduser() if settings.soundfont else None
    return Studio(catalogue, own, settings.reverb)


def open_coach(
    catalogue: Catalogue, settings: Settings, store: Store, studio: Studio,
    locations: Locations, only: Only, seed: int | None = None,
) -> Coach:
    """A coach whose likely next question is rendered ahead; `seed` makes its choices repeatable."""
    return Coach(
        catalogue, settings, store, now, locations.unsaved, VERSION,
        chance=random.Random(seed),
        prepare=lambda question: studio.prepare(Excerpt(question)), only=only,
    )


def _open_history(locations: Locations, problems: list[str]) -> Store:
    try:
        store = open_store(locations.history)
    except StoreUnwritable as error:
        problems.append(f"{error}. Until then answers wait in {locations.unsaved}.")
        return memory_store()
    try:
        _take_in_unsaved(store, locations)
        daily_backup(store, locations.backups, now().day)
    except StoreError as error:
        problems.append(str(error))
    return store


def _take_in_unsaved(store: Store, locations: Locations) -> None:
    waiting = read_unsaved(locations.unsaved)
    if waiting:
        store.add_all(waiting)
        locations.unsaved.rename(locations.unsaved.with_suffix(".taken"))
