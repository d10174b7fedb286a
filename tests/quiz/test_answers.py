"""Answers: their identity by RFC 9562, their practice day, and what no answer can be."""

import random
import uuid
from collections import Counter
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quiz.answers import AnswerIds, new_origin, practice_day
from quiz.errors import AnswerError
from tests.quiz.histories import an_answer

BERLIN = ZoneInfo("Europe/Berlin")


# --- the id -------------------------------------------------------------------------------------


def test_an_id_has_the_fields_of_uuid_version_7() -> None:
    # RFC 9562, section 5.7: unix_ts_ms 48 bits, ver 4 (0111), rand_a 12, var 2 (10), rand_b 62
    at = 1_645_557_742_000_500  # appendix A.6 has this millisecond: 017F22E2-79B0-7...
    made = AnswerIds(random.Random(1)).make(at)
    parsed = uuid.UUID(bytes=made)
    assert 16 == len(made)
    assert 0x017F_22E2_79B0 == parsed.int >> 80
    assert 7 == parsed.version
    assert uuid.RFC_4122 == parsed.variant  # the variant 10 of RFC 9562 under its older name
    # section 6.2, method 3: rand_a holds the share of the millisecond that has passed
    assert 4096 // 2 == parsed.int >> 64 & 0xFFF


@given(st.lists(st.integers(0, 2**48 * 1000 - 10**7), min_size=2, max_size=50))
def test_ids_rise_whatever_the_clock_does(moments: list[int]) -> None:
    ids = AnswerIds(random.Random(2))
    made = [ids.make(at) for at in moments]
    assert sorted(set(made)) == made
    assert {7} == {uuid.UUID(bytes=one).version for one in made}


def test_ids_within_one_microsecond_rise_and_stay_near_their_time() -> None:
    ids = AnswerIds()
    made = [ids.make(1_700_000_000_000_000) for _ in range(10_000)]
    assert sorted(set(made)) == made
    # 4096 ids a millisecond
    assert 1_700_000_000_000 + 2 == int.from_bytes(made[-1][:6], "big")


def test_ids_of_different_instances_at_one_moment_differ() -> None:
    assert 100 == len({AnswerIds().make(1_700_000_000_000_000) for _ in range(100)})


def test_the_random_bits_are_evenly_set() -> None:
    ids = AnswerIds(random.Random(3))
    tails = [int.from_bytes(ids.make(n)[8:], "big") & (2**62 - 1) for n in range(2000)]
    ones = Counter(bit for tail in tails for bit in range(62) if tail >> bit & 1)
    # 2000 fair throws: 1000, standard deviation 22; five of those leave one in 30,000 tests out
    assert all(abs(ones[bit] - 1000) < 5 * 22.4 for bit in range(62))


def test_an_installation_s_name_is_random_and_tells_nothing() -> None:
    names = {new_origin() for _ in range(50)}
    assert 50 == len(names)
    assert {12} == {len(name) for name in names}


# --- the practice day ---------------------------------------------------------------------------


def day_at(moment: datetime) -> int:
    offset = moment.utcoffset()
    assert offset is not None
    since = moment - datetime(1970, 1, 1, tzinfo=UTC)
    return practice_day(since // timedelta(microseconds=1), int(offset.total_seconds()))


def number_of(year: int, month: int, day: int) -> int:
    return (datetime(year, month, day) - datetime(1970, 1, 1)).days


@pytest.mark.parametrize(
    ("hour", "minute", "second", "shift"),
    [
        (3, 59, 59, -1),
        (4, 0, 0, 0),
        (12, 0, 0, 0),
        (23, 59, 59, 0),
        (0, 0, 0, -1),
    ],
)
@pytest.mark.parametrize(
    "zone",
    [
        "UTC",
        "Europe/Berlin",
        "America/Los_Angeles",
        "Asia/Kathmandu",
        "Pacific/Kiritimati",
        "Pacific/Pago_Pago",
        "Australia/Lord_Howe",
    ],
)
def test_a_practice_day_begins_at_four_in_the_morning_local_time(
    zone: str, hour: int, minute: int, second: int, shift: int
) -> None:
    local = datetime(2026, 11, 26, hour, minute, second, tzinfo=ZoneInfo(zone))
    assert number_of(2026, 11, 26) + shift == day_at(local)


def test_the_last_microsecond_before_four_belongs_to_the_evening() -> None:
    four = (number_of(2026, 11, 26) * 86_400 + 4 * 3600) * 1_000_000
    assert number_of(2026, 11, 25) == practice_day(four - 1, 0)
    assert number_of(2026, 11, 26) == practice_day(four, 0)


@pytest.mark.parametrize(("date", "hours"), [((2026, 3, 29), 23), ((2026, 10, 25), 25)])
def test_the_day_the_clocks_change_is_one_practice_day_from_four_to_four(
    date: tuple[int, int, int], hours: int
) -> None:
    # the European Union changes its clocks on the last Sundays of March and October at 01:00 UTC
    # (Directive 2000/84/EC), within the practice day that began on Saturday
    start = datetime(*date, 4, tzinfo=BERLIN) - timedelta(days=1)
    first, end = start.astimezone(UTC), start.astimezone(UTC) + timedelta(hours=hours)
    days = [
        day_at((first + timedelta(minutes=minute)).astimezone(BERLIN))
        for minute in range(hours * 60)
    ]
    assert {number_of(*date) - 1} == set(days)
    assert number_of(*date) == day_at(end.astimezone(BERLIN))


@given(st.integers(0, 2**52), st.integers(-14 * 3600, 14 * 3600))
def test_a_day_later_is_the_next_practice_day(at: int, offset: int) -> None:
    assert practice_day(at, offset) + 1 == practice_day(at + 86_400_000_000, offset)


# --- the answer ---------------------------------------------------------------------------------


def test_the_response_time_counts_a_minute_at_most() -> None:
    assert 4.5 == an_answer(seconds=4.5).response
    assert 60.0 == an_answer(seconds=3600.0).response


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("id", b""),
        ("id", b"x" * 17),
        ("score", 1.1),
        ("score", -0.1),
        ("score", float("nan")),
        ("guess_rate", 2.0),
        ("seconds", -1.0),
        ("seconds", float("inf")),
        ("seconds", float("nan")),
        ("tempo", float("nan")),
        ("tempo", 1e9),
        ("options", -1),
        ("playings", -1),
        ("utc_offset", 10**6),
        ("practice_day", -10),
        ("practice_day", 10**9),
    ],
)
def test_an_answer_outside_its_ranges_cannot_be(field: str, value: Any) -> None:
    with pytest.raises(AnswerError, match="cannot be kept"):
        an_answer(**{field: value})


@pytest.mark.parametrize("typed", ["\udcff b3", "🎸" * 10_000, "\0\x1b[2J", ""])
def test_whatever_was_typed_can_be_kept_as_text(typed: str) -> None:
    kept = an_answer(given=typed).given
    assert kept == kept.encode().decode()
    assert len(kept) <= 2000
