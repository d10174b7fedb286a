"""A chart as a plot in the terminal. The one module that uses the plotting library.

Marks and bars differ in shape, never in colour alone. In ASCII mode every sign of the drawing is
put into ASCII.
"""

from math import ceil, floor

from rich.segment import Segment
from rich.style import Style
from textual.app import ComposeResult
from textual.containers import Grid
from textual.events import Mount
from textual.strip import Strip
from textual_hires_canvas import Canvas
from textual_plot import PlotWidget
from textual_plot.axis_formatter import CategoricalAxisFormatter
from textual_plot.plot_widget import Legend

from quiz.progress.charts import Bars, Predictions, Share, Shares

Plotted = Shares | Bars | Predictions
"""The charts that are plotted; a matrix is written as text."""

LABEL_WIDTH = 6
"""Columns that a name under a plot needs at least, with a space."""

FIFTHS, MOST_STEPS = 5, 3
"""A scale of shares ends at whole fifths, and has so many steps at most."""

ROOM = 0.06
"""Of a scale to the right: room behind its end, so that the last name is not cut."""

_ASCII = {ord(sign): "|" for sign in "│╷╵┃╽╿"} | {ord(sign): "-" for sign in "─╴╶━╼╾"}
_ASCII |= {ord("●"): "o", ord("·"): "o", ord("█"): "#"}


class _Sheet(Canvas):
    """A canvas whose every sign has a style, without which no colour can be taken away."""

    def render_line(self, y: int) -> Strip:
        """One line."""
        strip = super().render_line(y)
        return Strip(
            [
                Segment(self.drawn(text), style or Style(), control)
                for text, style, control in strip
            ],
            strip.cell_length,
        )

    def drawn(self, text: str) -> str:
        """The signs as they are shown."""
        return text


class _AsciiSheet(_Sheet):
    """One that shows its signs in ASCII: corners and crossings as +."""

    def drawn(self, text: str) -> str:
        """The signs of a drawing in ASCII; words are left as they are."""
        translated = text.translate(_ASCII)
        return "".join(sign if sign.isascii() else "+" for sign in translated)


class _Percent(CategoricalAxisFormatter):
    """Shares as percent."""

    def __init__(self) -> None:
        super().__init__([])

    def get_labels_for_ticks(self, ticks: object) -> list[str]:
        """`75%`"""
        assert isinstance(ticks, list | tuple)
        return [f"{tick:.0%}" for tick in ticks]


class ChartPlot(PlotWidget, can_focus=False):
    """A plot that is looked at, not zoomed."""

    def __init__(self, chart: Plotted, plain: bool) -> None:
        super().__init__(allow_pan_and_zoom=False)
        self._chart = chart
        self._plain = plain

    def compose(self) -> ComposeResult:
        """As in the library, on sheets of our own."""
        canvas = _AsciiSheet if self._plain else _Sheet
        with Grid():
            for part in ("margin-top", "margin-left", "plot", "margin-bottom"):
                yield canvas(1, 1, id=part)
        yield Legend(id="legend")

    def on_mount(self, event: Mount | None = None) -> None:
        """Draw the chart."""
        if event is not None:
            event.prevent_default()  # the library would take the limits off again afterwards
        super().on_mount()
        self.margin_top, self.margin_bottom, self.margin_left = 0, 1, 6
        match self._chart:
            case Bars():
                self._draw_bars(self._chart)
            case Shares():
                self._draw_shares(self._chart)
            case Predictions():
                self._draw_predictions(self._chart)

    def on_resize(self) -> None:
        """Names are thinned out to the room that there is."""
        if isinstance(self._chart, Shares):
            self._label([point.label for point in self._chart.points])
        elif isinstance(self._chart, Bars):
            self._label([bar.label for bar in self._chart.bars])

    def _draw_bars(self, chart: Bars) -> None:
        top = max((bar.value for bar in chart.bars), default=0.0) or 1.0
        some = [(place + 1, bar.value) for place, bar in enumerate(chart.bars) if bar.value]
        if some:  # a bar of nothing would be drawn a row high
            self.bar([place for place, _ in some], [value for _, value in some], width=0.7)
        self.set_ylimits(0.0, top * 1.05)
        self.set_yticks([0.0, top / 2, top])

    def _draw_shares(self, chart: Shares) -> None:
        self._draw_points(chart.points, [float(n + 1) for n in range(len(chart.points))])

    def _draw_predictions(self, chart: Predictions) -> None:
        low, high = _scale([part for point in chart.points for part in (point.low, point.at)])
        ticks = _ticks(low, high)
        steps = [low + (high - low) * step / 40 for step in range(41)]
        self.scatter(steps, steps, marker="." if self._plain else "·")
        self._draw_points(chart.points, [point.at for point in chart.points])
        self.set_x_formatter(_Percent())
        self.set_xticks(ticks)
        self.set_xlimits(low, high + ROOM * (high - low))
        self.set_ylimits(low - 0.01, high + 0.01)
        self.set_yticks(ticks)

    def _draw_points(self, points: tuple[Share, ...], at: list[float]) -> None:
        """A dot for each share, on the line of its interval."""
        low, high = _scale([part for point in points for part in (point.low, point.high)])
        self.set_ylimits(low - 0.01, high + 0.01)
        self.set_y_formatter(_Percent())
        self.set_yticks(_ticks(low, high))
        if points:
            middles = [(point.low + point.high) / 2 for point in points]
            halves = [(point.high - point.low) / 2 for point in points]
            self.errorbar(at, middles, yerr=halves, marker="│")
            self.scatter(at, [point.share for point in points], marker="●")

    def _label(self, names: list[str]) -> None:
        """Write names under the plot, every one or every so many."""
        room = max(1, self.size.width - 8)
        longest = max((len(name) for name in names), default=0) + 1
        every = ceil(len(names) * max(longest, LABEL_WIDTH // 2) / room) or 1
        last = len(names) - (longest / 2 + 1) * len(names) / room  # behind it a name would be cut
        self.set_x_formatter(CategoricalAxisFormatter(names))
        ticks = [float(place + 1) for place in range(0, len(names), every) if place < last]
        self.set_xticks(ticks)
        self.set_xlimits(0.5, max(1, len(names)) + 0.5)  # this draws it anew


def _scale(shares: list[float]) -> tuple[float, float]:
    """The whole fifths that all shares lie between."""
    low = floor(min(shares, default=0.0) * FIFTHS) / FIFTHS
    high = ceil(max(shares, default=1.0) * FIFTHS) / FIFTHS
    return (low, high) if high > low else (max(0.0, high - 1 / FIFTHS), max(high, 1 / FIFTHS))


def _ticks(low: float, high: float) -> list[float]:
    """Ticks at whole fifths; on a long scale at its ends and in its middle."""
    steps = round((high - low) * FIFTHS)
    if steps > MOST_STEPS:
        steps = 2
    return [low + (high - low) * place / steps for place in range(steps + 1)]
