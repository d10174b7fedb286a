"""What the player answered, as something that can be played in place of the figure."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engine.catalogue import Catalogue, Device, Family
from engine.errors import MusicInputError
from engine.feels import bar_tick
from engine.listening.notes import PlayedNote
from engine.pattern import Mark, Pattern, Spot, Step, Tone
from engine.plan import COUNT_IN_BARS, Plan
from engine.score import NoteEvent, Part, Score
from engine.theory import Degree
from engine.timing import BEATS_PER_BAR, TICKS_PER_BEAT, Tick
from quiz.grading.lines import Grade, asked_part
from quiz.grading.takes import question_grid, read_played
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import KINDS, By, Kind
from quiz.questions.value import Question, asked_device


def tried_device(question: Question, grade: Grade, catalogue: Catalogue) -> Device | None:
    """The device that was picked, or the figure with the notes that were written.

    None when the answer was right or given up, and in kinds where nothing else could be heard.
    """
    if question.kind is Kind.FORM or KINDS[question.kind].answered is By.PLAYING:
        return None  # other chords would be another chorus; a take is heard as it was
    if grade.chosen is not None:
        another = grade.chosen_option != question.device and grade.chosen != question.right
        return catalogue.find(grade.chosen_option) if another else None
    if not any(pair.error for pair in grade.pairs):
        return None
    played = asked_device(question, catalogue)
    # a spelled tail is counted from its own bar, the second of the turnaround
    alone = asked_part(question, catalogue).family is Family.TAIL
    shift = BEATS_PER_BAR if alone else 0
    return replace(
        played,
        id=f"{played.id}-as-written",
        pattern=_rewritten(played.pattern, grade, shift),
    )


def _rewritten(pattern: Pattern, grade: Grade, shift: int) -> Pattern:
    """The pattern with each expected note as it was written, or silent where it is missing."""
    written: dict[Spot, Degree | None] = {
        Spot(pair.spot.beat + shift, pair.spot.offbeat): pair.written
        for pair in grade.pairs
        if pair.spot is not None
    }
    steps = tuple(
        Step(step.spot, _heard(step.what, written[step.spot]))
        if step.spot in written and isinstance(step.what, Tone)
        else step
        for step in pattern.steps
    )
    return Pattern(pattern.bars, steps, pattern.arrival)


def _heard(played: Tone, written: Degree | None) -> Tone | Mark:
    """The written degree in the octave that is nearest to the note that was played."""
    if written is None:
        return Mark.REST
    octaves = range(-2, 3)
    return min(
        (Tone(written, octave) for octave in octaves),
        key=lambda tone: abs(tone.semitones - played.semitones),
    )


# --- takes --------------------------------------------------------------------------------------

TAKE_VELOCITY = 100
"""How hard the notes of a take are struck: as hard as a bass line usually is."""


@dataclass(frozen=True, slots=True)
class Retake:
    """What was played, at its own moments, in place of the figure: equal ones sound equal."""

    excerpt: Excerpt
    notes: tuple[PlayedNote, ...]
    """Onsets in seconds from the first beat of the figure, at the question's own tempo."""

    def passage(self, catalogue: Catalogue) -> tuple[Plan, Score]:
        """The excerpt with the notes in it. Raises MusicInputError as that does."""
        question = self.excerpt.question
        plan, score = self.excerpt.passage(catalogue)
        device = asked_device(question, catalogue)
        first = bar_tick(COUNT_IN_BARS + question.bar - question.first)
        end = Tick(first + bar_tick(device.pattern.bars * device.times + 1))
        events = _events(question, self.notes, first, score.length)
        from_take = min((event.start for event in events), default=first)
        behind_take = max([end, *(event.end for event in events)])
        bass = score.track(Part.BASS)
        assert bass is not None  # it sits in every texture
        before = [
            replace(note, length=Tick(min(note.length, from_take - note.start)))
            for note in bass.notes
            if note.start < min(first, from_take)
        ]
        behind = [note for note in bass.notes if note.start >= behind_take]
        notes = sorted([*before, *events, *behind], key=lambda note: (note.start, note.midi))
        return plan, score.with_notes(Part.BASS, tuple(notes))


def _events(
    question: Question, notes: Sequence[PlayedNote], first: Tick, end: Tick
) -> list[NoteEvent]:
    """The notes in ticks of the score, those left out that lie outside of it."""
    grid = question_grid(question)
    starts = [round(first + grid.beats(note.onset) * TICKS_PER_BEAT) for note in notes]
    events = []
    for place, (start, note) in enumerate(zip(starts, notes, strict=True)):
        following = starts[place + 1] if place + 1 < len(starts) else start + TICKS_PER_BEAT
        length = min(following, end) - start
        if start >= 0 and length > 0:
            events.append(NoteEvent(Tick(start), Tick(length), note.midi, TAKE_VELOCITY))
    return events


def played_back(question: Question, given: str, speed: float = 1.0) -> Retake | None:
    """What was played in answer to a question; None in other kinds, and where there is nothing to
    hear."""
    if KINDS[question.kind].answered is not By.PLAYING:
        return None
    try:
        notes = read_played(given, question)
    except MusicInputError:
        return None
    return Retake(Excerpt(question, speed=speed), notes) if notes else None


def answer_heard(
    question: Question, grade: Grade | None, given: str, catalogue: Catalogue, speed: float = 1.0
) -> Excerpt | Retake | None:
    """What was answered, as it is heard in place of the question; None where there is nothing to
    hear. Of several figures that were ticked it is the first that is right, or the first."""
    played = played_back(question, given, speed)
    if played is not None or grade is None:
        return played
    device = tried_device(question, grade, catalogue)
    if question.kind is Kind.FIT and grade.marks is not None:
        ticked = (*grade.marks.hits, *grade.marks.false_alarms)
        device = catalogue.find(ticked[0]) if ticked else None
    return None if device is None else Excerpt(question, device, speed)
