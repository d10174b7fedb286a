"""The placement: which question comes next, what is believed, and what is told."""

from itertools import pairwise
from math import exp

import pytest

from engine.catalogue import builtin_catalogue
from quiz.learning.focus import families
from quiz.learning.material import Only, items_within
from quiz.learning.memory import Item
from quiz.learning.placement import (
    MOST_PROBES,
    PRESUMED_FROM,
    STEPS,
    Group,
    findings,
    groups_of,
    is_certain,
    next_probe,
    placement_lines,
    presumed,
)
from quiz.learning.practice import Probe
from tests.quiz.learners import PLAYERS, Invented, placed

CATALOGUE = builtin_catalogue()
ITEMS = items_within(Only(), CATALOGUE)
GROUPS = groups_of(ITEMS, families(CATALOGUE))


def answered(right: bool, groups: tuple[Group, ...] = GROUPS) -> list[Probe]:
    """A placement that is answered all right, or all wrong."""
    probes: list[Probe] = []
    last: str | None = None
    while item := next_probe(groups, probes, last):
        probes.append(Probe(item, right, 0.1))
        last = item.device
    return probes


def test_every_item_stands_in_one_step_of_its_family_and_kind_in_the_order_of_learning() -> None:
    found = [item for group in GROUPS for step in group.steps for item in step]
    assert sorted(ITEMS) == sorted(found)
    for group in GROUPS:
        own = [item for step in group.steps for item in step]
        assert own == [item for item in ITEMS if item in own]
        assert {group.kind} == {item.kind for item in own}
        assert len(group.steps) == min(STEPS, len(own))
        assert all(group.steps)


def test_a_placement_never_passes_its_number_and_asks_nothing_twice() -> None:
    for right in (True, False):
        probes = answered(right)
        assert len(probes) <= MOST_PROBES
        assert len({probe.item for probe in probes}) == len(probes)
        assert all(a.item.device != b.item.device for a, b in pairwise(probes))


def test_a_single_device_is_asked_in_every_kind() -> None:
    climb = groups_of([item for item in ITEMS if item.device == "climb"], families(CATALOGUE))
    kinds = {"name", "write", "spell", "find", "fit"}
    assert kinds == {probe.item.kind for probe in answered(True, climb)}


def test_it_ends_when_everything_is_certain() -> None:
    few = tuple(group for group in GROUPS if group.kind == "form")
    probes = answered(True, few)
    assert len(probes) < MOST_PROBES
    assert all(
        is_certain(belief) or set(step) <= {probe.item for probe in probes}
        for found in findings(few, probes)
        for step, belief in zip(found.group.steps, found.beliefs, strict=True)
    )


def test_all_right_is_presumed_known_nearly_everywhere_and_all_wrong_nowhere() -> None:
    assert len(presumed(GROUPS, answered(True))) > 0.9 * len(ITEMS)
    assert frozenset() == presumed(GROUPS, answered(False))


def test_without_answers_nothing_is_presumed() -> None:
    assert frozenset() == presumed(GROUPS, ())


def test_the_order_of_the_answers_does_not_matter() -> None:
    probes = answered(True)[:10] + answered(False)[:3]
    beliefs = [found.beliefs for found in findings(GROUPS, probes)]
    backwards = [found.beliefs for found in findings(GROUPS, probes[::-1])]
    for one, other in zip(beliefs, backwards, strict=True):
        assert one == pytest.approx(other)


def test_a_right_answer_raises_and_a_wrong_one_lowers_what_is_believed_of_its_step() -> None:
    item = GROUPS[0].steps[1][0]
    before = findings(GROUPS, [Probe(ITEMS[-1], True, 1.0)])[0].beliefs[1]
    assert findings(GROUPS, [Probe(item, True, 0.02)])[0].beliefs[1] > before
    assert findings(GROUPS, [Probe(item, False, 0.02)])[0].beliefs[1] < before


def test_a_lucky_guess_says_less() -> None:
    item = GROUPS[0].steps[1][0]
    typed, chosen = (
        findings(GROUPS, [Probe(item, True, rate)])[0].beliefs[1] for rate in (0.02, 0.5)
    )
    assert typed > chosen


def test_beliefs_are_those_counted_out_level_by_level() -> None:
    """By hand for one group of one step: the player, the kind and the group each know it or not in
    part, and every combination is summed."""
    item = Item("twelve-bar", "form")
    group = Group("form", "form", ((item,),))
    ways = {0: 0.0, 1: 0.0}
    places = [0, 0.25, 0.5, 0.75, 1]
    for player in places:
        kinds = [exp(-4 * abs(kind - player)) for kind in places]
        for kind, weight in zip(places, kinds, strict=True):
            levels = [exp(-8 * abs(level - kind)) for level in (0, 1)]
            for level in (0, 1):
                ways[level] += weight / sum(kinds) * levels[level] / sum(levels)
    odds = ways[1] * (1 - 0.08) / (ways[0] * 0.2)
    (found,) = findings((group,), [Probe(item, True, 0.2)])
    assert odds / (1 + odds) == pytest.approx(found.beliefs[0])


def test_what_went_wrong_itself_is_not_presumed() -> None:
    probes = answered(True)
    missed = probes[0].item
    probes[0] = Probe(missed, False, 0.1)
    assert missed not in presumed(GROUPS, probes)


def test_the_belief_never_rises_with_difficulty() -> None:
    for found in findings(GROUPS, answered(True)[:7] + answered(False)[7:15]):
        assert list(found.beliefs) == sorted(found.beliefs, reverse=True)
        assert found.known == sum(belief >= PRESUMED_FROM for belief in found.beliefs)


def test_the_result_is_told_in_plain_words_kind_by_kind() -> None:
    lines = placement_lines(findings(GROUPS, answered(True)), CATALOGUE)
    assert [line.split(":")[0] for line in lines] == [
        "Name it", "Write it down", "Spell it", "On the neck", "Fit the band", "Which bar",
        "Call the form",
    ]  # fmt: skip
    assert "heads all known" in lines[0]
    assert "heads not yet" in placement_lines(findings(GROUPS, answered(False)), CATALOGUE)[0]
    early = placement_lines(findings(GROUPS, answered(True)[:1]), CATALOGUE)
    assert any("too early to tell" in line for line in early)


def test_a_part_of_a_group_is_told_by_its_last_device() -> None:
    group = Group("head", "spell", tuple((Item(d, "spell"),) for d in ("climb", "fall", "stay")))
    probes = [Probe(Item("climb", "spell"), True, 0.0)] * 3
    probes += [Probe(Item("fall", "spell"), True, 0.0)] * 3
    probes += [Probe(Item("stay", "spell"), False, 0.0)] * 3
    assert ["Spell it: heads known up to fall"] == placement_lines(
        findings((group,), probes), CATALOGUE
    )


@pytest.mark.parametrize(
    ("player", "least", "most_wrong"),
    [(PLAYERS[0], 0.75, 0.08), (PLAYERS[1], 0.5, 0.12), (PLAYERS[2], 0.15, 0.35)],
    ids=lambda value: getattr(value, "name", str(value)),
)
def test_invented_players_are_placed_near_where_they_are(
    player: Invented, least: float, most_wrong: float
) -> None:
    """The bench prints these over many more players; a wrong presumption costs one question."""
    rows = [placed(player, GROUPS, seed) for seed in range(12)]
    known, found, wrong = (sum(row[place] for row in rows) for place in (1, 2, 3))
    assert found / known > least
    assert wrong / (found + wrong) < most_wrong
