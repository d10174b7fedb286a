"""Questions as text: what the history stores and opens again."""

import json
from dataclasses import replace

import pytest

from engine.errors import MusicInputError
from engine.neck import OpenStrings
from engine.theory import Key, Note
from quiz.errors import AnswerError
from quiz.questions.excerpts import question_plan
from quiz.questions.kinds import Kind
from quiz.questions.rungs import Told
from quiz.questions.value import (
    Question,
    Wanted,
    asked_device,
    from_parameters,
    parameters,
    placements,
)
from tests.quiz.asking import CATALOGUE, chorus, form_call, question

ASKED = question(
    "climb+dip",
    "Bb",
    Kind.NAME,
    options=("climb+dip", "fall+dip"),
    wanted=Wanted.NOTES,
    spelling_counts=True,
)
FIELDS = sorted(json.loads(parameters(ASKED)))


NECK: dict[str, object] = {
    "tuning": "gone",
    "name": "a tuning that the settings have no longer",
    "strings": [["C", 24], ["G", 31], ["low D", 38], ["D", 50]],
    "frets": 22,
    "open_strings": "prefer",
}


def changed(**fields: object) -> str:
    return json.dumps({**json.loads(parameters(ASKED)), **fields})


def test_a_question_is_opened_as_it_was_written() -> None:
    assert ASKED == from_parameters(parameters(ASKED))


def test_the_text_is_one_line_of_json_with_its_keys_in_order() -> None:
    text = parameters(ASKED)
    assert 1 == len(text.splitlines())
    assert FIELDS == list(json.loads(text))
    assert set(FIELDS) == set(Question.__dataclass_fields__)


@pytest.mark.parametrize("tonic", ["C", "Gb", "F#", "Cb", "C#"])
@pytest.mark.parametrize("minor", [False, True])
def test_every_key_survives(tonic: str, minor: bool) -> None:
    name = f"{tonic} minor" if minor else tonic
    opened = from_parameters(changed(key=name))
    assert Key(Note(tonic[0], tonic.count("#") - tonic.count("b")), minor) == opened.key


def test_a_neck_is_opened_as_it_was_written_whatever_the_settings_say_now() -> None:
    opened = from_parameters(changed(neck=NECK, told="degrees", octave_counts=True))
    assert opened.neck is not None
    assert (("C", 24), ("G", 31), ("low D", 38), ("D", 50)) == opened.neck.tuning.strings
    assert (22, OpenStrings.PREFER) == (opened.neck.frets, opened.neck.open_strings)
    assert (Told.DEGREES, True) == (opened.told, opened.octave_counts)
    assert NECK == json.loads(parameters(opened))["neck"]


LATER = {
    "placed", "variants", "varies", "key_given", "playings", "rung", "neck", "told",
    "octave_counts",
}  # fmt: skip
"""Fields that questions of the first version did not have."""


def test_a_question_of_the_first_version_is_opened_with_nothing_of_what_came_later() -> None:
    data = json.loads(parameters(ASKED))
    for field in LATER:
        del data[field]
    assert ASKED == from_parameters(json.dumps(data))
    assert ((), False, "", True, 0, -1) == (
        ASKED.placed,
        ASKED.variants,
        ASKED.varies,
        ASKED.key_given,
        ASKED.playings,
        ASKED.rung,
    )


@pytest.mark.parametrize("field", sorted(set(FIELDS) - LATER))
def test_a_missing_field_is_refused(field: str) -> None:
    data = json.loads(parameters(ASKED))
    del data[field]
    with pytest.raises(AnswerError, match="cannot be opened again"):
        from_parameters(json.dumps(data))


@pytest.mark.parametrize(("field", "value"), [
    ("kind", "hum"), ("kind", None), ("kind", []), ("kind", {}),
    ("key", "H sharp"), ("key", ""), ("key", 3), ("key", "\x00"),
    ("tempo", 0), ("tempo", -5), ("tempo", 1e9), ("tempo", float("nan")), ("tempo", "quick"),
    ("tempo", None), ("tempo", float("inf")),
    ("feel", "polka"), ("feel", None), ("texture", "choir"),
    ("bar", "eleven"), ("bar", None), ("bar", 0), ("bar", 99), ("bar", float("inf")),
    ("first", 0), ("first", -3), ("first", 12), ("last", 10), ("last", 1e400),
    ("low", "deep"), ("low", -1), ("low", 128), ("low", float("nan")),
    ("register", "middle"), ("register", []), ("comping", "harp"), ("seed", "x"), ("seed", None),
    ("options", 3), ("options", None), ("options", "climb"), ("wanted", "tones"),
    ("placed", "4:climb"), ("placed", ["climb"]), ("placed", ["four:climb"]), ("placed", 4),
    ("neck", 4), ("neck", {}), ("neck", []), ("told", "all"), ("told", None),
    ("neck", {**NECK, "strings": []}), ("neck", {**NECK, "strings": [["E", 200]]}),
    ("neck", {**NECK, "strings": [["E"]]}), ("neck", {**NECK, "strings": "EADG"}),
    ("neck", {**NECK, "frets": 0}), ("neck", {**NECK, "frets": 25}),
    ("neck", {**NECK, "frets": "x"}),
    ("neck", {**NECK, "open_strings": "always"}),
    ("playings", "often"), ("playings", None), ("rung", "top"), ("rung", []),
])  # fmt: skip
def test_a_value_that_no_question_has_is_refused(field: str, value: object) -> None:
    with pytest.raises(AnswerError, match="cannot be opened again"):
        from_parameters(changed(**{field: value}))


@pytest.mark.parametrize("text", [
    "", " ", "{}", "[]", "null", "7", '"name"', "{", "\x00", "\U0001f3b8" * 10, "x" * 10_000,
    "[" * 100_000, '{"kind": "name"}', "nan",
], ids=range(14))  # fmt: skip
def test_garbage_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(AnswerError, match="cannot be opened again") as refused:
        from_parameters(text)
    assert 1 == len(str(refused.value).splitlines())
    assert len(str(refused.value)) < 500


@pytest.mark.parametrize(("asked", "chance"), [
    (ASKED, 1 / 2),
    (replace(ASKED, variants=True), 1 / 4),  # each option as it is, or varied
    (question("climb+dip"), 0.02),
    (form_call("quick-change", "quick-change", "twelve-bar", "eight-bar"), 1 / 3),
    (chorus("4:walk-up-one-four"), 0.05),
    (question("climb+dip", kind=Kind.FIT, options=("climb+dip", "fall+dip", "stay+dip")), 1 / 8),
])  # fmt: skip
def test_the_chance_of_luck_follows_from_what_can_be_answered(
    asked: Question, chance: float
) -> None:
    assert chance == asked.guess_rate


def test_what_can_be_picked_are_the_options_and_where_they_may_vary_their_variants() -> None:
    assert ("climb+dip", "fall+dip") == ASKED.picks
    assert ("climb+dip", "climb+dip+varied", "fall+dip", "fall+dip+varied") == replace(
        ASKED, variants=True
    ).picks


@pytest.mark.parametrize(("asked", "right"), [
    (ASKED, "climb+dip"),
    (replace(ASKED, device="climb+dip+late", varies="climb+dip", variants=True),
     "climb+dip+varied"),
    (form_call("quick-change", "quick-change", "twelve-bar"), "quick-change"),
])  # fmt: skip
def test_the_right_pick(asked: Question, right: str) -> None:
    assert right == asked.right
    assert right in asked.picks


def test_what_a_chorus_holds_is_read_back_in_the_order_of_the_bars() -> None:
    asked = chorus("4:walk-up-one-four", "11:climb+dip")
    assert ((4, "walk-up-one-four"), (11, "climb+dip")) == placements(asked)
    assert () == placements(chorus())


@pytest.mark.parametrize("asked", [
    chorus("4:walk-up-one-four", "11:climb+dip"), chorus(form="minor-blues"),
    form_call("minor-blues", "minor-blues", "jazz-blues"),
    replace(ASKED, device="climb+dip+late", varies="climb+dip", variants=True),
    replace(ASKED, key_given=False, playings=3, rung=7, register="upper"),
])  # fmt: skip
def test_questions_of_every_kind_are_opened_as_they_were_written(asked: Question) -> None:
    assert asked == from_parameters(parameters(asked))


def test_a_form_that_the_catalogue_has_lost_is_said_when_it_is_played() -> None:
    opened = from_parameters(changed(form="rondo"))
    with pytest.raises(MusicInputError, match="there is no form 'rondo'"):
        question_plan(opened, CATALOGUE)


def test_a_device_that_the_catalogue_has_lost_is_said_by_name() -> None:
    opened = from_parameters(changed(device="gone+dip"))
    with pytest.raises(MusicInputError, match="there is no device 'gone'"):
        asked_device(opened, CATALOGUE)
