"""Invented players who know some of the material already, for trials of the placement.

They are others than those of `quiz.learners` on purpose: those learn and forget from day to day,
while a placement is over in one sitting and asks only how far the known reaches.

What a player knows of a group is a soft frontier in its order of difficulty, with a level of its
own for each kind and group: nothing of the placement's own model but the order itself.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import NamedTuple

from quiz.learning.memory import Item
from quiz.learning.placement import Group, next_probe, presumed
from quiz.learning.practice import Probe

GUESSES = {
    "name": 1 / 3,
    "write": 0.02,
    "spell": 0.02,
    "place": 0.05,
    "find": 0.05,
    "fit": 0.125,
    "form": 1 / 3,
}
"""The chance of a right answer by luck, as the first questions of each kind have it."""

SOFTNESS = 0.06
"""How wide the frontier is: at this distance from it 73 % of items are known, or unknown."""

SURE, LUCKY = 0.94, 0.08
"""How often a known item is answered right; an unknown one, at least."""


@dataclass(frozen=True, slots=True)
class Invented:
    """A player: how far they have come on the whole, and how unevenly."""

    name: str
    level: float
    spread: float


PLAYERS = (
    Invented("strong", 0.9, 0.15),
    Invented("middling", 0.5, 0.2),
    Invented("weak", 0.12, 0.12),
)


class Placed(NamedTuple):
    """What a placement found, against what is so."""

    probes: int
    known: int
    """Items that the player knows."""

    found: int
    """Of those, presumed known."""

    wrong: int
    """Presumed known, and not known."""

    groups_known: int
    """Groups of which the player knows three items in four."""

    groups_found: int
    """Of those, with at least half of their items presumed known."""


def knowledge(player: Invented, groups: Sequence[Group], chance: random.Random) -> frozenset[Item]:
    """What a player knows."""
    kinds = {kind: chance.gauss(0, player.spread) for kind in GUESSES}
    known = set()
    for group in groups:
        items = [item for step in group.steps for item in step]
        level = player.level + kinds[group.kind] + chance.gauss(0, player.spread / 2)
        level = min(1.0, max(0.0, level))
        for place, item in enumerate(items):
            at = (place + 0.5) / len(items)
            if chance.random() < 1 / (1 + exp(-(level - at) / SOFTNESS)):
                known.add(item)
    return frozenset(known)


def placed(player: Invented, groups: Sequence[Group], seed: int) -> Placed:
    """A whole placement of a player."""
    chance = random.Random(f"{player.name}:{seed}")
    known = knowledge(player, groups, chance)
    probes: list[Probe] = []
    last: str | None = None
    while item := next_probe(groups, probes, last):
        luck = GUESSES[item.kind]
        right = chance.random() < (SURE if item in known else max(LUCKY, luck))
        probes.append(Probe(item, right, luck))
        last = item.device
    taken = presumed(groups, probes)
    rows = [frozenset(item for step in group.steps for item in step) for group in groups]
    well = [row for row in rows if len(row & known) >= 0.75 * len(row)]
    return Placed(
        len(probes),
        len(known),
        len(taken & known),
        len(taken - known),
        len(well),
        sum(len(row & taken) >= 0.5 * len(row) for row in well),
    )
