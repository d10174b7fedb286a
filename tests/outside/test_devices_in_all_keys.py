"""Every device in every key against music21's intervals.

Source: music21's `interval` and `pitch` modules: each degree as an interval above the tonic.
"""

import pytest
from music21 import interval, pitch

from engine.catalogue import Device, Family, builtin_catalogue, doubled, places
from engine.feels import Feel
from engine.figure import figure
from engine.forms import builtin_forms
from engine.line import HEARD_WELL, write_line
from engine.pattern import Tone
from engine.plan import plan_choruses
from engine.theory import PLAYED_KEYS, TONICS, Key, Note, spell

INTERVALS = {
    "1": "P1",
    "#1": "A1",
    "b2": "m2",
    "2": "M2",
    "b3": "m3",
    "3": "M3",
    "4": "P4",
    "#4": "A4",
    "b5": "d5",
    "5": "P5",
    "b6": "m6",
    "6": "M6",
    "b7": "m7",
    "7": "M7",
    "8": "P8",
}
"""What each degree of the catalogue is called as an interval above the tonic."""

CATALOGUE = builtin_catalogue()
ROWS = (*CATALOGUE.devices, *CATALOGUE.turnarounds())
DEVICES = (*ROWS, *(doubled(row) for row in ROWS if row.pattern != row.pattern.doubled()))


def outside(tone: Tone, tonic: pitch.Pitch) -> pitch.Pitch:
    """The tone over a tonic with an octave, as music21 has it."""
    above: pitch.Pitch = interval.Interval(INTERVALS[str(tone.degree)]).transposePitch(tonic)
    octaves = interval.Interval("P8" if tone.octave >= 0 else "P-8")
    for _ in range(abs(tone.octave)):
        above = octaves.transposePitch(above)
    return above


def engine_name(theirs: pitch.Pitch) -> str:
    return theirs.name.replace("-", "b")


def test_the_devices_use_these_degrees_and_no_others() -> None:
    used = {
        str(degree)
        for row in ROWS
        for way in (row.pattern, *row.alternatives)
        for degree in way.degrees
    }
    assert set(INTERVALS) == used


@pytest.mark.parametrize("key", PLAYED_KEYS, ids=str)
def test_every_device_sounds_and_is_spelled_as_music21_transposes_it(key: Key) -> None:
    for row in DEVICES:
        drawn = figure(row, key, HEARD_WELL)
        lowest = min((tone.semitones for tone in row.pattern.tones), default=0)
        tonic = pitch.Pitch(str(key.tonic).replace("b", "-"))
        tonic.octave = next(
            octave
            for octave in range(8)
            if HEARD_WELL.low <= 12 * (octave + 1) + key.tonic.pitch_class + lowest
        )
        theirs = [outside(tone, tonic) for tone in row.pattern.tones]
        assert [engine_name(tone) for tone in theirs] == [str(note.note) for note in drawn.notes]
        assert [tone.midi for tone in theirs] == list(drawn.pitches), (row.id, str(key))


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_every_device_is_spelled_as_music21_does_in_the_keys_of_many_accidentals_too(
    tonic: Note,
) -> None:
    theirs = pitch.Pitch(str(tonic).replace("b", "-") + "2")
    for row in DEVICES:
        for tone in row.pattern.tones:
            assert engine_name(outside(tone, theirs)) == str(spell(tone.degree, tonic))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.id)
def test_the_tonic_of_a_figure_is_the_key_it_is_asked_in(row: Device) -> None:
    semitones = [tone.semitones for tone in row.pattern.tones]
    for key in PLAYED_KEYS:
        pitches = figure(row, key, HEARD_WELL).pitches
        theirs = pitch.Pitch(str(key.tonic).replace("b", "-")).pitchClass
        assert {theirs} == {
            (midi - above) % 12 for midi, above in zip(pitches, semitones, strict=True)
        }


PLACED = (*CATALOGUE.turnarounds(), *CATALOGUE.family(Family.PICKUP, Family.ENDING))


@pytest.mark.parametrize("row", PLACED, ids=lambda row: row.id)
def test_a_line_plays_a_device_as_music21_transposes_it(row: Device) -> None:
    form, bar = next(
        (form, bar) for form in builtin_forms() if not form.minor for bar in places(row, form)
    )
    for key in PLAYED_KEYS:
        plan = plan_choruses(
            form, key, Feel.SHUFFLE, 110, CATALOGUE.find("two-beat"), [(0, bar, row)]
        )
        played = [note for note in write_line(plan, seed=3) if note.device == row.id]
        tonic = pitch.Pitch(str(key.tonic).replace("b", "-") + "2")
        theirs = [outside(tone, tonic) for tone in row.pattern.tones]
        assert [engine_name(tone) for tone in theirs] == [str(note.note) for note in played]
        apart = {note.event.midi - tone.midi for note, tone in zip(played, theirs, strict=True)}
        assert 1 == len(apart)  # the same contour, some octaves up or down
        assert 0 == apart.pop() % 12
