"""Sheets as pictures: the one module that imports the engraving library and the PDF writer.

Both are an extra (`engraving` in pyproject.toml): a program for ears works without them. Verovio
draws MusicXML as SVG; svglib and reportlab, which need no library of the system, put its pages into
a PDF file.
"""

from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import fromstring, register_namespace, tostring

from engine.errors import printable
from engine.paper.musicxml import to_musicxml
from engine.paper.notated import Sheet
from quiz.errors import EngravingError

if TYPE_CHECKING:
    from reportlab.graphics.shapes import Drawing

LIBRARIES = ("verovio", "svglib", "reportlab")
INSTALL = (
    "pictures need the engraving libraries, which are an extra: in the folder of the project, "
    "`.venv/bin/pip install '.[engraving]'`; .txt and .musicxml need nothing more"
)

PAGE = {"pageWidth": 2100, "pageHeight": 2800}
"""A4 in tenths of a millimetre, less what the title takes. [ISO 216]"""

TALLEST = 60_000
"""The height of a page that nothing is broken off, in the same unit; the most the library takes."""

SCALE = 40
"""Percent: a staff is then about 7 mm high."""

AIRY = {
    "lyricSize": 4,
    "lyricTopMinMargin": 3.5,
    "lyricWordSpace": 2.2,
    "spacingNonLinear": 0.5,
}
"""Degrees apart from the stems above them and from each other, in the library's own units. Without,
eight times b6 in a bar of 12/8 run into each other."""

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"

MARGIN, TITLE_POINTS = 36, 16
"""Of a PDF page, in points."""


def missing() -> str | None:
    """What to do so that pictures can be drawn; None when they can."""
    return None if all(find_spec(name) for name in LIBRARIES) else INSTALL


def to_svg(sheet: Sheet) -> str:
    """The sheet as one picture, as tall as it needs to be.

    Raises EngravingError when the library is missing or refuses the sheet.
    """
    toolkit = _drawn(sheet, {"pageHeight": TALLEST, "adjustPageHeight": True})
    return str(toolkit.renderToSVG(1))


def to_pdf(sheet: Sheet) -> bytes:
    """The sheet as a PDF file of A4 pages; raises as `to_svg` does."""
    toolkit = _drawn(sheet, {"header": "none"})
    from reportlab.lib.pagesizes import A4
    from reportlab.pdfgen.canvas import Canvas

    width, height = A4
    data = BytesIO()
    canvas = Canvas(data, pagesize=A4, invariant=1)  # the same sheet, the same bytes
    canvas.setTitle(sheet.title)
    for page in range(1, toolkit.getPageCount() + 1):
        canvas.setFont("Times-Roman", TITLE_POINTS)
        canvas.drawCentredString(width / 2, height - MARGIN, printable(sheet.title))
        drawing = _page(str(toolkit.renderToSVG(page)))
        factor = width / drawing.width
        canvas.saveState()
        canvas.translate(0, height - MARGIN - drawing.height * factor)
        canvas.scale(factor, factor)
        drawing.drawOn(canvas, 0, 0)
        canvas.restoreState()
        canvas.showPage()
    canvas.save()
    return data.getvalue()


def _drawn(sheet: Sheet, options: dict[str, object]) -> Any:
    """The library with the sheet loaded, laid out as the sheet breaks its lines."""
    if (advice := missing()) is not None:
        raise EngravingError(advice)
    import verovio

    verovio.enableLog(verovio.LOG_OFF)  # it would write over the screen
    toolkit = verovio.toolkit(False)
    # it knows where its fonts are in the thread alone that imported it
    toolkit.setResourcePath(str(Path(verovio.__file__).parent / "data"))
    fixed = {"breaks": "line", "footer": "none", "scale": SCALE, "svgFormatRaw": True}
    toolkit.setOptions({**fixed, **PAGE, **AIRY, "xmlIdSeed": 1, **options})
    if not toolkit.loadData(to_musicxml(sheet, for_a_picture=True)):
        raise EngravingError(
            f"the engraving library does not take '{printable(sheet.title)}': write it as "
            ".musicxml instead"
        )
    return toolkit


def _page(svg: str) -> "Drawing":
    """A page for the PDF writer.

    The library draws in a picture within the picture, and svglib would shrink that twice: its
    measure goes to the outer one.
    """
    from svglib.svglib import svg2rlg

    for prefix, name in {"": SVG, "xlink": XLINK}.items():
        register_namespace(prefix, name)  # svglib knows references by this prefix alone
    outer = fromstring(svg)
    inner = next(child for child in outer if child.tag == f"{{{SVG}}}svg")
    outer.set("viewBox", inner.attrib.pop("viewBox"))
    inner.tag = f"{{{SVG}}}g"
    return svg2rlg(BytesIO(tostring(outer)))
