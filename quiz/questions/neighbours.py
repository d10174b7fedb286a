"""Which devices, and which forms, are easily mistaken for each other, computed from their notes.

Two devices are comparable when they answer the same question: heads among heads, tails among
tails, pickups of one change, endings that start in one bar. Their distance is the number of
eighths in which they differ, so a device that a teacher adds has neighbours at once. The distance
of two forms is the number of beats in which they have different chords, or only one of them any.
"""

from collections.abc import Sequence
from itertools import zip_longest

from engine.catalogue import Catalogue, Device, Family
from engine.forms import Form
from engine.pattern import Mark, Pattern, Tone
from engine.timing import BEATS_PER_BAR

CONTRAST_EIGHTHS = 4
"""Two quarters: devices this near make a contrast pair. [common practice, no source]"""


def rivals(device: Device, catalogue: Catalogue) -> tuple[Device, ...]:
    """The other devices that could answer the same question, nearest first."""
    family = device.family
    return tuple(
        sorted(
            (
                other
                for other in catalogue.family(family)
                if other.id != device.id and _comparable(device, other)
            ),
            key=lambda other: distance(device, other),
        )
    )


def contrasts(device: Device, catalogue: Catalogue) -> tuple[Device, ...]:
    """The rivals near enough to be mistaken for the device, nearest first."""
    return tuple(
        other
        for other in rivals(device, catalogue)
        if 0 < distance(device, other) <= CONTRAST_EIGHTHS
    )


def rival_forms(form: Form, catalogue: Catalogue) -> tuple[Form, ...]:
    """The other forms, nearest first."""
    others = [other for other in catalogue.forms if other.id != form.id]
    return tuple(sorted(others, key=lambda other: len(changed_beats(form, other))))


def changed_beats(one: Form, other: Form) -> tuple[int, ...]:
    """The beats, from the top of the form, on which two forms have different chords."""
    mine, theirs = ([chord for bar in form.bars for chord in bar] for form in (one, other))
    pairs = zip_longest(mine, theirs)
    return tuple(beat for beat, (chord, twin) in enumerate(pairs) if chord != twin)


def nearest_rows(row: str, catalogue: Catalogue) -> tuple[str, ...]:
    """The ids of the rows that could answer the same question as a device or form, nearest first.

    Raises MusicInputError when the catalogue has no such row.
    """
    for form in catalogue.forms:
        if form.id == row:
            return tuple(other.id for other in rival_forms(form, catalogue))
    return tuple(other.id for other in rivals(catalogue.find(row), catalogue))


def mistakable_rows(row: str, catalogue: Catalogue) -> tuple[str, ...]:
    """Those of `nearest_rows` that are near enough to be mistaken for the row.

    Of forms it is the nearest one. Raises MusicInputError when the catalogue has no such row.
    """
    if any(form.id == row for form in catalogue.forms):
        return nearest_rows(row, catalogue)[:1]
    return tuple(other.id for other in contrasts(catalogue.find(row), catalogue))


def distance(one: Device, other: Device) -> int:
    """Eighths in which two devices differ in what is struck or rings, arrivals included.

    Where one is longer (a head of one bar against a whole turnaround), the common bars count.
    """
    bars = min(one.pattern.bars, other.pattern.bars)
    mine, theirs = _eighths(one.pattern, bars), _eighths(other.pattern, bars)
    arrivals = _arrival(one.pattern), _arrival(other.pattern)
    apart = 2 if None not in arrivals and arrivals[0] != arrivals[1] else 0
    repeats = CONTRAST_EIGHTHS * abs(one.times - other.times)
    return sum(a != b for a, b in zip(mine, theirs, strict=True)) + apart + repeats


def _comparable(one: Device, other: Device) -> bool:
    if one.family is Family.PICKUP:
        return one.change == other.change and set(one.bars) & set(other.bars) != set()
    if one.family is Family.ENDING:
        return one.bars == other.bars
    return True


def _eighths(pattern: Pattern, bars: int) -> Sequence[int | str]:
    """What sounds in each eighth: a pitch class, or the sign of a mark; a held note goes on."""
    struck = {(step.spot.beat, step.spot.offbeat): step.what for step in pattern.steps}
    sounds: list[int | str] = []
    for beat in range(bars * BEATS_PER_BAR):
        for offbeat in (False, True):
            what = struck.get((beat, offbeat), Mark.HOLD)
            if isinstance(what, Tone):
                sounds.append(what.degree.pitch_class)
            elif what is Mark.HOLD and sounds:
                sounds.append(sounds[-1])
            else:
                sounds.append(what.value)
    return sounds


def _arrival(pattern: Pattern) -> int | None:
    return pattern.arrival.degree.pitch_class if pattern.arrival else None
