"""Reading the rows of a data file: whole, or entry by entry where it is not readable as a whole.

This is what every data file shares: the catalogue, the forms, the styles and what players add to
them. Every function that meets a problem reports it and goes on without what is wrong. Strict
reading is reading with `refuse`, which raises the first problem.
"""

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple, Protocol, TypeVar

from engine.errors import CatalogueError, printable, shown
from engine.fields import Row as Row

T = TypeVar("T")

MOST_DOTS = 50
"""Dots in a line: keys of a thousand parts would cost the reader gigabytes."""

LOOK_FOR = "look for a missing quote or bracket"

Report = Callable[[CatalogueError], object]
"""Is told of a problem. When it returns, reading goes on without what is wrong."""


def refuse(problem: CatalogueError) -> None:
    """The report of strict reading: raises the problem."""
    raise problem


def builtin_text(file: str) -> str:
    """The text of one of the data files that come with the engine."""
    return (Path(__file__).with_name("data") / file).read_text(encoding="utf-8")


# --- the file -----------------------------------------------------------------------------------


class _Part(NamedTuple):
    """A piece of a data file that is readable by itself."""

    data: dict[str, object]
    line: int | None
    """Where it starts, counted from 1; None when it is the whole file."""


def read_rows(text: str, file: str, table: str) -> list[Row]:
    """The entries `[[table]]` of a data file, in order, each labelled by its id or place.

    Raises CatalogueError when the text is no TOML, holds no such table, or another one.
    """
    rows = read_tables(text, file, (table,), refuse)[table]
    if not rows:
        raise CatalogueError(f"{file}: there is no entry: write [[{table}]] over each entry")
    return rows


def read_tables(
    text: str, file: str, tables: Sequence[str], report: Report
) -> dict[str, list[Row]]:
    """The entries of a data file by table, each labelled by its id or place.

    A file that is not readable as a whole is read entry by entry, so that a missing quote costs
    the one entry it is missing in.
    """
    rows: dict[str, list[Row]] = {table: [] for table in tables}
    headings = " or ".join(f"[[{table}]]" for table in tables)
    for part in _parts(text, file, tables, report):
        strangers = part.data.keys() - set(tables)
        if strangers:
            problem = f"{shown(min(strangers))} is unknown here: write {headings} over each entry"
            report(CatalogueError(printable(f"{_where(part, file)}: {problem}")))
        for table in tables:
            of = f" of [[{table}]]" if len(tables) > 1 else ""
            for number, entry in enumerate(_entries(part, file, table, report), start=1):
                place = f"number {number}{of}" if part.line is None else f"at line {part.line}"
                rows[table].append(Row(file, _label(entry, place), entry))
    return rows


def _label(entry: dict[str, object], place: str) -> str:
    name = entry.get("id")
    return shown(name) if isinstance(name, str) else place


def _entries(part: _Part, file: str, table: str, report: Report) -> list[dict[str, object]]:
    entries = part.data.get(table, [])
    if isinstance(entries, list) and all(isinstance(entry, dict) for entry in entries):
        return entries
    problem = f"'{table}' must be a list: write [[{table}]] over each entry"
    report(CatalogueError(printable(f"{_where(part, file)}: {problem}")))
    return []


def _where(part: _Part, file: str) -> str:
    return file if part.line is None else f"{file}: the entry at line {part.line}"


def _parts(text: str, file: str, tables: Sequence[str], report: Report) -> list[_Part]:
    """The file as data: whole, or entry by entry where it is not readable as a whole."""
    try:
        return [_Part(_loaded(text), None)]
    except ValueError as error:
        whole = CatalogueError(
            printable(f"{file}: this is not readable as TOML: {error}: {LOOK_FOR}")
        )
    pieces = _pieces(text, tables)
    parts: list[_Part] = []
    if len(pieces) > 1:
        for line, piece in pieces:
            try:
                parts.append(_Part(_loaded(piece), line))
            except ValueError as error:
                report(_unreadable(file, line, error))
    else:
        report(whole)
    return parts


def _pieces(text: str, tables: Sequence[str]) -> list[tuple[int, str]]:
    """The text cut before each heading, and the lines on which the pieces start.

    A single bracket before the name of a table cuts too: it is the usual slip.
    """
    heading = re.compile(rf"^[ \t]*\[(?:\[|[ \t]*(?:{'|'.join(tables)})\b)", re.MULTILINE)
    starts = [match.start() for match in heading.finditer(text)]
    edges = [0, *starts, len(text)]
    pieces: list[tuple[int, str]] = []
    line = 1
    for first, last in pairwise(edges):
        piece = text[first:last]
        if piece.strip():
            pieces.append((line, piece))
        line += piece.count("\n")
    return pieces


def _unreadable(file: str, line: int, error: ValueError) -> CatalogueError:
    """What is wrong with a piece of a file, with the line counted from the top of the file."""

    def from_the_top(match: re.Match[str]) -> str:
        return f"at line {int(match[1]) + line - 1}"

    told = re.sub(r"at line (\d+)", from_the_top, str(error))
    told = told.replace("at end of document", "at its end")
    return CatalogueError(
        printable(f"{file}: the entry at line {line} is not readable as TOML: {told}: {LOOK_FOR}")
    )


def _loaded(text: str) -> dict[str, object]:
    """The text as TOML. Raises ValueError, with the line where there is one."""
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > MOST_DOTS and not line.lstrip().startswith("#"):
            raise ValueError(f"more than {MOST_DOTS} dots (at line {number})")
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise ValueError("brackets within brackets within brackets, too many of them") from error


# --- the entries --------------------------------------------------------------------------------


class Named(Protocol):
    """What has an id."""

    @property
    def id(self) -> str:
        """The id."""


N = TypeVar("N", bound=Named)


def read_each(rows: Iterable[Row], read: Callable[[Row], T], report: Report) -> list[tuple[Row, T]]:
    """What `read` makes of each row, beside the row; what it refuses is reported and left out."""
    kept: list[tuple[Row, T]] = []
    for row in rows:
        try:
            kept.append((row, read(row)))
        except CatalogueError as problem:
            report(problem)
    return kept


def without_twins(
    entries: Iterable[tuple[Row, N]], taken: Mapping[str, str], report: Report
) -> list[tuple[Row, N]]:
    """The entries whose ids are used neither before them nor elsewhere.

    `taken` are the ids that are used elsewhere, with the words that say where.
    """
    kept: dict[str, tuple[Row, N]] = {}
    for row, one in entries:
        if one.id in kept:
            report(row.error("id", "it is used twice: another entry of this file has it too"))
        elif one.id in taken:
            report(row.error("id", f"it is used twice: {taken[one.id]} has it too"))
        else:
            kept[one.id] = (row, one)
    return list(kept.values())


def refuse_twins(ids: Iterable[str], file: str) -> None:
    """Raise CatalogueError when an id stands twice."""
    seen: set[str] = set()
    for name in ids:
        if name in seen:
            raise CatalogueError(f"{file}: entry '{name}', field 'id': it is used twice")
        seen.add(name)
