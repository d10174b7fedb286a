"""How fast a track is rendered and written: `python -m tests.bench.bench_track`.

Prints how many seconds of a five-minute track are written in a second, and how much faster two keys
at a time are than one after the other. The aim: 40 x real time or better, one file alone.
"""

import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from engine.catalogue import builtin_catalogue
from engine.choosing import mixed
from engine.feels import Feel
from engine.notation import parse_key
from engine.sound import Mix
from engine.track import TrackPlan, seconds
from quiz.exports.tracks import ENDINGS, TrackJob, write_track, write_tracks
from sounds import soundfont_path

CHORUSES, TEMPO = 12, 120.0
"""Twelve choruses of twelve bars at 120: five minutes with count-in and landing."""


def job(folder: Path, key: str, ending: str) -> TrackJob:
    catalogue = builtin_catalogue()
    form = catalogue.form("twelve-bar-five")
    plan = TrackPlan(
        form, parse_key(key), Feel.SHUFFLE, catalogue.find("boogie"), (TEMPO,),
        mixed(form, catalogue, CHORUSES, 1, 1),
    )  # fmt: skip
    return TrackJob(plan, folder / f"{key}{ending}", soundfont_path(), Mix())


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for ending in ENDINGS:
            one = job(folder, "Bb", ending)
            begun = time.perf_counter()
            write_track(one)
            took = time.perf_counter() - begun
            say(f"{ending:<6}{seconds(one.plan) / took:7.0f} x real time")
        keys = ("F", "C", "Eb", "Ab")
        jobs = [job(folder, key, ".wav") for key in keys]
        begun = time.perf_counter()
        for one in jobs:
            write_track(one)
        alone = time.perf_counter() - begun
        begun = time.perf_counter()
        write_tracks([replace(one, force=True) for one in jobs], lambda count: None)
        together = time.perf_counter() - begun
        say(f"{len(keys)} keys in processes of their own: {alone / together:.2f} x as fast")


if __name__ == "__main__":
    main()
