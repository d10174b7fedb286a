"""What goes on paper: one device in a key, or a chorus with devices in it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from engine.catalogue import Catalogue, Device, Family
from engine.chords import parse_bars
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import Form
from engine.line import A1, E1, Compass, LineNote, write_line
from engine.neck import FOUR_STRING, FRETS, Tuning
from engine.paper.notated import Sheet, notate
from engine.plan import Placement, Plan, PlannedBar, plan_choruses
from engine.theory import Key, with_signature
from engine.timing import checked_tempo
from quiz.questions.hearing import BASES, usual_place

HEIGHTS = (Compass(low=A1, lean=A1), Compass(low=E1, lean=E1))
"""Where a figure alone stands: as low as it can at or above A1, or above E1 where that is too high,
as everywhere in the program."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How what is on paper is played."""

    key: Key
    feel: Feel
    tempo: float
    base: str | None = None
    """The id of the base pattern; None for the usual one of the feel."""

    seed: int = 1
    tuning: Tuning = FOUR_STRING
    frets: int = FRETS


@dataclass(frozen=True, slots=True)
class Passage:
    """A plan and its line: what is heard when a sheet is played."""

    title: str
    plan: Plan
    line: tuple[LineNote, ...]

    def sheet(self, manner: Manner) -> Sheet:
        """The passage on paper; raises MusicInputError naming a note that is off the neck."""
        return notate(self.plan, self.line, self.title, manner.tuning, manner.frets)


def figure_passage(device: Device, manner: Manner, catalogue: Catalogue) -> Passage:
    """The bars of one device and the downbeat that it arrives at.

    A head or a tail stands alone; a base pattern is played over the chord of the tonic. A key that
    no signature can hold becomes the one that sounds alike. Raises MusicInputError for a device
    without a place in any form.
    """
    key = with_signature(manner.key)
    manner = replace(manner, key=key)
    plan = _base_plan if device.family is Family.BASE else _device_plan
    return _lowest(f"{device.name} in {key}", plan(device, manner, catalogue), manner.seed)


def chorus_passage(
    form: Form, placed: Sequence[tuple[int, Device]], manner: Manner, catalogue: Catalogue
) -> Passage:
    """A chorus with devices given as (bar from 1, device), and the downbeat behind it.

    The form says whether the key is minor. Raises MusicInputError for devices that have no place
    there or overlap.
    """
    key = with_signature(Key(manner.key.tonic, form.minor))
    base = base_of(manner.base, manner.feel, catalogue)
    rows = [(0, bar, device) for bar, device in placed]
    plan = plan_choruses(form, key, manner.feel, manner.tempo, base, rows)
    line = write_line(plan, manner.seed, Compass())
    return Passage(f"{form.name} in {key}", plan, line)


def base_of(name: str | None, feel: Feel, catalogue: Catalogue) -> Device:
    """The base pattern of that id, or the usual one of the feel.

    Raises MusicInputError when there is none.
    """
    base = catalogue.find(name or BASES[feel])
    if base.family is not Family.BASE:
        allowed = ", ".join(row.id for row in catalogue.family(Family.BASE))
        raise MusicInputError(f"'{base.id}' is no base pattern: give one of {allowed}")
    return base


def _device_plan(device: Device, manner: Manner, catalogue: Catalogue) -> Plan:
    """The device in its usual place, cut out of the chorus with nothing around it."""
    whole = catalogue.completed(device)
    form, bar = usual_place(whole, manner.key.minor, catalogue)
    base = base_of(manner.base, manner.feel, catalogue)
    chorus = plan_choruses(form, manner.key, manner.feel, manner.tempo, base, [(0, bar, whole)])
    bars = device.pattern.bars
    behind = whole.pattern.bars - bars if device.family is Family.TAIL else 0
    first = bar - 1 + behind
    last = first + bars * device.times
    leads_nowhere = device.family is Family.HEAD and not device.complete
    landing = () if leads_nowhere else (replace(chorus.bars[last], landing=True),)
    return replace(
        chorus, bars=(*chorus.bars[first:last], *landing), placements=(Placement(device, 0),)
    )


def _base_plan(device: Device, manner: Manner, catalogue: Catalogue) -> Plan:
    """A base pattern over the chord of the tonic, and the downbeat behind it."""
    form, _ = usual_place(device, manner.key.minor, catalogue)
    home = parse_bars("Im7" if manner.key.minor else "I7")[0]
    bars = [PlannedBar(0, number, home) for number in range(1, device.pattern.bars + 1)]
    landing = PlannedBar(0, len(bars) + 1, home, landing=True)
    tempo = checked_tempo(manner.tempo)
    return Plan(form, manner.key, manner.feel, tempo, device, (*bars, landing))


def _lowest(title: str, plan: Plan, seed: int) -> Passage:
    """The passage at the first of HEIGHTS that is wide enough for it."""
    problem: MusicInputError | None = None
    for compass in HEIGHTS:
        try:
            return Passage(title, plan, write_line(plan, seed, compass))
        except MusicInputError as error:
            problem = error
    raise problem or MusicInputError(f"{title} does not fit the bass")
