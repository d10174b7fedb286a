"""`lastbar assignment` and `--assignment`, as a teacher and a player type them."""

import csv
import io
import json
from pathlib import Path

import pytest

from tests.quiz.test_cli import one_line_error, run

ASSIGNMENT = """
id = "thursday-horns"
title = "Thursday with the horns"
devices = ["climb", "fall"]
kinds = ["spell"]
keys = ["F", "Bb"]
tempo = 96
texture = "drums"
a_day = 6
"""


@pytest.fixture
def set_work(tmp_path: Path) -> Path:
    file = tmp_path / "work.toml"
    file.write_text(ASSIGNMENT, encoding="utf-8")
    return file


def answered(folder: Path, file: Path, seed: int = 1, count: int = 3) -> list[dict[str, object]]:
    """What `ask` says when every question is given up."""
    result = run(
        folder,
        *("--assignment", str(file), "ask", "--json", "--seed", str(seed), "--count", str(count)),
        lines="?\n" * count,
    )
    assert 0 == result.returncode, result.stderr
    return [json.loads(line) for line in result.stdout.splitlines()]


def test_a_good_assignment_is_told_in_a_line(tmp_path: Path, set_work: Path) -> None:
    result = run(tmp_path, "assignment", "check", str(set_work))
    assert 0 == result.returncode
    assert "'Thursday with the horns' is good. It asks about 2 items, 6 questions" in result.stdout


def test_every_mistake_of_an_assignment_is_told_on_a_line_of_its_own(tmp_path: Path) -> None:
    file = tmp_path / "bad.toml"
    file.write_text('id = "A B"\ntitle = "x"\ndevices = ["polka"]\na_day = 0\n', encoding="utf-8")
    result = run(tmp_path, "assignment", "check", str(file))
    assert 1 == result.returncode
    assert 3 == len(result.stderr.splitlines())
    assert all(str(file) in line for line in result.stderr.splitlines())
    data = json.loads(run(tmp_path, "assignment", "check", str(file), "--json").stdout)
    assert 3 == len(data["problems"])


@pytest.mark.parametrize("what", ["check", "results", "table"])
def test_a_file_that_is_not_there_is_not_found(tmp_path: Path, what: str) -> None:
    more = ("--out", str(tmp_path / "x.json")) if what == "results" else ()
    result = run(tmp_path, "assignment", what, str(tmp_path / "nowhere"), *more)
    assert "there is no file" in one_line_error(result, 2)


def test_rounds_ask_what_was_set_and_nothing_else(tmp_path: Path, set_work: Path) -> None:
    asked = [row for row in answered(tmp_path, set_work, count=6) if row["event"] == "question"]
    assert {"spell"} == {row["kind"] for row in asked}
    assert {str(row["key"]) for row in asked} <= {"F", "Bb"}


def test_results_go_out_with_the_name_that_was_given_and_come_back_as_a_table(
    tmp_path: Path, set_work: Path
) -> None:
    results = tmp_path / "results"
    results.mkdir()
    for player in ("Dot", "Eddie"):
        answered(tmp_path / player, set_work)
        target = results / f"{player}.json"
        made = run(
            tmp_path / player,
            *("assignment", "results", str(set_work), "--name", player, "--out", str(target)),
        )
        assert 0 == made.returncode, made.stderr
    table = run(tmp_path, "assignment", "table", str(results), "--json")
    players = json.loads(table.stdout)["players"]
    assert {("Dot", 3), ("Eddie", 3)} == {(row["who"], row["answers"]) for row in players}
    rows = list(
        csv.DictReader(
            io.StringIO(run(tmp_path, "assignment", "table", str(results), "--csv").stdout)
        )
    )
    assert {"Dot", "Eddie"} == {row["who"] for row in rows}


def test_a_results_file_says_nothing_that_names_the_player(tmp_path: Path, set_work: Path) -> None:
    answered(tmp_path, set_work)
    target = tmp_path / "out.json"
    run(tmp_path, "assignment", "results", str(set_work), "--out", str(target))
    data = json.loads(target.read_text(encoding="utf-8"))
    assert "" == data["name"]
    assert {"day", "id", "device", "kind", "key", "tempo", "texture", "score", "verdict",
            "seconds", "playings"} == set(data["answers"][0])  # fmt: skip


def test_results_never_write_over_anything_but_results(tmp_path: Path, set_work: Path) -> None:
    answered(tmp_path, set_work)
    target = tmp_path / "diary.json"
    target.write_text('{"dear": "diary"}', encoding="utf-8")
    command = ("assignment", "results", str(set_work), "--out", str(target))
    assert "holds no results" in one_line_error(run(tmp_path, *command), 1)
    assert '{"dear": "diary"}' == target.read_text(encoding="utf-8")
    target.unlink()
    assert 0 == run(tmp_path, *command).returncode
    assert 0 == run(tmp_path, *command).returncode, "later results take the place of earlier ones"


def test_without_answers_there_is_nothing_to_hand_in(tmp_path: Path, set_work: Path) -> None:
    target = str(tmp_path / "out.json")
    result = run(tmp_path, "assignment", "results", str(set_work), "--out", target)
    assert "thursday-horns" in one_line_error(result, 1)


def test_the_program_does_not_open_on_a_wrong_assignment(tmp_path: Path) -> None:
    file = tmp_path / "bad.toml"
    file.write_text('id = "a"\n', encoding="utf-8")
    assert "title" in one_line_error(run(tmp_path, "--assignment", str(file)), 1)
