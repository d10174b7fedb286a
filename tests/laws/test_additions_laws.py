"""Laws of added rows: no file harms the catalogue, and what is taken in can be asked about."""

from collections.abc import Iterator, Sequence
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.additions import Added, add
from engine.catalogue import Catalogue, Family, builtin_catalogue
from engine.notation import NoteNames
from engine.rows import builtin_text
from engine.theory import PLAYED_KEYS, Key
from quiz.answers import Verdict
from quiz.coach import TRIES
from quiz.errors import QuestionError
from quiz.grading.replies import grade_reply, right_reply
from quiz.learning.material import Row, can_ask
from quiz.questions.excerpts import Excerpt
from quiz.questions.generator import make_question
from quiz.questions.kinds import Kind
from quiz.questions.value import Question
from quiz.questions.wishes import Asked, Wishes
from tests.laws.strategies import awkward_texts, pattern_texts

BUILTIN = builtin_catalogue()
GOOD = (Path(__file__).parents[2] / "demo" / "catalogue.toml").read_text(encoding="utf-8")
ASKED_KINDS = (Kind.NAME, Kind.WRITE, Kind.SPELL, Kind.FIND, Kind.PLACE, Kind.FIT, Kind.FORM)
SIGNS = "\"'[]{}=#,.\\\n\r\t |-_+*x~()b1'0aIV\x00\x1b\x85\u2028é🎸"


def check_harmless(result: Added) -> None:
    """Whatever was added: all built-in rows in their place, ids used once, problems on a line."""
    catalogue = result.catalogue
    assert BUILTIN.devices == catalogue.devices[: len(BUILTIN.devices)]
    assert BUILTIN.forms == catalogue.forms[: len(BUILTIN.forms)]
    ids = [device.id for device in catalogue.devices] + [form.id for form in catalogue.forms]
    assert len(ids) == len(set(ids))
    for problem in result.problems:
        assert problem.isprintable()
        assert len(problem) < 600


# --- any text -----------------------------------------------------------------------------------


@given(st.one_of(st.text(), awkward_texts, st.text(st.sampled_from(SIGNS), max_size=200)))
def test_no_text_harms_the_catalogue(text: str) -> None:
    check_harmless(add(BUILTIN, text, "mine.toml"))


@given(st.one_of(st.text(max_size=30), awkward_texts), st.sampled_from(("device", "form")))
def test_no_text_in_a_field_harms_the_catalogue(text: str, table: str) -> None:
    quoted = text.encode("ascii", "backslashreplace").decode().replace('"', "'")
    fields = ("id", "name", "bars", "degrees", "chords", "serves", "variant_of", "says", "source")
    for field in fields:
        check_harmless(add(BUILTIN, f'[[{table}]]\n{field} = "{quoted}"\n', "mine.toml"))


@st.composite
def mutations(draw: st.DrawFn) -> str:
    """A good file with some places cut out, doubled, or written over."""
    text = GOOD
    for _ in range(draw(st.integers(1, 6))):
        first = draw(st.integers(0, len(text)))
        last = min(len(text), first + draw(st.sampled_from((0, 1, 1, 2, 5, 40, 400))))
        cut = text[first:last]
        put = draw(st.one_of(st.just(""), st.just(cut * 2), st.text(st.sampled_from(SIGNS))))
        text = text[:first] + put + text[last:]
    return text


@settings(max_examples=300)
@given(mutations())
def test_no_mutation_of_a_good_file_harms_the_catalogue(text: str) -> None:
    check_harmless(add(BUILTIN, text, "mine.toml"))


@given(st.data())
def test_one_lost_character_costs_one_entry_and_what_needed_it(data: st.DataObject) -> None:
    text = builtin_text("devices.toml")
    empty = Catalogue((), BUILTIN.forms)
    quotes = [place for place, char in enumerate(text) if char == '"' and _is_row(text, place)]
    lost = data.draw(st.sampled_from(quotes))
    result = add(empty, text[:lost] + text[lost + 1 :], "mine.toml")
    line = text[:lost].count("\n") + 1
    row = text[text.rfind('\nid = "', 0, lost + 1) :].split('"')[1]
    # a lost quote may leave TOML behind, such as 5 and a comment; then the field is told
    where = (f"at line {line},", f"entry '{row}', field")
    assert any(place in problem for place in where for problem in result.problems)
    # at most another two: the variant of the row, and the pickup it was the only rival of
    assert len(BUILTIN.devices) - 3 <= len(result.catalogue.devices) < len(BUILTIN.devices)


def _is_row(text: str, place: int) -> bool:
    line = text[text.rfind("\n", 0, place) + 1 : text.find("\n", place)]
    return not line.startswith("#") and line.count('"') == 2


# --- rows as somebody could write them ----------------------------------------------------------

DEGREES = ("1", "b2", "2", "b3", "3", "4", "#4", "5", "b6", "6", "b7", "7", "8", "5,", "7,", "2'")
CHORDS = ("I7", "IV7", "V7", "IIm7", "VI7", "bVI7", "#IVdim7", "IVm7", "Imaj7", "Im7", "bII7", "I6")
CHANGES = (
    # a change, the bar of a form of twelve where it is led to, and in how many bars
    ("I > IV", "[4]", 1),
    ("IV > I", "[6, 10]", 1),
    ("IV > I", "[5]", 2),
    ("I > V", "[8]", 1),
    ("V > I", "[12]", 1),
    ("V > IV", "[9]", 1),
    ("VI > II", "[8]", 1),
    ("II > V", "[4]", 1),
)
ORIGINALS = {
    "head": "climb",
    "tail": "dip",
    "pickup": "walk-up-one-four",
    "ending": "run-up",
    "base": "box",
}
BARS = {"head": "[11]", "tail": "[12]", "base": "[1]"}


@st.composite
def lines(draw: st.DrawFn, bars: int, arrival: bool, base: bool = False) -> str:
    """Bars of mostly sensible tokens, or of wild ones."""
    if draw(st.integers(0, 9)) == 0:
        return draw(pattern_texts())
    marks = ("-", "x", "~") if base else ("-", "x", "*", "*")
    token = st.one_of(*[st.sampled_from(DEGREES)] * 4, st.sampled_from(marks))
    beat = st.one_of(token, token, token, st.tuples(token, token).map("({0[0]} {0[1]})".format))
    written = [" ".join(draw(st.lists(beat, min_size=4, max_size=4))) for _ in range(bars)]
    return " | ".join([*written, draw(st.sampled_from(DEGREES))] if arrival else written)


@st.composite
def devices(draw: st.DrawFn, own_id: str) -> str:
    """A [[device]] that is mostly good."""
    family = draw(st.sampled_from(("head", "tail", "pickup", "pickup", "ending", "base")))
    fields = {"id": own_id, "name": f"the {own_id}", "family": family, "says": "So."}
    fields |= {"source": "from memory"}
    plain: dict[str, str] = {"minor": draw(st.sampled_from(("true", "false")))}
    count = 1
    if family == "head":
        fields["leads_to"] = draw(st.sampled_from(("one", "five", "own")))
        count = 2 if fields["leads_to"] == "own" else 1
    elif family == "tail":
        plain["follows"] = draw(st.sampled_from(("['one']", "['five']", "['one', 'five']")))
    elif family == "pickup":
        fields["serves"], plain["bars"], count = draw(st.sampled_from(CHANGES))
    elif family == "ending":
        count = draw(st.sampled_from((2, 2, 4)))
        plain |= {"bars": f"[{13 - count}]", "times": draw(st.sampled_from(("1", "2")))}
    else:
        count, plain["feels"] = draw(st.integers(1, 2)), "['swing', 'slow']"
    plain.setdefault("bars", BARS.get(family, "[11]"))
    arrival = family in ("tail", "pickup") or (family == "ending" and draw(st.booleans()))
    fields["degrees"] = draw(lines(count, arrival, family == "base"))
    if draw(st.integers(0, 3)) == 0:
        one = st.lists(st.sampled_from(CHORDS), min_size=1, max_size=2).map(" ".join)
        fields["chords"] = " | ".join(draw(st.lists(one, min_size=count, max_size=count)))
    if draw(st.integers(0, 5)) == 0:
        fields["variant_of"] = draw(st.sampled_from((ORIGINALS[family], "own-0")))
    rows = [f'{field} = "{value}"' for field, value in fields.items()]
    return "\n".join(
        ["[[device]]", *rows, *(f"{one} = {value}" for one, value in plain.items()), ""]
    )


@st.composite
def forms(draw: st.DrawFn, own_id: str) -> str:
    """A good [[form]]."""
    bar = st.lists(st.sampled_from(CHORDS), min_size=1, max_size=2).map(" ".join)
    count = draw(st.sampled_from((4, 8, 12, 12, 13)))
    chart = " | ".join(draw(st.lists(bar, min_size=count, max_size=count)))
    minor = draw(st.sampled_from(("true", "false")))
    return (
        f'[[form]]\nid = "{own_id}"\nname = "the {own_id}"\nbars = "{chart}"\nminor = {minor}\n'
        'tell = "So."\nsource = "from memory"\n'
    )


@st.composite
def files(draw: st.DrawFn) -> str:
    """A file of a dozen entries."""
    rows = [draw(devices(f"own-{number}")) for number in range(10)]
    rows += [draw(forms(f"form-{number}")) for number in range(2)]
    return "".join(rows)


def added_rows(result: Added) -> Iterator[Row]:
    """The devices that are asked about, and the forms, that were taken in."""
    rows: Sequence[Row] = (*result.catalogue.devices, *result.catalogue.forms)
    return (row for row in rows if row.id in result.origins)


def asked(row: str, kind: Kind, key: Key, catalogue: Catalogue) -> Question:
    """A question as the coach makes it: another seed where a drawn one will not do."""
    for seed in range(TRIES):
        try:
            return make_question(Asked(row, kind, key), Wishes(), catalogue, seed)
        except QuestionError as error:
            problem = error
    raise AssertionError(f"{row} cannot be asked as {kind.value} in {key}: {problem}")


def check_askable(result: Added) -> int:
    """Ask about every added row in every kind and key; gives the number of questions."""
    catalogue, count = result.catalogue, 0
    for row, kind, key in product(added_rows(result), ASKED_KINDS, PLAYED_KEYS):
        if can_ask(row, kind):
            question = asked(row.id, kind, key, catalogue)
            reply = right_reply(question, catalogue)
            grade = grade_reply(question, reply, NoteNames.ENGLISH, catalogue)
            assert Verdict.RIGHT is grade.verdict, (row.id, reply)
            count += 1
    return count


@settings(max_examples=24)
@given(files())
def test_every_added_row_can_be_asked_about_in_every_kind_and_key(text: str) -> None:
    result = add(BUILTIN, text, "mine.toml")
    check_harmless(result)
    check_askable(result)


def test_the_rows_of_the_example_can_be_asked_about_in_every_kind_and_key() -> None:
    # two pickups of which one is plain, a head and an ending: 3 are worth writing, spelling and
    # finding; a pickup that is no plain one has its bar; the head has chords to fit; and a form
    assert (4 + 3 + 3 + 3 + 1 + 1 + 1) * 12 == check_askable(add(BUILTIN, GOOD, "demo.toml"))


@settings(max_examples=30)
@given(files(), st.sampled_from(PLAYED_KEYS), st.integers(0, 2**40))
def test_every_added_row_can_be_played(text: str, key: Key, seed: int) -> None:
    result = add(BUILTIN, text, "mine.toml")
    for row in added_rows(result):
        for kind in (Kind.NAME, Kind.FORM):
            if can_ask(row, kind):
                question = asked(row.id, kind, key, result.catalogue)
                assert Excerpt(question).passage(result.catalogue)


@pytest.mark.parametrize("family", [Family.HEAD, Family.TAIL, Family.PICKUP, Family.ENDING])
def test_the_made_up_files_hold_good_rows_of_each_family(family: Family) -> None:
    taken = 0

    @settings(max_examples=24)
    @given(files())
    def count(text: str) -> None:
        nonlocal taken
        result = add(BUILTIN, text, "mine.toml")
        taken += sum(getattr(row, "family", None) is family for row in added_rows(result))

    count()
    assert taken >= 10
