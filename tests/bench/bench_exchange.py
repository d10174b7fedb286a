"""Writing, reading and merging large histories: `python -m tests.bench.bench_exchange [ANSWERS]`.

A history of ANSWERS answers is exported, looked through in a dry run by a history that has half of
them, merged into it, and merged again. The answers are made up here; they are as long as real ones.
Shown are seconds, and microseconds an answer; the same with a tenth of them shows the growth.
"""

import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import TypeVar

from quiz.answers import Answer
from quiz.history.exchange import ExportFile, export
from quiz.history.merging import Source, foresee, merge, source_of
from quiz.history.store import Store, open_store
from quiz.history.undo import Undo
from tests.quiz.histories import FIRST_DAY, an_answer

ANSWERS = 1_000_000
A_DAY = 40
QUESTION = '{"device": "climb+dip", "padding": "' + "x" * 420 + '"}'
"""As long as the parameters of a question are."""

DEVICES = [f"device-{number}" for number in range(48)]
KINDS = ["name", "write", "spell", "place"]
KEYS = ["F", "Bb", "Eb", "Ab", "E", "A", "D", "G", "C", "Db", "Gb", "B"]

T = TypeVar("T")


def main() -> None:
    """Print the times of both sizes and their ratios."""
    answers = int(sys.argv[1]) if len(sys.argv) > 1 else ANSWERS
    small, large = _measured(answers // 10), _measured(answers)
    sys.stdout.write(f"{'':<34}{answers // 10:>12}{answers:>12}{'growth':>10}\n")
    for name, seconds in large.items():
        each = (small[name] / (answers // 10), seconds / answers)
        sys.stdout.write(
            f"{name:<34}{small[name]:>10.2f} s{seconds:>10.2f} s{each[1] / each[0]:>9.2f}x"
            f"   {each[1] * 1e6:.0f} us an answer\n"
        )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(f"{'memory at its highest':<34}{peak:>22.0f} MB\n")


def _measured(count: int) -> dict[str, float]:
    times: dict[str, float] = {}

    def timed(name: str, work: Callable[[], T]) -> T:
        start = time.perf_counter()
        result = work()
        times[name] = time.perf_counter() - start
        return result

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        whole, file = folder / "whole.db", folder / "whole.jsonl"
        with closing(open_store(whole)) as store:
            timed("(making the history)", lambda: store.take_in(_answers(count), _undos(count)))
            timed("export", lambda: export(store, file))
        half = _half(folder / "half.db", count)
        with closing(half):
            sources: list[tuple[str, Source]] = [
                ("a file of answers", ExportFile(file)),
                ("a history", source_of(whole)),
            ]
            for what, source in sources:
                timed(f"dry run of {what}", partial(foresee, half, source))
            timed("merge of a file of answers", lambda: merge(half, sources[0][1]))
            again = timed("merge of a history once more", lambda: merge(half, sources[1][1]))
            assert not again.new
            assert half.count() == count - count // 1000
    return times


def _half(path: Path, count: int) -> Store:
    store = open_store(path)
    store.take_in(answer for number, answer in enumerate(_answers(count)) if number % 2)
    return store


def _answers(count: int) -> Iterator[Answer]:
    chance = random.Random(count)
    for number in range(count):
        right = chance.random() < 0.8
        yield an_answer(
            number,
            FIRST_DAY + number // A_DAY,
            id=(number << 80 | chance.getrandbits(64)).to_bytes(16, "big"),
            device=chance.choice(DEVICES),
            kind=chance.choice(KINDS),
            key=chance.choice(KEYS),
            score=1.0 if right else 0.0,
            verdict="right" if right else "wrong",
            question=QUESTION,
        )


def _undos(count: int) -> Iterator[Undo]:
    """One answer in a thousand is taken back."""
    for number, answer in enumerate(_answers(count)):
        if number % 1000 == 0:
            id_ = ((1 << 40 | number) << 80).to_bytes(16, "big")
            yield Undo(id_, answer.id, answer.at, 0, answer.origin)


if __name__ == "__main__":
    main()
