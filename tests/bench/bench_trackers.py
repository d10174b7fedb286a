"""Which pitch tracker hears a bass best: `python -m tests.bench.bench_trackers`.

Single notes of half a second, B0 to C4, on the four basses of a foreign SoundFont, clean and
spoiled, are named by three trackers: the program's own YIN on thinned and lifted audio, the same
without the lift, and probabilistic YIN (M. Mauch and S. Dixon, ICASSP 2014) as the librosa library
has it, where that is installed (`pip install librosa`; 590 MB, so no dependency of anything here).
A note counts as right when the median of the frames from 60 ms after the stroke on is within half a
semitone. Printed are the notes named right, the share of single frames that were right, and
processor milliseconds a note.
"""

import importlib.util
import sys
from collections.abc import Callable
from functools import partial
from time import process_time

import numpy as np

from engine.listening.pitch import Thinner, lifted, track
from tests.engine.listening.takes import (
    BASSES,
    FOREIGN,
    RATE,
    Struck,
    Wave,
    humming,
    noisy,
    seconds_of,
    take,
)

KEYS = range(23, 61)
TEMPO = 120
LEAST_RIGHT = 0.99

Tracker = Callable[[Wave], tuple[Wave, Wave]]
"""Seconds and MIDI keys of the frames."""


def own(wave: Wave, lift: bool) -> tuple[Wave, Wave]:
    thinner = Thinner(RATE)
    thin = thinner.feed(wave)
    frames = track(lifted(thin, thinner.rate) if lift else thin, thinner.rate)
    return frames.middle - frames.span / 2, frames.semitones


def probabilistic(wave: Wave) -> tuple[Wave, Wave]:
    import librosa

    thinner = Thinner(RATE)
    thin = thinner.feed(wave)
    hertz, _, _ = librosa.pyin(
        thin, fmin=29.9, fmax=290.0, sr=thinner.rate, frame_length=512, hop_length=32, center=False
    )
    keys = 69 + 12 * np.log2(np.nan_to_num(hertz, nan=1.0) / 440)
    return np.arange(len(keys)) * 32 / thinner.rate, keys


def conditions(rng: np.random.Generator) -> dict[str, Callable[[Wave], Wave]]:
    return {
        "clean": lambda wave: wave,
        "noise 20 dB down": lambda wave: noisy(wave, 20, rng),
        "50 Hz hum 20 dB down": lambda wave: humming(wave, 20, 50),
        "60 Hz hum 12 dB down": lambda wave: humming(wave, 12, 60),
    }


def main() -> int:
    """Measure, print, and give 0 if the program's own tracker names LEAST_RIGHT everywhere."""
    trackers: dict[str, Tracker] = {
        "own YIN": partial(own, lift=True),
        "without the lift": partial(own, lift=False),
    }
    if importlib.util.find_spec("librosa"):
        trackers["pYIN (librosa)"] = probabilistic
    least = 1.0
    for name, spoil in conditions(np.random.default_rng(1)).items():
        for program in BASSES:
            waves = {
                key: spoil(take([Struck(0, key)], TEMPO, program, soundfont=FOREIGN))
                for key in KEYS
            }
            for called, tracker in trackers.items():
                right, frames, each = _measured(tracker, waves)
                sys.stdout.write(
                    f"{name:<22}program {program}   {called:<18}{right:6.1%} of notes   "
                    f"{frames:6.1%} of frames   {each:7.2f} ms\n"
                )
                if called == "own YIN":
                    least = min(least, right)
    return 0 if least >= LEAST_RIGHT else 1


def _measured(tracker: Tracker, waves: dict[int, Wave]) -> tuple[float, float, float]:
    start = seconds_of(Struck(0, 0), TEMPO)
    right, shares, began = 0, [], process_time()
    for key, wave in waves.items():
        moments, keys = tracker(wave)
        inside = keys[(moments > start + 0.06) & (moments < start + 0.36)]
        right += abs(float(np.median(inside)) - key) < 0.5
        shares.append(float(np.mean(np.abs(inside - key) < 0.5)))
    each = (process_time() - began) / len(waves) * 1000
    return right / len(waves), float(np.mean(shares)), each


if __name__ == "__main__":
    sys.exit(main())
