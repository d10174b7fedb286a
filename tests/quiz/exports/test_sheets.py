"""What goes on paper, and the files it goes into."""

from pathlib import Path

import pytest

from engine.catalogue import Device, Family, builtin_catalogue
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.figure import figure
from engine.notation import parse_key
from engine.pattern import Mark
from quiz.errors import FileError
from quiz.exports.paper_files import write_sheet
from quiz.exports.sheets import Manner, chorus_passage, figure_passage

CATALOGUE = builtin_catalogue()
ALONE = [
    device
    for device in (*CATALOGUE.devices, *CATALOGUE.turnarounds())
    if device.family is not Family.BASE
    and not any(step.what is Mark.BASE for step in device.pattern.steps)
]
F = Manner(parse_key("F"), Feel.SHUFFLE, 110)


@pytest.mark.parametrize("device", ALONE, ids=lambda device: device.id)
def test_a_figure_on_paper_is_the_figure_that_is_spelled(device: Device) -> None:
    for key in ("A", "Eb"):
        manner = Manner(parse_key(key), Feel.SHUFFLE, 110)
        line = figure_passage(device, manner, CATALOGUE).line
        spelled = figure(device, manner.key)
        assert list(spelled.pitches) == [note.event.midi for note in line]
        assert [str(note.note) for note in spelled.notes] == [str(note.note) for note in line]


def test_a_pickup_that_begins_late_stands_behind_the_base_pattern() -> None:
    passage = figure_passage(CATALOGUE.find("half-below-into-four"), F, CATALOGUE)
    assert [None, None, None, "half-below-into-four", "half-below-into-four"] == [
        note.device for note in passage.line
    ]


def test_a_base_pattern_stands_over_the_chord_of_the_tonic() -> None:
    passage = figure_passage(CATALOGUE.find("boogie"), F, CATALOGUE)
    assert 3 == len(passage.plan.bars)
    assert {"I7"} == {str(chord) for bar in passage.plan.bars for chord in bar.chords}


def test_an_ending_that_is_played_again_is_written_out() -> None:
    twice = CATALOGUE.find("last-four-twice")
    assert 9 == len(figure_passage(twice, F, CATALOGUE).plan.bars)


def test_a_key_that_no_signature_holds_becomes_the_one_that_sounds_alike() -> None:
    manner = Manner(parse_key("Dbm"), Feel.SHUFFLE, 110)
    form = CATALOGUE.form("minor-blues")
    assert "minor blues in C# minor" == chorus_passage(form, [], manner, CATALOGUE).title


def test_the_form_says_whether_a_chorus_is_minor() -> None:
    form = CATALOGUE.form("minor-blues")
    assert chorus_passage(form, [], F, CATALOGUE).plan.key.minor


def test_only_a_base_pattern_can_be_one() -> None:
    wrong = Manner(parse_key("F"), Feel.SHUFFLE, 110, "climb")
    with pytest.raises(MusicInputError, match="'climb' is no base pattern: give one of two-beat"):
        figure_passage(CATALOGUE.find("dip"), wrong, CATALOGUE)


@pytest.mark.parametrize("ending", [".txt", ".musicxml", ".svg", ".pdf"])
def test_a_sheet_is_written_as_its_name_says_and_never_over_another_file(
    tmp_path: Path, ending: str
) -> None:
    sheet = figure_passage(CATALOGUE.find("dip"), F, CATALOGUE).sheet(F)
    target = tmp_path / f"dip{ending}"
    write_sheet(sheet, target)
    first = target.read_bytes()
    assert first
    target.write_bytes(b"mine")
    with pytest.raises(FileError, match="is there already: give another name"):
        write_sheet(sheet, target)
    assert b"mine" == target.read_bytes()
    write_sheet(sheet, target, force=True)
    assert first == target.read_bytes()
    assert [target] == list(tmp_path.iterdir())


def test_another_ending_is_refused(tmp_path: Path) -> None:
    sheet = figure_passage(CATALOGUE.find("dip"), F, CATALOGUE).sheet(F)
    with pytest.raises(FileError, match=r"ends in \.txt, \.musicxml, \.svg or \.pdf"):
        write_sheet(sheet, tmp_path / "dip.doc")


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    sheet = figure_passage(CATALOGUE.find("dip"), F, CATALOGUE).sheet(F)
    with pytest.raises(FileError, match="cannot be written"):
        write_sheet(sheet, tmp_path / "none" / "dip.txt")
