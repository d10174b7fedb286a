"""Laws of results: putting files together is a union of sets, the file is an inverse of itself, and
rubbish is refused and does nothing else."""

import csv
import io
import json
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.catalogue import builtin_catalogue
from quiz.answers import Verdict
from quiz.errors import AssignmentError, ResultsError
from quiz.teacher.assignment import Assignment, read_assignment
from quiz.teacher.result_fields import OUTCOME, Outcome
from quiz.teacher.results import Results, as_text, read_results, results_of
from quiz.teacher.roster import COLUMNS, as_csv, read_folder, roster_of
from tests.laws.strategies import awkward_texts
from tests.quiz.histories import FIRST_DAY, an_answer
from tests.quiz.teacher.test_results import merged

CATALOGUE = builtin_catalogue()
HORNS = Assignment("horns", "Horns", items=24)

names = st.one_of(
    st.sampled_from(
        ("", "Ada", "Ben", "Zoë", "=1+1", "-2", "@x", "a,b", '"', "[/]", 'a";=1; -2', "小林")
    ),
    st.text(st.characters(exclude_categories=("C", "Z")), max_size=60),
)

outcomes = st.builds(
    Outcome,
    day=st.integers(FIRST_DAY, FIRST_DAY + 3),
    id=st.integers(0, 12).map(lambda number: number.to_bytes(16, "big")),  # few, so that they meet
    device=st.sampled_from(("climb", "fall", "dip", "quick-change")),
    kind=st.sampled_from(("name", "write", "spell", "form")),
    key=st.sampled_from(("F", "Bb", "Eb", "Ab", "E", "A", "C minor")),
    tempo=st.floats(50, 220),
    texture=st.sampled_from(("bass", "drums", "band")),
    score=st.floats(0, 1),
    verdict=st.sampled_from([verdict.value for verdict in Verdict]),
    seconds=st.floats(0, 60),
    playings=st.integers(0, 9),
)

results = st.builds(
    Results,
    assignment=st.sampled_from(("horns", "reeds")),
    items=st.integers(0, 40),
    name=names,
    answers=st.lists(outcomes, min_size=1, max_size=4, unique_by=lambda outcome: outcome.id).map(
        lambda drawn: tuple(sorted(drawn))
    ),
)
"""Results as files may hold them, some of them at odds: one id with other values."""

folders = st.lists(results, max_size=7)

ROUNDING = 1e-12
"""The interval of nought right answers may begin at the last digit of a number above nought."""


@given(folders, st.randoms(use_true_random=False))
def test_the_order_of_the_files_does_not_matter(files: list[Results], chance: Any) -> None:
    shuffled = list(files)
    chance.shuffle(shuffled)
    assert merged(files) == merged(shuffled)
    assert as_csv(roster_of(files)) == as_csv(roster_of(shuffled))


@given(folders, folders, folders)
def test_putting_together_may_be_done_in_parts(
    one: Sequence[Results], other: Sequence[Results], third: Sequence[Results]
) -> None:
    left = merged([*merged([*one, *other]), *third])
    assert left == merged([*one, *merged([*other, *third])])
    assert left == merged([*one, *other, *third])


@given(folders)
def test_putting_together_twice_changes_nothing(files: list[Results]) -> None:
    once = merged(files)
    assert once == merged(once)
    assert once == merged([*files, *files])


@given(folders)
def test_every_answer_is_there_once(files: list[Results]) -> None:
    together = [(one.assignment, outcome.id) for one in merged(files) for outcome in one.answers]
    assert len(together) == len(set(together))
    assert {(one.assignment, o.id) for one in files for o in one.answers} == set(together)


@given(results)
def test_what_is_written_is_what_is_read(one: Results) -> None:
    assert one == read_results(as_text(one), "file")


@given(
    st.lists(st.tuples(st.integers(0, 30), st.floats(0, 1), st.floats(0, 1e6)), min_size=1),
    names,
)
def test_what_a_player_hands_in_can_be_read(
    drawn: list[tuple[int, float, float]], name: str
) -> None:
    answers = [
        an_answer(number, score=score, seconds=seconds, assignment="horns")
        for number, score, seconds in drawn
    ]
    handed_in = results_of(HORNS, answers, name)
    assert handed_in == read_results(as_text(handed_in), "file")
    assert handed_in == results_of(HORNS, answers[::-1], name)


@given(folders)
def test_the_table_has_a_line_a_player_and_item_and_adds_up(files: list[Results]) -> None:
    roster = roster_of(files)
    assert sum(len(one.answers) for one in merged(files)) == sum(p.answers for p in roster.players)
    for player in roster.players:
        assert 0 <= player.done <= len(player.lines) <= player.items
        low, high = player.interval
        assert low - ROUNDING <= player.share <= high + ROUNDING
        for line in player.lines:
            assert 0 <= line.right <= line.answers
    labels = [(player.assignment, player.who) for player in roster.players]
    assert len(labels) == len(set(labels))


@given(folders)
def test_no_cell_of_the_table_begins_a_formula(files: list[Results]) -> None:
    table = as_csv(roster_of(files))
    rows = list(csv.reader(io.StringIO(table), strict=True))
    assert list(COLUMNS) == rows[0]
    assert {len(COLUMNS)} == {len(row) for row in rows}
    in_other_countries = csv.reader(io.StringIO(table), delimiter=";")
    cells = [cell for row in (*rows, *in_other_countries) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t"))]


# --- rubbish --------------------------------------------------------------------------------------

json_values: st.SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=20),
        awkward_texts,
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=12,
)
SOUND: dict[str, Any] = json.loads(
    as_text(results_of(HORNS, [an_answer(1, assignment="horns")], "Ada"))
)


def refusal(text: str) -> str:
    """Why results are refused; empty when they are read, and then are as sound as any."""
    try:
        found = read_results(text, "file")
    except ResultsError as error:
        return str(error)
    assert found == read_results(as_text(found), "file")
    return ""


def is_one_line(message: str) -> bool:
    return message.isprintable() and message.startswith("file")


@given(st.one_of(st.text(), awkward_texts))
def test_any_text_is_refused(text: str) -> None:
    assert is_one_line(refusal(text))


@given(json_values)
def test_any_json_is_refused(value: object) -> None:
    assert is_one_line(refusal(json.dumps(value)))


@given(st.data())
def test_sound_results_with_one_field_of_rubbish_are_refused_or_sound(data: st.DataObject) -> None:
    value = data.draw(json_values)
    name = data.draw(st.one_of(st.sampled_from(list(SOUND)), st.text(max_size=8)))
    assert (told := refusal(json.dumps(SOUND | {name: value}))) == "" or is_one_line(told)
    field = data.draw(st.one_of(st.sampled_from(list(OUTCOME)), st.text(max_size=8)))
    inside = {"answers": [SOUND["answers"][0] | {field: value}]}
    assert (told := refusal(json.dumps(SOUND | inside))) == "" or is_one_line(told)


@given(st.data())
def test_sound_results_with_a_few_signs_changed_are_refused_or_sound(data: st.DataObject) -> None:
    text = json.dumps(SOUND)
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(start + 6, len(text))))
    told = refusal(text[:start] + data.draw(st.text(max_size=6)) + text[end:])
    assert told == "" or is_one_line(told)


@settings(max_examples=40)  # each one makes files
@given(st.lists(st.one_of(st.binary(max_size=200), st.text().map(str.encode)), max_size=5))
def test_a_folder_of_rubbish_says_what_is_wrong_with_every_file(contents: list[bytes]) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        for number, content in enumerate(contents):
            (folder / f"{number}.json").write_bytes(content)
        (folder / "sound.json").write_text(json.dumps(SOUND), encoding="utf-8")
        roster = read_folder(folder)
    assert ["Ada"] == [player.who for player in roster.players]
    assert len(contents) == len(roster.problems)
    assert all(problem.isprintable() for problem in roster.problems)


TOML_VALUES = st.one_of(
    st.sampled_from(("true", "nan", "-inf", "[]", "{}", "[[1]]", "2026-01-01", "07:00:00", "''")),
    st.integers().map(str),
    st.text(max_size=20).map(json.dumps),
    st.lists(st.text(max_size=8), max_size=3).map(json.dumps),
)


@given(
    st.one_of(
        st.text(),
        awkward_texts,
        st.dictionaries(
            st.sampled_from(
                ("id", "title", "note", "devices", "families", "kinds", "keys", "tempo", "until")
            ),
            TOML_VALUES,
        ).map(lambda rows: "\n".join(f"{name} = {value}" for name, value in rows.items())),
    )
)
def test_any_text_is_an_assignment_or_refused_in_one_line(text: str) -> None:
    try:
        told = ["" if read_assignment(text, "file", CATALOGUE).items else "no items"]
    except AssignmentError as error:
        told = list(error.problems)
    assert told
    assert all(problem == "" or is_one_line(problem) for problem in told)
