"""Scores: a tab for each chart, with the sentence that says the same and the numbers behind it."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import DataTable, Static, TabbedContent, TabPane

from quiz.errors import QuizError
from quiz.files import free_name, write_whole
from quiz.learning.practice import counted_until
from quiz.progress.charts import (
    Bars,
    Chart,
    Matrix,
    Predictions,
    Shares,
    chart,
    key_label,
    kind_label,
)
from quiz.progress.counts import FEW, Count
from quiz.progress.names import CHARTS
from quiz.progress.report import Report, report
from quiz.progress.svg import svg
from quiz.screens.history import HistoryScreen
from quiz.widgets.chart_plot import ChartPlot
from quiz.widgets.footer import KeyFooter
from quiz.widgets.notice import Notice
from quiz.workbench import Workbench

TITLES = {
    "weeks": "Weeks",
    "devices": "Devices",
    "keys": "Keys",
    "kinds": "Kinds",
    "mistaken": "Mistaken",
    "forecast": "Known",
    "days": "Days",
    "minutes": "Minutes",
    "calibration": "Held true?",
}
CHART_WIDTH = 20
LONGEST_NAME = 34
"""Columns of the screen that a name gets in a table."""

PLOTTED = ("weeks", "keys", "forecast", "days", "minutes", "calibration")
"""Charts that are drawn as plots; the others are tables with bars, and the picture of mistakes."""

COUNT_COLUMNS: tuple[str, ...] = ("right", "share", "95 %", "right in", "")
COUNTED = ("weeks", "devices", "keys", "kinds")


class ScoresScreen(Screen[None]):
    """How it has gone, what is known, and whether the predictions held."""

    CSS_PATH = "scores.tcss"
    AUTO_FOCUS = "TabbedContent Tabs"
    BINDINGS = [
        Binding("p", "past", "Past questions", id="scores.past", tooltip="See and hear them again"),
        Binding(
            "w",
            "write",
            "Write chart",
            id="scores.write",
            tooltip="Write this chart as an SVG file into the working folder",
        ),
        Binding("escape", "dismiss", "Back", id="scores.leave", tooltip="Back to the home screen"),
    ]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench
        practice = bench.store.practice(until=counted_until(bench.day))
        self._report: Report = report(bench.store, practice, bench.catalogue, bench.day)

    def compose(self) -> ComposeResult:
        """A tab for each chart; a tab is filled when it is first looked at."""
        yield Static("Scores", classes="title", markup=False)
        with TabbedContent():
            for name in CHARTS:
                with TabPane(TITLES[name], id=name):
                    yield Vertical(id=f"view-{name}", classes="view")
        yield Notice(id="state")
        yield KeyFooter()

    @on(TabbedContent.TabActivated)
    def _activated(self, event: TabbedContent.TabActivated) -> None:
        view = self.query_one(f"#view-{event.pane.id}", Vertical)
        if not view.children and event.pane.id is not None:
            view.mount_all(self._widgets(event.pane.id))
        self.query_one(Notice).say("")

    def action_past(self) -> None:
        """The past questions."""
        self.app.push_screen(HistoryScreen(self._bench))

    def action_write(self) -> None:
        """Write the chart of this tab into the working folder, beside what is there."""
        drawn = self._chart(self.query_one(TabbedContent).active or CHARTS[0])
        try:
            target = free_name(Path.cwd() / f"lastbar-{drawn.id}.svg")
            write_whole(target, svg(drawn))
        except (QuizError, OSError) as error:  # the working folder may be gone
            self.query_one(Notice).say(str(error))
            return
        self.query_one(Notice).say(f"Written: {target.name}")

    # --- what is shown --------------------------------------------------------------------------

    def _chart(self, name: str) -> Chart:
        return chart(name, self._report, self._bench.catalogue, self._bench.names)

    def _widgets(self, name: str) -> Iterator[Widget]:
        """Sentence, drawing, numbers."""
        drawn = self._chart(name)
        few = f" ? marks fewer than {FEW} answers." if self._has_few(name) else ""
        yield Static(Content(drawn.says + few), classes="says", markup=False)
        match drawn:
            case Matrix():
                yield self._mistakes(drawn)
                return
            case Shares() | Bars() | Predictions() if name in PLOTTED and self._has_answers:
                yield ChartPlot(drawn, self._bench.plain)
        yield self._table(name)

    def _has_few(self, name: str) -> bool:
        """Whether the table has shares of too few answers."""
        counts: tuple[Count, ...] = getattr(self._report.counts, name, ())
        return name in COUNTED and any(count.answers < FEW for count in counts)

    @property
    def _has_answers(self) -> bool:
        return bool(self._report.counts.weeks)

    def _table(self, name: str) -> DataTable[Text]:
        table: DataTable[Text] = DataTable(cursor_type="row", zebra_stripes=True)
        columns, rows = self._tables[name]()
        table.add_columns(*columns)
        for row in rows:
            table.add_row(*map(self._cell, row))
        if not rows:
            table.add_row(*map(Text, ("no answers yet", *[""] * (len(columns) - 1))))
        return table

    def _cell(self, words: str) -> Text:
        cell = Text(words)  # names are no markup
        cell.truncate(LONGEST_NAME, overflow="crop" if self._bench.plain else "ellipsis")
        return cell

    @property
    def _tables(self) -> dict[str, "Callable[[], _Table]"]:
        counts = self._report.counts
        named = self._bench.catalogue.name
        return {
            "weeks": lambda: self._counts("week", counts.weeks[::-1]),
            "devices": lambda: self._counts("device", counts.devices, named),
            "keys": lambda: self._counts("key", counts.keys, self._key),
            "kinds": lambda: self._counts("kind", counts.kinds, kind_label),
            "forecast": self._known,
            "days": self._days,
            "minutes": self._days,
            "calibration": self._tenths,
        }

    def _key(self, key: str) -> str:
        return key_label(key, self._bench.names)

    def _counts(
        self, title: str, counts: Sequence[Count], named: Callable[[str], str] = str
    ) -> "_Table":
        rows = [(named(count.name), *self._cells(count)) for count in counts]
        return (title, *COUNT_COLUMNS), rows

    def _cells(self, count: Count) -> tuple[str, ...]:
        low, high = count.interval
        filled = round(count.accuracy * CHART_WIDTH)
        signs = self._bench.signs
        return (
            f"{count.right}/{count.answers}",
            f"{count.accuracy:.0%}{'?' if count.answers < FEW else ''}",
            f"{low:.0%}-{high:.0%}",
            "" if count.seconds is None else f"{count.seconds:.1f} s",
            signs.full * filled + signs.empty * (CHART_WIDTH - filled),
        )

    def _known(self) -> "_Table":
        rows: list[tuple[str, ...]] = [
            (
                f"{known.now:.0%}",
                f"{known.later:.0%}",
                known.stage,
                kind_label(known.item.kind),
                self._bench.catalogue.name(known.item.device),
                f"{known.right}/{known.asked}",
                str(known.days),
            )
            for known in self._report.forecast.items
        ]
        return ("known", "in 4 weeks", "stage", "kind", "device", "right", "days ago"), rows

    def _days(self) -> "_Table":
        rows: list[tuple[str, ...]] = [
            (
                day.name,
                str(day.answers),
                str(day.right),
                f"{day.spent / 60:.1f}",
                "" if day.seconds is None else f"{day.seconds:.1f} s",
            )
            for day in reversed(self._report.days)
            if day.answers
        ]
        return ("day", "questions", "right", "minutes", "right in"), rows

    def _tenths(self) -> "_Table":
        rows: list[tuple[str, ...]] = [
            (
                f"{tenth.predicted:.0%}",
                f"{tenth.happened:.0%}",
                f"{tenth.interval[0]:.0%}-{tenth.interval[1]:.0%}",
                str(tenth.answers),
            )
            for tenth in self._report.calibration.tenths
        ]
        return ("predicted", "right", "95 %", "answers"), rows

    def _mistakes(self, drawn: Matrix) -> Widget:
        named = self._bench.catalogue.name
        lines = [
            f"{row.times:>3} x  '{named(row.asked)}' taken for '{named(row.chosen)}'"
            for row in self._report.counts.confusions
        ]
        words = "\n".join([*_picture(drawn), "", *lines]) if lines else ""
        return VerticalScroll(Static(Content(words), classes="picture", markup=False))


_Table = tuple[tuple[str, ...], list[tuple[str, ...]]]
"""Heads of columns, and rows."""


def _picture(drawn: Matrix) -> Iterator[str]:
    """The mistakes as rows and columns of numbers: asked down, picked across."""
    width = max(len(str(count)) for row in drawn.counts for count in row) + 2
    heads = "".join(f"{place:>{width}}" for place in range(1, len(drawn.names) + 1))
    yield f"picked:{heads}   asked:"
    for place, (name, row) in enumerate(zip(drawn.names, drawn.counts, strict=True), 1):
        cells = "".join(
            f"{count or ('-' if across == place else '.'):>{width}}"
            for across, count in enumerate(row, 1)
        )
        yield f"       {cells}   {place} {name}"
