"""A figure drawn as steps that rise and fall over the beats, with degrees, notes and frets."""

from collections.abc import Sequence
from dataclasses import dataclass

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from engine.pattern import Spot
from engine.timing import BEATS_PER_BAR
from quiz.display.signs import Signs

WIDEST = 5
"""Columns of an eighth, at most."""

MARGIN = 7
"""Columns for the names of the rows."""

MOST_TREADS = 8
"""Heights that are told apart; a figure with more is drawn closer."""


@dataclass(frozen=True, slots=True)
class Tread:
    """One note of a drawing."""

    spot: Spot
    """Beats from the start of the figure."""

    height: int
    """MIDI number, or any number that rises with pitch."""

    labels: tuple[str, ...]
    """What stands below it, one a row."""

    wrong: bool = False
    """Whether it was missed; it is marked by sign as well as by colour."""


class FigureSteps(Widget):
    """The drawing. Rows of labels stand below, named at the left."""

    COMPONENT_CLASSES = {
        "figure-steps--tread",
        "figure-steps--wrong",
        "figure-steps--label",
        "figure-steps--name",
    }

    def __init__(self, signs: Signs, id: str | None = None) -> None:
        super().__init__(id=id)
        self._signs = signs
        self._treads: tuple[Tread, ...] = ()
        self._rows: tuple[str, ...] = ()

    def show(self, treads: Sequence[Tread], rows: Sequence[str]) -> None:
        """Draw `treads`; `rows` names their labels from top to bottom."""
        self._treads, self._rows = tuple(treads), tuple(rows)
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """The heights in use, a line of beats, and the rows of labels."""
        return len(self._heights()) + 1 + len(self._rows) if self._treads else 0

    def render_line(self, y: int) -> Strip:
        """One line of the drawing."""
        heights = self._heights()
        if not self._treads:
            return Strip.blank(self.size.width)
        if y < len(heights):
            segments = self._step_line(heights, y)
        elif y == len(heights):
            segments = self._beat_line()
        else:
            segments = self._label_line(y - len(heights) - 1)
        return Strip(segments).adjust_cell_length(self.size.width, self.rich_style)

    def _heights(self) -> list[int]:
        """The heights in use, highest first, merged in pairs when there are too many."""
        heights = sorted({tread.height for tread in self._treads}, reverse=True)
        while len(heights) > MOST_TREADS:
            heights = heights[::2]
        return heights

    @property
    def _room(self) -> int:
        """Columns of an eighth."""
        last = max(tread.spot.beat for tread in self._treads) + 1
        return max(2, min(WIDEST, (self.size.width - MARGIN) // (2 * last)))

    def _column(self, spot: Spot) -> int:
        return MARGIN + (2 * spot.beat + spot.offbeat) * self._room

    def _step_line(self, heights: list[int], y: int) -> list[Segment]:
        upper, lower = heights[y], heights[y + 1] if y + 1 < len(heights) else -1
        line: list[Segment] = []
        for place, tread in enumerate(self._treads):
            if not upper >= tread.height > lower:
                continue
            style = "figure-steps--wrong" if tread.wrong else "figure-steps--tread"
            sign = self._signs.wrong if tread.wrong else self._signs.tread
            self._put(line, self._column(tread.spot), sign * self._width(place), style)
        return line

    def _width(self, place: int) -> int:
        """Columns up to the next note, a gap left out."""
        start = self._column(self._treads[place].spot)
        if place + 1 < len(self._treads):
            return max(1, self._column(self._treads[place + 1].spot) - start - 1)
        return 2 * self._room - 1

    def _beat_line(self) -> list[Segment]:
        line: list[Segment] = []
        for beat in range(max(tread.spot.beat for tread in self._treads) + 1):
            in_bar = beat % BEATS_PER_BAR
            if in_bar == 0 and beat:
                self._put(line, self._column(Spot(beat)) - 1, self._signs.bar, "figure-steps--name")
            self._put(line, self._column(Spot(beat)), str(in_bar + 1), "figure-steps--name")
        return self._named("beat", line)

    def _label_line(self, row: int) -> list[Segment]:
        line: list[Segment] = []
        for place, tread in enumerate(self._treads):
            if not self._is_struck_again(place):
                room = self._width(place)
                if self._is_struck_again(place + 1):  # a doubled note: one label for both
                    room += 1 + self._width(place + 1)
                label = tread.labels[row][:room]
                self._put(line, self._column(tread.spot), label, "figure-steps--label")
        return self._named(self._rows[row], line)

    def _is_struck_again(self, place: int) -> bool:
        """Whether a note is the one before it, struck once more in the same beat."""
        if not 0 < place < len(self._treads):
            return False
        before, here = self._treads[place - 1 : place + 1]
        return here.labels == before.labels and here.spot == Spot(before.spot.beat, True)

    def _named(self, name: str, line: list[Segment]) -> list[Segment]:
        style = self._style("figure-steps--name")
        first = Segment(name[: MARGIN - 1].ljust(MARGIN - 1), style)
        filled = sum(segment.cell_length for segment in line)
        if filled < MARGIN:
            return [first, *line]
        return [first, *Strip(line).crop(MARGIN - 1)]

    def _put(self, line: list[Segment], column: int, text: str, style: str) -> None:
        filled = sum(segment.cell_length for segment in line)
        line.append(Segment(" " * max(0, column - filled), self.rich_style))
        line.append(Segment(text, self._style(style)))

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(name)
