"""What the catalogue shows, as files: on paper, as sound, as MIDI."""

from pathlib import Path

from engine.forms import Form
from engine.midi import to_midi_bytes
from engine.recording import WAV, record
from quiz.exports.engraving import missing
from quiz.exports.paper_files import MUSICXML, PDF, SVG, TEXT, name_of, write_sheet
from quiz.exports.sheets import Manner, chorus_passage, figure_passage
from quiz.exports.tracks import MIDI
from quiz.files import free_name, new_file
from quiz.learning.material import find_row
from quiz.questions.hearing import Hearing
from quiz.workbench import Workbench

CHOICES = {
    TEXT: "tablature, as text",
    MUSICXML: "notes and tablature, as MusicXML",
    SVG: "a picture of them, as SVG",
    PDF: "a page of them, as PDF",
    WAV: "the sound, as WAV",
    MIDI: "the band, as MIDI",
}
"""What each kind of file holds."""


def offered() -> dict[str, str]:
    """The choices that this machine has: no picture where nothing draws one."""
    pictures = () if missing() is None else (SVG, PDF)
    return {ending: words for ending, words in CHOICES.items() if ending not in pictures}


def export(bench: Workbench, hearing: Hearing, ending: str, folder: Path) -> Path:
    """Write what is shown into a file of that ending, under a name that no file has yet.

    Raises FileError when it cannot be written, and what rendering and drawing raise. It takes a
    second or two for sound and pictures.
    """
    target = free_name(folder / f"{hearing.device}-{name_of(hearing.key)}{ending}")
    if ending in (WAV, MIDI):
        _, score = hearing.passage(bench.catalogue)
        with new_file(target) as partial:
            if ending == MIDI:
                partial.write_bytes(to_midi_bytes(score))
            else:
                record([bench.studio.render(score).frames], partial, WAV)
        return target
    settings = bench.settings
    manner = Manner(
        hearing.key,
        hearing.feel,
        hearing.tempo,
        seed=hearing.seed,
        tuning=bench.tuning,
        frets=settings.frets,
    )
    row = find_row(hearing.device, bench.catalogue)
    if isinstance(row, Form):
        passage = chorus_passage(row, [], manner, bench.catalogue)
    else:
        passage = figure_passage(row, manner, bench.catalogue)
    write_sheet(passage.sheet(manner), target, plain=settings.ascii)
    return target
