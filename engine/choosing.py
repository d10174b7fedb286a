"""Choosing what goes on in a track or on a sheet: choruses and tempi, by words or by a seed.

A chorus is chosen as `climb+dip, walk-up-one-four@4`: devices with commas between, each with the
bar it starts in behind an @, or where it first may stand in the form. Tempi are chosen as `120`,
`90,100,120` or `90..140+10`, a ladder with a rung every ten beats a minute.
"""

import random
from collections.abc import Sequence
from typing import NamedTuple

from engine.catalogue import Catalogue, Device, Family, places
from engine.errors import MusicInputError, shown
from engine.forms import Form
from engine.timing import checked_tempo

MOST_TEMPI = 60

PICKUP_SHARE = 0.5
"""How often a mixed chorus has a pickup."""

LADDER, STEP = "..", "+"
"""In the words for tempi: `90..140+10` is 90, 100 and so on up to 140."""


class Placing(NamedTuple):
    """A device in a chorus."""

    bar: int
    """Of the form, counted from 1."""

    device: Device


Chorus = tuple[Placing, ...]
"""The devices of a chorus in order of bars."""


# --- by words -------------------------------------------------------------------------------------


def parse_chorus(text: str, form: Form, catalogue: Catalogue) -> Chorus:
    """Read the devices of a chorus, such as `climb+dip, walk-up-one-four@4`; none is a chorus too.

    A head or a tail is completed to a turnaround. Raises MusicInputError for an unknown device, a
    bar that is no number, and a device without a place in the form.
    """
    words = (part.strip() for part in text.split(","))
    rows = [_placing(word, form, catalogue) for word in words if word]
    return tuple(sorted(rows, key=lambda row: row.bar))


def _placing(word: str, form: Form, catalogue: Catalogue) -> Placing:
    name, at, bar = word.partition("@")
    if not name.strip():
        raise MusicInputError(f"{shown(word)}: give a device before the @, such as climb+dip@11")
    device = catalogue.completed(catalogue.find(name.strip()))
    allowed = () if device.family is Family.BASE else places(device, form)
    if not allowed:
        raise MusicInputError(f"'{device.name}' has no place in the {form.name}")
    if not at:
        return Placing(allowed[0], device)
    if not bar.strip().isdecimal() or int(bar) not in allowed:
        bars = ", ".join(map(str, allowed))
        raise MusicInputError(
            f"{shown(word)}: '{device.name}' starts in bar {bars} of the {form.name}; give one of "
            "these behind the @"
        )
    return Placing(int(bar), device)


def parse_tempi(text: str) -> tuple[float, ...]:
    """Read a tempo, several with commas between, or a ladder such as `90..140+10`.

    A ladder ends at its last tempo, even where the last step is then a smaller one.
    Raises MusicInputError for anything else, and for tempi that cannot be played.
    """
    tempi = [tempo for part in text.split(",") for tempo in _ladder(part.strip())]
    if len(tempi) > MOST_TEMPI:
        raise MusicInputError(f"{len(tempi)} tempi: give 1 to {MOST_TEMPI}")
    return tuple(tempi)


def _ladder(text: str) -> list[float]:
    if LADDER not in text:
        return [_tempo(text, text)]
    first, _, rest = text.partition(LADDER)
    last, _, step = rest.partition(STEP)
    low, high, by = _tempo(first, text), _tempo(last, text), _number(step, text)
    if not 1 <= by:
        raise MusicInputError(f"{shown(text)}: give a step of at least 1, as in 90..140+10")
    way = by if low <= high else -by
    count = int(abs(high - low) // by)
    rungs = [low + way * rung for rung in range(count + 1)]
    return rungs if rungs[-1] == high else [*rungs, high]


def _tempo(text: str, whole: str) -> float:
    return checked_tempo(_number(text, whole))


def _number(text: str, whole: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise MusicInputError(
            f"{shown(whole)} is no tempo: give beats a minute such as 120, several as 90,100,120, "
            "or a ladder from one to another as 90..140+10"
        ) from None


# --- by a seed ------------------------------------------------------------------------------------


class _Pool:
    """The devices that a mixed track draws from."""

    def __init__(self, form: Form, catalogue: Catalogue, only: Sequence[Device]) -> None:
        whole = [catalogue.completed(device) for device in only] or _everything(form, catalogue)
        self._form = form
        stands = [device for device in whole if places(device, form)]
        self.pickups = [device for device in stands if device.family is Family.PICKUP]
        self.endings = [device for device in stands if device.family is Family.ENDING]
        others = (Family.PICKUP, Family.ENDING, Family.BASE)
        self.turnarounds = [device for device in stands if device.family not in others]

    def chorus(self, chance: random.Random, before: Chorus, ends: bool) -> Chorus:
        """A turnaround other than that of the chorus before, or an ending, perhaps a pickup."""
        closing = self.endings if ends and self.endings else self.turnarounds
        fresh = [device for device in closing if device not in [row.device for row in before]]
        rows = [self._place(chance.choice(fresh or closing), chance)] if closing else []
        free = rows[0].bar if rows else len(self._form)
        early = [
            Placing(bar, device)
            for device in self.pickups
            for bar in places(device, self._form)
            if bar + device.pattern.bars < free
        ]
        if early and (not rows or chance.random() < PICKUP_SHARE):
            pickup = chance.choice(list(dict.fromkeys(row.device for row in early)))
            rows.append(chance.choice([row for row in early if row.device == pickup]))
        return tuple(sorted(rows, key=lambda row: row.bar))

    def _place(self, device: Device, chance: random.Random) -> Placing:
        return Placing(chance.choice(places(device, self._form)), device)


def _everything(form: Form, catalogue: Catalogue) -> list[Device]:
    """Every turnaround, pickup and ending that suits the form, variants and idle ones left out."""
    pickups_and_endings = catalogue.family(Family.PICKUP, Family.ENDING)
    return [
        device
        for device in (*catalogue.turnarounds(), *pickups_and_endings)
        if device.variant_of is None
        and not device.plain
        and device.times == 1
        and (device.minor or not form.minor)
    ]


def mixed(
    form: Form, catalogue: Catalogue, choruses: int, tempi: int, seed: int,
    only: Sequence[Device] = (),
) -> tuple[Chorus, ...]:  # fmt: skip
    """Choruses with devices drawn from the seed, out of `only` or of the whole catalogue.

    `choruses` for each of the `tempi`; the last of the track ends it, where there is an ending.
    Raises MusicInputError when none of the devices has a place in the form.
    """
    pool = _Pool(form, catalogue, only)
    if not (pool.turnarounds or pool.pickups or pool.endings):
        raise MusicInputError(f"none of these devices has a place in the {form.name}")
    drawn: list[Chorus] = []
    for number in range(choruses * tempi):
        chance = random.Random(f"{seed}:chorus:{number}")
        ends = number == choruses * tempi - 1
        drawn.append(pool.chorus(chance, drawn[-1] if drawn else (), ends))
    return tuple(drawn)


def listed(chosen: Sequence[Chorus], choruses: int, tempi: int) -> tuple[Chorus, ...]:
    """The chosen choruses one behind the other, from the first again when they are used up."""
    return tuple(chosen[number % len(chosen)] for number in range(choruses * tempi))
