"""`lastbar sheet`, run as a process, the way scripts run it."""

import json
from pathlib import Path

from tests.quiz.test_cli import one_line_error, run


def test_a_sheet_is_printed_as_tablature(tmp_path: Path) -> None:
    result = run(tmp_path, "sheet", "climb+dip", "--key", "A", "--ascii")
    assert 0 == result.returncode, result.stderr
    assert "climb + dip in A" == result.stdout.splitlines()[0]
    assert "degrees   1  3  4  #4    5  b6  5 5  5    1" == result.stdout.splitlines()[-1]


def test_a_chorus_is_chosen_in_words_and_given_as_data(tmp_path: Path) -> None:
    chosen = ("--form", "jazz-blues", "--chorus", "fall+two-five, half-below-into-four@4")
    data = json.loads(run(tmp_path, "sheet", "--key", "Eb", *chosen, "--json").stdout)
    named = {bar["bar"]: bar["devices"] for bar in data["bars"] if bar["devices"]}
    assert {4: ["half step below, into the four"], 11: ["fall + two-five"]} == named
    assert all(8 >= note["start"] + note["length"] for bar in data["bars"] for note in bar["notes"])
    fall = [note["note"] for note in data["bars"][10]["notes"]]
    assert ["Eb", "Db", "C", "Cb"] == fall  # 8 b7 6 b6 over Eb, counted by hand


def test_a_sheet_goes_into_a_file_that_is_not_there_yet(tmp_path: Path) -> None:
    target = tmp_path / "climb.musicxml"
    command = ("sheet", "climb", "--key", "F", "--out", str(target))
    assert f"{target}\n" == run(tmp_path, *command).stdout
    assert target.read_text("utf-8").startswith("<?xml")
    one_line_error(run(tmp_path, *command), 1)
    assert 0 == run(tmp_path, *command, "--force").returncode


def test_wrong_use_is_one_line_that_says_what_to_do(tmp_path: Path) -> None:
    assert "give a device, or --form" in one_line_error(run(tmp_path, "sheet", "--key", "F"), 1)
    one_line_error(run(tmp_path, "sheet", "nothing", "--key", "F"), 2)
    wrong = run(tmp_path, "sheet", "--key", "F", "--chorus", "climb@3")
    assert "starts in bar 11" in one_line_error(wrong, 1)
