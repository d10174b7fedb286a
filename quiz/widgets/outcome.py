"""What came of a question: verdict, figure as steps and on the neck, and what there is to say."""

from collections.abc import Iterable, Mapping

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from engine.catalogue import Catalogue
from engine.pattern import Spot
from engine.theory import Midi
from quiz.answers import Verdict
from quiz.display.drawing import ROWS, drawn, missed_spots
from quiz.grading.lines import Grade, Marks, asked_part
from quiz.grading.tried import Retake
from quiz.neck.light import Light, lit
from quiz.neck.shown import excerpt_lights, heard_heights, neck_of
from quiz.questions.excerpts import Excerpt, question_plan
from quiz.questions.kinds import Kind
from quiz.questions.value import Question, asked_device
from quiz.widgets.figure_steps import FigureSteps, Tread
from quiz.widgets.form_strip import FormStrip, Mark
from quiz.widgets.neck import NeckDrawing
from quiz.workbench import Workbench


class Outcome(VerticalScroll):
    """Shows an answered question, and lights the neck with the sound."""

    def __init__(self, bench: Workbench, id: str | None = None) -> None:
        super().__init__(id=id)
        self._bench = bench
        self._question: Question | None = None
        self._grade: Grade | None = None
        self.lights: tuple[Light, ...] = ()
        """What lights up on the neck, and when."""

    def compose(self) -> ComposeResult:
        """Verdict, figure, words, neck; a question about the neck has it before the words."""
        bench = self._bench
        yield Static(id="verdict", markup=False)
        yield FigureSteps(bench.signs, id="steps")
        yield Static(id="remarks", markup=False)
        yield NeckDrawing(bench.signs, bench.settings.left_handed, id="neck")

    def show(
        self,
        question: Question | None,
        grade: Grade | None,
        verdict: Verdict | None,
        words: str,
        lines: Iterable[str],
    ) -> None:
        """Show what was asked and what came of it; `words` say the verdict, empty lines are left
        out. A past question that cannot be opened any more is None."""
        self._question, self._grade, self.lights = question, grade, ()
        sign = f"{self._bench.signs.verdict(verdict)} " if verdict else ""
        shown = self.query_one("#verdict", Static)
        shown.update(Content(f"{sign}{words}"))
        shown.set_classes(verdict.name.lower().replace("_", "-") if verdict else "")
        self.query_one("#remarks", Static).update(Content("\n".join(filter(None, lines))))
        about_one = question is not None and bool(question.device) and question.kind is not Kind.FIT
        figure = question if about_one else None
        heights = {} if figure is None else heard_heights(figure, self._bench.catalogue)
        self._draw_steps(figure, heights)
        self._draw_neck(figure, heights)
        self.scroll_home(animate=False)

    def hear(self, passage: Excerpt | Retake | None) -> None:
        """A passage begins to sound, and an excerpt lights what it has on the neck; None where
        nothing may be lit."""
        lights: tuple[Light, ...] = ()
        if isinstance(passage, Excerpt) and self._grade is not None and self._neck.display:
            lights = excerpt_lights(passage, self._grade, self._bench.neck, self._bench.catalogue)
        self.lights = lights

    def follow(self, tick: int | None) -> None:
        """The sound has come to a tick of the excerpt; None when there is none."""
        self._neck.lit = lit(self.lights, tick)

    @property
    def _neck(self) -> NeckDrawing:
        return self.query_one("#neck", NeckDrawing)

    def _draw_steps(self, question: Question | None, heights: Mapping[Spot, Midi]) -> None:
        steps, bench = self.query_one(FigureSteps), self._bench
        steps.display = question is not None and question.kind is not Kind.FIND  # the neck says it
        if question is None or not steps.display:
            return
        notes = drawn(
            asked_part(question, bench.catalogue),
            question.key,
            bench.names,
            bench.neck,
            missed_spots(self._grade) if self._grade else (),
            heights,
        )
        treads = [Tread(note.spot, note.height, note.labels, note.missed) for note in notes]
        steps.show(treads, ROWS)

    def _draw_neck(self, question: Question | None, heights: Mapping[Spot, Midi]) -> None:
        """The figure on the neck; in a question about the neck, with the player's own places."""
        bench, grade, neck, remarks = self._bench, self._grade, self._neck, "#remarks"
        shown = None
        if question is not None and grade is not None:
            shown = neck_of(question, grade, bench.neck, heights, bench.catalogue)
        neck.display = shown is not None
        if question is None or shown is None:
            return
        neck.show(shown.neck, shown.path, shown.own, shown.wrong)
        if question.kind is Kind.FIND:
            self.move_child(neck, before=self.query_one(remarks))
        else:
            self.move_child(neck, after=self.query_one(remarks))


def show_form(
    strip: FormStrip,
    question: Question,
    catalogue: Catalogue,
    grade: Grade | None = None,
    answered: bool = True,
) -> None:
    """The form of a question that is heard; the chords of the bars that are asked about show only
    when it is answered, and so does what became of bars that were marked."""
    asked: frozenset[int] = frozenset()
    if question.device:
        bars = asked_device(question, catalogue).pattern.bars
        asked = frozenset(range(question.bar, question.bar + bars))
    plan = question_plan(question, catalogue)
    played = {bar.number: bar.chords for bar in plan.bars if not bar.landing}
    hidden = frozenset() if answered else asked
    chords = {number: None if number in hidden else bar for number, bar in played.items()}
    marks = _bar_marks(question, grade)
    strip.show(catalogue.form(question.form), asked, frozenset(played), chords, marks)


def _bar_marks(question: Question, grade: Grade | None) -> dict[int, Mark]:
    """Of `place`: what became of the bars that were marked or should have been."""
    if question.kind is not Kind.PLACE or grade is None:
        return {}
    marks = grade.marks or Marks()
    named = (
        (Mark.HIT, marks.hits),
        (Mark.MISS, marks.misses),
        (Mark.FALSE_ALARM, marks.false_alarms),
    )
    return {int(bar): mark for mark, bars in named for bar in bars}
