"""Sheets as MusicXML, read by others: the published schema, and music21.

The schema is that of MusicXML 4.0 (W3C Music Notation Community Group Final Report, 2021), as the
package `musicxml` carries it; what it imports is carried by the package `xmlschema`.
"""

from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from music21 import converter, harmony, note, stream, tempo

from engine.catalogue import builtin_catalogue
from engine.choosing import parse_chorus
from engine.feels import Feel
from engine.neck import TUNINGS
from engine.notation import parse_key
from engine.paper.musicxml import to_musicxml
from engine.paper.notated import Sheet
from quiz.exports.sheets import Manner, chorus_passage, figure_passage

CATALOGUE = builtin_catalogue()


def folder(package: str) -> Path:
    spec = find_spec(package)
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent


@cache
def schema() -> Any:
    carried = folder("xmlschema") / "schemas"
    text = (folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd").read_text("utf-8")
    for name, file in {"xml": "XML/xml.xsd", "xlink": "XLINK/xlink.xsd"}.items():
        text = text.replace(
            f"http://www.musicxml.org/xsd/{name}.xsd", (carried / file).resolve().as_uri()
        )
    return etree.XMLSchema(etree.fromstring(text.encode("utf-8")))


def mistakes(text: str) -> list[str]:
    """What the schema has against a file."""
    checked = schema()
    checked.validate(etree.fromstring(text.encode("utf-8")))
    return [f"line {row.line}: {row.message}" for row in checked.error_log]


def chorus(form: str, key: str, feel: Feel, devices: str, base: str | None = None) -> Sheet:
    found = CATALOGUE.form(form)
    manner = Manner(parse_key(key), feel, 60 if feel is Feel.SLOW else 120, base)
    placed = parse_chorus(devices, found, CATALOGUE)
    return chorus_passage(found, placed, manner, CATALOGUE).sheet(manner)


SHEETS = {
    "shuffle": chorus("twelve-bar-five", "A", Feel.SHUFFLE, "climb+dip, walk-up-one-four"),
    "swing": chorus("jazz-blues", "Eb", Feel.SWING, "half-below-into-four"),
    "slow": chorus("eight-bar-slow", "F", Feel.SLOW, "fall+two-five", "root-eighths"),
    "minor": chorus("minor-blues", "G#m", Feel.STRAIGHT, "four-to-one"),
    "flats": chorus("sixteen-bar-tag", "Cb", Feel.STRAIGHT, "flat-three-flat-two"),
    "doubled": chorus("quick-change", "F#", Feel.SHUFFLE, "fall+plain-five+doubled"),
}


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_is_valid_musicxml(name: str) -> None:
    assert [] == mistakes(to_musicxml(SHEETS[name]))
    assert [] == mistakes(to_musicxml(SHEETS[name], for_a_picture=True))


@pytest.mark.parametrize("tuning", TUNINGS, ids=lambda tuning: tuning.id)
def test_every_instrument_is_valid_musicxml(tuning: Any) -> None:
    manner = Manner(parse_key("Bb"), Feel.SHUFFLE, 110, tuning=tuning)
    device = CATALOGUE.find("climb+dip")
    assert [] == mistakes(to_musicxml(figure_passage(device, manner, CATALOGUE).sheet(manner)))


def test_the_schema_refuses_what_is_no_musicxml() -> None:
    text = to_musicxml(SHEETS["shuffle"])
    assert mistakes(text.replace("<step>A</step>", "<step>H</step>"))
    assert mistakes(text.replace("<type>quarter</type>", "<type>crotchet</type>"))


@cache
def read_back(name: str) -> stream.Score:
    score = converter.parseData(to_musicxml(SHEETS[name]), format="musicxml")
    assert isinstance(score, stream.Score)
    return score


@pytest.mark.parametrize("name", SHEETS)
def test_music21_reads_the_notes_as_they_sound(name: str) -> None:
    sheet = SHEETS[name]
    written = [
        (sign.sounding.midi, sign.length / 2) for sign in sheet.signs if sign.sounding is not None
    ]
    for part in read_back(name).parts:
        sounding = part.toSoundingPitch()
        read = [
            (one.pitch.midi, float(one.quarterLength))
            for one in sounding.flatten().getElementsByClass(note.Note)
        ]
        assert written == read
    assert 2 == len(read_back(name).parts)


@pytest.mark.parametrize("name", SHEETS)
def test_music21_spells_the_notes_as_the_engine_does(name: str) -> None:
    staff = read_back(name).parts[0].flatten().getElementsByClass(note.Note)
    read = [one.name.replace("-", "b") for one in staff]
    assert [str(sign.sounding.note) for sign in SHEETS[name].signs if sign.sounding] == read


@pytest.mark.parametrize("name", SHEETS)
def test_music21_reads_the_chords_where_they_stand(name: str) -> None:
    sheet = SHEETS[name]
    written = [
        (
            index * sheet.meter.per_bar / 2 + row.beat * sheet.meter.per_beat / 2,
            row.chord.pitch_classes(sheet.key.tonic),
        )
        for index, bar in enumerate(sheet.bars)
        for row in bar.chords
    ]
    read = [
        (float(symbol.offset), frozenset(pitch.pitchClass for pitch in symbol.pitches))
        for symbol in read_back(name).parts[0].flatten().getElementsByClass(harmony.ChordSymbol)
    ]
    assert written == read


def test_music21_reads_meter_key_tempo_and_the_degrees_under_the_notes() -> None:
    staff = read_back("minor").parts[0]
    measure = staff.measure(1)
    assert isinstance(measure, stream.Measure)
    assert measure.timeSignature is not None
    assert "4/4" == measure.timeSignature.ratioString
    assert measure.keySignature is not None
    assert 5 == measure.keySignature.sharps  # G# minor [standard key signatures]
    slow = read_back("slow").flatten().getElementsByClass(tempo.MetronomeMark).first()
    assert slow is not None
    assert 90.0 == slow.getQuarterBPM()  # 60 dotted quarters
    degrees = [one.lyric for one in staff.flatten().getElementsByClass(note.Note) if one.lyric]
    struck = [sign for sign in SHEETS["minor"].signs if sign.struck]
    assert [str(sign.sounding.degree) for sign in struck if sign.sounding] == degrees


def test_the_bars_are_as_long_as_music21_wants_them() -> None:
    for name in SHEETS:
        for part in read_back(name).parts:
            for measure in part.getElementsByClass(stream.Measure):
                assert measure.barDuration.quarterLength == measure.duration.quarterLength
