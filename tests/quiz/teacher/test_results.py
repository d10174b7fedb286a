"""Results: what leaves a player's machine, what is refused on its way in, and who is one player."""

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from quiz.answers import Answer, AnswerIds
from quiz.errors import ResultsError
from quiz.teacher.assignment import Assignment
from quiz.teacher.result_fields import Outcome
from quiz.teacher.results import (
    LARGEST,
    MOST_ANSWERS,
    Results,
    as_text,
    grouped,
    load_results,
    read_results,
    results_of,
    together,
)
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer

HORNS = Assignment("horns", "Horns", items=24)


def given(*numbers: int, **changed: Any) -> list[Answer]:
    """Answers under the assignment, told apart by their numbers."""
    return [an_answer(number, assignment="horns", **changed) for number in numbers]


def handed_in(*numbers: int, name: str = "Ada", **changed: Any) -> Results:
    return results_of(HORNS, given(*numbers, **changed), name)


# --- what goes out --------------------------------------------------------------------------------


def test_an_answer_goes_out_with_what_the_teacher_needs() -> None:
    answer = a_wrong_answer(
        7, assignment="horns", tempo=96.04, score=0.33333, seconds=4.5678, playings=2
    )
    results = results_of(HORNS, [answer], "Ada")
    opaque = hashlib.sha256(b"horns" + answer.id).digest()[:16]
    expected = Outcome(
        day=FIRST_DAY,
        id=opaque,
        device="climb",
        kind="name",
        key="Bb",
        tempo=96.0,
        texture="band",
        score=0.3333,
        verdict="wrong",
        seconds=4.6,
        playings=2,
    )
    assert Results("horns", 24, "Ada", (expected,)) == results


def test_the_file_holds_these_fields_and_no_others() -> None:
    data = json.loads(as_text(handed_in(1)))
    assert ["lastbar_results", "assignment", "items", "name", "answers"] == list(data)
    assert 1 == data["lastbar_results"]
    assert [
        *("day", "id", "device", "kind", "key", "tempo"),
        *("texture", "score", "verdict", "seconds", "playings"),
    ] == list(data["answers"][0])
    assert "2024-10-04" == data["answers"][0]["day"]


PRIVATE: dict[str, Any] = {
    "given": "typed-words",
    "why": "because-of-that",
    "version": "9.9.9-version",
    "origin": "feedfacebeef",
    "question": '{"secret": "question-text"}',
    "feel": "a-feel",
    "chosen": "a-choice",
    "utc_offset": 20_706,
    "options": 917,
    "guess_rate": 0.171717,
}


def test_nothing_else_of_an_answer_leaves_the_machine() -> None:
    # the second of the day and the id's own time among it: see the clock and id tests below
    text = as_text(results_of(HORNS, [an_answer(1, assignment="horns", **PRIVATE)], "Ada"))
    known = {field.name for field in fields(Answer)}
    assert known >= PRIVATE.keys()
    assert [] == [name for name, value in PRIVATE.items() if str(value).strip('{}"') in text]


def test_two_answers_of_a_day_at_other_times_differ_in_nothing_but_the_opaque_id() -> None:
    (early,) = results_of(HORNS, [an_answer(1, FIRST_DAY, assignment="horns")], "").answers
    (late,) = results_of(HORNS, [an_answer(3599, FIRST_DAY, assignment="horns")], "").answers
    assert early != late
    assert early == late._replace(id=early.id)


def test_answers_of_a_day_do_not_stand_in_the_order_of_their_times() -> None:
    results = handed_in(*range(50))
    in_time = [hashlib.sha256(b"horns" + a.id).digest()[:16] for a in given(*range(50))]
    assert in_time != [outcome.id for outcome in results.answers]
    assert sorted(in_time) == [outcome.id for outcome in results.answers]


def test_the_time_in_an_id_of_the_history_does_not_leak() -> None:
    at = 1_728_072_123_456_000
    own = AnswerIds().make(at)
    answer = an_answer(1, assignment="horns", id=own, at=at)
    text = as_text(results_of(HORNS, [answer], ""))
    assert own.hex()[:12] == f"{at // 1000:012x}"  # RFC 9562, section 5.7: 48 bits of milliseconds
    assert own.hex()[:8] not in text
    assert str(at)[:9] not in text


def test_one_answer_has_another_id_in_another_assignment() -> None:
    (one,) = results_of(HORNS, given(1), "").answers
    other = results_of(Assignment("reeds", "R"), [an_answer(1, assignment="reeds")], "").answers[0]
    assert one.id != other.id


def test_only_answers_under_the_assignment_go_out() -> None:
    answers = [*given(1), an_answer(2), an_answer(3, assignment="other")]
    assert handed_in(1) == results_of(HORNS, answers, "Ada")


def test_without_answers_there_are_no_results() -> None:
    with pytest.raises(ResultsError, match="assignment 'horns': there are no answers yet"):
        results_of(HORNS, [an_answer(1)], "Ada")


def test_a_player_need_not_say_a_name() -> None:
    assert ("", "somebody") == (handed_in(1, name="").name, handed_in(1, name="  ").who)


@pytest.mark.parametrize("name", ["a" * 61, "two\nlines", "\x1b[2J", "left\u202eright", "\ud800"])
def test_a_name_that_cannot_be_used_is_refused(name: str) -> None:
    with pytest.raises(ResultsError, match=r"the name cannot be used: .* up to 60 characters"):
        handed_in(1, name=name)


def test_a_long_response_counts_as_a_minute() -> None:
    assert 60.0 == handed_in(1, seconds=4000.0).answers[0].seconds


def test_of_too_many_answers_the_newest_go_out_and_can_be_read() -> None:
    old = given(*range(10), day=FIRST_DAY - 1)
    many = given(*range(10, MOST_ANSWERS + 10))
    results = results_of(HORNS, old + many, "Ada")
    assert (MOST_ANSWERS, FIRST_DAY) == (len(results.answers), results.answers[0].day)
    assert results == read_results(as_text(results), "many.json")


def test_the_longest_results_fit_into_a_file() -> None:
    widest = Outcome(
        *(FIRST_DAY, b"", "a" * 100, "spell", "G# minor", 100.12345678901234, "drums"),
        *(0.12345678901234568, "partly right", 59.12345678901234, 1_000_000),
    )
    answers = tuple(widest._replace(id=n.to_bytes(16, "big")) for n in range(MOST_ANSWERS))
    text = as_text(Results("a" * 100, 10_000, "𝄫" * 60, answers))
    assert len(text.encode()) <= LARGEST
    assert answers == read_results(text, "longest.json").answers
    with pytest.raises(ResultsError, match="20001 answers are too many"):
        as_text(Results("a", 1, "", (*answers, widest)))


# --- what comes in --------------------------------------------------------------------------------


def document(**changed: Any) -> dict[str, Any]:
    return json.loads(as_text(handed_in(1, 2))) | changed  # type: ignore[no-any-return]  # JSON


def with_answer(**changed: Any) -> dict[str, Any]:
    data = document()
    data["answers"][1] |= changed
    return data


def read(data: object) -> Results:
    return read_results(json.dumps(data), "ada.json")


@pytest.mark.parametrize("name", ["Ada", "", "Zoë", "小林", "=1+1", "[bold]", "a, b", "🎷"])
def test_what_is_written_is_read_again(name: str) -> None:
    results = handed_in(1, 2, 3, name=name)
    assert results == read_results(as_text(results), "ada.json")


WRONG_HEADS = [
    ("lastbar_results", 2, "update"),
    ("lastbar_results", True, "reads 1"),
    ("lastbar_results", "1", "reads 1"),
    ("assignment", "", "an id"),
    ("assignment", "../up", "an id"),
    ("assignment", "a" * 101, "an id"),
    ("items", -1, "0 to 10000"),
    ("items", 10_001, "0 to 10000"),
    ("items", 1.0, "0 to 10000"),
    ("items", True, "0 to 10000"),
    ("name", None, "up to 60 characters"),
    ("name", "a" * 61, "up to 60 characters"),
    ("name", "\x1b]0;title\x07", "up to 60 characters"),
    ("name", "a\tb", "up to 60 characters"),
    ("name", "a\u2028b", "up to 60 characters"),
    ("name", "\udcff", "up to 60 characters"),
    ("answers", [], "a list of 1 to 20000"),
    ("answers", {}, "a list of 1 to 20000"),
    ("answers", None, "a list of 1 to 20000"),
]

WRONG_ANSWERS = [
    ("day", 20_000, "a date"),
    ("day", "20241004", "a date"),
    ("day", "2024-W40-5", "a date"),
    ("day", "2024-02-30", "a date"),
    ("day", "٢٠٢٤-10-04", "a date"),
    ("day", "1900-01-01", "a date"),
    ("day", "9999-12-31", "a date"),
    ("id", "0" * 31, "32 digits"),
    ("id", "g" * 32, "32 digits"),
    ("id", "0" * 32 + "\n", "32 digits"),
    ("id", 7, "32 digits"),
    ("device", "", "an id"),
    ("device", "Climb", "an id"),
    ("device", "climb\n", "an id"),
    ("device", "=cmd", "an id"),
    ("device", "a" * 101, "an id"),
    ("kind", "guess", "one of name, write"),
    ("kind", ["name"], "one of name, write"),
    ("key", "H", "a key such as"),
    ("key", "a", "a key such as"),
    ("key", "Fb", "a key such as"),
    ("tempo", -1, "from 0 to 1000"),
    ("tempo", 1001, "from 0 to 1000"),
    ("tempo", "96", "from 0 to 1000"),
    ("tempo", True, "from 0 to 1000"),
    ("tempo", 10**400, "from 0 to 1000"),
    ("texture", "solo", "one of bass, drums, band"),
    ("score", 1.01, "from 0 to 1"),
    ("score", -0.01, "from 0 to 1"),
    ("score", None, "from 0 to 1"),
    ("verdict", "perfect", "one of right"),
    ("seconds", 60.1, "from 0 to 60"),
    ("playings", -1, "from 0 to 1000000"),
    ("playings", 1.5, "from 0 to 1000000"),
    ("playings", False, "from 0 to 1000000"),
]


@pytest.mark.parametrize(("field", "value", "said"), WRONG_HEADS)
def test_a_wrong_field_of_the_head_is_told_with_file_and_field(
    field: str, value: object, said: str
) -> None:
    with pytest.raises(ResultsError, match=f"^ada.json, field '{field}': .*{said}") as caught:
        read(document(**{field: value}))
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(("field", "value", "said"), WRONG_ANSWERS)
def test_a_wrong_field_of_an_answer_is_told_with_its_place(
    field: str, value: object, said: str
) -> None:
    where = f"^ada.json: answer 2, field '{field}': .*{said}"
    with pytest.raises(ResultsError, match=where) as caught:
        read(with_answer(**{field: value}))
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("key", ["C", "F# minor", "Gb", "Ab minor", "G# minor", "Cb", "C#"])
def test_every_key_with_up_to_seven_accidentals_is_known(key: str) -> None:
    assert key in {outcome.key for outcome in read(with_answer(key=key)).answers}


@pytest.mark.parametrize("field", ["lastbar_results", "assignment", "items", "name", "answers"])
def test_a_field_of_the_head_that_is_missing_is_told(field: str) -> None:
    data = document()
    del data[field]
    with pytest.raises(ResultsError, match=f"^ada.json, field '{field}': it is missing"):
        read(data)


def test_a_field_of_an_answer_that_is_missing_is_told() -> None:
    data = document()
    del data["answers"][0]["key"]
    with pytest.raises(ResultsError, match=r"^ada.json: answer 1, field 'key': it is missing"):
        read(data)


@pytest.mark.parametrize("data", [document(origin="x"), with_answer(given="x")])
def test_unknown_fields_are_refused(data: dict[str, Any]) -> None:
    with pytest.raises(ResultsError, match=r"there is no field '(origin|given)': the fields are"):
        read(data)


@pytest.mark.parametrize("answer", [7, None, "climb", []])
def test_an_answer_that_is_no_object_is_told_with_its_place(answer: object) -> None:
    with pytest.raises(ResultsError, match=r"^ada.json: answer 1: .* with fields"):
        read(document(answers=[answer]))


def test_the_same_answer_twice_in_one_file_is_refused() -> None:
    data = document()
    data["answers"].append(data["answers"][0])
    with pytest.raises(ResultsError, match="two answers have the same id"):
        read(data)


SOUND = as_text(handed_in(1))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is no results file"),
        ("lastbar", "is no results file"),
        (SOUND[:-20], "is no results file"),
        (SOUND + SOUND, "is no results file"),
        ("[]", "with fields"),
        ("null", "with fields"),
        (SOUND.replace("96.0", "NaN"), "NaN is no number"),
        (SOUND.replace("96.0", "-Infinity"), "-Infinity is no number"),
        (SOUND.replace("96.0", "1e999"), "from 0 to 1000"),
        (SOUND.replace('"kind": "name"', '"kind": "name", "kind": "spell"'), "'kind' stands twice"),
        (SOUND.replace('"items"', '"items": 9, "items"'), "'items' stands twice"),
        (SOUND.replace('"Ada"', "'Ada'"), "is no results file"),
        pytest.param("[" * 100_000, "too many lists", id="deep lists"),
        pytest.param('{"a":' * 5000, "is no results file", id="deep objects"),
        pytest.param('{"a":' * 30_000, "too many lists", id="deeper objects"),
        pytest.param("9" * 10_000, "is no results file", id="a long number"),
        pytest.param(" " * (LARGEST + 1), "too large", id="large"),
        pytest.param(
            "{" + ",".join(f'"{n}": 1' for n in range(90_000)) + "}", "missing", id="many fields"
        ),
    ],
)
def test_what_is_no_results_file_is_refused_in_one_line(text: str, said: str) -> None:
    with pytest.raises(ResultsError, match=re.escape(said)) as caught:
        read_results(text, "ada.json")
    assert str(caught.value).startswith("ada.json")
    assert str(caught.value).isprintable()


def test_a_name_may_hold_brackets() -> None:
    assert "[[{{" == read(document(name="[[{{")).name


def test_a_file_is_read_and_a_link_to_it_is_not(tmp_path: Path) -> None:
    path, link = tmp_path / "ada.json", tmp_path / "link.json"
    path.write_text(SOUND, encoding="utf-8")
    link.symlink_to(path)
    assert handed_in(1) == load_results(path)
    with pytest.raises(ResultsError, match=r"link.json cannot be read"):
        load_results(link)


# --- who is one player ----------------------------------------------------------------------------


def merged(files: Iterable[Results]) -> tuple[Results, ...]:
    """One result for each player and assignment, by name and assignment."""
    players = map(together, grouped(files))
    return tuple(sorted(players, key=lambda one: (one.name, one.assignment, one.answers)))


def test_a_later_file_of_a_player_takes_the_place_of_the_earlier() -> None:
    early, late = handed_in(1, 2), handed_in(1, 2, 3)
    assert (late,) == merged([early, late]) == merged([late, early])


def test_two_machines_whose_histories_were_put_together_are_one_player() -> None:
    bass, phone = handed_in(1, 2), handed_in(11, 12)
    both = handed_in(1, 2, 11, 12)
    assert 2 == len(merged([bass, phone]))
    assert (both,) == merged([bass, both, phone])
    assert 1 == len(grouped([bass, phone, both]))


def test_players_of_one_name_stay_apart() -> None:
    assert 2 == len(merged([handed_in(1, name="Ada"), handed_in(2, name="Ada")]))


def test_machines_that_are_copies_of_one_another_stay_apart() -> None:
    # a school sets up one machine and copies it: the name of the installation is the same on all
    first, second = (handed_in(number, origin="0123456789ab") for number in (1, 2))
    assert 2 == len(merged([first, second]))


def test_one_player_of_two_assignments_has_two_results() -> None:
    reeds = results_of(Assignment("reeds", "R"), [an_answer(1, assignment="reeds")], "Ada")
    assert ["horns", "reeds"] == [one.assignment for one in merged([reeds, handed_in(1)])]


def test_ids_that_are_alike_by_force_join_no_two_assignments() -> None:
    horns = handed_in(1)
    assert 2 == len(merged([horns, Results("reeds", 24, "Ada", horns.answers)]))


def test_the_name_is_that_of_the_newest_answer() -> None:
    early = results_of(HORNS, given(1), "A.")
    late = results_of(HORNS, [*given(1), *given(2, day=FIRST_DAY + 1)], "Ada")
    assert ["Ada"] == [one.name for one in merged([late, early])]


def test_an_assignment_that_grew_has_the_larger_number_of_items() -> None:
    small, large = handed_in(1), results_of(Assignment("horns", "H", items=30), given(1), "Ada")
    assert [30] == [one.items for one in merged([large, small])]
