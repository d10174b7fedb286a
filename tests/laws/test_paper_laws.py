"""Laws of paper: whatever it is written on, a figure is the same figure."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.arrangement import arrange
from engine.catalogue import Device, Family, builtin_catalogue
from engine.choosing import mixed
from engine.feels import Feel
from engine.forms import Form
from engine.line import GAP
from engine.midi import to_midi_bytes
from engine.neck import find_tuning, sounding
from engine.notation import parse_key
from engine.paper.musicxml import to_musicxml
from engine.paper.notated import VALUES, Sheet
from engine.paper.tablature import to_tablature
from engine.textures import Texture
from quiz.exports.sheets import Manner, Passage, chorus_passage, figure_passage
from tests.engine.paper.readers import (
    Heard,
    frets,
    from_midi,
    from_musicxml,
    from_tablature,
    misread,
)

CATALOGUE = builtin_catalogue()
DEVICES = (*CATALOGUE.devices, *CATALOGUE.turnarounds())
CHANGED = tuple(
    change
    for turnaround in CATALOGUE.turnarounds()[::4]
    for change in CATALOGUE.variants(turnaround)
    if change.id.endswith(("+doubled", "+late"))
)
MANNERS = (
    Manner(parse_key("A"), Feel.SHUFFLE, 110),
    Manner(parse_key("Db"), Feel.SLOW, 60),
    Manner(parse_key("Ebm"), Feel.SWING, 133, tuning=find_tuning("five-string")),
)


def fills(sheet: Sheet) -> None:
    """Bars add up: the signs of each follow each other from bar line to bar line."""
    for bar in sheet.bars:
        ends = [sign.start + sign.length for sign in bar.signs]
        assert [0, *ends[:-1]] == [sign.start for sign in bar.signs]
        assert sheet.meter.per_bar == ends[-1]
        assert all(sign.length in VALUES for sign in bar.signs)


def ties_hold(sheet: Sheet) -> None:
    """A tie joins two signs of one note, and a sign that goes on is tied to."""
    for one, other in pairwise(sheet.signs):
        assert one.tied_to == other.tied_from
        assert not one.tied_to or one.sounding is other.sounding


def one_figure(passage: Passage, manner: Manner) -> list[Heard]:
    """Tablature, both staves of MusicXML, its frets and MIDI agree; gives the notes."""
    sheet, meter = passage.sheet(manner), passage.sheet(manner).meter
    fills(sheet)
    ties_hold(sheet)
    text = to_musicxml(sheet)
    score = arrange(passage.plan, passage.line, Texture.BASS, manner.seed)
    midi = from_midi(to_midi_bytes(score), meter.per_beat, meter.offbeat, GAP)
    assert midi
    assert midi == from_musicxml(text, staff=1)
    assert midi == from_musicxml(text, staff=2)
    tablature = to_tablature(sheet)
    assert midi == from_tablature(tablature, manner.tuning, meter.per_beat, meter.offbeat)
    signs = [sign for sign in sheet.signs if sign.sounding is not None]
    assert [sign.sounding.midi for sign in signs if sign.sounding] == frets(text, manner.tuning)
    assert [] == misread(text)
    return midi


@pytest.mark.parametrize("device", [*DEVICES, *CHANGED], ids=lambda device: device.id)
def test_tablature_musicxml_and_midi_of_a_figure_agree_note_for_note(device: Device) -> None:
    for manner in MANNERS:
        one_figure(figure_passage(device, manner, CATALOGUE), manner)


@given(
    form=st.sampled_from(CATALOGUE.forms),
    key=st.sampled_from(["C", "Db", "F#", "Gb", "Bb", "E"]),
    base=st.sampled_from(CATALOGUE.family(Family.BASE)),
    feel=st.sampled_from(Feel),
    seed=st.integers(0, 999),
)
@settings(max_examples=12, deadline=None)
def test_a_chorus_on_paper_is_the_chorus_that_is_played(
    form: Form, key: str, base: Device, feel: Feel, seed: int
) -> None:
    manner = Manner(parse_key(key), feel, 100 if feel is not Feel.SLOW else 60, base.id, seed)
    placed = mixed(form, CATALOGUE, 1, 1, seed)[0]
    passage = chorus_passage(form, placed, manner, CATALOGUE)
    heard = one_figure(passage, manner)
    assert [note.event.midi for note in passage.line] == [note.midi for note in heard]


def test_positions_sound_the_notes_that_they_stand_for() -> None:
    for manner in MANNERS:
        sheet = figure_passage(CATALOGUE.find("fall+two-five"), manner, CATALOGUE).sheet(manner)
        for sign in sheet.signs:
            assert sign.sounding is not None
            assert sign.sounding.midi == sounding(sign.sounding.position, manner.tuning)
