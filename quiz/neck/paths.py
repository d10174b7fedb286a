"""What is said about a path over the neck: the player's own, and one that asks less of the hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from engine.catalogue import Catalogue
from engine.errors import MusicInputError, amount
from engine.fretboard import Position, sounding
from engine.frets import format_positions
from engine.neck import Fingering, Neck, fingerings, path_cost, placed
from quiz.answers import Verdict
from quiz.display.cautions import HANDS
from quiz.grading.lines import Grade
from quiz.neck.notes import neck_notes
from quiz.questions.value import Question

SHOWN_PATHS = 3
"""Ways to play a figure that are shown."""

NOTICEABLE = 1e-6
"""A path is better when it costs less by more than this."""


@dataclass(frozen=True, slots=True)
class Compared:
    """The paths that belong to an answer."""

    mine: Fingering | None
    """The player's own, when every note was right."""

    ranked: tuple[Fingering, ...]
    """The best ways to play the same notes, in the player's octaves when they were right, else as
    the figure stands; the cheapest first."""

    @property
    def better(self) -> Fingering | None:
        """A path for the same notes that asks less of the hand than the player's own."""
        if self.mine is None or self.ranked[0].cost > self.mine.cost - NOTICEABLE:
            return None
        return self.ranked[0]

    @property
    def saved(self) -> int:
        """Frets of hand movement that the better path saves; 0 without one, below 0 where it moves
        more and is easier for another reason."""
        if self.mine is None or self.better is None:
            return 0
        return self.mine.movement - self.better.movement

    @property
    def shown(self) -> tuple[Position, ...]:
        """The path that is lit on the drawing."""
        return self.ranked[0].positions


def compared(question: Question, grade: Grade, catalogue: Catalogue) -> Compared:
    """The player's path against the best ones."""
    neck = question.own_neck
    if grade.verdict is not Verdict.RIGHT or not grade.places:
        pitches = [note.midi for note in neck_notes(question, catalogue)]
        return Compared(None, _ranked(pitches, neck))
    mine = placed(grade.places, neck.frets, path_cost(neck))
    pitches = [sounding(place, neck.tuning) for place in grade.places]
    return Compared(mine, _ranked(pitches, neck))


def _ranked(pitches: Sequence[int], neck: Neck) -> tuple[Fingering, ...]:
    return fingerings(pitches, neck.tuning, neck.frets, path_cost(neck), SHOWN_PATHS)


def path_lines(question: Question, grade: Grade, catalogue: Catalogue) -> list[str]:
    """The player's path, a better one with what it saves, and other good ones; a caution where one
    of them has stretches."""
    both, neck = compared(question, grade, catalogue), question.own_neck
    if both.mine is None:
        first, *others = both.ranked
        lines = [f"it lies at {_path_words(first, neck)}"]
    elif both.better is None:
        others = [one for one in both.ranked if one.positions != both.mine.positions]
        lines = [f"you played {_path_words(both.mine, neck)}: no path asks less of the hand"]
    else:
        others = [one for one in both.ranked[1:] if one.positions != both.mine.positions]
        lines = [
            f"you played {_path_words(both.mine, neck)}",
            f"less to do: {_path_words(both.better, neck)}; {_saved_words(both)}",
        ]
    lines += [f"another way: {_path_words(one, neck)}" for one in others]
    paths = [both.mine, *both.ranked]
    if any(path is not None and path.stretches for path in paths):
        lines.append(HANDS)
    return lines


def _path_words(path: Fingering, neck: Neck) -> str:
    """`E5 A2 A3 (the hand stays)`."""
    words = [_moves(path.movement)]
    if path.stretches:
        words.append(amount(path.stretches, "stretch", "stretches"))
    return f"{format_positions(path.positions, neck.tuning)} ({', '.join(words)})"


def _moves(movement: int) -> str:
    return f"the hand moves {amount(movement, 'fret')}" if movement else "the hand stays"


def _saved_words(both: Compared) -> str:
    """What the better path saves: movement, or what else makes it easier."""
    mine, better = both.mine, both.better
    assert mine is not None  # there is a better one only where there is one's own
    assert better is not None
    if both.saved > 0:
        return f"that saves {amount(both.saved, 'fret')} of hand movement"
    less = (
        (mine.stretches - better.stretches, "stretch", "stretches"),
        (_crossings(mine) - _crossings(better), "string crossing", ""),
        (_opens(mine) - _opens(better), "open string", ""),
    )
    saved = [amount(count, one, many) for count, one, many in less if count > 0]
    return f"that saves {' and '.join(saved)}" if saved else "that lies nearer to the nut"


def _crossings(path: Fingering) -> int:
    return sum(abs(b.string - a.string) for a, b in pairwise(path.positions))


def _opens(path: Fingering) -> int:
    return sum(position.fret == 0 for position in path.positions)


def best_path(pitches: Sequence[int], neck: Neck) -> Fingering | None:
    """The path that asks least of the hand; None for notes off the neck."""
    try:
        return fingerings(pitches, neck.tuning, neck.frets, path_cost(neck), best=1)[0]
    except MusicInputError:
        return None
