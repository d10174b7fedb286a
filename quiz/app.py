"""The terminal program: the app that holds the screens together.

A screen is loaded when it is first opened; the program starts with the home screen alone.
"""

import gc
import signal
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import ClassVar

from textual.app import App, SystemCommand
from textual.binding import Binding
from textual.message import Message
from textual.screen import Screen
from textual.scrollbar import ScrollBar, ScrollBarRender
from textual.theme import Theme
from textual.widgets import Static

from quiz.errors import QuestionError
from quiz.screens.home import HomeScreen
from quiz.sound.player import LatePlayer
from quiz.workbench import Workbench

CLUB = Theme(
    name="club",
    primary="#d8a657",
    secondary="#7daea3",
    accent="#e78a4e",
    foreground="#ddd3c0",
    background="#1b1a18",
    surface="#24221f",
    panel="#2e2b27",
    success="#8fbcd4",
    warning="#d8a657",
    error="#e78a4e",
    dark=True,
)
"""Amber and blue on dark: verdicts differ in lightness too, and none is told by red and green."""


PATIENCE = 0.3
"""Seconds that an instrument may take to open before the screen says that it is being opened."""

STYLES = ("lastbar.tcss",)
ASCII_STYLES = ("ascii.tcss",)
"""Style sheets beside this file."""


class PlainScrollBar(ScrollBarRender):
    """A scroll bar of blanks: it is told by its background alone."""

    VERTICAL_BARS: ClassVar[list[str]] = [" "] * 8
    HORIZONTAL_BARS: ClassVar[list[str]] = [" "] * 8


class LastbarApp(App[None]):
    """Home, and the way to every other screen."""

    TITLE = "lastbar"
    ENABLE_COMMAND_PALETTE = True
    COMMAND_PALETTE_BINDING = "f1"
    BINDINGS = [
        Binding(
            "ctrl+q",
            "quit",
            "Quit",
            id="app.quit",
            priority=True,
            tooltip="End the program; everything is kept",
        ),
        Binding("question_mark", "help", "Help", id="app.help", tooltip="Keys and words"),
        Binding("f2", "help", "Help", show=False),
    ]

    class OutputOpened(Message):
        """The sound output has been opened, or could not be."""

    class InstrumentTried(Message):
        """The instrument is open, or is known not to open."""

        def __init__(self, then: Callable[[], object]) -> None:
            super().__init__()
            self.then = then

    def __init__(self, bench: Workbench, results: Path | None = None, mark: str = "") -> None:
        """`results` is a folder of players' results that is shown first; `mark` is a line that
        stands on top of every screen."""
        super().__init__(css_path=[*STYLES, *(ASCII_STYLES if bench.plain else ())])
        self._bench = bench
        self._results = results
        self._marked = mark
        self.register_theme(CLUB)
        self.theme = CLUB.name

    def get_default_screen(self) -> Screen[None]:
        """Home is what all other screens lie upon."""
        return HomeScreen(self._bench)

    def _mark(self, screen: Screen[object]) -> None:
        """Put the mark on top of a screen that has come up."""
        if screen.is_attached and not screen.query(".mark"):
            screen.mount(Static(self._marked, classes="mark", markup=False), before=0)

    def on_mount(self) -> None:
        """On the first run the welcome lies over home."""
        if self._marked:
            self.screen_change_signal.subscribe(self, self._mark, immediate=True)
            self._mark(self.screen)
        if self._bench.plain:
            ScrollBar.renderer = PlainScrollBar
        self._end_on_signals()
        if self._results is not None:
            from quiz.screens.roster import RosterScreen

            self.push_screen(RosterScreen(self._bench, self._results))
        elif not self._bench.settings.welcomed:
            from quiz.screens.welcome import WelcomeScreen

            self.push_screen(WelcomeScreen(self._bench))

    def get_key_display(self, binding: Binding) -> str:
        """The name of a key in the footer; in ASCII mode without the signs for Enter and arrows."""
        display = super().get_key_display(binding)
        return display if display.isascii() or not self._bench.plain else binding.key

    def on_ready(self) -> None:
        """The first screen stands: now open what makes the sound."""
        gc.freeze()  # what stands now stays: collecting must not look at it in mid-play
        gc.enable()  # the start went without
        if isinstance(self._bench.player, LatePlayer):
            self._bench.player.begin(lambda: self.post_message(self.OutputOpened()))

    def on_lastbar_app_output_opened(self) -> None:
        """The sound output is open, or is known not to open: the home screen says so."""
        self._when_tried(self._count_anew)

    def _count_anew(self) -> None:
        self._bench.fresh_coach()
        for screen in self.screen_stack:
            if isinstance(screen, HomeScreen):
                screen.show_today()

    def _when_tried(self, then: Callable[[], object]) -> None:
        """Do something once the instrument that is chosen is open, or is known not to open; the
        screen stays awake meanwhile."""
        if not self._bench.to_be_opened:
            then()
            return
        words = "Opening the instrument ..."
        slow = self.set_timer(PATIENCE, lambda: self.notify(words, markup=False))

        def open_it() -> None:
            self._bench.try_instrument()
            self.post_message(self.InstrumentTried(then))
            slow.stop()

        self.run_worker(open_it, thread=True)

    def on_lastbar_app_instrument_tried(self, message: InstrumentTried) -> None:
        """Go on with what has been waiting for it."""
        message.then()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """What the palette offers."""
        yield SystemCommand("Round", "Start a round", self.action_start_round)
        yield SystemCommand("Placement", "Find out what you know", self.action_placement)
        yield SystemCommand("Open jam", "Chorus after chorus", self.action_open_jam)
        yield SystemCommand("Catalogue", "Hear and see every device", self.action_catalogue)
        yield SystemCommand("Scores", "How it has gone", self.action_scores)
        yield SystemCommand("Past questions", "See and hear them again", self.action_history)
        yield SystemCommand("Settings", "Instrument, keys, tempo, sound", self.action_settings)
        yield SystemCommand("Help", "Keys and words", self.action_help)
        yield SystemCommand("Quit", "End the program", self.action_quit)

    def on_home_screen_chosen(self, message: HomeScreen.Chosen) -> None:
        """A line of the home menu."""
        self.call_later(self.run_action, message.action)

    def on_summary_screen_again(self) -> None:
        """Another round right after one."""
        self.pop_screen()
        self.action_start_round()

    def on_jam_over_screen_again(self) -> None:
        """Another jam right after one."""
        self.pop_screen()
        self.action_open_jam()

    def action_start_round(self) -> None:
        """Ask the questions of a round."""
        self._from_here(self._start_round)

    def _start_round(self) -> None:
        self._bench.fresh_coach()
        self._show_round(self._bench.settings.round_length)

    def _from_here(self, begin: Callable[[], object]) -> None:
        """Begin a round once the instrument has been tried, unless somebody has gone to another
        screen or begun one meanwhile."""
        here = self.screen
        self._when_tried(lambda: begin() if self.screen is here else None)

    def action_placement(self) -> None:
        """Find out what is known already."""
        self._from_here(self._start_placement)

    def _start_placement(self) -> None:
        try:
            self._bench.place()
        except QuestionError as error:
            self.notify(str(error), severity="warning", markup=False)
            return
        self._show_round(self._bench.coach.probes_left)

    def _show_round(self, count: int) -> None:
        from quiz.screens.round import RoundScreen

        try:
            screen = RoundScreen(self._bench, count)
        except QuestionError as error:
            self._bench.fresh_coach()
            self.notify(str(error), severity="warning", markup=False)
            return
        self.push_screen(screen)

    def action_open_jam(self) -> None:
        """Chorus after chorus without a stop; nobody has to wait for an instrument twice."""
        if self._bench.untried:
            self._from_here(self._start_jam)
        else:
            self._start_jam()

    def _start_jam(self) -> None:
        from quiz.screens.jam import JamScreen

        try:
            self._bench.fresh_coach()
            screen = JamScreen(self._bench, self._bench.setlist())
        except QuestionError as error:
            self.notify(str(error), severity="warning", markup=False)
            return
        self.push_screen(screen)

    def action_catalogue(self) -> None:
        """The catalogue."""
        from quiz.screens.catalogue import CatalogueScreen

        self.push_screen(CatalogueScreen(self._bench))

    def action_scores(self) -> None:
        """The scores."""
        from quiz.screens.scores import ScoresScreen

        self.push_screen(ScoresScreen(self._bench))

    def action_history(self) -> None:
        """The past questions."""
        from quiz.screens.history import HistoryScreen

        self.push_screen(HistoryScreen(self._bench))

    def action_settings(self) -> None:
        """The settings."""
        from quiz.screens.settings import SettingsScreen

        self.push_screen(SettingsScreen(self._bench))

    def action_help(self) -> None:
        """Help on the screen that is open."""
        from quiz.screens.help import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen(self.screen))

    def _end_on_signals(self) -> None:
        """A hang-up or a kill ends the program as Ctrl+Q does, and leaves the terminal usable."""
        loop = self._loop
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)  # Windows has no SIGHUP
            if number is not None and loop is not None and hasattr(loop, "add_signal_handler"):
                try:
                    loop.add_signal_handler(number, self.exit)
                except (NotImplementedError, RuntimeError):  # Windows; or not the main thread
                    return
