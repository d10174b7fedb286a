"""Home: what is due, how the last days went, and where to go."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from engine.errors import amount
from quiz.errors import QuestionError
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench

if TYPE_CHECKING:
    from quiz.progress.counts import Count

PLACEMENT = ("placement", "Placement: what you know already, 24 questions at most")
"""A line of the menu while there are few answers."""

MENU = (
    ("start_round", "Start a round"),
    ("open_jam", "Open jam: chorus after chorus without a stop"),
    ("catalogue", "Catalogue: hear and see every device"),
    ("scores", "Scores"),
    ("history", "Past questions: see and hear them again"),
    ("settings", "Settings"),
    ("help", "Help and keys"),
    ("quit", "Quit"),
)
"""Actions of the app, and what the menu says."""

CHART_ROWS = 4


class HomeScreen(Screen[None]):
    """The first screen."""

    AUTO_FOCUS = "#menu"
    BINDINGS = [
        Binding("r", "app.start_round", "Round", id="home.round", tooltip="Start a round"),
        Binding(
            "h",
            "hand_in",
            "Hand in",
            id="home.hand-in",
            tooltip="Write the results of the assignment to a file for the teacher",
        ),
        Binding("j", "app.open_jam", "Jam", id="home.jam", tooltip="Chorus after chorus"),
        Binding(
            "c",
            "app.catalogue",
            "Catalogue",
            id="home.catalogue",
            tooltip="Hear and see every device",
        ),
        Binding("s", "app.scores", "Scores", id="home.scores", tooltip="How it has gone"),
        Binding(
            "p",
            "app.history",
            "Past",
            id="home.history",
            tooltip="Past questions, to see and to hear again",
        ),
        Binding(
            "e",
            "app.settings",
            "Settings",
            id="home.settings",
            tooltip="Instrument, keys, tempo, sound",
        ),
    ]

    class Chosen(Message):
        """A line of the menu was chosen."""

        def __init__(self, action: str) -> None:
            super().__init__()
            self.action = action

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench

    def compose(self) -> ComposeResult:
        """Title, the day, the menu, the last days."""
        yield Static("lastbar", classes="title", markup=False)
        yield Static(id="today", markup=False)
        yield OptionList(*_options(MENU), id="menu")
        yield Static(id="days", markup=False)
        yield KeyFooter()

    def on_mount(self) -> None:
        """Light the first line, so that Enter starts a round; show what went wrong till here."""
        self.query_one("#menu", OptionList).highlighted = 0
        for problem in self._bench.problems:
            self.app.notify(problem, severity="warning", markup=False, timeout=15)
        self._bench.problems.clear()

    def on_screen_resume(self) -> None:
        """The numbers are counted anew; the menu does not wait for them."""
        self.call_after_refresh(self.show_today)

    def show_today(self) -> None:
        """Show how things stand."""
        from quiz.progress.counts import last_days

        self._offer_placement()
        self.query_one("#today", Static).update(Content(self._today_words()))
        days = last_days(self._bench.store, self._bench.day)
        self.query_one("#days", Static).update(Content(day_chart(days, self._bench.signs.full)))

    def _offer_placement(self) -> None:
        """The line of the placement comes behind the first one, and goes when it is done."""
        menu = self.query_one("#menu", OptionList)
        offered = menu.option_count > len(MENU)
        if offered == self._may_place():
            return
        lit = menu.highlighted
        menu.clear_options()
        menu.add_options(_options(MENU if offered else (MENU[0], PLACEMENT, *MENU[1:])))
        menu.highlighted = lit

    def _may_place(self) -> bool:
        try:
            return self._bench.coach.probes_left > 0 and not self._bench.coach.placed
        except QuestionError:
            return False  # there is nothing to ask at all

    @on(OptionList.OptionSelected, "#menu")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        self.post_message(self.Chosen(event.option.id or ""))

    def _assignment_lines(self) -> list[str]:
        """What a teacher has set, and how far it has come; nothing without an assignment."""
        assignment, progress = self._bench.assignment, self._bench.progress()
        if assignment is None or progress is None:
            return []
        left = progress.days_left
        when = "" if left is None else f", {amount(left, 'day')} left" if left else ", it is over"
        right = sum(tally.right for tally in progress.tallies)
        answers = sum(tally.answers for tally in progress.tallies)
        full = amount(progress.days_done, "full day")
        return [
            f"Assignment: {assignment.title}. {assignment.note}".rstrip(),
            f"{progress.today} of {progress.a_day} today, {full}{when}; "
            f"{right} of {answers} right. h hands in the results.",
        ]

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Results are handed in only where there is an assignment."""
        return self._bench.assignment is not None if action == "hand_in" else True

    def action_hand_in(self) -> None:
        """Ask for a name, and write the results."""
        from quiz.screens.hand_in import HandInScreen

        self.app.push_screen(HandInScreen(self._bench))

    def _today_words(self) -> str:
        lines = [*self._assignment_lines(), *self._day_lines(), *self._bench.focus_lines()]
        if self._bench.silence:
            lines.append(f"{self._bench.silence}; rounds ask only what needs no ear.")
        return "\n".join(filter(None, lines))

    def _day_lines(self) -> list[str]:
        """How the day stands, or why nothing can be asked."""
        from quiz.learning.today import later_words

        try:
            today = self._bench.today()
        except QuestionError as error:
            return [str(error)]
        stages = "   ".join(f"{name} {count}" for name, count in today.stages.items())
        presumed = f"   ({today.presumed} new ones presumed known)" if today.presumed else ""
        return [
            f"Today: {today.left} due, {today.new_left} new, {today.asked} answered. "
            f"{later_words(today)}".rstrip(),
            f"You have met {today.met} of {today.items}:   {stages}{presumed}",
        ]


def _options(lines: Sequence[tuple[str, str]]) -> list[Option]:
    return [Option(words, id=action) for action, words in lines]


def day_chart(days: tuple["Count", ...], full: str) -> str:
    """The last days as upright bars, a column a day; the right ones are the lower part."""
    most = max((day.answers for day in days), default=0)
    if not most:
        return "No answers in the last two weeks. A first round takes about ten minutes."
    rows = []
    for row in range(CHART_ROWS, 0, -1):
        cells = []
        for day in days:
            right, answers = (CHART_ROWS * part / most for part in (day.right, day.answers))
            cells.append(full if right > row - 1 else ":" if answers > row - 1 else " ")
        rows.append("  ".join(f"{cell}{cell}" for cell in cells))
    names = "  ".join(day.name[:2] for day in days)
    total = sum(day.answers for day in days)
    right = sum(day.right for day in days)
    return "\n".join(
        [
            *rows,
            names,
            f"Last two weeks: {right} of {total} right ({full} right, : not).",
        ]
    )
