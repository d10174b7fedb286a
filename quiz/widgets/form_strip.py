"""The form as a strip of bars, four to a row, with the sounding bar moving in time."""

from collections.abc import Mapping
from enum import Enum

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from engine.chords import BarChords
from engine.forms import Form
from quiz.display.signs import Signs

BARS_IN_A_ROW = 4
NARROW, WIDE = 8, 18
"""Columns of a bar."""


class Mark(Enum):
    """What is said of a bar; the value is the end of its style's name."""

    MARKED = "marked"
    HIT = "hit"
    MISS = "miss"
    FALSE_ALARM = "false-alarm"


class FormStrip(Widget):
    """The bars of a form; which are asked about, which are played, and which one sounds now."""

    COMPONENT_CLASSES = {
        "form-strip--bar",
        "form-strip--outside",
        "form-strip--asked",
        "form-strip--sounding",
        "form-strip--marked",
        "form-strip--hit",
        "form-strip--miss",
        "form-strip--false-alarm",
    }

    sounding: reactive[tuple[int, int] | None] = reactive(None)
    """(bar of the form from 1, beat from 0) that sounds now."""

    def __init__(self, signs: Signs, id: str | None = None) -> None:
        super().__init__(id=id)
        self._signs = signs
        self._form: Form | None = None
        self._asked: frozenset[int] = frozenset()
        self._played: frozenset[int] = frozenset()
        self._chords: Mapping[int, BarChords | None] = {}
        self._marks: Mapping[int, Mark] = {}

    def show(
        self,
        form: Form,
        asked: frozenset[int],
        played: frozenset[int],
        chords: Mapping[int, BarChords | None] | None = None,
        marks: Mapping[int, Mark] | None = None,
    ) -> None:
        """Show a form; bars are counted from 1.

        `chords` are those of bars that differ from the form; None there hides them. `marks` are
        the bars that were marked or should have been.
        """
        self._form, self._asked, self._played = form, asked, played
        self._chords, self._marks = chords or {}, marks or {}
        self.sounding = None
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """A line for each four bars."""
        return -(-len(self._form) // BARS_IN_A_ROW) if self._form else 1

    @property
    def bar_width(self) -> int:
        """Columns of a bar, the line before it included."""
        return min(max((self.size.width - 1) // BARS_IN_A_ROW, NARROW), WIDE)

    def render_line(self, y: int) -> Strip:
        """One row of bars."""
        form = self._form
        first = y * BARS_IN_A_ROW
        if form is None or first >= len(form):
            return Strip.blank(self.size.width)
        room = self.bar_width
        base = self._style("form-strip--bar")
        segments: list[Segment] = []
        for index in range(first, min(first + BARS_IN_A_ROW, len(form))):
            segments.append(Segment(self._signs.bar, base))
            segments.append(Segment(*self._bar(form, index, room - 1)))
        segments.append(Segment(self._signs.bar, base))
        return Strip(segments).adjust_cell_length(self.size.width, base)

    def _bar(self, form: Form, index: int, room: int) -> tuple[str, Style]:
        number = index + 1
        chords = self._chords.get(number, form.bars[index]) or ()
        names = [
            str(chord)
            for place, chord in enumerate(chords)
            if place == 0 or chord != chords[place - 1]
        ]
        sign, style, beat = " ", "form-strip--bar", ""
        mark = self._marks.get(number)
        if mark is not None:
            sign, style = self._mark_sign(mark), f"form-strip--{mark.value}"
        elif number in self._asked:
            sign, style = self._signs.asked, "form-strip--asked"
        elif number not in self._played:
            style = "form-strip--outside"
        if self.sounding is not None and self.sounding[0] == number:
            sign, style = self._signs.sounding, "form-strip--sounding"
            beat = f":{self.sounding[1] + 1}"
        words = f"{sign}{number:>2}{beat} {' '.join(names)}"
        return words[:room].ljust(room), self._style(style)

    def _mark_sign(self, mark: Mark) -> str:
        signs = self._signs
        return {Mark.HIT: signs.right, Mark.MISS: signs.asked, Mark.MARKED: signs.marked}.get(
            mark, signs.wrong
        )

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(name)
