"""The wall clock: the present moment and the offset that holds at that moment."""

import os
import time
from collections.abc import Iterator

import pytest

from quiz.answers import practice_day
from quiz.clock import Moment, now


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[pytest.MonkeyPatch]:
    """Lets a test set the time zone of the process."""
    if not hasattr(time, "tzset"):
        pytest.skip("the time zone of a process can only be set on Unix")
    before = os.environ.get("TZ")
    yield monkeypatch
    monkeypatch.undo()
    assert before == os.environ.get("TZ")
    time.tzset()


def test_now_is_the_system_s_time_in_microseconds() -> None:
    before = time.time_ns() // 1000
    moment = now()
    assert before <= moment.at <= time.time_ns() // 1000


@pytest.mark.parametrize(
    ("name", "offset"),
    [
        ("UTC0", 0),
        ("XXX-5:45", 20_700),
        ("XXX3:30", -12_600),
        ("XXX-14", 50_400),
    ],
)
def test_the_offset_is_how_far_the_local_clock_is_ahead(
    zone: pytest.MonkeyPatch, name: str, offset: int
) -> None:
    zone.setenv("TZ", name)
    time.tzset()
    assert offset == now().utc_offset


@pytest.mark.parametrize(
    ("at", "offset"),
    [
        # Central European Time as POSIX writes it; the change is on 2026-10-25 at 01:00 UTC
        # (Directive 2000/84/EC): 02:30 comes twice, first in summer time.
        (1_792_888_200_000_000, 7200),
        (1_792_891_800_000_000, 3600),
    ],
)
def test_the_hour_that_comes_twice_has_the_offset_of_its_own_time(
    zone: pytest.MonkeyPatch, at: int, offset: int
) -> None:
    zone.setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3")
    time.tzset()
    zone.setattr("quiz.clock.time.time_ns", lambda: at * 1000)
    assert Moment(at, offset) == now()


def test_a_moment_knows_its_practice_day() -> None:
    moment = Moment(1_792_888_200_000_000, 7200)
    assert practice_day(1_792_888_200_000_000, 7200) == moment.day == 20_750
