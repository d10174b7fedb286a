"""An open jam as a state table: what was named in time, row by row."""

from collections.abc import Iterable
from dataclasses import replace

import pytest

from quiz.answers import Verdict
from quiz.calls import (
    LATE,
    Called,
    Coming,
    Counted,
    Cued,
    Event,
    Heard,
    Jam,
    Outcome,
    Tally,
    step,
)
from quiz.questions.kinds import Kind
from tests.quiz.asking import question

OPTIONS = ("climb+plain-five", "fall+plain-five", "walk-up-one-four")
CLIMB, FALL, WALK = (
    question(option, "Bb", Kind.JAM, options=OPTIONS, seed=number)
    for number, option in enumerate(OPTIONS)
)
FIRST = Coming(WALK, start=10.0, arrival=12.0)
SECOND = Coming(CLIMB, start=20.0, arrival=24.0)
THIRD = Coming(FALL, start=30.0, arrival=34.0)
CUED = Cued((FIRST, SECOND, THIRD))


def played(*events: Event, start: Jam | None = None) -> tuple[Jam, list[Counted]]:
    """The state after some events, and all that was counted on the way."""
    state, all_counted = start or Jam(), list[Counted]()
    for event in events:
        state, counted = step(state, event)
        all_counted += counted
    return state, all_counted


def outcomes(counted: Iterable[Counted]) -> list[tuple[str, str]]:
    return [(one.question.device, one.outcome.value) for one in counted]


# --- the table ------------------------------------------------------------------------------------


def test_cueing_counts_nothing_and_keeps_the_order() -> None:
    state, counted = played(Cued((FIRST,)), Cued((SECOND, THIRD)))
    assert [] == counted
    assert (FIRST, SECOND, THIRD) == state.coming


@pytest.mark.parametrize("events", [(), (Heard(5.0),), (Called(5.0, OPTIONS[0]),), (Cued(()),)])
def test_where_nothing_is_cued_nothing_happens(events: tuple[Event, ...]) -> None:
    assert (Jam(), []) == played(*events)


@pytest.mark.parametrize("at", [0.0, 9.999])
def test_a_call_before_the_first_figure_changes_nothing(at: float) -> None:
    state, counted = played(CUED, Called(at, WALK.device))
    assert [] == counted
    assert played(CUED)[0] == state


@pytest.mark.parametrize("at", [10.0, 12.0, 19.999])
def test_a_call_counts_from_the_first_beat_of_a_figure_until_the_next_begins(at: float) -> None:
    _, counted = played(CUED, Called(at, WALK.device))
    assert [(WALK.device, "caught")] == outcomes(counted)


def test_another_name_is_a_mistake() -> None:
    _, (call,) = played(CUED, Called(13.0, CLIMB.device))
    assert (Outcome.MISTAKEN, CLIMB.device) == (call.outcome, call.given)


@pytest.mark.parametrize("second", [WALK.device, CLIMB.device])
@pytest.mark.parametrize("first", [WALK.device, CLIMB.device])
def test_only_the_first_call_counts(first: str, second: str) -> None:
    once, counted = played(CUED, Called(13.0, first))
    again, more = played(Called(14.0, second), start=once)
    assert [] == more
    assert once == again
    assert 1 == len(counted)


def test_hearing_counts_nothing_while_a_figure_is_open() -> None:
    state, counted = played(CUED, Heard(10.0), Heard(15.0), Heard(19.999))
    assert [] == counted
    assert CUED.coming == state.coming


def test_a_figure_is_missed_a_moment_after_the_next_one_begins() -> None:
    assert [] == played(CUED, Heard(20.0 + LATE - 0.01))[1]
    state, counted = played(CUED, Heard(20.0 + LATE))
    assert [(WALK.device, "missed")] == outcomes(counted)
    assert (SECOND, THIRD) == state.coming


@pytest.mark.parametrize("at", [20.0, 20.0 + LATE - 0.01])
def test_a_call_a_moment_late_counts_for_the_figure_it_was_meant_for(at: float) -> None:
    state, counted = played(CUED, Called(at, WALK.device), Called(23.0, CLIMB.device))
    assert [(WALK.device, "caught"), (CLIMB.device, "caught")] == outcomes(counted)
    assert (SECOND, THIRD) == state.coming


def test_a_call_in_the_first_moment_counts_for_the_next_figure_when_the_last_was_called() -> None:
    _, counted = played(CUED, Called(13.0, WALK.device), Called(20.0, CLIMB.device))
    assert [(WALK.device, "caught"), (CLIMB.device, "caught")] == outcomes(counted)


def test_a_figure_that_was_called_is_not_missed_as_well() -> None:
    state, counted = played(CUED, Called(15.0, WALK.device), Heard(20.0))
    assert [(WALK.device, "caught")] == outcomes(counted)
    assert (False, (SECOND, THIRD)) == (state.called, state.coming)


def test_all_figures_that_went_by_since_are_missed_in_order() -> None:
    _, counted = played(CUED, Heard(35.0))
    assert [(WALK.device, "missed"), (CLIMB.device, "missed")] == outcomes(counted)


def test_a_late_call_finds_its_figure_missed_and_is_taken_for_the_one_that_is_open() -> None:
    _, counted = played(CUED, Called(20.5, WALK.device))
    assert [(WALK.device, "missed"), (CLIMB.device, "mistaken")] == outcomes(counted)


def test_the_last_figure_stays_open_until_it_is_known_what_comes_next() -> None:
    state, counted = played(Cued((FIRST,)), Heard(500.0))
    assert [] == counted
    later = Coming(CLIMB, start=400.0, arrival=404.0)
    _, counted = played(Cued((later,)), Heard(500.0), start=state)
    assert [(WALK.device, "missed")] == outcomes(counted)


# --- what is kept of a call -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "seconds"), [(10.0, 0.0), (11.9, 0.0), (12.0, 0.0), (12.75, 0.75), (19.5, 7.5)]
)
def test_the_time_of_a_call_runs_from_the_beat_that_the_figure_arrives_at(
    at: float, seconds: float
) -> None:
    _, (call,) = played(CUED, Called(at, WALK.device))
    assert seconds == pytest.approx(call.seconds)


@pytest.mark.parametrize(
    ("event", "verdict", "score", "chosen"),
    [
        (Called(13.0, WALK.device), Verdict.RIGHT, 1.0, WALK.device),
        (Called(13.0, FALL.device), Verdict.WRONG, 0.0, FALL.device),
        (Heard(21.0), Verdict.GIVEN_UP, 0.0, None),
    ],
)
def test_a_call_is_graded_and_a_miss_is_given_up(
    event: Event, verdict: Verdict, score: float, chosen: str | None
) -> None:
    _, (call,) = played(CUED, event)
    assert (verdict, score, chosen) == (call.grade.verdict, call.grade.score, call.grade.chosen)
    assert (chosen or "") == call.given
    assert WALK == call.question


# --- the tally ------------------------------------------------------------------------------------


def test_outcomes_are_tallied_by_figure() -> None:
    again = Coming(replace(WALK, seed=9), start=40.0, arrival=42.0)
    last = Coming(CLIMB, start=50.0, arrival=54.0)
    state, _ = played(
        CUED,
        Cued((again, last)),
        Called(12.0, WALK.device),
        Called(21.0, FALL.device),
        Heard(45.0),
        Called(46.0, FALL.device),
        Heard(50.0),
    )
    assert {
        WALK.device: Tally(caught=1, mistaken=1),
        CLIMB.device: Tally(mistaken=1),
        FALL.device: Tally(missed=1),
    } == state.tallies


def test_a_state_is_left_as_it_was() -> None:
    before = Jam(coming=CUED.coming, tallies={WALK.device: Tally(1)})
    step(before, Called(25.0, CLIMB.device))
    assert Jam(coming=CUED.coming, tallies={WALK.device: Tally(1)}) == before


def test_nothing_grows_over_ten_thousand_figures_but_the_numbers() -> None:
    state, total = Jam(), 0
    questions = (WALK, CLIMB, FALL)
    for number in range(10_000):
        at = 10.0 * number
        coming = Coming(questions[number % 3], at, at + 2.0)
        state, _ = step(state, Cued((coming,)))
        state, _ = step(state, Heard(at + LATE))
        if number % 2:
            state, counted = step(state, Called(at + 3.0, OPTIONS[number % 5 % 3]))
            total += len(counted)
    assert 1 == len(state.coming)
    assert 3 == len(state.tallies)
    assert 10_000 == sum(map(sum, state.tallies.values()))
    assert 5_000 == total
