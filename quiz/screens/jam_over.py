"""The end of an open jam: what was caught, missed and mistaken, and at what tempo."""

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import DataTable, Static

from quiz.calls import Jam, Tally
from quiz.display.wording import figure_words
from quiz.setlist import Setlist
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench

NAME_WIDTH = 30
"""Columns of the screen that a name has to a line, so that the numbers stay on a narrow one."""


class JamOverScreen(Screen[None]):
    """A short table, a line a figure."""

    CSS_PATH = "jam.tcss"
    AUTO_FOCUS = ""
    BINDINGS = [
        Binding("enter", "home", "Home", id="jam-over.home"),
        Binding("escape", "home", "Home", show=False),
        Binding("n", "again", "Another jam", id="jam-over.again"),
    ]

    class Again(Message):
        """The player wants another jam."""

    def __init__(self, bench: Workbench, setlist: Setlist, jam: Jam) -> None:
        super().__init__()
        self._bench = bench
        self._setlist = setlist
        self._jam = jam

    def compose(self) -> ComposeResult:
        """A table of figures, and the tempo."""
        settings, jam = self._setlist.settings, self._jam
        total = Tally(*map(sum, zip(*jam.tallies.values(), strict=True)))
        yield Static("Jam over", classes="title", markup=False)
        table: DataTable[Text] = DataTable(cursor_type="none", zebra_stripes=True)
        table.add_column("figure", width=NAME_WIDTH)
        table.add_columns("caught", "mistaken", "missed")
        catalogue = self._bench.catalogue
        for device, tally in jam.tallies.items():
            words = figure_words(catalogue.find(device), catalogue)
            # names are no markup, and a long one takes a second line
            table.add_row(*map(Text, (words, *map(str, tally))), height=None)
        table.add_row(*map(Text, ("all", *map(str, total))))
        yield table
        yield Static(
            Content(
                f"{settings.form.name}, {settings.feel.value} at {settings.tempo:g} bpm. "
                "Every call is kept."
            ),
            id="legend",
            markup=False,
        )
        yield KeyFooter()

    def action_home(self) -> None:
        """Back to the home screen."""
        self.dismiss()

    def action_again(self) -> None:
        """Another jam."""
        self.app.post_message(self.Again())
