"""Signs and styles that the widgets share, in a plain form and a richer one.

Meaning is never in colour alone: every state has a sign of its own, and the plain set needs
nothing but ASCII.
"""

from dataclasses import dataclass

from quiz.answers import Verdict


@dataclass(frozen=True, slots=True)
class Signs:
    """The characters that draw things."""

    bar: str
    """Between bars."""

    sounding: str
    """Before the bar that sounds."""

    asked: str
    """Before a bar that the question is about."""

    marked: str
    """Before a bar that the player has marked, and at an option that is ticked."""

    tread: str
    """What a step of the figure is drawn with."""

    full: str
    empty: str
    """The two ends of a bar chart."""

    right: str
    partly: str
    wrong: str

    place: str
    """A place on the neck that is played."""

    lit: str
    """A place on the neck that sounds now."""

    own: str
    """A place on the neck where the player was."""

    string: str
    fret: str
    nut: str
    further: str
    """Where the neck goes on beyond what is shown."""

    def verdict(self, verdict: Verdict) -> str:
        """The sign of a verdict."""
        return {Verdict.RIGHT: self.right, Verdict.PARTLY: self.partly}.get(verdict, self.wrong)


PLAIN = Signs("|", ">", "?", "*", "=", "#", ".", "+", "~", "x", "o", "@", "u", "-", "|", "H", ":")
RICH = Signs("│", "▸", "?", "●", "▀", "█", "░", "✓", "≈", "✗", "●", "◆", "○", "─", "┼", "║", "┊")


def signs(ascii_only: bool) -> Signs:
    """The set for a terminal."""
    return PLAIN if ascii_only else RICH
