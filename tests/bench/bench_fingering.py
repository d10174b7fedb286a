"""How long a fingering takes: `.venv/bin/python -m tests.bench.bench_fingering`.

Every figure in every key on every tuning, the three best paths of each. Asked for: under 5 ms a
figure, of the processor's time. Prints the median, the slowest, and how the slowest stands to what
is asked for.
"""

import sys
import time
from itertools import product
from statistics import median

from engine.catalogue import builtin_catalogue
from engine.errors import MusicInputError
from engine.figure import figure
from engine.neck import TUNINGS, Neck, OpenStrings, fingerings, path_cost
from engine.theory import PLAYED_KEYS

ASKED_MS = 5.0
RUNS = 3
"""The quickest of so many is taken: the machine does other things too."""


def timed(pitches: tuple[int, ...], neck: Neck, best: int) -> float:
    """Milliseconds for the paths of one figure."""
    runs = []
    for _ in range(RUNS):
        start = time.process_time()
        fingerings(pitches, neck.tuning, neck.frets, path_cost(neck), best)
        runs.append(1000 * (time.process_time() - start))
    return min(runs)


def main() -> None:
    """Print the table."""
    catalogue = builtin_catalogue()
    wholes = [catalogue.completed(device) for device in catalogue.devices]
    for best, wish in product((1, 3, 10), (OpenStrings.AVOID, OpenStrings.PREFER)):
        taken: list[tuple[float, str]] = []
        for tuning, device, key in product(TUNINGS, wholes, PLAYED_KEYS[::3]):
            neck = Neck(tuning, 24, wish)
            try:
                pitches = figure(device, key).pitches
            except MusicInputError:
                continue
            name = f"{device.id} in {key} on {tuning.id}, {len(pitches)} notes"
            taken.append((timed(pitches, neck, best), name))
        slowest, name = max(taken)
        middle = median(one for one, _ in taken)
        sys.stdout.write(
            f"{best:>2} paths, open strings {wish.value:<7} {len(taken)} figures: "
            f"median {middle:.2f} ms, slowest {slowest:.2f} ms ({name}); "
            f"{slowest / ASKED_MS:.2f} of what is asked for\n"
        )


if __name__ == "__main__":
    main()
