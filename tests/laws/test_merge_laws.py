"""Laws of putting histories together: a union of sets, undos included, and everything else follows.

A merge is commutative, associative and idempotent, whatever comes first, twice or in pieces; and a
file of answers is another way to write a history.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from quiz.answers import Answer
from quiz.history.counts import Confusion, Group, Heading
from quiz.history.database import Progress
from quiz.history.exchange import ExportFile, export
from quiz.history.merging import OtherHistory, merge
from quiz.history.store import memory_store, open_store
from quiz.history.undo import Undo
from quiz.learning.practice import Practice
from tests.laws.test_store_laws import histories, in_order, keep
from tests.quiz.histories import moment

Record = Answer | Undo

FEWER = settings(max_examples=25)
"""Each example makes several databases."""


class Part(NamedTuple):
    """The records of one machine, as a source."""

    kept: tuple[Record, ...]
    path: Path = Path("part")

    def records(self, progress: Progress | None = None) -> Iterator[Record]:
        return iter(self.kept)


class State(NamedTuple):
    """Everything that can be seen of a history."""

    every: tuple[Answer, ...]
    undos: tuple[Undo, ...]
    standing: tuple[Answer, ...]
    practice: Practice
    counted: tuple[tuple[Group, ...], ...]
    confusions: tuple[Confusion, ...]


def merged(*parts: Sequence[Record]) -> State:
    """What a history is after merging these in turn."""
    store = memory_store()
    for part in parts:
        merge(store, Part(tuple(part)))
    state = State(
        *store.records(),
        tuple(store.answers()),
        store.practice(),
        tuple(store.counted(heading) for heading in Heading),
        store.confusions(),
    )
    store.close()
    return state


def everything(state: State) -> tuple[Record, ...]:
    return (*state.every, *state.undos)


@st.composite
def records(draw: st.DrawFn) -> list[Record]:
    """Answers, and undos of some of them, some twice, and of an answer that nobody has."""
    answers = draw(histories(most=14))
    ids = [answer.id for answer in answers] + [bytes(15) + b"\xff"]
    undone = draw(st.lists(st.sampled_from(ids), max_size=6))
    undos = [
        Undo((1000 + number).to_bytes(16, "big"), answer, moment(20_050, number), 0, "horns")
        for number, answer in enumerate(undone)
    ]
    return [*answers, *undos]


@st.composite
def parts(draw: st.DrawFn, count: int = 3) -> list[list[Record]]:
    """The histories of some machines, which have some records in common; each in any order."""
    whole = draw(records())
    chosen: list[list[Record]] = []
    for _ in range(count):
        some = [record for record in whole if draw(st.booleans())]
        chosen.append(draw(st.permutations(some)))
    return chosen


@settings(FEWER)
@given(parts(2))
def test_it_makes_no_difference_who_merges_whom(machines: list[list[Record]]) -> None:
    one, other = machines
    assert merged(one, other) == merged(other, one)


@settings(FEWER)
@given(parts(3))
def test_it_makes_no_difference_what_is_merged_first(machines: list[list[Record]]) -> None:
    one, other, third = machines
    left = merged(everything(merged(one, other)), third)
    assert left == merged(one, everything(merged(other, third)))


@settings(FEWER)
@given(parts(1))
def test_merging_once_more_makes_no_difference(machines: list[list[Record]]) -> None:
    (one,) = machines
    assert merged(one) == merged(one, one) == merged(one, everything(merged(one)))


@settings(FEWER)
@given(parts(1))
def test_an_empty_history_brings_nothing(machines: list[list[Record]]) -> None:
    (one,) = machines
    assert merged(one) == merged([], one) == merged(one, [])


@settings(FEWER)
@given(parts(4), st.randoms(use_true_random=False))
def test_many_machines_in_any_order_and_in_pieces_end_in_one_history(
    machines: list[list[Record]], chance: Random
) -> None:
    pieces = [[record] for machine in machines for record in machine]
    chance.shuffle(pieces)
    assert merged(*machines) == merged(*reversed(machines)) == merged(*pieces)


@settings(FEWER)
@given(parts(2))
def test_what_is_there_afterwards_is_the_union_and_its_replay(
    machines: list[list[Record]],
) -> None:
    state = merged(*machines)
    union = {record.id: record for machine in machines for record in machine}
    assert set(union.values()) == set(everything(state))
    undone = {record.answer for record in union.values() if isinstance(record, Undo)}
    left = [record for record in union.values() if isinstance(record, Answer)]
    left = in_order([answer for answer in left if answer.id not in undone])
    assert left == list(state.standing)
    assert Practice.replayed(left) == state.practice


@settings(FEWER)
@given(parts(2))
def test_a_file_of_answers_and_a_history_are_two_ways_to_write_the_same(
    machines: list[list[Record]],
) -> None:
    here, there = machines
    with TemporaryDirectory() as folder:
        history, file = Path(folder) / "there.db", Path(folder) / "there.jsonl"
        other = open_store(history)
        keep(other, [record for record in there if isinstance(record, Answer)])
        other.take_in((), [record for record in there if isinstance(record, Undo)])
        export(other, file)
        other.close()
        through_file = list(ExportFile(file).records())
        assert set(there) == set(through_file) == set(OtherHistory(history).records())
    assert merged(here, there) == merged(here, through_file)


@settings(FEWER)
@given(parts(1))
def test_export_then_import_is_identity(machines: list[list[Record]]) -> None:
    with TemporaryDirectory() as folder:
        file, again = Path(folder) / "answers.jsonl", Path(folder) / "again.jsonl"
        first, second = memory_store(), memory_store()
        merge(first, Part(tuple(machines[0])))
        export(first, file)
        merge(second, ExportFile(file))
        export(second, again)
        assert first.records() == second.records()
        assert file.read_bytes() == again.read_bytes()
        first.close()
        second.close()
