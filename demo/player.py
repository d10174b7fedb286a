"""Write the invented player's answers anew: `python -m demo.player` (some seconds).

To be run whenever the questions or the schedule change; the same code writes the same bytes.
"""

import lzma
import sys
from pathlib import Path

from engine.catalogue import builtin_catalogue
from quiz.learners.invented import FILE, as_lines, play


def main(target: Path = FILE) -> None:
    """Play eleven weeks and write them."""
    lines = list(as_lines(play(builtin_catalogue())))
    target.write_bytes(lzma.compress("".join(lines).encode(), preset=9))
    sys.stdout.write(f"{target}: {len(lines)} answers, {target.stat().st_size} bytes\n")


if __name__ == "__main__":
    main()
