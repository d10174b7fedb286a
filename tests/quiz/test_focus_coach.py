"""Rests, leads and a placement on their way through the coach, the jam and the store."""

from contextlib import closing
from pathlib import Path

import pytest

from quiz.coach import Coach
from quiz.errors import QuestionError
from quiz.grading.lines import grade_nothing
from quiz.grading.replies import right_reply
from quiz.history.store import open_store
from quiz.learning.material import Only
from quiz.learning.memory import Item
from quiz.learning.practice import Practice, Probe
from quiz.questions.kinds import ROUND_KINDS, Kind
from quiz.questions.value import Next
from quiz.session import Record
from quiz.setlist import Setlist, circumstances, row_of
from quiz.settings.values import KEY_NAMES, Settings
from quiz.workbench import Workbench
from tests.quiz.asking import CATALOGUE, answered
from tests.quiz.benches import opened
from tests.quiz.histories import FIRST_DAY, an_answer


def give(coach: Coach, following: Next, right: bool) -> None:
    """Answer a question: right, or not at all."""
    question = following.question
    reply = right_reply(question, CATALOGUE) if right else ""
    grade = answered(question, reply) if right else grade_nothing()
    record = Record(question, following.why, reply, grade, 3.0, 1, False, False)
    assert "" == coach.record(record)


def asked(bench: Workbench, count: int, right: bool = True) -> list[Next]:
    """So many questions, all answered."""
    found = []
    for _ in range(count):
        found.append(following := bench.coach.next())
        bench.coach.look_ahead()
        give(bench.coach, following, right)
    return found


def test_what_rests_is_not_asked_and_not_counted(tmp_path: Path) -> None:
    resting = Settings(resting=("kind:spell", "family:head", "device:dip", "key:C"))
    with opened(tmp_path, settings=resting) as bench:
        questions = [one.question for one in asked(bench, 30)]
        heads = {device.id for device in CATALOGUE.devices if device.family.value == "head"}
        assert not {one.item for one in questions} & {*heads, "dip"}
        assert Kind.SPELL not in {one.kind for one in questions}
        assert "C" not in {str(one.key.tonic) for one in questions}
        assert not {item.device for item in bench.coach.items} & heads
        assert len(bench.coach.items) == bench.today().items


def test_with_everything_resting_it_is_said_and_nothing_breaks(tmp_path: Path) -> None:
    every = Settings(resting=tuple(f"kind:{kind.value}" for kind in ROUND_KINDS))
    with opened(tmp_path, settings=every) as bench:
        for ask in (bench.today, bench.coach.next, bench.coach.look_ahead):
            with pytest.raises(QuestionError, match="everything that could be asked rests"):
                ask()


def test_with_every_key_resting_it_is_said(tmp_path: Path) -> None:
    every = Settings(resting=tuple(f"key:{key}" for key in KEY_NAMES))
    with opened(tmp_path, settings=every) as bench:
        with pytest.raises(QuestionError, match="every key that comes at all rests"):
            bench.coach.next()
        with pytest.raises(QuestionError, match="every key that comes at all rests"):
            bench.setlist()


def test_an_assignment_wins_over_rests(tmp_path: Path) -> None:
    resting = Settings(resting=("device:climb", "kind:spell", "key:F"))
    only = Only((Kind.SPELL,), ("climb",), assignment="thursday-horns")
    with opened(tmp_path, only, resting) as bench:
        assert {Item("climb", "spell")} == set(bench.coach.items)
        assert "climb" == bench.coach.next().question.item


def test_what_is_put_forward_is_asked_first(tmp_path: Path) -> None:
    forward = Settings(leading=("device:sharp-four-bar", "device:enclosure-half"))
    with opened(tmp_path, settings=forward) as bench:
        first = {one.question.item for one in asked(bench, 4)}
        assert {"sharp-four-bar", "enclosure-half"} == first


def test_a_mistaken_neighbour_that_rests_does_not_follow(tmp_path: Path) -> None:
    resting = Settings(resting=("device:fall",))
    with opened(tmp_path, Only(kinds=(Kind.NAME,)), resting) as bench:
        assert Item("fall", "name") not in bench.coach.items  # contrasts come from these alone


def test_a_jam_leaves_out_what_rests(tmp_path: Path) -> None:
    resting = Settings(resting=("device:climb", "family:pickup", "key:E"))
    practice = Practice.replayed([an_answer(1, device="climb"), an_answer(2, device="fall")])
    for seed in range(6):
        wanted = circumstances(resting, practice.states, practice.reaches, seed)
        figures = Setlist(CATALOGUE, wanted, seed).figures
        rows = [row_of(figure, CATALOGUE) for figure in figures]
        assert "climb" not in {row.id for row in rows}
        assert "pickup" not in {row.family.value for row in rows}
        assert wanted.key_weights is not None
        assert 0.0 == wanted.key_weights["E"]


def test_under_an_assignment_no_key_rests(tmp_path: Path) -> None:
    every = Settings(resting=tuple(f"key:{key}" for key in KEY_NAMES))
    with opened(tmp_path, Only(kinds=(Kind.SPELL,), assignment="thursday-horns"), every) as bench:
        assert 4 == len(asked(bench, 4))


def test_where_every_key_rests_the_day_has_nothing_due_either(tmp_path: Path) -> None:
    every = Settings(resting=tuple(f"key:{key}" for key in KEY_NAMES))
    with (
        opened(tmp_path, settings=every) as bench,
        pytest.raises(QuestionError, match="every key that comes at all rests"),
    ):
        bench.today()


# --- placement ------------------------------------------------------------------------------------


def test_a_placement_asks_within_its_number_and_then_a_round_skips_what_is_known(
    tmp_path: Path,
) -> None:
    with opened(tmp_path, Only(kinds=(Kind.SPELL, Kind.FORM))) as bench:
        bench.place()
        count = 0
        while not bench.coach.over:
            asked(bench, 1)
            count += 1
        assert count <= 24
        bench.fresh_coach()
        today = bench.today()
        assert today.presumed > 0.8 * (today.items - today.met)
        assert 12 == today.new_left  # a placement takes nothing from the room for new ones
        known = {*bench.coach._plan.presumed}
        following = bench.coach.next()
        item = Item(following.question.item, following.question.kind.value)
        assert ("presumed" == following.why) == (item in known)


def test_a_placement_is_the_same_for_the_same_answers(tmp_path: Path) -> None:
    courses = []
    for name in ("one", "other"):
        with opened(tmp_path / name) as bench:
            bench.place()
            courses.append([(one.question.item, one.question.kind) for one in asked(bench, 8)])
    assert courses[0] == courses[1]
    assert 8 == len(set(courses[0]))


def test_what_a_placement_found_is_there_after_a_new_start(tmp_path: Path) -> None:
    path = tmp_path / "history.db"
    answers = [
        an_answer(1, why="placement"),
        an_answer(2, device="fall", why="placement", score=0.0, verdict="wrong"),
        an_answer(3, FIRST_DAY + 1, device="dip", why="presumed"),
    ]
    with closing(open_store(path)) as store:
        practice = store.practice()
        for answer in answers:
            practice = practice.after(answer)
            store.append(answer, practice)
    with closing(open_store(path)) as store:
        found = store.practice()
        assert practice == found == Practice.replayed(answers)
        assert (
            Probe(Item("climb", "name"), True, 0.25),
            Probe(Item("fall", "name"), False, 0.25),
        ) == found.probes
        assert {"climb", "dip"} == {item.device for item in found.states}


def test_with_a_long_history_no_placement_is_offered(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.store.take_in(an_answer(number) for number in range(150))
        bench.fresh_coach()
        assert 0 == bench.coach.probes_left
        with pytest.raises(QuestionError, match="knows by now"):
            bench.place()


def test_under_an_assignment_no_placement_is_offered(tmp_path: Path) -> None:
    only = Only(devices=("climb",), assignment="thursday-horns")
    with opened(tmp_path, only) as bench:
        assert 0 == bench.coach.probes_left
