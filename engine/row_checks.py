"""What a row must have so that it can be asked about in every key, whatever else there is.

A place in some form; room on the bass, alone and with every part that it goes with; notes with at
most two accidentals; and a name and a sound of its own. Built-in rows have all that, which tests
prove; rows that somebody adds are checked when they are read.
"""

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from itertools import product

from engine.catalogue import TWELVE, Device, Family, goes_with, places
from engine.chords import QUALITIES
from engine.errors import shown
from engine.fields import Row
from engine.forms import Form
from engine.line import A1, A3, E1
from engine.pattern import Mark, Pattern, Spot, Step, Tone
from engine.theory import F_SHARP, OCTAVE, PLAYED_KEYS, Midi, spell

MOST_ACCIDENTALS = 2
"""Before a note: nobody can type three."""

WIDEST, WIDEST_BASE = A3 - E1 - (OCTAVE - 1), A3 - A1 - (OCTAVE - 1)
"""Half steps that fit the bass in every key: a device, and a bar of a base pattern."""


def check_new(row: Row, of: str, twin: str | None, what: str) -> None:
    """Raise CatalogueError when there is a twin, the id of a row that is the same in field `of`."""
    if twin is not None:
        raise row.error(of, f"'{twin}' {what}, so nobody could tell them apart: change it")


def check_places(row: Row, device: Device, forms: Iterable[Form]) -> None:
    """Raise CatalogueError when it can start nowhere, or in a form of twelve bars not where `bars`
    says."""
    suited = [form for form in forms if device.minor or not form.minor]
    if not any(places(device, form) for form in suited):
        raise row.error(
            "degrees" if device.change is None else "serves",
            f"no form has a place for {device.change or 'it'} over {device.pattern.bars} bars: "
            "change it, or add a [[form]] that has one",
        )
    twelve = [form for form in suited if len(form) == TWELVE]
    allowed = sorted({bar for form in twelve for bar in places(device, form)})
    if allowed and not set(device.bars) <= set(allowed):
        raise row.error(
            "bars",
            f"{list(device.bars)} was given: in a form of twelve bars it can start in "
            f"{' or '.join(map(str, allowed))}",
        )


def check_spelling(row: Row, device: Device) -> None:
    """Raise CatalogueError when a note would need too many accidentals in some key."""
    for key in (*PLAYED_KEYS, F_SHARP):
        for degree in device.pattern.degrees:
            note = spell(degree, key.tonic)
            if abs(note.alter) > MOST_ACCIDENTALS:
                raise row.error(
                    "degrees", f"'{degree}' would be {note} in {key}: write it by another name"
                )


def sound(device: Device) -> Hashable:
    """What is equal for two rows that no ear tells apart: a note that is struck again or rings
    makes no difference, nor does the octave. Base patterns are never asked about."""
    if device.family is Family.BASE:
        return device.id
    pattern = device.pattern
    arrival = pattern.arrival.degree.pitch_class if pattern.arrival else None
    changes: list[tuple[Spot, int | None]] = []  # None where the base pattern plays something
    now: int | None = None
    for step in pattern.steps:
        if isinstance(step.what, Mark) and step.what is not Mark.BASE:
            continue
        pitch = _pitch_class(device, step)
        if pitch is None or pitch != now:
            changes.append((step.spot, pitch))
        now = pitch
    ends = None if arrival == now else arrival
    return (device.family, device.change, device.times, pattern.bars, tuple(changes), ends)


def _pitch_class(device: Device, step: Step) -> int | None:
    """What sounds above the tonic; None where the base pattern is free.

    A pickup stands over a chord that is known, and base patterns start with its root.
    """
    if isinstance(step.what, Tone):
        return step.what.degree.pitch_class
    if device.change is None or step.spot != Spot(0):
        return None
    return (device.chords[0][0].root if device.chords else device.change.here).pitch_class


# --- room ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Span:
    """How far the notes of a device reach."""

    device: Device
    lowest: int
    """Semitones above the tonic of the register."""

    highest: int

    @classmethod
    def of(cls, device: Device) -> "Span":
        """The reach of a device that has a note."""
        heights = [tone.semitones for tone in device.pattern.tones]
        return cls(device, min(heights), max(heights))


def fits(lowest: int, highest: int, low: Midi, high: Midi) -> bool:
    """Whether a line that reaches so far from its tonic lies between two pitches in every key.

    The tonic stands at the lowest pitch that will do, or up to eleven half steps above it.
    """
    return max(low - lowest, 0) + OCTAVE - 1 + highest <= high


def check_room(row: Row, device: Device, parts: Iterable[Span]) -> None:
    """Raise CatalogueError when the notes leave the bass in some key, alone or with one of the
    parts that it goes with."""
    alone = Span.of(device)
    if not fits(alone.lowest, alone.highest, E1, A3):
        raise row.error(
            "degrees", f"it leaves the bass in some key: keep within {WIDEST} half steps, not high"
        )
    if device.family is Family.BASE:
        _check_base_room(row, device)
    for part in parts:
        lowest, highest = min(alone.lowest, part.lowest), max(alone.highest, part.highest)
        if not fits(lowest, highest, E1, A3) and _go_together(device, part.device):
            raise row.error(
                "degrees",
                f"together with '{part.device.id}' it leaves the bass in some key: keep both "
                f"within {WIDEST} half steps, by an octave up or down if need be",
            )


def _go_together(one: Device, other: Device) -> bool:
    return goes_with(one, other) or goes_with(other, one)


def _check_base_room(row: Row, device: Device) -> None:
    """Whether each bar of a base pattern fits over every chord, its root among its notes, from the
    open A string up, where the lowest lines stand."""
    for way, quality in product(device.alternatives, QUALITIES):
        for bar in range(way.bars):
            heights = [0, *_bent(way, bar, quality)]
            if not fits(min(heights), max(heights), A1, A3):
                raise row.error(
                    "degrees",
                    f"bar {bar + 1} of {shown(str(way))} leaves the bass over some chord of the "
                    f"quality {quality}: keep a bar, with its root, within {WIDEST_BASE} half "
                    "steps",
                )


def _bent(pattern: Pattern, bar: int, quality: str) -> Iterable[int]:
    """The heights of the notes of a bar as the line bends them to a chord: third, fifth and seventh
    are the chord's own."""
    own = {tone.number: tone for tone in QUALITIES[quality]}
    for step in pattern.steps:
        if step.spot.bar == bar and isinstance(step.what, Tone):
            bent = own.get(step.what.degree.number, step.what.degree)
            yield Tone(bent, step.what.octave).semitones
