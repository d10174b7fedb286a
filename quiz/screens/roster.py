"""The roster: what a folder of results says about its players, and about one of them."""

from pathlib import Path

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import DataTable, Static

from engine.catalogue import Catalogue
from engine.errors import amount, printable
from quiz.errors import ResultsError
from quiz.files import free_name, write_whole
from quiz.progress.counts import FEW
from quiz.questions.kinds import KINDS, Kind
from quiz.teacher.result_fields import date_text
from quiz.teacher.roster import ENOUGH_RIGHT, Line, PlayerLine, Roster, as_csv, read_folder
from quiz.widgets.footer import KeyFooter
from quiz.widgets.notice import Notice
from quiz.workbench import Workbench

CSV_NAME = "lastbar-roster.csv"
"""Of the table that is written; a number is put behind it where there is one already."""

LONGEST_NAME = 18
"""Columns of the screen that a name gets in the table; the lines of a player have it whole."""

LEGEND = (
    "right / answers, the share, and where it lies with 95 % confidence; "
    f"? marks fewer than {FEW} answers."
)


class RosterScreen(Screen[None]):
    """A line a player; what could not be read stands below."""

    CSS_PATH = "roster.tcss"
    AUTO_FOCUS = "#players"
    BINDINGS = [
        # the table has this key; it stands here for the help and the palette
        Binding("enter", "open", "Items", id="roster.open", tooltip="The items of this player"),
        Binding("w", "write", "Write CSV", id="roster.write", tooltip="Write all as a CSV table"),
        Binding("escape", "dismiss", "Back", id="roster.leave", tooltip="Back to where you were"),
    ]

    class FolderRead(Message):
        """The folder has been read, or could not be."""

        def __init__(self, outcome: Roster | ResultsError) -> None:
            super().__init__()
            self.outcome = outcome

    def __init__(self, bench: Workbench, folder: Path) -> None:
        """The folder is read in a thread once the screen stands."""
        super().__init__()
        self._bench = bench
        self._folder = folder
        self._roster: Roster | None = None

    def compose(self) -> ComposeResult:
        """Title, table, problems."""
        place = printable(self._folder.name or str(self._folder))
        yield Static(Content(f"Roster: {place}"), classes="title", markup=False)
        yield Notice("Reading the folder ...", id="state")
        yield DataTable[Text](id="players", cursor_type="row", zebra_stripes=True)
        with VerticalScroll(id="problems"):
            yield Static(id="lines", markup=False)
        yield Static(
            f"{LEGEND} Done: right {ENOUGH_RIGHT} times or more.", id="legend", markup=False
        )
        yield KeyFooter()

    def on_mount(self) -> None:
        """Read the folder, which may take a while."""
        self.query_one("#problems").display = False
        self.query_one("#players", DataTable).add_columns(
            "player", "right", "share", "95 %", "done", "days", "last", "assignment"
        )
        self.run_worker(self._read, thread=True)

    def _read(self) -> None:
        try:
            outcome: Roster | ResultsError = read_folder(self._folder)
        except ResultsError as error:
            outcome = error
        self.post_message(self.FolderRead(outcome))

    @on(FolderRead)
    def _show(self, message: FolderRead) -> None:
        if isinstance(message.outcome, ResultsError):
            self.query_one(Notice).say(str(message.outcome))
            return
        self._roster = roster = message.outcome
        table = self.query_one("#players", DataTable)
        for place, player in enumerate(roster.players):
            table.add_row(*map(Text, self._cells(player)), key=str(place))
        count = len(roster.players)
        self.query_one(Notice).say(
            f"{amount(count, 'player')}. Enter shows what one has done."
            if count
            else "There are no results here: put the players' files into this folder."
        )
        self.query_one("#lines", Static).update(Content("\n".join(roster.problems)))
        self.query_one("#problems").display = bool(roster.problems)

    def _cells(self, player: PlayerLine) -> tuple[str, ...]:
        name = Text(player.who)
        name.truncate(LONGEST_NAME, overflow="crop" if self._bench.plain else "ellipsis")
        return (
            name.plain,
            *_counts(player),
            f"{player.done}/{player.items}",
            str(player.days),
            date_text(player.last_day),
            player.assignment,
        )

    @on(DataTable.RowSelected, "#players")
    def _selected(self, event: DataTable.RowSelected) -> None:
        if self._roster is not None and event.row_key.value is not None:
            player = self._roster.players[int(event.row_key.value)]
            self.app.push_screen(PlayerScreen(self._bench.catalogue, player))

    def action_open(self) -> None:
        """The items of the player that is lit."""
        self.query_one("#players", DataTable).action_select_cursor()

    def action_write(self) -> None:
        """Write the table into the working folder, beside what is there."""
        if self._roster is None:
            return
        try:
            target = free_name(Path.cwd() / CSV_NAME)
            write_whole(target, as_csv(self._roster))
        except (ResultsError, OSError) as error:  # the working folder may be gone
            self.query_one(Notice).say(str(error))
            return
        self.query_one(Notice).say(f"Written: {target.name}")


class PlayerScreen(Screen[None]):
    """A line an item of one player."""

    CSS_PATH = "roster.tcss"
    AUTO_FOCUS = "#items"
    BINDINGS = [
        Binding("escape", "dismiss", "Back", id="player.leave", tooltip="Back to all players")
    ]

    def __init__(self, catalogue: Catalogue, player: PlayerLine) -> None:
        super().__init__()
        self._catalogue = catalogue
        self._player = player

    def compose(self) -> ComposeResult:
        """Title and table."""
        player = self._player
        yield Static(Content(player.who), classes="title", markup=False)
        yield Static(
            Content(
                f"{player.assignment}: {player.right} of {player.answers} right on "
                f"{player.days} day{'' if player.days == 1 else 's'}, "
                f"{player.done} of {player.items} items done."
            ),
            id="state",
            markup=False,
        )
        table: DataTable[Text] = DataTable(id="items", cursor_type="row", zebra_stripes=True)
        table.add_columns("device", "kind", "right", "share", "95 %", "last")
        for line in player.lines:
            table.add_row(*map(Text, self._cells(line)))
        yield table
        yield Static(LEGEND, id="legend", markup=False)
        yield KeyFooter()

    def _cells(self, line: Line) -> tuple[str, ...]:
        return (
            self._catalogue.name(line.item.device),
            KINDS[Kind(line.item.kind)].label,
            *_counts(line),
            date_text(line.last_day),
        )


def _counts(line: PlayerLine | Line) -> tuple[str, str, str]:
    low, high = line.interval
    return (
        f"{line.right}/{line.answers}",
        f"{line.share:.0%}{'?' if line.answers < FEW else ''}",
        f"{low:.0%}-{high:.0%}",
    )
