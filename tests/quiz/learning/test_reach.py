"""The reach: a rung up after three right answers running, one down after a wrong one, and a tempo
that rises slowly and falls quickly."""

from collections.abc import Sequence
from math import log2
from typing import Any

import pytest

from engine.feels import FEELS
from engine.textures import Texture
from quiz.answers import Answer
from quiz.learning.memory import Item
from quiz.learning.reach import (
    FASTEST,
    FIRST_RUNG,
    GOAL,
    SLOWEST,
    START_TEMPO,
    TEMPO_RULE,
    ItemReach,
    Moving,
    Reaches,
    reach_words,
)
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.rungs import LADDERS, Rung
from tests.quiz.histories import a_wrong_answer, an_answer

CLIMB = Item("climb", "name")
LAST = {kind.value: len(ladder) - 1 for kind, ladder in LADDERS.items()}


def standing(rung: int, run: int = 0, item: Item = CLIMB) -> Reaches:
    """One item at a rung, at the start tempo."""
    return Reaches(0.0, {item.device: 0.0}, {item: ItemReach(rung, run, 0.0)})


def met_at(*rungs: int, kind: str = "name") -> Reaches:
    """Items of a kind at these rungs."""
    return Reaches(
        items={Item(f"met {n}", kind): ItemReach(rung, 0, 0.0) for n, rung in enumerate(rungs)}
    )


def asked(reaches: Reaches, right: bool, item: Item = CLIMB, **changed: Any) -> Answer:
    """An answer to a question that stood at the reach, unless told otherwise."""
    here: dict[str, Any] = {
        "device": item.device,
        "kind": item.kind,
        "rung": reaches.rung(item),
        "tempo": reaches.tempo(item),
    }
    return (an_answer if right else a_wrong_answer)(1, **(here | changed))


def answered(reaches: Reaches, outcomes: str, item: Item = CLIMB) -> Reaches:
    """After answers at the reach: r for a right one, w for a wrong one."""
    for outcome in outcomes:
        reaches = reaches.after(asked(reaches, outcome == "r", item))
    return reaches


# --- the rung -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rung", "run", "outcomes"),
    [
        (3, 1, "r"),
        (3, 2, "rr"),
        (4, 0, "rrr"),
        (4, 1, "rrrr"),
        (5, 0, "rrrrrr"),
        (2, 0, "w"),
        (1, 0, "ww"),
        (2, 0, "rrw"),
        (2, 2, "rrwrr"),
        (3, 0, "rrwrrr"),
        (3, 0, "rrrw"),
    ],
)
def test_three_right_answers_running_lead_up_and_a_wrong_one_leads_down(
    rung: int, run: int, outcomes: str
) -> None:
    reached = answered(standing(3), outcomes).items[CLIMB]
    assert (rung, run) == (reached.rung, reached.run)


@pytest.mark.parametrize("kind", LAST)
def test_the_ladder_ends_at_both_ends(kind: str) -> None:
    item = Item("climb", kind)
    assert LAST[kind] == answered(standing(0, item=item), "rrr" * 20, item).rung(item)
    assert 0 == answered(standing(LAST[kind], item=item), "w" * 20, item).rung(item)


def test_a_right_answer_on_a_lower_rung_does_not_count_towards_the_run() -> None:
    before = standing(3, run=2)
    assert (3, 2) == before.after(asked(before, True, rung=2)).items[CLIMB][:2]


def test_a_right_answer_on_a_higher_rung_counts() -> None:
    before = standing(3, run=2)
    assert (4, 0) == before.after(asked(before, True, rung=4)).items[CLIMB][:2]


def test_a_wrong_answer_on_a_higher_rung_lowers_nothing() -> None:
    before = standing(3, run=2)
    assert (3, 2) == before.after(asked(before, False, rung=4)).items[CLIMB][:2]


def test_a_wrong_answer_on_a_lower_rung_lowers() -> None:
    before = standing(3, run=2)
    assert (2, 0) == before.after(asked(before, False, rung=1)).items[CLIMB][:2]


@pytest.mark.parametrize(
    ("rung", "score", "verdict"),
    [
        (4, 1.0, "right"),
        (4, 0.7, "partly right"),
        (2, 0.69, "partly right"),
        (2, 0.0, "wrong"),
        (2, 0.0, "given up"),
    ],
)
def test_right_is_what_the_memory_calls_right(rung: int, score: float, verdict: str) -> None:
    before = standing(3, run=2)
    assert rung == before.after(asked(before, True, score=score, verdict=verdict)).rung(CLIMB)


@pytest.mark.parametrize(
    "changed",
    [{"rung": -1}, {"slowed": True}, {"interrupted": True}, {"kind": "spell"}, {"kind": "jam"}],
    ids=["pinned", "slowed", "stopped", "no ladder", "no ladder either"],
)
@pytest.mark.parametrize("right", [True, False])
def test_an_answer_that_was_not_given_at_the_reach_moves_nothing(
    changed: dict[str, Any], right: bool
) -> None:
    before = standing(3, run=2)
    assert before == before.after(asked(before, right, **changed))


def test_a_kind_that_is_not_known_any_more_moves_nothing() -> None:
    assert Reaches() == Reaches().after(an_answer(1, kind="hum", rung=2))


# --- where a new item starts --------------------------------------------------------------------


@pytest.mark.parametrize("kind", LAST)
def test_the_very_first_of_a_kind_starts_on_the_second_rung(kind: str) -> None:
    assert 1 == met_at(5, kind="other").rung(Item("climb", kind))


@pytest.mark.parametrize(
    ("start", "rungs"),
    [(5, [5]), (0, [0]), (1, [1]), (3, [3, 3, 3]), (2, [2, 4]), (2, [4, 2]), (3, [0, 3, 7])],
)
def test_a_new_item_starts_at_the_lower_median_of_its_kind(start: int, rungs: list[int]) -> None:
    assert start == met_at(*rungs).rung(CLIMB)


def test_items_of_other_kinds_say_nothing_about_the_start() -> None:
    others = met_at(5, 5, 5, kind="write")
    assert 1 == others.rung(CLIMB)


def test_a_new_item_keeps_its_start_however_the_others_go_on() -> None:
    reaches = answered(met_at(4), "r")
    assert (4, 1) == reaches.items[CLIMB][:2]
    other = Item("met 0", "name")
    assert 4 == answered(reaches, "wwww", other).rung(CLIMB)


@pytest.mark.parametrize("kind", ["spell", "jam", "hum"])
def test_a_kind_without_a_ladder_has_no_rung(kind: str) -> None:
    assert -1 == standing(3).rung(Item("climb", kind))


def test_where_nothing_is_heard_the_rung_moves_and_the_tempo_does_not() -> None:
    unheard = {kind for kind in LADDERS if not KINDS[kind].heard}
    assert {Kind.FIND} == unheard
    found = Item("climb", Kind.FIND.value)
    before = Reaches()
    after = answered(before, "rrr", found)
    assert (FIRST_RUNG, FIRST_RUNG + 1) == (before.rung(found), after.rung(found))
    assert before.tempo(found) == after.tempo(found) == after.tempo(CLIMB)
    assert FIRST_RUNG == answered(after, "w", found).rung(found)


# --- the tempo ----------------------------------------------------------------------------------


def moved(before: Reaches, answer: Answer, item: Item = CLIMB) -> float:
    """Octaves by which an answer moved the sum of an item's offsets."""
    return total(before.after(answer), item) - total(before, item)


def total(reaches: Reaches, item: Item = CLIMB) -> float:
    own = reaches.items[item].octaves if item in reaches.items else 0.0
    return reaches.learner + reaches.devices.get(item.device, 0.0) + own


def test_before_the_first_answer_every_item_has_the_start_tempo() -> None:
    assert START_TEMPO == Reaches().tempo(CLIMB) == Reaches().tempo(Item("dip", "spell"))


def test_a_right_answer_leads_up_a_little_and_a_wrong_one_down_a_lot() -> None:
    before, step = standing(3), TEMPO_RULE.step
    assert step * (1 - GOAL) == pytest.approx(moved(before, asked(before, True)))
    assert -step * GOAL == pytest.approx(moved(before, asked(before, False)))


def test_what_moves_is_shared_out_whole() -> None:
    assert 1 == pytest.approx(TEMPO_RULE.learner + TEMPO_RULE.device + TEMPO_RULE.item)


@pytest.mark.parametrize(
    ("shares", "item"),
    [
        (["learner", "device", "item"], CLIMB),
        (["learner", "device"], Item("climb", "write")),
        (["learner"], Item("dip", "name")),
    ],
    ids=["the item itself", "its device in another kind", "another device"],
)
def test_an_answer_moves_others_by_what_they_share(shares: Sequence[str], item: Item) -> None:
    before = standing(3)
    shared = sum(getattr(TEMPO_RULE, share) for share in shares)
    gain = TEMPO_RULE.step * (1 - GOAL)
    assert shared * gain == pytest.approx(moved(before, asked(before, True), item))


@pytest.mark.parametrize(
    ("moves", "share"),
    [(True, 1.0), (True, 0.91), (False, 0.89), (False, 0.5), (True, 1.3)],
)
def test_a_right_answer_clearly_slower_than_the_reach_moves_nothing_up(
    moves: bool, share: float
) -> None:
    before = standing(3)
    answer = asked(before, True, tempo=share * START_TEMPO)
    assert moves == (moved(before, answer) > 0)


@pytest.mark.parametrize(
    ("moves", "share"),
    [(True, 1.0), (True, 1.09), (False, 1.11), (False, 2.0), (True, 0.7), (True, 0.0)],
)
def test_a_wrong_answer_clearly_faster_than_the_reach_moves_nothing_down(
    moves: bool, share: float
) -> None:
    before = standing(3)
    answer = asked(before, False, tempo=share * START_TEMPO)
    assert moves == (moved(before, answer) < 0)


def test_the_tempo_ends_at_both_ends_and_comes_back_from_there() -> None:
    highest, lowest = answered(standing(3), "r" * 200), answered(standing(3), "w" * 200)
    assert (FASTEST, SLOWEST) == (highest.tempo(CLIMB), lowest.tempo(CLIMB))
    assert highest.tempo(CLIMB) > answered(highest, "w").tempo(CLIMB)
    assert lowest.tempo(CLIMB) < answered(lowest, "r").tempo(CLIMB)


def test_what_others_share_does_not_lead_beyond_the_ends() -> None:
    fast = Reaches(learner=log2(FASTEST / START_TEMPO) + 0.5)
    slow = Reaches(learner=log2(SLOWEST / START_TEMPO) - 0.5)
    assert (FASTEST, SLOWEST) == (fast.tempo(CLIMB), slow.tempo(CLIMB))
    assert (0, 0) == (moved(fast, asked(fast, True)), moved(slow, asked(slow, False)))


def test_every_feel_lives_within_the_tempi_of_a_reach() -> None:
    assert SLOWEST <= min(feel.slowest for feel in FEELS.values())
    assert FASTEST >= max(feel.fastest for feel in FEELS.values())


def test_taking_an_answer_leaves_the_reaches_before_it_as_they_were() -> None:
    before, same = standing(3), standing(3)
    before.after(asked(before, False))
    assert same == before


def test_what_was_reached_half_way_stays_as_it_was() -> None:
    before = standing(3)
    moving = Moving(before)
    half_way = moving.reaches()
    moving.take(asked(before, False))
    assert before == half_way != moving.reaches()


# --- in words -----------------------------------------------------------------------------------

BASS, BAND = Texture.BASS, Texture.BAND


@pytest.mark.parametrize(
    ("words", "rung", "tempo", "kind"),
    [
        ("note names shown", LADDERS[Kind.FIND][0], 120, Kind.FIND),
        ("only the name shown, the octave counts", LADDERS[Kind.FIND][-1], 120, Kind.FIND),
        ("whole band, 120 bpm", Rung(BAND), 120, Kind.WRITE),
        ("bass alone, 3 options, 96 bpm", Rung(BASS, 3), 96, Kind.NAME),
        (
            "whole band, 5 near options, with variants, key from what is played, "
            "at most 2 playings, 112 bpm",
            LADDERS[Kind.NAME][-1],
            112,
            Kind.NAME,
        ),
        ("bass and drums, at most 2 pickups, 80 bpm", LADDERS[Kind.PLACE][1], 80, Kind.PLACE),
        ("bass alone, at most 1 pickup, 80 bpm", LADDERS[Kind.PLACE][0], 80, Kind.PLACE),
        ("band without the bass, 4 near figures, 64 bpm", LADDERS[Kind.FIT][3], 64, Kind.FIT),
        (
            "whole band, 6 near forms, at most 1 playing, 132 bpm",
            LADDERS[Kind.FORM][4],
            132,
            Kind.FORM,
        ),
    ],
)
def test_a_reach_in_words(words: str, rung: Rung, tempo: float, kind: Kind) -> None:
    assert words == reach_words(rung, tempo, kind)


@pytest.mark.parametrize("kind", LADDERS)
def test_no_two_rungs_of_a_ladder_read_the_same(kind: Kind) -> None:
    words = [reach_words(rung, 100.0, kind) for rung in LADDERS[kind]]
    assert len(words) == len(set(words))
