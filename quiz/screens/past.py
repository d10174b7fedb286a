"""One past question: seen, explained and heard again, also what was answered."""

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from engine.textures import Texture
from quiz.display.wording import key_words
from quiz.grading.tried import Retake, answer_heard
from quiz.learning.reach import WHO_PLAYS
from quiz.past import Past, past_sentences, verdict_of, when_words
from quiz.progress.charts import key_label, kind_label
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.value import Question
from quiz.screens.sounding import FOLLOW_SECONDS, Sounding
from quiz.session import SLOWER
from quiz.widgets.footer import KeyFooter
from quiz.widgets.form_strip import FormStrip
from quiz.widgets.notice import Notice
from quiz.widgets.outcome import Outcome, show_form
from quiz.workbench import Workbench


class PastScreen(Screen[None]):
    """What was asked, what was answered, and both to be heard."""

    CSS_PATH = [
        "round.tcss",
        "../widgets/form_strip.tcss",
        "../widgets/figure_steps.tcss",
        "../widgets/neck.tcss",
    ]
    AUTO_FOCUS = "#feedback"
    BINDINGS = [
        Binding("ctrl+r", "hear", "Again", id="past.hear", tooltip="Hear the question again"),
        Binding("enter", "hear", "Again", show=False),
        Binding(
            "ctrl+l",
            "slower",
            "Slower",
            id="past.slower",
            tooltip="Hear it at three quarters of the tempo, at the same pitch",
        ),
        Binding("ctrl+y", "mine", "Mine", id="past.mine", tooltip="Hear what you answered"),
        Binding("ctrl+t", "stop", "Stop", id="past.stop", tooltip="Stop the sound"),
        Binding("ctrl+o", "save", "Save", id="past.save", tooltip="Write it to a WAV file"),
        Binding("escape", "leave", "Back", id="past.leave", tooltip="Back to the past questions"),
    ]

    def __init__(self, bench: Workbench, past: Past) -> None:
        super().__init__()
        self._bench = bench
        self._past = past
        self._sounding = Sounding(self, bench)

    def compose(self) -> ComposeResult:
        """When and what, the form, the words, the figure."""
        signs = self._bench.signs
        yield Static(id="count", markup=False)
        yield FormStrip(signs, id="strip")
        yield Notice(id="notice")
        yield Outcome(self._bench, id="feedback")
        yield KeyFooter()

    def on_mount(self) -> None:
        """Show everything; sound comes when it is asked for."""
        self.set_interval(FOLLOW_SECONDS, self._follow)
        past, bench = self._past, self._bench
        words = f"{past.answer.verdict}, after {past.answer.seconds:.0f} seconds"
        lines = past_sentences(past, bench.catalogue, bench.names)
        self.query_one("#count", Static).update(Content("   ".join(self._heading())))
        outcome = self.query_one(Outcome)
        outcome.show(past.question, past.grade, verdict_of(past.answer), words, lines)
        self.query_one(Notice).say(past.problem)
        self._show_form(past.question)
        if past.question is not None:
            bench.studio.prepare(Excerpt(past.question))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be heard is offered."""
        if action in ("hear", "slower", "save"):
            return self._past.question is not None
        return self._mine() is not None if action == "mine" else True

    def _heading(self) -> list[str]:
        """When it was, the kind, the key, who played and how fast."""
        answer, question = self._past.answer, self._past.question
        words = [
            when_words(answer),
            kind_label(answer.kind),
            self._bench.catalogue.name(answer.device),
        ]
        if question is None:
            return [*words, key_label(answer.key, self._bench.names)]
        words.append(key_words(question.key, self._bench.names))
        if KINDS[question.kind].heard and question.kind is not Kind.FIT:
            words.append(WHO_PLAYS[Texture(question.texture)])
        return [*words, f"{question.feel}, {question.tempo:g} bpm"]

    def _show_form(self, question: Question | None) -> None:
        strip = self.query_one("#strip", FormStrip)
        strip.display = question is not None and KINDS[question.kind].heard
        if question is not None and strip.display:
            show_form(strip, question, self._bench.catalogue, self._past.grade)

    # --- sound ----------------------------------------------------------------------------------

    def _asked(self, speed: float = 1.0) -> Excerpt | None:
        question = self._past.question
        return None if question is None else Excerpt(question, speed=speed)

    def _mine(self) -> Excerpt | Retake | None:
        """What was answered, where that can be heard."""
        past = self._past
        if past.question is None:
            return None
        return answer_heard(past.question, past.grade, past.answer.given, self._bench.catalogue)

    def _play(self, passage: Excerpt | Retake | None) -> None:
        if passage is not None:
            self.query_one(Outcome).hear(passage)
            self._sounding.play(passage)

    @on(Sounding.Ready)
    def _ready(self, message: Sounding.Ready) -> None:
        problem = self._sounding.take_in(message)
        if problem:
            self.query_one(Notice).say(problem)

    def _follow(self) -> None:
        """Move the bar with the sound."""
        self._sounding.has_ended()
        self.query_one("#strip", FormStrip).sounding = self._sounding.where()
        self.query_one(Outcome).follow(self._sounding.tick())

    def action_hear(self) -> None:
        """The question as it was asked."""
        self._play(self._asked())

    def action_slower(self) -> None:
        """The same, slower."""
        self._play(self._asked(SLOWER))

    def action_mine(self) -> None:
        """What was answered, in its place."""
        self._play(self._mine())

    def action_stop(self) -> None:
        """Silence."""
        self._sounding.stop()

    def action_save(self) -> None:
        """Write the sound to a file."""
        if self._past.question is not None:
            self.query_one(Notice).say(self._bench.save_clip(self._past.question))

    def action_leave(self) -> None:
        """Back, in silence."""
        self._sounding.stop()
        self.dismiss()
