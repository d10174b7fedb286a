"""The round: one question after another, and what came of each."""

import time

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.screen import Screen
from textual.widgets import ContentSwitcher, Static

from engine.catalogue import Device
from engine.errors import EngineError
from quiz.display.cautions import HANDS
from quiz.display.feedback import feedback_lines, teachers_word
from quiz.display.wording import heading_words, question_sentence, verdict_sentence
from quiz.errors import QuizError
from quiz.grading.lines import Grade, Marks, grade_nothing
from quiz.grading.replies import grade_reply
from quiz.grading.tried import Retake, answer_heard
from quiz.learning.today import left_words
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.value import Question
from quiz.screens.sounding import FOLLOW_SECONDS, Sounding
from quiz.screens.summary import SummaryScreen
from quiz.session import (
    Answered,
    Continued,
    Effect,
    Event,
    Left,
    Phase,
    Play,
    PlayingEnded,
    Record,
    Replayed,
    Round,
    Silence,
    Stopped,
    TakeBack,
    TakenBack,
    begin,
    step,
)
from quiz.widgets.answer_area import AnswerArea
from quiz.widgets.footer import KeyFooter
from quiz.widgets.form_strip import FormStrip
from quiz.widgets.notice import Notice
from quiz.widgets.outcome import Outcome, show_form
from quiz.widgets.play_pad import PlayPad
from quiz.workbench import Workbench

TAKEN_BACK = "Taken back: that answer does not count. Answer again."


class RoundScreen(Screen[None]):
    """Asks the questions of one round."""

    CSS_PATH = [
        "round.tcss",
        "../widgets/form_strip.tcss",
        "../widgets/figure_steps.tcss",
        "../widgets/neck.tcss",
    ]
    AUTO_FOCUS = "#choices"
    BINDINGS = [
        Binding("enter", "go_on", "Next", id="round.next", tooltip="The next question"),
        Binding(
            "ctrl+r",
            "replay",
            "Again",
            id="round.replay",
            tooltip="Hear the question again; after the answer, the figure",
        ),
        Binding(
            "ctrl+l",
            "slower",
            "Slower",
            id="round.slower",
            tooltip="Hear it at three quarters of the tempo, at the same pitch",
        ),
        Binding("ctrl+t", "stop", "Stop", id="round.stop", tooltip="Stop the sound"),
        Binding("ctrl+y", "mine", "Mine", id="round.mine", tooltip="Hear what you answered"),
        Binding(
            "1",
            "hear_figure(1)",
            "With bass",
            id="round.figure",
            key_display="1-5",
            tooltip="Hear the band with one of the figures as its bass",
        ),
        *(Binding(str(place), f"hear_figure({place})", show=False) for place in range(2, 7)),
        Binding(
            "ctrl+o",
            "save_clip",
            "Save",
            id="round.save",
            tooltip="Write what is asked to a WAV file",
        ),
        Binding(
            "ctrl+z",
            "undo",
            "Undo",
            id="round.undo",
            tooltip="Take the answer back, as if it had not been given, and answer anew",
        ),
        Binding(
            "ctrl+g",
            "give_up",
            "Pass",
            id="round.give-up",
            tooltip="See the answer without guessing",
        ),
        Binding(
            "escape",
            "leave",
            "Leave",
            id="round.leave",
            tooltip="End the round; every answer so far is kept",
        ),
    ]

    def __init__(self, bench: Workbench, length: int) -> None:
        super().__init__()
        self._bench = bench
        self._state: Round
        self._effects: tuple[Effect, ...]
        self._state, self._effects = begin(length, bench.coach.next(), time.monotonic())
        self._bass: Device | None = None  # of `fit`: the figure that is heard with the band
        self._given_text = ""  # the answer to the present question, once it is given
        self._done_told = bench.coach.placing or bench.coach.today().done
        self._sounding = Sounding(self, bench)

    def compose(self) -> ComposeResult:
        """Count, form, question, answer, feedback."""
        bench = self._bench
        yield Static(id="count", markup=False)
        yield FormStrip(bench.signs, id="strip")
        yield Static(id="sentence", markup=False)
        yield Notice(id="notice")
        with ContentSwitcher(id="answer", initial="asking"):
            begin_take = bench.live_take if bench.playable else None
            yield AnswerArea(
                bench.signs, bench.settings.left_handed, bench.names, begin_take, id="asking"
            )
            yield Outcome(bench, id="feedback")
        yield KeyFooter()

    def on_mount(self) -> None:
        """Show and sound the first question."""
        self.set_interval(FOLLOW_SECONDS, self._follow)
        self._show_question()
        self._carry_out(self._effects)
        self._bench.coach.look_ahead()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Which keys the footer offers in each phase."""
        asking = self._state.phase is Phase.ASKING
        question = self._state.current.question
        allowed = {
            "go_on": not asking,
            "undo": not asking,
            "mine": not asking and self._mine() is not None,
            "hear_figure": not asking and question.kind is Kind.FIT,
            "give_up": asking,
            "replay": self._state.may_replay,
            "slower": self._state.may_replay,
            "save_clip": KINDS[question.kind].may_be_heard or not asking,
        }
        return allowed.get(action, True)

    # --- the session ----------------------------------------------------------------------------

    def _happen(self, event: Event) -> None:
        """Let an event change the round, and carry out what follows from it."""
        before = self._state
        self._state, effects = step(before, event)
        self._carry_out(effects)
        if self._state.phase is Phase.OVER:
            self._close()
        elif self._state.number != before.number:
            self._show_question()
        elif self._state.phase is Phase.FEEDBACK is not before.phase:
            self._show_feedback()
        elif self._state.phase is Phase.ASKING is not before.phase:
            self._show_question()
            self.query_one(Notice).say(TAKEN_BACK)

    def _carry_out(self, effects: tuple[Effect, ...]) -> None:
        for effect in effects:
            match effect:
                case Play():
                    self._play(effect)
                case Silence():
                    self._silence()
                case Record():
                    self._complain(self._bench.coach.record(effect))
                case TakeBack():
                    self._complain(self._bench.coach.undo().problem)

    def _complain(self, problem: str) -> None:
        if problem:
            self.app.notify(problem, severity="error", markup=False, timeout=20)

    def _close(self) -> None:
        if self._state.results:
            self.app.switch_screen(SummaryScreen(self._bench, self._state.results))
        else:
            self.dismiss()

    # --- sound ----------------------------------------------------------------------------------

    def _play(self, effect: Play) -> None:
        self.query_one(AnswerArea).leave_take()
        mine = self._mine(effect.speed) if effect.mine else None
        passage = mine or Excerpt(effect.question, speed=effect.speed)
        self.query_one(Outcome).hear(passage if self._state.grade is not None else None)
        self._sounding.play(passage)
        self.refresh_bindings()  # it may have been the last playing

    @on(Sounding.Ready)
    def _ready(self, message: Sounding.Ready) -> None:
        problem = self._sounding.take_in(message)
        if problem:
            self.query_one(Notice).say(problem)

    def _silence(self) -> None:
        self.query_one(AnswerArea).leave_take()
        self._sounding.stop()
        self.query_one("#strip", FormStrip).sounding = None

    def _follow(self) -> None:
        """Move the bar with the sound, and notice its end."""
        if self._sounding.has_ended():
            self._happen(PlayingEnded(time.monotonic()))
        hidden = self._state.phase is Phase.ASKING and not self._shows_place
        self.query_one("#strip", FormStrip).sounding = None if hidden else self._sounding.where()
        self.query_one(Outcome).follow(self._sounding.tick())

    # --- what is shown --------------------------------------------------------------------------

    @property
    def _shows_place(self) -> bool:
        """Whether the form, and where the sound is in it, may be seen before the answer."""
        kind = self._state.current.question.kind
        return KINDS[kind].heard and kind not in (Kind.PLACE, Kind.FORM)

    def _show_question(self) -> None:
        state, bench = self._state, self._bench
        question = state.current.question
        self._bass, self._given_text = None, ""
        self.query_one(Notice).say(self._first_notice())
        heading = heading_words(state.current, state.number, state.length)
        self.query_one("#count", Static).update(Content("   ".join(heading)))
        self._show_form(answered=False)
        self._show_sentence()
        self.query_one("#answer", ContentSwitcher).current = "asking"
        self.query_one(AnswerArea).ask(question, bench.catalogue)
        self.refresh_bindings()

    def _first_notice(self) -> str:
        """What belongs beside a question: that nothing can be heard, or a caution."""
        question = self._state.current.question
        if KINDS[question.kind].heard:
            return self._bench.player.silent or ""
        first = question.kind is Kind.FIND and self._bench.coach.is_first(Kind.FIND)
        return HANDS if first else ""

    def _show_form(self, answered: bool, grade: Grade | None = None) -> None:
        """The form; the chords of the bars that are asked about show after the answer."""
        question, catalogue = self._state.current.question, self._bench.catalogue
        strip = self.query_one("#strip", FormStrip)
        strip.display = KINDS[question.kind].heard and (answered or self._shows_place)
        if not strip.display:
            return
        show_form(strip, question, catalogue, grade, answered)

    @on(AnswerArea.Stepped)
    def _stepped(self, message: AnswerArea.Stepped) -> None:
        if self._state.phase is Phase.ASKING:
            self._show_sentence(f" {message.asks}" if message.asks else "")

    def _show_sentence(self, step: str = "") -> None:
        bench, question = self._bench, self._state.current.question
        sentence = question_sentence(question, bench.catalogue, bench.names)
        self.query_one("#sentence", Static).update(Content(sentence + step))

    def _show_feedback(self) -> None:
        state, bench = self._state, self._bench
        grade, question = state.grade, state.current.question
        assert grade is not None  # the phase is FEEDBACK only after an answer
        if str(self.query_one(Notice).content) == TAKEN_BACK:
            self.query_one(Notice).say("")
        self.query_one("#answer", ContentSwitcher).current = "feedback"
        self._show_sentence()
        self._show_form(answered=True, grade=grade)
        lines = [
            *feedback_lines(question, grade, bench.catalogue, bench.names),
            teachers_word(question, bench.catalogue),
            bench.coach.reach_sentence(question),
            "" if bench.coach.placing else self._left_words(),
        ]
        words = verdict_sentence(question, grade, bench.catalogue)
        outcome = self.query_one(Outcome)
        outcome.show(question, grade, grade.verdict, words, lines)
        outcome.focus()
        self.refresh_bindings()
        bench.coach.look_ahead()
        if question.kind is Kind.FIT:
            self._bass = self._first_bass(question, grade)
            self._happen(Replayed(mine=True))
        elif question.kind is Kind.FIND and bench.player.silent is None:
            self._happen(Replayed())  # seen and heard at once
        else:
            bench.studio.prepare(Excerpt(question))

    def _left_words(self) -> str:
        """What is left of the day. When that has just become nothing it stands under the question
        too, where it is seen without scrolling: this is where one may stop."""
        today = self._bench.coach.today()
        if today.done and not self._done_told:
            self._done_told = True
            self.query_one(Notice).say(left_words(today))
        return left_words(today)

    def _first_bass(self, question: Question, grade: Grade) -> Device:
        """Of `fit`: the figure that is heard first, one that was ticked if there is one."""
        marks = grade.marks or Marks()
        options = (*marks.hits, *marks.misses, *marks.false_alarms, *question.options)
        return self._bench.catalogue.find(options[0])

    # --- what the player does -------------------------------------------------------------------

    @on(AnswerArea.Given)
    def _given(self, message: AnswerArea.Given) -> None:
        if self._state.phase is not Phase.ASKING:
            return
        bench, question = self._bench, self._state.current.question
        try:
            grade = grade_reply(question, message.text, bench.names, bench.catalogue)
        except (EngineError, QuizError) as error:
            self.query_one(Notice).say(str(error))
            return
        self._answer(message.text, grade)
        if message.said:
            self.query_one(Notice).say(message.said)

    @on(PlayPad.Starting)
    def _take_starts(self, message: PlayPad.Starting) -> None:
        """A take needs silence: what sounds is stopped first."""
        message.stop()
        if self._state.phase is not Phase.ASKING:
            return
        if self._sounding.playing:
            self._happen(Stopped(time.monotonic()))
        self._sounding.stop()  # what is still being rendered shall not come into the take
        self.query_one(Notice).say("")
        self.query_one(AnswerArea).start_take()

    def _answer(self, given: str, grade: Grade) -> None:
        self._given_text = given
        self._happen(Answered(time.monotonic(), given, grade))

    def action_replay(self) -> None:
        """Play the question, or after the answer the figure."""
        self._happen(Replayed())

    def action_slower(self) -> None:
        """The same, slower."""
        self._happen(Replayed(slower=True))

    def action_mine(self) -> None:
        """Play what was answered."""
        if self._mine() is not None:
            self._happen(Replayed(mine=True))

    def action_stop(self) -> None:
        """Stop the sound."""
        self._happen(Stopped(time.monotonic()))

    def action_give_up(self) -> None:
        """See the answer."""
        self._answer("", grade_nothing())

    def action_undo(self) -> None:
        """Take the answer back; the same question is open again."""
        self._happen(TakenBack(time.monotonic()))

    def action_go_on(self) -> None:
        """The next question."""
        try:
            over = self._state.last or self._bench.coach.over
            following = None if over else self._bench.coach.next()
        except (EngineError, QuizError) as error:
            self.app.notify(str(error), severity="error", markup=False, timeout=20)
            following = None  # the round ends here; every answer so far is kept
        self._happen(Continued(time.monotonic(), following))

    def action_leave(self) -> None:
        """End the round; an answer that is being chosen in steps goes back a step first."""
        if self._state.phase is Phase.ASKING and self.query_one(AnswerArea).step_back():
            return
        self._happen(Left())

    def action_hear_figure(self, place: int) -> None:
        """Of `fit`: the band with one of the figures as its bass, 1 the first."""
        options = self._state.current.question.options
        if place <= len(options):
            self._bass = self._bench.catalogue.find(options[place - 1])
            self._happen(Replayed(mine=True))

    def action_save_clip(self) -> None:
        """Write what is asked to a WAV file in the working directory."""
        self.query_one(Notice).say(self._bench.save_clip(self._state.current.question))

    def _mine(self, speed: float = 1.0) -> Excerpt | Retake | None:
        """What was answered, where that can be heard; of `fit` the figure that is heard now."""
        state, catalogue = self._state, self._bench.catalogue
        question = state.current.question
        if self._bass is not None:
            return Excerpt(question, self._bass, speed)
        return answer_heard(question, state.grade, self._given_text, catalogue, speed)
