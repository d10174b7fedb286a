"""`lastbar hear --file`, run as a process."""

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from engine.clip import Clip, write_wav
from tests.engine.listening.takes import Struck, take
from tests.quiz.test_cli import one_line_error, run

CLIMB_DIP = [
    *(Struck(float(beat), midi) for beat, midi in enumerate([29, 33, 34, 35, 36])),
    Struck(5, 37, 2 / 3),
    Struck(5 + 2 / 3, 36, 1 / 3),
    Struck(6, 36),
    Struck(7, 36),
    Struck(8, 29, 2),
]
"""The climb and the dip in F, shuffled."""


def recorded(folder: Path, notes: Sequence[Struck], cents: float = 0.0) -> str:
    wave = take(notes, 110, cents=cents)
    frames = np.repeat((wave * 32_000).astype(np.int16)[:, None], 2, axis=1)
    target = folder / "take.wav"
    write_wav(Clip(np.ascontiguousarray(frames)), target)
    return str(target)


def test_a_figure_is_named_with_notes_and_degrees_as_data(tmp_path: Path) -> None:
    file = recorded(tmp_path, CLIMB_DIP, cents=-25)
    data = json.loads(run(tmp_path, "hear", "--file", file, "--key", "F", "--json").stdout)
    assert ("it", "climb+dip") == (data["verdict"], data["nearest"]["device"])
    assert data["nearest"]["distance"] < 0.05
    assert "1 3 4 #4 5 b6 5 5 5 1" == " ".join(note["degree"] for note in data["notes"])
    assert [note.midi for note in CLIMB_DIP] == [note["midi"] for note in data["notes"]]
    assert abs(data["tuning_cents"] + 25) < 6
    assert ("F", True) == (data["key"], data["key_stated"])


def test_a_figure_is_named_in_words_without_a_key_too(tmp_path: Path) -> None:
    lines = run(tmp_path, "hear", "--file", recorded(tmp_path, CLIMB_DIP)).stdout.splitlines()
    assert any(line.startswith("Climb + dip in F") for line in lines)
    assert any("not stated: the best guess" in line for line in lines)


def test_a_changed_figure_is_a_variant_and_a_strange_line_none_of_these(tmp_path: Path) -> None:
    changed = [note._replace(midi=32) if note.beat == 1 else note for note in CLIMB_DIP]
    strange = [Struck(float(beat), midi) for beat, midi in enumerate([29, 36, 30, 37, 28, 34, 31])]
    said = [
        run(tmp_path, "hear", "--file", recorded(tmp_path, notes), "--key", "F").stdout
        for notes in ([*changed[:4], Struck(4, 38), *changed[5:]], strange)
    ]
    assert "A variant of climb" in said[0]
    assert "bar 2 beat 1: 6 in place of 5" in said[0]
    assert "None of these. The nearest: " in said[1]
    assert "compared with one figure alone" in said[1]


def test_a_long_take_is_not_said_to_have_too_few_notes(tmp_path: Path) -> None:
    long = [Struck(float(beat), 29 + beat * 5 % 12) for beat in range(80)]
    few = [Struck(0, 29), Struck(1, 33)]
    said = [
        run(tmp_path, "hear", "--file", recorded(tmp_path, notes), "--key", "F").stdout
        for notes in (long, few)
    ]
    assert "None of these, and none is near." in said[0]
    assert "leave out what comes before and after it" in said[0]
    assert "too few notes" in said[1]


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("hear",), 1, "one of them"),
        (("hear", "climb"), 1, "--key F"),
        (("hear", "climb", "--key", "F", "--json"), 1, "give it with --file"),
        (("hear", "climb", "--key", "F", "--file", "x.wav"), 1, "one of them"),
        (("hear", "--file", "nowhere.wav"), 2, "there is no file nowhere.wav"),
        (("hear", "--file", "README.md", "--out", "x.wav"), 1, "leave it out"),
        (("hear", "--file", "README.md", "--key", "H"), 1, "is no key"),
    ],
)
def test_wrong_use_is_told_in_one_line(
    tmp_path: Path, arguments: tuple[str, ...], code: int, says: str
) -> None:
    assert says in one_line_error(run(tmp_path, *arguments), code)


@pytest.mark.parametrize(
    ("seconds", "says"), [(0.0, "too short"), (0.1, "too short"), (1.0, "silent")]
)
def test_a_recording_with_nothing_in_it_is_told(tmp_path: Path, seconds: float, says: str) -> None:
    target = tmp_path / "nothing.wav"
    write_wav(Clip(np.zeros((int(44_100 * seconds), 2), np.int16)), target)
    assert says in one_line_error(run(tmp_path, "hear", "--file", str(target)), 1)
