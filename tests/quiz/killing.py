"""Rounds that are answered through the real line mode, and killed at random moments.

Each answer is a number of its own, written in seven notes or degrees, so that what the program
confirmed can be found again in the history.
"""

import json
import os
import random
import subprocess
import sys
import threading
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

from quiz.history.store import open_store
from quiz.learning.practice import Practice

ROOT = Path(__file__).parents[2]

IN_THE_START = 0.15
"""The share of kills that come at any time from the start on; the others while it is answered."""

START_SECONDS, ANSWERING_SECONDS = 0.8, 0.4
"""The longest time until a kill, from the start or from the last of the FIRST answers on."""

FIRST = 2
"""Answers of a round that is not killed in its start before the kill can come."""

_WORDS = {
    "notes": ["A", "B", "C", "D", "E", "F", "G"],
    "degrees": ["1", "2", "3", "4", "5", "6", "7"],
}


@dataclass
class Outcome:
    """What became of many killed rounds."""

    kills: int = 0
    confirmed: set[int] = field(default_factory=set)
    """The answers of which the program said that they are kept."""

    kept: set[int] = field(default_factory=set)
    """The answers that were in the history at the end."""

    cut_short: int = 0
    """Kills that left a transaction under way behind."""

    problems: list[str] = field(default_factory=list)
    """What the program complained of, but for the lack of sound."""

    replays: bool = False
    """Whether what is kept beside the answers equals their replay."""

    @property
    def lost(self) -> set[int]:
        """Answers that were confirmed and are gone."""
        return self.confirmed - self.kept


def spelled(number: int, words: str) -> str:
    """A number as seven notes or degrees."""
    digits = [number // 7**place % 7 for place in range(7)]
    return " ".join(_WORDS[words][digit] for digit in digits)


def number_of(given: str) -> int:
    """The number that `spelled` has written."""
    words = _WORDS["degrees" if given[:1].isdigit() else "notes"]
    return sum(words.index(word) * 7**place for place, word in enumerate(given.split()))


def killed_rounds(folder: Path, kills: int, seed: int) -> Outcome:
    """Answer and kill so often, one round after the other in one history."""
    chance, outcome, number = random.Random(seed), Outcome(), 0
    history = folder / "data" / "history.db"
    for _ in range(kills):
        number = _one(folder, chance, number, outcome)
        outcome.kills += 1
        outcome.cut_short += history.with_name("history.db-journal").exists()
    with closing(open_store(history)) as store:
        outcome.kept = {number_of(answer.given) for answer in store.answers()}
        outcome.replays = Practice.replayed(store.answers()) == store.practice()
    return outcome


def _one(folder: Path, chance: random.Random, number: int, outcome: Outcome) -> int:
    """Answer one round until it is killed; gives the next number."""
    process = _asking(folder)
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stderr is not None
    from_the_start, begin = chance.random() < IN_THE_START, number
    killer = threading.Timer(chance.random() * START_SECONDS, process.kill)
    if from_the_start:
        killer.start()
    try:
        for line in process.stdout:
            if not line.endswith("\n"):
                break  # cut short: nothing was said
            event = json.loads(line)
            if event["event"] == "answer" and event["kept"]:
                outcome.confirmed.add(number_of(event["given"]))
            elif event["event"] == "question":
                if number == begin + FIRST and not from_the_start:
                    killer = threading.Timer(chance.random() * ANSWERING_SECONDS, process.kill)
                    killer.start()
                process.stdin.write(spelled(number, event["answer_in"]) + "\n")
                process.stdin.flush()
                number += 1
    except BrokenPipeError:
        pass  # it was killed between its question and our answer
    complaints = process.stderr.read().splitlines()
    outcome.problems += [line for line in complaints if "no sound" not in line]
    killer.join()
    process.wait()
    for stream in (process.stdout, process.stderr):
        stream.close()
    with suppress(BrokenPipeError):
        process.stdin.close()
    return number


def _asking(folder: Path) -> "subprocess.Popen[str]":
    variables = {"LASTBAR_CONFIG": str(folder / "config"), "LASTBAR_DATA": str(folder / "data")}
    arguments = ["ask", "--json", "--kind", "spell", "--count", "100000"]
    return subprocess.Popen(
        [sys.executable, "-m", "quiz.cli", *arguments],
        cwd=ROOT,
        env=os.environ | variables,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
