"""The history: nothing confirmed is lost, nothing foreign is touched, the cache is never believed
when it is wrong."""

import os
import random
import resource
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from quiz.answers import Answer
from quiz.errors import StoreDamaged, StoreError, StoreTooNew, StoreUnwritable
from quiz.history.salvage import readable
from quiz.history.schema import Schema, open_database
from quiz.history.store import Store, memory_store, open_store
from quiz.history.tables import ANSWER_COLUMNS, SCHEMA, answer_row
from quiz.history.undo import Records
from quiz.learning.memory import Item, rules_version
from quiz.learning.practice import Practice
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer

NOBODY = 65534
"""A user without rights. (the kernel's overflow id, Documentation/admin-guide/sysctl/fs.rst)"""


@contextmanager
def opened(path: Path) -> Iterator[Store]:
    store = open_store(path)
    try:
        yield store
    finally:
        store.close()


def keep(store: Store, answers: Iterable[Answer]) -> Practice:
    """Append as the program does: practice takes the answer, then the history does."""
    practice = store.practice()
    for answer in answers:
        practice = practice.after(answer)
        store.append(answer, practice)
    return practice


def some_answers(count: int, first: int = 0) -> list[Answer]:
    """Over several days, devices and keys; some right, some wrong."""
    return [
        (an_answer if number % 3 else a_wrong_answer)(
            number,
            FIRST_DAY + number // 10,
            device=("climb", "dip", "fall")[number % 3],
            kind=("name", "write")[number % 2],
            key=("F", "Bb", "Eb", "Ab", "E")[number % 5],
            why=("new", "due: 2 days", "contrast")[number % 3],
            rung=number % 4 - 1,
        )
        for number in range(first, first + count)
    ]


# --- what is kept -------------------------------------------------------------------------------


def test_a_new_history_is_made_with_its_folder_and_is_empty(tmp_path: Path) -> None:
    with opened(tmp_path / "deep" / "down" / "history.db") as store:
        assert 0 == store.count()
        assert [] == list(store.answers())
        assert Practice() == store.practice()


def test_an_answer_comes_back_with_every_field_as_it_was(tmp_path: Path) -> None:
    odd = an_answer(
        7,
        utc_offset=-12_600,
        tempo=71.5,
        given="b3 ♭3 ''; DROP TABLE answer; --\n\t🎸",
        slowed=True,
        interrupted=True,
        playings=3,
        seconds=0.125,
        guess_rate=1 / 3,
        score=0.7,
        rung=5,
        assignment="thursday horns",
    )
    with opened(tmp_path / "history.db") as store:
        keep(store, [odd])
    with opened(tmp_path / "history.db") as store:
        assert [odd] == list(store.answers())


def test_answers_come_in_the_order_of_time_and_id_not_of_writing(tmp_path: Path) -> None:
    early, late = an_answer(9, at=1_000_000), an_answer(1, at=2_000_000)
    twin = replace(late, id=(2).to_bytes(16, "big"))
    with opened(tmp_path / "history.db") as store:
        store.take_in([twin, late, early])
        assert [early, late, twin] == list(store.answers())


def test_answers_can_be_asked_for_from_a_practice_day_on(tmp_path: Path) -> None:
    answers = some_answers(30)
    with opened(tmp_path / "history.db") as store:
        store.take_in(answers)
        assert answers[20:] == list(store.answers(since_day=FIRST_DAY + 2))


def test_an_answer_that_is_there_already_is_passed_over(tmp_path: Path) -> None:
    first = an_answer(1)
    with opened(tmp_path / "history.db") as store:
        keep(store, [first, replace(first, verdict="wrong", score=0.0), an_answer(2)])
        assert [first, an_answer(2)] == list(store.answers())
        store.take_in([first])
        assert 2 == store.count()
    with opened(tmp_path / "history.db") as store:
        assert Practice.replayed([first, an_answer(2)]) == store.practice()


def test_an_installation_keeps_its_name_and_another_has_another(tmp_path: Path) -> None:
    with opened(tmp_path / "one.db") as store:
        name = store.origin
    with opened(tmp_path / "one.db") as again, opened(tmp_path / "two.db") as other:
        assert name == again.origin != other.origin


def test_a_transaction_with_one_impossible_answer_keeps_none_of_its_answers(
    tmp_path: Path,
) -> None:
    impossible = an_answer(2)
    object.__setattr__(impossible, "score", 2.0)  # as a fault of the program would
    with opened(tmp_path / "history.db") as store:
        with pytest.raises(StoreError, match="CHECK"):
            store.take_in([an_answer(1), impossible, an_answer(3)])
        assert 0 == store.count()
        with pytest.raises(StoreError, match="CHECK"):
            keep(store, [impossible])
        assert 0 == store.count()
        keep(store, [an_answer(4)])
        assert 1 == store.count()


def test_a_value_of_another_type_is_refused(tmp_path: Path) -> None:
    impossible = an_answer(2)
    object.__setattr__(impossible, "at", "yesterday")
    with opened(tmp_path / "history.db") as store:
        with pytest.raises(StoreError):
            store.take_in([impossible])
        assert 0 == store.count()


def test_a_history_in_memory_works_the_same() -> None:
    store = memory_store()
    answers = some_answers(25)
    assert keep(store, answers) == store.practice() == Practice.replayed(answers)
    assert answers == list(store.answers())
    store.close()


# --- the cache ----------------------------------------------------------------------------------


def test_the_cache_equals_the_replay(tmp_path: Path) -> None:
    answers = some_answers(200)
    with opened(tmp_path / "history.db") as store:
        grown = keep(store, answers)
    with opened(tmp_path / "history.db") as store:
        assert Practice.replayed(answers) == store.practice() == grown


def reach_rows(path: Path) -> dict[tuple[str, str], tuple[int, int, float]]:
    """The reaches in the cache, by (device, kind)."""
    connection = sqlite3.connect(path)
    try:
        rows = connection.execute("SELECT device, kind, rung, run, octaves FROM reach").fetchall()
    finally:
        connection.close()
    return {(device, kind): (rung, run, octaves) for device, kind, rung, run, octaves in rows}


def test_an_answer_at_the_reach_writes_the_rows_of_item_device_and_learner(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with opened(path) as store:
        keep(store, [an_answer(1, device="dip", rung=1, tempo=88.0)])
        before = reach_rows(path)
        keep(store, [an_answer(2, rung=0, tempo=88.0), an_answer(3, kind="write")])
    after = reach_rows(path)
    assert {("", ""), ("dip", ""), ("dip", "name")} == set(before)
    new = {("climb", ""), ("climb", "name")}
    assert new == set(after) - set(before)
    assert {("", "")} == {place for place in before if before[place] != after[place]}


def cached_stability(path: Path, value: float | None = None) -> float:
    """The stability in the cache; `value` puts another one there, which no replay would give."""
    connection = sqlite3.connect(path)
    try:
        if value is not None:
            with connection:
                connection.execute("UPDATE item_state SET stability = ?", (value,))
        return float(connection.execute("SELECT stability FROM item_state").fetchone()[0])
    finally:
        connection.close()


def test_a_cache_that_holds_is_read_and_not_made_anew(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with opened(path) as store:
        keep(store, [an_answer(1)])
    cached_stability(path, 123.0)
    with opened(path) as store:
        assert [123.0] == [state.stability for state in store.practice().states.values()]


def test_other_rules_make_the_cache_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "history.db"
    with opened(path) as store:
        keep(store, [an_answer(1)])
    cached_stability(path, 123.0)
    monkeypatch.setattr("quiz.history.cache.rules_version", lambda: "2/another library")
    with opened(path) as store:
        assert Practice.replayed([an_answer(1)]) == store.practice()
    assert 123.0 != cached_stability(path)


def test_cached_reaches_that_hold_are_read_and_not_made_anew(tmp_path: Path) -> None:
    path, answer = tmp_path / "history.db", an_answer(1, rung=1)
    with opened(path) as store:
        keep(store, [answer])
    run_sql(path, ["UPDATE reach SET rung = 6, run = 2 WHERE kind = 'name'"])
    with opened(path) as store:
        assert 6 == store.practice().reaches.rung(Item("climb", "name"))


def test_reaches_that_only_other_rules_knew_are_gone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, answer = tmp_path / "history.db", an_answer(1, rung=1)
    with opened(path) as store:
        keep(store, [answer])
    run_sql(path, ["INSERT INTO reach VALUES ('fall', 'name', 4, 0, 0.5), ('fall', '', 0, 0, 0.5)"])
    monkeypatch.setattr("quiz.history.cache.rules_version", lambda: "3/another library")
    with opened(path) as store:
        store.practice()
    with opened(path) as store:
        assert Practice.replayed([answer]) == store.practice()


def test_another_instance_that_wrote_makes_the_cache_anew(tmp_path: Path) -> None:
    path, one_s, other_s = tmp_path / "history.db", an_answer(1), a_wrong_answer(2)
    with opened(path) as one, opened(path) as other:
        practice, stale = one.practice(), other.practice()
        one.append(one_s, practice.after(one_s))
        other.append(other_s, stale.after(other_s))  # has not seen the first one's answer
    with opened(path) as store:
        assert [one_s, other_s] == list(store.answers())
        assert Practice.replayed([one_s, other_s]) == store.practice()


def test_two_instances_taking_turns_never_leave_a_wrong_cache(tmp_path: Path) -> None:
    path, answers = tmp_path / "history.db", some_answers(40)
    with opened(path) as one, opened(path) as other:
        practices = {one: one.practice(), other: other.practice()}
        chance = random.Random(5)
        for answer in answers:
            turn = chance.choice([one, other])
            practices[turn] = practices[turn].after(answer)
            turn.append(answer, practices[turn])
            with opened(path) as third:
                so_far = list(third.answers())
                assert Practice.replayed(so_far) == third.practice()


def test_answers_from_another_machine_make_the_cache_anew(tmp_path: Path) -> None:
    path, answers = tmp_path / "history.db", some_answers(40)
    with opened(path) as store:
        keep(store, answers[1::2])
        store.take_in(answers[::2])
        assert Practice.replayed(answers) == store.practice()


def test_an_answer_after_the_clock_was_set_back_makes_the_cache_anew(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    late, early = an_answer(1, FIRST_DAY + 9), a_wrong_answer(2, FIRST_DAY)
    with opened(path) as store:
        keep(store, [late, early])
    with opened(path) as store:
        assert Practice.replayed([early, late]) == store.practice()


def test_an_answer_that_could_not_be_kept_is_not_in_the_cache_either(tmp_path: Path) -> None:
    path, answers = tmp_path / "history.db", some_answers(30)
    with opened(path) as store:
        practice = keep(store, answers[:10])
        practice = practice.after(answers[10])
        with no_more_bytes(), pytest.raises(StoreUnwritable):
            store.append(answers[10], practice)
        for answer in answers[11:]:
            practice = practice.after(answer)
            store.append(answer, practice)
    with opened(path) as store:
        assert Practice.replayed([*answers[:10], *answers[11:]]) == store.practice()


# --- histories of older versions ------------------------------------------------------------------


def a_history_of_version(version: int, path: Path, answers: Iterable[Answer]) -> None:
    """As the program wrote it: before answers knew their rung and their assignment (1), and before
    they were counted and could be taken back (2)."""
    schema = Schema(
        SCHEMA.application_id, SCHEMA.migrations[:version], "SELECT 1 FROM answer LIMIT 0"
    )
    later = ("rung", "assignment") if version == 1 else ()
    columns = [name for name in ANSWER_COLUMNS if name not in later]
    database = open_database(path, schema)
    with database.atomic():
        for answer in answers:
            row = dict(zip(ANSWER_COLUMNS, answer_row(answer), strict=True))
            database.run(
                f"INSERT INTO answer ({', '.join(columns)}) "
                f"VALUES ({', '.join('?' * len(columns))})",
                [row[name] for name in columns],
            )
    database.close()


OLD = {
    1: [replace(answer, rung=-1) for answer in some_answers(60)],
    2: [replace(answer, assignment="thursday horns") for answer in some_answers(60)],
}
"""What the histories of older versions hold."""


@pytest.mark.parametrize("version", OLD)
def test_a_history_of_an_older_version_keeps_all_its_answers(tmp_path: Path, version: int) -> None:
    path, old = tmp_path / "history.db", OLD[version]
    a_history_of_version(version, path, old)
    with opened(path) as store:
        assert old == list(store.answers())
        assert Practice.replayed(old) == store.practice()
        new = an_answer(99, FIRST_DAY + 9, rung=2, assignment="thursday horns")
        keep(store, [new])
        assert [*old, new] == list(store.answers())
    with opened(path) as store:
        assert Practice.replayed([*old, new]) == store.practice()


@pytest.mark.parametrize("version", OLD)
def test_what_was_worked_out_by_an_older_version_holds(tmp_path: Path, version: int) -> None:
    """A new format alone is no reason to go through all answers."""
    path = tmp_path / "history.db"
    a_history_of_version(version, path, OLD[version])
    with opened(path) as store:
        store.practice()
    run_sql(path, [f"UPDATE note SET value = '60:{rules_version()}' WHERE name = 'covered'"])
    told: list[float] = []
    with opened(path) as store:
        assert Practice.replayed(OLD[version]) == store.practice(told.append)
    assert [] == told


@pytest.mark.parametrize("version", OLD)
def test_the_answers_of_a_damaged_history_of_an_older_version_can_still_be_read(
    tmp_path: Path, version: int
) -> None:
    path = tmp_path / "history.db"
    a_history_of_version(version, path, OLD[version])
    assert Records(tuple(OLD[version])) == readable(path)


def test_the_progress_of_a_new_format_and_of_a_replay_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "history.db"
    a_history_of_version(2, path, some_answers(3000))
    monkeypatch.setattr("quiz.history.database._BEAT", 1000)
    migrated, replayed = list[float](), list[float]()
    store = open_store(path, migrated.append)
    store.practice(replayed.append)
    store.close()
    assert len(migrated) > 10
    assert all(0 <= share <= 1 for share in migrated)
    assert [0, 1 / 3, 2 / 3, 1] == replayed


# --- sudden ends and several at once ------------------------------------------------------------

APPENDER = """
import sys
from pathlib import Path
from quiz.history.store import open_store
from tests.quiz.history.test_store import some_answers
path, first, count = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
store = open_store(path)
practice = store.practice()
for number, answer in enumerate(some_answers(count, first), first):
    practice = practice.after(answer)
    store.append(answer, practice)
    print(number, flush=True)
store.close()
"""


def appending(path: Path, first: int, count: int) -> "subprocess.Popen[str]":
    """A program that appends answers and says the number of each that is kept."""
    root = Path(__file__).parents[3]
    return subprocess.Popen(
        [sys.executable, "-c", APPENDER, str(path), str(first), str(count)],
        cwd=root,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def test_no_confirmed_answer_is_lost_when_the_program_is_killed(tmp_path: Path) -> None:
    path, chance, confirmed = tmp_path / "history.db", random.Random(1), set[int]()
    for run in range(20):
        with appending(path, run * 3000, 3000) as process:
            assert process.stdout is not None
            said = [process.stdout.readline() for _ in range(chance.randint(1, 30))]
            time.sleep(chance.random() * 0.005)  # so that it dies anywhere within a transaction
            process.kill()
            said += process.stdout.readlines()
        assert -signal.SIGKILL == process.returncode
        confirmed.update(int(line) for line in said if line.endswith("\n"))
    with opened(path) as store:
        kept = {int.from_bytes(answer.id, "big") for answer in store.answers()}
        assert set() == confirmed - kept
        assert len(kept) <= len(confirmed) + 20  # at most one a kill was kept but not yet said
        assert Practice.replayed(store.answers()) == store.practice()


def test_two_programs_that_append_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    with appending(path, 0, 100) as one, appending(path, 50_000, 100) as other:
        for process, first in ((one, 0), (other, 50_000)):
            said, _ = process.communicate(timeout=120)
            assert [str(number) for number in range(first, first + 100)] == said.split()
            assert 0 == process.returncode
    with opened(path) as store:
        assert 200 == store.count()
        assert Practice.replayed(store.answers()) == store.practice()


# --- places where nothing can be written --------------------------------------------------------


@contextmanager
def no_more_bytes(above: int = 0) -> Iterator[None]:
    """Nothing can be written beyond so many bytes of any file: what a full disk does."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (above, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextmanager
def without_rights() -> Iterator[None]:
    """As a user for whom permission bits count, even where the tests run as root."""
    user = os.geteuid()
    if user == 0:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if user == 0:
            os.seteuid(0)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user can enter."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder
        folder.chmod(0o755)


def test_on_a_full_disk_the_answer_is_refused_and_the_history_stays_sound(tmp_path: Path) -> None:
    path, answers = tmp_path / "history.db", some_answers(12)
    with opened(path) as store:
        practice = keep(store, answers[:10])
        with no_more_bytes(), pytest.raises(StoreUnwritable, match="free some space"):
            store.append(answers[10], practice.after(answers[10]))
        store.append(answers[11], practice.after(answers[11]))
    with opened(path) as store:
        assert [*answers[:10], answers[11]] == list(store.answers())


def test_on_a_full_disk_no_history_can_be_begun(tmp_path: Path) -> None:
    with no_more_bytes(), pytest.raises(StoreUnwritable, match=r"history\.db"):
        open_store(tmp_path / "history.db")
    with opened(tmp_path / "history.db") as store:  # what was left behind is in nobody's way
        assert 0 == store.count()


def test_a_folder_in_place_of_the_history_is_refused_and_left(tmp_path: Path) -> None:
    (tmp_path / "history.db" / "mine").mkdir(parents=True)
    with pytest.raises(StoreUnwritable, match="is a folder"):
        open_store(tmp_path / "history.db")
    assert (tmp_path / "history.db" / "mine").is_dir()


def test_a_file_in_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("mine")
    with pytest.raises(StoreUnwritable, match="data"):
        open_store(tmp_path / "data" / "history.db")
    assert "mine" == (tmp_path / "data").read_text()


def test_a_folder_whose_name_is_too_long_is_refused(tmp_path: Path) -> None:
    with pytest.raises(StoreUnwritable, match="xxx"):
        open_store(tmp_path / ("x" * 300) / "history.db")


def test_a_history_that_can_only_be_read_is_read_and_an_answer_refused(open_folder: Path) -> None:
    path, answers = open_folder / "history.db", some_answers(5)
    with opened(path) as store:
        practice = keep(store, answers)
    path.chmod(0o444)
    open_folder.chmod(0o555)
    before = path.read_bytes()
    with without_rights(), opened(path) as store:
        assert answers == list(store.answers())
        assert practice == store.practice()
        with pytest.raises(StoreUnwritable, match=r"history\.db"):
            store.append(an_answer(99), practice.after(an_answer(99)))
    assert before == path.read_bytes()


def test_a_folder_that_can_only_be_read_holds_no_new_history(open_folder: Path) -> None:
    open_folder.chmod(0o555)
    with without_rights(), pytest.raises(StoreUnwritable, match=r"history\.db"):
        open_store(open_folder / "history.db")
    assert [] == list(open_folder.iterdir())


def test_a_folder_that_may_not_be_entered_is_refused(open_folder: Path) -> None:
    open_folder.chmod(0o600)
    with without_rights(), pytest.raises(StoreUnwritable, match=r"history\.db"):
        open_store(open_folder / "history.db")


# --- files that are no sound history ------------------------------------------------------------


def a_long_history(path: Path) -> bytes:
    with opened(path) as store:
        keep(store, some_answers(60))
    return path.read_bytes()


def refused_as_damaged(path: Path) -> None:
    """It is refused, names itself, and has not been touched."""
    before = path.read_bytes()
    with pytest.raises(StoreDamaged, match=r"history\.db") as caught:
        open_store(path)
    assert path == caught.value.path
    assert before == path.read_bytes()


@pytest.mark.parametrize(
    "content",
    [
        b"Thursday: bring the bass\n" * 100,
        b"x",
        bytes(8192),
        random.Random(3).randbytes(8192),
        b"SQLite format 3\0",
        b"SQLite format 3\0" + random.Random(4).randbytes(8176),
    ],
    ids=["text", "one byte", "noughts", "noise", "header alone", "noise with a header"],
)
def test_a_file_that_is_no_database_is_refused_and_left(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "history.db"
    path.write_bytes(content)
    refused_as_damaged(path)


@pytest.mark.parametrize("share", [0.001, 0.02, 0.3, 0.5, 0.9, 0.999])
def test_a_history_that_was_cut_short_is_refused_and_left(tmp_path: Path, share: float) -> None:
    path = tmp_path / "history.db"
    whole = a_long_history(path)
    path.write_bytes(whole[: int(len(whole) * share)])
    refused_as_damaged(path)


def test_a_history_that_was_cut_at_a_page_is_refused_and_left(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    whole = a_long_history(path)
    path.write_bytes(whole[: len(whole) // 4096 // 2 * 4096])
    refused_as_damaged(path)


@pytest.mark.parametrize("page", range(1, 6))
def test_a_history_with_a_page_of_noise_is_refused_and_left(tmp_path: Path, page: int) -> None:
    path = tmp_path / "history.db"
    whole = bytearray(a_long_history(path))
    assert len(whole) >= (page + 1) * 4096
    whole[page * 4096 : (page + 1) * 4096] = random.Random(page).randbytes(4096)
    path.write_bytes(whole)
    refused_as_damaged(path)


def run_sql(path: Path, statements: Sequence[str]) -> None:
    connection = sqlite3.connect(path)
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()


@pytest.mark.parametrize(
    "statements",
    [
        ["CREATE TABLE shopping (what TEXT)", "INSERT INTO shopping VALUES ('strings')"],
        ["PRAGMA application_id = 77", "CREATE TABLE answer (id BLOB)"],
        ["CREATE TABLE answer (id BLOB)", "PRAGMA user_version = 1"],
        ["PRAGMA user_version = 1"],
    ],
    ids=["another table", "another mark", "the same table", "a version alone"],
)
def test_the_database_of_another_program_is_refused_and_left(
    tmp_path: Path, statements: Sequence[str]
) -> None:
    run_sql(tmp_path / "history.db", statements)
    refused_as_damaged(tmp_path / "history.db")


def test_a_history_from_a_newer_version_is_refused_before_any_write(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    a_long_history(path)
    run_sql(path, ["PRAGMA user_version = 999", "DROP TABLE item_state"])
    before, stamp = path.read_bytes(), path.stat().st_mtime_ns
    with pytest.raises(StoreTooNew, match="update the program"):
        open_store(path)
    assert before == path.read_bytes()
    assert stamp == path.stat().st_mtime_ns
    assert [path] == list(tmp_path.iterdir())


# --- what is kept beside the answers ------------------------------------------------------------


@pytest.mark.parametrize("hole", ["", "\0", "[[[0.1", "[]", '{"a": 1}'])
@pytest.mark.parametrize("name", ["knowing", "probes"])
def test_a_note_with_a_hole_in_it_is_made_anew(tmp_path: Path, name: str, hole: str) -> None:
    path = tmp_path / "history.db"
    with opened(path) as store:
        store.take_in(some_answers(30))
        whole = store.practice()
    with sqlite3.connect(path) as other:
        other.execute("UPDATE note SET value = ? WHERE name = ?", (hole, name))
    other.close()
    with opened(path) as store:
        assert whole == store.practice()
