"""What the player answered, as something that can be played in place of the figure."""

from dataclasses import replace

from engine.catalogue import Catalogue, Device, Family
from engine.pattern import Mark, Pattern, Spot, Step, Tone
from engine.theory import Degree
from engine.timing import BEATS_PER_BAR
from quiz.grading import Grade, asked_part
from quiz.kinds import Kind
from quiz.questions import Question, asked_device


def tried_device(question: Question, grade: Grade, catalogue: Catalogue) -> Device | None:
    """The device that was picked, or the figure with the notes that were written.

    None when the answer was right or given up, and in kinds where nothing else could be heard.
    """
    if question.kind is Kind.FORM:
        return None  # other chords would be another chorus
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
