"""The forms that tunes are built on, read from `data/forms.toml`."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from engine.chords import BarChords, parse_bars
from engine.errors import UnknownName, shown
from engine.fields import LONGEST_NAME, LONGEST_SENTENCE, Row
from engine.rows import Report, builtin_text, read_each, read_rows, refuse, without_twins

SHORTEST, LONGEST = 4, 64
"""Bars of a form."""


@dataclass(frozen=True, slots=True)
class Form:
    """A form: one chorus of chords."""

    id: str
    name: str
    minor: bool
    bars: tuple[BarChords, ...]
    """The chord of each beat of each bar; bar 1 is at index 0."""

    tell: str
    """One sentence: how a listener knows it."""

    source: str

    def __len__(self) -> int:
        """Bars in a chorus."""
        return len(self.bars)

    @property
    def chart(self) -> tuple[str, ...]:
        """The chords of each bar as the data file writes them: `I7`, `I7 VI7`."""
        return tuple(map(_bar_text, self.bars))


def _bar_text(bar: BarChords) -> str:
    one, two, three, four = map(str, bar)
    if one == two == three == four:
        return one
    return f"{one} {three}" if one == two and three == four else f"{one} {two} {three} {four}"


def read_forms(text: str, file: str) -> tuple[Form, ...]:
    """The forms of a data file.

    Raises CatalogueError naming entry and field.
    """
    return tuple(form for _, form in forms_of(read_rows(text, file, "form"), {}, refuse))


def forms_of(
    rows: Iterable[Row], taken: Mapping[str, str], report: Report
) -> list[tuple[Row, Form]]:
    """The forms of some rows, each beside its row; rows that break a rule are reported instead.

    `taken` are the ids that are used elsewhere, with the words that say where.
    """
    return without_twins(read_each(rows, _form, report), taken, report)


def _form(row: Row) -> Form:
    form = Form(
        id=row.identity(),
        name=row.line("name", LONGEST_NAME),
        minor=row.flag("minor"),
        bars=row.parsed("bars", parse_bars),
        tell=row.line("tell", LONGEST_SENTENCE),
        source=row.line("source", LONGEST_SENTENCE),
    )
    row.finish()
    if not SHORTEST <= len(form) <= LONGEST:
        raise row.error("bars", f"{len(form)} bars were given: give {SHORTEST} to {LONGEST}")
    return form


@cache
def builtin_forms() -> tuple[Form, ...]:
    """The forms that come with the program."""
    return read_forms(builtin_text("forms.toml"), "forms.toml")


def find_form(name: str, forms: tuple[Form, ...] | None = None) -> Form:
    """The form of that id.

    Raises MusicInputError when there is none.
    """
    known = forms if forms is not None else builtin_forms()
    for form in known:
        if form.id == name:
            return form
    raise UnknownName(
        f"there is no form {shown(name)}: give one of {', '.join(form.id for form in known)}"
    )
