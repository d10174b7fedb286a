"""`lastbar track`, run as a process, the way scripts run it."""

import json
import os
import signal
import subprocess
import sys
import time
import wave
from pathlib import Path

import mido
import pytest

from quiz.display.cautions import CAUTIONS
from tests.quiz.test_cli import ROOT, one_line_error, run

SHORT = ("--form", "eight-bar", "--tempo", "150", "--choruses", "1")
DEVICES = "climb+dip, walk-up-one-four@4"


def children(process: int) -> str:
    """The processes that a process has started."""
    found = subprocess.run(["pgrep", "-P", str(process)], capture_output=True, text=True)
    return found.stdout.strip()


def any_begun(folder: Path) -> bool:
    """Whether anything has been written there."""
    return any(path.stat().st_size for path in folder.iterdir())


def plan(tmp_path: Path, *arguments: str) -> list[dict[str, object]]:
    result = run(tmp_path, "track", "--plan-only", "--json", *arguments)
    assert 0 == result.returncode, result.stderr
    tracks = json.loads(result.stdout)["tracks"]
    assert isinstance(tracks, list)
    return tracks


def test_the_plan_says_what_comes_in_which_chorus(tmp_path: Path) -> None:
    chosen = ("--chorus", DEVICES, "--chorus", "", "--bass", "turns", "--tempo", "100..110+10")
    result = run(tmp_path, "track", "--plan-only", "--key", "Bb", *chosen)
    # 26 bars and a landing at 100 and at 110 beats a minute: 62.4 s and 56.7 s
    assert [
        "twelve-bar blues with the five in bar 12 in Bb, shuffle, 4 choruses, 1:59",
        "100 beats a minute, one bar of counting",
        "chorus 1: climb + dip; chromatic walk-up into the four in bar 4",
        "chorus 2: no device; you play the bass",
        "110 beats a minute, one bar of counting",
        "chorus 3: climb + dip; chromatic walk-up into the four in bar 4",
        "chorus 4: no device; you play the bass",
    ] == result.stdout.splitlines()


def test_the_plan_is_data_too(tmp_path: Path) -> None:
    (track,) = plan(tmp_path, "--key", "Eb", "--chorus", DEVICES, "--choruses", "2")
    assert ("Eb", "twelve-bar-five", None) == (track["key"], track["form"], track["file"])
    choruses = track["choruses"]
    assert isinstance(choruses, list)
    assert [1, 2] == [row["chorus"] for row in choruses]
    assert [4, 11] == [row["bar"] for row in choruses[1]["devices"]]


@pytest.mark.parametrize(
    ("keys", "played"),
    [
        ("A", "A"),
        ("A, D,G", "A D G"),
        ("fourths", "C F Bb Eb Ab Db Gb B E A D G"),
        ("fourths from A", "A D G C F Bb Eb Ab Db Gb B E"),
    ],
)
def test_keys_are_one_or_several_or_round_the_fourths(
    tmp_path: Path, keys: str, played: str
) -> None:
    tracks = plan(tmp_path, "--key", keys, *SHORT)
    assert played == " ".join(str(track["key"]) for track in tracks)


def test_several_keys_are_several_files_and_none_is_written_over(tmp_path: Path) -> None:
    out = tmp_path / "t.mid"
    command = ("track", "--key", "F#,A", *SHORT, "--out", str(out))
    result = run(tmp_path, *command)
    names = [str(tmp_path / f"t-{key}.mid") for key in ("F-sharp", "A")]
    assert names == result.stdout.splitlines()[-2:]
    assert "2 of 2 files" in result.stderr
    lengths = {round(mido.MidiFile(name).length, 6) for name in names}
    assert {10 * 4 * 60 / 150} == lengths  # count-in, eight bars, landing
    assert "is there already" in one_line_error(run(tmp_path, *command), 1)
    assert 0 == run(tmp_path, *command, "--force").returncode


def test_a_track_is_sound_as_long_as_its_plan_says(tmp_path: Path) -> None:
    out = tmp_path / "t.wav"
    result = run(tmp_path, "track", "--key", "A", *SHORT, "--out", str(out), "--json")
    (track,) = json.loads(result.stdout)["tracks"]
    assert "100 %" in result.stderr
    with wave.open(str(out)) as file:
        length = file.getnframes() / file.getframerate()
    assert track["seconds"] + 1.5 == pytest.approx(length, abs=0.002)
    assert sorted(["t.wav", "config", "data"]) == sorted(
        {"config", "data", *(path.name for path in tmp_path.iterdir())}
    )


def test_long_tracks_come_with_the_cautions_once(tmp_path: Path) -> None:
    short = run(tmp_path, "track", "--plan-only", "--key", "A", "--choruses", "1")
    assert ", 1 chorus, " in short.stdout
    long = run(tmp_path, "track", "--plan-only", "--key", "A,D", "--choruses", "30")
    for caution in CAUTIONS:
        assert caution not in short.stderr
        assert 1 == long.stderr.count(caution)


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        (("--key", "A"), "no file was given: give --out FILE.wav, .flac or .mid"),
        (("--key", "A", "--out", "t.mp3"), "ends in .wav, .flac or .mid"),
        (("--key", "A", "--chorus", "climb", "--device", "climb"), "list the choruses, or name"),
        (("--key", "fourths to A"), "give fourths, or fourths from and a key"),
        (("--key", "A", "--tempo", "fast"), "is no tempo"),
        (("--key", "A", "--chorus", "climb@4"), "starts in bar 11"),
        (("--key", "A", "--chorus", "@4"), "give a device before the @"),
        (("--key", "A", "--bass", "out", "--texture", "bass"), "nobody else plays: give drums or"),
        (
            ("--key", "A", "--chorus", "climb-five-one", "--choruses", "2"),
            "put it into the last chorus, number 2",
        ),
    ],
)
def test_wrong_use_is_one_line_that_says_what_to_do(
    tmp_path: Path, arguments: tuple[str, ...], problem: str
) -> None:
    # nothing goes to stdout before all of it is known to be right
    result = run(tmp_path, "track", *arguments)
    assert problem in one_line_error(result, 1)
    assert "" == result.stdout


@pytest.mark.skipif(os.name == "nt", reason="there SIGTERM ends a process without a word")
@pytest.mark.parametrize("keys", ["A", "A,D,G"])
def test_a_track_that_is_told_to_end_leaves_no_file_and_no_process(
    tmp_path: Path, keys: str
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    environment = os.environ | {
        "LASTBAR_CONFIG": str(tmp_path / "config"),
        "LASTBAR_DATA": str(tmp_path / "data"),
    }
    arguments = ["track", "--key", keys, "--choruses", "40", "--out", str(out / "t.wav")]
    with subprocess.Popen(
        [sys.executable, "-m", "quiz.cli", *arguments],
        env=environment,
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    ) as process:
        until = time.monotonic() + 60
        while not any_begun(out):
            assert time.monotonic() < until
            time.sleep(0.02)
        process.send_signal(signal.SIGTERM)
        assert 1 == process.wait(timeout=30)
    assert [] == list(out.iterdir())


def _hears_interrupts() -> None:
    """What a shell starts in the background ignores Ctrl+C, and hands that on."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


@pytest.mark.skipif(os.name == "nt", reason="there a process has no group of its own")
@pytest.mark.parametrize(("sent", "starting"), [("SIGINT", True), ("SIGHUP", False)])
def test_what_a_terminal_tells_all_its_processes_ends_the_work_in_one_line(
    tmp_path: Path, sent: str, starting: bool
) -> None:
    # Ctrl+C and a closed window reach the processes that write as well, and while they start
    out = tmp_path / "out"
    out.mkdir()
    environment = os.environ | {
        "LASTBAR_CONFIG": str(tmp_path / "config"),
        "LASTBAR_DATA": str(tmp_path / "data"),
    }
    arguments = ["track", "--key", "A,D,G", "--choruses", "40", "--out", str(out / "t.wav")]
    with subprocess.Popen(
        [sys.executable, "-m", "quiz.cli", *arguments, "--json"],
        env=environment,
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
        preexec_fn=_hears_interrupts,
        text=True,
    ) as process:
        assert process.stdout is not None
        until = time.monotonic() + 60
        while not (children(process.pid) if starting else any_begun(out)):
            assert time.monotonic() < until
            time.sleep(0.02)
        os.killpg(process.pid, getattr(signal, sent))
        _, problems = process.communicate(timeout=30)
    assert 1 == process.returncode
    assert "lastbar: stopped: no half file is left" == problems.splitlines()[-1]
    assert "Traceback" not in problems
    assert [] == list(out.iterdir())


@pytest.mark.parametrize(
    "arguments",
    [
        ("track", "--plan-only", "--chorus", "nosuch"),
        ("track", "--plan-only", "--chorus", "climb+nosuch@11"),
        ("track", "--plan-only", "--chorus", "climb+dip+fall"),
        ("track", "--plan-only", "--base", "nosuch"),
        ("track", "--plan-only", "--device", "nosuch"),
        ("sheet", "--chorus", "nosuch"),
        ("sheet", "climb", "--base", "nosuch"),
    ],
)
def test_a_device_that_is_not_there_is_not_found(
    tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    result = run(tmp_path, *arguments, "--key", "A")
    assert "there is no device" in one_line_error(result, 2)


def test_a_device_of_the_wrong_family_is_wrong_use(tmp_path: Path) -> None:
    result = run(tmp_path, "track", "--plan-only", "--key", "A", "--base", "climb")
    assert "is no base pattern" in one_line_error(result, 1)
