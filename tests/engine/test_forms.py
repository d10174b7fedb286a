"""The forms and the file they are read from."""

import pytest

from engine.chords import Chord
from engine.errors import CatalogueError, MusicInputError
from engine.forms import builtin_forms, find_form, read_forms
from engine.theory import Degree

FORM = {
    "id": '"mine"',
    "name": '"my form"',
    "minor": "false",
    "bars": '"I7 | IV7 | V7 | I7"',
    "tell": '"Four bars."',
    "source": '"common practice"',
}


def toml(**changes: str | None) -> str:
    """One entry with some fields changed, or left out when None."""
    fields = {**FORM, **changes}
    lines = [f"{field} = {value}" for field, value in fields.items() if value is not None]
    return "\n".join(["[[form]]", *lines, ""])


def test_a_form_is_read_field_by_field() -> None:
    (form,) = read_forms(toml(minor="true"), "mine.toml")
    assert ("mine", "my form", True) == (form.id, form.name, form.minor)
    assert ("Four bars.", "common practice") == (form.tell, form.source)
    assert 4 == len(form)
    assert (Chord(Degree(4), "7"),) * 4 == form.bars[1]


def test_a_form_is_major_unless_it_says_minor() -> None:
    (form,) = read_forms(toml(minor=None), "mine.toml")
    assert form.minor is False


@pytest.mark.parametrize(
    ("field", "value", "problem"),
    [
        ("id", None, "it is missing"),
        ("id", "3", "3 was given: give a text"),
        ("id", '"My Form"', "'My Form' was given: use small letters"),
        ("name", None, "it is missing"),
        ("name", '""', "'' was given"),
        ("minor", '"no"', "'no' was given: give true or false"),
        ("bars", None, "it is missing"),
        ("bars", "[1, 4]", "was given: give a text"),
        ("bars", '"I7 | IV7 | I7"', "3 bars were given: give 4 to 64"),
        ("bars", '"' + " | ".join(["I7"] * 65) + '"', "65 bars were given: give 4 to 64"),
        ("bars", '"I7 | IV7 | X7 | I7"', "'X7' is no chord"),
        ("bars", '"I7 | IV7 | I7 IV7 V7 | I7"', "bar 3 holds 3 chords"),
        ("tell", None, "it is missing"),
        ("tell", "false", "False was given: give a text"),
        ("source", None, "it is missing"),
        ("source", "1975", "1975 was given: give a text"),
        ("length", "12", "there is no such field: the fields here are bars, id, minor, name"),
    ],
)
def test_a_wrong_field_is_named_with_its_file_and_entry(
    field: str, value: str | None, problem: str
) -> None:
    entry = "'mine'" if field != "id" or value == '"My Form"' else "number 1"
    entry = "'My Form'" if value == '"My Form"' else entry
    expected = rf"^mine\.toml: entry {entry}, field '{field}': .*{problem}"
    with pytest.raises(CatalogueError, match=expected):
        read_forms(toml(**{field: value}), "mine.toml")


def test_two_forms_of_one_id_are_refused() -> None:
    with pytest.raises(CatalogueError, match="entry 'mine', field 'id': it is used twice"):
        read_forms(toml() + toml(), "mine.toml")


@pytest.mark.parametrize(
    "bars",
    ["I7 | IV7 V7 | I7 | I7", "I7 I7 | IIm7 V7 I7 VI7 | bVI7 | #IVdim7", "I7 | I7 | V7 | I7"],
)
def test_a_form_says_its_chords_as_they_can_be_written(bars: str) -> None:
    (form,) = read_forms(toml(bars=f'"{bars}"'), "mine.toml")
    (again,) = read_forms(toml(bars=f'"{" | ".join(form.chart)}"'), "mine.toml")
    assert form == again


def test_a_bar_says_as_many_chords_as_it_needs() -> None:
    (form,) = read_forms(toml(bars='"I7 I7 | I7 IV7 | I7 I7 I7 V7 | V7 V7 I7 I7"'), "mine.toml")
    assert ("I7", "I7 IV7", "I7 I7 I7 V7", "V7 I7") == form.chart


@pytest.mark.parametrize("field", ["name", "tell", "source"])
def test_a_text_with_a_control_character_is_refused(field: str) -> None:
    with pytest.raises(
        CatalogueError, match=rf"field '{field}': it holds .* U\+0007: leave it out"
    ):
        read_forms(toml(**{field: r'"a\u0007b"'}), "mine.toml")


def test_every_form_is_found_by_its_id() -> None:
    assert list(builtin_forms()) == [find_form(form.id) for form in builtin_forms()]


def test_a_form_is_looked_for_among_those_given() -> None:
    forms = read_forms(toml(), "mine.toml")
    assert forms[0] is find_form("mine", forms)
    with pytest.raises(MusicInputError, match=r"^there is no form 'twelve-bar': give one of mine$"):
        find_form("twelve-bar", forms)


@pytest.mark.parametrize("name", ["", "Twelve-bar", "polka", "\x1b[2J", "x" * 10_000])
def test_an_unknown_form_is_refused_with_those_there_are(name: str) -> None:
    with pytest.raises(MusicInputError, match=r"^there is no form '.*': give one of twelve-bar, "):
        find_form(name)


@pytest.mark.parametrize(
    ("name", "bars"),
    [
        ("twelve-bar", 12),
        ("twelve-bar-five", 12),
        ("quick-change", 12),
        ("jazz-blues", 12),
        ("minor-blues", 12),
        ("eight-bar", 8),
        ("eight-bar-slow", 8),
        ("sixteen-bar", 16),
        ("sixteen-bar-tag", 16),
    ],
)
def test_a_form_has_the_bars_of_its_name(name: str, bars: int) -> None:
    assert bars == len(find_form(name))


def test_only_a_minor_form_starts_on_a_minor_chord() -> None:
    for form in builtin_forms():
        third = form.bars[0][0].tones[1]
        assert form.minor is (third.alter < 0)


def test_no_two_forms_have_the_same_chords() -> None:
    assert len(builtin_forms()) == len({form.bars for form in builtin_forms()})
