"""A take as a state table, by example and by law."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quiz.playing.taking import (
    EARLY_BEATS,
    NOTHING_HEARD,
    SILENCE_SECONDS,
    Began,
    Broke,
    Do,
    Effect,
    Event,
    Finished,
    Heard,
    Left,
    Located,
    Stage,
    Taking,
    Tell,
    Ticked,
    silence_words,
    step,
)

COUNTED = Taking(beats=8, beat_seconds=0.5)
FREE = Taking(beats=0)


def after(state: Taking, *events: Event) -> tuple[Taking, tuple[Effect, ...]]:
    """The state after some events, and what the last one is to do."""
    effects: tuple[Effect, ...] = ()
    for event in events:
        state, effects = step(state, event)
    return state, effects


PLAYING, _ = after(COUNTED, Began(10.0), Located(12.0), Ticked(11.8))


def test_a_take_is_counted_in_before_it_is_played() -> None:
    state, effects = after(COUNTED, Began(10.0))
    assert (Stage.COUNT_IN, (Do.LISTEN, Do.COUNT)) == (state.stage, effects)
    assert Stage.COUNT_IN is after(state, Ticked(99.0))[0].stage  # nobody knows yet where beat 0 is
    state, _ = after(state, Located(12.0))
    early = 12.0 - EARLY_BEATS * 0.5
    assert Stage.COUNT_IN is after(state, Ticked(early - 0.01))[0].stage
    assert Stage.PLAYING is after(state, Ticked(early))[0].stage


def test_a_free_take_is_played_at_once() -> None:
    state, effects = after(FREE, Began(10.0))
    assert (Stage.PLAYING, (Do.LISTEN,)) == (state.stage, effects)


def test_it_ends_when_the_last_beat_and_the_bar_behind_it_have_passed() -> None:
    played, _ = after(PLAYING, Heard(12.1, 1), Ticked(15.99))
    assert Stage.PLAYING is played.stage
    assert (Stage.DONE, (Do.GIVE,)) == _stage_and_effects(played, Ticked(16.0))


def test_the_player_ends_it() -> None:
    assert (Stage.DONE, (Do.GIVE,)) == _stage_and_effects(PLAYING, Heard(12.1, 1), Finished())


def test_silence_ends_it_and_is_told() -> None:
    played, _ = after(FREE, Began(10.0), Heard(11.0, 1), Heard(13.0, 2))
    assert Stage.PLAYING is after(played, Ticked(13.0 + SILENCE_SECONDS - 0.01))[0].stage
    assert (Stage.DONE, (Do.GIVE, Tell(silence_words(10.0)))) == _stage_and_effects(
        played, Ticked(13.0 + SILENCE_SECONDS)
    )


def test_the_same_notes_again_are_silence() -> None:
    played, _ = after(FREE, Began(10.0), Heard(11.0, 1), Heard(15.0, 1))
    assert Stage.DONE is after(played, Ticked(21.0))[0].stage


def test_a_take_without_a_note_is_no_answer() -> None:
    silent = silence_words(SILENCE_SECONDS)
    assert (Stage.WAITING, (Do.HUSH, Tell(NOTHING_HEARD))) == _stage_and_effects(
        PLAYING, Ticked(16.0)
    )
    assert (Stage.WAITING, (Do.HUSH, Tell(silent))) == _stage_and_effects(
        FREE, Began(0.0), Ticked(10.0)
    )
    assert "10 seconds" in silent


@pytest.mark.parametrize("state", [after(COUNTED, Began(10.0))[0], PLAYING])
def test_an_instrument_that_goes_away_ends_a_take_that_does_not_count(state: Taking) -> None:
    assert (COUNTED, (Do.HUSH, Tell("gone"))) == after(state, Broke("gone"))
    assert (COUNTED, (Do.HUSH,)) == after(state, Left())


def _stage_and_effects(state: Taking, *events: Event) -> tuple[Stage, tuple[Effect, ...]]:
    state, effects = after(state, *events)
    return state.stage, effects


# --- laws ---------------------------------------------------------------------------------------

MOMENTS = st.floats(0, 1000)
EVENTS = st.one_of(
    st.builds(Began, MOMENTS),
    st.builds(Located, MOMENTS),
    st.builds(Heard, MOMENTS, st.integers(0, 20)),
    st.builds(Ticked, MOMENTS),
    st.just(Finished()),
    st.just(Broke("gone")),
    st.just(Left()),
)
COURSES = st.lists(EVENTS, max_size=30)
TAKES = st.sampled_from([COUNTED, FREE, replace(COUNTED, silence=1.0)])


@given(TAKES, COURSES)
def test_only_a_take_with_notes_is_ever_given(state: Taking, events: list[Event]) -> None:
    for event in events:
        state, effects = step(state, event)
        assert (Do.GIVE in effects) <= (state.stage is Stage.DONE and state.notes > 0)


@given(TAKES, COURSES)
def test_what_is_listened_to_is_let_go_before_it_is_listened_to_again(
    state: Taking, events: list[Event]
) -> None:
    listening = False
    for event in events:
        state, effects = step(state, event)
        for effect in effects:
            if effect is Do.LISTEN:
                assert not listening
            if isinstance(effect, Do) and effect is not Do.COUNT:
                listening = effect is Do.LISTEN
        assert state.running == listening


@given(TAKES, COURSES)
def test_a_take_that_is_not_started_does_nothing(state: Taking, events: list[Event]) -> None:
    for event in events:
        if not isinstance(event, Began | Broke):
            assert (state, ()) == step(state, event)


@given(TAKES, COURSES, MOMENTS)
def test_every_take_comes_to_an_end_by_itself(
    state: Taking, events: list[Event], start: float
) -> None:
    for event in events:
        state, _ = step(state, event)
    state, _ = step(state, Located(start))
    for moment in (5000.0, 9000.0):
        state, _ = step(state, Ticked(moment))
    assert not state.running or (state.stage is Stage.COUNT_IN and state.start is None)
