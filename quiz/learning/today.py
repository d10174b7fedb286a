"""How the day stands: what is due, what is new, what is known."""

from collections.abc import Sequence
from dataclasses import dataclass

from quiz.learning.memory import Item, stage
from quiz.learning.practice import Practice
from quiz.learning.schedule import Plan, due_items, left_of_day, new_left


@dataclass(frozen=True, slots=True)
class Today:
    """How the day stands."""

    due: int
    """Items that are ripe, beyond a day's share too."""

    left: int
    """Of those, what is today's work: never more than a day's share."""

    new_left: int
    """New items that come today when nothing is due any more."""

    asked: int
    met: int
    """Items met so far."""

    items: int
    """Items there are."""

    stages: dict[str, int]
    """How many items are at each stage."""

    presumed: int = 0
    """Of the new ones, those that a placement presumes known."""

    @property
    def later(self) -> int:
        """Items that are ripe and spread over the coming days."""
        return self.due - self.left

    @property
    def done(self) -> bool:
        """Whether nothing is left of the day's work."""
        return not self.left and not self.new_left


def today(items: Sequence[Item], practice: Practice, day: int, plan: Plan) -> Today:
    """How practice day `day` stands for some material."""
    stages = dict.fromkeys(("new", "shaky", "steady", "solid"), 0)
    for item in items:
        stages[stage(practice.states.get(item))] += 1
    due, asked = len(due_items(items, practice, day, plan)), practice.asked_on(day)
    return Today(
        due=due,
        left=left_of_day(due, asked, plan),
        new_left=min(new_left(practice, day, plan), stages["new"]),
        asked=asked,
        met=len(items) - stages["new"],
        items=len(items),
        stages=stages,
        presumed=sum(item in plan.presumed for item in items if item not in practice.states),
    )


def left_words(day: Today) -> str:
    """What is left of the day's work, in a sentence or two."""
    parts = [f"{day.left} due"] if day.left else []
    parts += [f"{day.new_left} new"] if day.new_left else []
    if parts:
        return " ".join(filter(None, (f"Left today: {', '.join(parts)}.", later_words(day))))
    if day.later:
        return f"The day's share is done. {later_words(day)}"
    return "Nothing is due any more today. Going on does no harm; stopping does neither."


def later_words(day: Today) -> str:
    """What is due beyond the day's share; empty where nothing is."""
    if not day.later:
        return ""
    return f"{day.later} more {'is' if day.later == 1 else 'are'} spread over the coming days."
