"""Answers taken back: they count no more, and nothing of them is lost."""

import random
import signal
import subprocess
import sys
from collections.abc import Iterable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from quiz.answers import LATEST, Answer
from quiz.errors import AnswerError, StoreUnwritable
from quiz.history import cache
from quiz.history.backups import restore, set_aside
from quiz.history.salvage import readable
from quiz.history.store import Store, memory_store
from quiz.history.undo import Undo
from quiz.history.unsaved import read_unsaved, take_in, write_unsaved
from quiz.learning.practice import Practice
from tests.quiz.histories import FIRST_DAY, an_answer
from tests.quiz.history.test_store import no_more_bytes, opened, some_answers

ANSWERS = some_answers(40)


def undo_of(answer: Answer, number: int = 0) -> Undo:
    """An undo some seconds after its answer; `number` tells undos of one answer apart."""
    undo_id = (1 << 120 | number << 100 | int.from_bytes(answer.id, "big")).to_bytes(16, "big")
    return Undo(undo_id, answer.id, answer.at + 5_000_000, answer.utc_offset, answer.origin)


def left(undone: Iterable[Answer]) -> list[Answer]:
    gone = set(undone)
    return [answer for answer in ANSWERS if answer not in gone]


def holds(store: Store, answers: list[Answer]) -> None:
    """What counts are these answers, and the cache says the same as they do."""
    assert answers == list(store.answers())
    assert len(answers) == store.count()
    assert Practice.replayed(answers) == store.practice()


# --- what an undo is ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"id": b"short"}, "bytes of the id is 5, give 16 to 16"),
        ({"answer": b""}, "bytes of the answer's id is 0"),
        ({"at": -1}, "'at' is -1"),
        ({"at": LATEST + 1}, "'at' is"),
        ({"utc_offset": 90_000}, "'utc_offset' is 90000"),
    ],
)
def test_an_undo_out_of_range_says_what_is_allowed(changed: dict[str, object], says: str) -> None:
    with pytest.raises(AnswerError, match=says):
        replace(undo_of(ANSWERS[0]), **changed)  # type: ignore[arg-type]  # that is the test


# --- what becomes of an answer ------------------------------------------------------------------


def test_an_answer_that_was_taken_back_counts_nowhere_and_stays_in_the_file(
    tmp_path: Path,
) -> None:
    path, slip = tmp_path / "history.db", ANSWERS[-1]
    with opened(path) as store:
        store.take_in(ANSWERS)
        store.undo(undo_of(slip))
    with opened(path) as store:
        holds(store, left([slip]))
        assert ANSWERS[-2] == store.newest()
        assert store.find(slip.id) is None
        assert slip not in store.latest(40)
        assert ANSWERS == list(store.every_answer())
        assert (tuple(ANSWERS), (undo_of(slip),)) == store.records()


def test_an_undo_may_come_before_its_answer(tmp_path: Path) -> None:
    with opened(tmp_path / "history.db") as store:
        assert (0, 1) == store.take_in([], [undo_of(ANSWERS[7])])
        holds(store, [])
        assert (40, 0) == store.take_in(ANSWERS)
        holds(store, left([ANSWERS[7]]))


def test_a_second_undo_of_an_answer_is_kept_and_changes_nothing(tmp_path: Path) -> None:
    one, two = undo_of(ANSWERS[7]), undo_of(ANSWERS[7], 1)
    with opened(tmp_path / "history.db") as store:
        assert (40, 2) == store.take_in(ANSWERS, [one, two])
        assert (0, 0) == store.take_in(ANSWERS, [two, one])
        holds(store, left([ANSWERS[7]]))
        assert {one, two} == set(store.undos())


def test_undoing_the_newest_answer_needs_no_replay(tmp_path: Path) -> None:
    with opened(tmp_path / "history.db") as store:
        practice = store.practice()
        for answer in ANSWERS:
            before, practice = practice, practice.after(answer)
            store.append(answer, practice)
            if answer.id[-1] % 3 == 0:
                store.undo(undo_of(answer), before)
                practice = before
        assert cache.covered(store._database) == cache.position(store._database)
        kept = left(answer for answer in ANSWERS if answer.id[-1] % 3 == 0)
        assert practice == Practice.replayed(kept)
        holds(store, kept)


@pytest.mark.parametrize("seed", range(6))
def test_answers_and_undos_in_any_order_leave_the_same(tmp_path: Path, seed: int) -> None:
    chance = random.Random(seed)
    slips = chance.sample(ANSWERS, 12)
    undos = [undo_of(slip, number) for slip in slips for number in range(chance.randint(1, 2))]
    records: list[Answer | Undo] = [*ANSWERS, *undos]
    chance.shuffle(records)
    with opened(tmp_path / "history.db") as store:
        for record in records:
            if isinstance(record, Undo):
                store.undo(record)
            else:
                store.append(record, store.practice().after(record))
            if chance.random() < 0.2:
                assert Practice.replayed(store.answers()) == store.practice()
        holds(store, left(slips))


def test_a_page_of_the_history_goes_on_where_the_page_before_ended(tmp_path: Path) -> None:
    slips = ANSWERS[3::7]
    newest_first = left(slips)[::-1]
    with opened(tmp_path / "history.db") as store:
        store.take_in(ANSWERS, map(undo_of, slips))
        pages = [store.latest(9)]
        while pages[-1]:
            pages.append(store.latest(9, before=pages[-1][-1]))
        assert newest_first == [answer for page in pages for answer in page]
        wrong = [answer for answer in newest_first if answer.verdict != "right"]
        assert wrong == list(store.latest(99, wrong_only=True))
        assert [answer for answer in newest_first if answer.key == "F"] == list(
            store.latest(99, key="F")
        )
        assert [a for a in newest_first if (a.device, a.kind) == ("dip", "name")] == list(
            store.latest(99, device="dip", kind="name")
        )
        assert ANSWERS[0] == store.find(ANSWERS[0].id)
        assert store.find(b"nothing has this "[:16]) is None


# --- several at once, and sudden ends -----------------------------------------------------------


def test_two_instances_that_take_the_same_answer_back_take_it_back_once(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with opened(path) as one, opened(path) as other:
        one.take_in(ANSWERS[:-1])
        before = one.practice()
        one.append(ANSWERS[-1], before.after(ANSWERS[-1]))
        other.practice()
        one.undo(undo_of(ANSWERS[-1]), before)
        other.undo(undo_of(ANSWERS[-1], 1), before)
        for store in (one, other):
            holds(store, ANSWERS[:-1])


def test_two_instances_answering_and_undoing_never_leave_a_wrong_cache(tmp_path: Path) -> None:
    path, chance, slips = tmp_path / "history.db", random.Random(4), list[Answer]()
    with opened(path) as one, opened(path) as other:
        practices = {one: one.practice(), other: other.practice()}
        for answer in ANSWERS:
            turn = chance.choice([one, other])
            before = practices[turn]
            practices[turn] = before.after(answer)
            turn.append(answer, practices[turn])
            if chance.random() < 0.3:
                turn.undo(undo_of(answer), before)
                practices[turn] = before
                slips.append(answer)
            with opened(path) as third:
                assert Practice.replayed(third.answers()) == third.practice()
        holds(one, left(slips))


def test_an_undo_that_could_not_be_kept_is_not_in_the_cache_either(tmp_path: Path) -> None:
    with opened(tmp_path / "history.db") as store:
        practice = store.practice()
        for answer in ANSWERS:
            before, practice = practice, practice.after(answer)
            store.append(answer, practice)
        with no_more_bytes(), pytest.raises(StoreUnwritable):
            store.undo(undo_of(ANSWERS[-1]), before)
        holds(store, ANSWERS)
        later = an_answer(99, FIRST_DAY + 9)
        store.append(later, store.practice().after(later))
        holds(store, [*ANSWERS, later])


UNDOER = """
import sys
from pathlib import Path
from quiz.history.store import open_store
from tests.quiz.history.test_store import some_answers
from tests.quiz.history.test_undo import undo_of
store = open_store(Path(sys.argv[1]))
practice = store.practice()
for number, answer in enumerate(some_answers(100_000, int(sys.argv[2])), int(sys.argv[2])):
    before = practice
    store.append(answer, practice.after(answer))
    store.undo(undo_of(answer), before)
    print(number, flush=True)
"""


def test_no_confirmed_undo_is_lost_when_the_program_is_killed(tmp_path: Path) -> None:
    path, chance, confirmed = tmp_path / "history.db", random.Random(1), set[int]()
    for run in range(6):
        with subprocess.Popen(
            [sys.executable, "-c", UNDOER, str(path), str(run * 100_000)],
            cwd=Path(__file__).parents[3],
            stdout=subprocess.PIPE,
            text=True,
        ) as process:
            assert process.stdout is not None
            said = [process.stdout.readline() for _ in range(chance.randint(1, 20))]
            process.send_signal(signal.SIGKILL)
            said += process.stdout.readlines()
        confirmed |= {int(line) for line in said if line.endswith("\n")}
    with opened(path) as store:
        undone = {int.from_bytes(undo.answer, "big") for undo in store.undos()}
        standing = {int.from_bytes(answer.id, "big") for answer in store.answers()}
        assert Practice.replayed(store.answers()) == store.practice()
    assert confirmed <= undone
    assert not confirmed & standing
    assert len(confirmed) >= 6


# --- damage, and waiting ------------------------------------------------------------------------


def test_the_undos_of_a_damaged_history_are_taken_over(tmp_path: Path) -> None:
    path, backup = tmp_path / "history.db", tmp_path / "backup.db"
    slips = ANSWERS[::5]
    with opened(path) as store:
        store.take_in(ANSWERS[:20])
        store.copy_into(backup)
        store.take_in(ANSWERS, map(undo_of, slips))
        records = store.records()
    assert tuple(map(set, records)) == tuple(map(set, readable(path)))
    restore(backup, path)
    with opened(path) as store:
        holds(store, left(slips))


def test_a_copy_that_was_set_aside_still_knows_what_was_taken_back(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with opened(path) as store:
        store.take_in(ANSWERS, [undo_of(ANSWERS[3])])
    assert (undo_of(ANSWERS[3]),) == readable(set_aside(path)).undos


def test_undos_wait_beside_answers_and_go_in_once(tmp_path: Path) -> None:
    waiting = tmp_path / "unsaved.jsonl"
    write_unsaved((), waiting, [undo_of(ANSWERS[1])])
    write_unsaved(ANSWERS[:3], waiting)
    with waiting.open("a") as file:
        file.write('{"id": "00", "answer": "zz"}\n')
    assert (tuple(ANSWERS[:3]), (undo_of(ANSWERS[1]),)) == read_unsaved(waiting)
    with closing(memory_store()) as store:
        take_in(waiting, store.take_in)
        take_in(waiting, store.take_in)
        holds(store, [ANSWERS[0], ANSWERS[2]])
