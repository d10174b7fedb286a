"""`lastbar assignment` and `--assignment`, as a teacher and a player type them."""

import csv
import io
import json
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from quiz.teacher.roster import COLUMNS
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


# --- what is wrong --------------------------------------------------------------------------------


def test_a_good_assignment_is_told_as_data_too(tmp_path: Path, set_work: Path) -> None:
    result = run(tmp_path, "assignment", "check", str(set_work), "--json")
    assert {"file": str(set_work), "items": 2, "problems": []} == json.loads(result.stdout)
    assert ("", 0) == (result.stderr, result.returncode)


def test_an_assignment_may_name_rows_of_the_teachers_own_catalogue(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text('id = "own"\ntitle = "T"\ndevices = ["stab-and-step"]\n', encoding="utf-8")
    check = ("assignment", "check", str(file))
    assert "stab-and-step" in one_line_error(run(tmp_path, *check), 1)
    assert 0 == run(tmp_path, "--catalogue", "demo/catalogue.toml", *check).returncode


@pytest.mark.parametrize("content", [b"", b"id = ", b"\xff\xfe", b'id = "a"\nid = "a"\n'])
@pytest.mark.parametrize("use", ["check", "program", "ask"])
def test_a_file_that_is_no_assignment_is_wrong_and_nothing_is_asked(
    tmp_path: Path, content: bytes, use: str
) -> None:
    file = tmp_path / "bad.toml"
    file.write_bytes(content)
    command = {
        "check": ("assignment", "check", str(file)),
        "program": ("--assignment", str(file)),
        "ask": ("--assignment", str(file), "ask", "--json"),
    }[use]
    result = run(tmp_path, *command, lines="?\n")
    assert 1 == result.returncode
    assert "" == result.stdout
    assert "Traceback" not in result.stderr
    assert "bad.toml" in result.stderr


def test_a_folder_is_no_assignment(tmp_path: Path) -> None:
    assert "give a file" in one_line_error(run(tmp_path, "assignment", "check", str(tmp_path)), 1)


@pytest.mark.parametrize("more", [(), ("ask", "--json")])
def test_an_assignment_that_is_not_there_is_not_found(
    tmp_path: Path, more: tuple[str, ...]
) -> None:
    nowhere = str(tmp_path / "nowhere.toml")
    result = run(tmp_path, "--assignment", nowhere, *more, lines="?\n")
    assert 2 == result.returncode
    assert "there is no file" in result.stderr
    assert "" == result.stdout


def test_every_problem_of_a_wrong_assignment_is_told_when_somebody_wants_to_work_at_it(
    tmp_path: Path,
) -> None:
    file = tmp_path / "bad.toml"
    file.write_text('id = "A B"\ntitle = "x"\nkeys = ["H"]\na_day = 0\n', encoding="utf-8")
    error = one_line_error(run(tmp_path, "--assignment", str(file)), 1)
    assert all(f"'{field}'" in error for field in ("id", "keys", "a_day")), error


@pytest.mark.parametrize(
    "arguments", [("assignment",), ("assignment", "burn"), ("assignment", "table")]
)
def test_wrong_use_is_one_line(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    one_line_error(run(tmp_path, *arguments), 1)


# --- rounds ---------------------------------------------------------------------------------------


def test_what_is_heard_has_the_tempo_and_the_players_that_were_set(
    tmp_path: Path, set_work: Path
) -> None:
    work = set_work.read_text(encoding="utf-8").replace('["spell"]', '["name", "write"]')
    set_work.write_text(work, encoding="utf-8")
    arguments = ("ask", "--json", "--count", "6", "--clips", str(tmp_path / "clips"))
    result = run(tmp_path, "--assignment", str(set_work), *arguments, lines="?\n" * 6)
    events = [json.loads(line) for line in result.stdout.splitlines()]
    asked = [row for row in events if row["event"] == "question"]
    assert 6 == len(asked)
    assert {(96.0, "drums")} == {(row["tempo"], row["texture"]) for row in asked}


# --- results --------------------------------------------------------------------------------------


def hand_in(folder: Path, file: Path, target: Path, *more: str) -> CompletedProcess[str]:
    return run(folder, "assignment", "results", str(file), "--out", str(target), *more)


@pytest.mark.parametrize(
    ("out", "more", "told"),
    [
        ("folder.json", (), "holds no results"),  # a folder of that name is there
        ("none/out.json", (), "give a folder you may write to"),
        ("out.txt", (), "ends in .json"),
        ("out.json", ("--name", "x" * 61), "up to 60 characters"),
        ("out.json", ("--name", "a\nb"), "in one line"),
    ],
)
def test_results_that_cannot_be_written_are_told_and_leave_nothing(
    tmp_path: Path, set_work: Path, out: str, more: tuple[str, ...], told: str
) -> None:
    answered(tmp_path, set_work)
    (tmp_path / "folder.json").mkdir()
    assert told in one_line_error(hand_in(tmp_path, set_work, tmp_path / out, *more), 1)
    assert not (tmp_path / out).is_file()


def test_results_hold_the_answers_of_their_assignment_alone(tmp_path: Path, set_work: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(ASSIGNMENT.replace("thursday", "friday"), encoding="utf-8")
    answered(tmp_path, set_work, count=2)
    answered(tmp_path, other, count=3)
    run(tmp_path, "ask", "--kind", "spell", "--count", "1", lines="?\n")
    counts = []
    for file in (set_work, other):
        target = tmp_path / f"{file.stem}.json"
        assert 0 == hand_in(tmp_path, file, target).returncode
        counts.append(len(json.loads(target.read_text(encoding="utf-8"))["answers"]))
    assert [2, 3] == counts


# --- the table ------------------------------------------------------------------------------------


def test_in_a_pipe_the_table_is_csv(tmp_path: Path, set_work: Path) -> None:
    answered(tmp_path, set_work)
    results = tmp_path / "results"
    results.mkdir()
    hand_in(tmp_path, set_work, results / "a.json", "--name", "=1+1")
    plain = run(tmp_path, "assignment", "table", str(results))
    assert run(tmp_path, "assignment", "table", str(results), "--csv").stdout == plain.stdout
    header, *rows = csv.reader(io.StringIO(plain.stdout))
    assert list(COLUMNS) == header
    assert {"'=1+1"} == {row[1] for row in rows}, "no spreadsheet takes the name for a formula"


def test_a_folder_without_results_is_an_empty_table(tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    result = run(tmp_path, "assignment", "table", str(empty), "--csv")
    assert (0, "", 1) == (result.returncode, result.stderr, len(result.stdout.splitlines()))
    data = json.loads(run(tmp_path, "assignment", "table", str(empty), "--json").stdout)
    assert {"players": [], "problems": []} == data


def test_a_file_that_is_no_results_is_named_and_the_others_are_read(
    tmp_path: Path, set_work: Path
) -> None:
    answered(tmp_path, set_work)
    results = tmp_path / "results"
    results.mkdir()
    hand_in(tmp_path, set_work, results / "good.json", "--name", "Dot")
    (results / "bad.json").write_text("{}", encoding="utf-8")
    (results / "notes.txt").write_text("not looked at", encoding="utf-8")
    result = run(tmp_path, "assignment", "table", str(results), "--json")
    assert 0 == result.returncode
    data = json.loads(result.stdout)
    assert ["Dot"] == [row["who"] for row in data["players"]]
    assert 1 == len(data["problems"])
    assert "bad.json" in one_line_error(result, 0)


def test_the_table_says_what_was_right_of_how_many_and_how_sure_that_is(
    tmp_path: Path, set_work: Path
) -> None:
    answered(tmp_path, set_work, count=4)
    results = tmp_path / "results"
    results.mkdir()
    hand_in(tmp_path, set_work, results / "a.json")
    (player,) = json.loads(run(tmp_path, "assignment", "table", str(results), "--json").stdout)[
        "players"
    ]
    assert ("somebody", "thursday-horns", 0, 4, 1, 2, 0) == tuple(
        player[field]
        for field in ("who", "assignment", "right", "answers", "days", "items", "items_done")
    )
    assert 4 == sum(line["answers"] for line in player["lines"])
    # E. B. Wilson, J. Am. Stat. Assoc. 22 (1927), 209-212: for 0 of 4 the upper end of the 95 %
    # interval is z^2 / (n + z^2), z = 1.96
    assert (0.0, pytest.approx(1.96**2 / (4 + 1.96**2), abs=1e-3)) == (
        player["low"],
        player["high"],
    )


def test_a_file_in_place_of_a_folder_is_told(tmp_path: Path, set_work: Path) -> None:
    command = ("assignment", "table", str(set_work), "--json")
    assert "give a folder" in one_line_error(run(tmp_path, *command), 1)


@pytest.mark.parametrize("more", [("--kind", "name"), ("--device", "fall"), ("--key", "A")])
def test_an_assignment_and_limits_of_ones_own_exclude_each_other(
    tmp_path: Path, set_work: Path, more: tuple[str, ...]
) -> None:
    result = run(tmp_path, "--assignment", str(set_work), "ask", *more, lines="?\n")
    error = one_line_error(result, 1)
    assert f"--assignment was given with {more[0]}" in error
    assert "leave the other away" in error


def test_a_placement_excludes_an_assignment_and_limits(tmp_path: Path, set_work: Path) -> None:
    result = run(tmp_path, "--assignment", str(set_work), "ask", "--placement", lines="?\n")
    assert "--assignment was given with --placement" in one_line_error(result, 1)
    result = run(tmp_path, "ask", "--placement", "--kind", "spell", lines="?\n")
    assert "--placement was given with --kind" in one_line_error(result, 1)
