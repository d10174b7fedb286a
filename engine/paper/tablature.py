"""A sheet as tablature text: a line a string, and above and below it what belongs to the notes.

              climb + dip
    chords    A7             E7               A7
    rhythm    q  q  q  q     q  e   e q  q    w
    G       │──────────────│────────────────│────│
    D       │────4──5──6───│─7──8───7─7──7──│────│
    A       │─5────────────│────────────────│─5──│
    E       │──────────────│────────────────│────│
    counts    1  2  3  4     1  2   & 3  4    1
    degrees   1  3  4  #4    5  b6  5 5  5    1

The rows of a line are equally long, and what belongs together stands in one column. A note that is
only held on stands in brackets. [tablature with a line a string: common practice, no source]
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, zip_longest
from textwrap import wrap

from engine.errors import printable
from engine.paper.notated import COMPOUND, VALUES, Sheet, SheetBar, Sign, played
from engine.timing import BEATS_PER_BAR

WIDTH = 80
"""Characters that a line may have, unless a single bar is longer."""

NARROWEST = 16
"""Characters into which the name of a device is wrapped, at least."""

LETTERS = {"whole": "w", "half": "h", "quarter": "q", "eighth": "e"}
REST = "r"

LEGEND = "w whole, h half, q quarter, e eighth; q. half as long again; rq a rest; (5) held on"


@dataclass(frozen=True, slots=True)
class Lines:
    """The characters that strings and bar lines are drawn with."""

    string: str
    bar: str


PLAIN = Lines("-", "|")
RICH = Lines("─", "│")


def to_tablature(sheet: Sheet, lines: Lines = RICH, width: int = WIDTH) -> str:
    """The sheet as text, four, two or one bar a line, whatever `width` allows."""
    drawn = [_Bar(sheet, bar) for bar in sheet.bars]
    label = max(len(name) for name in _labels(sheet)) + 1
    per_line = next((n for n in (4, 2, 1) if _widest(drawn, n) + label + 1 <= width), 1)
    systems = (
        _system(sheet, drawn[first : first + count], lines, label, width)
        for first, count in _groups(drawn, per_line)
    )
    swung = sheet.meter is not COMPOUND and any(sign.length == 1 for sign in sheet.signs)
    head = [printable(sheet.title), f"{played(sheet)}; {sheet.tuning.name}", LEGEND]
    if swung and sheet.feel.value != "straight":
        head.append("Two eighths of a beat are played long and short.")
    return "\n".join(chain(head, *(["", *system] for system in systems))) + "\n"


def _groups(drawn: Sequence["_Bar"], per_line: int) -> Iterator[tuple[int, int]]:
    """First bar and number of bars of each line; the landing stays with the bar before it."""
    first = 0
    while first < len(drawn):
        left = len(drawn) - first
        count = left if left == per_line + 1 and drawn[-1].bar.landing else min(per_line, left)
        yield first, count
        first += count


def _widest(drawn: Sequence["_Bar"], per_line: int) -> int:
    return max(
        sum(bar.width + 1 for bar in drawn[first : first + count])
        for first, count in _groups(drawn, per_line)
    )


def _labels(sheet: Sheet) -> list[str]:
    return ["rhythm", "degrees", *(name for name, _ in sheet.tuning.strings)]


class _Bar:
    """A bar in columns: one for every place where something stands."""

    def __init__(self, sheet: Sheet, bar: SheetBar) -> None:
        self.bar = bar
        meter = sheet.meter
        beats = {beat * meter.per_beat: str(beat + 1) for beat in range(BEATS_PER_BAR)}
        between = "a" if meter is COMPOUND else "&"
        signs = {sign.start: sign for sign in bar.signs}
        self.starts = sorted(signs) if bar.landing else sorted(beats | signs)
        self._signs = signs
        chords = {row.beat * meter.per_beat: row.chord for row in bar.chords}
        symbols = {at: chord.symbol(sheet.key.tonic) for at, chord in chords.items()}
        self._per_beat = meter.per_beat
        self._texts = {
            "chords": symbols,
            "rhythm": {at: _rhythm(sign) for at, sign in signs.items()},
            "counts": {at: beats.get(at, between) for at in self.starts},
            "degrees": {
                at: str(sign.sounding.degree)
                for at, sign in signs.items()
                if sign.struck and sign.sounding is not None
            },
        }
        self._widths = [self._column(at) for at in self.starts]
        self._widen(self._texts["chords"])

    @property
    def width(self) -> int:
        """Characters between two bar lines."""
        return 1 + sum(self._widths)

    def text(self, row: str) -> str:
        """A row of words; one that is longer than its column runs over the next ones."""
        line = " "
        place = 1
        for at, width in zip(self.starts, self._widths, strict=True):
            word = self._texts[row].get(at, "")
            if word:
                line = line[:place].ljust(place) + word
            place += width
        return line.ljust(self.width)

    def string(self, index: int, line: str) -> str:
        """The notes on a string."""
        cells = (
            _fret(self._signs.get(at), index).ljust(width, line)
            for at, width in zip(self.starts, self._widths, strict=True)
        )
        return line + "".join(cells)

    def _column(self, at: int) -> int:
        words = [self._texts[row].get(at, "") for row in ("rhythm", "counts", "degrees")]
        sign = self._signs.get(at)
        if sign is not None and sign.sounding is not None:
            words.append(_fret(sign, sign.sounding.position.string))
        return max(map(len, words)) + 1 + (at % self._per_beat == 0)

    def _widen(self, words: dict[int, str]) -> None:
        """Make room for the words of a row: each must end before the next, or the bar line."""
        places = [at for at in self.starts if words.get(at)]
        for at, behind in zip_longest(places, places[1:]):
            first = self.starts.index(at)
            last = len(self.starts) if behind is None else self.starts.index(behind)
            room = sum(self._widths[first:last])
            self._widths[last - 1] += max(len(words[at]) + 1 - room, 0)


def _rhythm(sign: Sign) -> str:
    value = VALUES[sign.length]
    rest = REST if sign.sounding is None else ""
    return rest + LETTERS[value.name] + "." * value.dots


def _fret(sign: Sign | None, string: int) -> str:
    """What stands on a string where a sign begins."""
    if sign is None or sign.sounding is None or sign.sounding.position.string != string:
        return ""
    fret = str(sign.sounding.position.fret)
    return f"({fret})" if sign.tied_from else fret


def _names(bars: Sequence[_Bar], label: int, width: int) -> list[str]:
    """The names of the devices above the bars where they start, in as many rows as they need."""
    stack: list[str] = []  # the lowest row first
    column = label + 2
    for bar in bars:
        words = printable(", ".join(bar.bar.devices))
        parts = wrap(words, max(width - column, NARROWEST))[::-1]
        floor = 0  # an earlier name may be in the way: stand above it
        while any(len(row) >= column for row in stack[floor : floor + len(parts)]):
            floor += 1
        stack += [""] * (floor + len(parts) - len(stack))
        for row, part in enumerate(parts, start=floor):
            stack[row] = stack[row].ljust(column) + part
        column += bar.width + 1
    return stack[::-1]


def _system(sheet: Sheet, bars: Sequence[_Bar], lines: Lines, label: int, width: int) -> list[str]:
    """The rows of one line."""

    def row(name: str, label_text: str) -> str:
        return f"{label_text:<{label}} {' '.join(bar.text(name) for bar in bars)}".rstrip()

    strings = [
        f"{name:<{label}}{lines.bar}"
        + "".join(bar.string(index, lines.string) + lines.bar for bar in bars)
        for index, (name, _) in reversed(list(enumerate(sheet.tuning.strings)))
    ]
    return [
        *_names(bars, label, width),
        row("chords", "chords"),
        row("rhythm", "rhythm"),
        *strings,
        row("counts", "counts"),
        row("degrees", "degrees"),
    ]
