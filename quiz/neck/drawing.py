"""The neck as rows of characters: which frets are shown, and what stands where.

The strings lie across the screen, the highest on top. From the left come the string's name, the
open string, the nut, and the frets; for a left-handed player everything from right to left.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from engine.fretboard import Position
from engine.neck import Neck
from quiz.display.signs import Signs

CELL = 4
"""Columns of a fret, its wire among them."""

OPEN = 3
"""Columns of the open string."""

INLAYS = (3, 5, 7, 9, 12, 15, 17, 19, 21, 24)
"""Frets with a dot on the neck, whose numbers stand out. [common practice, no source]"""


class Mark(Enum):
    """What is the matter with a place. The value names its style and stands in the legend."""

    PLACE = "place"
    LIT = "lit"
    OWN = "own"
    WRONG = "wrong"


LEGEND = {
    Mark.PLACE: "the path",
    Mark.LIT: "sounds",
    Mark.OWN: "yours",
    Mark.WRONG: "yours, wrong",
}


class Window(NamedTuple):
    """The frets that are shown, both ends included; the open strings always are."""

    first: int
    last: int


class Piece(NamedTuple):
    """A run of characters in one style."""

    text: str
    style: str
    """`name`, `number`, `inlay`, `string`, or the value of a Mark."""

    cursor: bool = False
    """Whether the cursor is there; it is drawn in brackets besides."""


def sign(mark: Mark, signs: Signs) -> str:
    """The character of a mark."""
    return {
        Mark.PLACE: signs.place,
        Mark.LIT: signs.lit,
        Mark.OWN: signs.own,
        Mark.WRONG: signs.wrong,
    }[mark]


def frets_that_fit(neck: Neck, width: int) -> int:
    """How many frets there is room for in so many columns; one at least."""
    return max(1, (width - _label_width(neck) - OPEN - 1) // CELL)


def window_over(frets: Iterable[int], neck: Neck, room: int) -> Window:
    """The window of `room` frets in whose middle the given frets lie. Where they need more room it
    starts at the lowest."""
    fretted = [fret for fret in frets if fret]
    low, high = min(fretted, default=1), max(fretted, default=1)
    spare = max(0, room - (high - low + 1))
    return _window(low - spare // 2, neck, room)


def window_with(window: Window, fret: int, neck: Neck, room: int) -> Window:
    """The window moved as little as it must be to show a fret."""
    first = window.first
    if fret:
        first = max(min(first, fret), fret - room + 1)
    return _window(first, neck, room)


def _window(first: int, neck: Neck, room: int) -> Window:
    first = max(1, min(first, neck.frets - room + 1))
    return Window(first, min(neck.frets, first + room - 1))


@dataclass(frozen=True, slots=True)
class NeckView:
    """A neck as it is looked at."""

    neck: Neck
    window: Window
    left_handed: bool = False

    @property
    def height(self) -> int:
        """Rows: the numbers of the frets, and a row a string."""
        return 1 + len(self.neck.tuning.strings)

    def rows(
        self,
        marks: Mapping[Position, Mark],
        signs: Signs,
        cursor: Position | None = None,
    ) -> tuple[tuple[Piece, ...], ...]:
        """All rows, from the numbers of the frets down to the lowest string."""
        strings = reversed(range(len(self.neck.tuning.strings)))
        return (
            self._numbers(),
            *(self._string(string, marks, signs, cursor) for string in strings),
        )

    def position_at(self, column: int, row: int) -> Position | None:
        """The place at a column and a row of the drawing, 0 the first; None where there is none."""
        string = len(self.neck.tuning.strings) - row
        if not 0 <= string < len(self.neck.tuning.strings):
            return None
        for start, width, fret in self._columns():
            if start <= column < start + width:
                return Position(string, fret)
        return None

    def _frets(self) -> list[int]:
        return list(range(self.window.first, self.window.last + 1))

    def _columns(self) -> Iterator[tuple[int, int, int]]:
        """Start, width and fret of every cell, from the left."""
        at = 0
        cells = [(_label_width(self.neck), None), (OPEN, 0), (1, None)]
        cells += [(CELL, fret) for fret in self._frets()]
        for width, fret in reversed(cells) if self.left_handed else cells:
            if fret is not None:
                yield at, width, fret
            at += width

    def _numbers(self) -> tuple[Piece, ...]:
        cells = [
            Piece(" " * _label_width(self.neck), "name"),
            Piece(" 0 ", "number"),
            Piece(" ", "number"),
            *(
                Piece(_number(fret, self.left_handed), "inlay" if fret in INLAYS else "number")
                for fret in self._frets()
            ),
        ]
        return self._in_order(cells)

    def _string(
        self,
        string: int,
        marks: Mapping[Position, Mark],
        signs: Signs,
        cursor: Position | None,
    ) -> tuple[Piece, ...]:
        name = self.neck.tuning.names[string]
        width = _label_width(self.neck)
        nut = signs.nut if self.window.first == 1 else signs.further
        cells = [Piece(f"{name:<{width - 1}} ", "name")]
        if self.left_handed:
            cells = [Piece(f" {name:<{width - 1}}", "name")]
        cells += self._cell(Position(string, 0), " ", marks, signs, cursor)
        cells.append(Piece(nut, "string"))
        for fret in self._frets():
            cell = self._cell(Position(string, fret), signs.string, marks, signs, cursor)
            last = fret == self.window.last < self.neck.frets
            cells += [*cell, Piece(signs.further if last else signs.fret, "string")]
        return self._in_order(cells)

    def _cell(
        self,
        place: Position,
        line: str,
        marks: Mapping[Position, Mark],
        signs: Signs,
        cursor: Position | None,
    ) -> list[Piece]:
        """The three columns of a place."""
        mark, here = marks.get(place), place == cursor
        middle = sign(mark, signs) if mark else line
        before, after = ("[", "]") if here else (line, line)
        style = mark.value if mark else "string"
        return [
            Piece(before, "string", here),
            Piece(middle, style, here),
            Piece(after, "string", here),
        ]

    def _in_order(self, cells: list[Piece]) -> tuple[Piece, ...]:
        if not self.left_handed:
            return tuple(cells)
        brackets = str.maketrans("[]", "][")
        return tuple(
            piece._replace(text=piece.text.translate(brackets) if piece.cursor else piece.text)
            for piece in reversed(cells)
        )


def _number(fret: int, left_handed: bool) -> str:
    number = f"{fret:^{CELL - 1}}"
    return f" {number}" if left_handed else f"{number} "


def _label_width(neck: Neck) -> int:
    return max(map(len, neck.tuning.names)) + 1


def legend(marks: Mapping[Position, Mark], signs: Signs) -> str:
    """What the marks that are there mean."""
    there = set(marks.values())
    return "  ".join(f"{sign(mark, signs)} {LEGEND[mark]}" for mark in Mark if mark in there)
