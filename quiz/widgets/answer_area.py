"""Where a question is answered, with the pad that its kind takes; all give their answer as a text,
as `quiz.replies` reads it."""

from textual import on
from textual.app import ComposeResult
from textual.message import Message
from textual.widgets import ContentSwitcher

from engine.catalogue import Catalogue
from engine.notation import NoteNames
from quiz.choices import Choice, choice
from quiz.kinds import KINDS, By
from quiz.questions import Question
from quiz.replies import listed
from quiz.signs import Signs
from quiz.widgets.answer_pad import AnswerLine, Choices, Ticks
from quiz.widgets.bar_pad import BarPad
from quiz.widgets.neck import NeckPad
from quiz.wording import pick_words

PADS = {
    By.CHOICE: "choices",
    By.LINE: "line",
    By.BARS: "bars",
    By.TICKS: "ticks",
    By.NECK: "neck-pad",
}


class AnswerArea(ContentSwitcher):
    """The pads, one of which is seen."""

    class Given(Message):
        """An answer is finished."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Stepped(Message):
        """A choice in steps has come to another step."""

        def __init__(self, asks: str) -> None:
            super().__init__()
            self.asks = asks
            """What the step is about; empty when there is only one step."""

    def __init__(
        self,
        signs: Signs,
        left_handed: bool = False,
        names: NoteNames = NoteNames.ENGLISH,
        id: str | None = None,
    ) -> None:
        """How the neck is drawn, and the language in which its strings may be called."""
        super().__init__(id=id, initial="choices")
        self._signs = signs
        self._left_handed = left_handed
        self._names = names
        self._question: Question | None = None
        self._catalogue: Catalogue | None = None
        self._picks: tuple[str, ...] = ()
        self._step: Choice | None = None

    def compose(self) -> ComposeResult:
        """A pad for each way to answer."""
        yield Choices(id="choices")
        yield AnswerLine(id="line")
        yield BarPad(self._signs, id="bars")
        yield Ticks(self._signs.marked, id="ticks")
        yield NeckPad(self._signs, self._left_handed, self._names, id="neck-pad")

    def ask(self, question: Question, catalogue: Catalogue) -> None:
        """Take the answer to a question; its pad gets the focus."""
        self._question, self._catalogue = question, catalogue
        self._picks, self._step = (), None
        by = KINDS[question.kind].answered
        self.current = PADS[by]
        if by is By.CHOICE:
            self._offer(question.picks)
        elif by is By.LINE:
            self.query_one(AnswerLine).text = ""
        elif by is By.NECK:
            self.query_one(NeckPad).ask(question.own_neck)
        elif by is By.BARS:
            self.query_one(BarPad).ask(catalogue.form(question.form))
        else:
            words = [pick_words(question, option, catalogue) for option in question.options]
            self.query_one(Ticks).offer(words)
        self.query_one(f"#{self.current}").focus()

    def step_back(self) -> bool:
        """In a choice in steps, go back to the first; whether there was a way back."""
        if self._question is None or self._picks in ((), self._question.picks):
            return False
        self._offer(self._question.picks)
        return True

    def _offer(self, picks: tuple[str, ...]) -> None:
        """The next step of a choice."""
        assert self._question is not None  # set by `ask`
        assert self._catalogue is not None
        self._picks = picks
        self._step = choice(self._question, picks, self._catalogue)
        self.query_one(Choices).offer(self._step.words)
        first = "First" if picks == self._question.picks else "Now"
        self.post_message(self.Stepped(f"{first} {self._step.asks}:" if self._step.asks else ""))

    @on(Choices.Picked)
    def _picked(self, message: Choices.Picked) -> None:
        message.stop()
        if self._step is None:
            return
        left = self._step.left[message.index]
        if len(left) > 1:
            self._offer(left)
        else:
            self.post_message(self.Given(left[0]))

    @on(AnswerLine.Given)
    def _line_given(self, message: AnswerLine.Given) -> None:
        message.stop()
        self.post_message(self.Given(message.text))

    @on(NeckPad.Given)
    def _places_given(self, message: NeckPad.Given) -> None:
        message.stop()
        self.post_message(self.Given(message.text))

    @on(BarPad.Given)
    def _bars_given(self, message: BarPad.Given) -> None:
        message.stop()
        self.post_message(self.Given(listed([str(bar) for bar in message.bars])))

    @on(Ticks.Given)
    def _ticks_given(self, message: Ticks.Given) -> None:
        message.stop()
        assert self._question is not None  # set by `ask`
        options = self._question.options
        self.post_message(self.Given(listed([options[place] for place in message.indices])))
