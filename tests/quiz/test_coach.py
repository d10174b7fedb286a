"""The coach: from an answer to the next question, and nothing lost on the way."""

import json
import random
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from engine.catalogue import builtin_catalogue
from engine.notation import parse_key
from engine.textures import Texture
from quiz.answers import Answer
from quiz.clock import Moment
from quiz.coach import Coach
from quiz.errors import AnswerError, QuestionError
from quiz.grading.lines import grade_nothing
from quiz.grading.replies import right_reply
from quiz.history.store import Store, memory_store, open_store
from quiz.history.unsaved import read_unsaved, take_in
from quiz.learning.material import Given, Only
from quiz.learning.memory import Item
from quiz.learning.practice import Practice
from quiz.questions.kinds import KINDS, ROUND_KINDS, By, Kind
from quiz.questions.neighbours import contrasts
from quiz.questions.value import Next, Question, from_parameters
from quiz.session import Record
from quiz.settings.values import KEY_NAMES, Pin, Settings
from tests.quiz.asking import answered
from tests.quiz.histories import FIRST_DAY, an_answer, moment
from tests.quiz.history.test_store import no_more_bytes

CATALOGUE = builtin_catalogue()


class Clock:
    """A clock that goes on by half a minute with every look, and that a test can set."""

    def __init__(self) -> None:
        self.at = moment(FIRST_DAY)

    def __call__(self) -> Moment:
        self.at += 30_000_000
        return Moment(self.at, 3600)


class Bench:
    """A coach with everything around it."""

    def __init__(
        self,
        folder: Path,
        store: Store,
        settings: Settings | None = None,
        only: Only | None = None,
        seed: int = 1,
        clock: Clock | None = None,
    ) -> None:
        self.store, self.clock, self.unsaved = store, clock or Clock(), folder / "unsaved.jsonl"
        self.prepared: list[Question] = []
        self.coach = Coach(
            CATALOGUE,
            settings or Settings(),
            store,
            self.clock,
            self.unsaved,
            "1.2.3",
            random.Random(seed),
            self.prepared.append,
            only,
        )

    def answer(
        self,
        following: Next,
        chosen: str | None = None,
        given: str = "typed",
        slowed: bool = True,
    ) -> str:
        """Answer with what is given or picked, or give up."""
        question = following.question
        grade = answered(question, chosen) if chosen else grade_nothing()
        return self.coach.record(
            Record(
                question,
                following.why,
                chosen or given,
                grade,
                seconds=3.5,
                playings=2,
                slowed=slowed,
                interrupted=False,
            )
        )

    def ask(self, count: int) -> list[Next]:
        """Ask and answer so many questions, choices right and the others given up."""
        asked = []
        for _ in range(count):
            asked.append(following := self.coach.next())
            self.coach.look_ahead()
            choice = KINDS[following.question.kind].answered is By.CHOICE
            assert "" == self.answer(following, following.question.right if choice else None)
        return asked


@pytest.fixture
def store() -> Iterator[Store]:
    with closing(memory_store()) as opened:
        opened.lasts = True  # no matter here, so that nothing waits in a file as well
        yield opened


def only_answer(store: Store) -> Answer:
    (answer,) = store.answers()
    return answer


# --- from an answer to the history --------------------------------------------------------------


def test_an_answer_is_kept_with_all_that_was_asked_and_done(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=Only(kinds=(Kind.NAME,)))
    following = bench.coach.next()
    question = following.question
    assert "" == bench.answer(following, question.device)
    kept = only_answer(store)
    assert question == from_parameters(kept.question)
    assert (question.item, "name", question.tempo, question.feel, question.texture) == (
        kept.device,
        kept.kind,
        kept.tempo,
        kept.feel,
        kept.texture,
    )
    assert ("right", 1.0, question.device, "") == (
        kept.verdict,
        kept.score,
        kept.given,
        kept.chosen,
    )
    assert (3.5, 2, True, False) == (kept.seconds, kept.playings, kept.slowed, kept.interrupted)
    assert (len(question.options), 1 / len(question.options)) == (kept.options, kept.guess_rate)
    assert (bench.clock.at, 3600, FIRST_DAY) == (kept.at, kept.utc_offset, kept.practice_day)
    assert ("new", "1.2.3", store.origin) == (kept.why, kept.version, kept.origin)


def test_a_question_that_was_given_up_is_kept_as_such(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=Only(kinds=(Kind.SPELL,)))
    bench.answer(bench.coach.next(), given="")
    kept = only_answer(store)
    assert ("given up", 0.0, "", 0, 0.02) == (
        kept.verdict,
        kept.score,
        kept.given,
        kept.options,
        kept.guess_rate,
    )


@pytest.mark.parametrize("typed", ["\udce9 b3", "🎸" * 5000, "\x1b[31m\0", "'; DROP TABLE answer"])
def test_whatever_was_typed_is_kept(tmp_path: Path, store: Store, typed: str) -> None:
    bench = Bench(tmp_path, store)
    assert "" == bench.answer(bench.coach.next(), given=typed)
    assert only_answer(store).given


def test_the_key_is_kept_without_its_mode_and_the_sixth_under_one_name(
    tmp_path: Path, store: Store
) -> None:
    weights = dict.fromkeys(KEY_NAMES, 0.0) | {"Gb": 1.0}
    settings = Settings(f_sharp=True, key_weights=weights)
    bench = Bench(tmp_path, store, settings)
    assert {"F#"} == {str(asked.question.key.tonic) for asked in bench.ask(20)}
    assert {"Gb"} == {answer.key for answer in store.answers()}


def test_the_state_of_the_coach_is_the_one_a_new_coach_starts_with(tmp_path: Path) -> None:
    with closing(open_store(tmp_path / "history.db")) as store:
        bench = Bench(tmp_path, store)
        bench.ask(30)
        today = bench.coach.today()
    with closing(open_store(tmp_path / "history.db")) as store:
        assert today == Bench(tmp_path, store).coach.today()


# --- from the history to the next question ------------------------------------------------------


def test_looking_ahead_gives_the_question_that_comes_next(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    bench.coach.look_ahead()
    for _ in range(40):
        expected = bench.prepared[-1]
        following = bench.coach.next()
        assert expected == following.question
        bench.coach.look_ahead()
        bench.answer(following)


def test_looking_ahead_twice_makes_the_same_question(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    bench.coach.look_ahead()
    bench.coach.look_ahead()
    assert 1 == len(set(bench.prepared))


def test_the_same_seed_and_history_ask_the_same_questions(tmp_path: Path) -> None:
    rounds = []
    for _ in range(2):
        with closing(memory_store()) as store:
            rounds.append([asked.question for asked in Bench(tmp_path, store, seed=5).ask(24)])
    assert rounds[0] == rounds[1]


def test_no_device_is_asked_twice_running_not_even_across_rounds(
    tmp_path: Path, store: Store
) -> None:
    clock = Clock()
    asked = [one for _ in range(12) for one in Bench(tmp_path, store, clock=clock).ask(3)]
    assert all(one.question.item != other.question.item for one, other in pairwise(asked))


def test_the_first_questions_are_new_and_then_those_met_come_ahead_of_their_time(
    tmp_path: Path, store: Store
) -> None:
    whys = [asked.why for asked in Bench(tmp_path, store).ask(14)]
    assert ["new"] * 12 + ["ahead"] * 2 == whys


def test_what_was_met_is_due_days_later(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    bench.ask(12)
    bench.clock.at = moment(FIRST_DAY + 4)
    assert 12 == bench.coach.today().due
    assert all(asked.why.startswith("due") for asked in bench.ask(12))
    assert 0 == bench.coach.today().due


def test_the_day_adds_up(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    before = bench.coach.today()
    assert (0, 0, 12, 0) == (before.asked, before.due, before.new_left, before.met)
    bench.ask(5)
    today = bench.coach.today()
    assert (5, 7, 5, before.items) == (today.asked, today.new_left, today.met, today.items)
    assert today.items == sum(today.stages.values()) == len(bench.coach.items)
    assert today.items - 5 == today.stages["new"]


def test_a_stage_is_told_of_every_item(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    asked = bench.ask(1)[0].question
    assert "shaky" == bench.coach.stage(Item(asked.item, asked.kind.value))
    assert "new" == bench.coach.stage(bench.coach.items[-1])


# --- contrasts ----------------------------------------------------------------------------------


def a_mistake(bench: Bench) -> tuple[Next, str]:
    """A question with a near neighbour among its options, and the option that has it."""
    for _ in range(60):
        following = bench.coach.next()
        item = CATALOGUE.find(following.question.item)
        near = {rival.id for rival in contrasts(item, CATALOGUE)}
        for option in following.question.options:
            if option != following.question.device and CATALOGUE.find(option).head in near:
                return following, option
        bench.answer(following, following.question.device)
    raise AssertionError("no question had a near neighbour among its options")


HEADS = tuple(
    device.id
    for device in CATALOGUE.devices
    if device.family.value == "head" and contrasts(device, CATALOGUE)
)


def with_a_past(store: Store, count: int = 40, why: str = "due") -> Store:
    """A history long enough for a contrast to be one question in twenty."""
    store.take_in(an_answer(n, FIRST_DAY - 30, device="dip", why=why) for n in range(count))
    return store


@pytest.mark.parametrize("looked_ahead", [True, False])
def test_a_neighbour_chosen_by_mistake_is_asked_next(
    tmp_path: Path, store: Store, looked_ahead: bool
) -> None:
    bench = Bench(tmp_path, with_a_past(store), only=Only(kinds=(Kind.NAME,), devices=HEADS))
    following, option = a_mistake(bench)
    if looked_ahead:
        bench.coach.look_ahead()
    bench.answer(following, option)
    twin = CATALOGUE.find(option).head
    if looked_ahead:
        bench.coach.look_ahead()
        assert twin == bench.prepared[-1].item
    contrast = bench.coach.next()
    assert (twin, "contrast") == (contrast.question.item, contrast.why)
    assert twin == list(store.answers())[-1].chosen
    bench.answer(contrast, contrast.question.device)
    assert "contrast" == list(store.answers())[-1].why
    assert "contrast" != bench.coach.next().why


def test_no_contrast_is_asked_when_it_is_switched_off_or_would_be_too_many(
    tmp_path: Path,
) -> None:
    only = Only(kinds=(Kind.NAME,), devices=HEADS)
    for past, settings in (
        (0, Settings()),
        (40, Settings(contrast=False)),
    ):
        with closing(memory_store()) as store:
            bench = Bench(tmp_path, with_a_past(store, past), settings, only)
            following, option = a_mistake(bench)
            bench.answer(following, option)
            assert "contrast" != bench.coach.next().why


def test_a_right_answer_is_followed_by_no_contrast(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, with_a_past(store), only=Only(kinds=(Kind.NAME,), devices=HEADS))
    assert "contrast" not in {asked.why for asked in bench.ask(20)}


# --- limits -------------------------------------------------------------------------------------


def test_without_sound_only_what_needs_no_ear_is_asked(tmp_path: Path, store: Store) -> None:
    asked = Bench(tmp_path, store, only=Only(silent=True)).ask(20)
    assert {Kind.SPELL, Kind.FIND} == {one.question.kind for one in asked}


def test_a_round_keeps_to_its_kinds_devices_and_key(tmp_path: Path, store: Store) -> None:
    only = Only(kinds=(Kind.WRITE, Kind.NAME), devices=("climb", "dip"), keys=(parse_key("Ab"),))
    asked = Bench(tmp_path, store, only=only).ask(12)
    assert {"climb", "dip"} == {one.question.item for one in asked}
    assert {Kind.WRITE, Kind.NAME} == {one.question.kind for one in asked}
    assert {"Ab"} == {str(one.question.key.tonic) for one in asked}


@pytest.mark.parametrize(
    "only",
    [
        Only(devices=("nothing-of-the-sort",)),
        Only(kinds=(Kind.NAME,), silent=True),
    ],
)
def test_limits_that_leave_nothing_say_so(tmp_path: Path, store: Store, only: Only) -> None:
    with pytest.raises(QuestionError, match="nothing is left to ask"):
        Bench(tmp_path, store, only=only).coach.next()


def test_a_key_of_weight_nought_is_never_asked(tmp_path: Path, store: Store) -> None:
    weights = dict.fromkeys(KEY_NAMES, 1.0) | {"C": 0.0, "Gb": 0.0}
    asked = Bench(tmp_path, store, Settings(key_weights=weights)).ask(120)
    tonics = {str(one.question.key.tonic) for one in asked}
    assert set(KEY_NAMES) - {"C", "Gb"} == tonics


@pytest.mark.parametrize(
    "settings",
    [
        Settings(),
        Settings(feels=("slow",)),
        Settings(tempo_low=220, tempo_high=220),
    ],
    ids=["default", "slow", "fastest"],
)
def test_every_item_can_be_asked_so_none_blocks_the_way(
    tmp_path: Path, store: Store, settings: Settings
) -> None:
    # all the new material a day takes, for as many days as it needs
    bench = Bench(tmp_path, store, replace(settings, daily_questions=400))
    for day in range(16):
        bench.clock.at = moment(FIRST_DAY + 3 * day)
        while (today := bench.coach.today()).new_left and today.stages["new"]:
            bench.answer(bench.coach.next())
    assert 0 == bench.coach.today().stages["new"]


# --- the reach ----------------------------------------------------------------------------------


def right(following: Next) -> str:
    return right_reply(following.question, CATALOGUE)


FALL_NAMED = Only(kinds=(Kind.NAME,), devices=("fall", "climb"))


def test_the_very_first_question_of_a_kind_stands_on_its_second_rung(
    tmp_path: Path, store: Store
) -> None:
    bench = Bench(tmp_path, store, only=FALL_NAMED)
    question = bench.coach.next().question
    assert (1, "drums", 3) == (question.rung, question.texture, len(question.options))


def test_right_answers_lead_up_the_ladder_and_the_questions_follow(
    tmp_path: Path, store: Store
) -> None:
    bench = Bench(tmp_path, store, only=FALL_NAMED)
    rungs = []
    for _ in range(40):
        following = bench.coach.next()
        rungs.append(following.question.rung)
        bench.answer(following, right(following), slowed=False)
    assert sorted(rungs) == rungs or max(rungs) == 7
    assert {1, 2, 3, 4, 5, 6, 7} <= set(rungs)


def test_wrong_answers_lead_down_and_slow_the_questions_down(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, Settings(tempo_low=50, feels=("slow",)), FALL_NAMED)
    for _ in range(8):
        bench.answer(bench.coach.next(), slowed=False)
    question = bench.coach.next().question
    assert (0, "bass") == (question.rung, question.texture)
    words = bench.coach.reach(Item("fall", "name"))
    assert words.startswith("bass alone, 3 options, ")
    assert int(words.split()[-2]) < 88


def test_slowed_answers_leave_the_reach_where_it_is(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=FALL_NAMED)
    for _ in range(20):
        following = bench.coach.next()
        assert 1 == following.question.rung
        bench.answer(following, right(following), slowed=True)


def test_the_rung_of_a_question_is_kept_with_its_answer(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    asked = []
    for _ in range(30):
        asked.append(following := bench.coach.next())
        bench.answer(following, right(following), slowed=False)
    kept = [answer.rung for answer in store.answers()]
    assert [one.question.rung for one in asked] == kept
    assert {-1} == {answer.rung for answer in store.answers() if answer.kind == Kind.SPELL.value}


def test_the_reach_is_the_one_that_a_new_coach_starts_with(tmp_path: Path) -> None:
    with closing(open_store(tmp_path / "history.db")) as store:
        bench = Bench(tmp_path, store, only=FALL_NAMED)
        for _ in range(12):
            following = bench.coach.next()
            bench.answer(following, right(following), slowed=False)
        reach = bench.coach.reach(Item("fall", "name"))
    with closing(open_store(tmp_path / "history.db")) as store:
        assert reach == Bench(tmp_path, store, only=FALL_NAMED).coach.reach(Item("fall", "name"))


def test_a_pin_fixes_the_conditions_of_its_device(tmp_path: Path, store: Store) -> None:
    pinned = Settings(pins={"fall": Pin("bass", 100)}, feels=("shuffle",))
    bench = Bench(tmp_path, store, pinned, FALL_NAMED)
    asked = [one.question for one in bench.ask(20)]
    assert {(100.0, "bass", -1)} == {
        (one.tempo, one.texture, one.rung) for one in asked if one.item == "fall"
    }
    assert {("drums", 1)} == {(one.texture, one.rung) for one in asked if one.item == "climb"}
    assert {-1, 1} == {answer.rung for answer in store.answers()}


def test_an_assignment_fixes_tempo_and_players_of_all_it_asks(tmp_path: Path, store: Store) -> None:
    given = Given(tempo=(90, 96), texture=Texture.BAND)
    only = replace(FALL_NAMED, given=given, assignment="thursday-1")
    asked = Bench(tmp_path, store, Settings(feels=("swing",)), only).ask(12)
    assert {("band", -1)} == {(one.question.texture, one.question.rung) for one in asked}
    assert {90.0, 92.0, 94.0, 96.0} >= {one.question.tempo for one in asked}
    assert {"thursday-1"} == {answer.assignment for answer in store.answers()}


def test_players_that_are_set_play_on_every_rung(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, Settings(texture="band"), FALL_NAMED)
    asked = bench.ask(12)
    assert {("band", 1)} == {(one.question.texture, one.question.rung) for one in asked}


def test_the_reach_is_told_after_an_answer(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=FALL_NAMED)
    question = bench.coach.next().question
    assert (
        f"Reach of {CATALOGUE.name(question.item)}: bass and drums, 3 options, 88 bpm."
        == bench.coach.reach_sentence(question)
    )


def test_of_a_kind_without_a_ladder_no_reach_is_told(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=Only(kinds=(Kind.SPELL,)))
    assert "" == bench.coach.reach_sentence(bench.coach.next().question)


# --- every kind ---------------------------------------------------------------------------------

PLACING = Only(kinds=(Kind.PLACE,))


def test_now_and_then_a_chorus_has_nothing_in_it(tmp_path: Path, store: Store) -> None:
    asked = Bench(tmp_path, store, only=PLACING).ask(240)
    empty = sum(not one.question.placed for one in asked)
    # an eighth of 240 is 30; its own turn as an item comes on top
    assert 15 <= empty <= 60
    assert {"stay-on-one"} == {one.question.item for one in asked if not one.question.placed}


def test_a_chorus_with_nothing_in_it_is_an_item_of_its_own(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=PLACING)
    for _ in range(60):
        following = bench.coach.next()
        bench.answer(following, right(following))
    empty = [answer for answer in store.answers() if answer.device == "stay-on-one"]
    assert empty
    assert {("place", "none", "right")} == {(one.kind, one.given, one.verdict) for one in empty}


def test_where_it_is_not_among_the_material_no_chorus_is_left_empty(
    tmp_path: Path, store: Store
) -> None:
    only = Only(kinds=(Kind.PLACE,), devices=("walk-up-one-four", "walk-up-four-one"))
    asked = Bench(tmp_path, store, only=only).ask(60)
    assert all(one.question.placed for one in asked)


def test_an_empty_chorus_never_comes_twice_running(tmp_path: Path, store: Store) -> None:
    asked = Bench(tmp_path, store, only=PLACING, seed=3).ask(300)
    assert all(one.question.placed or other.question.placed for one, other in pairwise(asked))


def test_all_kinds_are_asked_and_their_right_answers_kept_as_right(
    tmp_path: Path, store: Store
) -> None:
    bench = Bench(tmp_path, store, Settings(daily_questions=400), Only(playing=True))
    for _ in range(120):
        following = bench.coach.next()
        bench.coach.look_ahead()
        assert "" == bench.answer(following, right(following), slowed=False)
    answers = list(store.answers())
    assert {kind.value for kind in ROUND_KINDS} == {answer.kind for answer in answers}
    assert {("right", 1.0, "")} == {(one.verdict, one.score, one.chosen) for one in answers}


def test_a_form_that_was_mistaken_for_its_neighbour_is_kept_with_it(
    tmp_path: Path, store: Store
) -> None:
    only = Only(kinds=(Kind.FORM,))
    bench = Bench(tmp_path, store, only=only)
    following = bench.coach.next()
    wrong = next(one for one in following.question.options if one != following.question.right)
    bench.answer(following, wrong)
    assert wrong == only_answer(store).chosen


def test_a_variant_that_was_not_noticed_is_no_other_row(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store, only=FALL_NAMED)
    for _ in range(60):
        following = bench.coach.next()
        question = following.question
        if question.variants:
            other = question.right.removesuffix("+varied")
            picked = other if question.varies else f"{other}+varied"
            bench.answer(following, picked, slowed=False)
            kept = list(store.answers())[-1]
            assert ("", picked, "partly right", 0.7) == (
                kept.chosen,
                kept.given,
                kept.verdict,
                kept.score,
            )
            return
        bench.answer(following, right(following), slowed=False)
    raise AssertionError("no question came with variants")


# --- when the history cannot take it ------------------------------------------------------------


def test_on_a_full_disk_the_answer_waits_outside_and_the_round_goes_on(tmp_path: Path) -> None:
    with closing(open_store(tmp_path / "history.db")) as store:
        bench = Bench(tmp_path / "config", store)
        bench.ask(3)
        following = bench.coach.next()
        with no_more_bytes(20_000):  # the history is longer, the other file is not
            said = bench.answer(following)
        assert "unsaved.jsonl" in said
        assert "next start" in said
        (waiting,) = read_unsaved(bench.unsaved).answers
        assert following.question == from_parameters(waiting.question)
        assert 4 == bench.coach.today().asked
        bench.ask(3)
        assert 6 == store.count()


def test_when_nothing_can_be_written_anywhere_the_player_is_told(tmp_path: Path) -> None:
    with closing(open_store(tmp_path / "history.db")) as store:
        bench = Bench(tmp_path / "config", store)
        following = bench.coach.next()
        with no_more_bytes():
            assert "this answer is not kept" in bench.answer(following)
        bench.ask(3)
        assert 3 == store.count()


def test_a_history_in_memory_leaves_every_answer_in_the_file_too(tmp_path: Path) -> None:
    with closing(memory_store()) as store:
        bench = Bench(tmp_path, store)
        bench.ask(4)
        assert tuple(store.answers()) == read_unsaved(bench.unsaved).answers


def test_a_history_in_memory_without_a_place_for_the_file_says_so(tmp_path: Path) -> None:
    with closing(memory_store()) as store:
        bench = Bench(tmp_path, store)
        following = bench.coach.next()
        bench.unsaved.mkdir()
        assert "this answer is not kept" in bench.answer(following)


def test_the_questions_in_the_history_are_json_that_other_programs_read(
    tmp_path: Path, store: Store
) -> None:
    asked = Bench(tmp_path, store).ask(10)
    kept = [json.loads(answer.question) for answer in store.answers()]
    assert [one.question.seed for one in asked] == [row["seed"] for row in kept]


# --- taking an answer back ----------------------------------------------------------------------


def test_taking_an_answer_back_leaves_everything_as_it_was_before_it(
    tmp_path: Path, store: Store
) -> None:
    bench = Bench(tmp_path, store)
    bench.ask(20)
    before, practice = bench.coach.today(), store.practice()
    asked = bench.coach.next()
    bench.coach.look_ahead()
    bench.answer(asked)
    undone = bench.coach.undo()
    assert (asked.question, "") == (from_parameters(undone.answer.question), undone.problem)
    assert (before, practice) == (bench.coach.today(), store.practice())
    assert 20 == store.count()
    bench.ask(1)
    assert Practice.replayed(store.answers()) == store.practice() == bench.coach._practice


def test_after_an_undo_the_next_question_follows_from_the_answer_that_stands(
    tmp_path: Path,
) -> None:
    """A round with a slip in it goes on as one without."""
    picks = []
    for slips in (False, True):
        with closing(memory_store()) as store:
            bench = Bench(tmp_path, store)
            bench.ask(6)
            asked = bench.coach.next()
            if slips:
                bench.answer(asked)
                bench.coach.look_ahead()
                bench.coach.undo()
            bench.answer(asked, right_reply(asked.question, CATALOGUE))
            following = bench.coach.next()
            picks.append((following.question.item, following.question.kind, following.why))
    assert picks[0] == picks[1]


def test_one_answer_is_taken_back_once(tmp_path: Path, store: Store) -> None:
    bench = Bench(tmp_path, store)
    with pytest.raises(AnswerError, match="answer first"):
        bench.coach.undo()
    bench.ask(2)
    bench.coach.undo()
    with pytest.raises(AnswerError, match="answer first"):
        bench.coach.undo()
    assert 1 == store.count()


def test_an_undo_that_the_disk_refuses_waits_and_goes_in_at_the_next_start(
    tmp_path: Path,
) -> None:
    with closing(open_store(tmp_path / "history.db")) as store:
        bench = Bench(tmp_path, store)
        bench.ask(3)
        with no_more_bytes(20_000):  # the history is longer, the other file is not
            assert "The undo waits" in bench.coach.undo().problem
        assert 3 == store.count()
        take_in(bench.unsaved, store.take_in)
        assert 2 == store.count()
        assert bench.coach._practice == store.practice() == Practice.replayed(store.answers())


def test_without_a_history_that_lasts_an_undo_waits_beside_its_answer(
    tmp_path: Path,
) -> None:
    with closing(memory_store()) as store:
        bench = Bench(tmp_path, store)
        bench.ask(2)
        bench.coach.undo()
        waiting = read_unsaved(bench.unsaved)
        assert tuple(store.every_answer()) == waiting.answers
        assert tuple(store.undos()) == waiting.undos
        assert 1 == len(waiting.undos)
