"""Ways to vary a device: its rows that are variants, doubled, and two beats late."""

import pytest

from engine.catalogue import builtin_catalogue
from engine.errors import MusicInputError
from engine.forms import builtin_forms
from engine.line import outline, write_line
from engine.pattern import parse_pattern
from engine.plan import plan_choruses
from tests.quiz.asking import device, key

CATALOGUE = builtin_catalogue()


def ids(name: str) -> list[str]:
    return [variant.id for variant in CATALOGUE.variants(CATALOGUE.find(name))]


# --- later --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("text", "beats", "later"), [
    ("1 3 4 #4 | 5 5 5 5 | 1", 2, "* * 1 3 | 4 #4 5 5 | 1"),
    ("1 3 4 #4 | 5 5 5 5 | 1", 4, "* * * * | 1 3 4 #4 | 1"),
    ("5 (b6 5) 5 5 | 1", 1, "* 5 (b6 5) 5 | 1"),
    ("1 - 5 -", 2, "* * 1 -"),
    ("1 2 b3 3 | 4", 0, "1 2 b3 3 | 4"),
])  # fmt: skip
def test_a_later_pattern_waits_on_the_base_pattern_and_loses_its_end(
    text: str, beats: int, later: str
) -> None:
    assert later == str(parse_pattern(text).later(beats))


def test_a_later_pattern_is_as_long_and_arrives_where_it_did() -> None:
    for turnaround in CATALOGUE.turnarounds():
        pattern = turnaround.pattern
        late = pattern.later(2)
        assert (pattern.bars, pattern.arrival) == (late.bars, late.arrival)


# --- late ---------------------------------------------------------------------------------------


def test_a_turnaround_can_come_two_beats_late() -> None:
    late = CATALOGUE.find("climb+dip+late")
    assert "* * 1 3 | 4 #4 5 (b6 5) | 1" == str(late.pattern)
    assert ("climb + dip, two beats late", "climb+dip") == (late.name, late.variant_of)
    assert ("climb", "dip") == (late.head, late.tail)


def test_the_chords_come_when_they_would() -> None:
    assert CATALOGUE.find("climb+dip").chords == CATALOGUE.find("climb+dip+late").chords


@pytest.mark.parametrize("name", [
    "walk-up-one-four+late", "climb-five-one+late", "boogie+late", "climb+late",
    "climb+dip+late+late", "climb+dip+doubled+late", "climb+dip+late+doubled", "late", "+late",
])  # fmt: skip
def test_what_is_no_head_and_tail_or_is_changed_already_comes_late_no_more(name: str) -> None:
    with pytest.raises(MusicInputError):
        CATALOGUE.find(name)


def test_before_a_late_turnaround_the_base_pattern_goes_on() -> None:
    form = builtin_forms()[0]
    plans = [
        plan_choruses(form, key("F"), CATALOGUE.find("boogie").feels[0], 100.0, device("boogie"),
                      [(0, 11, CATALOGUE.find(name))])
        for name in ("climb+plain-five", "climb+plain-five+late")
    ]  # fmt: skip
    owners = [[note.device for note in write_line(plan, 1) if note.bar == 10] for plan in plans]
    assert ["climb+plain-five"] * 4 == owners[0]
    assert [None, None, "climb+plain-five+late", "climb+plain-five+late"] == owners[1]
    assert outline(plans[0], 1) != outline(plans[1], 1)


# --- all ways -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "variants"), [
    ("climb+dip", ["climb-flat-third+dip", "climb+dip+doubled", "climb+dip+late"]),
    ("fall+plain-five", ["fall+plain-five+doubled", "fall+plain-five+late"]),
    ("walk-up-one-four", ["walk-up-one-four+doubled"]),
    ("climb-five-one", ["climb-five-one+doubled"]),
    ("last-four-twice", []),  # base pattern from the first bar to the last: nothing to double
    ("long-climb", ["long-climb+doubled"]),  # it brings its own tail
])  # fmt: skip
def test_the_variants_of_a_device(name: str, variants: list[str]) -> None:
    assert variants == ids(name)


def test_every_variant_is_found_by_its_id_and_differs_from_its_device() -> None:
    for one in CATALOGUE.turnarounds():
        for variant in CATALOGUE.variants(one):
            assert variant == CATALOGUE.find(variant.id)
            assert variant.pattern != one.pattern
            assert variant.variant_of
