"""The forms that tunes are built on, read from `data/forms.toml`."""

from dataclasses import dataclass
from functools import cache

from engine.chords import BarChords, parse_bars
from engine.errors import MusicInputError, shown
from engine.rows import Row, builtin_text, read_rows, refuse_twins


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


def read_forms(text: str, file: str) -> tuple[Form, ...]:
    """The forms of a data file.

    Raises CatalogueError naming entry and field.
    """
    forms = tuple(_form(row) for row in read_rows(text, file, "form"))
    refuse_twins((form.id for form in forms), file)
    return forms


def _form(row: Row) -> Form:
    form = Form(
        id=row.identity(),
        name=row.text("name"),
        minor=row.flag("minor", False),
        bars=row.parsed("bars", parse_bars),
        tell=row.text("tell"),
        source=row.text("source"),
    )
    row.finish()
    if not 4 <= len(form) <= 64:
        raise row.error("bars", f"{len(form)} bars were given: give 4 to 64")
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
    raise MusicInputError(
        f"there is no form {shown(name)}: give one of {', '.join(form.id for form in known)}"
    )
