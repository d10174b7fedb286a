"""What is drawn on the neck, and lit on it, after an answer and in the catalogue."""

from collections.abc import Mapping
from dataclasses import dataclass

from engine.catalogue import Catalogue, Device
from engine.errors import MusicInputError
from engine.forms import Form
from engine.fretboard import Position
from engine.neck import Fingering, Neck
from engine.pattern import Spot
from engine.theory import Key, Midi
from quiz.answers import Verdict
from quiz.display.drawing import shape_on
from quiz.grading.lines import Grade, asked_part
from quiz.learning.material import find_row
from quiz.neck.light import Light, lights
from quiz.neck.notes import beats_before, pattern_spot
from quiz.neck.paths import best_path, compared
from quiz.questions.excerpts import Excerpt
from quiz.questions.hearing import Hearing
from quiz.questions.kinds import Kind
from quiz.questions.value import Question, asked_device


@dataclass(frozen=True, slots=True)
class Shown:
    """A drawing of the neck."""

    neck: Neck
    path: tuple[Position, ...]
    own: tuple[Position, ...] = ()
    """Where the player was."""

    wrong: tuple[Position, ...] = ()
    """Where the player was and should not have been."""


def figure_path(device: Device, key: Key, neck: Neck) -> Fingering | None:
    """How a figure is played; None where it is off the neck."""
    return best_path(shape_on(device, key, neck).pitches, neck)


def figure_places(
    device: Device, key: Key, neck: Neck, heights: Mapping[Spot, Midi] | None = None
) -> dict[Spot, Position]:
    """Where each note of a figure is played, at `heights` or where it usually lies; empty where it
    is off the neck."""
    path = best_path(shape_on(device, key, neck, heights).pitches, neck)
    if path is None:
        return {}
    return dict(zip(device.pattern.strikes, path.positions, strict=True))


def heard_heights(question: Question, catalogue: Catalogue) -> dict[Spot, Midi]:
    """How high each note of the part that is asked for sounds in the excerpt, by where it stands in
    that part; of bars that are played again, as they are played first."""
    _, line = Excerpt(question).line(catalogue)
    played = asked_device(question, catalogue)
    before = beats_before(asked_part(question, catalogue))
    heights: dict[Spot, Midi] = {}
    for note in line:
        if note.device == played.id:
            spot = pattern_spot(note, played, question.bar - question.first)
            heights.setdefault(Spot(spot.beat - before, spot.offbeat), note.event.midi)
    return heights


def neck_of(
    question: Question,
    grade: Grade,
    neck: Neck,
    heights: Mapping[Spot, Midi],
    catalogue: Catalogue,
) -> Shown | None:
    """What is drawn after an answer; None where the figure is off the neck.

    `neck` is the player's; a question about the neck has its own. `heights` are the `heard_heights`
    of the question, at which the figure is drawn where they are on the neck.
    """
    if question.kind is Kind.FIND:
        wrong = tuple(pair.place for pair in grade.pairs if pair.place and pair.error)
        path = compared(question, grade, catalogue).shown
        return Shown(question.own_neck, path, grade.places, wrong)
    places = figure_places(asked_part(question, catalogue), question.key, neck, heights)
    return Shown(neck, tuple(places.values())) if places else None


def excerpt_lights(
    excerpt: Excerpt, grade: Grade, neck: Neck, catalogue: Catalogue
) -> tuple[Light, ...]:
    """What is lit while a question's excerpt is heard: the path that is drawn, or while the answer
    is heard, the player's own places."""
    question = excerpt.question
    if excerpt.device is None:
        places = _path_places(question, grade, neck, catalogue)
        played = asked_device(question, catalogue)
    elif question.kind is Kind.FIND:
        places = {pair.spot: pair.place for pair in grade.pairs if pair.spot and pair.place}
        played = excerpt.device
    else:
        return ()  # another figure than the one that is drawn
    _, line = excerpt.line(catalogue)
    return lights(
        line,
        played,
        question.bar - question.first,
        places,
        beats_before(asked_part(question, catalogue)),
    )


def _path_places(
    question: Question, grade: Grade, neck: Neck, catalogue: Catalogue
) -> Mapping[Spot, Position]:
    """The places of the path that is drawn, by where their notes stand in the figure."""
    part = asked_part(question, catalogue)
    if question.kind is not Kind.FIND:
        return figure_places(part, question.key, neck, heard_heights(question, catalogue))
    figure = figure_places(part, question.key, question.own_neck)
    if grade.verdict is not Verdict.RIGHT:
        return figure
    path = compared(question, grade, catalogue).shown
    struck = [pair.spot for pair in grade.pairs if pair.spot is not None]
    if len(struck) == len(path):
        return figure | dict(zip(struck, path, strict=True))
    return figure  # repeats were given once


def hearing_lights(hearing: Hearing, neck: Neck, catalogue: Catalogue) -> tuple[Light, ...]:
    """What is lit while a device of the catalogue is heard; nothing for forms and base patterns,
    which go on through all chords."""
    row = find_row(hearing.device, catalogue)
    if isinstance(row, Form):
        return ()
    try:
        plan, line = hearing.line(catalogue)
    except MusicInputError:
        return ()  # told when it is played
    if not plan.placements:
        return ()
    placed = plan.placements[0]
    return lights(
        line,
        placed.device,
        placed.bar,
        figure_places(row, hearing.key, neck),
        beats_before(row),
    )
