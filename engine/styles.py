"""How drums and keys play in each feel, read from `data/styles.toml`.

The head of that file says how rhythms are written. A rhythm is a row of cells, a group a beat;
where the second of two cells falls is up to the feel.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import NamedTuple, TypeVar

from engine.errors import CatalogueError, MusicInputError
from engine.feels import Feel, spot_tick
from engine.rows import Row, builtin_text, read_rows, refuse_twins
from engine.score import Drum
from engine.timing import BEATS_PER_BAR, TICKS_PER_BEAT, Tick

T = TypeVar("T")

PIECES = {
    "kick": Drum.KICK,
    "stick": Drum.SIDE_STICK,
    "snare": Drum.SNARE,
    "hat": Drum.CLOSED_HAT,
    "pedal": Drum.PEDAL_HAT,
    "ride": Drum.RIDE,
    "crash": Drum.CRASH,
}
"""The names of the kit's pieces in the file."""

STROKES = {"X": 104, "x": 88, "o": 72, "g": 50}
"""Letters of a drum cell, with the velocity of the stroke before it is humanised."""

TOUCHES = {"X": 92, "x": 80, "o": 66, "H": 92, "h": 80, ">": 84}
"""Letters of a comping cell, with the velocity of the chord before it is humanised."""

CELLS = {
    Feel.SHUFFLE: (1, 2, 3),
    Feel.STRAIGHT: (1, 2, 4),
    Feel.SWING: (1, 2, 3),
    Feel.SLOW: (1, 2, 3, 6),
}
"""Cells a beat may be divided into: sixteenths fit no triplet feel, triplets no straight one."""


class Cell(NamedTuple):
    """A place in a rhythm."""

    beat: int
    """Beats from the start of the rhythm, 0 first."""

    part: int = 0
    """The cell within the beat, 0 first."""

    parts: int = 1
    """Cells in this beat."""

    def tick(self, feel: Feel, bpm: float) -> Tick:
        """Ticks from the start of the rhythm; the feel places the second of two cells."""
        if self.parts == 2:
            return spot_tick(self.beat, self.part == 1, feel, bpm)
        return Tick(self.beat * TICKS_PER_BEAT + TICKS_PER_BEAT * self.part // self.parts)


class Stroke(NamedTuple):
    """One hit on one piece of the kit."""

    cell: Cell
    drum: Drum
    velocity: int


@dataclass(frozen=True, slots=True)
class Groove:
    """A passage for the kit."""

    beats: int
    strokes: tuple[Stroke, ...]

    def within(self, first: int, last: int) -> tuple[Stroke, ...]:
        """The strokes from beat `first` up to but not including beat `last`."""
        return tuple(stroke for stroke in self.strokes if first <= stroke.cell.beat < last)


@dataclass(frozen=True, slots=True)
class Hit:
    """One chord of a comping rhythm."""

    cell: Cell
    velocity: int
    until: Cell | None = None
    """Where it stops; None for a stab."""

    push: bool = False
    """It plays the chord of the next beat."""


@dataclass(frozen=True, slots=True)
class Rhythm:
    """A comping rhythm."""

    bars: int
    hits: tuple[Hit, ...]


@dataclass(frozen=True, slots=True)
class Style:
    """One way for drums and keys to play a feel."""

    id: str
    name: str
    feel: Feel
    voices: int
    """Notes in a chord of the keys: 3 or 4."""

    says: str
    source: str
    time: tuple[Groove, ...]
    """Grooves of one or two bars, the main one first."""

    lift: tuple[Groove, ...]
    fill: tuple[Groove, ...]
    top: Groove
    stop: Groove
    landing: Groove
    comping: tuple[Rhythm, ...]


def read_styles(text: str, file: str) -> tuple[Style, ...]:
    """The styles of a data file.

    Raises CatalogueError naming entry and field, or the feel that no entry serves.
    """
    styles = tuple(_style(row) for row in read_rows(text, file, "style"))
    refuse_twins((style.id for style in styles), file)
    for feel in Feel:
        if all(style.feel is not feel for style in styles):
            raise CatalogueError(f"{file}: no entry has the feel '{feel.value}': give one that has")
    return styles


@cache
def builtin_styles() -> tuple[Style, ...]:
    """The styles that come with the program."""
    return read_styles(builtin_text("styles.toml"), "styles.toml")


def draw_style(feel: Feel, seed: int) -> Style:
    """The style that a tune of this feel and seed is played in: the same for drums and keys."""
    fitting = [style for style in builtin_styles() if style.feel is feel]
    return random.Random(f"{seed}:style").choice(fitting)


def _style(row: Row) -> Style:
    feel = Feel(row.choice("feel", [feel.value for feel in Feel]))
    style = Style(
        id=row.identity(),
        name=row.text("name"),
        feel=feel,
        voices=row.whole("voices", least=3),
        says=row.text("says"),
        source=row.text("source"),
        time=_listed(row, "time", lambda text: parse_groove(text, feel, whole_bars=True)),
        lift=_listed(row, "lift", lambda text: parse_groove(text, feel)),
        fill=_listed(row, "fill", lambda text: parse_groove(text, feel)),
        top=row.parsed("top", lambda text: parse_groove(text, feel)),
        stop=row.parsed("stop", lambda text: parse_groove(text, feel)),
        landing=row.parsed("landing", lambda text: parse_groove(text, feel)),
        comping=_listed(row, "comping", lambda text: parse_rhythm(text, feel)),
    )
    row.finish()
    if style.voices > 4:
        raise row.error("voices", f"{style.voices} was given: give 3 or 4")
    return style


def _listed(row: Row, field: str, parse: Callable[[str], T]) -> tuple[T, ...]:
    texts = row.texts(field)
    if not texts:
        raise row.error(field, "the list is empty: give at least one")
    try:
        return tuple(parse(text) for text in texts)
    except MusicInputError as error:
        raise row.error(field, str(error)) from error


def parse_groove(text: str, feel: Feel, whole_bars: bool = False) -> Groove:
    """Read drum tablature: one to four beats, or one or two whole bars.

    Raises MusicInputError naming the line that breaks a rule.
    """
    strokes: list[Stroke] = []
    lengths: set[int] = set()
    seen: set[str] = set()
    for line in filter(None, map(str.strip, text.splitlines())):
        name, _, cells = line.partition(" ")
        if name not in PIECES or name in seen:
            problem = "it is there twice" if name in seen else "there is no such piece"
            raise MusicInputError(f"'{name}': {problem}: a line starts with {', '.join(PIECES)}")
        seen.add(name)
        groups = _groups(cells, feel, whole_bars)
        lengths.add(len(groups))
        strokes.extend(_strokes(groups, PIECES[name], line))
    if len(lengths) != 1 or not strokes:
        raise MusicInputError(
            f"lines of {sorted(lengths)} beats with {len(strokes)} hits: give "
            "every piece equally many beats, and at least one hit in all"
        )
    return Groove(lengths.pop(), tuple(sorted(strokes, key=_when)))


def _when(stroke: Stroke) -> tuple[Tick, int]:
    return stroke.cell.tick(Feel.STRAIGHT, 120), stroke.drum.value


def _strokes(groups: list[str], drum: Drum, line: str) -> list[Stroke]:
    strokes: list[Stroke] = []
    for cell, letter in _cells(groups):
        if letter in STROKES:
            strokes.append(Stroke(cell, drum, STROKES[letter]))
        elif letter != ".":
            raise MusicInputError(f"'{letter}' in '{line}': a cell is one of {' '.join(STROKES)} .")
    return strokes


def _groups(text: str, feel: Feel, whole_bars: bool) -> list[str]:
    bars = [bar.split() for bar in text.split("|")]
    groups = [group for bar in bars for group in bar]
    if whole_bars and (len(bars) > 2 or any(len(bar) != BEATS_PER_BAR for bar in bars)):
        raise MusicInputError(f"'{text.strip()}': give one or two bars of {BEATS_PER_BAR} beats")
    if not whole_bars and (len(bars) > 1 or not 1 <= len(groups) <= BEATS_PER_BAR):
        raise MusicInputError(f"'{text.strip()}': give one to {BEATS_PER_BAR} beats, without |")
    _check_division(groups, feel)
    return groups


def _check_division(groups: list[str], feel: Feel) -> None:
    for group in groups:
        if len(group) not in CELLS[feel]:
            allowed = ", ".join(map(str, CELLS[feel]))
            raise MusicInputError(
                f"'{group}' has {len(group)} cells: a beat of this feel has one of {allowed}"
            )


def _cells(groups: list[str]) -> list[tuple[Cell, str]]:
    return [
        (Cell(beat, part, len(group)), letter)
        for beat, group in enumerate(groups)
        for part, letter in enumerate(group)
    ]


def parse_rhythm(text: str, feel: Feel) -> Rhythm:
    """Read a comping rhythm of one or two bars; a shorter last part only rings on.

    Raises MusicInputError saying what breaks a rule.
    """
    bars = [bar.split() for bar in text.split("|")]
    after = bars.pop() if len(bars) > 1 and len(bars[-1]) < BEATS_PER_BAR else []
    if len(bars) > 2 or any(len(bar) != BEATS_PER_BAR for bar in bars):
        raise MusicInputError(f"'{text}': give one or two bars of {BEATS_PER_BAR} beats")
    groups = [group for bar in [*bars, after] for group in bar]
    _check_division(groups, feel)
    cells = _cells(groups)
    _check_letters(cells, len(bars) * BEATS_PER_BAR, text)
    struck = [index for index, (_, letter) in enumerate(cells) if letter not in "-."]
    hits = tuple(_hit(cells, first, last) for first, last in pairwise([*struck, len(cells)]))
    return Rhythm(len(bars), hits)


def _check_letters(cells: list[tuple[Cell, str]], beats: int, text: str) -> None:
    before = "."
    for cell, letter in cells:
        if letter not in TOUCHES and letter not in "-.":
            raise MusicInputError(
                f"'{letter}' in '{text}': a cell is one of {' '.join(TOUCHES)} - ."
            )
        if letter == "-" and before not in "hH>-":
            raise MusicInputError(f"'{text}': a - stands behind h, H, > or another -")
        if cell.beat >= beats and letter not in "-.":
            raise MusicInputError(f"'{text}': after the last | a chord can only ring on, with -")
        before = letter
    if all(letter in "-." for _, letter in cells):
        raise MusicInputError(f"'{text}': it has no hit: write at least one x, h or >")


def _hit(cells: list[tuple[Cell, str]], first: int, following: int) -> Hit:
    """The hit at index `first`; the next one stands at index `following`."""
    cell, letter = cells[first]
    last = first
    while last + 1 < following and cells[last + 1][1] == "-":
        last += 1
    held = letter in "hH" or last > first
    until = _after(cells[last][0]) if held else None
    return Hit(cell, TOUCHES[letter], until, push=letter == ">")


def _after(cell: Cell) -> Cell:
    """The place where the cell ends."""
    more = cell.part + 1 < cell.parts
    return cell._replace(part=cell.part + 1) if more else Cell(cell.beat + 1)
