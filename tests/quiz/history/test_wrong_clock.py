"""A clock that stands wrong: set back, set ahead, or moved by summer time.

What is promised, in the README: no answer is lost and none counts twice; what was answered while a
clock stood ahead silences nothing; and no clock makes a backup go.
"""

import os
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import count
from pathlib import Path
from random import Random

import pytest

from quiz.answers import Answer, practice_day
from quiz.clock import now
from quiz.history.backups import KEPT, backups, daily_backup, newest_sound_backup
from quiz.history.store import Store, answers_in, memory_store, open_store
from quiz.history.undo import Undo
from quiz.learning.memory import Item
from quiz.learning.practice import Practice, counted_until
from quiz.learning.schedule import Plan, due_items
from quiz.locations import Locations
from quiz.sound.player import ClockPlayer
from quiz.workbench import open_workbench
from tests.quiz.benches import opened
from tests.quiz.histories import FIRST_DAY, an_answer, moment
from tests.quiz.test_coach import Bench, Clock

YEAR = 365


@pytest.fixture
def store() -> Iterator[Store]:
    with closing(memory_store()) as opened:
        opened.lasts = True  # no matter here, so that nothing waits in a file as well
        yield opened


def round_at(store: Store, folder: Path, day: int, count: int = 12) -> list[Item]:
    """What a round on a practice day asks; every answer is kept."""
    clock = Clock()
    clock.at = moment(day)
    asked = Bench(folder, store, clock=clock).ask(count)
    return [Item(one.question.item, one.question.kind.value) for one in asked]


def due_on(store: Store, day: int) -> set[Item]:
    practice = store.practice(until=counted_until(day))
    return set(due_items(practice.states, practice, day, Plan()))


# --- ahead ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("ahead", [10, 30, YEAR])
def test_what_was_answered_with_the_clock_ahead_does_not_silence_its_items(
    tmp_path: Path, store: Store, ahead: int
) -> None:
    met = set(round_at(store, tmp_path, FIRST_DAY))
    silenced = set(round_at(store, tmp_path, FIRST_DAY + ahead))  # one evening with a wrong clock
    assert silenced & met
    assert met == due_on(store, FIRST_DAY + 4)
    assert set(round_at(store, tmp_path, FIRST_DAY + 4)) <= met
    assert 36 == store.count()


def test_an_item_met_only_with_the_clock_ahead_is_asked_as_a_new_one(
    tmp_path: Path, store: Store
) -> None:
    ahead = round_at(store, tmp_path, FIRST_DAY + YEAR)
    assert ahead[0] == round_at(store, tmp_path, FIRST_DAY)[0]


def test_answers_of_a_clock_that_stood_ahead_count_from_their_day_on(
    tmp_path: Path, store: Store
) -> None:
    for day in (0, YEAR, 4):
        round_at(store, tmp_path, FIRST_DAY + day)
    everything = Practice.replayed(store.answers())
    assert everything == store.practice(until=counted_until(FIRST_DAY + YEAR)) == store.practice()
    before = store.practice(until=counted_until(FIRST_DAY + YEAR - 2))
    assert everything != before == Practice.replayed(store.answers(until_day=FIRST_DAY + 4))


def test_a_day_ahead_counts_since_travelling_west_sets_the_date_back(store: Store) -> None:
    store.take_in([an_answer(1, FIRST_DAY + 1)])
    assert {Item("climb", "name")} == set(store.practice(until=counted_until(FIRST_DAY)).states)
    assert {} == store.practice(until=counted_until(FIRST_DAY - 1)).states


def test_what_is_answered_meanwhile_is_seen_and_never_taken_for_the_whole(tmp_path: Path) -> None:
    path, until = tmp_path / "history.db", counted_until(FIRST_DAY + 1)
    later = an_answer(9, FIRST_DAY + YEAR)
    with closing(open_store(path)) as store:
        store.take_in([an_answer(1), later])
        kept = [an_answer(1)]
        for number in (2, 3):
            practice = store.practice(until=until)
            assert Practice.replayed(kept) == practice
            kept.append(an_answer(number))
            store.append(kept[-1], practice.after(kept[-1]))
        assert Practice.replayed(kept) == store.practice(until=until)
    with closing(open_store(path)) as store:
        assert Practice.replayed([*kept, later]) == store.practice()


def replays(store: Store, until: int) -> tuple[bool, Practice]:
    """Whether a look at the practice was a replay, and what it gave."""
    told = list[float]()
    practice = store.practice(told.append, until)
    return bool(told), practice


def test_while_an_answer_lies_ahead_the_history_is_replayed_once_and_not_at_every_round(
    tmp_path: Path,
) -> None:
    ahead, until = an_answer(0, FIRST_DAY + YEAR), counted_until(FIRST_DAY)
    kept = [an_answer(number, FIRST_DAY - 9) for number in range(1, 6)]
    with closing(open_store(tmp_path / "history.db")) as store:
        store.take_in([ahead, *kept])
        assert (True, Practice.replayed(kept)) == replays(store, until)
        for number in range(6, 9):
            kept.append(an_answer(number))
            store.append(kept[-1], store.practice(until=until).after(kept[-1]))
            assert (False, Practice.replayed(kept)) == replays(store, until)
        # a night passes, and the next day's answers come, some of them from another instance
        kept.append(an_answer(9, FIRST_DAY + 1))
        with closing(open_store(tmp_path / "history.db")) as other:
            other.take_in([kept[-1]])
        assert (False, Practice.replayed(kept)) == replays(store, until + 1)


def test_of_a_limited_practice_an_answer_that_is_taken_back_at_once_asks_for_no_replay(
    store: Store,
) -> None:
    until, kept = counted_until(FIRST_DAY), [an_answer(1), an_answer(2)]
    store.take_in([an_answer(0, FIRST_DAY + YEAR), *kept])
    before, slip = store.practice(until=until), an_answer(3)
    store.append(slip, before.after(slip))
    store.undo(Undo(bytes(16), slip.id, slip.at + 1, 0, slip.origin), before)
    assert (False, Practice.replayed(kept)) == replays(store, until)


@pytest.mark.parametrize("seed", range(12))
def test_whatever_comes_meanwhile_a_limited_practice_equals_a_replay(
    store: Store, seed: int
) -> None:
    chance, numbers, looks = Random(seed), count(1), 0
    store.take_in([an_answer(0, FIRST_DAY + YEAR)])
    for _ in range(80):
        match chance.choice(["today", "late", "ahead", "undo", "look", "look"]):
            case "today":
                answer = an_answer(next(numbers), device=chance.choice(["climb", "fall"]))
                store.append(answer, store.practice().after(answer))
            case "late":
                store.take_in([an_answer(next(numbers), FIRST_DAY - chance.randrange(1, 9))])
            case "ahead":
                store.take_in([an_answer(next(numbers), FIRST_DAY + chance.randrange(1, 5))])
            case "undo":
                taken = chance.choice(list(store.every_answer()))
                identity = (10**6 + next(numbers)).to_bytes(16, "big")
                store.undo(Undo(identity, taken.id, taken.at + 1, 0, taken.origin))
            case "look":
                looks += 1
                until = FIRST_DAY + chance.randrange(-3, 6)
                expected = Practice.replayed(store.answers(until_day=until))
                assert expected == store.practice(until=until)
    assert looks > 10


def test_the_start_does_the_replay_and_says_how_far_it_is(tmp_path: Path) -> None:
    day, told = now().day, list[str]()
    with opened(tmp_path) as bench:
        bench.store.take_in(an_answer(number, day - 5) for number in range(3))
        bench.store.take_in([an_answer(3, day + YEAR)])

    @contextmanager
    def waiting(what: str) -> Iterator[Callable[[float], None]]:
        yield lambda _share: told.append(what)

    locations = Locations(tmp_path / "config", tmp_path / "data")
    with closing(open_workbench(locations, lambda _: ClockPlayer(None), waiting=waiting)) as bench:
        assert "Going through all answers" in told
        bench.fresh_coach()
        assert (False, 3) == (
            replays(bench.store, counted_until(day))[0],
            sum(state.asked for state in bench.store.practice(until=day + 1).states.values()),
        )


# --- back -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("back", [1, YEAR])
def test_with_the_clock_set_back_rounds_go_on_and_no_answer_is_lost(
    tmp_path: Path, store: Store, back: int
) -> None:
    first = round_at(store, tmp_path, FIRST_DAY)
    again = round_at(store, tmp_path, FIRST_DAY - back)
    later = round_at(store, tmp_path, FIRST_DAY + 1)
    assert [12, 12, 12] == [len(first), len(again), len(later)]
    answers = list(store.answers())
    assert 36 == len(answers) == len({answer.id for answer in answers})
    assert Practice.replayed(answers) == store.practice()
    assert sorted(answers, key=lambda answer: (answer.at, answer.id)) == answers


def test_while_the_clock_stands_a_year_back_what_is_answered_is_remembered(
    tmp_path: Path, store: Store
) -> None:
    round_at(store, tmp_path, FIRST_DAY)
    wrong = FIRST_DAY - YEAR
    asked = set(round_at(store, tmp_path, wrong))
    assert asked == due_on(store, wrong + 4)
    assert asked == set(round_at(store, tmp_path, wrong + 4))


# --- backups --------------------------------------------------------------------------------------


def days_of(folder: Path) -> list[int]:
    epoch = date(1970, 1, 1)
    return [
        (date.fromisoformat(path.stem.removeprefix("history-")) - epoch).days
        for path in reversed(backups(folder))
    ]


@pytest.mark.parametrize("wrong", [-YEAR, -1, 40, YEAR])
def test_no_clock_makes_the_backups_of_the_right_days_go(tmp_path: Path, wrong: int) -> None:
    folder = tmp_path / "backups"
    days = [*range(9), *range(9 + wrong, 18 + wrong), *range(18, 30)]
    with closing(open_store(tmp_path / "history.db")) as store:
        for number, day in enumerate(days):
            store.take_in([an_answer(number, FIRST_DAY + day)])
            made = daily_backup(store, folder, FIRST_DAY + day)
            assert made is None or made.exists()
        right = [FIRST_DAY + day for day in range(30 - KEPT, 30)]
        assert right == [day for day in days_of(folder) if day <= FIRST_DAY + 29][-KEPT:]
        assert len(backups(folder)) <= 2 * KEPT
        newest = newest_sound_backup(folder)
        assert newest is not None
        assert store.count() == answers_in(newest)


def test_of_backups_the_one_with_the_most_answers_is_offered_whatever_its_date(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "backups"
    with closing(open_store(tmp_path / "history.db")) as store:
        store.take_in([an_answer(1)])
        daily_backup(store, folder, FIRST_DAY + YEAR)  # the clock stood ahead once
        store.take_in([an_answer(2), an_answer(3)])
        fuller = daily_backup(store, folder, FIRST_DAY)
    assert fuller == newest_sound_backup(folder)


# --- summer time ----------------------------------------------------------------------------------

ZONES = {
    # as POSIX writes the rules of a zone (The Open Group Base Specifications, 8.3, "TZ")
    "central Europe": "CET-1CEST,M3.5.0,M10.5.0/3",
    "eastern America": "EST5EDT,M3.2.0,M11.1.0",
    "Lord Howe, half an hour": "<+1030>-10:30<+11>-11,M10.1.0,M4.1.0",
}


@pytest.fixture
def zone(request: pytest.FixtureRequest) -> Iterator[None]:
    """Puts the process into a time zone."""
    if not hasattr(time, "tzset"):
        pytest.skip("the time zone of a process can only be set on Unix")
    before = os.environ.get("TZ")
    os.environ["TZ"] = ZONES[request.param]
    time.tzset()
    yield
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


@pytest.mark.parametrize("zone", ZONES, indirect=True)
@pytest.mark.usefixtures("zone")
def test_a_practice_day_ends_at_four_by_the_clock_on_the_wall_also_when_summer_time_changes() -> (
    None
):
    # the reference is the C library's idea of local time: the date on the wall, before four in the
    # morning that of the day before
    begin = datetime(2026, 1, 1, tzinfo=UTC)
    seen = set()
    for quarter in range(366 * 24 * 4):
        local = (begin + timedelta(minutes=15 * quarter)).astimezone()
        offset = local.utcoffset()
        assert offset is not None
        seen.add(offset)
        day = local.date() - timedelta(days=local.hour < 4)
        at = int(local.timestamp()) * 1_000_000
        assert (day - date(1970, 1, 1)).days == practice_day(at, int(offset.total_seconds()))
    assert 2 == len(seen)  # summer time came and went


@pytest.mark.parametrize(
    ("before", "after"), [(3600, 7200), (7200, 3600)], ids=["an hour forward", "an hour back"]
)
def test_a_round_across_a_change_of_summer_time_keeps_every_answer_in_its_order(
    store: Store, before: int, after: int
) -> None:
    answers = []
    for number in range(8):
        at = moment(FIRST_DAY, 3600 + number * 60)
        offset = before if number < 4 else after
        answers.append(stamped(an_answer(number), at, offset))
        store.append(answers[-1], store.practice().after(answers[-1]))
    assert answers == list(store.answers())
    assert Practice.replayed(answers) == store.practice()
    assert 1 == len({answer.practice_day for answer in answers})


def stamped(answer: Answer, at: int, offset: int) -> Answer:
    return replace(answer, at=at, utc_offset=offset, practice_day=practice_day(at, offset))
