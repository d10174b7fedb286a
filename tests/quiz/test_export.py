"""What the catalogue shows, as files."""

import wave
from io import BytesIO
from pathlib import Path

import mido
import pytest
from textual.pilot import Pilot
from textual.widgets import OptionList

from quiz.app import LastbarApp
from quiz.exports import engraving
from quiz.exports.catalogue import CHOICES, offered
from quiz.screens.catalogue import CatalogueScreen
from quiz.screens.export import WRITING, ExportScreen
from tests.quiz.benches import staged
from tests.quiz.test_app import words

FIRST = {
    # how each kind of file begins
    ".txt": b"climb in Db",
    ".musicxml": b"<?xml",
    ".svg": b"<svg",
    ".pdf": b"%PDF",
    ".wav": b"RIFF",
    ".mid": b"MThd",
}


async def written(app: LastbarApp, pilot: Pilot[None]) -> None:
    """Wait until the worker has said what came of it."""
    for _ in range(500):
        screen = app.screen
        if not isinstance(screen, ExportScreen) or words(app, "#problem") not in ("", WRITING):
            return
        await app.workers.wait_for_complete()
        await pilot.pause(0.02)


@pytest.mark.parametrize("ending", CHOICES)
async def test_x_writes_what_is_shown_into_the_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    taken = work / f"climb-Db{ending}"
    taken.write_bytes(b"mine")
    async with staged(tmp_path) as (_, app, pilot):
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("k", "x")
        await pilot.pause()
        await pilot.press(*["down"] * list(CHOICES).index(ending), "enter")
        await pilot.pause()
        await written(app, pilot)
        assert isinstance(app.screen, CatalogueScreen), words(app, "#problem")
        target = work / f"climb-Db-2{ending}"
        assert [f"Written: {target}"] == [note.message for note in app._notifications]
    assert b"mine" == taken.read_bytes()
    data = target.read_bytes()
    assert data.startswith(FIRST[ending])
    assert {taken, target} == set(work.iterdir())
    if ending == ".mid":
        assert "Bass" in [track.name for track in mido.MidiFile(file=BytesIO(data)).tracks]
    if ending == ".wav":
        with wave.open(str(target)) as file:
            assert 44_100 < file.getnframes()


async def test_a_form_can_be_written_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    async with staged(tmp_path) as (_, app, pilot):
        await pilot.press("c", "end")
        await pilot.pause()
        await pilot.press("x")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        await written(app, pilot)
    (file,) = work.iterdir()
    assert "sixteen-bar-tag-C.txt" == file.name
    assert "degrees" in file.read_text("utf-8")


async def test_what_cannot_be_written_is_said_and_the_list_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    async with staged(tmp_path, size=(60, 20)) as (_, app, pilot):
        await pilot.press("c", "x")
        await pilot.pause()
        work.rmdir()
        await pilot.press("enter")
        await pilot.pause()
        await written(app, pilot)
        assert isinstance(app.screen, ExportScreen)
        assert words(app, "#problem") not in ("", WRITING)
        assert list(CHOICES) == [f".{row.id}" for row in app.screen.query_one(OptionList).options]
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, CatalogueScreen), words(app, "#problem")


def test_without_the_engraving_library_no_picture_is_offered(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(engraving, "LIBRARIES", ("no_such_library",))
    assert [".txt", ".musicxml", ".wav", ".mid"] == list(offered())
