"""Rows that are added to the catalogue: the good ones are taken in, each bad one is told."""

import re
from dataclasses import replace
from itertools import product

import pytest

from engine.additions import LARGEST, MOST_ENTRIES, Added, add
from engine.catalogue import Catalogue, Family, builtin_catalogue
from engine.chords import QUALITIES, BarChords
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.figure import figure
from engine.forms import Form
from engine.line import A1, A3, E1, Compass, write_line
from engine.pattern import Spot, Step, Tone
from engine.plan import plan_choruses
from engine.row_checks import fits
from engine.rows import builtin_text
from engine.theory import OCTAVE, PLAYED_KEYS, Degree, Key

BUILTIN = builtin_catalogue()
FLAT = '"I7 | bVII7 | IV7 | I7"'

ROWS: dict[str, dict[str, str]] = {
    "head": {"bars": "[11]", "degrees": '"1 1 b3 4"', "leads_to": '"five"'},
    "tail": {"bars": "[12]", "degrees": '"5 b3 4 #4 | 1"', "follows": '["five"]'},
    "pickup": {"bars": "[4]", "degrees": '"1 5 2 3 | 4"', "serves": '"I > IV"'},
    "ending": {"bars": "[11]", "degrees": '"8 - 5 - | b6 - 5 - | 1"'},
    "base": {"bars": "[1]", "degrees": '"1 5 8 5"', "feels": '["swing"]'},
}


def device(family: str, own_id: str = "mine", /, **changes: str | None) -> str:
    """One [[device]] with some fields changed, or left out when None."""
    fields: dict[str, str | None] = {
        "id": f'"{own_id}"',
        "name": f'"my {own_id}"',
        "family": f'"{family}"',
        **ROWS[family],
        "says": '"It moves."',
        "source": '"common practice"',
        **changes,
    }
    return entry("device", fields)


def form(own_id: str = "tune", /, **changes: str | None) -> str:
    """One [[form]] with some fields changed, or left out when None."""
    fields: dict[str, str | None] = {
        "id": f'"{own_id}"',
        "name": f'"my {own_id}"',
        "bars": '"I7 | VI7 | IIm7 | V7"',
        "tell": '"Four bars."',
        "source": '"common practice"',
        **changes,
    }
    return entry("form", fields)


def entry(table: str, fields: dict[str, str | None]) -> str:
    lines = [f"{field} = {value}" for field, value in fields.items() if value is not None]
    return "\n".join([f"[[{table}]]", *lines, ""])


def added(*entries: str, to: Catalogue = BUILTIN) -> Added:
    return add(to, "".join(entries), "mine.toml")


def new_ids(result: Added) -> list[str]:
    """The ids that are there now and were not built in, devices first."""
    known = {row.id for row in BUILTIN.devices} | {row.id for row in BUILTIN.forms}
    there = [row.id for row in result.catalogue.devices]
    there += [row.id for row in result.catalogue.forms]
    return [name for name in there if name not in known]


def the_problem(result: Added) -> str:
    """The only problem that there is, on one line."""
    (problem,) = result.problems
    assert problem.isprintable()
    return problem


# --- what is taken in ---------------------------------------------------------------------------


def test_the_built_in_rows_have_all_that_is_asked_of_added_ones() -> None:
    empty = Catalogue((), ())
    result = add(empty, builtin_text("devices.toml") + builtin_text("forms.toml"), "all.toml")
    assert () == result.problems
    assert BUILTIN == result.catalogue


def test_devices_and_forms_of_one_file_stand_behind_the_built_in_ones() -> None:
    result = added(device("head", "a"), form("b"), device("base", "c"), form("d", bars=FLAT))
    assert () == result.problems
    assert BUILTIN.devices == result.catalogue.devices[:-2]
    assert ["a", "c"] == [row.id for row in result.catalogue.devices[-2:]]
    assert BUILTIN.forms == result.catalogue.forms[:-2]
    assert ["b", "d"] == [row.id for row in result.catalogue.forms[-2:]]


@pytest.mark.parametrize("family", ROWS)
def test_an_added_row_is_found_and_combined_like_a_built_in_one(family: str) -> None:
    result = added(device(family))
    assert () == result.problems
    row = result.catalogue.find("mine")
    assert Family(family) is row.family
    assert result.catalogue.completed(row).complete
    assert "my mine" == result.catalogue.name("mine")


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n", "\r\n# nothing\r\n"])
def test_a_file_without_entries_adds_nothing_and_is_no_problem(text: str) -> None:
    assert Added(BUILTIN) == add(BUILTIN, text, "mine.toml")


def test_where_added_rows_come_from_is_known() -> None:
    result = added(device("head"), form())
    assert {"mine": "mine.toml", "tune": "mine.toml"} == result.origins


def test_lines_may_end_as_on_windows() -> None:
    text = (device("head") + form()).replace("\n", "\r\n")
    assert ["mine", "tune"] == new_ids(add(BUILTIN, text, "mine.toml"))


# --- what is not --------------------------------------------------------------------------------


def test_each_bad_entry_is_told_and_the_rest_is_taken_in() -> None:
    result = added(
        device("head", "a", leads_to='"six"'),
        device("base", "b"),
        form("c", bars='"I7 | X7 | I7 | I7"'),
        device("ending", "d", degrees=None),
        form("e"),
    )
    assert ["b", "e"] == new_ids(result)
    bars, leads_to, degrees = result.problems
    assert bars.startswith("mine.toml: entry 'c', field 'bars': 'X7' is no chord: give a numeral")
    assert leads_to.startswith("mine.toml: entry 'a', field 'leads_to': 'six' was given: give one")
    assert degrees.startswith("mine.toml: entry 'd', field 'degrees': it is missing: give a text")


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        (device("head", "climb"), "entry 'climb', field 'id': .* a built-in device has it too"),
        (device("head", "jazz-blues"), "'jazz-blues', field 'id': .* a built-in form has it too"),
        (form("dip"), "entry 'dip', field 'id': it is used twice: a built-in device has it"),
        (form("twelve-bar"), "field 'id': it is used twice: a built-in form has it too"),
        (
            device("head", "a") + device("tail", "a"),
            "entry 'a', field 'id': it is used twice: another entry of this file has it too",
        ),
        (
            form("a") + device("tail", "a"),
            "entry 'a', field 'id': it is used twice: a form in mine.toml has it too",
        ),
        (
            form("a") + form("a", bars=FLAT),
            "entry 'a', field 'id': it is used twice: another entry of this file has it too",
        ),
        (device("head", "late"), "field 'id': 'late' means a change of any device: give another"),
        (device("head", "doubled"), "field 'id': 'doubled' means a change of any device"),
        (device("head", "x" * 41), "field 'id': 41 characters were given: give 1 to 40"),
        (device("head", name='"Climb"'), "field 'name': 'climb' is called so already"),
        (form(name='"jazz blues"'), "field 'name': 'jazz-blues' is called so already"),
    ],
)  # fmt: skip
def test_an_id_or_a_name_that_is_used_is_refused_with_where(entries: str, told: str) -> None:
    result = added(entries)
    assert re.search(rf"^mine\.toml: .*{told}", the_problem(result))
    assert len(new_ids(result)) == entries.count("[[") - 1


def test_an_id_of_another_added_file_is_refused_with_the_name_of_that_file() -> None:
    first = added(device("head"), form())
    second = add(first.catalogue, device("tail"), "yours.toml", first.origins)
    assert "'mine', field 'id': it is used twice: a device in mine.toml" in the_problem(second)
    assert first.catalogue == second.catalogue


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("name", f'"{"x" * 61}"', "61 characters were given: give 1 to 60"),
        ("says", f'"{"x" * 301}"', "301 characters were given: give 1 to 300"),
        ("source", f'"published: {"x" * 300}"', "311 characters were given: give 1 to 300"),
        ("name", '"  "', "0 characters were given"),
        ("name", r'"a\u001b[2Jb"', r"it holds the control character U\+001B: leave it out"),
        ("name", r'"a\u0000"', r"it holds the control character U\+0000"),
        ("says", '"""One.\nTwo."""', r"it holds the control character U\+000A"),
        ("says", r'"a\u202Eb"', r"it holds the control character U\+202E"),
        ("source", r'"published: a\u2028b"', r"it holds the control character U\+2028"),
        ("degrees", '"1 1 b3 4 | 1 1 1 1 | 1 1 1 1 | 1 1 1 1 | 1 1 1 1"', "5 bars were given"),
        ("degrees", '"x x x x"', "'x x x x' has no note: give at least one degree"),
        ("degrees", '"* * * *"', "has no note"),
    ],
)
def test_texts_have_limits_and_no_control_characters(field: str, value: str, told: str) -> None:
    result = added(device("head", **{field: value}))
    assert re.search(rf"entry 'mine', field '{field}': .*{told}", the_problem(result))
    assert [] == new_ids(result)


def test_texts_are_taken_at_their_limits() -> None:
    long = device("head", "x" * 40, name=f'"{"n" * 60}"', says=f'"{"s" * 300}"')
    assert ["x" * 40] == new_ids(added(long))


def test_a_file_that_is_too_large_is_refused_whole() -> None:
    result = added(device("head"), "#" * LARGEST)
    assert "are too many: a file may have 1000000" in the_problem(result)
    assert [] == new_ids(result)


def test_entries_beyond_the_most_are_not_read() -> None:
    result = added(form("a"), device("base", "b"), "[[device]]\n" * MOST_ENTRIES)
    assert f"mine.toml: {MOST_ENTRIES + 2} entries are too many" in result.problems[0]
    assert ["b", "a"] == new_ids(result)
    assert 1 + MOST_ENTRIES - 2 == len(result.problems)


def test_a_list_of_ways_has_an_end() -> None:
    ways = ", ".join(['"1 5 8 5"'] * 25)
    assert "25 ways were given: give 1 to 24" in the_problem(
        added(device("base", degrees=f"[{ways}]"))
    )


# --- a file that is no TOML ---------------------------------------------------------------------


def test_a_missing_quote_costs_one_entry_and_is_told_with_its_line() -> None:
    good, bad = device("head", "a"), device("tail", "b", name='"my b')
    result = added(good, bad, form("c"))
    assert ["a", "c"] == new_ids(result)
    first = good.count("\n") + 1
    told = (
        rf"^mine\.toml: the entry at line {first} is not readable as TOML: .*at line {first + 2},"
    )
    assert re.search(told, the_problem(result))


@pytest.mark.parametrize(
    "bad",
    [
        '[[device]]\nid = "a',
        "[[device]\n",
        "[[device]]\nbars = [4\n",
        '[[form]]\nid = """a\n',
        "[[device]]\nid\n",
        "[[device]]\n= 3\n",
        '[[device]]\nid = "a"\nid = "b"\n',
        "[[device]]\nid = \x00\n",
        "[[device]]\ntimes = " + "9" * 5000 + "\n",
        "[[device]]\nx = " + "[" * 5000 + "\n",
        "[[device]]\n" + "a." * 60 + "b = 1\n",
        "[device]\n",
        "[[device]]\r",
        "[[]]\n",
        "[[ device . x ]]\n[[device]\n",
    ],
)
@pytest.mark.parametrize("place", ["first", "between", "last"])
def test_the_entries_around_an_unreadable_one_are_taken_in(bad: str, place: str) -> None:
    entries = [device("head", "a"), form("b"), device("base", "c")]
    entries.insert({"first": 0, "between": 1, "last": 3}[place], bad + "\n")
    result = added(*entries)
    assert result.problems
    assert all(problem.isprintable() for problem in result.problems)
    assert ["a", "c", "b"] == new_ids(result)


def test_rubbish_between_entries_costs_the_one_before_it() -> None:
    result = added(device("head", "a"), "?!\n", form("b"))
    assert ["b"] == new_ids(result)
    assert "the entry at line 1 is not readable" in the_problem(result)


def test_keys_of_a_thousand_parts_are_refused_before_they_cost_memory() -> None:
    lines = [f"b{number}{'.a' * 1000} = 1\n" for number in range(450)]
    assert "more than 50 dots (at line 1)" in the_problem(added(*lines))


def test_dots_in_a_comment_or_a_sentence_are_no_key() -> None:
    assert ["mine"] == new_ids(added("# " + "." * 90 + "\n", device("head", says='"Wait......"')))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('id = "a"\n', r"'id' is unknown here: write \[\[form\]\] or \[\[device\]\] over each"),
        ("[[devices]]\nid = 3\n", "'devices' is unknown here"),
        ("device = 3\n", r"'device' must be a list: write \[\[device\]\] over each entry"),
        ('[form]\nid = "a"\n', r"'form' must be a list: write \[\[form\]\] over each entry"),
        ("[[form]]\n", r"entry number 1 of \[\[form\]\], field 'id': it is missing"),
    ],
)
def test_what_is_no_entry_is_told(text: str, told: str) -> None:
    assert re.search(rf"^mine\.toml: {told}", the_problem(added(text)))


# --- variants -----------------------------------------------------------------------------------


def test_a_row_may_be_a_variant_of_a_built_in_or_an_added_one_before_or_behind_it() -> None:
    result = added(
        device("head", "a", degrees='"1 1 b3 5"', variant_of='"b"'),
        device("head", "b", variant_of='"climb"'),
    )
    assert () == result.problems
    assert ["a", "b"] == new_ids(result)
    variants = result.catalogue.variants(result.catalogue.find("climb+dip"))
    assert "b+dip" in [variant.id for variant in variants]


@pytest.mark.parametrize(
    ("original", "told"),
    [
        ("nothing", "there is no other device 'nothing' in this file or in the catalogue"),
        ("mine", "there is no other device 'mine'"),
        ("climb+dip", r"there is no other device 'climb\+dip'"),
        ("dip", "'dip' is of another kind: give one with the same family, leads_to and serves"),
        ("stay", "'stay' is of another kind"),
        ("jazz-blues", "there is no other device 'jazz-blues'"),
    ],
)
def test_a_row_whose_original_is_not_there_or_of_another_kind_is_refused(
    original: str, told: str
) -> None:
    result = added(device("head", variant_of=f'"{original}"'))
    assert re.search(f"entry 'mine', field 'variant_of': {told}", the_problem(result))


def test_a_pickup_is_a_variant_of_one_that_serves_the_same_change() -> None:
    good = device("pickup", variant_of='"walk-up-one-four"')
    assert () == added(good).problems
    assert "is of another kind" in the_problem(added(good.replace("one-four", "one-five")))


def test_variants_of_what_is_refused_are_refused_down_the_whole_chain() -> None:
    chain = [
        device("head", f"v{number}", degrees=f'"1 1 b3 {degree}"', variant_of=f'"v{number + 1}"')
        for number, degree in enumerate(("2", "3", "b5", "5"))
    ]
    result = added(*chain, device("head", "v4", degrees='"1 2"'))
    assert [] == new_ids(result)
    assert 5 == len(result.problems)


def test_variants_in_a_circle_are_refused() -> None:
    result = added(
        device("head", "a", variant_of='"b"'),
        device("head", "b", degrees='"1 1 b3 5"', variant_of='"a"'),
    )
    assert [] == new_ids(result)
    assert 2 == len(result.problems)


# --- rows that nobody could be asked about ------------------------------------------------------


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        (device("pickup", serves='"II > IV"'), "'serves': no form has a place for II > IV over 1"),
        (device("pickup", serves='"VI > II"'), "'bars': .4. was given: .* it can start in 8$"),
        (device("pickup", bars="[4, 5]"), r"'bars': \[4, 5\] was given: .* start in 1 or 4$"),
        (device("pickup", bars="[6]"), "'bars': .6. was given: .* can start in 1 or 4$"),
        (device("head", bars="[12]"), "'bars': .12. was given: .* it can start in 11$"),
        (device("ending", bars="[9]"), "'bars': .9. was given: .* it can start in 11$"),
        (device("ending", degrees='"8 - 5 - | 1"'), "'degrees': an ending has 2 to 4 bars, not 1"),
        (
            device("pickup", bars="[3]", degrees='"* * * * | * * 2 3 | 4"'),
            "'degrees': bar 1 is left to the base pattern whole: leave it out",
        ),
        (device("head", degrees='"1 1 b3 bb3"'), "'degrees': 'bb3' would be Bbbb in Gb: write it"),
        (device("head", degrees='"1 1 b3 ##7"'), "'degrees': '##7' would be .### in"),
        (device("head", degrees='"1, 1 5 8"'), "'degrees': it leaves the bass in some key: keep"),
        (device("head", degrees="\"1 1 5 8''\""), "'degrees': it leaves the bass in some key"),
        (device("head", degrees="\"1''' 1''' 3''' 8'''\""), "it leaves the bass in some key"),
        (device("head", degrees='"1 1, 5, 1"'), "together with 'plain-five' it leaves the bass"),
        (device("base", degrees="\"1 5 8 3'\""), "bar 1 of .* leaves the bass over some chord"),
        (device("base", degrees='"8 8 5 5,"'), "leaves the bass over some chord of the quality"),
        (device("head", degrees='"1 3 4 b5"'), "'degrees': 'climb' sounds the same, so nobody"),
        (device("head", degrees='"8 b7, 6, b6,"'), "'degrees': 'fall' sounds the same"),
        (device("head", degrees='"(1 1) 3 (4 -) #4"'), "'degrees': 'climb' sounds the same"),
        (
            device("pickup", serves='"V > I"', bars="[12]", degrees='"* 5 - 5 | 1"'),
            "'degrees': 'straight-five-one' sounds the same",
        ),
        (form(bars=f'"{" | ".join(builtin_catalogue().form("jazz-blues").chart)}"'),
         "'bars': 'jazz-blues' has the same chords: give others"),
        (device("pickup", bars="[8]", serves='"VI > II"', degrees='"6, 7, 1 #1 | 2"'),
         "'serves': there is nothing else to offer beside it: add another one for the same place"),
        (device("pickup", bars="[3]", degrees='"1 1 1 1 | 1 2 b3 3 | 4"'),
         "'serves': there is nothing else to offer beside it"),
        (device("ending", bars="[10]", degrees='"1 1 1 1 | 1 1 1 1 | 5 - 5 - | 1"'),
         "'bars': there is nothing else to offer beside it"),
    ],
)  # fmt: skip
def test_a_row_that_could_not_be_asked_about_is_told_when_it_is_read(
    entries: str, told: str
) -> None:
    result = added(entries)
    assert re.search(told, the_problem(result))
    assert [] == new_ids(result)


def test_an_added_part_must_fit_the_bass_together_with_an_added_part_before_it() -> None:
    low = device("tail", "low", degrees='"5, 2, 5, 4 | 1"', follows='"one"')
    high = device("head", "high", degrees='"1 5 8 3\'"', leads_to='"one"')
    assert ["low"] == new_ids(added(low))
    assert ["high"] == new_ids(added(high))
    result = added(low, high)
    assert ["low"] == new_ids(result)
    assert "'high', field 'degrees': together with 'low' it leaves the bass" in the_problem(result)


def test_a_row_that_only_an_added_form_has_a_place_for_is_taken_in() -> None:
    pickups = (
        device("pickup", "a", bars="[2]", serves='"II > IV"', degrees='"2 2 3 #4 | 4"'),
        device("pickup", "b", bars="[2]", serves='"II > IV"', degrees='"2 2 2 2 | 4"'),
    )
    assert [] == new_ids(added(*pickups))
    assert ["a", "b", "tune"] == new_ids(added(*pickups, form(bars='"I7 | II7 | IV7 | I7"')))


def test_a_major_row_needs_a_place_in_a_major_form() -> None:
    minor_form = form(bars='"Im7 | II7 | IVm7 | Im7"', minor="true")
    pickups = [
        device(
            "pickup", name, bars="[2]", serves='"II > IV"', degrees=f'"2 2 {degree} 3 | 4"',
            minor=minor,
        )
        for name, degree, minor in (("a", "2", "true"), ("b", "b3", "true"), ("c", "1", "false"))
    ]  # fmt: skip
    result = added(minor_form, *pickups)
    assert ["a", "b", "tune"] == new_ids(result)
    assert "'c', field 'serves': no form has a place" in the_problem(result)


def test_two_pickups_for_one_new_place_are_each_others_company() -> None:
    first = device("pickup", "a", bars="[8]", serves='"VI > II"', degrees='"6, 7, 1 #1 | 2"')
    second = device("pickup", "b", bars="[8]", serves='"VI > II"', degrees='"6 6 6 6 | 2"')
    assert ["a", "b"] == new_ids(added(first, second))
    variant = second.replace('family = "pickup"', 'family = "pickup"\nvariant_of = "a"')
    result = added(first, variant)  # beside the variant there is still nothing that is no variant
    assert [] == new_ids(result)


def test_a_head_needs_a_tail_that_goes_with_it_and_a_tail_a_head() -> None:
    forms = Catalogue((), BUILTIN.forms)
    heads = [device("head", "a"), device("head", "b", degrees='"1 2 3 4"')]
    tails = [device("tail", "c"), device("tail", "d", degrees='"5 5 5 5 | 1"')]
    assert ["no tail goes with it"] * 2 == [
        problem.split("'leads_to': ")[1].split(":")[0]
        for problem in added(*heads, to=forms).problems
    ]
    assert ["no head goes with it"] * 2 == [
        problem.split("'follows': ")[1].split(":")[0]
        for problem in added(*tails, to=forms).problems
    ]
    assert 4 == len(added(*heads, *tails, to=forms).catalogue.devices)


# --- room, against the modules that use it ------------------------------------------------------


@pytest.mark.parametrize("lowest", [-30, -13, -7, 0, 3, 12, 30, 46])
@pytest.mark.parametrize("width", [0, 5, 13, 17, 18, 19, 24, 29])
def test_what_fits_is_what_a_figure_can_be_made_of_in_every_key(lowest: int, width: int) -> None:
    expected = all(_stands(lowest, lowest + width, key) for key in PLAYED_KEYS)
    assert expected == fits(lowest, lowest + width, E1, A3)


def _stands(lowest: int, highest: int, key: Key) -> bool:
    row = BUILTIN.find("climb")
    steps = tuple(Step(Spot(beat), _tone(height)) for beat, height in enumerate((lowest, highest)))
    try:
        figure(replace(row, pattern=replace(row.pattern, steps=steps)), key)
    except MusicInputError:
        return False
    return True


def _tone(semitones: int) -> Tone:
    octave, above = divmod(semitones, OCTAVE)
    degrees = (Degree(number, alter) for number in range(1, 8) for alter in (0, 1))
    return Tone(next(degree for degree in degrees if degree.semitones == above), octave)


WIDE = ("1 5 8 b2'", "1 6, b7, 6", "8 7 5 1", "5 6 8 b2'", "b7, 5, 4, 1", "6 3 8 5")
"""Base patterns whose bars, with their roots, are as wide as can be or nearly so."""


@pytest.mark.parametrize("degrees", WIDE)
def test_a_base_pattern_fits_over_every_chord_in_every_key_from_the_a_string_up(
    degrees: str,
) -> None:
    result = added(device("base", degrees=f'"{degrees}"'))
    assert () == result.problems
    base = result.catalogue.find("mine")
    for tune, key, quality in product(BUILTIN.forms, PLAYED_KEYS, QUALITIES):
        plan = plan_choruses(_all_of(tune, quality), key, Feel.SWING, 120, base)
        assert write_line(plan, 1, Compass(low=A1))


def _all_of(tune: Form, quality: str) -> Form:
    """The form with all its roots, and one quality for every chord."""
    bars: list[BarChords] = []
    for bar in tune.bars:
        one, two, three, four = (replace(chord, quality=quality) for chord in bar)
        bars.append((one, two, three, four))
    return replace(tune, bars=tuple(bars))
