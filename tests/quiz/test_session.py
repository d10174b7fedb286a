"""A round: every row of its table, what changes nothing, and what is recorded."""

from dataclasses import replace
from itertools import product

import pytest

from quiz.answers import Verdict
from quiz.grading.lines import Grade, grade_nothing
from quiz.questions.kinds import Kind
from quiz.questions.value import Next
from quiz.session import (
    SLOWER,
    Answered,
    Continued,
    Effect,
    Event,
    Left,
    Phase,
    Play,
    PlayingEnded,
    Record,
    Replayed,
    Round,
    Silence,
    Stopped,
    TakeBack,
    TakenBack,
    begin,
    step,
)
from tests.quiz.asking import question

HEARD = Next(question("climb+dip"), "new")
TWICE = Next(replace(question("climb+dip"), playings=2), "new")
ONCE = Next(replace(question("climb+dip"), playings=1), "new")
SILENT = Next(question("fall+dip", kind=Kind.SPELL), "due")
FOUND = Next(question("fall+dip", kind=Kind.FIND), "due")
RIGHT = Grade(Verdict.RIGHT, 1.0)
ANSWERED = Answered(12.0, "1 3 4 #4", RIGHT)


def asking(first: Next = HEARD, length: int = 3, at: float = 1.0) -> Round:
    return begin(length, first, at)[0]


def feedback(first: Next = HEARD, length: int = 3) -> Round:
    return step(asking(first, length), ANSWERED)[0]


def over() -> Round:
    return step(asking(), Left())[0]


def record(effects: tuple[Effect, ...]) -> Record:
    (found,) = [effect for effect in effects if isinstance(effect, Record)]
    return found


def after(state: Round, *events: Event) -> Record:
    """The record of an answer at second 12 after some events."""
    for event in events:
        state, _ = step(state, event)
    return record(step(state, ANSWERED)[1])


# --- the table ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("state", "event", "phase", "effects"), [
    (asking(), Replayed(), Phase.ASKING, (Play,)),
    (asking(), PlayingEnded(5.0), Phase.ASKING, ()),
    (asking(), Stopped(5.0), Phase.ASKING, (Silence,)),
    (asking(), ANSWERED, Phase.FEEDBACK, (Silence, Record)),
    (feedback(), Replayed(), Phase.FEEDBACK, (Play,)),
    (feedback(SILENT), Replayed(), Phase.FEEDBACK, (Play,)),
    (feedback(), Stopped(5.0), Phase.FEEDBACK, (Silence,)),
    (feedback(), Continued(20.0, HEARD), Phase.ASKING, (Silence, Play)),
    (feedback(), Continued(20.0, SILENT), Phase.ASKING, (Silence,)),
    (feedback(length=1), Continued(20.0, HEARD), Phase.OVER, (Silence,)),
    (feedback(length=1), Continued(20.0), Phase.OVER, (Silence,)),
    (feedback(), TakenBack(20.0), Phase.ASKING, (Silence, TakeBack)),
    (feedback(length=1), TakenBack(20.0), Phase.ASKING, (Silence, TakeBack)),
    (asking(), Left(), Phase.OVER, (Silence,)),
    (feedback(), Left(), Phase.OVER, (Silence,)),
    (over(), Left(), Phase.OVER, (Silence,)),
])  # fmt: skip
def test_every_row_of_the_table(
    state: Round, event: Event, phase: Phase, effects: tuple[type[Effect], ...]
) -> None:
    following, happened = step(state, event)
    assert phase is following.phase
    assert effects == tuple(type(effect) for effect in happened)


@pytest.mark.parametrize(("state", "event"), [
    (asking(), Continued(20.0, HEARD)),
    (asking(SILENT), Replayed()),
    (asking(), TakenBack(20.0)),
    (feedback(), ANSWERED),
    (feedback(), PlayingEnded(20.0)),
    *product([over()], [
        Replayed(), PlayingEnded(9.0), Stopped(5.0), ANSWERED, Continued(9.0, HEARD),
        TakenBack(9.0),
    ]),
])  # fmt: skip
def test_an_event_without_a_row_changes_nothing(state: Round, event: Event) -> None:
    assert (state, ()) == step(state, event)


def test_a_round_begins_with_its_first_question_sounding() -> None:
    state, effects = begin(12, HEARD, 3.0)
    assert (Play(HEARD.question),) == effects
    assert (12, HEARD, 1, Phase.ASKING, 3.0, None, 1) == (
        state.length,
        state.current,
        state.number,
        state.phase,
        state.asked_at,
        state.heard_at,
        state.playings,
    )


def test_a_question_that_is_not_heard_begins_in_silence() -> None:
    state, effects = begin(12, SILENT, 3.0)
    assert ((), 0) == (effects, state.playings)


def test_slower_playing_is_at_three_quarters_of_the_tempo() -> None:
    assert 0.75 == SLOWER
    assert (Play(HEARD.question, SLOWER),) == step(asking(), Replayed(slower=True))[1]
    assert (Play(HEARD.question, SLOWER),) == step(feedback(), Replayed(slower=True))[1]


def test_feedback_can_play_the_own_answer() -> None:
    assert (Play(HEARD.question, 1.0, mine=True),) == step(feedback(), Replayed(mine=True))[1]


def test_the_own_answer_cannot_be_played_before_there_is_one() -> None:
    assert (Play(HEARD.question),) == step(asking(), Replayed(mine=True))[1]


def test_going_on_counts_up_and_starts_afresh() -> None:
    state = feedback()
    state, effects = step(state, Continued(20.0, SILENT))
    assert Round(3, SILENT, 2, asked_at=20.0, results=(RIGHT,)) == state
    assert (Silence(),) == effects


def test_the_last_question_knows_that_it_is_the_last() -> None:
    assert not asking(length=2).last
    second, _ = step(feedback(length=2), Continued(20.0, HEARD))
    assert second.last


def test_a_round_ends_when_no_question_follows() -> None:
    assert Phase.OVER is step(feedback(), Continued(20.0))[0].phase


def test_the_results_are_kept_in_order() -> None:
    state, _ = step(feedback(), Continued(20.0, HEARD))
    state, _ = step(state, Answered(25.0, "", grade_nothing()))
    assert (RIGHT, grade_nothing()) == state.results
    assert grade_nothing() == state.grade


def test_sound_stops_before_the_answer_is_recorded() -> None:
    silence, kept = step(asking(), ANSWERED)[1]
    assert Silence() == silence
    assert isinstance(kept, Record)


# --- what is recorded ---------------------------------------------------------------------------


def test_the_record_holds_what_was_asked_and_what_was_given() -> None:
    kept = after(asking(), PlayingEnded(9.0))
    assert Record(HEARD.question, "new", "1 3 4 #4", RIGHT, 3.0, 1, False, False) == kept


def test_the_response_is_timed_from_the_end_of_the_first_playing() -> None:
    assert 7.0 == after(asking(), PlayingEnded(5.0)).seconds
    assert 7.0 == after(asking(), PlayingEnded(5.0), Replayed(), PlayingEnded(10.0)).seconds


def test_an_answer_during_the_first_playing_took_no_time() -> None:
    assert 0.0 == after(asking()).seconds


def test_a_response_is_never_negative() -> None:
    assert 0.0 == after(asking(), PlayingEnded(99.0)).seconds
    assert 0.0 == after(asking(SILENT, at=99.0)).seconds


def test_a_silent_question_is_timed_from_when_it_came_up() -> None:
    assert 11.0 == after(asking(SILENT, at=1.0)).seconds


@pytest.mark.parametrize(("events", "playings", "slowed", "interrupted"), [
    ((), 1, False, False),
    ((Replayed(),), 2, False, False),
    ((Replayed(), Replayed(slower=True), Replayed()), 4, True, False),
    ((Stopped(5.0),), 1, False, True),
    ((Stopped(5.0), Replayed(slower=True)), 2, True, True),
])  # fmt: skip
def test_playings_slower_ones_and_stops_before_the_answer_are_recorded(
    events: tuple[Event, ...], playings: int, slowed: bool, interrupted: bool
) -> None:
    kept = after(asking(), *events)
    assert (playings, slowed, interrupted) == (kept.playings, kept.slowed, kept.interrupted)


def test_what_is_played_after_the_answer_is_not_recorded() -> None:
    state = feedback()
    assert state == step(state, Replayed(slower=True))[0]
    assert state == step(state, Stopped(5.0))[0]


def test_stopping_nothing_is_no_interruption() -> None:
    assert not after(asking(SILENT), Stopped(5.0)).interrupted


def test_a_new_question_forgets_how_the_one_before_was_heard() -> None:
    state = asking()
    for event in (Stopped(5.0), Replayed(slower=True), PlayingEnded(6.0), ANSWERED):
        state, _ = step(state, event)
    state, _ = step(state, Continued(20.0, HEARD))
    kept = record(step(state, replace(ANSWERED, at=30.0))[1])
    assert (1, False, False, 0.0) == (kept.playings, kept.slowed, kept.interrupted, kept.seconds)


# --- how often it may be heard ------------------------------------------------------------------


def test_a_question_may_be_heard_as_often_as_one_likes_unless_it_says_otherwise() -> None:
    state = asking()
    for _ in range(20):
        assert state.may_replay
        state, _ = step(state, Replayed())
    assert 21 == state.playings


def test_the_first_playing_counts_among_those_allowed() -> None:
    assert not asking(ONCE).may_replay
    assert asking(TWICE).may_replay
    heard, effects = step(asking(TWICE), Replayed())
    assert (Play(TWICE.question),) == effects
    assert not heard.may_replay


@pytest.mark.parametrize("replay", [Replayed(), Replayed(slower=True), Replayed(mine=True)])
def test_a_playing_too_many_changes_nothing(replay: Replayed) -> None:
    used_up, _ = step(asking(TWICE), Replayed())
    assert (used_up, ()) == step(used_up, replay)
    assert (asking(ONCE), ()) == step(asking(ONCE), replay)


def test_slower_playings_count_too() -> None:
    state, _ = step(asking(TWICE), Replayed(slower=True))
    assert not state.may_replay
    assert state.slowed


def test_after_the_answer_it_may_be_heard_again_and_again() -> None:
    state = feedback(ONCE)
    for _ in range(5):
        assert state.may_replay
        state, effects = step(state, Replayed())
        assert (Play(ONCE.question),) == effects


def test_stopping_gives_no_playing_back() -> None:
    state, _ = step(asking(ONCE), Stopped(3.0))
    assert not state.may_replay


def test_a_silent_question_may_not_be_heard_before_its_answer_but_after_it() -> None:
    assert not asking(SILENT).may_replay
    assert feedback(SILENT).may_replay


def test_a_new_question_has_all_its_playings() -> None:
    used_up, _ = step(asking(TWICE), Replayed())
    answered, _ = step(used_up, ANSWERED)
    fresh, _ = step(answered, Continued(20.0, TWICE))
    assert fresh.may_replay


# --- taking an answer back ----------------------------------------------------------------------


def test_a_question_whose_answer_is_taken_back_is_open_as_it_was() -> None:
    before, _ = step(asking(TWICE), Replayed(slower=True))
    answered, _ = step(before, ANSWERED)
    heard, _ = step(answered, Replayed())
    assert before == step(heard, TakenBack(ANSWERED.at))[0]


def test_no_playing_and_no_time_is_counted_twice_when_an_answer_is_taken_back() -> None:
    state, _ = step(asking(), PlayingEnded(9.0))
    state, _ = step(state, ANSWERED)  # three seconds after it was heard
    state, _ = step(state, TakenBack(100.0))
    kept = record(step(state, replace(ANSWERED, at=102.0))[1])
    assert (5.0, 1) == (kept.seconds, kept.playings)


def test_a_silent_question_is_timed_without_the_time_its_feedback_was_read() -> None:
    state, _ = step(feedback(SILENT), TakenBack(100.0))
    assert 13.0 == record(step(state, replace(ANSWERED, at=102.0))[1]).seconds


def test_an_answer_that_was_taken_back_is_no_result() -> None:
    state, _ = step(feedback(), Continued(20.0, HEARD))
    state, _ = step(state, replace(ANSWERED, at=25.0, grade=grade_nothing()))
    state, _ = step(state, TakenBack(26.0))
    assert (RIGHT,) == state.results
    assert (2, None) == (state.number, state.grade)
    state, _ = step(state, replace(ANSWERED, at=30.0))
    assert (RIGHT, RIGHT) == state.results


# --- heard only when the player asks for it ----------------------------------------------------


def test_a_question_on_the_neck_begins_in_silence_and_may_be_heard() -> None:
    state, effects = begin(3, FOUND, 1.0)
    assert () == effects
    assert state.may_replay
    state, effects = step(state, Replayed())
    assert (Play(FOUND.question),) == effects
    assert 1 == state.playings


def test_what_is_heard_on_request_changes_nothing_of_the_response_time() -> None:
    state, _ = begin(3, FOUND, 1.0)
    for event in (Replayed(), PlayingEnded(5.0), Replayed(slower=True), Stopped(8.0)):
        state, _ = step(state, event)
    _, effects = step(state, ANSWERED)
    record = effects[-1]
    assert isinstance(record, Record)
    assert (11.0, 2, True, False) == (
        record.seconds,
        record.playings,
        record.slowed,
        record.interrupted,
    )
