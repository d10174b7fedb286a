"""Placement: what is known already, found with few questions before anything is scheduled.

The items of one family in one kind make a group, easy ones first as the catalogue has them, cut
into at most STEPS steps. The player is taken to know a group up to some level: 0 steps to all. What
is believed of the levels hangs together as a tree: one level of the player, around it one for each
kind, around that one for each group of the kind; a level is the less likely the farther it lies
from the one above. So one answer says something of its group, less of the other groups of its kind,
and a little of everything, and the beliefs after some answers are summed up exactly.

    P(level | level above) proportional to exp(-tie * distance), distances from 0 (none) to 1 (all)
    P(right | step known) = 1 - SLIP          P(right | step not known) = max(guess rate, LUCK)

The next question is about the step that is most in doubt. All of it follows from the placement
answers and the material alone. [the model and its numbers chosen here, by simulation:
tests/bench/bench_placement.py]
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import exp, prod

from engine.catalogue import Catalogue
from quiz.learning.focus import FAMILY_WORDS
from quiz.learning.memory import KNOWN_BEFORE, PRESUMED, Item
from quiz.learning.practice import Probe
from quiz.questions.kinds import KINDS, Kind

MOST_PROBES = 24
"""Questions of a placement."""

FEW_ANSWERS = 150
"""A placement is offered while the history has fewer answers: later it knows better by itself."""

STEPS = 4
"""Steps of a group, fewer where it has fewer items."""

SLIP, LUCK = 0.08, 0.15
"""How often a known item goes wrong; how often an unknown one is worked out, at least."""

KIND_TIE, GROUP_TIE = 4.0, 8.0
"""How closely the kinds keep to the player, and the groups to their kind."""

PRESUMED_FROM = KNOWN_BEFORE[PRESUMED]
"""The belief from which a step is presumed known."""

UNKNOWN_BELOW = 0.25
"""The belief below which nothing of a group is called known."""


@dataclass(frozen=True, slots=True)
class Group:
    """The items of one family in one kind."""

    family: str
    kind: str
    steps: tuple[tuple[Item, ...], ...]
    """Easy ones first; none is empty."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a placement says of a group."""

    group: Group
    known: int
    """Steps that are presumed known, from the first on."""

    beliefs: tuple[float, ...]
    """Of each step, how likely it is known; never rising."""

    @property
    def open(self) -> bool:
        """Whether it could not be told: nothing is presumed, and it may be known all the same."""
        return not self.known and self.beliefs[0] > UNKNOWN_BELOW


Levels = tuple[float, ...]
"""How likely each level is, the lowest first."""


def groups_of(items: Iterable[Item], family_of: Mapping[str, str]) -> tuple[Group, ...]:
    """The groups of some material, in the order in which their first items come."""
    gathered: dict[tuple[str, str], list[Item]] = {}
    for item in items:
        gathered.setdefault((family_of[item.device], item.kind), []).append(item)
    return tuple(Group(*name, _steps(group)) for name, group in gathered.items())


def _steps(items: Sequence[Item]) -> tuple[tuple[Item, ...], ...]:
    count = min(STEPS, len(items))
    edges = [round(place * len(items) / count) for place in range(count + 1)]
    return tuple(tuple(items[a:b]) for a, b in pairwise(edges))


def next_probe(
    groups: Sequence[Group], probes: Sequence[Probe], last_device: str | None
) -> Item | None:
    """What to ask next; None when MOST_PROBES are asked, everything is certain, or nothing is left.

    Of the step that is most in doubt, large ones before small ones, the item nearest to its middle
    that has not been asked; not the device just asked, unless there is no other.
    """
    if len(probes) >= MOST_PROBES:
        return None
    devices = {item.device for group in groups for step in group.steps for item in step}
    return _most_in_doubt(groups, probes, None if devices == {last_device} else last_device)


def _most_in_doubt(
    groups: Sequence[Group], probes: Sequence[Probe], last_device: str | None
) -> Item | None:
    asked = {probe.item for probe in probes}
    best, doubt = None, 0.0
    for found in findings(groups, probes):
        for step, belief in zip(found.group.steps, found.beliefs, strict=True):
            left = [item for item in step if item not in asked and item.device != last_device]
            worth = belief * (1 - belief) * len(step) ** 0.5
            if left and worth > doubt and not is_certain(belief):
                best, doubt = left[len(left) // 2], worth
    return best


def is_certain(belief: float) -> bool:
    """Whether a step need not be asked about any more."""
    return belief >= PRESUMED_FROM or belief <= 1 - PRESUMED_FROM


def presumed(groups: Sequence[Group], probes: Sequence[Probe]) -> frozenset[Item]:
    """The items that may be presumed known; none of those that went wrong."""
    wrong = {probe.item for probe in probes if not probe.right}
    return frozenset(
        item
        for found in findings(groups, probes)
        for step in found.group.steps[: found.known]
        for item in step
        if item not in wrong
    )


def findings(groups: Sequence[Group], probes: Sequence[Probe]) -> tuple[Found, ...]:
    """What some placement answers say of each group, in the order of the groups."""
    if not probes:  # a placement that was never taken says nothing, and costs nothing
        return tuple(Found(group, 0, (0.5,) * len(group.steps)) for group in groups)
    said = {group: _said(group, probes) for group in groups}
    upward = {group: _from_group(len(group.steps), said[group]) for group in groups}
    kinds = list(dict.fromkeys(group.kind for group in groups))
    of_kind = {
        kind: _times(upward[group] for group in groups if group.kind == kind) for kind in kinds
    }
    to_player = {kind: _through(_between_kinds(), of_kind[kind]) for kind in kinds}
    return tuple(
        _found(
            group,
            said[group],
            _times(to_player[kind] for kind in kinds if kind != group.kind),
            _times(
                upward[other] for other in groups if other.kind == group.kind and other != group
            ),
        )
        for group in groups
    )


def placement_lines(found: Sequence[Found], catalogue: Catalogue) -> list[str]:
    """What a placement has found, in plain words, a line for each kind."""
    kinds = dict.fromkeys(one.group.kind for one in found)
    return [
        f"{KINDS[Kind(kind)].label}: "
        + "; ".join(_group_words(one, catalogue) for one in found if one.group.kind == kind)
        for kind in kinds
    ]


def _group_words(found: Found, catalogue: Catalogue) -> str:
    steps = found.group.steps
    name = FAMILY_WORDS.get(found.group.family, found.group.family)
    if found.open:
        return f"{name} too early to tell"
    if not found.known:
        return f"{name} not yet"
    if found.known == len(steps):
        return f"{name} all known"
    return f"{name} known up to {catalogue.name(steps[found.known - 1][-1].device)}"


def _found(group: Group, said: Levels, of_player: Levels, of_kind: Levels) -> Found:
    """What is believed of a group: by its own answers, those of the player's other kinds, and
    those of other groups of its kind."""
    steps = len(group.steps)
    from_above = _through(_turned(_between_kinds()), of_player)
    above = tuple(a * b for a, b in zip(from_above, of_kind, strict=True))
    expected = _through(_turned(_within_kind(steps)), above)
    levels = [a * b for a, b in zip(expected, said, strict=True)]
    total = sum(levels)
    beliefs = tuple(sum(levels[step + 1 :]) / total for step in range(steps))
    return Found(group, sum(belief >= PRESUMED_FROM for belief in beliefs), beliefs)


def _said(group: Group, probes: Sequence[Probe]) -> Levels:
    """How likely the answers about a group are, at each level of it."""
    steps = {item: place for place, step in enumerate(group.steps) for item in step}
    rows = [(steps[probe.item], probe) for probe in probes if probe.item in steps]
    return tuple(
        prod(_chance(probe, level > step) for step, probe in rows)
        for level in range(len(group.steps) + 1)
    )


def _chance(probe: Probe, known: bool) -> float:
    """How likely an answer is from somebody who knows the step, or does not."""
    right = 1 - SLIP if known else max(probe.guess_rate, LUCK)
    return right if probe.right else 1 - right


Table = tuple[Levels, ...]
"""How likely each level (across) is under each level above it (down)."""


@cache
def _table(levels: int, above: int, tie: float) -> Table:
    rows = []
    for over in range(above):
        weights = [exp(-tie * abs(at / (levels - 1) - over / (above - 1))) for at in range(levels)]
        rows.append(tuple(weight / sum(weights) for weight in weights))
    return tuple(rows)


def _between_kinds() -> Table:
    return _table(STEPS + 1, STEPS + 1, KIND_TIE)


def _within_kind(steps: int) -> Table:
    return _table(steps + 1, STEPS + 1, GROUP_TIE)


def _from_group(steps: int, said: Levels) -> Levels:
    """What the answers about a group say of the level of its kind."""
    return _through(_within_kind(steps), said)


def _through(table: Table, likely: Levels) -> Levels:
    """Sums over what a table goes across."""
    return tuple(sum(a * b for a, b in zip(row, likely, strict=True)) for row in table)


def _turned(table: Table) -> Table:
    return tuple(zip(*table, strict=True))


def _times(likely: Iterable[Levels]) -> Levels:
    """The product, level by level; all ones of nothing."""
    rows = list(likely)
    return tuple(prod(column) for column in zip(*rows, strict=True)) or (1.0,) * (STEPS + 1)
