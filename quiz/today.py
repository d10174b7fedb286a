"""How the day stands: what is due, what is new, what is known."""

from collections.abc import Sequence
from dataclasses import dataclass

from quiz.memory import Item, stage
from quiz.practice import Practice
from quiz.schedule import Plan, due_items, new_left


@dataclass(frozen=True, slots=True)
class Today:
    """How the day stands."""

    due: int
    new_left: int
    asked: int
    met: int
    """Items met so far."""

    items: int
    """Items there are."""

    stages: dict[str, int]
    """How many items are at each stage."""


def today(items: Sequence[Item], practice: Practice, day: int, plan: Plan) -> Today:
    """How practice day `day` stands for some material."""
    stages = dict.fromkeys(("new", "shaky", "steady", "solid"), 0)
    for item in items:
        stages[stage(practice.states.get(item))] += 1
    return Today(
        due=len(due_items(items, practice, day, plan)),
        new_left=new_left(practice, day, plan),
        asked=practice.asked_on(day),
        met=len(items) - stages["new"],
        items=len(items),
        stages=stages,
    )
