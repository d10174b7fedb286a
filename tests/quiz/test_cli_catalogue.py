"""The commands with rows that somebody added, run as processes, the way scripts run them."""

import json
import shutil
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from engine.catalogue import builtin_catalogue
from tests.quiz.test_cli import ROOT, one_line_error, run

DEMO = ROOT / "demo" / "catalogue.toml"
WRONG = '[[device]]\nid = "half"\nfamily = "head"\n'
"""An entry without a name."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A user with the example of a teacher as the own catalogue, and one wrong entry in it."""
    own = tmp_path / "config" / "catalogue.toml"
    own.parent.mkdir()
    own.write_text(DEMO.read_text(encoding="utf-8") + WRONG, encoding="utf-8")
    return tmp_path


def told(result: CompletedProcess[str]) -> list[str]:
    """What stands on stderr, a line each, when the command went well all the same."""
    assert 0 == result.returncode, result.stderr
    assert "Traceback" not in result.stderr
    return result.stderr.splitlines()


# --- every command ------------------------------------------------------------------------------


def test_the_own_catalogue_is_always_there_and_what_is_wrong_with_it_is_one_line(
    home: Path,
) -> None:
    result = run(home, "spell", "stab-and-step", "--key", "Eb", "--json")
    (line,) = told(result)
    own = home / "config" / "catalogue.toml"
    assert line.startswith(f"lastbar: {own}: entry 'half', field 'degrees': it is missing")
    # 1 1 b3 4 over Eb, counted by hand
    assert ["Eb", "Eb", "Gb", "Ab"] == json.loads(result.stdout)["notes"]


def test_a_file_that_is_named_counts_for_that_command_alone(tmp_path: Path) -> None:
    named = run(tmp_path, "--catalogue", str(DEMO), "spell", "stab-and-step", "--key", "Eb")
    assert [] == told(named)
    one_line_error(run(tmp_path, "spell", "stab-and-step", "--key", "Eb"), 2)


def test_several_files_may_be_named(tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text('[[form]]\nid = "four"\nname = "four"\nbars = "I7 | IV7 | V7 | I7"\n'
                     'tell = "Short."\nsource = "from memory"\n', encoding="utf-8")  # fmt: skip
    files = ("--catalogue", str(DEMO), "--catalogue", str(other))
    result = run(tmp_path, *files, "devices", "--family", "form", "--json")
    assert [] == told(result)
    assert ["thursday-blues", "four"] == [
        form["id"] for form in json.loads(result.stdout)["forms"][-2:]
    ]


@pytest.mark.parametrize(
    "command",
    [
        (),
        ("devices",),
        ("spell", "climb", "--key", "F"),
        ("hear", "climb", "--key", "F", "--out", "x.mid"),
        ("ask", "--count", "1"),
        ("scores",),
        ("devices", "--check", str(DEMO)),
    ],
)
def test_a_named_file_that_is_not_there_is_not_found(
    tmp_path: Path, command: tuple[str, ...]
) -> None:
    missing = tmp_path / "none.toml"
    error = one_line_error(run(tmp_path, "--catalogue", str(missing), *command), 2)
    assert f"there is no file {missing}" in error
    assert not (tmp_path / "data").exists()


def test_an_added_device_is_played(home: Path) -> None:
    target = home / "walk.mid"
    result = run(home, "hear", "walk-up-six-two", "--key", "Ab", "--out", str(target))
    assert 1 == len(told(result))
    assert b"MThd" == target.read_bytes()[:4]


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        ("walk-up-six-two", "spell"),
        ("stab-and-step", "name"),
        ("horns-last-stop", "name"),
        ("straight-six-two", "name"),
        ("thursday-blues", "form"),
    ],
)
def test_an_added_row_is_asked_about_and_kept(home: Path, row: str, kind: str) -> None:
    clips = str(home / "clips")
    asked = run(
        home, "ask", "--device", row, "--kind", kind, "--count", "1", "--clips", clips, "--json",
        lines="?\n",
    )  # fmt: skip
    assert any("entry 'half'" in line for line in told(asked))
    events = [json.loads(line) for line in asked.stdout.splitlines()]
    assert [True] == [event["kept"] for event in events if event["event"] == "answer"]
    scores = run(home, "scores")
    name = {"thursday-blues": "Thursday blues", "stab-and-step": "stab and step"}.get(row)
    if name:
        assert name in scores.stdout
    data = json.loads(run(home, "scores", "--json").stdout)
    assert [row] == [device["device"] for device in data["devices"]]


def test_scores_of_a_row_that_is_gone_have_its_id(home: Path) -> None:
    run(home, "ask", "--device", "stab-and-step", "--kind", "spell", "--count", "1", lines="?\n")
    assert "stab and step" in run(home, "scores").stdout
    (home / "config" / "catalogue.toml").unlink()
    result = run(home, "scores")
    assert [] == told(result)
    assert "stab-and-step" in result.stdout


# --- devices ------------------------------------------------------------------------------------


def test_devices_lists_forms_beside_the_devices_as_data(home: Path) -> None:
    data = json.loads(run(home, "devices", "--json").stdout)
    builtin = builtin_catalogue()
    assert len(builtin.devices) + 5 == len(data["devices"])
    assert len(builtin.forms) + 1 == len(data["forms"])
    last = data["forms"][-1]
    assert {
        "id": "thursday-blues",
        "name": "Thursday blues",
        "bars": ["I7", "IV7", "I7", "I7", "IV7", "IV7", "I7", "VI7", "IIm7", "V7", "I7", "V7"],
        "minor": False,
        "tell": last["tell"],
        "source": "common practice",
    } == last


def test_devices_of_a_family_are_no_forms_and_the_other_way_round(tmp_path: Path) -> None:
    heads = json.loads(run(tmp_path, "devices", "--family", "head", "--json").stdout)
    assert [] == heads["forms"]
    assert {"head"} == {row["family"] for row in heads["devices"]}
    forms = json.loads(run(tmp_path, "devices", "--family", "form", "--json").stdout)
    assert [] == forms["devices"]
    assert [form.id for form in builtin_catalogue().forms] == [row["id"] for row in forms["forms"]]


def test_forms_are_listed_in_words_when_they_are_asked_for(tmp_path: Path) -> None:
    text = run(tmp_path, "devices", "--family", "form").stdout
    assert "minor-blues" in text
    assert "12 bars  Im7 | Im7 | Im7 | Im7 | IVm7" in text
    assert "minor-blues" not in run(tmp_path, "devices").stdout


# --- devices --check ----------------------------------------------------------------------------


def test_a_good_file_is_counted_and_ends_with_0(tmp_path: Path) -> None:
    result = run(tmp_path, "devices", "--check", str(DEMO))
    assert [] == told(result)
    assert f"Good in {DEMO}: 4 devices, 1 base pattern and 1 form.\n" == result.stdout


def test_a_file_with_problems_ends_with_1_and_a_line_for_each(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    broken = DEMO.read_text(encoding="utf-8").replace('"stab and step"', '"stab and step')
    file.write_text(broken + WRONG, encoding="utf-8")
    result = run(tmp_path, "devices", "--check", str(file))
    assert 1 == result.returncode
    first, second = result.stderr.splitlines()
    line = 1 + broken[: broken.index('name = "stab')].count("\n")
    assert f"(at line {line}, column" in first
    assert f"lastbar: {file}: entry 'half'" in second
    assert f"Good in {file}: 3 devices, 1 base pattern and 1 form.\n" == result.stdout


def test_what_was_checked_is_printed_as_data(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(DEMO.read_text(encoding="utf-8") + WRONG, encoding="utf-8")
    result = run(tmp_path, "devices", "--check", str(file), "--json")
    assert 1 == result.returncode
    data = json.loads(result.stdout)
    assert (str(file), 4, 1, 1) == (
        data["file"], data["devices"], data["base_patterns"], data["forms"],
    )  # fmt: skip
    (problem,) = data["problems"]
    assert f"lastbar: {problem}\n" == result.stderr


def test_the_own_catalogue_can_be_checked_and_is_no_twin_of_itself(home: Path) -> None:
    result = run(home, "devices", "--check", str(home / "config" / "catalogue.toml"))
    assert 1 == result.returncode
    assert 1 == result.stderr.count("\n")
    assert "4 devices" in result.stdout


def test_a_file_is_checked_together_with_those_that_are_named(tmp_path: Path) -> None:
    result = run(tmp_path, "--catalogue", str(DEMO), "devices", "--check", str(_copy(tmp_path)))
    assert 1 == result.returncode
    assert 6 == result.stderr.count("it is used twice: a ")


def _copy(folder: Path) -> Path:
    return Path(shutil.copy(DEMO, folder / "copy.toml"))


def test_a_file_to_check_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    missing = tmp_path / "none.toml"
    assert str(missing) in one_line_error(run(tmp_path, "devices", "--check", str(missing)), 2)


@pytest.mark.parametrize(
    "raw",
    [b"", b"\xff\xfe", b"\0" * 99, b"[" * 99_999, b"x = 1", b"[[device]]", b"#" * 1_000_001],
    ids=["empty", "UTF-16", "zeros", "brackets", "no entry", "no field", "large"],
)
def test_no_file_brings_a_traceback(tmp_path: Path, raw: bytes) -> None:
    file = tmp_path / "mine.toml"
    file.write_bytes(raw)
    result = run(tmp_path, "devices", "--check", str(file))
    assert "Traceback" not in result.stderr
    assert (1 if raw else 0) == result.returncode
    assert bool(raw) == bool(result.stderr)


def test_a_folder_to_check_is_a_problem(tmp_path: Path) -> None:
    one_line_error(run(tmp_path, "devices", "--check", str(tmp_path)), 1)


# --- check --------------------------------------------------------------------------------------


def test_check_says_how_the_own_catalogue_is(home: Path) -> None:
    data = json.loads(run(home, "check", "--json").stdout)
    (row,) = [row for row in data["findings"] if row["name"] == "own catalogue"]
    assert not row["works"]
    assert not row["needed"]
    own = home / "config" / "catalogue.toml"
    assert f"4 devices, 1 base pattern and 1 form in {own}" in row["says"]
    assert f"`lastbar devices --check {own}`" in row["says"]


def test_check_is_silent_about_an_own_catalogue_that_is_not_there(tmp_path: Path) -> None:
    data = json.loads(run(tmp_path, "check", "--json").stdout)
    assert "own catalogue" not in {row["name"] for row in data["findings"]}
