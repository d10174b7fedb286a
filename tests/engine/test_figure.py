"""Figures: a device in one key, at one height, on the neck."""

from dataclasses import replace

import pytest

from engine.catalogue import Device, Family, builtin_catalogue, doubled
from engine.errors import MusicInputError
from engine.figure import Figure, figure, paths
from engine.line import A1, A3, E1, HEARD_WELL, Compass
from engine.neck import USUAL_NECK, Neck, find_tuning, sounding
from engine.pattern import Spot, parse_pattern
from engine.theory import PLAYED_KEYS, Key, Midi, Note

CATALOGUE = builtin_catalogue()
ROWS = (*CATALOGUE.devices, *CATALOGUE.turnarounds())
DEVICES = (*ROWS, *(doubled(row) for row in ROWS if row.pattern != row.pattern.doubled()))


def device(name: str) -> Device:
    return CATALOGUE.find(name)


def notes(drawn: Figure) -> str:
    return " ".join(str(note.note) for note in drawn.notes)


B_FLAT, E, A_FLAT = Key(Note("B", -1)), Key(Note("E")), Key(Note("A", -1))


def test_a_figure_is_spelled_in_its_key() -> None:
    assert "Bb D Eb E" == notes(figure(device("climb"), B_FLAT))
    assert "Ab Gb F Fb" == notes(figure(device("fall"), A_FLAT))
    assert "E F# G G# A" == notes(figure(device("walk-up-one-four"), E))


def test_the_notes_of_a_figure_stand_on_their_beats() -> None:
    drawn = figure(device("dip"), B_FLAT)
    spots = [Spot(0), Spot(1), Spot(1, True), Spot(2), Spot(3), Spot(4)]
    assert spots == [note.spot for note in drawn.notes]
    assert ["5", "b6", "5", "5", "5", "1"] == [str(note.degree) for note in drawn.notes]


def test_a_figure_stands_as_low_as_it_can_above_the_open_a() -> None:
    assert (34, 38, 39, 40) == figure(device("climb"), B_FLAT).pitches
    assert (33, 37, 38, 39) == figure(device("climb"), Key(Note("A"))).pitches
    assert (44, 48, 49, 50) == figure(device("climb"), A_FLAT).pitches


def test_a_figure_that_is_too_high_there_may_go_down_to_the_open_e() -> None:
    wide = replace(device("climb"), pattern=parse_pattern("1 1' 8' 1''"))
    assert (28, 40, 52, 52) == figure(wide, E).pitches


def test_a_compass_says_how_low_a_figure_stands() -> None:
    assert (46, 50, 51, 52) == figure(device("climb"), B_FLAT, Compass(Midi(40))).pitches


def test_a_compass_that_is_just_wide_enough_is_filled_from_end_to_end() -> None:
    drawn = figure(device("walk-up-one-four"), Key(Note("A")), Compass(Midi(33), Midi(38)))
    assert (33, 38) == (min(drawn.pitches), max(drawn.pitches))


@pytest.mark.parametrize("low", [30, 60, 124])
def test_a_compass_that_is_too_narrow_is_refused(low: int) -> None:
    with pytest.raises(MusicInputError, match=r"^'fall' in Bb does not fit: widen the range$"):
        figure(device("fall"), B_FLAT, Compass(Midi(low), Midi(low + 3)))


@pytest.mark.parametrize("row", DEVICES, ids=lambda row: row.id)
def test_every_device_can_be_heard_well_in_every_key(row: Device) -> None:
    for key in PLAYED_KEYS:
        pitches = figure(row, key, HEARD_WELL).pitches
        assert A1 <= min(pitches, default=A1)
        assert max(pitches, default=A3) <= A3


@pytest.mark.parametrize("row", DEVICES, ids=lambda row: row.id)
def test_a_figure_has_the_contour_of_its_device_in_every_key(row: Device) -> None:
    semitones = [tone.semitones for tone in row.pattern.tones]
    for key in PLAYED_KEYS:
        pitches = figure(row, key).pitches
        tonics = {pitch - above for pitch, above in zip(pitches, semitones, strict=True)}
        assert {key.tonic.pitch_class} == {tonic % 12 for tonic in tonics}
        assert 1 == len(tonics)
        assert E1 <= min(pitches)


@pytest.mark.parametrize("name", ["four-string", "five-string", "six-string", "five-string-tenor"])
def test_a_figure_is_played_on_any_neck_at_its_own_pitch(name: str) -> None:
    tuning = find_tuning(name)
    for row in ROWS:
        drawn = figure(row, B_FLAT)
        best = paths(drawn, Neck(tuning), best=1)[0]
        played = tuple(sounding(place, tuning) for place in best.positions)
        assert drawn.pitches == played


def test_a_figure_that_is_off_the_neck_is_refused() -> None:
    drawn = figure(device("climb"), B_FLAT, Compass(Midi(90), Midi(127)))
    with pytest.raises(MusicInputError, match=r"^MIDI note \d+ is off the neck"):
        paths(drawn, USUAL_NECK)


@pytest.mark.parametrize(
    ("name", "worth"),
    [
        ("climb", True),
        ("stay", False),
        ("dip", True),
        ("plain-five", False),
        ("half-below-into-four", True),
        ("straight-one-four", False),
        ("climb+plain-five", True),
        ("last-four-twice", False),
        ("two-beat", False),
        ("run-up", True),
    ],
)
def test_what_moves_or_leads_is_worth_spelling(name: str, worth: bool) -> None:
    assert worth is device(name).worth_spelling


def test_a_base_pattern_is_drawn_over_the_tonic_chord() -> None:
    drawn = figure(device("boogie"), B_FLAT)
    assert "Bb D F G Ab G F D" == notes(drawn)
    assert Family.BASE is drawn.device.family
