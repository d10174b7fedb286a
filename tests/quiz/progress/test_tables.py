"""The scores for other programs: shapes that scripts may count on."""

import csv
import io
import json
from typing import Any

import pytest

from quiz.progress.tables import CSV_COLUMNS, as_csv, as_data
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.progress.stores import a_report

LATER = FIRST_DAY + 3
ANSWERS = [
    an_answer(1),
    a_wrong_answer(2, seconds=9.0),
    an_answer(3, LATER, seconds=30.0),
]

COUNTED = {"answers", "right", "accuracy", "low", "high", "seconds"}
SCHEMA: dict[str, set[str]] = {
    # as README.md documents it: a name may be added, none may go
    "weeks": {"week"} | COUNTED,
    "devices": {"device"} | COUNTED,
    "keys": {"key"} | COUNTED,
    "kinds": {"kind"} | COUNTED,
    "confusions": {"asked", "chosen", "times"},
    "days": {"day", "answers", "right", "minutes"},
    "items": {
        "device", "kind", "stage", "answers", "right", "days", "known", "known_in_four_weeks",
    },
}  # fmt: skip
VALUES: dict[str, set[str]] = {
    "weak_keys": {"too_early", "answers", "keys"},
    "forecast": {"items", "met", "stages", "known_by_week"},
    "calibration": {"answers", "predicted", "happened", "error", "memory_error", "tenths"},
}


def data_of(answers: list[Any], day: int = LATER) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(json.dumps(as_data(a_report(answers, day))))
    return data


@pytest.mark.parametrize("name", SCHEMA)
def test_every_list_has_the_documented_fields(name: str) -> None:
    rows = data_of(ANSWERS)[name]
    assert rows
    assert all(SCHEMA[name] <= set(row) for row in rows)


@pytest.mark.parametrize("name", VALUES)
def test_every_value_has_the_documented_fields(name: str) -> None:
    assert VALUES[name] <= set(data_of(ANSWERS)[name])


def test_the_five_lists_that_were_first_come_first() -> None:
    assert ["weeks", "devices", "keys", "kinds", "confusions"] == list(data_of(ANSWERS))[:5]
    assert set(SCHEMA) | set(VALUES) == set(data_of(ANSWERS))


def test_an_empty_history_has_the_same_shape() -> None:
    data = data_of([])
    assert set(SCHEMA) | set(VALUES) == set(data)
    assert all([] == data[name] for name in ("weeks", "devices", "keys", "kinds", "items"))
    assert 0 == data["calibration"]["answers"]


def test_the_numbers_are_those_of_the_history() -> None:
    data = data_of([an_answer(1), a_wrong_answer(2, seconds=9.0)], FIRST_DAY)
    assert [
        {
            "device": "climb",
            "answers": 2,
            "right": 1,
            "accuracy": 0.5,
            "low": 0.0945,
            "high": 0.9055,
            "seconds": 4.5,
        }
    ] == data["devices"]
    assert [{"asked": "climb", "chosen": "fall", "times": 1}] == data["confusions"]
    assert "2024-W40" == data["weeks"][0]["week"]
    assert {"day": "2024-10-04", "answers": 2, "right": 1, "minutes": 0.2} == data["days"][-1]


def test_what_is_known_is_told_for_every_item_that_was_met() -> None:
    data = data_of(ANSWERS)
    (item,) = data["items"]
    assert ("climb", "name", 3, 2) == (
        item["device"],
        item["kind"],
        item["answers"],
        item["right"],
    )
    assert 0 < item["known_in_four_weeks"] < item["known"] < 1
    assert 5 == len(data["forecast"]["known_by_week"])
    assert data["forecast"]["items"] == sum(data["forecast"]["stages"].values())
    assert 1 == data["calibration"]["answers"]  # only the answer three days later was foreseen


def test_the_table_for_a_spreadsheet_has_a_row_for_everything() -> None:
    answers = [an_answer(1), a_wrong_answer(2, device='say "hey", you')]
    rows = list(csv.DictReader(io.StringIO(as_csv(a_report(answers)))))
    assert set(CSV_COLUMNS) == set(rows[0])
    groups = [row["group"] for row in rows if row["group"] != "day"]
    assert [
        "week", "device", "device", "key", "kind", "mistaken", "known", "known in four weeks",
    ] == groups  # fmt: skip
    climb = rows[1]
    assert ("climb", "1", "1", "1.0000", "4.50") == (
        climb["name"],
        climb["answers"],
        climb["right"],
        climb["accuracy"],
        climb["seconds"],
    )
    assert ('say "hey", you', "0", "") == (rows[2]["name"], rows[2]["right"], rows[2]["seconds"])
    mistaken = next(row for row in rows if row["group"] == "mistaken")
    assert ('say "hey", you for fall', "1") == (mistaken["name"], mistaken["answers"])
