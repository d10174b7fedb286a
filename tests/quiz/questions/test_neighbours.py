"""Near neighbours: what is easily mistaken for what, counted in eighths."""

from itertools import combinations

import pytest

from engine.catalogue import Device, Family, read_catalogue
from engine.errors import MusicInputError
from engine.timing import BEATS_PER_BAR
from quiz.learning.material import learning_order
from quiz.questions.neighbours import (
    CONTRAST_EIGHTHS,
    changed_beats,
    contrasts,
    distance,
    mistakable_rows,
    nearest_rows,
    rival_forms,
    rivals,
)
from tests.quiz.asking import CATALOGUE, device

LEARNED = [row for row in learning_order(CATALOGUE) if isinstance(row, Device)]


@pytest.mark.parametrize(("one", "other", "eighths"), [
    # one quarter apart [common practice, no source]
    ("climb", "climb-flat-third", 2),
    ("climb-five-one", "climb-half-above", 4),  # the b2 is held for two quarters
    ("fall-five-one", "fall-half-above", 4),
    ("stop-half-above", "stop-half-below", 2),
    # two quarters apart
    ("one-six-two-five", "three-six-two-five", 4),
    ("walk-up-one-four", "scale-up-one-four", 4),
    ("plain-five", "two-five", 4), ("plain-five", "flat-six-five", 4),
    ("two-five", "flat-six-five", 4),
    # b6 for an eighth, then 5 again
    ("plain-five", "dip", 1),
    # pitch class only: an octave is no difference
    ("fall", "fall", 0),
    # the whole ending is played more often
    ("last-four-once", "last-four-twice", 4), ("last-four-once", "last-four-three-times", 8),
])  # fmt: skip
def test_the_distance_is_the_number_of_eighths_that_differ(
    one: str, other: str, eighths: int
) -> None:
    assert eighths == distance(device(one), device(other))


def test_the_common_bars_count_where_one_is_longer() -> None:
    # 1 2 b3 3 against 1 2 3 4: two quarters, the second bar of the long climb left out
    assert 4 == distance(device("long-climb"), device("scale-climb"))


def test_different_downbeats_are_a_quarter_apart() -> None:
    # * * * 5 into 4 against * * * 5 into 1 (across changes, only to show the rule)
    assert 2 == distance(device("whole-above-into-four"), device("fifth-into-one"))


def test_distance_is_the_same_from_both_sides_and_nothing_to_itself() -> None:
    for one, other in combinations(LEARNED, 2):
        assert distance(one, other) == distance(other, one)
        assert 0 == distance(one, one)


def test_rivals_answer_the_same_question() -> None:
    for row in LEARNED:
        for rival in rivals(row, CATALOGUE):
            assert row.family is rival.family
            assert row.id != rival.id
            assert row.change == rival.change
            if row.family is Family.ENDING:
                assert row.bars == rival.bars
            if row.family is Family.PICKUP:
                assert set(row.bars) & set(rival.bars)


TWO_CHANGES = """
[[device]]
id = "into-four"
name = "into the four"
family = "pickup"
bars = [4]
serves = "I > IV"
degrees = "1 2 b3 3 | 4"
says = "Up to the four."
source = "common practice"

[[device]]
id = "into-five"
name = "into the five"
family = "pickup"
bars = [4]
serves = "I > V"
degrees = "1 3 4 #4 | 5"
says = "Up to the five."
source = "common practice"
"""


def test_pickups_of_two_changes_are_no_rivals_even_in_one_bar() -> None:
    catalogue = read_catalogue(TWO_CHANGES, "own.toml")
    assert () == rivals(catalogue.find("into-four"), catalogue)


def test_rivals_come_nearest_first() -> None:
    for row in LEARNED:
        apart = [distance(row, rival) for rival in rivals(row, CATALOGUE)]
        assert sorted(apart) == apart


def test_every_item_has_a_rival() -> None:
    assert [] == [row.id for row in LEARNED if not rivals(row, CATALOGUE)]


def test_contrasts_are_the_rivals_within_two_quarters() -> None:
    assert 4 == CONTRAST_EIGHTHS
    for row in LEARNED:
        near = contrasts(row, CATALOGUE)
        assert set(near) <= set(rivals(row, CATALOGUE))
        assert all(0 < distance(row, other) <= CONTRAST_EIGHTHS for other in near)


@pytest.mark.parametrize(("one", "other"), [
    ("climb", "climb-flat-third"), ("climb-five-one", "climb-half-above"),
    ("fall-five-one", "fall-half-above"), ("stop-half-above", "stop-half-below"),
    ("one-six-two-five", "three-six-two-five"), ("walk-up-one-four", "scale-up-one-four"),
    ("plain-five", "two-five"), ("plain-five", "flat-six-five"), ("two-five", "flat-six-five"),
])  # fmt: skip
def test_the_contrast_pairs_of_the_trade_are_contrasts(one: str, other: str) -> None:
    # [common practice, no source]
    assert other in {near.id for near in contrasts(device(one), CATALOGUE)}
    assert one in {near.id for near in contrasts(device(other), CATALOGUE)}


def test_a_pickup_into_the_four_is_no_rival_of_the_same_intervals_home_from_the_five() -> None:
    # 1 2 b3 3 | 4 and 5 6 b7 7 | 8 are one run of intervals in two places
    for one, other in (
        ("walk-up-one-four", "walk-up-five-one"),
        ("scale-up-one-four", "scale-up-five-one"),
    ):
        assert other not in {rival.id for rival in rivals(device(one), CATALOGUE)}


# --- forms --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("one", "other", "bars"), [
    # a chord a bar, so whole bars differ; bars counted from 1
    ("twelve-bar", "twelve-bar-five", {12}),
    ("twelve-bar-five", "quick-change", {2}),
    ("twelve-bar", "quick-change", {2, 12}),
    ("twelve-bar", "minor-blues", {1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}),
    ("sixteen-bar", "sixteen-bar-tag", {5, 6, 9, 11, 12}),
    ("twelve-bar", "twelve-bar", set()),
])  # fmt: skip
def test_forms_differ_in_the_bars_that_have_other_chords(
    one: str, other: str, bars: set[int]
) -> None:
    beats = changed_beats(CATALOGUE.form(one), CATALOGUE.form(other))
    assert bars == {beat // BEATS_PER_BAR + 1 for beat in beats}
    assert BEATS_PER_BAR * len(bars) == len(beats)


def test_bars_that_only_one_form_has_differ() -> None:
    beats = changed_beats(CATALOGUE.form("twelve-bar"), CATALOGUE.form("sixteen-bar"))
    assert set(range(48, 64)) <= set(beats)


def test_a_change_within_a_bar_is_counted_by_its_beats() -> None:
    # I7 and I7 IV7 in bar 7, V7 and I7 V7 in bar 8: two beats each; bar 2 differs whole
    beats = changed_beats(CATALOGUE.form("eight-bar"), CATALOGUE.form("eight-bar-slow"))
    assert (4, 5, 6, 7, 26, 27, 28, 29) == beats


def test_the_rivals_of_a_form_are_all_others_nearest_first() -> None:
    for form in CATALOGUE.forms:
        rivals_of_it = rival_forms(form, CATALOGUE)
        apart = [len(changed_beats(form, other)) for other in rivals_of_it]
        assert sorted(apart) == apart
        assert {form, *rivals_of_it} == set(CATALOGUE.forms)


def test_rows_are_compared_by_their_ids_whether_devices_or_forms() -> None:
    assert "twelve-bar-five" == nearest_rows("quick-change", CATALOGUE)[0]
    assert ("twelve-bar-five",) == mistakable_rows("quick-change", CATALOGUE)
    assert nearest_rows("climb", CATALOGUE) == tuple(
        rival.id for rival in rivals(device("climb"), CATALOGUE)
    )
    assert mistakable_rows("climb", CATALOGUE) == tuple(
        near.id for near in contrasts(device("climb"), CATALOGUE)
    )


def test_an_unknown_row_has_no_neighbours() -> None:
    with pytest.raises(MusicInputError, match="there is no device 'moonwalk'"):
        nearest_rows("moonwalk", CATALOGUE)
