"""`lastbar keep`: what it prints, what it leaves behind, and its exit codes."""

import io
import json
import re
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from engine.errors import amount
from quiz.answers import INVENTED, Answer
from quiz.cli import main
from quiz.history.backups import newest_sound_backup
from quiz.history.exchange import export
from quiz.history.exchange_fields import ANSWER_FIELDS, UNDO_FIELDS
from quiz.history.store import open_store
from quiz.history.unsaved import write_unsaved
from tests.quiz.histories import an_answer
from tests.quiz.history.test_store import keep, some_answers

NOISE = b"this is no database" * 500


@dataclass
class Result:
    """What a command came to."""

    code: int
    out: str
    error: str

    @property
    def data(self) -> Any:
        """What `--json` printed: one line."""
        (line,) = self.out.splitlines()
        return json.loads(line)


class Machine:
    """A machine with a history of its own."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch, caught: pytest.CaptureFixture[str]):
        self.folder, self._patch, self._caught = folder, patch, caught
        self.history = folder / "data" / "history.db"
        self.backups = folder / "data" / "backups"
        folder.mkdir(parents=True)

    def answer(self, answers: list[Answer]) -> None:
        with closing(open_store(self.history)) as store:
            keep(store, answers)

    def answers(self) -> list[Answer]:
        with closing(open_store(self.history)) as store:
            return list(store.answers())

    def keep(self, *arguments: str | Path, typed: str | None = None) -> Result:
        """Run `lastbar keep`; `typed` is what somebody types at a terminal."""
        self._patch.setenv("LASTBAR_CONFIG", str(self.folder / "config"))
        self._patch.setenv("LASTBAR_DATA", str(self.folder / "data"))
        lines = io.StringIO(typed or "")
        lines.isatty = lambda: typed is not None  # type: ignore[method-assign]  # a terminal to sit at
        self._patch.setattr("sys.stdin", lines)
        code = main(["keep", *map(str, arguments)])
        out, error = self._caught.readouterr()
        return Result(code, out, error)


@pytest.fixture
def here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Machine:
    machine = Machine(tmp_path / "here", monkeypatch, capsys)
    machine.answer(some_answers(30))
    return machine


@pytest.fixture
def there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Machine:
    machine = Machine(tmp_path / "there", monkeypatch, capsys)
    machine.answer(some_answers(30, 20))
    return machine


# --- copies ---------------------------------------------------------------------------------------


def test_a_backup_holds_what_has_been_answered_up_to_now(here: Machine) -> None:
    first = here.keep("backup", "--json").data
    here.answer(some_answers(5, 100))
    second = here.keep("backup", "--json").data
    assert [30, 35] == [first["answers"], second["answers"]]
    assert "Backed up: 35 answers in" in here.keep("backup").out
    listed = here.keep("list", "--json").data["backups"]
    assert [30, 35, 35] == sorted(copy["answers"] for copy in listed)
    assert {first["backup"], second["backup"]} < {copy["file"] for copy in listed}
    assert all(copy["sound"] and copy["why"] == "asked for" for copy in listed)
    assert "asked for" in here.keep("list").out


def test_without_answers_there_is_nothing_to_back_up(tmp_path: Path, here: Machine) -> None:
    here.keep("fresh")
    result = here.keep("backup")
    assert (1, "lastbar: there are no answers to back up yet\n") == (result.code, result.error)


def test_what_waits_beside_the_history_is_backed_up_too(here: Machine) -> None:
    write_unsaved([an_answer(700)], here.folder / "config" / "unsaved.jsonl")
    assert 31 == here.keep("backup", "--json").data["answers"]


def test_without_backups_the_list_says_when_there_will_be_some(here: Machine) -> None:
    result = here.keep("list")
    assert 0 == result.code
    assert "each day's first start makes one" in result.out
    assert {"backups": []} == here.keep("list", "--json").data


def test_restoring_takes_the_fullest_copy_and_what_can_still_be_read(here: Machine) -> None:
    here.keep("backup")
    here.answer(some_answers(5, 100))
    result = here.keep("restore", "--json").data
    assert (35, 5) == (result["answers"], result["saved"])
    assert Path(result["aside"]).exists()
    assert 35 == len(here.answers())


def test_restoring_a_damaged_history_says_what_became_of_it(here: Machine) -> None:
    here.keep("backup")
    here.history.write_bytes(NOISE)
    result = here.keep("restore")
    assert 0 == result.code
    assert "30 answers." in result.out
    assert "history.db.damaged-1; 0 answers of it were taken over" in result.out
    assert some_answers(30) == here.answers()


def test_restoring_what_is_not_there_is_not_found(here: Machine, tmp_path: Path) -> None:
    assert 2 == here.keep("restore").code
    assert 2 == here.keep("restore", tmp_path / "none.db").code


def test_fresh_sets_aside_and_begins_anew_also_where_only_a_journal_is_left(here: Machine) -> None:
    here.history.unlink()
    here.history.with_name("history.db-journal").write_bytes(b"half a transaction")
    aside = here.keep("fresh", "--json").data["aside"]
    assert b"half a transaction" == Path(f"{aside}-journal").read_bytes()
    assert [] == here.answers()


# --- check ----------------------------------------------------------------------------------------


def test_a_sound_history_is_said_to_be_sound_in_plain_words(here: Machine) -> None:
    here.keep("backup")
    result = here.keep("check")
    assert (0, "") == (result.code, result.error)
    first, *others = result.out.splitlines()
    assert f"{here.history}: sound" == first
    assert "  answers         30, 0 of them taken back" in others
    assert "  practice days   3, 2024-10-04 to 2024-10-06" in others
    data = here.keep("check", "--json").data
    assert (True, [], 30, "2024-10-04") == (
        data["sound"],
        data["problems"],
        data["answers"],
        data["first_day"],
    )


def test_a_damaged_history_is_told_with_what_to_do_and_left(here: Machine) -> None:
    here.history.write_bytes(NOISE)
    result = here.keep("check")
    assert 1 == result.code
    assert "NOT SOUND" in result.out
    assert "`lastbar keep restore`" in result.error
    assert NOISE == here.history.read_bytes()
    assert 1 == here.keep("check", "--json").code


def test_what_did_not_follow_from_the_answers_is_made_anew(here: Machine) -> None:
    with closing(sqlite3.connect(here.history)) as connection, connection:
        connection.execute("UPDATE item_state SET stability = 123.0")
    result = here.keep("check")
    assert 1 == result.code
    assert "it has been worked out anew" in result.error
    assert 0 == here.keep("check").code


def test_without_a_history_there_is_nothing_to_check(here: Machine) -> None:
    here.history.unlink()
    result = here.keep("check")
    assert 2 == result.code
    assert "there is no history" in result.error


# --- export and import ----------------------------------------------------------------------------


def test_what_is_exported_here_is_imported_there(
    here: Machine, there: Machine, tmp_path: Path
) -> None:
    file = tmp_path / "answers.jsonl"
    assert {"file": str(file), "answers": 30, "undos": 0} == here.keep(
        "export", file, "--json"
    ).data
    result = there.keep("import", file, "--json").data
    assert (True, 20, 10) == (result["taken_in"], result["new_answers"], result["known"])
    assert {"0123456789ab": 20} == result["origins"]
    assert some_answers(50) == there.answers()
    assert "Nothing new" in there.keep("import", file).out


def test_a_file_with_bad_lines_is_imported_but_for_those(here: Machine, tmp_path: Path) -> None:
    file = tmp_path / "answers.jsonl"
    with closing(open_store(tmp_path / "other.db")) as store:
        store.take_in(some_answers(3, 500))
        export(store, file)
    head, first, second, third, end = file.read_text().splitlines()
    mood = json.dumps(json.loads(third) | {"mood": "blue"})
    file.write_text("\n".join([head, first, second[:50], "", mood, end]))
    result = here.keep("import", file)
    assert 1 == result.code
    assert "  2 answers, 2024-11-23 to 2024-11-23" in result.out.splitlines()
    assert [
        f"lastbar: {file}, line 3: it is no JSON, or has been cut short",
        f"lastbar: {file}: the field 'mood' is unknown and was left out, in 1 line",
    ] == result.error.splitlines()
    assert 32 == len(here.answers())


def test_a_history_is_no_file_of_answers(here: Machine, there: Machine) -> None:
    result = here.keep("import", there.history)
    assert 1 == result.code
    assert "is no file of answers" in result.error
    assert 30 == len(here.answers())


def test_a_file_that_is_not_there_is_not_found(here: Machine, tmp_path: Path) -> None:
    assert 2 == here.keep("import", tmp_path / "none.jsonl").code
    assert 2 == here.keep("merge", tmp_path / "none.db").code
    assert 1 == here.keep("export", tmp_path / "none" / "none.jsonl").code


def test_an_export_leaves_what_is_there_alone_unless_forced(here: Machine, tmp_path: Path) -> None:
    file = tmp_path / "mine.txt"
    file.write_text("a song")
    result = here.keep("export", file)
    assert 1 == result.code
    assert "is there already" in result.error
    assert "a song" == file.read_text()
    assert 0 == here.keep("export", file, "--force").code
    assert "Nothing new" in here.keep("import", file).out


@pytest.mark.parametrize("force", [(), ("--force",)])
def test_an_export_is_never_written_over_a_history(here: Machine, force: tuple[str, ...]) -> None:
    result = here.keep("export", here.history, *force)
    assert 1 == result.code
    assert "give another name" in result.error
    assert 30 == len(here.answers())


def test_a_missing_backup_is_told_with_what_to_do(here: Machine) -> None:
    result = here.keep("restore", "none.db")
    assert 2 == result.code
    assert "`lastbar keep list`" in result.error


def test_the_help_of_export_explains_every_field(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["keep", "export", "--help"])
    assert 0 == ended.value.code
    shown = capsys.readouterr().out
    for field in (*ANSWER_FIELDS, *UNDO_FIELDS):
        assert f"\n  {field.name} " in shown
        assert field.says in shown


# --- merge ----------------------------------------------------------------------------------------


def test_a_dry_run_says_what_would_come_in_and_changes_nothing(
    here: Machine, there: Machine
) -> None:
    before = here.history.read_bytes()
    result = here.keep("merge", there.history, "--dry-run")
    assert 0 == result.code
    assert [
        f"New in {there.history}:",
        "  20 answers, 2024-10-07 to 2024-10-08",
        "    20 recorded by the installation 0123456789ab",
        "  10 records are here already",
    ] == result.out.splitlines()
    assert before == here.history.read_bytes()
    assert not here.backups.exists()


def test_a_merge_makes_a_backup_first_and_a_second_one_changes_nothing(
    here: Machine, there: Machine
) -> None:
    result = here.keep("merge", there.history, "--json").data
    assert some_answers(50) == here.answers()
    with closing(open_store(Path(result["backup"]))) as before:
        assert some_answers(30) == list(before.answers())
    content = here.history.read_bytes()
    again = here.keep("merge", there.history, "--json").data
    assert (False, 0, 30, None) == (
        again["taken_in"],
        again["new_answers"],
        again["known"],
        again["backup"],
    )
    assert content == here.history.read_bytes()
    assert 1 == len(list(here.backups.iterdir()))
    assert "equals a replay" in here.keep("check").out


@pytest.mark.parametrize(
    ("typed", "options", "count"),
    [("y\n", (), 50), ("\n", (), 30), ("", (), 30), ("no\n", (), 30), ("", ("--yes",), 50)],
)
def test_at_a_terminal_it_is_asked_before_anything_comes_in(
    here: Machine, there: Machine, typed: str, options: tuple[str, ...], count: int
) -> None:
    result = here.keep("merge", there.history, *options, typed=typed)
    assert 0 == result.code
    assert ("Take them in?" in result.out) == (not options)
    assert ("They are in the history now." in result.out) == (count == 50)
    assert 1 == result.out.count("20 answers")
    assert count == len(here.answers())


def test_both_ways_of_merging_end_in_the_same(here: Machine, there: Machine) -> None:
    here.keep("merge", there.history)
    there.keep("merge", here.history)
    assert here.answers() == there.answers() == some_answers(50)


def test_invented_answers_are_told_and_stay_out(here: Machine, tmp_path: Path) -> None:
    demo = tmp_path / "demo.db"
    with closing(open_store(demo)) as store:
        store.take_in([an_answer(800, origin=INVENTED)])
    result = here.keep("merge", demo)
    assert 1 == result.code
    assert "1 answer is invented" in result.error
    assert some_answers(30) == here.answers()
    assert 1 == here.keep("restore", demo).code
    assert some_answers(30) == here.answers()


def test_a_damaged_history_of_one_s_own_takes_nothing_in(here: Machine, there: Machine) -> None:
    here.keep("backup")
    here.history.write_bytes(NOISE)
    result = here.keep("merge", there.history)
    assert 1 == result.code
    assert "keep restore" in result.error
    assert NOISE == here.history.read_bytes()
    assert newest_sound_backup(here.backups) is not None


# --- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("expected", "count", "words"),
    [
        ("1 answer", 1, ("answer",)),
        ("2 answers", 2, ("answer",)),
        ("0 answers", 0, ("answer",)),
        ("1 record is", 1, ("record is", "records are")),
        ("2 records are", 2, ("record is", "records are")),
    ],
)
def test_what_is_one_is_not_said_as_if_it_were_many(
    expected: str, count: int, words: tuple[str, ...]
) -> None:
    assert expected == amount(count, *words)


def test_no_command_speaks_of_one_thing_as_of_many(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    single = Machine(tmp_path / "single", monkeypatch, capsys)
    single.answer(some_answers(1))
    fresh = Machine(tmp_path / "fresh", monkeypatch, capsys)
    file = tmp_path / "one.jsonl"
    said = [
        single.keep("backup").out,
        single.keep("list").out,
        single.keep("check").out,
        single.keep("restore").out,
        single.keep("export", file).out,
        fresh.keep("import", file).out,
        fresh.keep("merge", single.history).out,
    ]
    assert all(re.search(r"\b1 (answer|record|installation)\b", words) for words in said)
    for words in said:
        assert not re.search(r"\b1 (\w+ )?\w+s\b(?<!is)(?<!was)", words), words
