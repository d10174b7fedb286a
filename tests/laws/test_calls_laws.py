"""Laws of the calls in an open jam, whatever comes when: nothing is lost, nothing counted twice."""

from collections import Counter
from itertools import pairwise
from typing import NamedTuple

from hypothesis import given
from hypothesis import strategies as st

from quiz.answers import Verdict
from quiz.calls import Called, Coming, Counted, Cued, Event, Heard, Jam, Outcome, step
from quiz.kinds import Kind
from tests.quiz.asking import question

OPTIONS = ("climb+plain-five", "fall+plain-five", "stay+stay-on-one", "walk-up-one-four")
QUESTIONS = tuple(question(option, kind=Kind.JAM, options=OPTIONS) for option in OPTIONS)
SAID = {Outcome.CAUGHT: Verdict.RIGHT, Outcome.MISTAKEN: Verdict.WRONG}


class Course(NamedTuple):
    """A jam, and what happened in it."""

    figures: tuple[Coming, ...]
    events: tuple[Event, ...]
    """Every figure is cued; times never run back."""

    state: Jam
    counted: tuple[Counted, ...]


@st.composite
def courses(draw: st.DrawFn) -> Course:
    """Figures as close as one likes, cued early or late, with calls and looks in any density."""
    gaps = draw(st.lists(st.integers(1, 400), min_size=1, max_size=12))
    figures: list[Coming] = []
    at = draw(st.integers(0, 50))
    for gap in gaps:
        length = draw(st.integers(1, 60))
        number = draw(st.integers(0, 3))
        # its own seed makes each question another value
        asked = question(OPTIONS[number], kind=Kind.JAM, options=OPTIONS, seed=len(figures))
        figures.append(Coming(asked, at / 8, (at + length) / 8))
        at += gap
    times = sorted(draw(st.lists(st.integers(0, at + 100), max_size=30)))
    moments: list[Event] = [
        draw(
            st.one_of(
                st.just(Heard(time / 8)),
                st.builds(Called, st.just(time / 8), st.sampled_from(OPTIONS)),
            )
        )
        for time in times
    ]
    events = tuple(_with_cues(draw, figures, moments))
    state, counted = Jam(), list[Counted]()
    for event in events:
        state, more = step(state, event)
        counted += more
    return Course(tuple(figures), events, state, tuple(counted))


def _with_cues(draw: st.DrawFn, figures: list[Coming], moments: list[Event]) -> list[Event]:
    """The events, and among them the cues of the figures, some at a time, at any moment."""
    waiting, events = list(figures), list[Event]()
    for moment in moments:
        taken = draw(st.integers(0, 2))
        if taken and waiting:
            events.append(Cued(tuple(waiting[:taken])))
            del waiting[:taken]
        events.append(moment)
    return [*events, Cued(tuple(waiting))]


def ended(course: Course) -> tuple[Counted, ...]:
    """All that is counted when the music has gone on to the end."""
    _, more = step(course.state, Heard(1e9))
    return (*course.counted, *more)


@given(courses())
def test_every_figure_that_is_over_is_counted_exactly_once_and_in_order(course: Course) -> None:
    counted = [one.question.seed for one in ended(course)]
    over = list(range(len(course.figures) - 1))
    last = len(course.figures) - 1  # stays open: it is counted only when it was called
    assert counted in (over, [*over, last])


@given(courses())
def test_the_tallies_are_the_outcomes_that_were_told(course: Course) -> None:
    told = Counter((one.question.device, one.outcome.value) for one in course.counted)
    tallied = {
        (device, name): number
        for device, tally in course.state.tallies.items()
        for name, number in tally._asdict().items()
        if number
    }
    assert told == tallied


@given(courses())
def test_a_figure_is_called_by_the_first_call_while_it_is_open_and_cued(course: Course) -> None:
    """Told from the whole course at once, without a state."""
    expected: dict[int, str] = {}
    known = 0
    for event in course.events:
        if isinstance(event, Cued):
            known += len(event.coming)
        if isinstance(event, Called):
            begun = [n for n in range(known) if course.figures[n].start <= event.at]
            if begun:
                expected.setdefault(begun[-1], event.pick)
    called = {one.question.seed: one.given for one in course.counted if one.given}
    assert expected == called


@given(courses())
def test_a_call_stands_between_the_start_of_its_figure_and_the_next_one(course: Course) -> None:
    course = _cued_ahead(course)
    ends = [*(after.start for after in course.figures[1:]), float("inf")]
    for one in course.counted:
        if one.outcome is not Outcome.MISSED:
            number = one.question.seed
            moments = [
                event.at
                for event in course.events
                if isinstance(event, Called) and event.pick == one.given
            ]
            assert any(course.figures[number].start <= at < ends[number] for at in moments)


def _cued_ahead(course: Course) -> Course:
    """The same course with every figure cued before anything else."""
    heard = [event for event in course.events if not isinstance(event, Cued)]
    events: tuple[Event, ...] = (Cued(course.figures), *heard)
    state, counted = Jam(), list[Counted]()
    for event in events:
        state, more = step(state, event)
        counted += more
    return Course(course.figures, events, state, tuple(counted))


@given(courses())
def test_late_is_missed(course: Course) -> None:
    """A figure without a call from its first beat to the next one's is missed, whatever was said
    later. Figures are cued before they begin, as a jam that is planned ahead does."""
    course = _cued_ahead(course)
    for figure, after in pairwise(course.figures):
        in_time = [
            event
            for event in course.events
            if isinstance(event, Called) and figure.start <= event.at < after.start
        ]
        if not in_time:
            (one,) = [one for one in ended(course) if one.question == figure.question]
            assert (Outcome.MISSED, Verdict.GIVEN_UP, "") == (
                one.outcome,
                one.grade.verdict,
                one.given,
            )


@given(courses())
def test_an_outcome_says_what_the_grade_says(course: Course) -> None:
    for one in ended(course):
        assert SAID.get(one.outcome, Verdict.GIVEN_UP) is one.grade.verdict
        assert one.grade.score == (one.outcome is Outcome.CAUGHT)
        assert one.seconds >= 0.0
        if one.outcome is not Outcome.MISSED:
            assert (one.given == one.question.device) == (one.outcome is Outcome.CAUGHT)


@given(courses())
def test_looking_more_often_changes_nothing(course: Course) -> None:
    """What is counted does not hang on how often the screen looks where the music is."""
    state, counted = Jam(), list[Counted]()
    for event in course.events:
        looks = [event] if isinstance(event, Cued) else [Heard(event.at), event, Heard(event.at)]
        for look in looks:
            state, more = step(state, look)
            counted += more
    assert course.state == state
    assert course.counted == tuple(counted)


@given(courses())
def test_only_what_is_open_or_to_come_is_held(course: Course) -> None:
    over = sum(one.question.seed < len(course.figures) for one in course.counted)
    assert over + len(course.state.coming) - course.state.called == len(course.figures)
    assert len(course.state.tallies) <= len(OPTIONS)
