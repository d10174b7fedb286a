"""The open jam: chorus after chorus, and a key for each figure."""

from collections import deque

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from engine.jam_places import JamPlace, cues
from engine.timing import seconds_at
from quiz.calls import Called, Coming, Counted, Cued, Event, Heard, Jam, Outcome, step
from quiz.display.wording import figure_words, key_words
from quiz.learning.practice import CALLED
from quiz.screens.jam_over import JamOverScreen
from quiz.screens.sounding import FOLLOW_SECONDS
from quiz.session import Record
from quiz.setlist import Setlist
from quiz.sound.bandstand import Bandstand
from quiz.widgets.answer_pad import Choices
from quiz.widgets.footer import KeyFooter
from quiz.widgets.form_strip import FormStrip
from quiz.widgets.notice import Notice
from quiz.workbench import Workbench

LINES_KEPT = 6
"""Calls that stay on the screen."""


class JamScreen(Screen[None]):
    """Plays a jam and takes the calls."""

    CSS_PATH = ["jam.tcss", "../widgets/form_strip.tcss"]
    AUTO_FOCUS = "#figures"
    BINDINGS = [
        Binding(
            "escape",
            "leave",
            "Stop",
            id="jam.leave",
            tooltip="End the jam; every call so far is kept",
        ),
    ]

    def __init__(self, bench: Workbench, setlist: Setlist) -> None:
        super().__init__()
        self._bench = bench
        self._setlist = setlist
        self._jam = Jam()
        self._known = -1  # the last leg whose figures are cued
        self._calls: deque[str] = deque(maxlen=LINES_KEPT)  # the latest first
        self._how = ""
        self._stand: Bandstand | None = None

    def compose(self) -> ComposeResult:
        """What is played, the form, the figures, the calls."""
        yield Static(id="how", markup=False)
        yield FormStrip(self._bench.signs, id="strip")
        yield Static("Name each figure before the next one comes.", id="sentence", markup=False)
        yield Notice(id="notice")
        yield Choices(id="figures")
        with VerticalScroll(id="calls-box", can_focus=False):
            yield Static(id="calls", markup=False)
        yield KeyFooter()

    def on_mount(self) -> None:
        """Count in."""
        form = self._setlist.settings.form
        strip = self.query_one(FormStrip)
        strip.show(form, frozenset(), frozenset(range(1, len(form) + 1)))
        catalogue = self._bench.catalogue
        words = [figure_words(figure, catalogue) for figure in self._setlist.figures]
        self.query_one(Choices).offer(words)
        self._show_how(None)
        self._stand = self._bench.studio.bandstand(self._setlist.legs())
        self.query_one(Notice).say(self._bench.player.silent or self._bench.studio.problem or "")
        self._bench.player.play_feed(self._stand.feed)
        self._stand.begin()
        self.set_interval(FOLLOW_SECONDS, self._follow)

    def on_unmount(self) -> None:
        """No band plays on behind another screen."""
        if self._stand is not None:
            self._stand.stop()

    # --- following the music --------------------------------------------------------------------

    def _follow(self) -> None:
        """Cue what is coming, move the bar, close what is over."""
        stand = self._stand
        if stand is None:
            return
        self._cue(stand)
        seconds = self._heard()
        if seconds is None:
            self._say_why_it_ended(stand)
            return
        self._happen(Heard(seconds))
        place = stand.place(seconds)
        at = None if place is None or place.leads_over else (place.bar, place.beat)
        self.query_one(FormStrip).sounding = at
        self._show_how(place)

    def _heard(self) -> float | None:
        """Seconds of the jam that have been heard; None when it is over, whatever else may play."""
        if self._stand is None or self._stand.feed.closed:
            return None
        return self._bench.player.position()

    def _say_why_it_ended(self, stand: Bandstand) -> None:
        why = stand.problem or self._bench.player.silent or "another sound took its place"
        self.query_one(Notice).say(f"The jam ended: {why}")
        self.query_one(FormStrip).sounding = None

    def _cue(self, stand: Bandstand) -> None:
        """Take in the figures of legs that have been planned since."""
        tempo = self._setlist.settings.tempo
        for leg in stand.legs:
            if leg.index <= self._known:
                continue
            self._known = leg.index
            coming = tuple(
                Coming(
                    self._setlist.question(cue, leg.key),
                    seconds_at(cue.start, tempo),
                    seconds_at(cue.arrival, tempo),
                )
                for cue in cues(leg)
            )
            self._happen(Cued(coming))

    def _happen(self, event: Event) -> None:
        self._jam, counted = step(self._jam, event)
        for one in counted:
            self._count(one)

    def _count(self, counted: Counted) -> None:
        """Keep what became of a figure, and say it."""
        problem = self._bench.coach.record(
            Record(
                question=counted.question,
                why=CALLED,
                given=counted.given,
                grade=counted.grade,
                seconds=counted.seconds,
                playings=1,
                slowed=False,
                interrupted=False,
            )
        )
        if problem:
            self.app.notify(problem, severity="error", markup=False, timeout=20)
        sign = self._bench.signs.verdict(counted.grade.verdict)
        self._calls.appendleft(f"{sign} {self._outcome_words(counted)}")
        self.query_one("#calls", Static).update(Content("\n".join(self._calls)))

    def _outcome_words(self, counted: Counted) -> str:
        catalogue = self._bench.catalogue
        right = figure_words(catalogue.find(counted.question.device), catalogue)
        if counted.outcome is Outcome.CAUGHT:
            return f"caught: {right}"
        if counted.outcome is Outcome.MISSED:
            return f"missed: {right}"
        said = figure_words(catalogue.find(counted.given), catalogue)
        return f"it was {right}, you said {said}"

    # --- what is shown --------------------------------------------------------------------------

    def _show_how(self, place: JamPlace | None) -> None:
        settings, bench = self._setlist.settings, self._bench
        words = [f"Open jam   {settings.form.name}   {settings.feel.value}, {settings.tempo:g} bpm"]
        if not bench.settings.jam_by_ear and self._stand is not None:
            words.append(self._key_words(place))
        how = "   ".join(filter(None, words))
        if how != self._how:  # it is looked at with every picture of the moving bar
            self._how = how
            self.query_one("#how", Static).update(Content(how))

    def _key_words(self, place: JamPlace | None) -> str:
        legs = {} if self._stand is None else {leg.index: leg for leg in self._stand.legs}
        leg = legs.get(0 if place is None else place.leg)
        if leg is None:
            return ""
        if place is not None and place.leads_over and leg.following is not None:
            return f"now into {key_words(leg.following, self._bench.names)}"
        return f"in {key_words(leg.key, self._bench.names)}"

    # --- what the player does -------------------------------------------------------------------

    def on_choices_picked(self, message: Choices.Picked) -> None:
        """A figure is named."""
        seconds = self._heard()
        if seconds is not None:
            self._happen(Called(seconds, self._setlist.figures[message.index].id))

    def action_leave(self) -> None:
        """End the jam, and show what came of it."""
        self._bench.player.stop()
        if self._stand is not None:
            self._stand.stop()
        if self._jam.tallies:
            self.app.switch_screen(JamOverScreen(self._bench, self._setlist, self._jam))
        else:
            self.dismiss()
