"""Where a question is answered, with the pad that its kind takes; all give their answer as a text,
as `quiz.grading.replies` reads it."""

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.message import Message
from textual.widgets import ContentSwitcher

from engine.catalogue import Catalogue
from engine.notation import NoteNames
from quiz.display.choices import Choice, choice
from quiz.display.signs import Signs
from quiz.display.wording import pick_words
from quiz.grading.replies import listed
from quiz.playing.live_take import can_be_played
from quiz.questions.kinds import KINDS, By
from quiz.questions.value import Question
from quiz.widgets.answer_pad import AnswerLine, Choices, Ticks
from quiz.widgets.bar_pad import BarPad
from quiz.widgets.neck import NeckPad
from quiz.widgets.play_pad import BeginTake, PlayPad

PADS = {
    By.CHOICE: "choices",
    By.LINE: "line",
    By.BARS: "bars",
    By.TICKS: "ticks",
    By.NECK: "neck-pad",
    By.PLAYING: "play-pad",
}


class AnswerArea(ContentSwitcher):
    """The pads, one of which is seen."""

    BINDINGS = [
        Binding(
            "f4",
            "play_answer",
            "Play it",
            id="answer.play",
            tooltip="Answer by playing the line on your instrument",
        ),
        Binding("f4", "type_answer", "Type it", id="answer.type", tooltip="Type it after all"),
    ]

    class Given(Message):
        """An answer is finished."""

        def __init__(self, text: str, said: str = "") -> None:
            super().__init__()
            self.text = text
            self.said = said
            """What belongs beside it."""

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
        begin_take: BeginTake | None = None,
        id: str | None = None,
    ) -> None:
        """How the neck is drawn, the language in which its strings may be called, and what starts
        a take; None where there is nothing to play on."""
        super().__init__(id=id, initial="choices")
        self._signs = signs
        self._left_handed = left_handed
        self._names = names
        self._begin_take = begin_take
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
        yield PlayPad(id="play-pad")

    def ask(self, question: Question, catalogue: Catalogue) -> None:
        """Take the answer to a question; its pad gets the focus."""
        self._question, self._catalogue = question, catalogue
        self._picks, self._step = (), None
        by = KINDS[question.kind].answered
        self.leave_take()
        self.current = PADS[by]
        if by is By.CHOICE:
            self._offer(question.picks)
        elif by is By.LINE:
            self.query_one(AnswerLine).text = ""
        elif by is By.PLAYING:
            self.query_one(PlayPad).ask(question, self._begin_take)
        elif by is By.NECK:
            self.query_one(NeckPad).ask(question.own_neck)
        elif by is By.BARS:
            self.query_one(BarPad).ask(catalogue.form(question.form))
        else:
            words = [pick_words(question, option, catalogue) for option in question.options]
            self.query_one(Ticks).offer(words)
        self.query_one(f"#{self.current}").focus()

    def step_back(self) -> bool:
        """Stop a take; leave playing for typing; in a choice in steps, go back to the first.
        Whether there was a way back."""
        if self.leave_take():
            return True
        if self.plays_line:
            self._type_again()
            return True
        if self._question is None or self._picks in ((), self._question.picks):
            return False
        self._offer(self._question.picks)
        return True

    # --- playing --------------------------------------------------------------------------------

    @property
    def plays_line(self) -> bool:
        """Whether a typed question is being answered by playing."""
        typed = self._question is not None and KINDS[self._question.kind].answered is By.LINE
        return typed and self.current == PADS[By.PLAYING]

    def leave_take(self) -> bool:
        """Stop a take that is running; whether one was."""
        return self.query_one(PlayPad).leave()

    def start_take(self) -> None:
        """Start a take on the pad that is there."""
        if self.current == PADS[By.PLAYING]:
            self.query_one(PlayPad).start()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Playing is offered where there is an instrument, and where it gives nothing away."""
        if action == "type_answer":
            return self.plays_line
        if action != "play_answer":
            return True
        question = self._question
        if question is None or KINDS[question.kind].answered is not By.LINE or self.plays_line:
            return False
        return self._begin_take is not None and can_be_played(question)

    def action_play_answer(self) -> None:
        """Play the line in place of typing it."""
        assert self._question is not None  # set by `ask`; the key is offered only then
        pad = self.query_one(PlayPad)
        pad.ask(self._question, self._begin_take)
        self.current = PADS[By.PLAYING]
        pad.focus()
        pad.action_start()
        self.refresh_bindings()

    def action_type_answer(self) -> None:
        """Type the line after all."""
        self.leave_take()
        self._type_again()

    def _type_again(self) -> None:
        self.current = PADS[By.LINE]
        self.query_one(AnswerLine).focus()
        self.refresh_bindings()

    @on(PlayPad.Given)
    def _played(self, message: PlayPad.Given) -> None:
        message.stop()
        self.post_message(self.Given(message.text, message.said))

    # --- choosing and marking -------------------------------------------------------------------

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
