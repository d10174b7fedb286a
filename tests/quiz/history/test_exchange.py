"""Answers as an open text: whole, exact, and every fault of a file named by its line."""

import json
from collections.abc import Iterator
from contextlib import closing
from dataclasses import fields
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from quiz.answers import LATEST, Answer
from quiz.errors import ExchangeError
from quiz.history.exchange import BAD_LINES_TOLD, BadLine, Exported, ExportFile, export
from quiz.history.exchange_fields import (
    ANSWER_FIELDS,
    END_FIELDS,
    HEAD_FIELDS,
    UNDO_FIELDS,
    explained,
    read,
    written,
)
from quiz.history.store import Store, memory_store
from quiz.history.undo import Undo
from tests.quiz.histories import a_wrong_answer, an_answer, moment
from tests.quiz.history.test_store import no_more_bytes, some_answers

UNDO = Undo((900).to_bytes(16, "big"), (1).to_bytes(16, "big"), moment(), -3600, "0123456789ab")
HEAD = {"format": "lastbar answers", "version": 1}


@pytest.fixture
def store() -> Iterator[Store]:
    with closing(memory_store()) as opened:
        yield opened


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "answers.jsonl"


def lines_of(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_bytes().split(b"\n") if line]


def write(path: Path, *rows: object) -> ExportFile:
    """A file of a head and these lines, an end behind them."""
    lines = [row if isinstance(row, bytes) else json.dumps(row).encode() for row in (HEAD, *rows)]
    path.write_bytes(b"\n".join(lines) + b"\n")
    return ExportFile(path)


# --- writing --------------------------------------------------------------------------------------


def test_what_is_written_is_read_back_as_it_was(store: Store, target: Path) -> None:
    odd = an_answer(
        7,
        utc_offset=-12_600,
        tempo=71.5,
        given="b3 \u2028 \x85 🎸 \n\r \" ' \\ \x00",
        guess_rate=1 / 3,
        seconds=0.1,
        slowed=True,
        rung=5,
        assignment="thursday horns",
    )
    store.take_in([odd, an_answer(1), a_wrong_answer(2)], [UNDO])
    assert Exported(3, 1) == export(store, target)
    file = ExportFile(target)
    assert {odd, an_answer(1), a_wrong_answer(2), UNDO} == set(file.records())
    assert ([], 0, {}, "") == (file.bad, file.bad_lines, file.unknown, file.end)


def test_a_file_is_utf_8_json_lines_with_a_head_and_an_end(store: Store, target: Path) -> None:
    store.take_in(some_answers(5), [UNDO])
    export(store, target)
    head, *records, end = lines_of(target)
    assert set(HEAD_FIELDS) == set(head)
    assert {**HEAD, "program": head["program"]} == head
    assert ["answer"] * 5 + ["undo"] == [record["record"] for record in records]
    assert {"record": "end", "answers": 5, "undos": 1} == end
    assert set(END_FIELDS) == set(end)
    assert {1 + len(ANSWER_FIELDS)} == {len(record) for record in records[:5]}


def test_moments_and_days_are_written_as_standards_say(store: Store, target: Path) -> None:
    # RFC 3339 for the moment, ISO 8601 for the day; the reference is Python's own datetime
    at = int(datetime(2026, 11, 26, 20, 15, 30, 250_000, UTC).timestamp() * 1_000_000)
    row = written(an_answer(1, at=at, practice_day=20_783))
    assert ("2026-11-26T20:15:30.250000Z", "2026-11-26") == (row["at"], row["practice_day"])


@pytest.mark.parametrize("at", [0, 1, LATEST])
def test_the_first_and_the_last_moment_come_back(at: int) -> None:
    answer = an_answer(1, at=at, practice_day=-2)
    assert answer == read(json.loads(json.dumps(written(answer))))


def test_an_empty_history_is_a_head_and_an_end(store: Store, target: Path) -> None:
    assert Exported(0, 0) == export(store, target)
    assert [] == list(ExportFile(target).records())


def test_on_a_full_disk_the_file_that_was_there_stays_whole(store: Store, target: Path) -> None:
    store.take_in(some_answers(5))
    export(store, target)
    before = target.read_bytes()
    store.take_in(some_answers(200, 100))
    with no_more_bytes(20_000), pytest.raises(ExchangeError, match="disk has room"):
        export(store, target)
    assert before == target.read_bytes()
    assert [target] == list(target.parent.iterdir())


def test_a_folder_that_is_not_there_is_told(store: Store, tmp_path: Path) -> None:
    with pytest.raises(ExchangeError, match="give a folder you may write to"):
        export(store, tmp_path / "nowhere" / "answers.jsonl")


def test_every_field_of_an_answer_and_an_undo_is_in_the_format_and_explained() -> None:
    assert [row.name for row in fields(Answer)] == [field.name for field in ANSWER_FIELDS]
    assert [row.name for row in fields(Undo)] == [field.name for field in UNDO_FIELDS]
    for name in (*HEAD_FIELDS, *END_FIELDS, *(field.name for field in ANSWER_FIELDS)):
        assert f"\n  {name} " in explained()


# --- reading --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n",
        b"hello\n",
        b"[]\n",
        b"\xff\xfe\n",
        b'{"format": "something else", "version": 1}\n',
        b'{"format": "lastbar answers"}\n',
        b'{"format": "lastbar answers", "version": "1"}\n',
        b'{"format": "lastbar answers", "version": true}\n',
        b'{"format": "lastbar answers", "version": 0}\n',
    ],
)
def test_a_file_without_the_head_is_refused(target: Path, content: bytes) -> None:
    target.write_bytes(content)
    with pytest.raises(ExchangeError, match=r"is no file of answers: its first line must be"):
        ExportFile(target)


def test_a_file_of_a_newer_format_is_refused(target: Path) -> None:
    target.write_text(json.dumps(HEAD | {"version": 2}) + "\n")
    with pytest.raises(ExchangeError, match="update the program"):
        ExportFile(target)


@pytest.mark.parametrize("name", ["nothing.jsonl", "folder"])
def test_what_is_no_file_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(ExchangeError, match="give"):
        ExportFile(tmp_path / name)


GOOD = written(an_answer(1))
BAD_ROWS = [
    (b"hello", "it is no JSON, or has been cut short"),
    (json.dumps(GOOD).encode()[:-9], "it is no JSON, or has been cut short"),
    (b"[" * 5000, "it is no JSON, or has been cut short"),
    (b"\xff", "it is no text in UTF-8 (byte 1)"),
    (b"3", "it is no JSON object"),
    (b"x" * 1_000_001, "it is too long"),
    ({}, "'record' is missing: give 'answer' or 'undo'"),
    (GOOD | {"record": "question"}, "'record' is 'question': give 'answer' or 'undo'"),
    (GOOD | {"score": 7}, "'score' is 7.0, give 0 to 1"),
    (GOOD | {"score": "high"}, "'score' is 'high': give a number"),
    (GOOD | {"score": True}, "'score' is True: give a number"),
    (json.dumps(GOOD | {"score": float("nan")}).encode(), "it is no JSON"),
    (GOOD | {"tempo": 10**400}, "'tempo' is 1"),
    (GOOD | {"options": 4.5}, "'options' is 4.5: give a whole number"),
    (GOOD | {"slowed": 1}, "'slowed' is 1: give true or false"),
    (GOOD | {"id": "zz"}, "'id' is 'zz': give 32 hexadecimal digits"),
    (GOOD | {"id": "00"}, "'id' is '00': give 32 hexadecimal digits"),
    (GOOD | {"at": "yesterday"}, "'at' is 'yesterday': give a moment in UTC such as"),
    (GOOD | {"at": "2026-11-26T20:15:30"}, "give a moment in UTC such as"),
    (GOOD | {"at": "2026-11-26T20:15:30+01:00"}, "give a moment in UTC such as"),
    (GOOD | {"at": "1969-12-31T00:00:00Z"}, "'at' is -86400000000, give 0 to"),
    (GOOD | {"practice_day": "2026-02-30"}, "give a day such as 2026-11-26"),
    (GOOD | {"verdict": "great"}, "'verdict' is 'great': give right, partly right, wrong, given"),
    (GOOD | {"verdict": ["right"]}, "'verdict' is ['right']: give right"),
    (GOOD | {"key": None}, "'key' is missing: give a text"),
    ({name: value for name, value in GOOD.items() if name != "key"}, "'key' is missing"),
    ({"record": "undo", "id": GOOD["id"]}, "'answer' is missing: give 32 hexadecimal digits"),
]


@pytest.mark.parametrize(("row", "says"), BAD_ROWS, ids=range(len(BAD_ROWS)))
def test_a_bad_line_is_named_with_its_number_and_the_rest_is_read(
    target: Path, row: object, says: str
) -> None:
    file = write(target, written(an_answer(2)), b"", row, written(an_answer(3)))
    assert [an_answer(2), an_answer(3)] == list(file.records())
    ((number, told),) = file.bad
    assert 4 == number
    assert says in told


def test_only_the_first_bad_lines_are_named_but_all_are_counted(target: Path) -> None:
    file = write(target, *[b"hello"] * 50)
    assert [] == list(file.records())
    assert (50, BAD_LINES_TOLD) == (file.bad_lines, len(file.bad))
    assert BadLine(2, "it is no JSON, or has been cut short") == file.bad[0]


def test_a_field_that_no_record_has_is_left_out_and_reported(target: Path) -> None:
    file = write(target, GOOD | {"mood": "blue"}, written(UNDO) | {"mood": 1, "key": "F"})
    assert [an_answer(1), UNDO] == list(file.records())
    assert {"mood": 2, "key": 1} == file.unknown


def test_fields_that_came_later_may_be_missing(target: Path) -> None:
    row = {name: value for name, value in GOOD.items() if name not in ("rung", "assignment")}
    assert [an_answer(1)] == list(write(target, row).records())


def test_half_a_character_is_written_out(target: Path) -> None:
    (answer,) = write(target, GOOD | {"key": "\ud83c"}).records()
    assert isinstance(answer, Answer)
    assert "\\ud83c" == answer.key


def test_a_byte_order_mark_and_line_ends_of_another_system_are_no_matter(target: Path) -> None:
    rows = [json.dumps(row) for row in (HEAD, GOOD, {"record": "end", "answers": 1, "undos": 0})]
    target.write_bytes(b"\xef\xbb\xbf" + "\r\n".join(rows).encode())
    file = ExportFile(target)
    assert [an_answer(1)] == list(file.records())
    assert ([], "") == (file.bad, file.end)


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8, 0.99])
def test_a_file_that_was_cut_short_is_told_and_read_as_far_as_it_goes(
    store: Store, target: Path, share: float
) -> None:
    store.take_in(some_answers(20))
    export(store, target)
    whole = target.read_bytes()
    target.write_bytes(whole[: int(len(whole) * share)])
    file = ExportFile(target)
    found = list(file.records())
    assert some_answers(20)[: len(found)] == found
    assert len(found) >= int(20 * share) - 1
    assert "it has been cut short" in file.end


def test_lines_that_went_missing_in_the_middle_are_told(store: Store, target: Path) -> None:
    store.take_in(some_answers(5), [UNDO])
    export(store, target)
    rows = lines_of(target)
    target.write_text("\n".join(json.dumps(row) for row in rows[:2] + rows[4:]))
    file = ExportFile(target)
    assert 4 == len(list(file.records()))
    assert "its last line says that it has 5 answers and has 3" == file.end
