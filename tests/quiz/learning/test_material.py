"""What there is to learn, and in which order it is met."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from engine.catalogue import Catalogue, Device, Family
from engine.errors import MusicInputError
from engine.forms import Form
from engine.notation import parse_key
from quiz.errors import QuestionError
from quiz.learning.material import LEARNED, Only, find_row, items_within, kinds_of, learning_order
from quiz.learning.memory import Item
from quiz.questions.kinds import KINDS, ROUND_KINDS, Kind
from tests.quiz.asking import CATALOGUE, device, every_row


def learned_devices() -> Iterator[Device]:
    return (row for row in learning_order(CATALOGUE) if isinstance(row, Device))


def test_every_row_but_the_base_patterns_is_learned_once() -> None:
    learned = [row.id for row in learning_order(CATALOGUE)]
    rows = [row.id for row in CATALOGUE.devices if row.family is not Family.BASE]
    assert sorted([*rows, *(form.id for form in CATALOGUE.forms)]) == sorted(learned)


def test_the_first_five_are_a_head_a_pickup_a_tail_an_ending_and_a_form() -> None:
    first = learning_order(CATALOGUE)[:10]
    families = [row.family if isinstance(row, Device) else "form" for row in first]
    assert [Family.HEAD, Family.PICKUP, Family.TAIL, Family.ENDING, "form"] * 2 == families
    assert tuple(families[:4]) == LEARNED


def test_within_a_family_the_order_is_that_of_the_file() -> None:
    for family in LEARNED:
        met = [row for row in learned_devices() if row.family is family]
        assert list(CATALOGUE.family(family)) == met
    forms = [row for row in learning_order(CATALOGUE) if isinstance(row, Form)]
    assert list(CATALOGUE.forms) == forms


def test_a_line_that_moves_is_asked_in_every_way_and_one_that_stays_is_only_named() -> None:
    assert (Kind.NAME, Kind.WRITE, Kind.SPELL, Kind.FIND, Kind.PLAY) == kinds_of(
        device("climb-five-one")
    )
    assert (Kind.NAME,) == kinds_of(device("straight-one-four"))
    assert () == kinds_of(device("boogie"))
    assert () == kinds_of(device("climb+dip"))


def test_heads_are_fitted_to_the_band_but_not_their_variants() -> None:
    fitted = [device for device in learned_devices() if Kind.FIT in kinds_of(device)]
    heads = [head for head in CATALOGUE.family(Family.HEAD) if head.variant_of is None]
    assert heads == fitted


def test_pickups_are_placed_that_leave_the_bar_behind_them_alone() -> None:
    placed = {row.id for row in learned_devices() if Kind.PLACE in kinds_of(row)}
    pickups = {row.id for row in CATALOGUE.family(Family.PICKUP) if not row.plain}
    # the sharp-four bar arrives on the five of the one, so that its third bar sounds changed too
    assert (pickups - {"sharp-four-bar"}) | {"stay-on-one"} == placed


def test_forms_are_called_and_nothing_else() -> None:
    assert list(CATALOGUE.forms) == list(every_row(Kind.FORM))
    assert all((Kind.FORM,) == kinds_of(form) for form in CATALOGUE.forms)


def test_every_item_has_a_kind() -> None:
    assert all(kinds_of(row) for row in learning_order(CATALOGUE))


def test_a_call_in_the_open_jam_is_asked_in_no_round() -> None:
    assert Kind.JAM not in ROUND_KINDS
    assert not any(Kind.JAM in kinds_of(row) for row in learning_order(CATALOGUE))


# --- rows by their ids --------------------------------------------------------------------------


def test_a_row_is_a_form_or_a_device() -> None:
    assert CATALOGUE.form("quick-change") == find_row("quick-change", CATALOGUE)
    assert device("climb") == find_row("climb", CATALOGUE)
    with pytest.raises(MusicInputError, match="there is no device 'moonwalk'"):
        find_row("moonwalk", CATALOGUE)


# --- limits -------------------------------------------------------------------------------------


def test_without_limits_all_material_is_asked_in_every_kind_it_has() -> None:
    items = items_within(Only(playing=True), CATALOGUE)
    assert len(items) == len(set(items))
    assert set(items) == {
        Item(row.id, kind.value) for row in learning_order(CATALOGUE) for kind in kinds_of(row)
    }


@pytest.mark.parametrize(("only", "items"), [
    (Only(devices=("climb",)),
     {("climb", kind) for kind in ("name", "write", "spell", "find", "fit")}),
    (Only(kinds=(Kind.FORM,), devices=("quick-change", "climb")), {("quick-change", "form")}),
    (Only(devices=("quick-change", "dip"), kinds=(Kind.FORM, Kind.SPELL)),
     {("quick-change", "form"), ("dip", "spell")}),
    (Only(devices=("climb",), silent=True), {("climb", "spell"), ("climb", "find")}),
    (Only(devices=("climb",), kinds=(Kind.NAME,), keys=(parse_key("F"),)), {("climb", "name")}),
])  # fmt: skip
def test_limits_are_kept(only: Only, items: set[tuple[str, str]]) -> None:
    assert items == set(items_within(only, CATALOGUE))


def test_without_a_sound_output_nothing_is_asked_that_must_be_heard() -> None:
    kinds = {item.kind for item in items_within(Only(silent=True), CATALOGUE)}
    assert kinds == {kind.value for kind in ROUND_KINDS if not KINDS[kind].heard}


@pytest.mark.parametrize("only", [
    Only(kinds=(Kind.FORM,), devices=("climb",)), Only(kinds=(Kind.JAM,)),
    Only(kinds=(Kind.PLACE, Kind.FIT), silent=True), Only(devices=("gone",)),
])  # fmt: skip
def test_limits_that_leave_nothing_are_refused(only: Only) -> None:
    with pytest.raises(QuestionError, match="nothing is left to ask"):
        items_within(only, CATALOGUE)


def test_a_catalogue_without_forms_of_its_own_still_has_devices_to_learn() -> None:
    without: Catalogue = replace(CATALOGUE, forms=())
    assert {row.id for row in learned_devices()} == {row.id for row in learning_order(without)}
