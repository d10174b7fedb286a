"""Lines and the devices they are told to be."""

import random
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from engine.catalogue import Catalogue, Family, builtin_catalogue
from engine.listening.naming import Naming, Standing, find_name, lines_of, name_line
from engine.listening.notes import PlayedNote
from engine.notation import parse_key
from engine.pattern import parse_pattern
from engine.theory import PLAYED_KEYS, Key, Midi
from quiz.own_catalogue import load_catalogue

CATALOGUE = builtin_catalogue()
F, BB = parse_key("F"), parse_key("Bb")
LONG_SHARE = 2 / 3
"""Where the second eighth of a shuffle stands."""


def played(
    line: str, key: Key = F, tempo: float = 100, seed: int | None = None
) -> list[PlayedNote]:
    """A pattern as notes, low on the neck; with a seed, as loosely as people play."""
    pattern = parse_pattern(line)
    rng = random.Random(seed)
    notes = []
    for tone, spot in zip(pattern.tones, pattern.strikes, strict=True):
        beat = spot.beat + LONG_SHARE * spot.offbeat
        loose = rng.gauss(0, 0.02) if seed is not None else 0.0
        low = 28 + (tone.semitones + key.tonic.pitch_class - 28) % 12
        notes.append(PlayedNote(0.7 + beat * 60 / tempo + loose, 0.2, Midi(low)))
    return notes


def named(line: str, key: Key | None = F, tempo: float | None = None) -> Naming:
    return name_line(played(line), CATALOGUE, key, tempo)


def told(naming: Naming) -> tuple[Standing, str]:
    assert naming.nearest is not None
    return naming.standing, naming.nearest.device


@pytest.mark.parametrize(
    ("line", "device"),
    [
        ("1 3 4 #4 | 5 (b6 5) 5 5 | 1", "climb+dip"),
        ("8 b7 6 b6 | 5 5 5 5", "fall+plain-five"),
        ("1 1 6 6 | 2 2 5 5 | 1", "one-six-two-five"),
        ("1 2 b3 3 | 4", "walk-up-one-four"),
        ("1 1 1 3 | 4", "half-below-into-four"),
        ("5 #4 4 3 | b3 2 b2 1", "chromatic-fall-ending"),
        ("1 3 5 6 | b7 6 5 3", "boogie"),
        ("1 b3 4 #4 | 5 5 5 5 | 1", "climb-flat-third+plain-five"),
    ],
)
def test_a_device_is_told_from_its_notes_and_beats(line: str, device: str) -> None:
    naming = named(line)
    assert (Standing.IT, device) == told(naming)
    assert naming.nearest is not None
    assert naming.nearest.distance <= 0.02


def test_every_row_with_notes_of_its_own_is_told_in_a_key_that_comes_by_lot() -> None:
    rng = random.Random(4)
    lines = {line.device: line for line in lines_of(CATALOGUE) if line.change is None}
    for device, line in lines.items():
        key = rng.choice(PLAYED_KEYS)
        notes = [
            PlayedNote(1 + strike.beat * 0.5, 0.2, Midi(36 + key.tonic.pitch_class + strike[2]))
            for strike in line.strikes
        ]
        naming = name_line(notes, CATALOGUE, key)
        assert naming.nearest is not None
        assert device in {naming.nearest.device, *(other.device for other in naming.also)}
        assert Standing.IT is naming.standing


def test_only_rows_without_a_note_of_their_own_cannot_be_told() -> None:
    tellable = {line.device for line in lines_of(CATALOGUE)}
    silent = {
        device.id
        for device in CATALOGUE.devices
        if device.family is Family.ENDING and device.id not in tellable
    }
    assert {"last-four-three-times", "last-four-once", "last-four-twice"} == silent


@pytest.mark.parametrize(
    ("line", "device", "change"),
    [
        ("(1 1) (3 3) (4 4) (#4 #4) | (5 5) (5 5) (5 5) (5 5) | 1", "climb+plain-five", "doubled"),
        ("1 1 1 3 | 4 #4 5 (b6 5) | 1", "climb+dip", "late"),
    ],
)
def test_a_device_doubled_or_late_is_a_variant_of_it(line: str, device: str, change: str) -> None:
    naming = named(line)
    assert (Standing.VARIANT, device) == told(naming)
    assert naming.nearest is not None
    assert change == naming.nearest.change


def test_a_changed_note_makes_a_variant_and_is_told() -> None:
    naming = named("8 b7 6 5 | 5 5 5 5 | 1")
    assert (Standing.VARIANT, "fall+plain-five") == told(naming)
    assert naming.nearest is not None
    assert ("bar 1 beat 4: 5 in place of b6",) == naming.nearest.differs


@pytest.mark.parametrize(
    "line", ["1 5 3 b7 | 5 7 2 4 | 1", "3 5 1 3 | 5 1 b7 3", "b2 6 b3 7 | 2 b6 3 x"]
)
def test_a_line_that_is_no_device_is_none(line: str) -> None:
    assert Standing.NONE is named(line).standing


def test_two_notes_are_no_figure() -> None:
    assert Naming(Standing.NONE, None) == name_line(played("1 x x 5"), CATALOGUE, F)


def test_a_figure_is_not_told_in_a_wrong_key() -> None:
    notes = played("1 3 4 #4 | 5 (b6 5) 5 5 | 1", F)
    for key in PLAYED_KEYS:
        if key != F:
            assert ("climb+dip", Standing.IT) != told(name_line(notes, CATALOGUE, key))[::-1]


def test_without_a_key_every_key_in_which_it_is_a_device_is_told() -> None:
    naming = named("1 2 b3 3 | 4", key=None)
    assert naming.nearest is not None
    both = {(one.device, str(one.key)) for one in (naming.nearest, *naming.also)}
    assert {("walk-up-one-four", "F"), ("walk-up-five-one", "Bb")} <= both


def test_one_set_of_notes_with_two_places_has_two_names() -> None:
    naming = named("1 3 4 #4 | 5")
    assert naming.nearest is not None
    assert "walk-up-one-five" in {naming.nearest.device, *(one.device for one in naming.also)}


def test_loose_time_and_any_tempo_do_not_matter() -> None:
    for seed, tempo in enumerate((55, 90, 130, 180)):
        notes = played("1 3 4 #4 | 5 (b6 5) 5 5 | 1", BB, tempo, seed)
        naming = name_line(notes, CATALOGUE, BB)
        assert (Standing.IT, "climb+dip") == told(naming)
        assert naming.nearest is not None
        assert abs(naming.nearest.tempo / tempo - 1) < 0.05


def test_a_stated_tempo_is_kept_to() -> None:
    notes = played("1 3 4 #4 | 5 5 5 5 | 1", F, 100)
    assert (Standing.IT, "climb+plain-five") == told(name_line(notes, CATALOGUE, F, 100))
    assert Standing.IT is not name_line(notes, CATALOGUE, F, 200).standing


def test_a_row_of_the_players_own_is_told_too() -> None:
    loaded = load_catalogue([Path(__file__).parents[3] / "demo" / "catalogue.toml"])
    assert () == loaded.problems
    own = new_rows(loaded.catalogue)
    assert own
    for device in own:
        line = next(one for one in lines_of(loaded.catalogue) if one.device == device)
        notes = [
            PlayedNote(1 + strike.beat * 0.5, 0.2, Midi(41 + strike.pitch_class))
            for strike in line.strikes
        ]
        naming = name_line(notes, loaded.catalogue, F)
        assert naming.nearest is not None
        assert device in {naming.nearest.device, *(one.device for one in naming.also)}
        assert device not in find_name(replace(naming.nearest, device=device), loaded.catalogue)


def new_rows(catalogue: Catalogue) -> Sequence[str]:
    known = {device.id for device in CATALOGUE.devices}
    tellable = {line.device for line in lines_of(catalogue)}
    return [
        device.id
        for device in catalogue.devices
        if device.id not in known and device.id in tellable
    ]
