"""The kinds of question, a row each."""

from dataclasses import dataclass
from enum import Enum


class Kind(Enum):
    """A kind of question. The value is what commands and the history say."""

    NAME = "name"
    WRITE = "write"
    SPELL = "spell"


@dataclass(frozen=True, slots=True)
class KindFacts:
    """What is true of every question of a kind."""

    label: str
    """On screen."""

    heard: bool
    """Whether the band plays before the answer, so that a sound output is needed."""

    chosen: bool
    """Whether the answer is picked from options; otherwise it is typed."""

    says: str
    """What the player does, in one sentence."""


KINDS = {
    Kind.NAME: KindFacts(
        "Name it",
        heard=True,
        chosen=True,
        says="Hear the end of a chorus and say which figure went by.",
    ),
    Kind.WRITE: KindFacts(
        "Write it down",
        heard=True,
        chosen=False,
        says="Hear the figure and write it as degrees or note names.",
    ),
    Kind.SPELL: KindFacts(
        "Spell it",
        heard=False,
        chosen=False,
        says="Turn degrees into note names, or note names into degrees, in a random key.",
    ),
}
