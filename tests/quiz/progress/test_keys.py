"""Weak keys: nothing before there is enough, then only what is clear."""

from random import Random

import pytest

from quiz.learning.practice import KeyTally, Practice
from quiz.progress.counts import FOURTHS
from quiz.progress.keys import ENOUGH, keys_sentence, weak_keys

EACH = ENOUGH // len(FOURTHS)


def practised(right: dict[str, int], times: int = EACH, expected: float = 0.8) -> Practice:
    """So many right of `times` in each key, 80 % unless told otherwise, in one kind."""
    usual = round(times * 0.8)
    return Practice(
        keys={
            ("name", key): KeyTally(times, times, right.get(key, usual), expected * times)
            for key in FOURTHS
        }
    )


def test_before_there_are_enough_answers_nothing_is_called_weak() -> None:
    verdict = weak_keys(practised({"Gb": 0}, times=EACH - 1))
    assert verdict.too_early
    assert () == verdict.weak
    assert f"{12 * (EACH - 1)} answers so far" in keys_sentence(verdict)


def test_a_key_that_goes_clearly_worse_is_named_with_its_numbers() -> None:
    verdict = weak_keys(practised({"Gb": 55}))
    assert ["Gb"] == [key.key for key in verdict.weak]
    assert "Gb (55 right of 100" in keys_sentence(verdict)


def test_a_key_a_little_worse_is_not_called_weak() -> None:
    verdict = weak_keys(practised({"Gb": 72}))
    assert () == verdict.weak
    assert "No key" in keys_sentence(verdict)


def test_what_is_off_in_all_keys_alike_makes_none_weak() -> None:
    assert () == weak_keys(practised({}, expected=0.95)).weak


def test_kinds_are_taken_together() -> None:
    tallies = practised({"Gb": 68}).keys
    double = {**tallies, **{("write", key): tally for (_, key), tally in tallies.items()}}
    assert () == weak_keys(Practice(keys=tallies)).weak
    assert ["Gb"] == [key.key for key in weak_keys(Practice(keys=double)).weak]


def test_an_untouched_history_says_it_is_too_early() -> None:
    assert weak_keys(Practice()).too_early


@pytest.mark.parametrize("share", [0.6, 0.9])
def test_equal_keys_are_seldom_called_weak(share: float) -> None:
    # at the limit of Bonferroni one history in forty names a key; 200 seeded ones
    chance, named = Random(1), 0
    for _ in range(200):
        drawn = {key: sum(chance.random() < share for _ in range(EACH)) for key in FOURTHS}
        named += bool(weak_keys(practised(drawn, expected=share)).weak)
    assert named <= 12
