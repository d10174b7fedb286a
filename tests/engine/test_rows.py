"""Reading the entries of a data file: every error names file, entry and field."""

from typing import NamedTuple

import pytest

from engine.errors import CatalogueError, MusicInputError
from engine.rows import (
    Row,
    builtin_text,
    read_each,
    read_rows,
    read_tables,
    refuse,
    refuse_twins,
    without_twins,
)


def row(**fields: object) -> Row:
    return Row("mine.toml", "'some'", dict(fields))


def refused(field: str, problem: str) -> str:
    return rf"^mine\.toml: entry 'some', field '{field}': {problem}"


# --- one field at a time ------------------------------------------------------------------------


def test_each_kind_of_field_is_read() -> None:
    entry = row(
        id="walk-up-2",
        name="Walk up",
        count=3,
        loud=True,
        family="head",
        many=["a", "b"],
        single="a",
        places=[4, 6],
        place=12,
    )
    assert "walk-up-2" == entry.identity()
    assert "Walk up" == entry.text("name")
    assert 3 == entry.whole("count")
    assert entry.flag("loud") is True
    assert "head" == entry.choice("family", ("head", "tail"))
    assert ("a", "b") == entry.texts("many")
    assert ("a",) == entry.texts("single")
    assert (4, 6) == entry.numbers("places", most=12)
    assert (12,) == entry.numbers("place", most=12)
    entry.finish()


def test_a_missing_field_takes_its_default() -> None:
    entry = row()
    assert "plain" == entry.text("name", "plain")
    assert 7 == entry.whole("count", 7)
    assert entry.flag("soft") is False
    assert "tail" == entry.choice("family", ("head", "tail"), "tail")
    assert not entry.has("name")


@pytest.mark.parametrize("value", ["", 3, True, ["text"], {"a": 1}, 1.5])
def test_what_is_no_text_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("name", ".* was given: give a text in quote")):
        row(name=value).text("name")


@pytest.mark.parametrize("text", ["a", "x" * 8, " é 🎸 ", "a\u00a0b"])
def test_a_line_of_what_can_be_seen_is_read_without_blanks_around_it(text: str) -> None:
    assert text.strip() == row(name=text).line("name", most=8)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("x" * 9, "9 characters were given: give 1 to 8$"),
        ("  ", "0 characters were given: give 1 to 8$"),
        ("", "'' was given: give a text"),
        ("a\nb", r"it holds the control character U\+000A: leave it out$"),
        ("a\x1bb", r"it holds the control character U\+001B"),
        ("a\x85b", r"it holds the control character U\+0085"),
        ("a\u2066b", r"it holds the control character U\+2066"),  # turns the writing round
        ("a\u2029b", r"it holds the control character U\+2029"),
    ],
)
def test_a_line_that_is_too_long_or_holds_what_cannot_be_seen_is_refused(
    text: str, problem: str
) -> None:
    with pytest.raises(CatalogueError, match=refused("name", problem)):
        row(name=text).line("name", most=8)


def test_a_missing_text_is_refused() -> None:
    with pytest.raises(CatalogueError, match=refused("name", "it is missing: give a text")):
        row().text("name")


@pytest.mark.parametrize("value", [-1, 0, True, False, 9, 10**30])
def test_a_number_outside_its_span_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("n", ".*: give a whole number from 1 to 8$")):
        row(n=value).whole("n", least=1, most=8)


def test_a_number_below_a_least_without_a_most_is_refused() -> None:
    with pytest.raises(CatalogueError, match=refused("n", "2 was given: .* from 3 up$")):
        row(n=2).whole("n", least=3)


@pytest.mark.parametrize("value", ["3", 3.0, [3], {}])
def test_what_is_no_whole_number_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("n", ".* was given: give a whole number$")):
        row(n=value).whole("n")


@pytest.mark.parametrize("value", ["true", 1, 0, []])
def test_what_is_not_true_or_false_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("on", ".* was given: give true or false$")):
        row(on=value).flag("on")


@pytest.mark.parametrize(
    "name", ["Climb", "climb up", "-climb", "climb-", "a--b", "climb+dip", "é", "a_b", "a\nb"]
)
def test_an_id_of_other_signs_is_refused(name: str) -> None:
    with pytest.raises(CatalogueError, match=refused("id", ".*: use small letters, digits and hy")):
        row(id=name).identity()


def test_an_id_has_forty_characters_at_most() -> None:
    assert "x" * 40 == row(id="x" * 40).identity()
    with pytest.raises(CatalogueError, match=refused("id", "41 characters were given: give 1 to")):
        row(id="x" * 41).identity()


def test_a_word_that_is_not_among_the_allowed_is_refused_with_them() -> None:
    with pytest.raises(CatalogueError, match=refused("f", "'c' was given: give one of a, b$")):
        row(f="c").choice("f", ("a", "b"))


@pytest.mark.parametrize("value", [[], [""], "", [1], ["a", 2], 3, [["a"]], {"a": "b"}])
def test_what_is_no_list_of_texts_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("l", ".* was given: give a text or a list")):
        row(l=value).texts("l")


def test_a_missing_list_is_refused() -> None:
    with pytest.raises(CatalogueError, match=refused("l", "it is missing: give a text or a list")):
        row().texts("l")
    with pytest.raises(CatalogueError, match=refused("l", "it is missing: give a list of whole")):
        row().numbers("l", most=12)


@pytest.mark.parametrize("value", [[0], [13], [-4], [True], [4, 0], 0, 13])
def test_a_bar_number_outside_the_form_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("b", ".*: give whole numbers from 1 to 12$")):
        row(b=value).numbers("b", most=12)


@pytest.mark.parametrize("value", [[], "4", ["4"], [4.0], {}])
def test_what_is_no_list_of_numbers_is_refused(value: object) -> None:
    with pytest.raises(CatalogueError, match=refused("b", ".*: give a list of whole numbers$")):
        row(b=value).numbers("b", most=12)


def test_what_a_parser_refuses_is_reported_for_its_field() -> None:
    def refuse(text: str) -> str:
        raise MusicInputError(f"no sense in {text}")

    with pytest.raises(CatalogueError, match=refused("p", "no sense in it$")):
        row(p="it").parsed("p", refuse)


def test_a_field_that_nothing_reads_is_refused_with_those_that_are() -> None:
    entry = row(id="a", naem="b")
    entry.identity()
    with pytest.raises(CatalogueError, match=refused("naem", "there is no such field: .* are id$")):
        entry.finish()


def test_the_first_of_several_such_fields_in_the_file_is_told() -> None:
    entry = row(zoo="a", ant="b", cow="c")
    with pytest.raises(CatalogueError, match=refused("zoo", "there is no such field")):
        entry.finish()


def test_an_error_is_one_line_however_wild_the_value() -> None:
    entry = Row("mine.toml", "number 1", {"a\nb": 1, "name": ["x" * 10_000], "f": "\x1b[2J\n"})
    errors = [entry.error("a\nb", "bad\r\nvalue"), entry.error("y" * 10_000, "bad")]
    with pytest.raises(CatalogueError) as caught:
        entry.text("name")
    errors.append(caught.value)
    with pytest.raises(CatalogueError) as caught:
        entry.choice("f", ("a",))
    errors.append(caught.value)
    for error in errors:
        assert str(error).isprintable()
        assert len(str(error)) < 200


# --- the file -----------------------------------------------------------------------------------

TWO = '[[device]]\nid = "a"\n\n[[device]]\nname = "b"\n'


def test_entries_come_in_order_and_are_labelled_by_id_or_by_place() -> None:
    first, second = read_rows(TWO, "mine.toml", "device")
    assert "mine.toml: entry 'a', field 'x': no" == str(first.error("x", "no"))
    assert "mine.toml: entry number 2, field 'x': no" == str(second.error("x", "no"))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", r"there is no entry: write \[\[device\]\]"),
        ("# only a comment\n", "there is no entry"),
        ("device = []", "there is no entry"),
        ("[[device]\n", "this is not readable as TOML: .*line 1"),
        ('[[device]]\nid = "a\n', "this is not readable as TOML: .*line 2"),
        ('[[device]]\nid = "a"\nid = "b"\n', "this is not readable as TOML: .*overwrite"),
        ("[[device]]\nid = \x00\n", "this is not readable as TOML"),
        ("[[device]]\ntimes = " + "9" * 5000, "this is not readable as TOML"),
        ('[[devices]]\nid = "a"\n', r"'devices' is unknown here: write \[\[device\]\] over each"),
        (TWO + "[other]\nx = 1\n", r"'other' is unknown here"),
        ("x = 1\n" + TWO, r"'x' is unknown here"),
        ('"\\u001b\\n" = 1\n' + TWO, r"'��' is unknown here"),
        ('[device]\nid = "a"\n', r"'device' must be a list: write \[\[device\]\] over each entry$"),
        ("device = [1, 2]", "'device' must be a list"),
        ('device = "a"', "'device' must be a list"),
    ],
)
def test_a_file_that_holds_no_entries_of_its_kind_is_refused(text: str, problem: str) -> None:
    with pytest.raises(CatalogueError, match=rf"^mine\.toml: {problem}") as caught:
        read_rows(text, "mine.toml", "device")
    assert str(caught.value).isprintable()


def test_brackets_within_brackets_are_refused_like_other_text_that_is_no_toml() -> None:
    with pytest.raises(CatalogueError, match="not readable as TOML: brackets within brackets"):
        read_rows("x = " + "[" * 100_000, "mine.toml", "device")


# --- tolerant reading ---------------------------------------------------------------------------


def told(problems: list[CatalogueError]) -> list[str]:
    return [str(problem) for problem in problems]


def test_entries_of_several_tables_are_kept_apart() -> None:
    text = "[[b]]\nx = 1\n[[a]]\nid = 'one'\n[[b]]\nx = 2\n"
    rows = read_tables(text, "mine.toml", ("a", "b"), refuse)
    assert ["mine.toml: entry 'one', field 'x': no"] == [
        str(row.error("x", "no")) for row in rows["a"]
    ]
    assert [1, 2] == [row.whole("x") for row in rows["b"]]
    assert "entry number 2 of [[b]], field 'x'" in str(rows["b"][1].error("x", "no"))


def test_where_one_entry_is_unreadable_the_others_are_read_and_called_by_their_lines() -> None:
    text = '# head\n\n[[a]]\nx = 1\n[[a]]\nx = "2\n\n  [[ a ]]\nx = 3\n[[b]]\n'
    problems: list[CatalogueError] = []
    rows = read_tables(text, "mine.toml", ("a", "b"), problems.append)
    assert [1, 3] == [row.whole("x") for row in rows["a"]]
    assert "mine.toml: entry at line 8, field" in str(rows["a"][1].error("x", "no"))
    assert 1 == len(rows["b"])
    (problem,) = told(problems)
    assert problem.startswith("mine.toml: the entry at line 5 is not readable as TOML: ")
    assert "(at line 6, column" in problem
    assert problem.endswith(": look for a missing quote or bracket")


def test_an_entry_with_one_bracket_too_few_costs_itself_alone() -> None:
    problems: list[CatalogueError] = []
    text = "[[a]]\nx = 1\n[a]\nx = 2\n[[a]]\nx = 3\n"
    rows = read_tables(text, "mine.toml", ("a",), problems.append)
    assert [1, 3] == [row.whole("x") for row in rows["a"]]
    assert [
        "mine.toml: the entry at line 3: 'a' must be a list: write [[a]] over each entry"
    ] == told(problems)


def test_strict_reading_raises_the_first_of_the_problems_that_are_told() -> None:
    text = "[[a]]\nx = '1\n[[a]]\ny = '2\n"
    problems: list[CatalogueError] = []
    read_tables(text, "mine.toml", ("a",), problems.append)
    with pytest.raises(CatalogueError) as caught:
        read_rows(text, "mine.toml", "a")
    assert 2 == len(problems)
    assert str(problems[0]) == str(caught.value)


def test_rows_that_cannot_be_read_are_told_and_left_out() -> None:
    problems: list[CatalogueError] = []
    rows = [row(x=1), row(x="?"), row(x=3)]
    kept = read_each(rows, lambda one: one.whole("x"), problems.append)
    assert [(rows[0], 1), (rows[2], 3)] == kept
    assert ["mine.toml: entry 'some', field 'x': '?' was given: give a whole number"] == told(
        problems
    )


class Thing(NamedTuple):
    """What has an id."""

    id: str


def test_of_twins_the_first_is_kept_and_of_those_used_elsewhere_none() -> None:
    problems: list[CatalogueError] = []
    things = [(row(), Thing(name)) for name in ("a", "b", "a", "c")]
    kept = without_twins(things, {"b": "the house"}, problems.append)
    assert ["a", "c"] == [thing.id for _, thing in kept]
    assert [
        "mine.toml: entry 'some', field 'id': it is used twice: the house has it too",
        "mine.toml: entry 'some', field 'id': it is used twice: another entry of this file has it "
        "too",
    ] == told(problems)


def test_an_id_that_stands_twice_is_refused() -> None:
    refuse_twins(("a", "b", "c"), "mine.toml")
    with pytest.raises(CatalogueError, match=r"^mine\.toml: entry 'b', field 'id': it is used twi"):
        refuse_twins(("a", "b", "b"), "mine.toml")


@pytest.mark.parametrize("file", ["devices.toml", "forms.toml", "styles.toml"])
def test_the_data_files_come_with_the_engine_and_start_by_explaining_themselves(file: str) -> None:
    assert builtin_text(file).startswith("# ")
