"""The ladders: how a kind of question gets harder as it gets easy, a rung at a time.

A rung says who plays, how many options are offered and how near they are, whether a chord gives the
key or only what is played does, how often it may be heard, and whether the figure may come as a
variant. Of `find`, where nothing is heard at first, it says what is told besides the name, and
whether the octave counts. Tempo moves apart from the ladder. Where a player stands is in
`quiz.learning.reach`. The order of the rungs is common practice, no source: a bass alone is easier
to hear than one in a band, far options are easier than near ones, and a key that must be found out
comes last.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from engine.textures import Texture
from quiz.questions.kinds import Kind


class Told(Enum):
    """What a question on the neck tells of the figure besides its name, from much to nothing. The
    value is what the history says."""

    NOTES = "notes"
    DEGREES = "degrees"
    NAME = "name"


@dataclass(frozen=True, slots=True)
class Rung:
    """The conditions of a question."""

    texture: Texture
    options: int = 0
    """How many are offered at most; 0 where the kind offers none."""

    near: bool = False
    """Whether the options are the nearest there are; otherwise they are drawn from farther off."""

    key_given: bool = True
    """Whether a chord gives the key; otherwise only what is played tells it."""

    playings: int = 0
    """How often it may be heard before the answer; 0 for as often as one likes."""

    variants: bool = False
    """Whether the figure may come as a variant, which then is part of the answer."""

    told: Told = Told.NAME
    """Of `find`: what is told besides the name."""

    octave_counts: bool = False
    """Of `find`: whether the notes have to lie in the figure's own octave."""


BASS, DRUMS, BAND = Texture.BASS, Texture.DRUMS, Texture.BAND

LADDERS: Mapping[Kind, tuple[Rung, ...]] = {
    Kind.NAME: (
        Rung(BASS, 3),
        Rung(DRUMS, 3),
        Rung(BAND, 3),
        Rung(BAND, 4),
        Rung(BAND, 4, near=True),
        Rung(BAND, 4, near=True, variants=True),
        Rung(BAND, 5, near=True, variants=True, playings=3),
        Rung(BAND, 5, near=True, variants=True, playings=2, key_given=False),
    ),
    Kind.WRITE: (
        Rung(BASS),
        Rung(DRUMS),
        Rung(BAND),
        Rung(BAND, playings=4),
        Rung(BAND, playings=3, key_given=False),
    ),
    Kind.PLACE: (
        Rung(BASS, 1),
        Rung(DRUMS, 2),
        Rung(BAND, 2),
        Rung(BAND, 3),
        Rung(BAND, 3, playings=2),
        Rung(BAND, 3, playings=1, key_given=False),
    ),
    Kind.FIND: (
        Rung(BASS, told=Told.NOTES),
        Rung(BASS, told=Told.DEGREES),
        Rung(BASS),
        Rung(BASS, octave_counts=True),
    ),
    Kind.PLAY: (
        Rung(BASS),
        Rung(DRUMS),
        Rung(BAND),
        Rung(BAND, playings=4),
        Rung(BAND, playings=2),
    ),
    Kind.FIT: (
        Rung(BAND, 2),
        Rung(BAND, 3),
        Rung(BAND, 4),
        Rung(BAND, 4, near=True),
        Rung(BAND, 5, near=True, playings=3),
        Rung(BAND, 5, near=True, playings=2, key_given=False),
    ),
    Kind.FORM: (
        Rung(BAND, 2),
        Rung(BAND, 3),
        Rung(BAND, 4),
        Rung(BAND, 4, near=True),
        Rung(BAND, 6, near=True, playings=1),
        Rung(BAND, 6, near=True, playings=1, key_given=False),
    ),
}
"""The rungs of each kind that has some, the easiest first. Of `place`, `options` are the most
pickups that a chorus holds; of `fit`, the figures to tick; of `form`, the forms to choose from."""


def rung(kind: Kind, place: int) -> Rung:
    """The rung at `place`, 0 the easiest; places beyond the end are the last rung's."""
    ladder = LADDERS[kind]
    return ladder[min(max(place, 0), len(ladder) - 1)]
