"""Choosing choruses and tempi, by words or by a seed."""

from itertools import pairwise

import pytest

from engine.catalogue import Family, builtin_catalogue, places
from engine.choosing import Chorus, listed, mixed, parse_chorus, parse_tempi
from engine.errors import MusicInputError
from engine.forms import Form

CATALOGUE = builtin_catalogue()
TWELVE = CATALOGUE.form("twelve-bar-five")


def words(chorus: Chorus) -> list[str]:
    return [f"{device.id}@{bar}" for bar, device in chorus]


@pytest.mark.parametrize(
    ("text", "chosen"),
    [
        ("climb+dip, walk-up-one-four@4", ["walk-up-one-four@4", "climb+dip@11"]),
        ("walk-up-four-one @ 10", ["walk-up-four-one@10"]),
        ("walk-up-four-one", ["walk-up-four-one@6"]),
        ("climb", ["climb+plain-five@11"]),
        (" , ", []),
    ],
)
def test_devices_are_chosen_with_commas_between_and_the_bar_behind_an_at(
    text: str, chosen: list[str]
) -> None:
    assert chosen == words(parse_chorus(text, TWELVE, CATALOGUE))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("nothing", "there is no device 'nothing'"),
        ("walk-up-one-four@five", "starts in bar 4 of the twelve-bar"),
        ("walk-up-one-four@5", "give one of these behind the @"),
        ("boogie", "has no place in the twelve-bar"),
    ],
)
def test_what_cannot_be_chosen_is_told(text: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem):
        parse_chorus(text, TWELVE, CATALOGUE)


@pytest.mark.parametrize(
    ("text", "tempi"),
    [
        ("120", (120,)),
        ("90, 100,120", (90, 100, 120)),
        ("90..140+10", (90, 100, 110, 120, 130, 140)),
        ("90..115+10", (90, 100, 110, 115)),
        ("120..100+10", (120, 110, 100)),
        ("100..100+5", (100,)),
        ("60,90..100+5", (60, 90, 95, 100)),
    ],
)
def test_tempi_are_one_or_several_or_a_ladder(text: str, tempi: tuple[float, ...]) -> None:
    assert tempi == parse_tempi(text)


@pytest.mark.parametrize(
    "text", ["", "fast", "90..", "90..140", "90..140+0", "90..140+-5", "5", "90..999+10", "nan"]
)
def test_what_is_no_tempo_is_told(text: str) -> None:
    with pytest.raises(MusicInputError, match="give"):
        parse_tempi(text)


def test_too_many_tempi_are_told() -> None:
    with pytest.raises(MusicInputError, match="271 tempi: give 1 to 60"):
        parse_tempi("40..310+1")


def test_a_mix_follows_from_its_seed() -> None:
    assert mixed(TWELVE, CATALOGUE, 8, 1, 3) == mixed(TWELVE, CATALOGUE, 8, 1, 3)
    assert mixed(TWELVE, CATALOGUE, 8, 1, 3) != mixed(TWELVE, CATALOGUE, 8, 1, 4)


@pytest.mark.parametrize("form", CATALOGUE.forms, ids=lambda form: form.id)
def test_a_mix_has_devices_where_they_belong_and_an_ending_at_the_end(
    form: Form,
) -> None:
    choruses = mixed(form, CATALOGUE, 4, 2, 5)
    assert 8 == len(choruses)
    families = [{row.device.family for row in chorus} for chorus in choruses]
    assert Family.ENDING in families[-1]
    assert not any(Family.ENDING in found for found in families[:-1])
    for chorus in choruses:
        assert chorus
        assert all(row.bar in places(row.device, form) for row in chorus)
        assert all(row.device.minor for row in chorus) or not form.minor
    for one, other in pairwise(choruses):
        assert one[-1].device != other[-1].device


def test_a_mix_may_be_made_of_a_few_devices() -> None:
    only = [CATALOGUE.find("climb+dip"), CATALOGUE.find("walk-up-one-four")]
    for chorus in mixed(TWELVE, CATALOGUE, 6, 1, 1, only):
        assert "climb+dip@11" in words(chorus)
        assert {"climb+dip@11", "walk-up-one-four@4"} >= set(words(chorus))


def test_a_mix_of_what_has_no_place_is_told() -> None:
    jazz = CATALOGUE.form("jazz-blues")  # its five goes home, never to the four
    with pytest.raises(MusicInputError, match="none of these devices has a place"):
        mixed(jazz, CATALOGUE, 2, 1, 1, [CATALOGUE.find("walk-down-five-four")])


def test_listed_choruses_come_in_turn() -> None:
    one, two = (parse_chorus(text, TWELVE, CATALOGUE) for text in ("climb+dip", ""))
    assert (one, two, one, two, one, two) == listed([one, two], 3, 2)
