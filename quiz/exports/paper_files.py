"""Sheets as files: what the ending of a name asks for, written whole."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from engine.errors import shown
from engine.paper.musicxml import to_musicxml
from engine.paper.notated import Sheet
from engine.paper.tablature import PLAIN, RICH, Lines, to_tablature
from engine.theory import Key
from quiz.errors import FileError
from quiz.exports.engraving import to_pdf, to_svg
from quiz.files import check_free, new_file

TEXT, MUSICXML, SVG, PDF = ".txt", ".musicxml", ".svg", ".pdf"
ENDINGS = (TEXT, MUSICXML, SVG, PDF)


def drawn_with(plain: bool) -> Lines:
    """The characters that a tablature is drawn with."""
    return PLAIN if plain else RICH


def check_ending(path: Path, endings: Sequence[str]) -> str:
    """The ending of a file name in small letters.

    Raises FileError when it is none of `endings`.
    """
    ending = path.suffix.lower()
    if ending not in endings:
        allowed = f"{', '.join(endings[:-1])} or {endings[-1]}"
        raise FileError(f"{shown(path.name)}: give a file name that ends in {allowed}")
    return ending


def name_of(key: Key) -> str:
    """A key as it can stand in the name of a file: F# is F-sharp."""
    return str(key).replace(" ", "-").replace("#", "-sharp")


def write_sheet(sheet: Sheet, path: Path, force: bool = False, plain: bool = False) -> None:
    """Write a sheet as the ending of `path` says; `plain` draws a tablature in ASCII.

    Raises FileError for another ending, a name that is taken unless `force`, and what cannot be
    written; EngravingError for a picture without the library that draws it.
    """
    makers: Mapping[str, Callable[[Sheet], bytes]] = {
        TEXT: lambda one: to_tablature(one, drawn_with(plain)).encode("utf-8"),
        MUSICXML: lambda one: to_musicxml(one).encode("utf-8"),
        SVG: lambda one: to_svg(one).encode("utf-8"),
        PDF: to_pdf,
    }
    make = makers[check_ending(path, ENDINGS)]
    check_free(path, force)
    data = make(sheet)
    with new_file(path, force) as partial:
        partial.write_bytes(data)
