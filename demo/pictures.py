"""Make the pictures of the README from the real screens: `python -m demo.pictures`.

The history behind them is that of the invented player of `lastbar --demo`, and each picture says
so. Nothing of the user's own history is touched.
"""

import asyncio
import sys
from pathlib import Path

from quiz.app import LastbarApp
from quiz.learners.demonstration import MARK, demonstration
from quiz.learning.material import Only
from quiz.locations import Locations
from quiz.questions.kinds import Kind
from quiz.screens.round import RoundScreen
from quiz.sound.player import ClockPlayer
from quiz.workbench import Workbench, open_workbench

FOLDER = Path(__file__).parent / "pictures"
SEED = 20


def main() -> None:
    """Write the pictures into demo/pictures."""
    FOLDER.mkdir(exist_ok=True)
    with demonstration() as locations:
        asyncio.run(_pictures(_bench(locations)))


def _bench(locations: Locations) -> Workbench:
    return open_workbench(locations, lambda _device: ClockPlayer(None), seed=SEED)


async def _pictures(bench: Workbench) -> None:
    app = LastbarApp(bench, mark=MARK)
    async with app.run_test(size=(84, 27)) as pilot:
        await pilot.pause()
        _shoot(app, "home")
        await pilot.press("c")
        await pilot.pause()
        await pilot.press("down", "down", "k", "k", "k")
        await pilot.pause()
        _shoot(app, "catalogue")
        await pilot.press("escape")
        await pilot.pause()
        bench.fresh_coach(Only(kinds=(Kind.NAME,), devices=("climb",)))
        app.push_screen(RoundScreen(bench, 12))
        await pilot.pause(5.0)  # into the fourth bar, so that the picture shows it sounding
        _shoot(app, "question")
        await pilot.press("3")
        await pilot.pause()
        await pilot.press("1")
        await pilot.pause()
        _shoot(app, "feedback")
        await pilot.press("escape", "escape")
        await pilot.pause()
        bench.fresh_coach(Only(kinds=(Kind.PLACE,), devices=("walk-up-one-four",)))
        app.push_screen(RoundScreen(bench, 12))
        await pilot.pause()
        await pilot.press("4", "space", "1", "2", "enter")
        await pilot.pause()
        _shoot(app, "which-bar")
        await pilot.press("escape", "escape")
        await pilot.pause()
        bench.fresh_coach(Only(kinds=(Kind.FIND,), devices=("walk-up-one-four",)))
        app.push_screen(RoundScreen(bench, 12))
        await pilot.pause()
        await pilot.press(*"E5 E7 A3 A4 A5", "enter")
        await pilot.pause()
        _shoot(app, "neck")
        await pilot.press("escape", "escape")
        await pilot.pause()
        await pilot.press("s")
        await pilot.pause()
        _shoot(app, "scores")
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("j")
        await pilot.pause(9.0)  # past the count-in
        _shoot(app, "open-jam")
        await pilot.press("escape")
    bench.close()


def _shoot(app: LastbarApp, name: str) -> None:
    target = FOLDER / f"{name}.svg"
    target.write_text(app.export_screenshot(title="lastbar"), encoding="utf-8")
    sys.stdout.write(f"{target}\n")


if __name__ == "__main__":
    main()
