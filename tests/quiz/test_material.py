"""What there is to learn, and in which order it is met."""

from engine.catalogue import Family
from quiz.kinds import Kind
from quiz.material import LEARNED, kinds_of, learning_order
from tests.quiz.asking import CATALOGUE, device


def test_every_row_but_the_base_patterns_is_learned_once() -> None:
    learned = [row.id for row in learning_order(CATALOGUE)]
    rows = [row.id for row in CATALOGUE.devices if row.family is not Family.BASE]
    assert sorted(rows) == sorted(learned)


def test_the_first_four_are_a_head_a_pickup_a_tail_and_an_ending() -> None:
    families = [row.family for row in learning_order(CATALOGUE)[:8]]
    assert [Family.HEAD, Family.PICKUP, Family.TAIL, Family.ENDING] * 2 == families
    assert tuple(families[:4]) == LEARNED


def test_within_a_family_the_order_is_that_of_the_file() -> None:
    for family in LEARNED:
        met = [row for row in learning_order(CATALOGUE) if row.family is family]
        assert list(CATALOGUE.family(family)) == met


def test_a_line_that_moves_comes_in_every_kind_and_one_that_stays_is_only_named() -> None:
    assert tuple(Kind) == kinds_of(device("climb"))
    assert (Kind.NAME,) == kinds_of(device("stay"))
    assert () == kinds_of(device("boogie"))


def test_every_item_has_a_kind() -> None:
    assert all(kinds_of(row) for row in learning_order(CATALOGUE))
