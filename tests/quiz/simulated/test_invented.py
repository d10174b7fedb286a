"""The invented player: made by the real parts, marked, and the same on every machine."""

from collections import Counter
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from engine.catalogue import builtin_catalogue
from engine.notation import NoteNames
from quiz.answers import INVENTED, Answer
from quiz.errors import DemonstrationError
from quiz.grading.replies import grade_reply
from quiz.learners.invented import FIRST_DAY, KEYS, answers_up_to, as_lines, play, read
from quiz.learning.memory import Item
from quiz.learning.practice import Practice
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import KINDS, ROUND_KINDS, By
from quiz.questions.value import from_parameters

CATALOGUE = builtin_catalogue()
YESTERDAY = FIRST_DAY + 400


@pytest.fixture(scope="module")
def answers() -> list[Answer]:
    """All of the file."""
    return list(read())


def test_playing_anew_gives_the_file_byte_for_byte(answers: list[Answer]) -> None:
    # a week stands for all: whoever changes questions or schedule runs `python -m demo.player`
    again = list(as_lines(play(CATALOGUE, weeks=1)))
    assert len(again) > 50
    assert again == list(as_lines(iter(answers[: len(again)])))


def test_every_answer_says_that_it_is_invented(answers: list[Answer]) -> None:
    assert {INVENTED} == {answer.origin for answer in answers}
    assert {INVENTED} == {answer.origin for answer in answers_up_to(YESTERDAY)}


def test_there_are_ten_weeks_and_more_of_every_kind(answers: list[Answer]) -> None:
    weeks = Counter((answer.practice_day - FIRST_DAY) // 7 for answer in answers)
    assert set(range(11)) == set(weeks)
    # nobody has an instrument connected there
    kinds = {kind.value for kind in ROUND_KINDS if KINDS[kind].answered is not By.PLAYING}
    assert kinds == {answer.kind for answer in answers}
    assert {"right", "partly right", "wrong", "given up"} == {a.verdict for a in answers}


def test_the_keys_of_the_horns_come_as_often_as_e_and_a(answers: list[Answer]) -> None:
    keys = Counter(answer.key for answer in answers)
    assert {"F", "Bb", "Eb", "Ab", "E", "A"} == set(KEYS) == {k for k, _ in keys.most_common(6)}
    # keys that go worse come a little more often
    assert all(
        5 / 6 < keys[horn] / keys[guitar] < 6 / 5 for horn in KEYS[:4] for guitar in KEYS[4:]
    )


def test_every_question_can_be_opened_and_its_answer_graded_again(answers: list[Answer]) -> None:
    for answer in answers:
        question = from_parameters(answer.question)
        assert Item(answer.device, answer.kind) == Item(question.item, question.kind.value)
        if answer.given:
            grade = grade_reply(question, answer.given, NoteNames.ENGLISH, CATALOGUE)
            assert (answer.score, answer.verdict) == (grade.score, grade.verdict.value)


def test_every_question_can_be_heard_again(answers: list[Answer]) -> None:
    for answer in answers[::25]:
        question = from_parameters(answer.question)
        plan, score = Excerpt(question).passage(CATALOGUE)
        assert plan.bars
        assert score.tempo == answer.tempo or not KINDS[question.kind].heard


def test_the_player_gets_better(answers: list[Answer]) -> None:
    half = len(answers) // 2
    first, second = (
        sum(answer.verdict == "right" for answer in part) / len(part)
        for part in (answers[:half], answers[half:])
    )
    assert second > first + 0.05


def test_no_device_is_asked_twice_running_but_for_a_contrast_or_a_chorus_without(
    answers: list[Answer],
) -> None:
    for one, other in pairwise(answers):
        if one.practice_day == other.practice_day and one.device == other.device:
            assert other.kind == "place"  # its empty chorus is told by a tail


@pytest.mark.parametrize("later", [0, 1, 5, 6, 7, 365])
def test_the_weeks_end_yesterday_and_begin_on_a_monday(later: int) -> None:
    yesterday = FIRST_DAY + 69 + later
    moved = list(answers_up_to(yesterday))
    days = {answer.practice_day for answer in moved}
    assert yesterday - 9 < max(days) <= yesterday
    assert 0 == date.fromordinal(date(1970, 1, 1).toordinal() + min(days)).weekday()
    assert all(one.at < two.at and one.id < two.id for one, two in pairwise(moved))
    assert all(answer.practice_day * 86_400 <= answer.at / 1e6 for answer in moved)


def test_moving_the_weeks_changes_no_memory(answers: list[Answer]) -> None:
    moved = list(answers_up_to(YESTERDAY))
    plain = Practice.replayed(answers[: len(moved)]).states
    shifted = Practice.replayed(moved).states
    assert plain.keys() == shifted.keys()
    assert all(plain[item].stability == shifted[item].stability for item in plain)


def test_a_damaged_file_is_told(tmp_path: Path) -> None:
    broken = tmp_path / "invented.jsonl.xz"
    broken.write_bytes(b"no such thing")
    with pytest.raises(DemonstrationError, match=r"cannot be read.*demo\.player"):
        list(read(broken))
