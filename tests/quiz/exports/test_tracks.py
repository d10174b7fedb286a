"""Tracks into files, several at a time."""

import os
import signal
import threading
import time
from multiprocessing import active_children
from pathlib import Path

import pytest

from engine.catalogue import builtin_catalogue
from engine.choosing import mixed
from engine.feels import Feel
from engine.notation import parse_key
from engine.sound import Mix
from engine.track import TrackPlan
from quiz.errors import FileError
from quiz.exports.tracks import TrackJob, write_track, write_tracks
from sounds import soundfont_path
from tests.quiz.history.test_store import no_more_bytes

CATALOGUE = builtin_catalogue()


def job(target: Path, choruses: int = 1, force: bool = False) -> TrackJob:
    form = CATALOGUE.form("eight-bar")
    plan = TrackPlan(
        form, parse_key("F"), Feel.SHUFFLE, CATALOGUE.find("boogie"), (160.0,),
        mixed(form, CATALOGUE, choruses, 1, 1),
    )  # fmt: skip
    return TrackJob(plan, target, soundfont_path(), Mix(), force)


def test_it_is_told_how_far_a_track_is(tmp_path: Path) -> None:
    told: list[float] = []
    write_track(job(tmp_path / "t.wav"), told.append)
    assert sorted(told) == told
    assert 1.0 == told[-1]
    assert 10 < len(told)


def test_a_name_that_is_taken_is_left_alone_and_nothing_is_rendered(tmp_path: Path) -> None:
    target = tmp_path / "t.wav"
    target.write_bytes(b"mine")
    told: list[float] = []
    with pytest.raises(FileError, match="is there already"):
        write_track(job(target), told.append)
    assert [] == told
    assert b"mine" == target.read_bytes()
    write_track(job(target, force=True))
    assert target.read_bytes().startswith(b"RIFF")


def test_a_name_that_is_taken_meanwhile_is_left_alone_too(tmp_path: Path) -> None:
    target = tmp_path / "t.wav"

    def take(done: float) -> None:
        target.write_bytes(b"mine")

    with pytest.raises(FileError, match="is there already"):
        write_track(job(target), take)
    assert b"mine" == target.read_bytes()
    assert [target] == list(tmp_path.iterdir())


def test_an_error_on_the_way_leaves_nothing_behind(tmp_path: Path) -> None:
    def stop(done: float) -> None:
        raise KeyboardInterrupt

    for ending in (".wav", ".flac"):
        with pytest.raises(KeyboardInterrupt):
            write_track(job(tmp_path / f"t{ending}"), stop)
    assert [] == list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    for ending in (".wav", ".flac", ".mid"):
        with pytest.raises(FileError, match="cannot be written"):
            write_track(job(tmp_path / "none" / f"t{ending}"))


@pytest.mark.skipif(os.name == "nt", reason="there no process can be killed by a signal")
def test_a_process_that_is_killed_is_noticed(tmp_path: Path) -> None:
    def kill() -> None:
        until = time.monotonic() + 60
        while time.monotonic() < until and not any(tmp_path.iterdir()):
            time.sleep(0.02)
        for child in active_children():
            assert child.pid is not None
            os.kill(child.pid, signal.SIGKILL)

    killer = threading.Thread(target=kill)
    killer.start()
    with pytest.raises(FileError, match="was ended from outside"):
        write_tracks([job(tmp_path / f"{name}.wav", 80) for name in "ab"], lambda count: None)
    killer.join()
    assert [] == list(tmp_path.iterdir())


@pytest.mark.skipif(os.name == "nt", reason="no limit of a file's length there")
@pytest.mark.parametrize("ending", [".wav", ".flac", ".mid"])
@pytest.mark.parametrize("room", [0, 100, 40_000])
def test_a_full_disk_is_told_as_the_system_tells_it_and_leaves_nothing(
    tmp_path: Path, ending: str, room: int
) -> None:
    target = tmp_path / f"t{ending}"
    room = min(room, 100) if ending == ".mid" else room
    with (
        no_more_bytes(room),
        pytest.raises(FileError, match=r"\(File too large\): .* check that the disk has room"),
    ):
        write_track(job(target))
    assert [] == list(tmp_path.iterdir())
