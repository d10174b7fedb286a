"""A history of 1,000,000 answers beside one of 10,000: `python -m tests.bench.bench_million`.

Opening and the first question, the next question, keeping an answer, taking it back, every counted
view, and a replay of everything, each against a fixed piece of plain Python that is run in turn
with it: what counts over machines is the ratio of the two, what counts for the player is the time.
The files are made once, by the store itself, and kept in the folder for temporary files;
`--count N` makes another size in place of the million, `--fresh` makes the files anew.

The answers are invented: 274 on every day, spread over all items and keys, which is ten years of
practice for the million; one in a thousand has been taken back.
"""

import argparse
import random
import shutil
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import perf_counter, process_time
from typing import NamedTuple, TypeVar

from engine.catalogue import builtin_catalogue
from quiz.answers import Answer
from quiz.clock import Moment
from quiz.coach import Coach
from quiz.grading.lines import grade_nothing
from quiz.history.counts import Heading
from quiz.history.store import Store, open_store
from quiz.history.tables import set_note
from quiz.history.undo import Undo
from quiz.learning.material import can_ask, learning_order
from quiz.questions.kinds import ROUND_KINDS
from quiz.session import Record
from quiz.settings.values import KEY_NAMES, Settings
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer, moment

MILLION, FEW = 1_000_000, 10_000
A_DAY = 274
TAKEN_BACK = 1000
"""One answer of so many."""

NEXT = "next question"
MOST_GROWTH = 1.2
"""The next question of the long history may take so much longer."""

QUESTIONS = 100
VERSION = 2
"""Rises when the invented answers change, so that files of before are not taken for them."""

REFERENCE_STEPS = 40_000
"""Steps of the reference in one turn: about a hundredth of a second."""

CATALOGUE = builtin_catalogue()
ITEMS = [
    (row.id, kind.value)
    for row in learning_order(CATALOGUE)
    for kind in ROUND_KINDS
    if can_ask(row, kind)
]
ROWS = sorted({device for device, _ in ITEMS})


Made = TypeVar("Made")


class Turn(NamedTuple):
    """One measurement."""

    seconds: float
    busy: float
    ratio: float


@dataclass(frozen=True, slots=True)
class Measured:
    """One number of one history."""

    what: str
    seconds: float
    """The median of its turns."""

    busy: float
    """The same in seconds of the processor: what is left of it where others keep it busy."""

    most: float
    """What it may be; 0 where nothing is promised."""

    ratio: float
    """Of the processor's seconds to those of the reference that ran in turn with it."""


def main() -> int:
    """Measure, print, and give 0 when every promise is kept, 1 when not."""
    arguments = _arguments()
    folder = Path(tempfile.gettempdir()) / f"lastbar-bench-histories-{VERSION}"
    few, many = (_built(folder, count, arguments.fresh) for count in (FEW, arguments.count))
    small, large = _measured(few, FEW), _measured(many, arguments.count)
    write, kept = sys.stdout.write, True
    write(f"{'':<40}{FEW:>10}{arguments.count:>10} answers    busy  growth  to plain Python\n")
    for before, after in zip(small, large, strict=True):
        growth = after.busy / before.busy
        good = not after.most or after.seconds <= after.most
        if after.what == NEXT:
            good = good and growth <= MOST_GROWTH
        kept = kept and good
        promise = f"at most {after.most * 1000:g} ms" if after.most else ""
        write(
            f"{after.what:<40}{before.seconds * 1000:>10.2f}{after.seconds * 1000:>10.2f} ms"
            f"{after.busy * 1000:>10.2f} ms{growth:>8.2f}{after.ratio:>9.2f}   {promise}"
            f"{'' if good else '  TOO LONG'}\n"
        )
    return 0 if kept else 1


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="A history of a million answers.")
    parser.add_argument("--count", type=int, default=MILLION, help="answers of the long history")
    parser.add_argument("--fresh", action="store_true", help="make the histories anew")
    return parser.parse_args()


# --- the histories ------------------------------------------------------------------------------


def _built(folder: Path, count: int, fresh: bool) -> Path:
    """The file with so many answers; made if it is not there."""
    path = folder / f"history-{count}.db"
    if fresh or not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        path.unlink(missing_ok=True)
        making = path.with_suffix(".making")
        making.unlink(missing_ok=True)
        start = perf_counter()
        with closing(open_store(making)) as store:
            store.take_in(_answers(count), _undos(count))
            store.practice()
        making.rename(path)
        size = path.stat().st_size / 1e6
        sys.stdout.write(f"{path} made in {perf_counter() - start:.0f} s, {size:.0f} MB\n")
    return path


def _answers(count: int) -> Iterator[Answer]:
    chance = random.Random(count)
    for number in range(count):
        device, kind = chance.choice(ITEMS)
        wrong = chance.random() < 0.2
        yield (a_wrong_answer if wrong else an_answer)(
            number,
            at=_at(number, count),
            practice_day=_day(number, count),
            device=device,
            kind=kind,
            key=chance.choice(KEY_NAMES),
            tempo=80.0 + chance.randrange(40),
            seconds=round(chance.uniform(1, 20), 3),
            why=chance.choice(("due", "due", "due", "new", "contrast")),
            rung=chance.randint(-1, 4),
            question="{" + "-" * 400 + "}",  # as long as the questions of a round
            chosen=_neighbour(device, chance) if wrong else "",
        )


def _neighbour(device: str, chance: random.Random) -> str:
    """One of a few rows that a device is mistaken for."""
    return ROWS[(ROWS.index(device) + chance.randint(1, 4)) % len(ROWS)]


def _undos(count: int) -> Iterator[Undo]:
    for number in range(0, count, TAKEN_BACK):
        answer, at = number.to_bytes(16, "big"), _at(number, count)
        yield Undo((1 << 100 | number).to_bytes(16, "big"), answer, at, 0, "bench")


def _day(number: int, count: int) -> int:
    """The practice day of an answer: the last one is the day before FIRST_DAY."""
    return FIRST_DAY - 1 - (count - 1) // A_DAY + number // A_DAY


def _at(number: int, count: int) -> int:
    return moment(_day(number, count), 18 * 3600 + number % A_DAY * 20)


# --- the measurements ---------------------------------------------------------------------------


def _measured(path: Path, count: int) -> list[Measured]:
    """Every number of one history; a copy is written to, the history itself is not."""
    copy = path.with_suffix(".copy")
    shutil.copyfile(path, copy)
    try:
        opening = _timed("open it", 7, lambda: open_store(copy).close())
        first = _timed("open it, and the first question", 7, lambda: _first_question(copy), 0.1)
        with closing(open_store(copy)) as store:
            return [opening, first, *_round(store), *_views(store), _replay(store, count)]
    finally:
        copy.unlink()


def _first_question(path: Path) -> None:
    with closing(open_store(path)) as store:
        _coach(store).next()


def _coach(store: Store) -> Coach:
    """A coach of the day after the last answer."""
    seconds = iter(range(10**6))
    return Coach(
        CATALOGUE,
        Settings(),
        store,
        lambda: Moment(moment(FIRST_DAY) + next(seconds) * 10**6, 0),
        Path("nowhere"),
        "0.0.0",
        random.Random(1),
    )


def _round(store: Store) -> list[Measured]:
    """Questions one after the other, each answered, every third answer taken back."""
    coach, turns = _coach(store), dict[str, list[Turn]]()

    def timed(what: str, act: Callable[[], Made]) -> Made:
        made: list[Made] = []
        turns.setdefault(what, []).append(_turn(lambda: made.append(act())))
        return made[0]

    for number in range(QUESTIONS):
        asked = timed(NEXT, coach.next)
        given_up = Record(asked.question, asked.why, "", grade_nothing(), 1.0, 1, False, False)
        timed("keep an answer", partial(coach.record, given_up))
        if number % 3 == 0:
            timed("take it back", coach.undo)
    most = {NEXT: 0.005}
    return [_median(what, times, most.get(what, 0.0)) for what, times in turns.items()]


def _views(store: Store) -> list[Measured]:
    first = FIRST_DAY - 365
    oldest = store.latest(1000)[-1]
    views: dict[str, Callable[[], object]] = {
        **{
            f"counted by {heading.name.lower()}": partial(store.counted, heading)
            for heading in Heading
        },
        "counted by device, a year": lambda: store.counted(Heading.DEVICE, first),
        "confusions": store.confusions,
        "confusions, a year": lambda: store.confusions(first),
        "the newest 50 answers": lambda: store.latest(50),
        "50 answers further back": lambda: store.latest(50, oldest),
        "50 wrong ones of a device in a key": lambda: store.latest(
            50, device=ROWS[0], key="Ab", wrong_only=True
        ),
        "50 of a device that was never asked": lambda: store.latest(50, device="nothing"),
        "one answer by its id": lambda: store.find(oldest.id),
        "how many there are": store.count,
    }
    return [_timed(what, 5, view, 0.3) for what, view in views.items()]


def _replay(store: Store, count: int) -> Measured:
    """Everything made anew, as after a change of rules."""
    told: list[float] = []

    def replay() -> None:
        with store._database.atomic():
            set_note(store._database, "covered", "other rules")
        store.practice(told.append)

    measured = _timed("replay with progress", 1, replay, 30.0)
    assert len(told) >= count // 1000, "the progress was not told"
    return measured


def _timed(what: str, turns: int, act: Callable[[], object], most: float = 0.0) -> Measured:
    if turns > 1:
        act()  # the first time fills what is kept in memory
    return _median(what, [_turn(act) for _ in range(turns)], most)


def _median(what: str, turns: Sequence[Turn], most: float) -> Measured:
    seconds, busy, ratio = (statistics.median(numbers) for numbers in zip(*turns, strict=True))
    return Measured(what, seconds, busy, most, ratio)


def _turn(act: Callable[[], object]) -> Turn:
    seconds, busy = _seconds(act)
    reference = statistics.median(_seconds(_reference)[1] for _ in range(3))
    return Turn(seconds, busy, busy / reference)


def _seconds(act: Callable[[], object]) -> tuple[float, float]:
    """Seconds by the clock on the wall, and of the processor."""
    start, busy = perf_counter(), process_time()
    act()
    return perf_counter() - start, process_time() - busy


def _reference() -> int:
    """A fixed walk through small integers and a dictionary: nothing of the project's."""
    seen: dict[int, int] = {}
    value = 1
    for _ in range(REFERENCE_STEPS):
        value = (value * 1103515245 + 12345) % 2147483648  # ISO C's example of rand()
        seen[value % 1024] = seen.get(value % 1024, 0) + 1
    return max(seen.values())


if __name__ == "__main__":
    sys.exit(main())
