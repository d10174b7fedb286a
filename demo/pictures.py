"""Make the pictures of the README from the real screens: `python -m demo.pictures`.

The history behind them is invented: two weeks of a player who goes to a Thursday jam with a horn
section, answered by dice. Nothing of the user's own history is touched.
"""

import asyncio
import itertools
import random
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from quiz.app import LastbarApp
from quiz.clock import Moment
from quiz.coach import Coach
from quiz.grading import grade_nothing
from quiz.kinds import Kind
from quiz.locations import Locations
from quiz.material import Only
from quiz.player import ClockPlayer
from quiz.questions import Question
from quiz.replies import grade_reply, right_reply
from quiz.screens.round import RoundScreen
from quiz.session import Record
from quiz.settings import HORN_KEYS, Settings, favouring
from quiz.settings_file import save
from quiz.version import VERSION
from quiz.workbench import Workbench, open_workbench

FOLDER = Path(__file__).parent / "pictures"
SEED = 20
DAYS, A_DAY = 14, 18
SKILL = 0.72
"""How often the invented player is right."""

DAY_MICROSECONDS = 86_400_000_000


def main() -> None:
    """Write the pictures into demo/pictures."""
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        asyncio.run(_pictures(_bench(Path(folder))))


def _bench(folder: Path) -> Workbench:
    locations = Locations(folder / "config", folder / "data")
    save(replace(Settings(), welcomed=True, key_weights=favouring(HORN_KEYS)), locations.settings)
    bench = open_workbench(locations, lambda _device: ClockPlayer(None), seed=SEED)
    _practise(bench)
    bench.fresh_coach()
    return bench


def _practise(bench: Workbench) -> None:
    """Two weeks of dice."""
    dice = random.Random(SEED)
    today = time.time_ns() // 1000
    for day in range(DAYS, 0, -1):
        if dice.random() < 0.2:
            continue  # a day off
        coach = _coach(bench, _clock_of(today - day * DAY_MICROSECONDS), dice)
        for _ in range(dice.randrange(6, A_DAY)):
            following = coach.next()
            coach.record(_record(bench, following.question, following.why, dice))


def _clock_of(start: int) -> Callable[[], Moment]:
    """A clock that goes on a minute at every look."""
    minutes = itertools.count()
    return lambda: Moment(start + next(minutes) * 60_000_000, 0)


def _coach(bench: Workbench, clock: Callable[[], Moment], dice: random.Random) -> Coach:
    return Coach(
        bench.catalogue, bench.settings, bench.store, clock, bench.locations.unsaved, VERSION, dice
    )


def _record(bench: Workbench, question: Question, why: str, dice: random.Random) -> Record:
    given = right_reply(question, bench.catalogue)
    if dice.random() >= SKILL:
        given = dice.choice(question.picks) if question.picks else ""
    grade = grade_reply(question, given, bench.names, bench.catalogue) if given else grade_nothing()
    return Record(question, why, given, grade, dice.uniform(2, 15), 1, False, False)


async def _pictures(bench: Workbench) -> None:
    app = LastbarApp(bench)
    async with app.run_test(size=(84, 26)) as pilot:
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
