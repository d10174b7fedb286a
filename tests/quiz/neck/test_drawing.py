"""The neck as rows of characters, and what is lit on it when."""

from dataclasses import replace
from itertools import product

import pytest

from engine.feels import Feel
from engine.frets import format_position
from engine.neck import FOUR_STRING, Neck, Position, find_tuning, sounding
from engine.pattern import Spot, parse_pattern
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT
from engine.tunings import own_tuning
from quiz.answers import Verdict
from quiz.display.drawing import drawn
from quiz.display.signs import PLAIN, RICH
from quiz.grading.lines import Grade, asked_part
from quiz.neck.drawing import (
    CELL,
    Mark,
    NeckView,
    Window,
    frets_that_fit,
    legend,
    window_over,
    window_with,
)
from quiz.neck.light import Light, lights, lit
from quiz.neck.shown import excerpt_lights, heard_heights, hearing_lights, neck_of
from quiz.questions.excerpts import Excerpt, question_line
from quiz.questions.hearing import Hearing
from quiz.questions.kinds import Kind
from quiz.questions.value import REGISTERS
from tests.quiz.asking import CATALOGUE, answered, key, made, question

FOUR = Neck()
SIX = Neck(find_tuning("six-string"), 24)
WALK_UP = (Position(0, 5), *(Position(1, fret) for fret in (2, 3, 4, 5)))


def text(view: NeckView, *marked: Position, cursor: Position | None = None) -> list[str]:
    rows = view.rows(dict.fromkeys(marked, Mark.PLACE), PLAIN, cursor)
    return ["".join(piece.text for piece in row).rstrip() for row in rows]


# --- rows ---------------------------------------------------------------------------------------


def test_a_neck_is_drawn_with_the_highest_string_on_top() -> None:
    assert [
        "   0   1   2   3   4   5",
        "G    H---|---|---|---|---:",
        "D    H---|---|---|---|---:",
        "A    H---|-o-|-o-|-o-|-o-:",
        "E    H---|---|---|---|-o-:",
    ] == text(NeckView(FOUR, Window(1, 5)), *WALK_UP)


def test_for_a_left_handed_player_it_is_mirrored() -> None:
    assert [
        "  5   4   3   2   1   0",
        ":---|---|---|---|---H    G",
        ":---|---|---|---|---H    D",
        ":-o-|-o-|-o-|-o-|---H    A",
        ":-o-|---|---|---|---H    E",
    ] == text(NeckView(FOUR, Window(1, 5), left_handed=True), *WALK_UP)


def test_up_the_neck_the_open_strings_stay_and_the_nut_is_left_out() -> None:
    assert [
        "   0  18  19  20",
        "G    :---|---|---|",
        "D    :---|---|---|",
        "A    :---|-o-|---|",
        "E  o :---|---|---|",
    ] == text(NeckView(FOUR, Window(18, 20)), Position(0, 0), Position(1, 19))


@pytest.mark.parametrize(("left_handed", "row"), [
    (False, "G    H---|[-]|---:"), (True, ":---|[-]|---H    G"),
])  # fmt: skip
def test_the_cursor_stands_in_brackets(left_handed: bool, row: str) -> None:
    view = NeckView(FOUR, Window(1, 3), left_handed)
    assert row == text(view, cursor=Position(3, 2))[1]


def test_every_mark_has_a_sign_of_its_own_and_words() -> None:
    places = [Position(0, fret) for fret in range(1, 5)]
    marks = dict(zip(places, Mark, strict=True))
    for signs in (PLAIN, RICH):
        row = NeckView(FOUR, Window(1, 4)).rows(marks, signs)[-1]
        drawn = [piece.text for piece in row if piece.style in {mark.value for mark in Mark}]
        assert 4 == len(set(drawn))
        assert all(f"{one} " in legend(marks, signs) for one in drawn)
    assert "" == legend({}, PLAIN)


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("neck", [FOUR, SIX, Neck(find_tuning("drop-d"))], ids=str)
def test_a_click_finds_the_place_that_is_drawn_there(neck: Neck, left_handed: bool) -> None:
    view = NeckView(neck, Window(3, 9), left_handed)
    count = len(neck.tuning.strings)
    for string, fret in product(range(count), [0, *range(3, 10)]):
        place, row = Position(string, fret), count - string
        drawn = text(view, place)[row]
        column = drawn.index("o", 0 if left_handed else len(neck.tuning.names[string]))
        assert place == view.position_at(column, row)
    assert view.position_at(0 if not left_handed else 60, 1) is None
    assert view.position_at(10, 0) is None
    assert view.position_at(10, count + 1) is None


# --- windows ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("frets", "room", "window"), [
    ([5, 2, 3, 4], 20, (1, 20)), ([5, 2, 3, 4], 10, (1, 10)), ([12, 14], 7, (10, 16)),
    ([19, 20], 6, (15, 20)), ([], 6, (1, 6)), ([0], 6, (1, 6)), ([0, 9], 5, (7, 11)),
    ([3, 18], 6, (3, 8)), ([1], 99, (1, 20)), ([20], 1, (20, 20)),
])  # fmt: skip
def test_the_window_holds_the_figure_in_its_middle(
    frets: list[int], room: int, window: tuple[int, int]
) -> None:
    assert window == window_over(frets, FOUR, room)


def test_the_window_follows_the_cursor_as_little_as_it_must() -> None:
    window = Window(1, 6)
    for fret, shown in [(6, (1, 6)), (7, (2, 7)), (20, (15, 20)), (0, (15, 20)), (14, (14, 19))]:
        window = window_with(window, fret, FOUR, 6)
        assert shown == window


@pytest.mark.parametrize("width", range(1, 130, 7))
def test_what_fits_is_no_wider_than_the_room(width: int) -> None:
    room = frets_that_fit(SIX, width)
    rows = text(NeckView(SIX, window_over([3], SIX, room)))
    assert room == 1 or max(map(len, rows)) <= width
    assert room + 1 > (width - 2 - 3 - 1) / CELL


# --- lights -------------------------------------------------------------------------------------


def test_a_place_is_lit_from_its_start_to_its_end() -> None:
    found = (Light(10, 20, Position(0, 5)), Light(25, 30, Position(1, 2)))  # type: ignore[arg-type]
    lit_at = {tick: lit(found, tick) for tick in (9, 10, 19, 20, 25, 29, 30)}
    assert [None, WALK_UP[0], WALK_UP[0], None, WALK_UP[1], WALK_UP[1], None] == list(
        lit_at.values()
    )
    assert lit(found, None) is None


def test_a_figure_is_lit_note_by_note_in_its_bar() -> None:
    asked = made("walk-up-one-four", Kind.FIND)
    grade = answered(asked, "E5 A2 A3 A4 A5")
    found = excerpt_lights(Excerpt(asked), grade, FOUR, CATALOGUE)
    assert WALK_UP == tuple(light.place for light in found)
    bar = (asked.bar - asked.first + 1) * TICKS_PER_BAR  # a bar of counting stands before it
    starts = [bar + beat * TICKS_PER_BEAT for beat in range(5)]
    assert starts == [light.start for light in found]


def test_the_answer_is_lit_where_the_player_was() -> None:
    asked = made("climb", Kind.FIND)
    grade = answered(asked, "E5 A3 A5 A6")
    played = CATALOGUE.find(asked.device)
    found = excerpt_lights(Excerpt(asked, played), grade, FOUR, CATALOGUE)
    own = (Position(0, 5), Position(1, 3), Position(1, 5), Position(1, 6))
    assert own == tuple(light.place for light in found)
    shown = neck_of(asked, grade, FOUR, heard_heights(asked, CATALOGUE), CATALOGUE)
    assert shown is not None
    assert (own, (Position(1, 3),)) == (shown.own, shown.wrong)


def test_a_tail_alone_is_lit_in_the_second_bar() -> None:
    asked = question("climb+dip", kind=Kind.SPELL, item="dip")
    found = excerpt_lights(Excerpt(asked), Grade(Verdict.RIGHT, 1.0), FOUR, CATALOGUE)
    first = (asked.bar + 1 - asked.first + 1) * TICKS_PER_BAR
    assert first == found[0].start
    assert 6 == len(found)  # 5 b6 5 5 5, and the one arrived at


@pytest.mark.parametrize("register", REGISTERS)
@pytest.mark.parametrize(
    ("device", "kind", "item"),
    [
        ("climb+dip", Kind.NAME, "climb"),
        ("fall+two-five", Kind.WRITE, "two-five"),
        ("climb+dip", Kind.SPELL, "dip"),
        ("walk-up-one-four", Kind.NAME, "walk-up-one-four"),
        ("last-four-twice", Kind.NAME, "last-four-twice"),
    ],
)
def test_what_is_drawn_and_lit_is_what_sounds(
    register: str, device: str, kind: Kind, item: str
) -> None:
    asked = replace(question(device, kind=kind, item=item), register=register)
    grade = Grade(Verdict.RIGHT, 1.0)
    sounds = {note.event.start: note.event.midi for note in question_line(asked, CATALOGUE)}
    found = excerpt_lights(Excerpt(asked), grade, FOUR, CATALOGUE)
    lit_pitches = [sounding(light.place, FOUR_STRING) for light in found]
    assert [sounds[light.start] for light in found] == lit_pitches
    part, heights = asked_part(asked, CATALOGUE), heard_heights(asked, CATALOGUE)
    shown = neck_of(asked, grade, FOUR, heights, CATALOGUE)
    assert shown is not None
    assert set(shown.path) == {light.place for light in found}
    notes = drawn(part, asked.key, neck=FOUR, heights=heights)
    assert [note.height for note in notes] == [sounding(place, FOUR_STRING) for place in shown.path]
    assert [note.labels[2] for note in notes] == [
        format_position(place, FOUR_STRING) for place in shown.path
    ]


def test_what_sounds_off_the_neck_is_drawn_in_the_octave_that_is_on_it() -> None:
    short = Neck(own_tuning("short", ("A0", "D1", "G1")), 20)
    asked = replace(question("climb+dip", kind=Kind.NAME, item="climb"), register="upper")
    heights = heard_heights(asked, CATALOGUE)
    shown = neck_of(asked, Grade(Verdict.RIGHT, 1.0), short, heights, CATALOGUE)
    assert shown is not None
    line = question_line(asked, CATALOGUE)
    heard = next(note.event.midi for note in line if note.device == asked.device)
    assert 12 == heard - sounding(shown.path[0], short.tuning)


def test_another_figure_than_the_one_drawn_lights_nothing() -> None:
    asked = question("climb+plain-five", kind=Kind.NAME)
    other = CATALOGUE.find("fall+plain-five")
    grade = Grade(Verdict.WRONG, 0.0, chosen=other.id)
    assert () == excerpt_lights(Excerpt(asked, other), grade, FOUR, CATALOGUE)
    assert excerpt_lights(Excerpt(asked), grade, FOUR, CATALOGUE)


def test_the_catalogue_lights_every_device_at_the_pitch_that_sounds() -> None:
    for place, device in enumerate(CATALOGUE.devices):
        hearing = Hearing(device.id, key(("A", "F", "Eb")[place % 3]), 100, Feel.SHUFFLE)
        found = hearing_lights(hearing, FOUR, CATALOGUE)
        plan, line = hearing.line(CATALOGUE)
        sounds = {note.event.start: note.event.midi for note in line}
        assert bool(found) == bool(plan.placements)
        for light in found:
            string = FOUR_STRING.open_pitches[light.place.string]
            assert sounds[light.start] == string + light.place.fret, device.id


def test_what_is_played_several_times_is_lit_every_time_and_arrives_once() -> None:
    ending = replace(CATALOGUE.find("last-four-twice"), pattern=parse_pattern("1 3 4 5 | 1"))
    note = question_line(question("climb+plain-five"), CATALOGUE)[0]
    played = [
        replace(note, bar=beat // 4, spot=Spot(beat % 4), device=ending.id) for beat in range(9)
    ]
    places = dict(zip(ending.pattern.strikes, WALK_UP, strict=True))
    found = lights(played, ending, 0, places)
    assert [*WALK_UP[:4], *WALK_UP[:4], WALK_UP[4]] == [light.place for light in found]


@pytest.mark.parametrize("name", ["boogie", "quick-change"])
def test_what_goes_on_through_all_chords_lights_nothing(name: str) -> None:
    hearing = Hearing(name, key("A"), 100, Feel.SHUFFLE)
    assert () == hearing_lights(hearing, FOUR, CATALOGUE)
