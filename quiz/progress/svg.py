"""Charts as SVG: shapes and words in greys, readable in print.

Written as text, by hand: a chart is a few dozen lines, rectangles and words. Values stand beside
what is drawn, so nothing has to be read off by eye. (Scalable Vector Graphics 1.1, W3C 2011)
"""

from collections.abc import Iterator, Sequence
from html import escape
from math import ceil, log10
from unicodedata import east_asian_width

from quiz.progress.charts import Bar, Bars, Chart, Matrix, Predictions, Share, Shares

WIDTH = 720
MARGIN = 24
TOP = 84
"""Where the drawing begins; title and sentence stand above it."""

ROW = 22
"""Height of a row of a chart that lies on its side, and of a cell of a matrix."""

UPRIGHT = 240
"""Height of the drawing of a chart that stands upright."""

LETTER = 6.6
"""About the width of a letter of 12 units in a common sans-serif face; for keeping things apart,
nothing depends on it being exact."""

CAPITAL, WIDE = 9.5, 12.5
"""The same of a capital, and of a sign of the scripts that are written in squares."""

NAME_COLUMN = 40 * LETTER
"""A name gets no more room."""

LABEL_UNITS = 50
"""About what a word below a chart needs."""

INK, GREY, PALE = "#111", "#666", "#ccc"
MOST_UPRIGHT = 30
"""Points that stand side by side; with more, or long names, the chart lies on its side."""

LONG_NAME = 6


def svg(chart: Chart) -> str:
    """A chart as a whole SVG file, which ends with a line break."""
    match chart:
        case Shares():
            height, parts = _shares(chart.points)
        case Bars():
            height, parts = _bars(chart.bars)
        case Matrix():
            height, parts = _matrix(chart)
        case Predictions():
            height, parts = _predictions(chart.points)
    sentence = _wrapped(chart.says, (WIDTH - 2 * MARGIN) / LETTER)
    whole = TOP + height + MARGIN
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{whole:.0f}" '
        f'viewBox="0 0 {WIDTH} {whole:.0f}" role="img" font-family="sans-serif" font-size="12">',
        f"<title>{escape(chart.title)}</title>",
        f"<desc>{escape(chart.says)}</desc>",
        f'<rect width="{WIDTH}" height="{whole:.0f}" fill="#fff"/>',
        f'<text x="{MARGIN}" y="28" font-size="16" font-weight="bold" fill="{INK}">'
        f"{escape(chart.title)}</text>",
        *(_text(MARGIN, 48 + 16 * place, line) for place, line in enumerate(sentence)),
        *parts,
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


# --- the kinds of chart -------------------------------------------------------------------------


def _shares(points: Sequence[Share]) -> tuple[float, list[str]]:
    longest = max((len(point.label) for point in points), default=0)
    if len(points) <= MOST_UPRIGHT and longest <= LONG_NAME:
        return UPRIGHT + 40, list(_upright_shares(points))
    names = min(NAME_COLUMN, max(_width(point.label) for point in points))
    return ROW * len(points) + 30, list(_lying_shares(points, names))


def _upright_shares(points: Sequence[Share]) -> Iterator[str]:
    """Points over their names, percent upwards."""
    left, right = MARGIN + 40, WIDTH - MARGIN
    yield from _percent_rows(left, right)
    step, every = (right - left) / max(1, len(points)), _every(len(points), right - left)
    for place, point in enumerate(points):
        x = left + step * (place + 0.5)
        yield _line(x, _level(point.low), x, _level(point.high), GREY, 2)
        yield _dot(x, _level(point.share))
        if place % every == 0:
            yield _text(x, TOP + UPRIGHT + 16, point.label, "middle")
            yield _text(x, TOP + UPRIGHT + 30, f"n={point.answers}", "middle", GREY, 9)


def _lying_shares(points: Sequence[Share], names: float) -> Iterator[str]:
    """A row a point: name, interval and dot, numbers."""
    left, right = MARGIN + names + 10, WIDTH - MARGIN - 110
    bottom = TOP + ROW * len(points)
    for percent in range(0, 101, 25):
        x = left + (right - left) * percent / 100
        yield _line(x, TOP, x, bottom, PALE)
        yield _text(x, bottom + 16, f"{percent} %", "middle", GREY)
    for place, point in enumerate(points):
        y = TOP + ROW * (place + 0.5)
        low, at, high = (left + (right - left) * part for part in _parts(point))
        yield _text(MARGIN, y + 4, _fitted(point.label, names))
        yield _line(low, y, high, y, GREY, 2)
        yield _dot(at, y)
        yield _text(WIDTH - MARGIN, y + 4, f"{point.share:.0%} of {point.answers}", "end")


def _bars(bars: Sequence[Bar]) -> tuple[float, list[str]]:
    left, right = MARGIN + 40, WIDTH - MARGIN
    top = _round_up(max((bar.value for bar in bars), default=0.0))
    lines = []
    for part in range(5):
        y = TOP + UPRIGHT * (1 - part / 4)
        lines.append(_line(left, y, right, y, PALE))
        lines.append(_text(left - 6, y + 4, f"{top * part / 4:g}", "end", GREY))
    step = (right - left) / max(1, len(bars))
    every = _every(len(bars), right - left)
    for place, bar in enumerate(bars):
        height = UPRIGHT * bar.value / top
        x = left + step * place
        lines.append(
            f'<rect x="{x + step * 0.15:.1f}" y="{TOP + UPRIGHT - height:.1f}" '
            f'width="{step * 0.7:.1f}" height="{height:.1f}" fill="{GREY}"/>'
        )
        middle = x + step / 2
        if bar.value:
            value = f"{bar.value:.0f}" if bar.value >= 0.5 else "<1"
            lines.append(_text(middle, TOP + UPRIGHT - height - 4, value, "middle", INK, 9))
        if place % every == 0:
            lines.append(_text(middle, TOP + UPRIGHT + 16, bar.label, "middle"))
    return UPRIGHT + 30, lines


def _matrix(chart: Matrix) -> tuple[float, list[str]]:
    """Rows asked, columns picked; the columns bear the numbers of the rows."""
    if not chart.names:
        return 0, []
    left = MARGIN + NAME_COLUMN
    most = max(max(row) for row in chart.counts)
    lines = [_text(MARGIN, TOP + 12, "asked, down; picked, across", colour=GREY)]
    for place in range(len(chart.names)):
        lines.append(_text(left + ROW * 2 * (place + 0.5), TOP + 12, str(place + 1), "middle"))
    for down, (name, row) in enumerate(zip(chart.names, chart.counts, strict=True)):
        y = TOP + ROW * (down + 1)
        lines.append(
            _text(MARGIN, y + 15, f"{down + 1}  {_fitted(name, NAME_COLUMN - 4 * LETTER)}")
        )
        for across, count in enumerate(row):
            x = left + ROW * 2 * across
            shade = 255 - round(110 * count / most)
            fill = f"#{shade:02x}{shade:02x}{shade:02x}"
            lines.append(
                f'<rect x="{x:.1f}" y="{y}" width="{ROW * 2}" height="{ROW}" fill="{fill}" '
                f'stroke="{PALE}"/>'
            )
            words = str(count) if count else "-" if down == across else ""
            lines.append(_text(x + ROW, y + 15, words, "middle"))
    return ROW * (len(chart.names) + 1), lines


def _predictions(points: Sequence[Share]) -> tuple[float, list[str]]:
    """Predicted to the right, what happened upwards, the diagonal broken."""
    left, right = MARGIN + 40, MARGIN + 40 + UPRIGHT * 1.5
    lines = list(_percent_rows(left, right))
    diagonal = _line(left, TOP + UPRIGHT, right, TOP, GREY).replace("/>", ' stroke-dasharray="5"/>')
    lines.append(diagonal)
    for percent in range(0, 101, 25):
        x = left + (right - left) * percent / 100
        lines.append(_text(x, TOP + UPRIGHT + 16, f"{percent} %", "middle", GREY))
    lines.append(_text((left + right) / 2, TOP + UPRIGHT + 32, "predicted", "middle", GREY))
    for place, point in enumerate(points):
        x = left + (right - left) * point.at
        lines.append(_line(x, _level(point.low), x, _level(point.high), GREY, 2))
        lines.append(_dot(x, _level(point.share)))
        words = f"{point.label} %: {point.share:.0%} right of {point.answers}"
        lines.append(_text(right + 30, TOP + 16 + 18 * place, words))
    return UPRIGHT + 40, lines


# --- pieces -------------------------------------------------------------------------------------


def _percent_rows(left: float, right: float) -> Iterator[str]:
    for percent in range(0, 101, 25):
        yield _line(left, _level(percent / 100), right, _level(percent / 100), PALE)
        yield _text(left - 6, _level(percent / 100) + 4, f"{percent} %", "end", GREY)


def _level(share: float) -> float:
    return TOP + UPRIGHT * (1 - share)


def _parts(point: Share) -> tuple[float, float, float]:
    return point.low, point.share, point.high


def _round_up(value: float) -> float:
    """The next of 4, 8, 20, 40, 80, 200, ... from `value` up: a scale that parts in four."""
    if value <= 4:
        return 4.0
    size = 10 ** (ceil(log10(value)) - 1)
    return float(next(size * step for step in (2, 4, 8, 20) if size * step >= value))


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, width: int = 1) -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'stroke="{colour}" stroke-width="{width}"/>'
    )


def _dot(x: float, y: float) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK}"/>'


def _text(
    x: float, y: float, words: str, anchor: str = "start", colour: str = INK, size: int = 12
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}" '
        f'font-size="{size}">{escape(words)}</text>'
    )


def _wrapped(text: str, width: float) -> list[str]:
    """Two lines of at most `width` letters; what has no room in them stands in the description."""
    from textwrap import wrap

    return wrap(text, int(width), max_lines=2, placeholder=" …")


def _every(count: int, room: float) -> int:
    """Of `count` words below a chart each how-manieth is written, so that they stand apart."""
    return ceil(count * LABEL_UNITS / room) or 1


def _width(text: str) -> float:
    """About the width of a text of 12 units."""
    return sum(
        WIDE if east_asian_width(sign) in "WF" else CAPITAL if sign.isupper() else LETTER
        for sign in text
    )


def _fitted(text: str, room: float) -> str:
    """The text, its end left out where it would need more room."""
    if _width(text) <= room:
        return text
    end = len(text)
    while end and _width(f"{text[:end]}…") > room:
        end -= 1
    return f"{text[:end].rstrip()}…"
