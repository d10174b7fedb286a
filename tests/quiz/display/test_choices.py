"""Choosing in steps."""

from dataclasses import replace
from itertools import product

from quiz.display.choices import Choice, choice
from quiz.questions.kinds import Kind
from quiz.questions.value import Question
from tests.quiz.asking import CATALOGUE, every_item, every_row, form_call, made, on_rung, question

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


# --- forms --------------------------------------------------------------------------------------


def test_forms_are_chosen_by_their_names_in_a_single_step() -> None:
    asked = form_call("quick-change", "twelve-bar", "quick-change", "minor-blues")
    assert Choice(
        "",
        ("twelve-bar blues", "quick change", "minor blues"),
        (("twelve-bar",), ("quick-change",), ("minor-blues",)),
    ) == choice(asked, asked.picks, CATALOGUE)


# --- variants -----------------------------------------------------------------------------------


def varying(*options: str) -> Question:
    return replace(question(options[0], kind=Kind.NAME, options=options), variants=True)


def test_where_variants_may_come_the_figure_is_chosen_first() -> None:
    asked = varying("climb+plain-five", "fall+plain-five")
    assert Choice(
        "the figure",
        ("climb", "fall"),
        (
            ("climb+plain-five", "climb+plain-five+varied"),
            ("fall+plain-five", "fall+plain-five+varied"),
        ),
    ) == choice(asked, asked.picks, CATALOGUE)


def test_then_how_it_came() -> None:
    asked = varying("climb+plain-five", "fall+plain-five")
    left = ("fall+plain-five", "fall+plain-five+varied")
    assert Choice(
        "how it came",
        ("as it is", "a variant"),
        (("fall+plain-five",), ("fall+plain-five+varied",)),
    ) == choice(asked, left, CATALOGUE)


def test_tails_that_may_vary_are_offered_by_their_whole_names() -> None:
    asked = varying("stay+plain-five", "stay+dip")
    assert ("stay + plain five", "stay + dip") == choice(asked, asked.picks, CATALOGUE).words


def test_heads_with_different_tails_that_may_vary_are_offered_by_their_whole_names() -> None:
    asked = varying("climb+dip", "stay+late-five")
    assert ("climb + dip", "stay + late five") == choice(asked, asked.picks, CATALOGUE).words


def test_step_by_step_every_pick_is_reached_once_and_nothing_else() -> None:
    for row, place in product(every_item(Kind.NAME), (5, 7)):
        asked = made(row.id, Kind.NAME, "F", seed=place, wishes=on_rung(Kind.NAME, place))
        assert sorted(asked.picks) == sorted(reached(asked, asked.picks))
    for form in every_row(Kind.FORM):
        asked = made(form.id, Kind.FORM, "F", wishes=on_rung(Kind.FORM, 4))
        assert sorted(asked.picks) == sorted(reached(asked, asked.picks))


def reached(asked: Question, picks: tuple[str, ...]) -> list[str]:
    """What can be picked in the end, with no two words alike on the way."""
    if len(picks) == 1:
        return list(picks)
    step = choice(asked, picks, CATALOGUE)
    assert len(step.words) == len(set(step.words)) == len(step.left)
    return [end for left in step.left for end in reached(asked, left)]
