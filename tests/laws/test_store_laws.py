"""Laws of the history: it is a set of answers, and everything else follows from them alone."""

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from quiz.answers import Answer, practice_day
from quiz.history.counts import Heading
from quiz.history.store import Store, memory_store, open_store
from quiz.history.undo import Undo
from quiz.learning.memory import replay
from quiz.learning.practice import Practice
from tests.quiz.histories import an_answer, moment

DEVICES, KINDS, KEYS = ("climb", "fall", "dip"), ("name", "write", "spell"), ("F", "Bb", "E")


@st.composite
def histories(draw: st.DrawFn, most: int = 30) -> list[Answer]:
    """Answers in the order of their writing, which need not be that of their times."""
    count = draw(st.integers(0, most))
    answers = []
    for number in range(count):
        at = moment(20_000 + draw(st.integers(0, 40)), draw(st.integers(0, 86_399)))
        offset = draw(st.sampled_from((-8 * 3600, 0, 3600, 20_700)))
        score = draw(st.sampled_from((0.0, 0.3, 0.5, 0.7, 1.0)))
        answers.append(
            an_answer(
                number,
                at=at,
                utc_offset=offset,
                practice_day=practice_day(at, offset),
                device=draw(st.sampled_from(DEVICES)),
                kind=draw(st.sampled_from(KINDS)),
                key=draw(st.sampled_from(KEYS)),
                score=score,
                verdict="right" if score == 1 else "partly right" if score >= 0.5 else "wrong",
                guess_rate=draw(st.sampled_from((0.02, 0.25, 0.5))),
                why=draw(st.sampled_from(("new", "due", "contrast", "placement", "presumed"))),
                rung=draw(st.integers(-1, 4)),
            )
        )
    return answers


@st.composite
def with_slips(draw: st.DrawFn) -> tuple[list[Answer], list[Undo]]:
    """A history and undos of some of its answers, of some of them two."""
    answers = draw(histories())
    slips = draw(st.lists(st.sampled_from(answers), max_size=12)) if answers else []
    return answers, [
        Undo((1 << 64 | number).to_bytes(16, "big"), slip.id, slip.at, 0, "0123456789ab")
        for number, slip in enumerate(slips)
    ]


def standing(answers: Sequence[Answer], undos: Sequence[Undo]) -> list[Answer]:
    gone = {undo.answer for undo in undos}
    return in_order([answer for answer in answers if answer.id not in gone])


def in_order(answers: Sequence[Answer]) -> list[Answer]:
    return sorted(answers, key=lambda answer: (answer.at, answer.id))


def keep(store: Store, answers: Sequence[Answer]) -> None:
    """One by one, as the program does."""
    practice = store.practice()
    for answer in answers:
        practice = practice.after(answer)
        store.append(answer, practice)


@given(histories())
def test_the_live_state_equals_the_replay_when_time_goes_forward(answers: list[Answer]) -> None:
    live = Practice()
    for answer in in_order(answers):
        live = live.after(answer)
    assert Practice.replayed(in_order(answers)) == live
    assert replay(in_order(answers)) == live.states


@given(histories())
def test_a_history_equals_its_replay_whatever_the_order_of_writing(answers: list[Answer]) -> None:
    store = memory_store()
    keep(store, answers)
    assert in_order(answers) == list(store.answers())
    assert Practice.replayed(in_order(answers)) == store.practice()
    store.close()


@settings(max_examples=30)  # each one makes files
@given(histories(), st.randoms(use_true_random=False))
def test_several_instances_leave_what_one_would_have_left(
    answers: list[Answer], chance: Random
) -> None:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "history.db"
        stores = [open_store(path) for _ in range(3)]
        practices = [store.practice() for store in stores]
        for answer in answers:
            turn = chance.randrange(3)
            if chance.random() < 0.2:  # a new round looks again
                practices[turn] = stores[turn].practice()
            practices[turn] = practices[turn].after(answer)
            stores[turn].append(answer, practices[turn])
        for store in stores:
            assert Practice.replayed(in_order(answers)) == store.practice()
            store.close()


def union(*parts: Sequence[Answer]) -> tuple[list[Answer], Practice]:
    store = memory_store()
    for part in parts:
        store.take_in(part)
    result = list(store.answers()), store.practice()
    store.close()
    return result


@given(histories(), st.data())
def test_putting_histories_together_is_a_union_of_sets(
    answers: list[Answer], data: st.DataObject
) -> None:
    one, other, third = (
        data.draw(st.lists(st.sampled_from(answers), unique_by=lambda answer: answer.id))
        if answers
        else []
        for _ in range(3)
    )
    assert union(one, other) == union(other, one)
    assert union(one, union(other, third)[0]) == union(union(one, other)[0], third)
    assert union(one, one) == union(one)
    assert union(one, []) == union(one)


@given(histories(), st.integers(19_999, 20_041), st.sampled_from(DEVICES), st.sampled_from(KINDS))
def test_limits_of_a_reading_leave_out_exactly_what_they_say(
    answers: list[Answer], day: int, device: str, kind: str
) -> None:
    store = memory_store()
    store.take_in(answers)
    everything = list(store.answers())
    assert [a for a in everything if a.practice_day >= day] == list(store.answers(since_day=day))
    assert [a for a in everything if a.practice_day <= day] == list(store.answers(until_day=day))
    assert [a for a in everything if (a.device, a.kind) == (device, kind)] == list(
        store.answers(device=device, kind=kind)
    )
    assert [a for a in everything if a.key == "F"] == list(store.answers(key="F"))
    store.close()


@given(with_slips(), st.randoms(use_true_random=False))
def test_a_history_with_undos_equals_one_without_the_answers_they_name(
    history: tuple[list[Answer], list[Undo]], chance: Random
) -> None:
    """Whatever the order in which answers and undos come, and wherever it is looked at between."""
    answers, undos = history
    store, plain = memory_store(), memory_store()
    records: list[Answer | Undo] = [*answers, *undos]
    chance.shuffle(records)
    for record in records:
        if isinstance(record, Undo):
            store.undo(record)
        else:
            store.append(record, store.practice().after(record))
        if chance.random() < 0.2:
            store.practice()
    left = standing(answers, undos)
    plain.take_in(left)
    assert left == list(store.answers())
    assert Practice.replayed(left) == store.practice()
    for heading in Heading:
        assert plain.counted(heading) == store.counted(heading)
    assert plain.confusions() == store.confusions()
    assert in_order(answers) == list(store.every_answer())
    store.close()
    plain.close()


@given(with_slips(), st.data())
def test_putting_answers_and_undos_together_is_a_union_of_sets(
    history: tuple[list[Answer], list[Undo]], data: st.DataObject
) -> None:
    answers, undos = history
    parts = [
        (
            data.draw(st.lists(st.sampled_from(answers))) if answers else [],
            data.draw(st.lists(st.sampled_from(undos))) if undos else [],
        )
        for _ in range(3)
    ]
    found = []
    for order in ((0, 1, 2), (2, 1, 0), (1, 0, 2, 1, 0)):
        store = memory_store()
        for place in order:
            store.take_in(*parts[place])
        counted = [store.counted(heading) for heading in Heading]
        found.append((store.records(), store.practice(), counted, store.confusions()))
        store.close()
    assert found[0] == found[1] == found[2]


@given(histories(), st.data())
def test_the_live_practice_equals_the_replay_when_slips_are_taken_back_at_once(
    answers: list[Answer], data: st.DataObject
) -> None:
    kept = list[Answer]()
    with closing(memory_store()) as store:
        practice = store.practice()
        for number, answer in enumerate(in_order(answers)):
            before, practice = practice, practice.after(answer)
            store.append(answer, practice)
            if data.draw(st.booleans()):
                undo = Undo((1 << 64 | number).to_bytes(16, "big"), answer.id, answer.at, 0, "here")
                store.undo(undo, before)
                practice = before
            else:
                kept.append(answer)
        assert Practice.replayed(kept) == practice == store.practice()
