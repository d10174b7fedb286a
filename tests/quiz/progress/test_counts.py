"""The counts: by week, device, key and kind, with their intervals."""

from datetime import date
from itertools import pairwise

import pytest

from engine.notation import parse_key
from quiz.progress.counts import FOURTHS, LAST_DAYS, Count, Scores, last_days, scores, wilson
from quiz.settings.values import KEY_NAMES
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.progress.stores import a_store_with


def day_of(text: str) -> int:
    return (date.fromisoformat(text) - date(1970, 1, 1)).days


def test_an_empty_history_has_empty_scores() -> None:
    with a_store_with([]) as store:
        assert Scores((), (), (), (), ()) == scores(store)


def test_answers_are_counted_by_device_key_and_kind_the_most_asked_first() -> None:
    answers = [
        an_answer(1),
        an_answer(2, key="Eb"),
        a_wrong_answer(3, key="Eb"),
        an_answer(4, device="dip", kind="spell", key="Eb", options=0),
    ]
    with a_store_with(answers) as store:
        found = scores(store)
    assert [("climb", 3, 2), ("dip", 1, 1)] == [(c.name, c.answers, c.right) for c in found.devices]
    assert [("name", 3, 2), ("spell", 1, 1)] == [(c.name, c.answers, c.right) for c in found.kinds]


def test_partly_right_and_given_up_do_not_count_as_right() -> None:
    answers = [
        an_answer(1),
        an_answer(2, verdict="partly right", score=0.7),
        an_answer(3, verdict="given up", score=0.0),
    ]
    with a_store_with(answers) as store:
        assert [(3, 1)] == [(count.answers, count.right) for count in scores(store).devices]


def test_equally_frequent_names_stand_in_alphabetical_order() -> None:
    with a_store_with([an_answer(1, device="dip"), an_answer(2, device="climb")]) as store:
        assert ["climb", "dip"] == [count.name for count in scores(store).devices]


def test_keys_are_laid_round_the_fourths_and_unknown_ones_stand_behind() -> None:
    keys = ("G", "Eb", "H", "C", "Bb", "Gb", "F", "Bb")
    with a_store_with(an_answer(n, key=key) for n, key in enumerate(keys)) as store:
        found = [(count.name, count.answers) for count in scores(store).keys]
    assert ["C", "F", "Bb", "Eb", "Gb", "G", "H"] == [name for name, _ in found]
    assert ("Bb", 2) == found[2]


def test_the_fourths_go_once_round_all_keys_that_are_asked() -> None:
    assert set(KEY_NAMES) == set(FOURTHS)
    pitches = [parse_key(name).tonic.pitch_class for name in FOURTHS]
    assert {5} == {(later - earlier) % 12 for earlier, later in pairwise([*pitches, pitches[0]])}


def test_the_response_time_is_the_mean_of_right_answers_and_a_minute_counts_at_most() -> None:
    answers = [
        an_answer(1, seconds=2.0),
        an_answer(2, seconds=900.0),
        a_wrong_answer(3, seconds=40.0),
    ]
    with a_store_with(answers) as store:
        assert (2.0 + 60.0) / 2 == scores(store).devices[0].seconds


def test_there_is_no_response_time_where_nothing_was_right() -> None:
    with a_store_with([a_wrong_answer(1)]) as store:
        assert scores(store).devices[0].seconds is None


def test_confusions_are_counted_the_most_frequent_first() -> None:
    answers = [
        a_wrong_answer(1, chosen="scale-climb"),
        a_wrong_answer(2),
        a_wrong_answer(3),
        a_wrong_answer(4, device="fall", chosen="climb"),
        an_answer(5),
    ]
    with a_store_with(answers) as store:
        found = [(row.asked, row.chosen, row.times) for row in scores(store).confusions]
    assert [
        ("climb", "fall", 2),
        ("climb", "scale-climb", 1),
        ("fall", "climb", 1),
    ] == found


@pytest.mark.parametrize(
    ("day", "week"),
    [
        # ISO 8601: week 1 is the week with the year's first Thursday.
        ("2024-12-29", "2024-W52"),
        ("2024-12-30", "2025-W01"),
        ("2025-01-01", "2025-W01"),
        ("2020-12-31", "2020-W53"),
        ("2021-01-03", "2020-W53"),
        ("2021-01-04", "2021-W01"),
    ],
)
def test_weeks_are_those_of_iso_8601_across_the_turn_of_a_year(day: str, week: str) -> None:
    with a_store_with([an_answer(1, day_of(day))]) as store:
        assert [week] == [count.name for count in scores(store).weeks]


def test_weeks_come_oldest_first_and_gather_their_days() -> None:
    days = ("2021-01-04", "2020-12-31", "2021-01-03")
    with a_store_with(an_answer(n, day_of(day)) for n, day in enumerate(days)) as store:
        found = [(count.name, count.answers) for count in scores(store).weeks]
    assert [("2020-W53", 2), ("2021-W01", 1)] == found


def test_an_answer_after_midnight_belongs_to_the_week_of_the_evening_before() -> None:
    # Monday 2021-01-04, half past one at night
    night = an_answer(1, at=(day_of("2021-01-04") * 86_400 + 5_400) * 1_000_000)
    with a_store_with([night]) as store:
        assert ["2020-W53"] == [count.name for count in scores(store).weeks]


def test_the_last_days_are_fourteen_with_today_last_and_idle_days_empty() -> None:
    answers = [
        an_answer(1, FIRST_DAY),
        a_wrong_answer(2, FIRST_DAY),
        an_answer(3, FIRST_DAY - 2),
        an_answer(4, FIRST_DAY - LAST_DAYS),  # a day too early
    ]
    with a_store_with(answers) as store:
        found = last_days(store, FIRST_DAY)
    assert LAST_DAYS == 14 == len(found)
    assert "04 Oct" == found[-1].name
    assert (2, 1) == (found[-1].answers, found[-1].right)
    assert 1 == found[-3].answers
    assert 3 == sum(count.answers for count in found)


def test_accuracy_of_nothing_is_nought_and_its_interval_says_nothing() -> None:
    nothing = Count("climb", 0, 0)
    assert 0.0 == nothing.accuracy
    assert (0.0, 1.0) == nothing.interval


def score_test_bounds(right: int, answers: int) -> tuple[float, float]:
    """Where |share - p| / sqrt(p (1 - p) / n) is the 97.5 % point, by bisection on each side."""
    z, share = 1.959963984540054, right / answers

    def apart(p: float) -> float:
        return (share - p) ** 2 - z * z * p * (1 - p) / answers

    def root(low: float, high: float) -> float:
        falling = apart(low) > 0
        for _ in range(200):
            middle = (low + high) / 2
            if (apart(middle) > 0) == falling:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    return (root(0.0, share) if right else 0.0), (root(share, 1.0) if right < answers else 1.0)


@pytest.mark.parametrize(
    ("right", "answers"), [(0, 1), (1, 1), (1, 2), (7, 10), (0, 20), (20, 20), (81, 263), (15, 148)]
)
def test_the_interval_inverts_the_score_test(right: int, answers: int) -> None:
    # Wilson, JASA 22 (1927) 209-212, defines the interval as the shares that the score test
    # accepts; here that definition is solved by bisection, without its closed form.
    assert score_test_bounds(right, answers) == pytest.approx(wilson(right, answers), abs=1e-6)


@pytest.mark.parametrize(
    ("right", "answers", "low", "high"),
    [
        # R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3; from memory
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_interval_is_the_published_one(
    right: int, answers: int, low: float, high: float
) -> None:
    assert (low, high) == pytest.approx(wilson(right, answers), abs=5e-5)


def test_older_answers_are_left_out_when_a_day_is_given() -> None:
    answers = [an_answer(1, FIRST_DAY - 1), an_answer(2), a_wrong_answer(3)]
    with a_store_with(answers) as store:
        found = scores(store, since_day=FIRST_DAY)
    for counts in (found.weeks, found.devices, found.keys, found.kinds):
        assert [(2, 1)] == [(count.answers, count.right) for count in counts]
