"""Listening to a real sound input: a private sound server plays a take into the microphone."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from engine.clip import Clip, write_wav
from quiz.errors import SoundInputError
from quiz.playing.audio_input import GONE, SILENCE_SECONDS, SILENT, AudioInput, input_problem
from tests.engine.listening.takes import quarters, take
from tests.quiz.sound_server import Server, needs_server, running

ROOT = Path(__file__).parents[3]
LINE = [33, 37, 38, 39, 40, 40]
TEMPO = 140


@contextmanager
def listening(server: Server, silence: float) -> Iterator[subprocess.Popen[str]]:
    """A listener in a process of its own, since a process finds its devices once."""
    command = [sys.executable, "-m", "tests.quiz.listening_child", str(silence)]
    with subprocess.Popen(
        command, env=server.environment, cwd=ROOT, stdout=subprocess.PIPE, text=True
    ) as child:
        try:
            yield child
        finally:
            child.kill()


def line(child: subprocess.Popen[str]) -> dict[str, Any]:
    assert child.stdout is not None
    answer: dict[str, Any] = json.loads(child.stdout.readline())
    return answer


def last(child: subprocess.Popen[str]) -> dict[str, Any]:
    while "ended" not in (answer := line(child)):
        pass
    return answer


def recorded(folder: Path) -> Path:
    """The line as a file: as loud as a cable brings it."""
    wave = take(quarters(LINE), TEMPO)
    loud = np.repeat((wave / np.max(np.abs(wave)) * 20_000).astype(np.int16)[:, None], 2, axis=1)
    target = folder / "take.wav"
    write_wav(Clip(np.ascontiguousarray(loud)), target)
    return target


@needs_server
def test_a_take_is_heard_note_by_note_and_ends_after_silence(tmp_path: Path) -> None:
    file = recorded(tmp_path)
    with running(tmp_path) as server, listening(server, silence=1.5) as child:
        assert "ready" in line(child)
        server.play(file)
        answer = last(child)
    assert SILENT == answer["ended"]
    assert LINE == answer["notes"]
    assert LINE == answer["began"]
    assert {"take.wav"} == {path.name for path in tmp_path.rglob("*.wav")}  # nothing is recorded


@needs_server
def test_an_input_that_goes_away_ends_the_take_and_says_so(tmp_path: Path) -> None:
    file = recorded(tmp_path)
    with running(tmp_path) as server, listening(server, silence=30) as child:
        assert "ready" in line(child)
        server.play(file)
        server.stop()
        answer = last(child)
    assert GONE == answer["ended"]
    assert LINE == answer["notes"]


def test_an_input_that_is_not_there_is_refused_with_what_to_do() -> None:
    with pytest.raises(SoundInputError, match="connect one, or choose another"):
        AudioInput("no such device")
    assert "no sound input" in (input_problem("no such device") or "")


def test_ten_seconds_of_silence_end_a_take() -> None:
    assert 10 == SILENCE_SECONDS
    assert "10 seconds" in SILENT
