"""From a question to what is played: plan, line and score of its excerpt."""

from dataclasses import dataclass, replace

from engine.arrangement import arrange
from engine.catalogue import Catalogue, Device, Family
from engine.errors import MusicInputError
from engine.feels import find_feel
from engine.forms import Form, find_form
from engine.line import Compass, LineNote, Strike, outline, write_line
from engine.plan import Plan, excerpt, plan_choruses
from engine.score import Score, find_texture
from engine.theory import Midi
from quiz.questions import COMPING, REGISTERS, Question, asked_device

PHRASE_BARS = 4
"""Forms are heard in phrases of four bars; an excerpt starts with one."""


WHOLE_RANGE = Compass(low=Midi(23), high=Midi(60))
"""B0 to C4, every note of the built-in bass."""


def excerpt_bars(device: Device, form: Form, bar: int) -> tuple[int, int]:
    """The first and the last whole bar to play around `device` in `bar`, counted from 1.

    Turnarounds and endings are heard from the start of the last phrase through the last bar. A
    pickup is heard from the start of its phrase, with at least one bar of what leads up to it
    where the form has one, through the bar it leads into.
    """
    if device.family is not Family.PICKUP:
        return max(1, min(bar, len(form) - PHRASE_BARS + 1)), len(form)
    phrase = (bar - 1) // PHRASE_BARS * PHRASE_BARS + 1
    first = max(1, min(phrase, bar - 1))
    return first, min(bar + device.pattern.bars, len(form))


def question_plan(question: Question, catalogue: Catalogue, device: Device | None = None) -> Plan:
    """The plan of the excerpt, with `device` in place of the one asked for, if given.

    Raises MusicInputError when the catalogue lacks something or the device does not stand there.
    """
    form = find_form(question.form)
    played = device or asked_device(question, catalogue)
    whole = plan_choruses(
        form,
        question.key,
        find_feel(question.feel),
        question.tempo,
        catalogue.find(question.base),
        [(0, question.bar, played)],
    )
    repeats = (played.times - 1) * played.pattern.bars
    return excerpt(whole, question.first - 1, question.last - 1 + repeats)


def question_outline(
    question: Question, catalogue: Catalogue, device: Device | None = None
) -> tuple[Strike, ...]:
    """What the bass strikes in the excerpt, octaves aside."""
    return outline(question_plan(question, catalogue, device), question.seed)


def question_line(
    question: Question, catalogue: Catalogue, device: Device | None = None
) -> tuple[LineNote, ...]:
    """The bass line of the excerpt.

    An answer can be wider than the figure was: where it does not fit, it has the whole range.
    """
    return _line(question_plan(question, catalogue, device), question, asked=device is None)


def _line(plan: Plan, question: Question, asked: bool) -> tuple[LineNote, ...]:
    try:
        return write_line(plan, question.seed, question_compass(question))
    except MusicInputError:
        if asked:
            raise
        return write_line(plan, question.seed, WHOLE_RANGE)


def question_compass(question: Question) -> Compass:
    """The range of the bass, and the height it leans to."""
    return Compass(low=question.low, lean=REGISTERS[question.register])


@dataclass(frozen=True, slots=True)
class Excerpt:
    """What is heard of a question."""

    question: Question
    device: Device | None = None
    """Another device in place of the one that was asked for."""

    speed: float = 1.0
    """Below 1 it is played slower, at the same pitch."""

    def passage(self, catalogue: Catalogue) -> tuple[Plan, Score]:
        """What is played, bar by bar and note by note.

        Raises MusicInputError as `question_plan` does, or when the tempo cannot be played.
        """
        question = replace(self.question, tempo=self.question.tempo * self.speed)
        plan = question_plan(question, catalogue, self.device)
        line = _line(plan, question, asked=self.device is None)
        texture, comping = find_texture(question.texture), COMPING[question.comping]
        return plan, arrange(plan, line, texture, question.seed, comping)
