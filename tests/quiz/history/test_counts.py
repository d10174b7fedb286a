"""The counts that are kept with each answer say what a fresh count would say."""

import random
import sqlite3
from pathlib import Path

import pytest

from quiz.answers import LONGEST_RESPONSE, Answer
from quiz.history.counts import Confusion, Group, Heading
from quiz.history.store import Store, open_store
from quiz.history.undo import Undo
from quiz.learning.practice import CALLED, DAYS_KEPT, Practice
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.history.test_store import OLD, a_history_of_version, opened, some_answers
from tests.quiz.history.test_undo import undo_of

ANSWERS = [
    *some_answers(60),
    an_answer(60, FIRST_DAY + 2, seconds=0.0),
    an_answer(61, FIRST_DAY + 2, seconds=75.5),
    a_wrong_answer(62, FIRST_DAY + 2, seconds=1 / 3),
    an_answer(63, FIRST_DAY + 1, why=CALLED, kind="jam"),
    a_wrong_answer(64, FIRST_DAY + 1, verdict="given up", chosen="", seconds=0.0000004),
]


def fresh(path: Path, heading: Heading, since: int = 0) -> tuple[Group, ...]:
    """Counted by going through all answers that no undo names."""
    column = heading.value
    with sqlite3.connect(path) as connection:
        rows = connection.execute(
            f"SELECT {column}, count(*), sum(verdict = 'right'), "
            "avg(CASE WHEN verdict = 'right' AND seconds > 0 "
            f"THEN min(seconds, {LONGEST_RESPONSE}) END), sum(min(seconds, {LONGEST_RESPONSE})), "
            "sum(verdict = 'right' AND seconds > 0) FROM answer "
            f"WHERE practice_day >= {since} AND id NOT IN (SELECT answer FROM undone) "
            f"GROUP BY {column} ORDER BY {column}"
        ).fetchall()
    connection.close()
    return tuple(Group(str(name), *numbers) for name, *numbers in rows)


def fresh_confusions(path: Path, since: int = 0) -> tuple[Confusion, ...]:
    with sqlite3.connect(path) as connection:
        rows = connection.execute(
            "SELECT device, chosen, count(*) AS times FROM answer WHERE chosen <> '' "
            f"AND practice_day >= {since} AND id NOT IN (SELECT answer FROM undone) "
            "GROUP BY device, chosen ORDER BY times DESC, device, chosen"
        ).fetchall()
    connection.close()
    return tuple(Confusion(*row) for row in rows)


def counts_are_fresh(store: Store, path: Path) -> None:
    for since in (None, FIRST_DAY + 2):
        for heading in Heading:
            expected = fresh(path, heading, since or 0)
            found = store.counted(heading, since)
            assert [group[:3] for group in expected] == [group[:3] for group in found]
            assert [group.timed for group in expected] == [group.timed for group in found]
            for before, after in zip(expected, found, strict=True):
                # the times are kept in whole microseconds
                assert before.spent == pytest.approx(after.spent, abs=1e-5)
                assert (before.seconds is None) == (after.seconds is None)
                assert (before.seconds or 0) == pytest.approx(after.seconds or 0, abs=1e-5)
        assert fresh_confusions(path, since or 0) == store.confusions(since)


@pytest.mark.parametrize("seed", range(5))
def test_counts_are_those_of_a_fresh_count_after_every_change(tmp_path: Path, seed: int) -> None:
    chance, path = random.Random(seed), tmp_path / "history.db"
    slips = chance.sample(ANSWERS, 20)
    undos = [undo_of(slip, number) for slip in slips for number in range(chance.randint(1, 3))]
    records: list[Answer | Undo] = [*ANSWERS, *undos]
    chance.shuffle(records)
    with opened(path) as store:
        for turn, record in enumerate(records):
            if isinstance(record, Undo):
                store.take_in([], [record])
            else:
                store.take_in([record])
            if turn % 10 == 0:
                counts_are_fresh(store, path)
        counts_are_fresh(store, path)


def test_the_order_of_the_records_leaves_no_trace_in_the_counts(tmp_path: Path) -> None:
    """Equal to the last bit, although the times are sums of fractions."""
    undos, found = [undo_of(slip) for slip in ANSWERS[::4]], []
    for number in range(4):
        chance, path = random.Random(number), tmp_path / f"{number}.db"
        with opened(path) as store:
            for turn in range(3):
                part = chance.sample(ANSWERS, len(ANSWERS))[turn:]
                store.take_in(part, chance.sample(undos, len(undos)))
            found.append([store.counted(heading) for heading in Heading])
    assert [found[0]] * 4 == found


def test_answers_that_were_all_taken_back_leave_no_name_behind(tmp_path: Path) -> None:
    only = [a_wrong_answer(number, chosen="fall") for number in range(3)]
    with opened(tmp_path / "history.db") as store:
        store.take_in(only, map(undo_of, only))
        assert [()] * 4 == [store.counted(heading) for heading in Heading]
        assert () == store.confusions()
        assert Practice() == store.practice()


@pytest.mark.parametrize("version", OLD)
def test_a_history_of_an_older_version_is_counted_when_it_is_opened(
    tmp_path: Path, version: int
) -> None:
    path = tmp_path / "history.db"
    a_history_of_version(version, path, OLD[version])
    with opened(path) as store:
        counts_are_fresh(store, path)
        store.undo(undo_of(OLD[version][5]))
        store.take_in(ANSWERS[60:])
        counts_are_fresh(store, path)


def test_time_spent_holds_wrong_answers_too_each_cut_at_the_longest(tmp_path: Path) -> None:
    answers = [an_answer(1, seconds=4.0), a_wrong_answer(2, seconds=90.0)]
    with opened(tmp_path / "history.db") as store:
        store.take_in(answers)
        assert (Group("name", 2, 1, 4.0, 64.0, 1),) == store.counted(Heading.KIND)


def test_the_days_of_the_practice_are_those_with_questions_left(tmp_path: Path) -> None:
    """More than are kept, some of them taken back whole, one with calls of a jam alone."""
    days = DAYS_KEPT + 6
    answers = [an_answer(day * 2 + n, FIRST_DAY + day) for day in range(days) for n in range(2)]
    answers.append(an_answer(999, FIRST_DAY + days, why=CALLED, kind="jam"))
    gone = (FIRST_DAY + 10, FIRST_DAY + 30)
    slips = [answer for answer in answers if answer.practice_day in gone]
    with opened(tmp_path / "history.db") as store:
        store.take_in(answers, map(undo_of, slips))
        store.practice()
        cached = store.practice()
        assert Practice.replayed(store.answers()).days == cached.days
        assert DAYS_KEPT == len(cached.days)
        assert not set(gone) & set(cached.days)


def test_what_a_file_says_of_its_tables_fits_into_one_page(tmp_path: Path) -> None:
    """So that no second page is needed to read what a damage has left."""
    path = tmp_path / "history.db"
    open_store(path).close()
    # a leaf of the table of tables (sqlite.org/fileformat2.html, 1.6)
    assert 13 == path.read_bytes()[100]
