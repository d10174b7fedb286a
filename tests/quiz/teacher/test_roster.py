"""The roster: a folder of results as one table, and files written whole."""

import csv
import io
import os
from pathlib import Path
from typing import Any

import pytest

from quiz.errors import FileError, ResultsError
from quiz.files import free_name, write_whole
from quiz.history.store import open_store
from quiz.learning.memory import Item
from quiz.progress.counts import wilson
from quiz.teacher import roster as roster_module
from quiz.teacher.assignment import Assignment
from quiz.teacher.results import Results, as_text, results_of
from quiz.teacher.roster import COLUMNS, Line, PlayerLine, Roster, as_csv, read_folder, roster_of
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer

HORNS = Assignment("horns", "Horns", items=24)


def handed_in(*numbers: int, name: str = "Ada", assignment: str = "horns", **more: Any) -> Results:
    answers = [an_answer(number, assignment=assignment, **more) for number in numbers]
    return results_of(Assignment(assignment, "T", items=24), answers, name)


def put(folder: Path, file: str, results: Results) -> None:
    (folder / file).write_text(as_text(results), encoding="utf-8")


def rows_of(roster: Roster) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(as_csv(roster)), strict=True))


# --- the table ------------------------------------------------------------------------------------


def test_a_player_has_a_line_an_item_and_one_of_all() -> None:
    answers = [
        *(an_answer(number, FIRST_DAY, assignment="horns") for number in range(3)),
        a_wrong_answer(3, FIRST_DAY + 2, assignment="horns"),
        an_answer(4, FIRST_DAY + 1, assignment="horns", device="dip", kind="spell"),
        an_answer(
            5, FIRST_DAY, assignment="horns", device="dip", kind="spell", verdict="partly right"
        ),
    ]
    (player,) = roster_of([results_of(HORNS, answers, "Ada")]).players
    climb = Line(Item("climb", "name"), right=3, answers=4, last_day=FIRST_DAY + 2)
    dip = Line(Item("dip", "spell"), right=1, answers=2, last_day=FIRST_DAY + 1)
    assert PlayerLine("Ada", "horns", days=3, items=24, lines=(climb, dip)) == player
    assert (4, 6, FIRST_DAY + 2) == (player.right, player.answers, player.last_day)
    assert (1, [True, False]) == (player.done, [line.done for line in player.lines])
    assert (wilson(4, 6), wilson(3, 4)) == (player.interval, climb.interval)
    assert (4 / 6, 3 / 4) == (player.share, climb.share)


def test_players_stand_by_assignment_and_then_by_name_whatever_the_case() -> None:
    files = [
        handed_in(1, name="cleo", assignment="reeds"),
        handed_in(2, name="ben", assignment="horns"),
        handed_in(3, name="Ada", assignment="reeds"),
        handed_in(4, name="Cy", assignment="horns"),
    ]
    assert ["ben", "Cy", "Ada", "cleo"] == [player.who for player in roster_of(files).players]


def test_players_of_one_name_get_numbers() -> None:
    files = [handed_in(number, name=name) for number, name in enumerate(["", "Ada", "", "Ada"])]
    assert ["Ada", "Ada (2)", "somebody", "somebody (2)"] == [
        player.who for player in roster_of(files).players
    ]


def test_a_name_that_looks_numbered_is_not_taken_twice() -> None:
    files = [handed_in(number, name=name) for number, name in enumerate(["Ada", "Ada", "Ada (2)"])]
    assert 3 == len({player.who for player in roster_of(files).players})


def test_two_files_of_a_player_are_one_line() -> None:
    (player,) = roster_of([handed_in(1, 2), handed_in(1, 2, 3)]).players
    assert 3 == player.answers


def test_other_names_over_the_same_answers_are_remarked_on() -> None:
    roster = roster_of([handed_in(1, 2, name="Ada"), handed_in(2, 3, name="Ben")])
    assert 1 == len(roster.players)
    (problem,) = roster.problems
    assert problem.startswith("'Ada', 'Ben' handed in the same answers")


def test_items_that_the_assignment_has_lost_count_all_the_same() -> None:
    small = results_of(
        Assignment("horns", "H", items=1),
        [
            an_answer(1, assignment="horns"),
            an_answer(2, assignment="horns", device="dip"),
        ],
        "Ada",
    )
    assert [2] == [player.items for player in roster_of([small]).players]


# --- the spreadsheet ------------------------------------------------------------------------------


def test_the_spreadsheet_has_a_row_a_player_and_then_its_items() -> None:
    rows = rows_of(roster_of([handed_in(1, 2, 3, 4)]))
    assert list(COLUMNS) == list(rows[0])
    low, high = wilson(4, 4)
    counts = {
        **{"right": "4", "answers": "4", "share": "1.0", "last_day": "2024-10-04"},
        **{"low": str(round(low, 4)), "high": str(round(high, 4))},
    }
    head = {"assignment": "horns", "who": "Ada"}
    assert [
        {**head, "device": "", "kind": "", **counts, "days": "1", "done": "1", "items": "24"},
        {**head, "device": "climb", "kind": "name", **counts, "days": "", "done": "", "items": ""},
    ] == rows


@pytest.mark.parametrize("name", ["=HYPERLINK(1)", "+1", "-1", "@sum", "=1+1\";'x"])
def test_a_name_that_would_be_a_formula_has_an_apostrophe_in_front(name: str) -> None:
    assert {f"'{name}"} == {row["who"] for row in rows_of(roster_of([handed_in(1, name=name)]))}


@pytest.mark.parametrize("name", ["Ada", "a=b", "Zoë", 'Ada "the bass"', "Ada, bass", "'Ada"])
def test_any_other_name_stays_as_it_is(name: str) -> None:
    assert {name} == {row["who"] for row in rows_of(roster_of([handed_in(1, name=name)]))}


def test_a_name_begins_no_cell_where_a_semicolon_parts_cells() -> None:
    # spreadsheets of many countries part cells at semicolons [common practice, no source]
    table = as_csv(roster_of([handed_in(1, name='Ada";=1+1;=2')]))
    cells = [cell for row in csv.reader(io.StringIO(table), delimiter=";") for cell in row]
    assert not [cell for cell in cells if cell.startswith("=")]


def test_an_empty_roster_has_the_headings_alone() -> None:
    assert [] == rows_of(Roster(()))
    assert 1 == len(as_csv(Roster(())).splitlines())


# --- folders --------------------------------------------------------------------------------------


def test_a_folder_is_read_and_other_files_are_left_alone(tmp_path: Path) -> None:
    put(tmp_path, "ada.json", handed_in(1))
    put(tmp_path, "BEN.JSON", handed_in(2, name="Ben"))
    (tmp_path / "notes.txt").write_text("not results", encoding="utf-8")
    (tmp_path / "more").mkdir()
    put(tmp_path / "more", "cleo.json", handed_in(3, name="Cleo"))
    assert roster_of([handed_in(1), handed_in(2, name="Ben")]) == read_folder(tmp_path)


def test_a_wrong_file_is_named_and_the_rest_is_read(tmp_path: Path) -> None:
    put(tmp_path, "b.json", handed_in(1))
    (tmp_path / "a.json").write_text("{}", encoding="utf-8")
    (tmp_path / "c.json").write_bytes(b"\xff")
    roster = read_folder(tmp_path)
    assert ["Ada"] == [player.who for player in roster.players]
    assert ["a.json", "c.json"] == sorted(
        name for name in ("a.json", "b.json", "c.json") if any(name in p for p in roster.problems)
    )


def test_links_folders_and_pipes_are_passed_over_with_a_remark(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    inside = tmp_path / "inside"
    outside.mkdir()
    inside.mkdir()
    put(outside, "ada.json", handed_in(1))
    (inside / "link.json").symlink_to(outside / "ada.json")
    (inside / "folder.json").mkdir()
    expected = {"folder.json is no plain file", "link.json is a link"}
    if hasattr(os, "mkfifo"):
        os.mkfifo(inside / "pipe.json")
        expected.add("pipe.json is no plain file")
    roster = read_folder(inside)
    assert () == roster.players
    assert expected == {problem.split(":")[0] for problem in roster.problems}


def test_a_file_name_with_control_characters_is_shown_without_them(tmp_path: Path) -> None:
    (tmp_path / "\x1b[2J.json").write_text("{}", encoding="utf-8")
    (problem,) = read_folder(tmp_path).problems
    assert problem.isprintable()


def test_a_folder_with_too_many_files_is_read_up_to_the_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(roster_module, "MOST_FILES", 2)
    for number, name in enumerate(("a", "b", "c")):
        put(tmp_path, f"{name}.json", handed_in(number, name=name))
    roster = read_folder(tmp_path)
    assert ["a", "b"] == [player.who for player in roster.players]
    assert "3 files: only the first 2 by name were read" in roster.problems[0]


def test_a_folder_with_too_much_in_it_is_read_up_to_the_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number, name in enumerate(("a", "b", "c")):
        put(tmp_path, f"{name}.json", handed_in(number, name=name))
    monkeypatch.setattr(roster_module, "MOST_BYTES", 2 * (tmp_path / "a.json").stat().st_size)
    roster = read_folder(tmp_path)
    assert ["a", "b"] == [player.who for player in roster.players]
    assert "c.json and what comes after it was not read" in roster.problems[0]


def test_a_folder_that_cannot_be_read_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(ResultsError, match="give a folder with results files"):
        read_folder(tmp_path / "none")


# --- writing --------------------------------------------------------------------------------------


def test_a_file_is_written_whole_with_its_line_ends(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.csv", "Zoë\n")
    write_whole(tmp_path / "a.csv", "Ada\n")
    assert b"Ada\n" == (tmp_path / "a.csv").read_bytes()
    assert ["a.csv"] == os.listdir(tmp_path)


def test_a_link_is_replaced_and_what_it_leads_to_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "kept").write_text("kept", encoding="utf-8")
    (tmp_path / "a.csv").symlink_to(tmp_path / "kept")
    write_whole(tmp_path / "a.csv", "new")
    assert "kept" == (tmp_path / "kept").read_text(encoding="utf-8")
    assert not (tmp_path / "a.csv").is_symlink()


@pytest.mark.parametrize("place", ["none/a.csv", "folder"])
def test_where_nothing_can_be_written_nothing_is_left_behind(tmp_path: Path, place: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(ResultsError, match="give a folder you may write to"):
        write_whole(tmp_path / place, "text")
    assert ["folder"] == os.listdir(tmp_path)


def test_a_name_that_is_taken_gets_the_first_free_number(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    assert path == free_name(path)
    path.touch()
    (tmp_path / "a-2.csv").symlink_to(tmp_path / "nowhere")
    assert tmp_path / "a-3.csv" == free_name(path)


def test_nothing_is_written_over_a_history(tmp_path: Path) -> None:
    history = tmp_path / "history.db"
    open_store(history).close()
    before = history.read_bytes()
    with pytest.raises(FileError, match="give another name"):
        write_whole(history, "text")
    assert before == history.read_bytes()
    assert [history] == list(tmp_path.iterdir())
