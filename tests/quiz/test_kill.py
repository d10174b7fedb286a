"""Killed while a round is answered: what the program confirmed is there. A thousand such kills are
`python -m tests.bench.bench_kill`."""

from pathlib import Path

import pytest

from tests.quiz.killing import killed_rounds, number_of, spelled


@pytest.mark.parametrize("words", ["notes", "degrees"])
def test_a_number_can_be_given_as_an_answer_and_read_again(words: str) -> None:
    numbers = [0, 1, 6, 7, 48, 12_345, 7**7 - 1]
    assert numbers == [number_of(spelled(number, words)) for number in numbers]


def test_no_confirmed_answer_is_lost_when_rounds_are_killed(tmp_path: Path) -> None:
    outcome = killed_rounds(tmp_path, kills=6, seed=4)
    assert 6 == outcome.kills
    assert set() == outcome.lost
    assert len(outcome.confirmed) >= 6
    assert len(outcome.kept) <= len(outcome.confirmed) + 6  # kept, and killed before it was said
    assert [] == outcome.problems
    assert outcome.replays
