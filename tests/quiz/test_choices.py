"""Choosing in steps."""

from quiz.choices import Choice, choice
from quiz.kinds import Kind
from tests.quiz.asking import CATALOGUE, question

BOTH = ("climb+plain-five", "climb+dip", "fall+plain-five", "fall+dip", "long-climb")


def asked(*options: str) -> Choice:
    return choice(question(options[0], kind=Kind.NAME, options=options), options, CATALOGUE)


def test_where_both_parts_vary_the_head_comes_first() -> None:
    assert Choice(
        "bar 11",
        ("climb", "fall", "long climb"),
        (("climb+plain-five", "climb+dip"), ("fall+plain-five", "fall+dip"), ("long-climb",)),
    ) == asked(*BOTH)


def test_then_comes_the_tail() -> None:
    question_of_both = question("climb+dip", kind=Kind.NAME, options=BOTH)
    left = ("climb+plain-five", "climb+dip")
    assert Choice(
        "bar 12",
        ("plain five", "dip"),
        (("climb+plain-five",), ("climb+dip",)),
    ) == choice(question_of_both, left, CATALOGUE)


def test_heads_before_one_tail_are_chosen_in_a_single_step() -> None:
    assert Choice(
        "",
        ("climb", "fall", "long climb"),
        (("climb+dip",), ("fall+dip",), ("long-climb",)),
    ) == asked("climb+dip", "fall+dip", "long-climb")


def test_tails_behind_one_head_are_chosen_in_a_single_step() -> None:
    assert Choice(
        "bar 12",
        ("plain five", "stays on one"),
        (("stay+plain-five",), ("stay+stay-on-one",)),
    ) == asked("stay+plain-five", "stay+stay-on-one")


def test_heads_with_different_tails_are_offered_by_their_whole_names() -> None:
    assert ("climb + dip", "stay + late five") == asked("climb+dip", "stay+late-five").words


def test_pickups_and_endings_are_chosen_in_a_single_step() -> None:
    step = asked("run-up", "climb-five-one")
    assert ("", ("run-up", "climb, five and one")) == (step.asks, step.words)


def test_one_word_leaves_only_its_own_options() -> None:
    step = asked(*BOTH)
    assert sorted(BOTH) == sorted(option for left in step.left for option in left)
