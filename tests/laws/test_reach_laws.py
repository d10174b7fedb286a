"""Laws of the reach: it follows from the answers alone, stays in its range, and is moved by nothing
that was not asked at the reach."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from quiz.answers import Answer
from quiz.history.store import open_store
from quiz.learning.memory import RIGHT_FROM, Item
from quiz.learning.practice import Practice
from quiz.learning.reach import FASTEST, RIGHT_RUN, SLOWEST, Reaches, counts
from quiz.questions.rungs import LADDERS
from tests.quiz.histories import an_answer, moment

LAST = {kind.value: len(ladder) - 1 for kind, ladder in LADDERS.items()}
DEVICES = ("climb", "fall", "dip", "walk-up")
KINDS = (*LAST, "spell", "jam")
ITEMS = [Item(device, kind) for device in DEVICES for kind in LAST]


@st.composite
def histories(draw: st.DrawFn, most: int = 40) -> list[Answer]:
    """Answers in the order of their times, at the reach or not."""
    return [
        an_answer(
            number,
            at=moment(20_000, number),
            device=draw(st.sampled_from(DEVICES)),
            kind=draw(st.sampled_from(KINDS)),
            rung=draw(st.integers(-1, 8)),
            tempo=draw(st.integers(30, 320)),
            score=draw(st.sampled_from((0.0, 0.5, 0.7, 1.0, 1.0))),
            slowed=draw(st.booleans()) and draw(st.booleans()),
            interrupted=draw(st.booleans()) and draw(st.booleans()),
        )
        for number in range(draw(st.integers(0, most)))
    ]


def folded(answers: Sequence[Answer], start: Reaches | None = None) -> Reaches:
    """One by one."""
    reaches = start or Reaches()
    for answer in answers:
        reaches = reaches.after(answer)
    return reaches


@given(histories())
def test_the_live_reaches_equal_the_replay(answers: list[Answer]) -> None:
    live = Practice()
    for answer in answers:
        live = live.after(answer)
    assert Practice.replayed(answers).reaches == live.reaches == folded(answers)


@settings(max_examples=30)  # each one makes files
@given(histories(), st.randoms(use_true_random=False))
def test_the_reaches_come_through_the_store_as_the_replay_gives_them(
    answers: list[Answer], chance: Random
) -> None:
    written = list(answers)
    if chance.random() < 0.5:
        chance.shuffle(written)  # as when the clock was set back
    with TemporaryDirectory() as folder:
        path = Path(folder) / "history.db"
        for part in (written[::2], written[1::2]):
            store = open_store(path)
            practice = store.practice()
            for answer in part:
                practice = practice.after(answer)
                store.append(answer, practice)
            store.close()
        store = open_store(path)
        cached, again = store.practice(), store.practice()
        store.close()
    assert folded(answers) == cached.reaches == again.reaches


@given(histories())
def test_rungs_stay_on_their_ladders_and_tempi_in_their_range(answers: list[Answer]) -> None:
    reaches = folded(answers)
    assert all(0 <= reaches.rung(item) <= LAST[item.kind] for item in ITEMS)
    assert all(0 <= reach.run < RIGHT_RUN for reach in reaches.items.values())
    tempi = [reaches.tempo(item) for item in ITEMS]
    assert all(SLOWEST <= tempo <= FASTEST and tempo % 2 == 0 for tempo in tempi)


@given(histories())
def test_what_was_not_asked_at_the_reach_never_moves_it(answers: list[Answer]) -> None:
    at_the_reach = [
        answer
        for answer in answers
        if answer.rung >= 0
        and not (answer.slowed or answer.interrupted)
        and answer.kind not in ("spell", "jam")
    ]
    assert folded(at_the_reach) == folded(answers)


@given(histories(), st.sampled_from(["rung", "slowed", "interrupted"]))
def test_a_history_that_was_pinned_slowed_or_stopped_throughout_moves_nothing(
    answers: list[Answer], how: str
) -> None:
    changed = {"rung": -1} if how == "rung" else {how: True}
    assert Reaches() == folded([replace(answer, **changed) for answer in answers])


@given(histories())
def test_right_answers_never_make_easier_and_wrong_ones_never_harder(
    answers: list[Answer],
) -> None:
    before = Reaches()
    for answer in answers:
        after, item = before.after(answer), Item(answer.device, answer.kind)
        right = answer.score >= RIGHT_FROM
        easier, harder = (before, after) if right else (after, before)
        assert easier.rung(item) <= harder.rung(item)
        assert all(easier.tempo(each) <= harder.tempo(each) for each in ITEMS)
        before = after


@given(histories(), st.sampled_from(sorted(LAST)))
def test_the_rungs_of_a_kind_follow_from_the_answers_of_the_kind_alone(
    answers: list[Answer], kind: str
) -> None:
    of_kind = [answer for answer in answers if answer.kind == kind]
    everything, alone = folded(answers), folded(of_kind)
    items = [item for item in ITEMS if item.kind == kind]
    assert [alone.rung(item) for item in items] == [everything.rung(item) for item in items]


@given(histories(), histories(), st.randoms(use_true_random=False))
def test_the_order_of_items_that_have_been_met_does_not_matter_for_their_rungs(
    first: list[Answer], then: list[Answer], chance: Random
) -> None:
    met = folded(first)
    known = [answer for answer in then if Item(answer.device, answer.kind) in met.items]
    mixed = interleaved(known, chance)
    one, other = folded(known, met), folded(mixed, met)
    assert [reach[:2] for reach in one.items.values()] == [
        other.items[item][:2] for item in one.items
    ]


def interleaved(answers: Sequence[Answer], chance: Random) -> list[Answer]:
    """The same answers, those of one item in their own order, the items mixed anew."""
    waiting: dict[Item, list[Answer]] = {}
    for answer in answers:
        waiting.setdefault(Item(answer.device, answer.kind), []).append(answer)
    turns = [Item(answer.device, answer.kind) for answer in answers]
    chance.shuffle(turns)
    return [waiting[item].pop(0) for item in turns]


@given(histories())
def test_an_answer_counts_or_leaves_everything_as_it_was(answers: list[Answer]) -> None:
    before = Reaches()
    for answer in answers:
        after = before.after(answer)
        changed = {item for item in after.items if before.items.get(item) != after.items[item]}
        assert changed <= {Item(answer.device, answer.kind)}
        assert counts(answer) or before == after
        before = after
