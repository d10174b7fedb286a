"""Writing what the catalogue shows into a file: which kind of file."""

from functools import partial
from pathlib import Path

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from engine.errors import EngineError
from quiz.errors import QuizError
from quiz.exports.catalogue import export, offered
from quiz.questions.hearing import Hearing
from quiz.widgets.footer import KeyFooter
from quiz.workbench import Workbench

WRITING = "Writing ..."


class ExportScreen(ModalScreen[None]):
    """A list of kinds of files; Enter writes one into the working folder."""

    CSS_PATH = "export.tcss"
    AUTO_FOCUS = "#kinds"
    BINDINGS = [
        Binding("enter", "write", "Write", id="export.write", show=False),
        Binding("escape", "dismiss", "Back", id="export.leave", tooltip="Write nothing"),
    ]

    class Written(Message):
        """A file has been written, or could not be."""

        def __init__(self, words: str, written: bool) -> None:
            super().__init__()
            self.words = words
            self.written = written

    def __init__(self, bench: Workbench, hearing: Hearing) -> None:
        super().__init__()
        self._bench = bench
        self._hearing = hearing
        self._busy = False

    def compose(self) -> ComposeResult:
        """The kinds, and what came of it."""
        kinds = [
            Option(f"{words} ({ending})", id=ending[1:]) for ending, words in offered().items()
        ]
        yield Static("Write what is shown here into the working folder, as", markup=False)
        yield OptionList(*kinds, id="kinds", markup=False)
        yield Static(id="problem", markup=False)
        yield KeyFooter()

    @on(OptionList.OptionSelected, "#kinds")
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        if event.option.id is None or self._busy:
            return
        self._busy = True
        self.query_one("#problem", Static).update(WRITING)
        self.run_worker(partial(self._write, f".{event.option.id}"), thread=True)

    def _write(self, ending: str) -> None:
        """In a thread: drawing and rendering take a while."""
        try:
            target = export(self._bench, self._hearing, ending, Path.cwd())
        except (EngineError, QuizError, OSError) as error:  # the working folder may be gone
            self.post_message(self.Written(str(error), written=False))
        else:
            self.post_message(self.Written(f"Written: {target}", written=True))

    @on(Written)
    def _done(self, message: Written) -> None:
        self._busy = False
        if not message.written:
            self.query_one("#problem", Static).update(Content(message.words))
            return
        self.app.notify(message.words, markup=False, timeout=15)
        self.dismiss()
