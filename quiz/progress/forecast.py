"""What is known, and what of it is lost without practice.

Every item that has been met has a chance of being known (`quiz.learning.knowing`); the sum of the
chances is how many of them are known, on average. It says nothing about which. Looked at on a later
day with no answer in between, the same chances say what is left by then; no chance rises by
waiting, so neither does their sum.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from quiz.learning.memory import Item, stage
from quiz.learning.practice import Practice

WEEKS_AHEAD = 4
DAYS_A_WEEK = 7
STAGES = ("new", "shaky", "steady", "solid")


@dataclass(frozen=True, slots=True)
class Known:
    """How well one item that has been met is known."""

    item: Item
    stage: str
    """One of STAGES."""

    asked: int
    right: int
    days: int
    """Since its memory was last refreshed, in practice days."""

    now: float
    """The chance that it is known, 0 to 1."""

    later: float
    """The same in WEEKS_AHEAD weeks without practice."""

    @property
    def lost(self) -> float:
        """What of it is lost without practice, 0 to 1."""
        return self.now - self.later


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is known of everything that has been met."""

    items: tuple[Known, ...]
    """What stands to be lost first; what is equal by device and kind."""

    known: tuple[float, ...]
    """How many of them are known: today, in a week, ... in WEEKS_AHEAD weeks without practice."""

    material: int
    """Items that there are, met or not."""

    @property
    def stages(self) -> dict[str, int]:
        """How many items of the material are at each stage."""
        counted = dict.fromkeys(STAGES, 0)
        for known in self.items:
            counted[known.stage] += 1
        return counted | {"new": self.material - len(self.items)}


def forecast(material: Iterable[Item], practice: Practice, day: int) -> Forecast:
    """What is known on practice day `day`, and what will be left of it.

    Items that are not of the material (their device has left the catalogue) are left out.
    """
    items = tuple(material)
    met = [item for item in items if item in practice.states]
    lines = [_line(item, practice, day) for item in met]
    known = tuple(
        sum(practice.known(item, day + week * DAYS_A_WEEK) for item in met)
        for week in range(WEEKS_AHEAD + 1)
    )
    ordered = sorted(lines, key=lambda line: (-round(line.lost, 6), line.item))
    return Forecast(tuple(ordered), known, len(items))


def _line(item: Item, practice: Practice, day: int) -> Known:
    state = practice.states[item]
    return Known(
        item,
        stage(state),
        state.asked,
        state.right,
        max(0, day - state.day),
        practice.known(item, day),
        practice.known(item, day + WEEKS_AHEAD * DAYS_A_WEEK),
    )


def forecast_sentence(value: Forecast) -> str:
    """`You know about 31 of the 48 you have met; without practice about 27 in four weeks.`"""
    if not value.items:
        return "Nothing has been met yet."
    now, later = (round(known) for known in (value.known[0], value.known[-1]))
    return (
        f"You know about {now} of the {len(value.items)} you have met; "
        f"without practice about {later} in four weeks."
    )
