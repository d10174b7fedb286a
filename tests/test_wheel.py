"""What users install: the wheel alone, in an environment of its own, works."""

import json
import os
import subprocess
import sys
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

THROUGH_ALL_SCREENS = """
import asyncio, sys
from pathlib import Path
from quiz.app import LastbarApp
from quiz.learning.material import Only
from quiz.questions.kinds import Kind
from quiz.locations import Locations
from quiz.sound.player import ClockPlayer
from quiz.workbench import open_workbench

folder = Path(sys.argv[1])
bench = open_workbench(Locations(folder, folder), lambda device: ClockPlayer(None),
                       Only(kinds=(Kind.NAME,)))

async def main():
    app, seen = LastbarApp(bench), []
    async with app.run_test() as pilot:
        for key in ("escape", "r", "ctrl+g", "escape", "enter", "c", "escape", "s", "escape", "e"):
            await pilot.pause()
            seen.append(type(app.screen).__name__)
            await pilot.press(key)
        await pilot.pause()
        seen.append(type(app.screen).__name__)
    print(" ".join(seen))

asyncio.run(main())
bench.close()
"""


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The interpreter of a fresh environment that holds the wheel and what it asks for."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    subprocess.run(
        [*pip, "wheel", "--no-deps", "--wheel-dir", str(folder), str(ROOT)],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    (wheel,) = folder.glob("lastbar-*.whl")
    venv.create(folder / "environment", with_pip=True)
    scripts = folder / "environment" / ("Scripts" if sys.platform == "win32" else "bin")
    subprocess.run(
        [scripts / "python", "-m", "pip", "--quiet", "install", str(wheel)],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    return scripts / "python"


def run(python: Path, folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """A command of the environment, away from the source."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    environment |= {"LASTBAR_CONFIG": str(folder), "LASTBAR_DATA": str(folder)}
    return subprocess.run(
        [str(python), *arguments],
        cwd=folder,
        env=environment,
        check=False,
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_the_command_knows_its_catalogue_and_its_version(python: Path, tmp_path: Path) -> None:
    lastbar = str(python.with_name("lastbar"))
    result = subprocess.run(
        [lastbar, "devices", "--json"], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert len(json.loads(result.stdout)["devices"]) > 50
    version = run(python, tmp_path, "-m", "quiz.cli", "--version").stdout
    assert version.startswith("lastbar ")


def test_the_band_and_its_styles_and_sounds_are_in_it(python: Path, tmp_path: Path) -> None:
    result = run(
        python, tmp_path, "-m", "quiz.cli", "hear", "climb+dip", "--key", "Bb", "--out", "climb.wav"
    )
    assert 0 == result.returncode, result.stderr
    assert (tmp_path / "climb.wav").stat().st_size > 500_000


def test_every_screen_opens(python: Path, tmp_path: Path) -> None:
    result = run(python, tmp_path, "-c", THROUGH_ALL_SCREENS, str(tmp_path))
    assert 0 == result.returncode, result.stderr
    assert (
        "WelcomeScreen HomeScreen RoundScreen RoundScreen SummaryScreen HomeScreen "
        "CatalogueScreen HomeScreen ScoresScreen HomeScreen SettingsScreen"
    ) == result.stdout.strip()
