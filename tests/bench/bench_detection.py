"""What is heard of takes by a foreign SoundFont: `python -m tests.bench.bench_detection`.

1. Quarter notes B0 to G3 in random order, a third of them repeated, on four basses, at 60 to 180
   beats a minute, detuned by -30 to +30 cents, with white noise 20 dB down. A note is right when it
   was heard within NEAR_SECONDS of its stroke with its key; what else was heard is extra.
2. Every device with notes of its own, in several keys, on a bass and at a tempo that come by lot,
   detuned and with noise: rendered, heard, and named in its key. Right is "it", with the device
   told first or among those that are as near.
3. The same takes named in every other key: how often the device is told there, wrongly.
4. Random chord-tone lines, half of them one bar and a downbeat, half two: how often one is told to
   be a device or a variant. Lines that are a device note by note count as well.

`--small` does a tenth of it.
"""

import argparse
import random
import sys
from collections import Counter
from typing import NamedTuple

import numpy as np

from engine.catalogue import builtin_catalogue
from engine.listening.naming import Naming, Standing, lines_of, name_line
from engine.listening.notes import PlayedNote, Take
from engine.listening.takes import hear_take
from engine.theory import PLAYED_KEYS, Key, Midi
from tests.engine.listening.takes import (
    BASSES,
    FOREIGN,
    RATE,
    Count,
    Struck,
    count,
    noisy,
    quarters,
    take,
)

LOWEST, HIGHEST = 23, 55
TEMPI = (60, 80, 100, 120, 140, 160, 180)
DETUNED = (-30, -15, 0, 15, 30)
NOISE = 20.0
KEYS_EACH = 3
LINES = 500

LEAST_NOTES, LEAST_NAMED, MOST_FALSE = 0.98, 0.95, 0.02

CATALOGUE = builtin_catalogue()
CHORDS = {"I": (0, 4, 7, 10), "IV": (5, 9, 0, 3), "V": (7, 11, 2, 5)}
CHANGES = (("I", "V"), ("I", "IV"), ("IV", "I"), ("V", "IV"), ("V", "I"), ("I", "I"))
SECOND_EIGHTH = 2 / 3


class Notes(NamedTuple):
    """How the notes of many takes were heard."""

    struck: int
    heard: int
    extra: int

    @property
    def right(self) -> float:
        return self.heard / self.struck


def heard_line(rng: random.Random, program: int, tempo: float, cents: float) -> Count:
    """One take of quarters from B0 to G3."""
    pitches = list(range(LOWEST, HIGHEST + 1))
    rng.shuffle(pitches)
    notes = quarters([one for pitch in pitches for one in [pitch] * rng.choice((1, 1, 2))])
    wave = take(notes, tempo, program, cents, FOREIGN)
    result = hear_take(noisy(wave, NOISE, np.random.default_rng(rng.randrange(2**32))), RATE)
    faster = tempo * 2 ** (cents / 1200)  # a take is detuned as a tape is, by its speed
    return count(notes, faster, [(note.onset, note.midi) for note in result.notes])


def detection(share: int = 1) -> dict[int, Notes]:
    """By program."""
    counts: dict[int, Notes] = {}
    for program in BASSES:
        rng = random.Random(f"notes:{program}")
        tries = [(tempo, cents) for tempo in TEMPI for cents in DETUNED][::share]
        found = [heard_line(rng, program, tempo, cents) for tempo, cents in tries]
        counts[program] = Notes(*(sum(numbers) for numbers in zip(*found, strict=True)))
    return counts


class Named(NamedTuple):
    """A device, how it was played, and what it was told to be."""

    device: str
    key: Key
    take: Take
    naming: Naming

    @property
    def right(self) -> bool:
        return self.naming.standing is Standing.IT and tells(self.naming, self.device)


def tells(naming: Naming, device: str) -> bool:
    """Whether a device is the one that is told, or as near."""
    near = (naming.nearest, *naming.also)
    return any(match is not None and match.device == device for match in near)


def tellable() -> list[str]:
    """Every device with notes of its own, heads and tails together as turnarounds too."""
    return list(dict.fromkeys(line.device for line in lines_of(CATALOGUE) if line.change is None))


def named(device: str, key: Key, rng: random.Random) -> Named:
    """A device, rendered, heard and named. What it leaves to the base pattern comes by lot."""
    ways = [line for line in lines_of(CATALOGUE) if line.device == device and line.change is None]
    strikes = rng.choice(ways).strikes
    low = 28 + (key.tonic.pitch_class - 28) % 12
    beats = [
        strike.earliest
        if strike.earliest == strike.latest
        else int(strike.earliest) + SECOND_EIGHTH
        for strike in strikes
    ]
    ends = [*beats[1:], beats[-1] + 1]
    notes = [
        Struck(beat, low + strike.pitch_class, end - beat, rng.randint(80, 100))
        for beat, end, strike in zip(beats, ends, strikes, strict=True)
    ]
    tempo, program, cents = rng.uniform(70, 150), rng.choice(BASSES), rng.uniform(-30, 30)
    wave = take(notes, tempo, program, cents, FOREIGN)
    wave = noisy(wave, NOISE, np.random.default_rng(rng.randrange(2**32)))
    result = hear_take(wave, RATE)
    return Named(device, key, result, name_line(result.notes, CATALOGUE, key))


def chord_tone_line(rng: random.Random) -> tuple[list[PlayedNote], Key]:
    """A line of quarters that means nothing, as loosely in time as people play."""
    here, there = rng.choice(CHANGES)
    line = [rng.choice(CHORDS[here]) for _ in range(4)]
    if rng.random() < 0.5:
        line += [rng.choice(CHORDS[there]) for _ in range(4)] + [CHORDS["I"][0]]
    else:
        line += [CHORDS[there][0]]
    key, tempo = rng.choice(PLAYED_KEYS), rng.uniform(60, 180)
    notes = [
        PlayedNote(
            0.5 + place * 60 / tempo + rng.gauss(0, 0.015),
            0.3,
            Midi(28 + (above + key.tonic.pitch_class - 28) % 12),
        )
        for place, above in enumerate(line)
    ]
    return notes, key


def false_names(lines: int) -> Counter[str]:
    """What random lines were told to be."""
    rng = random.Random("lines")
    told: Counter[str] = Counter()
    for _ in range(lines):
        notes, key = chord_tone_line(rng)
        naming = name_line(notes, CATALOGUE, key)
        if naming.standing is not Standing.NONE and naming.nearest is not None:
            told[f"{naming.standing.value} {naming.nearest.device}"] += 1
    return told


def main() -> int:
    """Measure, print, and give 0 if the targets are met, 1 if not."""
    reader = argparse.ArgumentParser()
    reader.add_argument("--small", action="store_true")
    share = 10 if reader.parse_args().small else 1
    counts = detection(share)
    for program, notes in counts.items():
        sys.stdout.write(
            f"program {program}   {notes.heard} of {notes.struck} notes right "
            f"({notes.right:.2%})   {notes.extra} too many ({notes.extra / notes.struck:.2%})\n"
        )
    rng = random.Random("devices")
    asked = [(one, key) for one in tellable() for key in rng.sample(PLAYED_KEYS, KEYS_EACH)]
    tries = [named(device, key, rng) for device, key in asked[::share]]
    right = sum(one.right for one in tries)
    sys.stdout.write(f"{right} of {len(tries)} takes of devices named right\n")
    for one in tries:
        if not one.right:
            nearest = one.naming.nearest
            near = nearest and (nearest.device, nearest.distance, nearest.differs)
            sys.stdout.write(f"   {one.device} in {one.key}: {one.naming.standing.value} {near}\n")
    elsewhere, looked = wrong_keys(tries[:: max(1, 10 // share)])
    sys.stdout.write(f"{elsewhere} of {looked} namings told by their name in a wrong key\n")
    lines = LINES // share
    told = false_names(lines)
    sys.stdout.write(f"{told.total()} of {lines} chord-tone lines named   {dict(told)}\n")
    struck, heard, _ = (sum(numbers) for numbers in zip(*counts.values(), strict=True))
    good = (
        heard / struck >= LEAST_NOTES
        and right / len(tries) >= LEAST_NAMED
        and told.total() / lines <= MOST_FALSE
    )
    return 0 if good else 1


def wrong_keys(tries: list[Named]) -> tuple[int, int]:
    """How often a device is told in a key that it was not played in, and of how many tries."""
    wrong = asked = 0
    for one in tries:
        for key in PLAYED_KEYS:
            if key != one.key:
                asked += 1
                naming = name_line(one.take.notes, CATALOGUE, key)
                wrong += naming.standing is not Standing.NONE and tells(naming, one.device)
    return wrong, asked


if __name__ == "__main__":
    sys.exit(main())
