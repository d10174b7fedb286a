"""Questions as text: what the history stores and opens again."""

import json

import pytest

from engine.errors import MusicInputError
from engine.theory import Key, Note
from quiz.errors import AnswerError
from quiz.kinds import Kind
from quiz.questions import Question, Wanted, asked_device, from_parameters, parameters
from tests.quiz.asking import CATALOGUE, question

ASKED = question(
    "climb+dip",
    "Bb",
    Kind.NAME,
    options=("climb+dip", "fall+dip"),
    wanted=Wanted.NOTES,
    spelling_counts=True,
)
FIELDS = sorted(json.loads(parameters(ASKED)))


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


@pytest.mark.parametrize("field", FIELDS)
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
    ("feel", "polka"), ("feel", None), ("texture", "choir"), ("form", "rondo"),
    ("bar", "eleven"), ("bar", None), ("bar", 0), ("bar", 99), ("bar", float("inf")),
    ("first", 0), ("first", -3), ("first", 12), ("last", 13), ("last", 10), ("last", 1e400),
    ("low", "deep"), ("low", -1), ("low", 128), ("low", float("nan")),
    ("register", "middle"), ("register", []), ("comping", "harp"), ("seed", "x"), ("seed", None),
    ("options", 3), ("options", None), ("options", "climb"), ("wanted", "tones"),
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


def test_the_chance_of_luck_is_one_in_the_number_of_options() -> None:
    assert 1 / 2 == ASKED.guess_rate
    assert 0.02 == question("climb+dip").guess_rate


def test_a_device_that_the_catalogue_has_lost_is_said_by_name() -> None:
    opened = from_parameters(changed(device="gone+dip"))
    with pytest.raises(MusicInputError, match="there is no device 'gone'"):
        asked_device(opened, CATALOGUE)
