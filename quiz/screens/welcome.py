"""The first run: instrument, note names, keys, and a test tone. Skippable."""

from dataclasses import replace

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Button, Label, Select, Static

from engine.neck import TUNINGS
from engine.notation import NoteNames
from quiz.display.cautions import VOLUME
from quiz.screens.sounding import Sounding
from quiz.settings.values import GUITAR_KEYS, HORN_KEYS, Settings, favouring
from quiz.sound.testtone import TestTone
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench

KEY_GROUPS = {
    "all keys alike": (),
    f"more horn keys ({' '.join(HORN_KEYS)})": HORN_KEYS,
    f"more guitar keys ({' '.join(GUITAR_KEYS)})": GUITAR_KEYS,
}
NAMES = {
    "A Bb B C": NoteNames.ENGLISH,
    "A B H C": NoteNames.GERMAN,
    "La Sib Si Do": NoteNames.SOLFEGE,
}


class WelcomeScreen(Screen[None]):
    """Three choices and a tone; every one of them can be left as it is."""

    CSS_PATH = "welcome.tcss"
    AUTO_FOCUS = "#done"
    BINDINGS = [
        Binding("escape", "skip", "Skip", id="welcome.skip", tooltip="Keep everything as it is"),
        Binding("f5", "tone", "Test tone", id="welcome.tone", tooltip="Hear a soft bass note"),
    ]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench
        self._sounding = Sounding(self, bench)

    def compose(self) -> ComposeResult:
        """The choices, the tone, and the way on."""
        settings = self._bench.settings
        yield Static("lastbar: hear it, name it, write it, spell it", classes="title", markup=False)
        with VerticalScroll(id="welcome"):
            yield Label("Your bass")
            yield Select(
                [(tuning.name, tuning.id) for tuning in (*TUNINGS, *settings.tunings)],
                value=settings.tuning,
                allow_blank=False,
                compact=True,
                id="tuning",
            )
            yield Label("Note names")
            yield Select(
                [(words, names.value) for words, names in NAMES.items()],
                value=settings.note_names,
                allow_blank=False,
                compact=True,
                id="names",
            )
            yield Label("Keys")
            yield Select(
                [(words, words) for words in KEY_GROUPS],
                value=next(iter(KEY_GROUPS)),
                allow_blank=False,
                compact=True,
                id="keys",
            )
            yield Static(Content(VOLUME), markup=False)
            yield Static(Content(self._bench.player.silent or ""), id="silent", markup=False)
            yield Button("Play a test tone (F5)", id="tone")
            yield Button("Ready", id="done", variant="primary")
            yield Button("Ready, and find out what I know already", id="place")
        yield KeyFooter()

    @on(Button.Pressed, "#tone")
    def action_tone(self) -> None:
        """A soft bass note, so that the volume can be set."""
        self._sounding.play(TestTone())

    @on(Sounding.Ready)
    def _tone_ready(self, message: Sounding.Ready) -> None:
        problem = self._sounding.take_in(message)
        self.query_one("#silent", Static).update(Content(problem))

    @on(Button.Pressed, "#done")
    def _done(self) -> None:
        self._finish(
            replace(
                self._bench.settings,
                tuning=str(self.query_one("#tuning", Select).value),
                note_names=str(self.query_one("#names", Select).value),
                key_weights=favouring(KEY_GROUPS[str(self.query_one("#keys", Select).value)]),
            )
        )

    @on(Button.Pressed, "#place")
    def _place(self) -> None:
        self._done()
        self.app.call_later(self.app.run_action, "placement")

    def action_skip(self) -> None:
        """Go on with the settings as they are."""
        self._finish(self._bench.settings)

    def _finish(self, settings: Settings) -> None:
        self._sounding.stop()
        problem = self._bench.change(replace(settings, welcomed=True))
        if problem:
            self.app.notify(problem, severity="warning", markup=False, timeout=15)
        self.dismiss()
