"""Answering by playing the bass itself, through a private sound server."""

import json
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from engine.clip import Clip, write_wav
from quiz.errors import SoundInputError
from quiz.playing.instrument import SoundInstrument
from quiz.questions.kinds import Kind
from quiz.questions.value import parameters
from tests.engine.listening.takes import LEAD_IN, quarters, take
from tests.quiz.asking import question
from tests.quiz.sound_server import needs_server, running

ROOT = Path(__file__).parents[2]
CLIMB = replace(question("climb+plain-five", "A", Kind.PLAY), tempo=140.0, feel="straight")
LINE = [33, 37, 38, 39, 40, 40, 40, 40]  # 1 3 4 #4 5 5 5 5
FLAT = -24.0
"""Cents."""


@needs_server
def test_a_figure_played_on_a_flat_bass_is_measured_heard_and_right(tmp_path: Path) -> None:
    wave = take(quarters(LINE), CLIMB.tempo, cents=FLAT)
    loud = np.repeat((wave / np.max(np.abs(wave)) * 20_000).astype(np.int16)[:, None], 2, axis=1)
    file = tmp_path / "take.wav"
    write_wav(Clip(np.ascontiguousarray(loud)), file)
    command = [sys.executable, "-m", "tests.quiz.taking_child", parameters(CLIMB)]
    with (
        running(tmp_path) as server,
        subprocess.Popen(
            command, env=server.environment, cwd=ROOT, stdout=subprocess.PIPE, text=True
        ) as child,
    ):
        assert child.stdout is not None
        start = json.loads(child.stdout.readline())["start"]
        time.sleep(max(0.0, start - LEAD_IN * 60 / CLIMB.tempo - time.monotonic()))
        server.play(file)
        heard = json.loads(child.stdout.readline())
    assert LINE == [int(word.partition("@")[0]) for word in heard["given"].split()]
    assert "right" == heard["verdict"]
    assert heard["said"].startswith("Right notes;")
    assert heard["tuning"].startswith("Your instrument is 2")  # 24 cents, a few more or less
    assert heard["tuning"].endswith("cents flat: that has been taken off.")
    assert heard["live"] >= len(LINE) - 1
    assert not heard["open"]  # the input is given back when the take is over


def test_an_input_that_is_not_there_is_refused_with_what_to_do() -> None:
    with pytest.raises(SoundInputError, match="connect one, or choose another"):
        SoundInstrument("no such device")
