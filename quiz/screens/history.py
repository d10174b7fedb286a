"""Past questions, newest first: what was asked, what was answered, and heard again."""

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.widgets import DataTable, Static

from quiz.answers import Answer
from quiz.past import given_words, open_past, verdict_of, when_words
from quiz.progress.charts import key_label, kind_label
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench

PAGE = 60
"""Questions that are read at a time; more are read when the last one is reached."""


class HistoryScreen(Screen[None]):
    """A line a question."""

    CSS_PATH = "scores.tcss"
    AUTO_FOCUS = "#past"
    BINDINGS = [
        # the table has this key; it stands here for the help and the palette
        Binding("enter", "open", "Open", id="history.open", tooltip="See it and hear it again"),
        Binding(
            "d", "only('device')", "This device", id="history.device",
            tooltip="Only the device that is lit; again: all",
        ),
        Binding(
            "k", "only('kind')", "This kind", id="history.kind",
            tooltip="Only the kind that is lit; again: all",
        ),
        Binding(
            "y", "only('key')", "This key", id="history.key",
            tooltip="Only the key that is lit; again: all",
        ),
        Binding(
            "x", "wrong", "Not right", id="history.wrong",
            tooltip="Only what was not right; again: all",
        ),
        Binding("escape", "dismiss", "Back", id="history.leave", tooltip="Back to where you were"),
    ]  # fmt: skip

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench
        self._answers: list[Answer] = []
        self._limits: dict[str, str] = {}
        self._wrong_only = False
        self._all_read = False

    def compose(self) -> ComposeResult:
        """Title, what is shown, the questions."""
        yield Static("Past questions", classes="title", markup=False)
        yield Static(id="filters", markup=False)
        yield DataTable[Text](id="past", cursor_type="row", zebra_stripes=True)
        yield KeyFooter()

    def on_mount(self) -> None:
        """Show the newest."""
        self._table.add_columns("when", "came of it", "kind", "key", "figure", "you answered")
        self._begin()

    @property
    def _table(self) -> DataTable[Text]:
        return self.query_one("#past", DataTable)

    def _begin(self) -> None:
        """Read anew, with the limits that are set."""
        self._answers.clear()
        self._all_read = False
        self._table.clear()
        self._read_on()
        self.query_one("#filters", Static).update(Content(self._filter_words()))

    def _read_on(self) -> None:
        """Read the next page."""
        page = self._bench.store.latest(
            PAGE,
            before=self._answers[-1] if self._answers else None,
            device=self._limits.get("device"),
            kind=self._limits.get("kind"),
            key=self._limits.get("key"),
            wrong_only=self._wrong_only,
        )
        self._all_read = len(page) < PAGE
        for answer in page:
            self._table.add_row(*map(Text, self._cells(answer)), key=answer.id.hex())
        self._answers += page

    def _cells(self, answer: Answer) -> tuple[str, ...]:
        bench, verdict = self._bench, verdict_of(answer)
        sign = f"{bench.signs.verdict(verdict)} " if verdict else ""
        return (
            when_words(answer),
            f"{sign}{answer.verdict}",
            kind_label(answer.kind),
            key_label(answer.key, bench.names),
            bench.catalogue.name(answer.device),
            given_words(answer, None, bench.catalogue),
        )

    def _filter_words(self) -> str:
        words = [self._limit_words(what, value) for what, value in self._limits.items()]
        words += ["not right"] if self._wrong_only else []
        if not self._answers:
            return f"None: {', '.join(words)}." if words else "No questions yet."
        return f"Only: {', '.join(words)}." if words else "All, newest first."

    def _limit_words(self, what: str, value: str) -> str:
        if what == "device":
            return self._bench.catalogue.name(value)
        return kind_label(value) if what == "kind" else f"in {key_label(value, self._bench.names)}"

    @on(DataTable.RowHighlighted, "#past")
    def _lit(self, event: DataTable.RowHighlighted) -> None:
        if event.cursor_row >= len(self._answers) - 1 and not self._all_read:
            self._read_on()

    @on(DataTable.RowSelected, "#past")
    def _selected(self, event: DataTable.RowSelected) -> None:
        from quiz.screens.past import PastScreen

        bench, answer = self._bench, self._answers[event.cursor_row]
        self.app.push_screen(PastScreen(bench, open_past(answer, bench.catalogue, bench.names)))

    def action_open(self) -> None:
        """Open the question that is lit."""
        if self._answers:
            self._table.action_select_cursor()

    def action_only(self, what: str) -> None:
        """Limit to what the lit question has, or lift that limit."""
        if what in self._limits:
            del self._limits[what]
        elif self._answers:
            self._limits[what] = getattr(self._answers[self._table.cursor_row], what)
        self._begin()

    def action_wrong(self) -> None:
        """Limit to what was not right, or lift that."""
        self._wrong_only = not self._wrong_only
        self._begin()
