"""What rests and what is put forward: who is asked, and which keys come."""

import random
from collections import Counter

import pytest

from engine.catalogue import builtin_catalogue
from quiz.errors import QuestionError
from quiz.learning.focus import (
    DEVICE,
    KEY_LEAD,
    Focus,
    Stance,
    about,
    awake,
    awake_practice,
    entry_words,
    families,
    focus_lines,
    key_weights,
    put_forward,
)
from quiz.learning.material import LEARNED, Only, items_within, learning_order
from quiz.learning.memory import Item
from quiz.learning.practice import Practice
from quiz.learning.schedule import pick_key
from quiz.questions.kinds import ROUND_KINDS, Kind
from quiz.settings.checks import FAMILIES
from quiz.settings.values import KEY_NAMES
from tests.quiz.histories import an_answer

CATALOGUE = builtin_catalogue()
FAMILY_OF = families(CATALOGUE)
ITEMS = items_within(Only(), CATALOGUE)
ALL = dict.fromkeys(KEY_NAMES, 1.0)


def left(*resting: str, only: Only = Only()) -> set[Item]:  # noqa: B008  # frozen
    items = items_within(only, CATALOGUE)
    return set(awake(items, Focus(resting), only, FAMILY_OF))


def asleep(*resting: str) -> set[Item]:
    return set(ITEMS) - left(*resting)


def test_the_families_of_entries_are_those_that_are_learned() -> None:
    assert set(FAMILIES) == {*(family.value for family in LEARNED), "form"}


def test_without_rests_everything_is_awake() -> None:
    assert ITEMS == awake(ITEMS, Focus(), Only(), FAMILY_OF)


def test_a_device_rests_in_every_kind_and_no_other_does() -> None:
    assert {item for item in ITEMS if item.device == "climb"} == asleep("device:climb")


def test_a_family_rests_with_all_its_rows() -> None:
    tails = {device.id for device in CATALOGUE.devices if device.family.value == "tail"}
    assert tails == {item.device for item in asleep("family:tail")}
    assert {form.id for form in CATALOGUE.forms} == {i.device for i in asleep("family:form")}


def test_a_kind_rests_over_all_rows() -> None:
    assert {"spell"} == {item.kind for item in asleep("kind:spell")}
    assert "spell" not in {item.kind for item in left("kind:spell")}


def test_rests_add_up_and_keep_the_order() -> None:
    both = awake(ITEMS, Focus(("kind:spell", "family:head")), Only(), FAMILY_OF)
    assert [item for item in ITEMS if item in both] == list(both)
    assert left("kind:spell") & left("family:head") == set(both)


def test_a_rest_of_what_is_not_there_changes_nothing() -> None:
    assert set(ITEMS) == left("device:my-own-lick")


def test_when_everything_rests_it_is_said_how_to_wake_something() -> None:
    with pytest.raises(QuestionError, match="rests: wake something"):
        left(*(f"kind:{kind.value}" for kind in ROUND_KINDS))


def test_under_an_assignment_nothing_rests() -> None:
    only = Only(devices=("climb",), assignment="thursday-horns")
    assert {"name", "write", "spell", "find", "fit"} == {
        item.kind for item in left("device:climb", "kind:spell", only=only)
    }


def test_what_is_asked_for_by_name_does_not_rest() -> None:
    assert {"climb"} == {item.device for item in left("family:head", only=Only(devices=("climb",)))}
    assert left("kind:spell", only=Only(kinds=(Kind.SPELL,)))
    with pytest.raises(QuestionError, match="rests"):  # the kind was not named
        left("kind:form", only=Only(devices=("twelve-bar",)))


def test_what_rests_is_counted_in_no_rotation_and_keeps_its_state() -> None:
    practice = Practice.replayed([an_answer(0), an_answer(1, device="fall")])
    assert {Item("fall", "name")} == set(
        awake_practice(practice, Focus(("device:climb",)), Only(), FAMILY_OF).states
    )
    assert practice == awake_practice(practice, Focus(), Only(), FAMILY_OF)


def test_a_device_a_family_and_a_kind_are_put_forward() -> None:
    focus = Focus(leading=("device:climb", "family:form", "kind:fit"))
    forward = put_forward(ITEMS, focus, FAMILY_OF)
    assert forward == {
        item
        for item in ITEMS
        if item.device == "climb" or FAMILY_OF[item.device] == "form" or item.kind == "fit"
    }
    assert frozenset() == put_forward(ITEMS, Focus(), FAMILY_OF)


# --- keys -----------------------------------------------------------------------------------------


def test_a_key_that_rests_never_comes_and_one_put_forward_comes_more_often() -> None:
    weights = key_weights(ALL, Focus(("key:B",), ("key:Ab",)))
    chance = random.Random(3)
    drawn = Counter(pick_key(KEY_NAMES, weights, {}, chance) for _ in range(7000))
    assert 0 == drawn["B"]
    assert KEY_LEAD == pytest.approx(drawn["Ab"] / drawn["F"], rel=0.2)


def test_with_every_key_resting_it_is_said_how_to_wake_one() -> None:
    every = Focus(tuple(f"key:{key}" for key in KEY_NAMES))
    with pytest.raises(QuestionError, match="rests: wake one"):
        key_weights(ALL, every)
    with pytest.raises(QuestionError, match="rests: wake one"):
        key_weights(dict.fromkeys(KEY_NAMES, 0.0) | {"F": 1.0}, Focus(("key:F",)))


# --- stances and words ----------------------------------------------------------------------------


@pytest.mark.parametrize("before", Stance)
@pytest.mark.parametrize("after", Stance)
def test_an_entry_stands_as_it_was_last_told(before: Stance, after: Stance) -> None:
    focus = Focus(("kind:spell",), ("key:F",)).with_stance("device:climb", before)
    changed = focus.with_stance("device:climb", after)
    assert after is changed.stance("device:climb")
    assert (Stance.RESTS, Stance.FORWARD) == (
        changed.stance("kind:spell"),
        changed.stance("key:F"),
    )
    assert "device:climb" not in set(changed.resting) & set(changed.leading)


def test_an_entry_in_both_lists_rests() -> None:
    assert Stance.RESTS is Focus(("key:B",), ("key:B",)).stance("key:B")


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ("device:climb", "climb"),
        ("device:gone-since", "gone-since"),
        ("family:tail", "all tails"),
        ("kind:spell", "Spell it"),
        ("key:Bb", "key of Bb"),
    ],
)
def test_an_entry_is_called_by_its_name(entry: str, words: str) -> None:
    assert words == entry_words(entry, CATALOGUE)


def test_a_line_says_what_rests_and_one_what_is_put_forward() -> None:
    focus = Focus(("family:tail", "key:B"), ("device:climb",))
    assert ["Resting: all tails; key of B.", "Put forward: climb."] == focus_lines(focus, CATALOGUE)
    assert [] == focus_lines(Focus(), CATALOGUE)


def test_a_line_names_a_few_and_counts_the_others() -> None:
    every = tuple(about(DEVICE, row.id) for row in learning_order(CATALOGUE))
    (line,) = focus_lines(Focus(leading=every), CATALOGUE)
    assert line.endswith(f"; and {len(every) - 5} more.")
    assert len(line) < 200
    (line,) = focus_lines(Focus(leading=every[:5]), CATALOGUE)
    assert "more" not in line
