"""Rounds killed at random moments: `python -m tests.bench.bench_kill [KILLS]`.

Rounds are answered through the real line mode, one after the other in one history, and each is
ended by SIGKILL: some while the program starts, most while answers are given. Aim: every answer
that the program confirmed is in the history afterwards.
"""

import sys
import tempfile
import time
from pathlib import Path

from tests.quiz.killing import killed_rounds

KILLS = 1000
SEED = 20


def main() -> None:
    """Print what became of the answers."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else KILLS
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        outcome = killed_rounds(Path(folder), kills, SEED)
    for name, value in (
        ("kills", outcome.kills),
        ("of them with a transaction under way", outcome.cut_short),
        ("answers confirmed", len(outcome.confirmed)),
        ("answers in the history", len(outcome.kept)),
        ("confirmed and lost (aim: 0)", len(outcome.lost)),
        ("complaints of the program (aim: 0)", len(outcome.problems)),
        ("what is kept beside them equals a replay", "yes" if outcome.replays else "NO"),
    ):
        sys.stdout.write(f"{name:<42}{value}\n")
    for problem in outcome.problems[:10]:
        sys.stdout.write(f"  {problem}\n")
    sys.stdout.write(f"{time.perf_counter() - start:.0f} s\n")


if __name__ == "__main__":
    main()
