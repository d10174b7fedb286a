"""What rests and what is put forward: families, kinds and keys; devices are in the catalogue."""

from dataclasses import replace

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from quiz.learning.focus import DEVICE, FAMILY, KEY, KIND, Focus, Stance, about, entry_words
from quiz.settings.checks import FAMILIES, KEY_NAMES, KINDS_ASKED
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench

TOPICS = (
    *(about(FAMILY, name) for name in FAMILIES),
    *(about(KIND, name) for name in KINDS_ASKED),
    *(about(KEY, name) for name in KEY_NAMES),
)
"""What can be changed here; the devices that do not stand as usual come behind."""


class FocusScreen(Screen[None]):
    """A list of topics, each with how it stands; Enter changes that."""

    CSS_PATH = "settings.tcss"
    AUTO_FOCUS = "#focus"
    BINDINGS = [
        Binding(
            "escape",
            "dismiss",
            "Back",
            id="focus.leave",
            tooltip="Back; everything is kept already",
        ),
        Binding(
            "u",
            "all_usual",
            "All as usual",
            id="focus.all_usual",
            tooltip="Nothing rests and nothing is put forward; once more brings it back",
        ),
    ]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench
        devices = (*bench.settings.resting, *bench.settings.leading)
        changed = dict.fromkeys(entry for entry in devices if entry.startswith(f"{DEVICE}:"))
        self._topics = (*TOPICS, *changed)
        self._cleared = Focus()
        """What stood otherwise until all was set as usual."""

    def compose(self) -> ComposeResult:
        """The list, and what the words mean."""
        yield Static("Rest and put forward", classes="title", markup=False)
        yield OptionList(id="focus", markup=False)
        yield Static(
            "Enter changes how one stands. What rests is not asked until you wake it; what is put "
            "forward comes first and more often. Devices: keys r and w in the catalogue.",
            id="legend",
            markup=False,
        )
        yield KeyFooter()

    def on_mount(self) -> None:
        """Show how all stand."""
        shown = self.query_one(OptionList)
        shown.add_options([Option(self._words(entry)) for entry in self._topics])
        shown.highlighted = 0

    @property
    def _focus(self) -> Focus:
        return Focus(self._bench.settings.resting, self._bench.settings.leading)

    def _words(self, entry: str) -> Content:
        words = entry_words(entry, self._bench.catalogue)
        stance = self._focus.stance(entry)
        return Content(f"{words:<23} {'' if stance is Stance.USUAL else stance.value}")

    @on(OptionList.OptionSelected, "#focus")
    def _selected(self, event: OptionList.OptionSelected) -> None:
        """As usual, put forward, rests, and as usual again."""
        entry, stances = self._topics[event.option_index], list(Stance)
        following = stances[(stances.index(self._focus.stance(entry)) + 1) % len(stances)]
        self._keep(self._focus.with_stance(entry, following))
        event.option_list.replace_option_prompt_at_index(event.option_index, self._words(entry))

    def action_all_usual(self) -> None:
        """Set all as usual, or bring back what stood otherwise before that."""
        before = self._focus
        self._keep(Focus() if before != Focus() else self._cleared)
        self._cleared = before
        shown = self.query_one(OptionList)
        for place, entry in enumerate(self._topics):
            shown.replace_option_prompt_at_index(place, self._words(entry))

    def _keep(self, focus: Focus) -> None:
        bench = self._bench
        problem = bench.change(
            replace(bench.settings, resting=focus.resting, leading=focus.leading)
        )
        if problem:
            self.app.notify(problem, severity="warning", markup=False, timeout=15)
