"""The kinds of question, a row each."""

from dataclasses import dataclass
from enum import Enum


class Kind(Enum):
    """A kind of question. The value is what commands and the history say."""

    NAME = "name"
    WRITE = "write"
    SPELL = "spell"
    PLACE = "place"
    FIND = "find"
    FIT = "fit"
    FORM = "form"
    PLAY = "play"
    JAM = "jam"
    """A call in the open jam; never asked in a round."""


class By(Enum):
    """How an answer is given."""

    CHOICE = "choice"
    """One of the options is picked."""

    LINE = "line"
    """Degrees or note names are typed."""

    BARS = "bars"
    """Bars of the form are marked; none is an answer too."""

    TICKS = "ticks"
    """Any number of the options is ticked; none is an answer too."""

    NECK = "neck"
    """Places on the neck are picked, or typed as string and fret."""

    PLAYING = "playing"
    """The line is played on an instrument, against a count-in."""


@dataclass(frozen=True, slots=True)
class KindFacts:
    """What is true of every question of a kind."""

    label: str
    """On screen."""

    heard: bool
    """Whether the band plays before the answer, so that a sound output is needed."""

    answered: By
    """How the answer is given."""

    says: str
    """What the player does, in one sentence."""

    on_request: bool = False
    """Whether, although the band does not play before the answer, the player may ask to hear it."""

    @property
    def may_be_heard(self) -> bool:
        """Whether it can be heard before the answer at all."""
        return self.heard or self.on_request


KINDS = {
    Kind.NAME: KindFacts(
        "Name it",
        heard=True,
        answered=By.CHOICE,
        says="Hear the end of a chorus and say which figure went by.",
    ),
    Kind.WRITE: KindFacts(
        "Write it down",
        heard=True,
        answered=By.LINE,
        says="Hear the figure and write it as degrees or note names.",
    ),
    Kind.SPELL: KindFacts(
        "Spell it",
        heard=False,
        answered=By.LINE,
        says="Turn degrees into note names, or note names into degrees, in a random key.",
    ),
    Kind.PLACE: KindFacts(
        "Which bar",
        heard=True,
        answered=By.BARS,
        says="Hear a whole chorus and mark the bars where the bass left its pattern.",
    ),
    Kind.FIND: KindFacts(
        "On the neck",
        heard=False,
        answered=By.NECK,
        says="Give string and fret of each note of a figure, in a random key.",
        on_request=True,
    ),
    Kind.FIT: KindFacts(
        "Fit the band",
        heard=True,
        answered=By.TICKS,
        says="Hear the keys without a bass and tick every figure that agrees with them.",
    ),
    Kind.FORM: KindFacts(
        "Call the form",
        heard=True,
        answered=By.CHOICE,
        says="Hear a chorus and say which form it is.",
    ),
    Kind.PLAY: KindFacts(
        "Play it back",
        heard=True,
        answered=By.PLAYING,
        says="Hear the figure and play it on your instrument, in time with a count-in.",
    ),
    Kind.JAM: KindFacts(
        "Open jam",
        heard=True,
        answered=By.CHOICE,
        says="Chorus after chorus: name each figure before the next one comes.",
    ),
}

ROUND_KINDS = tuple(kind for kind in Kind if kind is not Kind.JAM)
"""The kinds that a round asks."""
