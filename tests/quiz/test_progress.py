"""What takes long says how far it is; what does not, says nothing."""

import io
import sys
from contextlib import closing
from pathlib import Path

import pytest

from quiz.commands.output import history_at, waiting
from quiz.history.store import open_store
from tests.quiz.benches import opened
from tests.quiz.history.test_store import a_history_of_version, some_answers


class Terminal(io.StringIO):
    """A stderr that stands on a screen."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("quiz.commands.output.PATIENCE", -1.0)


@pytest.mark.usefixtures("impatient")
def test_a_pipe_gets_a_line_every_tenth(capsys: pytest.CaptureFixture[str]) -> None:
    with waiting("Tuning up") as progress:
        for thousandth in range(0, 1000, 5):
            progress(thousandth / 1000)
    lines = [f"lastbar: Tuning up: {tenth * 10} %" for tenth in range(10)]
    assert lines == capsys.readouterr().err.splitlines()


@pytest.mark.usefixtures("impatient")
def test_a_terminal_gets_one_line_that_is_wiped_at_the_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    with waiting("Tuning up") as progress:
        progress(0.25)
        progress(0.251)
        progress(0.5)
    told = screen.getvalue().split("\r")
    assert ["", "lastbar: Tuning up: 25 %", "lastbar: Tuning up: 50 %"] == told[:3]
    assert len(told[3]) >= len(told[2])
    assert (True, "") == (told[3].isspace(), told[4])
    assert "\n" not in screen.getvalue()


def test_what_takes_no_second_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    with waiting("Tuning up") as progress:
        progress(0.5)
    assert "" == capsys.readouterr().err


@pytest.mark.usefixtures("impatient")
def test_a_history_of_an_older_version_tells_how_far_its_opening_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("quiz.history.database._BEAT", 1000)
    a_history_of_version(2, tmp_path / "history.db", some_answers(300))
    with closing(history_at(tmp_path / "history.db")) as store:
        assert 300 == store.count()
    assert "lastbar: Opening the history: " in capsys.readouterr().err


def test_a_start_leaves_no_replay_to_the_first_question(tmp_path: Path) -> None:
    with opened(tmp_path) as bench:
        bench.store.take_in(some_answers(50))
    with opened(tmp_path):
        pass
    told: list[float] = []
    with closing(open_store(tmp_path / "data" / "history.db")) as store:
        store.practice(told.append)
    assert [] == told
