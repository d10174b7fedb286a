"""Help: what can be done on the screen below, and the cautions."""

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Static

from quiz.display.cautions import CAUTIONS
from quiz.display.wording import STAGE_WORDS
from quiz.questions.kinds import KINDS
from quiz.widgets.footer import KeyFooter

WORDS = """\
A turnaround is the figure in bars 11 and 12 that leads back to the top. It has a head (bar 11)
and a tail (bar 12). A pickup leads from the bar before a change into the next chord. An ending
stops the tune. Degrees count from the key: 1 is the root, b7 the flat seven, 8 the high root.

Write answers with spaces between: 1 3 4 #4, or A C# D D#. Notes that are played twice in a row
may be written once, and the downbeat arrived at may be left out. Bars are marked with the arrow
keys and space, with the mouse, or by typing their numbers. Places on the neck are given in the same
three ways, typed as string and fret: E5 A2, or 4/5 3/2 with the strings numbered from the highest.

Your reach is how hard a device is asked: who plays, how many options, which tempo. It grows with
three right answers running and shrinks with a wrong one. The catalogue shows it, and pins it.

A device in one kind of question is {stages}. A question says why it is asked: new, due (and how
long ago it was last asked), ahead of time, or the neighbour you mistook it for. What rests is
never asked until you wake it; what is put forward comes first and more often. You may stop at any
time: a question that is not answered counts for nothing."""


class HelpScreen(ModalScreen[None]):
    """Keys of the screen that is open, then words and cautions."""

    CSS_PATH = "help.tcss"
    AUTO_FOCUS = "#help"
    BINDINGS = [
        Binding("escape", "dismiss", "Close", id="help.close"),
        Binding("question_mark", "dismiss", "Close", show=False),
    ]

    def __init__(self, below: Screen[object]) -> None:
        super().__init__()
        self._below = below

    def compose(self) -> ComposeResult:
        """One page of text."""
        with VerticalScroll(id="help"):
            yield Static(Content("\n".join(self._keys())), markup=False)
            yield Static(Content(f"\n{_words()}\n"), markup=False)
            kinds = [f"{facts.label}: {facts.says}" for facts in KINDS.values()]
            yield Static(Content("\n".join([*kinds, "", *CAUTIONS])), markup=False)
        yield KeyFooter()

    def _keys(self) -> list[str]:
        """The screen's own keys, which have an id, before those that every list or table has."""
        rows = []
        actives = self._below.active_bindings.values()
        for active in sorted(actives, key=lambda active: not active.binding.id):
            binding = active.binding
            if binding.description and active.enabled:
                key = self.app.get_key_display(binding)
                rows.append(f"{key:>8}  {active.tooltip or binding.description}")
        return ["Keys here", *dict.fromkeys(rows)]


def _words() -> str:
    stages = ", ".join(f"{stage} ({words})" for stage, words in STAGE_WORDS.items())
    return WORDS.replace("{stages}", stages)
