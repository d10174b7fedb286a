"""The end of a round: what came of it."""

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from quiz.answers import Verdict
from quiz.grading.lines import Grade
from quiz.learning.today import left_words
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench


class SummaryScreen(Screen[None]):
    """Counts the verdicts of a round and says what is left for today."""

    CSS_PATH = "summary.tcss"
    AUTO_FOCUS = "#over"
    BINDINGS = [
        Binding("enter", "home", "Home", id="summary.home"),
        Binding("escape", "home", "Home", show=False),
        Binding("n", "again", "Another round", id="summary.again"),
    ]

    class Again(Message):
        """The player wants another round."""

    def __init__(self, bench: Workbench, results: Sequence[Grade]) -> None:
        super().__init__()
        self._bench = bench
        self._results = tuple(results)

    def compose(self) -> ComposeResult:
        """One block of text."""
        placing = self._bench.coach.placing
        title = "Placement: what you know already" if placing else "Round over"
        yield Static(title, classes="title", markup=False)
        with VerticalScroll(id="over"):
            yield Static(Content(self._words()), id="summary", markup=False)
        yield KeyFooter()

    def _words(self) -> str:
        bench, results = self._bench, self._results
        lines = [
            f"{bench.signs.verdict(verdict)} {verdict.value:<13}{count:>3}"
            for verdict in Verdict
            if (count := sum(grade.verdict is verdict for grade in results))
        ]
        today = bench.coach.today()
        if bench.coach.placing:
            lines += ["", *bench.coach.placement_lines()]
        return "\n".join([*lines, "", f"Answered today: {today.asked}.", left_words(today)])

    def action_home(self) -> None:
        """Back to the home screen."""
        self.dismiss()

    def action_again(self) -> None:
        """Another round."""
        self.app.post_message(self.Again())
