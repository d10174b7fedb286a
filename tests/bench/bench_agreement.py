"""How fast figures are judged against the keys: `python -m tests.bench.bench_agreement`.

Judges every turnaround over the keys of every turnaround, in all keys, and, in turn with that, runs
a fixed piece of plain Python. What counts over machines is the ratio of the two within one run;
what counts for a question is the microseconds a pair.
"""

import sys
from itertools import product
from time import perf_counter

from engine.agreement import BandBeat, BassBeat, agreement, band_beats, bass_beats
from engine.catalogue import Device, builtin_catalogue
from engine.comping import comping_track
from engine.feels import Feel
from engine.forms import find_form
from engine.plan import plan_choruses
from engine.score import ELECTRIC_PIANO
from engine.theory import PLAYED_KEYS, Key

PARTS = len(PLAYED_KEYS)
"""The judging and the reference take turns key by key, so that a busy moment meets both."""

MOST_MICROSECONDS = 50.0
REFERENCE_STEPS = 100_000
"""Steps of the reference in one turn: some hundredths of a second."""


def main() -> int:
    """Measure, print, and give 0 if the target is met, 1 if not."""
    devices = builtin_catalogue().turnarounds()
    ours = reading = reference = 0.0
    pairs = agreeing = 0
    for key in PLAYED_KEYS:
        start = perf_counter()
        lines = [bass_beats(device.pattern, key.tonic) for device in devices]
        bands = [_band(device, key) for device in devices]
        read = perf_counter()
        agreeing += _agreeing(lines, bands)
        judged = perf_counter()
        _reference()
        reading, ours = reading + read - start, ours + judged - read
        reference += perf_counter() - judged
        pairs += len(lines) * len(bands)
    each = ours / pairs * 1e6
    sys.stdout.write(
        f"{pairs} pairs judged, {agreeing} agree   {ours:.2f} s   {each:.1f} microseconds a pair "
        f"(at most {MOST_MICROSECONDS:.0f})\n"
        f"{PARTS * len(devices)} plans, tracks and figures made and read   {reading:.2f} s\n"
        f"{PARTS * REFERENCE_STEPS} steps of plain Python   {reference:.2f} s   a pair costs "
        f"{each / (reference / PARTS / REFERENCE_STEPS * 1e6):.0f} of them\n"
    )
    return 0 if each <= MOST_MICROSECONDS and 0 < agreeing < pairs else 1


def _band(device: Device, key: Key) -> tuple[BandBeat, ...]:
    """The keys of the last two bars and the landing, over the chords of a turnaround."""
    base = builtin_catalogue().find("two-beat")
    form = find_form("twelve-bar")
    plan = plan_choruses(form, key, Feel.SHUFFLE, 110, base, [(0, 11, device)])
    return band_beats(plan, comping_track(plan, (), ELECTRIC_PIANO, 1), 10, 2)


def _agreeing(lines: list[tuple[BassBeat, ...]], bands: list[tuple[BandBeat, ...]]) -> int:
    return sum(not agreement(line, band) for line, band in product(lines, bands))


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
