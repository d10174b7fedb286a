"""Handing in the results of an assignment: a name, and a file for the teacher."""

from pathlib import Path

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from quiz.errors import QuizError
from quiz.files import free_name
from quiz.teacher.result_fields import LONGEST_NAME
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench


class HandInScreen(ModalScreen[None]):
    """Asks for the name that stands in the file; it may stay empty."""

    CSS_PATH = "settings.tcss"
    AUTO_FOCUS = "#value"
    BINDINGS = [Binding("escape", "dismiss", "Not now", id="hand-in.leave")]

    def __init__(self, bench: Workbench) -> None:
        super().__init__()
        self._bench = bench

    def compose(self) -> ComposeResult:
        """What goes into the file, the name, and what was wrong with it."""
        yield Static(
            "The file holds this name and, for each answer, the day, what was asked and what came "
            "of it; nothing else. Which name shall stand in it? It may stay empty. "
            "Enter writes the file into the working folder.",
            markup=False,
        )
        yield Input(id="value", max_length=LONGEST_NAME)
        yield Static(id="problem", markup=False)
        yield KeyFooter()

    @on(Input.Submitted, "#value")
    def _submitted(self, event: Input.Submitted) -> None:
        assignment = self._bench.assignment
        assert assignment is not None  # the screen is offered only then
        try:
            target = free_name(Path.cwd() / f"lastbar-{assignment.id}.json")
            self._bench.hand_in(event.value.strip(), target)
        except (QuizError, OSError) as error:  # the working folder may be gone
            self.query_one("#problem", Static).update(Content(str(error)))
            return
        self.app.notify(f"Written: {target}", markup=False, timeout=15)
        self.dismiss()
