"""What an hour of open jam costs: `python -m tests.bench.bench_jam [--minutes N]`.

The bandstand plays on its own thread into a feed, and a listener takes the audio out as fast as it
comes, so that an hour passes in seconds. Counted are the processor time of the whole process and
its greatest memory after the first minute of music and at the end. In the same run the first leg is
rendered as a clip by `engine.sound.render`, its score written beforehand: the ratio of the two, for
a second of music, is what planning, streaming and the feed add.
"""

import argparse
import random
import resource
import sys
import time
from collections.abc import Iterator
from statistics import median
from typing import NamedTuple

from engine.catalogue import builtin_catalogue
from engine.feels import Feel
from engine.forms import find_form
from engine.jam import JamSettings, Leg, Placed, first_leg, leg_score, next_leg
from engine.sound import render
from engine.theory import PLAYED_KEYS, Key
from engine.timing import FRAME_RATE
from quiz.sound.bandstand import Bandstand
from quiz.sound.feed import FRAME_BYTES
from sounds import soundfont_path

MINUTES = 60.0
ROUNDS = 5
HIGHEST_SHARE = 0.05
"""Of one core while the jam is played."""

HIGHEST_GROWTH = 20.0
"""Megabytes from the first minute to the end."""

GULP = FRAME_RATE // 10
"""Frames that the listener takes at a time."""

CATALOGUE = builtin_catalogue()
TURNAROUNDS = ("climb+dip", "fall+plain-five", "one-six-two-five", "stay+late-five")
PICKUPS = ("walk-up-one-four", "half-below-into-four", "straight-one-four")
SETTINGS = JamSettings(find_form("twelve-bar"), Feel.SHUFFLE, 120.0, CATALOGUE.find("boogie"))


class Measured(NamedTuple):
    """A jam, as long as was asked for."""

    seconds: float
    """Of music."""

    processor: float
    wall: float
    early: float
    """Megabytes at most in the first minute."""

    late: float
    """Megabytes at most at all."""

    legs: int


def main() -> int:
    """Measure, print, and give 0 if both aims are met, else 1."""
    parser = argparse.ArgumentParser(description="What an open jam costs.")
    parser.add_argument("--minutes", type=float, default=MINUTES, help="of music, 2 or more")
    jam_cost = measured(max(2.0, parser.parse_args().minutes))
    alone = median(reference() for _ in range(ROUNDS))
    share, growth = jam_cost.processor / jam_cost.seconds, jam_cost.late - jam_cost.early
    sys.stdout.write(
        f"{jam_cost.seconds / 60:.0f} minutes of jam in {jam_cost.legs} legs, "
        f"made in {jam_cost.wall:.1f} s\n"
        f"processor time {jam_cost.processor:6.1f} s, {share:.2%} of the music "
        f"(at most {HIGHEST_SHARE:.0%})\n"
        f"a clip alone   {alone:6.2%} of the music; ratio {share / alone:.2f}\n"
        f"memory at most {jam_cost.early:.1f} MB after a minute, {jam_cost.late:.1f} MB at the "
        f"end: {growth:+.1f} MB (at most {HIGHEST_GROWTH:.0f})\n"
    )
    return 0 if share <= HIGHEST_SHARE and growth <= HIGHEST_GROWTH else 1


def jam(seed: int) -> Iterator[Leg]:
    """A jam without an end: a turnaround and a pickup in each chorus, the key moving on."""
    chance = random.Random(seed)
    leg = first_leg(SETTINGS, seed, _key(chance), 2, _placed(chance, 2), _key(chance))
    while True:
        yield leg
        choruses = chance.randint(2, 4)
        leg = next_leg(leg, choruses, _placed(chance, choruses), _key(chance))


def _key(chance: random.Random) -> Key:
    return chance.choice(PLAYED_KEYS)


def _placed(chance: random.Random, choruses: int) -> list[Placed]:
    return [
        Placed(chorus, bar, CATALOGUE.find(chance.choice(names)))
        for chorus in range(choruses)
        for bar, names in ((4, PICKUPS), (11, TURNAROUNDS))
    ]


def measured(minutes: float) -> Measured:
    """Play a jam through without listening to it."""
    stand = Bandstand(jam(1), soundfont_path())
    out = memoryview(bytearray(GULP * FRAME_BYTES))
    processor, wall, early, taken = time.process_time(), time.perf_counter(), 0.0, 0
    stand.begin()
    while taken < minutes * 60 * FRAME_RATE:
        if stand.feed.waiting * FRAME_RATE < GULP:
            time.sleep(0.001)  # this listener is faster than any band
            continue
        stand.feed.fill(out, taken / FRAME_RATE)
        taken += GULP
        if taken <= 60 * FRAME_RATE:
            early = _memory()
    processor, wall = time.process_time() - processor, time.perf_counter() - wall
    stand.close()
    return Measured(taken / FRAME_RATE, processor, wall, early, _memory(), 1 + stand.legs[-1].index)


def reference() -> float:
    """Seconds of processor time for a second of music, rendered as a clip from its score."""
    score = leg_score(next(jam(1)))
    start = time.process_time()
    clip = render(score, soundfont_path(), tail_seconds=0.0)
    return (time.process_time() - start) / clip.seconds


def _memory() -> float:
    """The greatest resident memory so far, in megabytes."""
    scale = 1024 if sys.platform != "darwin" else 1024 * 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / scale


if __name__ == "__main__":
    sys.exit(main())
