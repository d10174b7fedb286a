"""The demonstration: full scores at once, marked everywhere, and nothing of the user's touched."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from textual.widgets import Static

from quiz.answers import INVENTED
from quiz.app import LastbarApp
from quiz.clock import now
from quiz.history.store import open_store
from quiz.learners.demonstration import MARK, demonstration
from quiz.progress.counts import scores
from quiz.screens.hand_in import HandInScreen
from quiz.screens.roster import RosterScreen
from quiz.screens.welcome import WelcomeScreen
from quiz.sound.player import ClockPlayer
from quiz.workbench import open_workbench
from tests.quiz.histories import an_answer
from tests.quiz.test_cli import ROOT, one_line_error, run


def everything(folder: Path) -> dict[str, bytes]:
    """Each file in a folder and what is in it."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


def a_history(folder: Path) -> dict[str, bytes]:
    """A user's own folders, with an answer and with settings."""
    store = open_store(folder / "data" / "history.db")
    store.take_in([an_answer()])
    store.close()
    (folder / "config").mkdir()
    (folder / "config" / "settings.toml").write_text("daily_questions = 7\n", encoding="utf-8")
    return everything(folder)


def test_the_demonstration_has_weeks_of_scores_that_end_yesterday_and_leaves_nothing() -> None:
    with demonstration() as folders:
        store = open_store(folders.history)
        assert 10 <= len(scores(store).weeks) <= 12
        newest = store.newest()
        assert newest is not None
        assert 0 < now().day - newest.practice_day < 10
        assert store.origin == INVENTED
        store.close()
        home = folders.config.parent
        assert home.exists()
    assert not home.exists()


@pytest.mark.parametrize("arguments", [("scores", "--demo"), ("--demo", "scores")])
def test_the_scores_of_the_demonstration_say_that_they_are_invented(
    tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    before = a_history(tmp_path)
    text = run(tmp_path, *arguments).stdout
    assert MARK == text.splitlines()[0]
    assert "Right answers by week" in text
    assert before == everything(tmp_path)


def test_the_data_of_the_demonstration_are_marked(tmp_path: Path) -> None:
    data = json.loads(run(tmp_path, "scores", "--demo", "--json").stdout)
    assert INVENTED == data["player"]
    assert 10 <= len(data["weeks"])
    assert [] == list(tmp_path.iterdir())


def test_every_row_of_the_demonstration_s_table_is_marked(tmp_path: Path) -> None:
    head, *rows = run(tmp_path, "scores", "--demo", "--csv").stdout.splitlines()
    assert head.endswith(",player")
    assert len(rows) > 30
    assert all(row.endswith(f",{INVENTED}") for row in rows)
    assert len({row.count(",") for row in [head, *rows]}) == 1
    assert [] == list(tmp_path.iterdir())


def test_scores_of_a_real_history_are_not_marked(tmp_path: Path) -> None:
    a_history(tmp_path)
    assert "player" not in json.loads(run(tmp_path, "scores", "--json").stdout)
    assert INVENTED not in run(tmp_path, "scores", "--csv").stdout
    assert MARK not in run(tmp_path, "scores").stdout


@pytest.mark.parametrize("command", ["ask", "devices", "check"])
def test_other_commands_have_no_demonstration(tmp_path: Path, command: str) -> None:
    error = one_line_error(run(tmp_path, "--demo", command), 1)
    assert "leave it out" in error
    assert [] == list(tmp_path.iterdir())


def test_an_invented_player_works_at_no_assignment(tmp_path: Path) -> None:
    wanted = ROOT / "demo" / "assignment.toml"
    error = one_line_error(run(tmp_path, "--demo", "--assignment", str(wanted)), 1)
    assert "no teacher" in error


async def test_the_mark_stands_on_every_screen() -> None:
    with demonstration() as folders:
        bench = open_workbench(folders, lambda _device: ClockPlayer("no sound here"), seed=3)
        app = LastbarApp(bench, mark=MARK)
        async with app.run_test(size=(60, 20)) as pilot:
            seen = set[str]()

            async def looked() -> None:
                await pilot.pause()
                mark = app.screen.query_one(".mark", Static)
                assert MARK == str(mark.content)
                assert (0, True) == (mark.region.y, mark.region.height == 1)
                seen.add(type(app.screen).__name__)

            await looked()
            for keys in ("c", "s", "e", "question_mark"):
                await pilot.press(keys)
                await looked()
                await pilot.press("escape")
            await pilot.press("r")
            await looked()
            await pilot.press("ctrl+g")
            await looked()
            await pilot.press("escape")
            await looked()
            while len(app.screen_stack) > 1:
                app.pop_screen()
            await pilot.press("j")
            await looked()
            await pilot.press("escape")
            await looked()
            while len(app.screen_stack) > 1:
                app.pop_screen()
            for screen in (
                WelcomeScreen(bench),
                HandInScreen(bench),
                RosterScreen(bench, folders.data),
            ):
                app.push_screen(screen)
                await looked()
                app.pop_screen()
            await looked()
        bench.close()
    assert {
        *("HomeScreen", "CatalogueScreen", "ScoresScreen", "SettingsScreen", "HelpScreen"),
        *("RoundScreen", "SummaryScreen", "JamScreen"),
        *("WelcomeScreen", "HandInScreen", "RosterScreen"),
    } <= seen


async def test_without_a_demonstration_no_screen_is_marked(tmp_path: Path) -> None:
    with demonstration() as folders:
        bench = open_workbench(folders, lambda _device: ClockPlayer(None), seed=3)
        app = LastbarApp(bench)
        async with app.run_test() as pilot:
            await pilot.press("s")
            await pilot.pause()
            assert not app.screen.query(".mark")
        bench.close()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_the_program_itself_leaves_the_user_s_folders_alone(tmp_path: Path) -> None:
    import pty

    before = a_history(tmp_path)
    own, other = pty.openpty()
    environment = os.environ | {
        "LASTBAR_CONFIG": str(tmp_path / "config"),
        "LASTBAR_DATA": str(tmp_path / "data"),
        "PULSE_SERVER": "unix:/nowhere",
        "TERM": "xterm-256color",
        "TMPDIR": str(tmp_path),  # so that what is left behind is seen
    }
    program = subprocess.Popen(
        [sys.executable, "-m", "quiz.cli", "--demo"],
        stdin=other,
        stdout=other,
        stderr=other,
        env=environment,
        cwd=ROOT,
    )
    os.close(other)
    shown, until = b"", time.monotonic() + 60
    try:
        while b"Settings" not in shown and time.monotonic() < until:
            shown += os.read(own, 65536)
        time.sleep(2)  # until the sound output has been looked for
        os.write(own, b"\x11")  # Ctrl+Q
        while program.poll() is None and time.monotonic() < until:
            try:
                os.read(own, 65536)
            except OSError:  # how Linux says that the other end is closed
                break
        assert 0 == program.wait(timeout=30)
    finally:
        program.kill()
        os.close(own)
    assert b"Invented" in shown
    assert before == everything(tmp_path)
