"""Scores: by week, device, key and kind, and what was mistaken for what."""

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import DataTable, Footer, Static, TabbedContent, TabPane

from quiz.kinds import KINDS, Kind
from quiz.progress.counts import Confusion, Count, scores
from quiz.workbench import Workbench

CHART_WIDTH = 20
FEW = 10
"""Under so many answers a share says little, and the table says so."""


class ScoresScreen(Screen[None]):
    """Tables of counts, with honest intervals."""

    AUTO_FOCUS = "TabbedContent Tabs"
    BINDINGS = [
        Binding("escape", "dismiss", "Back", id="scores.leave", tooltip="Back to the home screen")
    ]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench

    def compose(self) -> ComposeResult:
        """A tab for each way of counting."""
        result = scores(self._bench.store)
        yield Static("Scores", classes="title", markup=False)
        with TabbedContent():
            for title, counts in (
                ("Weeks", result.weeks),
                ("Devices", result.devices),
                ("Keys", result.keys),
                ("Kinds", result.kinds),
            ):
                with TabPane(title):
                    yield self._table(counts, title)
            with TabPane("Mistaken"), VerticalScroll():
                yield Static(Content(self._mistaken(result.confusions)), markup=False)
        yield Static(
            "right / answers, the share, and where it lies with 95 % confidence; "
            f"? marks fewer than {FEW} answers",
            id="legend",
            markup=False,
        )
        yield Footer(show_command_palette=False, compact=True)

    def _table(self, counts: Sequence[Count], title: str) -> DataTable[Text]:
        table: DataTable[Text] = DataTable(cursor_type="row", zebra_stripes=True)
        table.add_columns(title[:-1], "right", "share", "95 %", "", "seconds")
        for count in counts:
            table.add_row(*map(Text, self._cells(count, title)))  # names are no markup
        if not counts:
            table.add_row(*map(Text, ("no answers yet", "", "", "", "", "")))
        return table

    def _cells(self, count: Count, title: str) -> tuple[str, ...]:
        low, high = count.interval
        filled = round(count.accuracy * CHART_WIDTH)
        signs = self._bench.signs
        return (
            self._heading(count.name, title),
            f"{count.right}/{count.answers}",
            f"{count.accuracy:.0%}{'?' if count.answers < FEW else ''}",
            f"{low:.0%}-{high:.0%}",
            signs.full * filled + signs.empty * (CHART_WIDTH - filled),
            "" if count.seconds is None else f"{count.seconds:.1f}",
        )

    def _heading(self, name: str, title: str) -> str:
        if title == "Kinds" and name in {kind.value for kind in Kind}:
            return KINDS[Kind(name)].label
        return self._bench.catalogue.name(name) if title == "Devices" else name

    def _mistaken(self, confusions: Sequence[Confusion]) -> str:
        if not confusions:
            return "Nothing has been mistaken for anything yet."
        named = self._bench.catalogue.name
        return "\n".join(
            f"{row.times:>3} x  '{named(row.asked)}' taken for '{named(row.chosen)}'"
            for row in confusions
        )
