"""Laws of the calls in an open jam, whatever comes when: nothing is lost, nothing counted twice."""

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple

from hypothesis import given
from hypothesis import strategies as st

from quiz.answers import Verdict
from quiz.calls import LATE, Called, Coming, Counted, Cued, Event, Heard, Jam, Outcome, step
from quiz.questions.kinds import Kind
from tests.quiz.asking import question

OPTIONS = ("climb+plain-five", "fall+plain-five", "stay+stay-on-one", "walk-up-one-four")
SAID = {Outcome.CAUGHT: Verdict.RIGHT, Outcome.MISTAKEN: Verdict.WRONG}


class Course(NamedTuple):
    """A jam, and what happened in it."""

    figures: tuple[Coming, ...]
    events: tuple[Event, ...]
    """Every figure is cued; times never run back."""

    state: Jam
    counted: tuple[Counted, ...]


@st.composite
def courses(draw: st.DrawFn, in_time: bool = True) -> Course:
    """Figures a second and more apart, with calls and looks in any density; cued before they begin,
    or, when not `in_time`, at any moment."""
    figures: list[Coming] = []
    at = draw(st.integers(0, 50))
    for gap in draw(st.lists(st.integers(8, 400), min_size=1, max_size=12)):
        option, length = draw(st.sampled_from(OPTIONS)), draw(st.integers(1, 60))
        # its own seed makes each question another value
        asked = question(option, kind=Kind.JAM, options=OPTIONS, seed=len(figures))
        figures.append(Coming(asked, at / 8, (at + length) / 8))
        at += gap
    times = sorted(draw(st.lists(st.integers(0, at + 100), max_size=30)))
    picks = st.one_of(st.none(), st.sampled_from(OPTIONS))
    moments = [(time / 8, draw(picks)) for time in times]
    events = tuple(_with_cues(draw, figures, moments, in_time))
    state, counted = Jam(), list[Counted]()
    for event in events:
        state, more = step(state, event)
        counted += more
    return Course(tuple(figures), events, state, tuple(counted))


def _with_cues(
    draw: st.DrawFn,
    figures: list[Coming],
    moments: list[tuple[float, str | None]],
    in_time: bool,
) -> Iterator[Event]:
    """The calls and looks, and among them the cues of the figures, some at a time."""
    waiting = list(figures)
    for at, pick in moments:
        due = sum(figure.start <= at for figure in waiting) if in_time else 0
        taken = due + draw(st.integers(0, 2))
        yield Cued(tuple(waiting[:taken]))
        del waiting[:taken]
        yield Heard(at) if pick is None else Called(at, pick)
    yield Cued(tuple(waiting))


def ended(course: Course) -> tuple[Counted, ...]:
    """All that is counted when the music has gone on to the end."""
    _, more = step(course.state, Heard(1e9))
    return (*course.counted, *more)


@given(courses(in_time=False))
def test_every_figure_that_is_over_is_counted_exactly_once_and_in_order(course: Course) -> None:
    counted = [one.question.seed for one in ended(course)]
    over = list(range(len(course.figures) - 1))
    last = len(course.figures) - 1  # stays open: it is counted only when it was called
    assert counted in (over, [*over, last])


@given(courses(in_time=False))
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
def test_what_counts_is_the_first_call_while_a_figure_is_open(course: Course) -> None:
    """Told from the whole course at once, without a state."""
    expected: dict[int, str] = {}
    for event in course.events:
        if isinstance(event, Called):
            begun = [n for n, figure in enumerate(course.figures) if figure.start <= event.at]
            if not begun:
                continue
            last = begun[-1]
            late = event.at < course.figures[last].start + LATE
            meant = last - 1 if late and last and last - 1 not in expected else last
            expected.setdefault(meant, event.pick)
    assert expected == {one.question.seed: one.given for one in course.counted if one.given}


@given(courses())
def test_late_is_missed(course: Course) -> None:
    """A figure without a call from its first beat until LATE after the next one's is missed,
    whatever was said later. Figures are cued before they begin, as in a jam planned ahead."""
    for figure, after in pairwise(course.figures):
        in_time = [
            event
            for event in course.events
            if isinstance(event, Called) and figure.start <= event.at < after.start + LATE
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


@given(courses(in_time=False))
def test_only_what_is_open_or_to_come_is_held(course: Course) -> None:
    assert len(course.counted) + len(course.state.coming) - course.state.called == len(
        course.figures
    )
    assert len(course.state.tallies) <= len(OPTIONS)
