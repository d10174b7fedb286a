"""How long the scores take: `python -m tests.bench.bench_scores [ANSWERS ...]`, 10000 unless given.

Makes a history of an invented player with so many answers (a million take some minutes), and prints
what everything that the scores show costs together, and each chart, its SVG file and the data for
scripts; a page of past questions too. Everything must stay under 300 ms. `--history FILE` takes a
history that is there instead, and changes nothing in it but what is worked out from its answers.
"""

import argparse
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from engine.catalogue import Catalogue, builtin_catalogue
from quiz.answers import Answer
from quiz.history.store import Store, open_store
from quiz.learning.material import Only, items_within
from quiz.progress.charts import chart
from quiz.progress.names import CHARTS
from quiz.progress.report import Report, report
from quiz.progress.svg import svg
from quiz.progress.tables import as_csv, as_data
from quiz.settings.values import KEY_NAMES
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer

MOST = 0.3
"""Seconds that anything may take."""

A_DAY = 200


def answers_of_years(count: int) -> Iterator[Answer]:
    """Answers to all material in all keys, one in four wrong."""
    chance, items = Random(1), items_within(Only(), builtin_catalogue())
    rows = sorted({item.device for item in items})
    for number in range(count):
        item, wrong = chance.choice(items), chance.random() < 0.25
        made = a_wrong_answer if wrong else an_answer
        chosen = {"chosen": chance.choice(rows)} if wrong else {}
        yield made(
            number,
            FIRST_DAY - 4000 + number // A_DAY,
            device=item.device,
            kind=item.kind,
            key=chance.choice(KEY_NAMES),
            **chosen,
        )


def timed(name: str, work: Callable[[], object]) -> None:
    """Print the best of five."""
    best = float("inf")
    for _ in range(5):
        begin = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begin)
    late = "  TOO LONG" if best > MOST else ""
    sys.stdout.write(f"  {name:<34}{best * 1000:>9.2f} ms{late}\n")


def measure(store: Store) -> None:
    """Print what the scores of a history cost."""
    catalogue, practice, newest = builtin_catalogue(), store.practice(), store.newest()
    day = newest.practice_day if newest else FIRST_DAY
    sys.stdout.write(f"{store.count()} answers, {len(practice.states)} items\n")
    made = report(store, practice, catalogue, day)
    timed("all counts, forecast, calibration", lambda: report(store, practice, catalogue, day))
    for name in CHARTS:
        timed(name, partial(_drawn, name, made, catalogue))
    timed("as data", lambda: as_data(made))
    timed("as a table", lambda: as_csv(made))
    timed("past questions, a page", lambda: store.latest(60))
    wrong = partial(store.latest, 60, device="climb", wrong_only=True)
    timed("past questions, one device wrong", wrong)


def _drawn(name: str, made: Report, catalogue: Catalogue) -> str:
    return svg(chart(name, made, catalogue))


def main() -> None:
    """Measure each size, or the history that is given."""
    options = argparse.ArgumentParser()
    options.add_argument("answers", nargs="*", type=int, default=[10_000])
    options.add_argument("--history", type=Path)
    given = options.parse_args()
    if given.history:
        measure(open_store(given.history))
        return
    with TemporaryDirectory() as folder:
        for count in given.answers:
            store = open_store(Path(folder) / f"{count}.db")
            store.take_in(answers_of_years(count))
            measure(store)
            store.close()


if __name__ == "__main__":
    main()
