"""From a question to what is played: plan, line and score of its excerpt."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from engine.agreement import BandBeat, BassBeat, Clash, agreement, band_beats, bass_beats
from engine.arrangement import arrange
from engine.catalogue import Catalogue, Device, Family
from engine.comping import comping_track
from engine.errors import MusicInputError
from engine.feels import find_feel
from engine.forms import Form
from engine.line import Compass, LineNote, Strike, outline, write_line
from engine.plan import Placement, Plan, excerpt, plan_choruses
from engine.score import Part, Score
from engine.textures import find_texture
from engine.theory import Midi
from engine.timing import BEATS_PER_BAR
from quiz.neck.notes import at_height, beats_before, neck_notes
from quiz.questions.kinds import Kind
from quiz.questions.value import COMPING, REGISTERS, UPPER, Question, asked_device, placements

PHRASE_BARS = 4
"""Forms are heard in phrases of four bars; an excerpt starts with one."""


WHOLE_RANGE = Compass(low=Midi(23), high=Midi(60))
"""B0 to C4, every note of the built-in bass."""

UPPER_RANGE = Compass(low=Midi(45), high=Midi(63), lean=REGISTERS[UPPER])
"""A2 to D#4, an octave over the open A string to the twentieth fret of the G string: four lines in
five fit in there."""


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


# --- plans --------------------------------------------------------------------------------------


def question_plan(question: Question, catalogue: Catalogue, device: Device | None = None) -> Plan:
    """The plan of the excerpt, with `device` in place of the one asked for, if given.

    Of `fit` the chords stay those of the question's own device, whichever bass is put under them.
    Raises MusicInputError when the catalogue lacks something or the device does not stand there.
    """
    if question.kind in (Kind.PLACE, Kind.FORM):
        return chorus_plan(question, catalogue)
    form = catalogue.form(question.form)
    asked = asked_device(question, catalogue)
    played = device or asked
    if question.kind is Kind.FIT:
        plan = _excerpt(question, catalogue, form, asked)
        bar = question.bar - question.first
        return replace(plan, placements=(Placement(played, bar),))
    return _excerpt(question, catalogue, form, played)


def _excerpt(question: Question, catalogue: Catalogue, form: Form, played: Device) -> Plan:
    whole = _chorus(question, catalogue, [(0, question.bar, played)])
    repeats = (played.times - 1) * played.pattern.bars
    if question.last > len(form):
        raise MusicInputError(f"bar {question.last} of the {form.name}: it has {len(form)}")
    return excerpt(whole, question.first - 1, question.last - 1 + repeats)


def _chorus(
    question: Question, catalogue: Catalogue, devices: Sequence[tuple[int, int, Device]]
) -> Plan:
    return plan_choruses(
        catalogue.form(question.form),
        question.key,
        find_feel(question.feel),
        question.tempo,
        catalogue.find(question.base),
        devices,
    )


def chorus_plan(question: Question, catalogue: Catalogue, plain: bool = False) -> Plan:
    """The whole chorus of a question about one; `plain` leaves out every device.

    Raises MusicInputError when the catalogue lacks something or a device does not stand there.
    """
    held = () if plain else placements(question)
    return _chorus(question, catalogue, [(0, bar, catalogue.find(device)) for bar, device in held])


# --- lines --------------------------------------------------------------------------------------


def question_outline(
    question: Question, catalogue: Catalogue, device: Device | None = None
) -> tuple[Strike, ...]:
    """What the bass strikes in the excerpt, octaves aside."""
    return outline(question_plan(question, catalogue, device), question.seed)


def question_line(
    question: Question, catalogue: Catalogue, device: Device | None = None
) -> tuple[LineNote, ...]:
    """The bass line of the excerpt.

    An answer can be wider than the figure was: where it does not fit, it has the whole range. Of
    `find`, the figure stands where it is found on the neck.
    """
    return _played(question_plan(question, catalogue, device), question, catalogue, device)


def _played(
    plan: Plan, question: Question, catalogue: Catalogue, device: Device | None
) -> tuple[LineNote, ...]:
    line = _line(plan, question, asked=device is None)
    if question.kind is not Kind.FIND:
        return line
    return at_height(
        line,
        device or asked_device(question, catalogue),
        question.bar - question.first,
        neck_notes(question, catalogue),
        beats_before(catalogue.find(question.item)),
        question.low,
    )


def _line(plan: Plan, question: Question, asked: bool) -> tuple[LineNote, ...]:
    try:
        return write_line(plan, question.seed, question_compass(question))
    except MusicInputError:
        if asked:
            raise
        return write_line(plan, question.seed, WHOLE_RANGE)


def question_compass(question: Question) -> Compass:
    """The range of the bass, and the height it leans to."""
    if question.register == UPPER:
        return UPPER_RANGE
    return Compass(low=question.low, lean=REGISTERS[question.register])


class Outlines(NamedTuple):
    """What the bass strikes in a chorus, octaves aside."""

    played: tuple[Strike, ...]
    plain: tuple[Strike, ...]
    """The same chorus without devices."""


def chorus_outlines(question: Question, catalogue: Catalogue) -> Outlines:
    """Of `place`: the chorus as it is played, and without devices.

    Raises MusicInputError as `chorus_plan` does.
    """
    played, plain = (
        outline(chorus_plan(question, catalogue, without), question.seed)
        for without in (False, True)
    )
    return Outlines(played, plain)


def departures(outlines: Outlines) -> tuple[int, ...]:
    """The bars of the form, from 1, in which the bass strikes anything else, or at another moment,
    than in the same chorus without devices."""
    apart = set(outlines.played) ^ set(outlines.plain)
    return tuple(sorted({strike.beat // BEATS_PER_BAR + 1 for strike in apart}))


# --- scores -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Excerpt:
    """What is heard of a question."""

    question: Question
    device: Device | None = None
    """Another device in place of the one that was asked for; of `fit`, a bass under the keys."""

    speed: float = 1.0
    """Below 1 it is played slower, at the same pitch."""

    def passage(self, catalogue: Catalogue) -> tuple[Plan, Score]:
        """What is played, bar by bar and note by note.

        Raises MusicInputError as `question_plan` does, or when the tempo cannot be played.
        """
        question = self._at_speed
        if question.kind is Kind.FIT:
            return _band_and_bass(question, catalogue, self.device)
        plan, line = self.line(catalogue)
        return plan, _arranged(question, plan, line)

    def line(self, catalogue: Catalogue) -> tuple[Plan, tuple[LineNote, ...]]:
        """The bars and the bass line.

        Raises MusicInputError as `question_plan` does.
        """
        question = self._at_speed
        plan = question_plan(question, catalogue, self.device)
        return plan, _played(plan, question, catalogue, self.device)

    @property
    def _at_speed(self) -> Question:
        return replace(self.question, tempo=self.question.tempo * self.speed)


def _arranged(question: Question, plan: Plan, line: Sequence[LineNote]) -> Score:
    texture, comping = find_texture(question.texture), COMPING[question.comping]
    return arrange(plan, line, texture, question.seed, comping, key_chord=question.key_given)


def _band_and_bass(
    question: Question, catalogue: Catalogue, device: Device | None
) -> tuple[Plan, Score]:
    """The band of a `fit` question, which plays the same whatever the bass under it."""
    score = _arranged(question, question_plan(question, catalogue), ())
    plan = question_plan(question, catalogue, device)
    if device is None:
        return plan, score
    bass = tuple(note.event for note in _line(plan, question, asked=False))
    return plan, score.with_notes(Part.BASS, bass)


@dataclass(frozen=True, slots=True)
class Accompaniment:
    """What the band of a `fit` question plays, beat by beat, for judging figures against it."""

    question: Question
    beats: tuple[BandBeat, ...]

    @classmethod
    def of(cls, question: Question, catalogue: Catalogue) -> "Accompaniment":
        """The band from the first beat of the figure to the downbeat behind it."""
        plan = question_plan(question, catalogue)
        keys = comping_track(plan, (), COMPING[question.comping], question.seed)
        bars = asked_device(question, catalogue).pattern.bars
        return cls(question, band_beats(plan, keys, question.bar - question.first, bars))

    def clashes(self, device: Device) -> tuple[Clash, ...]:
        """Where a figure does not agree with the band; empty when it does."""
        bass: tuple[BassBeat, ...] = bass_beats(device.pattern, self.question.key.tonic)
        return agreement(bass, self.beats)
