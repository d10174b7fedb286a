"""Assignments: reading the file, what it leaves to ask, and how far a player has come."""

import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from engine.catalogue import builtin_catalogue
from engine.textures import Texture
from engine.theory import PLAYED_KEYS
from quiz.errors import AssignmentError, QuestionError
from quiz.learning.material import Given, Only, items_within
from quiz.learning.memory import Item
from quiz.questions.kinds import Kind
from quiz.teacher.assignment import (
    Assignment,
    Tally,
    assigned_items,
    how_far,
    limits,
    load_assignment,
    read_assignment,
)
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer

CATALOGUE = builtin_catalogue()
DEMO = Path(__file__).parents[3] / "demo" / "assignment.toml"
HEAD = 'id = "flat-keys"\ntitle = "Flat keys"\n'


def read(text: str) -> Assignment:
    return read_assignment(text, "flat.toml", CATALOGUE)


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(AssignmentError) as caught:
        read(text)
    return caught.value.problems


def keys_of(assignment: Assignment) -> list[str]:
    return [str(key) for key in assignment.keys]


# --- reading --------------------------------------------------------------------------------------


def test_an_id_and_a_title_are_enough_and_mean_all_there_is() -> None:
    assignment = read(HEAD)
    everything = items_within(Only(), CATALOGUE)
    assert Assignment("flat-keys", "Flat keys", items=len(everything)) == assignment
    assert everything == assigned_items(assignment, CATALOGUE)


def test_every_field_is_read() -> None:
    assignment = read(
        HEAD
        + """
        note = "Slowly."
        devices = ["climb", "quick-change"]
        families = ["tail"]
        kinds = ["name", "form"]
        keys = ["F", "Bb"]
        tempo = [80, 120.5]
        texture = "drums"
        a_day = 20
        until = 2026-12-10
        """
    )
    tails = sum(device.family.value == "tail" for device in CATALOGUE.devices)
    expected = Assignment(
        id="flat-keys",
        title="Flat keys",
        note="Slowly.",
        devices=("climb", "quick-change"),
        families=("tail",),
        kinds=(Kind.NAME, Kind.FORM),
        keys=(PLAYED_KEYS[5], PLAYED_KEYS[10]),
        tempo=(80.0, 120.5),
        texture=Texture.DRUMS,
        a_day=20,
        until=date(2026, 12, 10),
        items=2 + tails,
    )
    assert expected == assignment


def test_the_assignment_that_comes_with_the_program_is_sound() -> None:
    assignment = load_assignment(DEMO, CATALOGUE)
    assert "thursday-horns" == assignment.id
    assert ["F", "Bb", "Eb", "Ab"] == keys_of(assignment)
    assert assignment.items == len(assigned_items(assignment, CATALOGUE))


def test_one_text_stands_for_a_list_of_one() -> None:
    assert ("climb",) == read(HEAD + 'devices = "climb"').devices


def test_one_tempo_is_both_ends() -> None:
    assert (96.0, 96.0) == read(HEAD + "tempo = 96").tempo


def test_what_stands_twice_in_a_list_is_there_once() -> None:
    assignment = read(HEAD + 'devices = ["fall", "climb", "fall"]\nkeys = ["F#", "Gb"]')
    assert ("fall", "climb") == assignment.devices
    assert ["Gb"] == keys_of(assignment)


def test_an_empty_list_limits_nothing() -> None:
    assert read(HEAD) == read(HEAD + "devices = []\nkeys = []\nkinds = []\nfamilies = []")


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ('id = "Flat Keys"', "small letters"),
        ('id = "a--b"', "small letters"),
        ('id = ""', "small letters"),
        (f'id = "{"a" * 41}"', "up to 40 characters"),
        ("id = 7", "small letters"),
        ('title = ""', "one line of up to 80"),
        ('title = " "', "one line of up to 80"),
        (f'title = "{"a" * 81}"', "one line of up to 80"),
        ('title = "red \\u001b[31m"', "one line of up to 80"),
        ('title = """two\nlines"""', "one line of up to 80"),
        ('title = "left \\u202e right"', "one line of up to 80"),
        ('note = "two\\nlines"', "one line of up to 200"),
        ('devices = ["clim"]', "did you mean 'climb'"),
        ('devices = ["climb+dip"]', "no such device"),
        ('devices = ["walking"]', "base pattern"),
        ("devices = [1]", "a list of texts"),
        pytest.param(f"devices = [{'0,' * 501}]", "up to 500", id="many devices"),
        ('families = ["base"]', "head, pickup, tail, ending, form"),
        ('families = ["turnaround"]', "head, pickup, tail, ending, form"),
        ('kinds = ["jam"]', "name, write, spell, place, find, fit, form"),
        ('keys = ["H"]', "C, Db, D, Eb"),
        ('keys = ["Am"]', "C, Db, D, Eb"),
        ("keys = [[]]", "C, Db, D, Eb"),
        ("tempo = 49", "from 50 to 220"),
        ("tempo = 221", "from 50 to 220"),
        ("tempo = [120, 80]", "the lower one first"),
        ("tempo = [80]", "from 50 to 220"),
        ("tempo = [80, 90, 100]", "from 50 to 220"),
        ("tempo = nan", "from 50 to 220"),
        ("tempo = inf", "from 50 to 220"),
        pytest.param(f"tempo = 1{'0' * 400}", "from 50 to 220", id="a tempo beyond floats"),
        ("tempo = true", "true was given"),
        ('tempo = "80"', "from 50 to 220"),
        ('texture = "solo"', "bass, drums, band"),
        ('texture = ["bass"]', "bass, drums, band"),
        ("a_day = 0", "1 to 400"),
        ("a_day = 401", "1 to 400"),
        ("a_day = true", "1 to 400"),
        ("a_day = 12.0", "1 to 400"),
        ('until = "2026-12-10"', "a date without quotes"),
        ("until = 2026-12-10T20:00:00", "without a time"),
        ("until = 20:00:00", "a date"),
    ],
)
def test_a_wrong_value_is_told_with_file_field_and_what_is_allowed(field: str, said: str) -> None:
    name = field.split(" ")[0]
    fields = {"id": 'id = "a"', "title": 'title = "b"'} | {name: field}
    (problem,) = problems("\n".join(fields.values()))
    assert problem.startswith(f"flat.toml: field '{name}': ")
    assert said in problem
    assert problem.isprintable()


@pytest.mark.parametrize("name", ["id", "title"])
def test_a_field_that_has_to_be_there_is_missed(name: str) -> None:
    text = "\n".join(line for line in HEAD.splitlines() if not line.startswith(name))
    (problem,) = problems(text)
    assert problem.startswith(f"flat.toml: field '{name}': it is missing")


def test_an_unknown_field_is_refused_with_those_there_are() -> None:
    (problem,) = problems(HEAD + "key = 'F'")
    assert "flat.toml: there is no field 'key': the fields are id, title, note, devices" in problem


def test_a_heading_is_refused_with_where_to_write_instead() -> None:
    found = problems('[[assignment]]\nid = "a"\ntitle = "b"')
    assert 3 == len(found)
    assert "without headings in [ ]" in found[-1]


def test_all_mistakes_of_a_file_are_told_at_once() -> None:
    found = problems('id = "A"\ntempo = 9\nkeys = ["H"]\nwhat = 1')
    assert ["id", "title", "keys", "tempo", "what"] == [line.split("'")[1] for line in found]
    with pytest.raises(AssignmentError, match=r"field 'id'.*field 'tempo'"):
        read('id = "A"\ntempo = 9')


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("id = ", "not readable as TOML"),
        ('id = "a"\nid = "b"', "not readable as TOML"),
        pytest.param(f"a_day = {'9' * 3900}", "1 to 400", id="a long number"),
        ("\x00", "not readable as TOML"),
        pytest.param("x = " + "[" * 3000, "brackets stand too deep", id="deep"),
        pytest.param("#" * 64_001, "64 kB", id="large"),
        pytest.param(".".join("a" * 30_000) + " = 1", "line 1 is too long", id="many dots"),
    ],
)
def test_what_is_no_assignment_is_told_in_one_line(text: str, said: str) -> None:
    found = problems(text)
    assert any(said in problem for problem in found)
    assert all(problem.startswith("flat.toml: ") and problem.isprintable() for problem in found)


def test_a_file_name_with_control_characters_is_shown_without_them() -> None:
    with pytest.raises(AssignmentError, match=r"^�\[2J\.toml: "):
        read_assignment("", "\x1b[2J.toml", CATALOGUE)


def test_rows_that_cannot_be_asked_in_the_kinds_are_told_when_nothing_is_left() -> None:
    # "stay on one" does nothing, so there is nothing to spell
    (problem,) = problems(HEAD + 'devices = ["stay-on-one"]\nkinds = ["spell"]')
    assert "flat.toml: nothing of assignment 'flat-keys' can be asked" in problem


# --- files ----------------------------------------------------------------------------------------


def test_a_byte_order_mark_in_front_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "flat.toml"
    path.write_bytes(b"\xef\xbb\xbf" + HEAD.encode())
    assert read(HEAD) == load_assignment(path, CATALOGUE)


def test_lines_may_end_as_on_any_system(tmp_path: Path) -> None:
    path = tmp_path / "flat.toml"
    path.write_bytes(HEAD.replace("\n", "\r\n").encode())
    assert read(HEAD) == load_assignment(path, CATALOGUE)


@pytest.mark.parametrize(
    ("content", "said"), [(b"\xff\xfe", "no text in UTF-8"), (b"#" * 64_001, "too large")]
)
def test_a_file_that_is_no_small_text_is_refused(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "flat.toml"
    path.write_bytes(content)
    with pytest.raises(AssignmentError, match=said):
        load_assignment(path, CATALOGUE)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(AssignmentError, match="No such file"):
        load_assignment(tmp_path / "none.toml", CATALOGUE)
    with pytest.raises(AssignmentError, match=r"cannot be read|no plain file"):
        load_assignment(tmp_path, CATALOGUE)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_that_nobody_writes_to_does_not_hang(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(AssignmentError, match="no plain file"):
        load_assignment(tmp_path / "pipe.toml", CATALOGUE)


# --- what is left to ask --------------------------------------------------------------------------


def test_devices_and_families_add_up() -> None:
    assignment = read(HEAD + 'devices = ["climb"]\nfamilies = ["ending"]\nkinds = ["name"]')
    endings = {device.id for device in CATALOGUE.devices if device.family.value == "ending"}
    assert {"climb", *endings} == {item.device for item in assigned_items(assignment, CATALOGUE)}


def test_forms_are_items_of_the_kind_that_calls_them() -> None:
    forms = {Item(form.id, "form") for form in CATALOGUE.forms}
    assert forms == set(assigned_items(read(HEAD + 'families = ["form"]'), CATALOGUE))
    one = read(HEAD + 'devices = ["quick-change"]')
    assert (Item("quick-change", "form"),) == assigned_items(one, CATALOGUE)


def test_a_device_is_asked_in_the_kinds_that_suit_it() -> None:
    assignment = read(HEAD + 'devices = ["stay-on-one", "climb"]\nkinds = ["name", "spell"]')
    assert {("stay-on-one", "name"), ("climb", "name"), ("climb", "spell")} == set(
        assigned_items(assignment, CATALOGUE)
    )


def test_items_come_in_the_order_of_learning() -> None:
    items = assigned_items(read(HEAD + 'devices = ["dip", "fall", "climb"]'), CATALOGUE)
    order = items_within(Only(), CATALOGUE)
    assert sorted(items, key=order.index) == list(items)


def test_limits_hand_on_rows_kinds_and_keys() -> None:
    assignment = read(HEAD + 'devices = ["climb"]\nkinds = ["name"]\nkeys = ["Eb"]')
    wanted = Only((Kind.NAME,), ("climb",), (PLAYED_KEYS[3],), assignment="flat-keys")
    assert wanted == limits(assignment, CATALOGUE)


def test_limits_hand_on_the_conditions_that_are_set() -> None:
    assignment = read(HEAD + 'tempo = [84, 120]\ntexture = "drums"')
    assert Given((84, 120), Texture.DRUMS) == limits(assignment, CATALOGUE).given


@pytest.mark.parametrize("gone", [{"devices": ("deleted",)}, {"families": ("deleted",)}])
def test_an_assignment_whose_rows_are_gone_does_not_become_everything(
    gone: Mapping[str, tuple[str, ...]],
) -> None:
    with pytest.raises(QuestionError, match="nothing of assignment 'a' can be asked"):
        assigned_items(Assignment("a", "b", **gone), CATALOGUE)  # type: ignore[arg-type]  # names from a table


# --- progress -------------------------------------------------------------------------------------

SET = Assignment("horns", "Horns", a_day=2, until=date(2024, 10, 8))  # FIRST_DAY is 2024-10-04


def test_days_and_items_are_counted_of_this_assignment_alone() -> None:
    answers = [
        an_answer(1, FIRST_DAY, assignment="horns"),
        a_wrong_answer(2, FIRST_DAY, assignment="horns"),
        an_answer(3, FIRST_DAY + 1, assignment="horns", device="dip", kind="spell"),
        an_answer(4, FIRST_DAY + 2, assignment="horns"),
        an_answer(5, FIRST_DAY + 2, assignment="other"),
        an_answer(6, FIRST_DAY + 2),
    ]
    progress = how_far(SET, answers, FIRST_DAY + 2)
    assert (1, 2) == (progress.today, progress.a_day)
    assert 1 == progress.days_done
    assert (
        Tally(Item("climb", "name"), right=2, answers=3),
        Tally(Item("dip", "spell"), right=1, answers=1),
    ) == progress.tallies


def test_partly_right_is_not_counted_as_right() -> None:
    answer = an_answer(1, assignment="horns", verdict="partly right", score=0.7)
    assert (0, 1) == how_far(SET, [answer], FIRST_DAY).tallies[0][1:]


def test_more_than_was_set_makes_one_full_day() -> None:
    answers = [an_answer(number, assignment="horns") for number in range(5)]
    progress = how_far(SET, answers, FIRST_DAY)
    assert (5, 1) == (progress.today, progress.days_done)


@pytest.mark.parametrize(("today", "left"), [(0, 5), (3, 2), (4, 1), (5, 0), (400, 0)])
def test_the_days_that_are_left_include_today_and_the_last(today: int, left: int) -> None:
    assert left == how_far(SET, [], FIRST_DAY + today).days_left


def test_without_an_end_no_days_are_counted_down() -> None:
    assert how_far(Assignment("a", "b"), [], FIRST_DAY).days_left is None
