"""Plans: bars in order, chords that devices imply, and what has no place."""

import math
from itertools import pairwise

import pytest

from engine.catalogue import Device, Family, builtin_catalogue, places
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import Form, builtin_forms, find_form
from engine.pattern import Spot, Tone
from engine.plan import COUNT_IN_BARS, Plan, excerpt, plan_choruses
from engine.theory import OCTAVE, Key, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT

CATALOGUE = builtin_catalogue()
WHOLE = (*CATALOGUE.turnarounds(), *CATALOGUE.family(Family.PICKUP, Family.ENDING))


def device(name: str) -> Device:
    return CATALOGUE.find(name)


def plan(
    *placed: tuple[int, int, str],
    form: str = "twelve-bar",
    choruses: int = 1,
    tempo: float = 120,
    feel: Feel = Feel.SHUFFLE,
) -> Plan:
    shape = find_form(form)
    return plan_choruses(
        shape,
        Key(Note("F"), shape.minor),
        feel,
        tempo,
        device("two-beat"),
        [(chorus, bar, device(name)) for chorus, bar, name in placed],
        choruses,
    )


def chords(music: Plan, first: int, last: int) -> str:
    """The chords of bar index `first` to `last`: one a bar, or one a beat where they change."""
    bars = music.bars[first : last + 1]
    return " | ".join(
        str(bar.chords[0]) if len(set(bar.chords)) == 1 else " ".join(map(str, bar.chords))
        for bar in bars
    )


# --- bars ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("choruses", [1, 2, 5])
@pytest.mark.parametrize("form", builtin_forms(), ids=lambda form: form.id)
def test_a_plan_is_its_choruses_and_a_landing_on_the_top(form: Form, choruses: int) -> None:
    music = plan(form=form.id, choruses=choruses)
    *bars, landing = music.bars
    numbers = [(chorus, bar) for chorus in range(choruses) for bar in range(1, len(form) + 1)]
    assert numbers == [(bar.chorus, bar.number) for bar in bars]
    assert not any(bar.landing for bar in bars)
    assert (True, 1, choruses) == (landing.landing, landing.number, landing.chorus)
    assert form.bars[0] == landing.chords


def test_the_count_in_comes_before_the_first_bar_and_the_landing_is_a_whole_bar() -> None:
    music = plan()
    assert COUNT_IN_BARS * TICKS_PER_BAR == music.tick(0, Spot(0))
    assert (COUNT_IN_BARS + 13) * TICKS_PER_BAR == music.length


def test_a_spot_is_counted_from_its_bar() -> None:
    music = plan()
    assert music.tick(4, Spot(0)) == music.tick(3, Spot(4)) == music.tick(0, Spot(16))
    assert music.tick(2, Spot(1)) + TICKS_PER_BEAT * 2 // 3 == music.tick(2, Spot(1, True))
    assert "IV7" == str(music.chord(4, 3))


def test_only_the_slow_feel_is_compound() -> None:
    assert [False, False, False, True] == [plan(feel=feel, tempo=70).compound for feel in Feel]


@pytest.mark.parametrize("tempo", [0, -5, 1e9, math.nan, math.inf])
def test_a_tempo_that_cannot_be_played_is_refused(tempo: float) -> None:
    with pytest.raises(MusicInputError, match=r"^tempo .*: give beats a minute from 30 to 320$"):
        plan(tempo=tempo)


@pytest.mark.parametrize("choruses", [0, -1])
def test_a_plan_has_at_least_one_chorus(choruses: int) -> None:
    with pytest.raises(MusicInputError, match=f"^{choruses} choruses: give 1 or more$"):
        plan(choruses=choruses)


# --- placing ------------------------------------------------------------------------------------


def test_devices_stand_where_they_are_put_in_order_of_bars() -> None:
    music = plan((1, 11, "run-up"), (0, 11, "climb+dip"), (0, 4, "walk-up-one-four"), choruses=2)
    placed = [(placement.bar, placement.device.id) for placement in music.placements]
    assert [(3, "walk-up-one-four"), (10, "climb+dip"), (22, "run-up")] == placed


@pytest.mark.parametrize(
    ("bar", "name", "problem"),
    [
        (
            10,
            "climb+dip",
            r"'climb \+ dip' does not start in bar 10 of the twelve-bar blues: it "
            "may start in 11$",
        ),
        (5, "walk-up-one-four", "it may start in 4$"),
        (4, "walk-up-four-one", "it may start in 6, 10$"),
        (12, "walk-up-five-one", "it may start in no bar$"),
        (0, "run-up", "does not start in bar 0"),
        (-1, "run-up", "does not start in bar -1"),
        (999, "run-up", "does not start in bar 999"),
        (11, "climb", "'climb' cannot stand alone: a turnaround is HEAD.TAIL"),
        (12, "dip", "'dip' cannot stand alone"),
        (1, "two-beat", "'root-fifth two-beat' cannot stand alone"),
        (11, "climb+doubled", "'climb, doubled' cannot stand alone"),
    ],
)
def test_a_device_that_has_no_place_there_is_refused(bar: int, name: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem):
        plan((0, bar, name))


@pytest.mark.parametrize("chorus", [-1, 2, 7])
def test_a_chorus_that_is_not_played_is_refused(chorus: int) -> None:
    with pytest.raises(MusicInputError, match=rf"in chorus index {chorus}: give 0 to 1$"):
        plan((chorus, 11, "climb+dip"), choruses=2)


@pytest.mark.parametrize("name", ["run-up", "stop-half-above"])
def test_an_ending_belongs_into_the_last_chorus(name: str) -> None:
    assert plan((1, 11, name), choruses=2).placements
    with pytest.raises(MusicInputError, match="ends the tune: put it into the last chorus, number"):
        plan((0, 11, name), choruses=2)


@pytest.mark.parametrize(
    ("one", "other", "form"),
    [
        ((11, "climb+dip"), (11, "fall+dip"), "twelve-bar"),
        ((11, "climb+dip"), (12, "walk-up-five-one"), "twelve-bar-five"),
        ((9, "last-four-twice"), (11, "run-up"), "twelve-bar"),
        ((9, "last-four-once"), (10, "walk-up-four-one"), "twelve-bar"),
        ((5, "sharp-four-bar"), (6, "scale-down-four-one"), "twelve-bar"),
    ],
)
def test_devices_that_overlap_are_refused(
    one: tuple[int, str], other: tuple[int, str], form: str
) -> None:
    with pytest.raises(MusicInputError, match=r"' overlap: move one of them$"):
        plan((0, *one), (0, *other), form=form)


def test_devices_may_follow_each_other_at_once() -> None:
    music = plan((0, 9, "walk-down-five-four"), (0, 10, "walk-up-four-one"), (0, 11, "fall+dip"))
    assert [8, 9, 10] == [placement.bar for placement in music.placements]


# --- chords -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("climb+plain-five", "I7 | V7"),
        ("stay+stay-on-one", "I7 | I7"),
        ("stay+late-five", "I7 | I7 IV7 #IVdim7 V7"),
        ("one-six-two-five", "I7 I7 VI7 VI7 | IIm7 IIm7 V7 V7"),
        ("climb+flat-six-five", "I7 | bVI7 bVI7 V7 V7"),
        ("fall-half-above", "I7 | V7 V7 bII7 bII7"),
    ],
)
def test_the_band_plays_the_chords_that_a_device_implies(name: str, expected: str) -> None:
    music = plan((0, 11, name))
    assert expected == chords(music, 10, 11)
    assert chords(plan(), 0, 9) == chords(music, 0, 9)


def test_a_device_that_implies_no_chords_leaves_those_of_the_form() -> None:
    assert chords(plan(), 0, 12) == chords(plan((0, 4, "walk-up-one-four")), 0, 12)


def test_in_a_minor_tune_the_one_and_the_four_of_a_device_are_minor() -> None:
    # common practice, no source
    music = plan((0, 11, "stay+late-five"), form="minor-blues")
    assert "Im7 | Im7 IVm7 #IVdim7 V7" == chords(music, 10, 11)
    flat_six = plan((0, 11, "climb-flat-third+flat-six-five"), form="minor-blues")
    assert "Im7 | bVI7 bVI7 V7 V7" == chords(flat_six, 10, 11)
    assert "Im7" == chords(music, 12, 12)


RUNS = {"blues-run-down", "chromatic-fall-ending"}
"""Run down a scale over one chord, whatever stands on the beat."""


@pytest.mark.parametrize("form", builtin_forms(), ids=lambda form: form.id)
def test_on_every_downbeat_a_device_has_a_note_of_the_chord_that_the_band_plays(form: Form) -> None:
    # common practice, no source
    tonic = Note("F")
    for row in WHOLE:
        for bar in places(row, form) if row.id not in RUNS else ():
            music = plan((0, bar, row.id), form=form.id)
            for step in row.pattern.steps:
                if step.spot.beat % 4 == 0 and isinstance(step.what, Tone):
                    chord = music.chord(bar - 1 + step.spot.bar, 0)
                    sounding = (tonic.pitch_class + step.what.semitones) % OCTAVE
                    assert sounding in chord.pitch_classes(tonic), (row.id, bar)


# --- endings that are played several times ------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "times"), [("last-four-once", 1), ("last-four-twice", 2), ("last-four-three-times", 3)]
)
def test_an_ending_that_repeats_makes_the_last_chorus_longer(name: str, times: int) -> None:
    music = plan((1, 9, name), choruses=2)
    assert 24 + 4 * (times - 1) + 1 == len(music.bars)
    tags = [bar.number for bar in music.bars[20:-1]]
    assert [9, 10, 11, 12] * times == tags
    assert {1} == {bar.chorus for bar in music.bars[12:-1]}
    assert music.bars[-1].landing


# --- excerpts -----------------------------------------------------------------------------------


def test_an_excerpt_is_some_bars_and_the_downbeat_after_them() -> None:
    music = plan((0, 4, "walk-up-one-four"), (0, 11, "climb+dip"))
    part = excerpt(music, 8, 11)
    assert [9, 10, 11, 12, 1] == [bar.number for bar in part.bars]
    assert [False] * 4 + [True] == [bar.landing for bar in part.bars]
    assert [(2, "climb+dip")] == [(one.bar, one.device.id) for one in part.placements]
    assert chords(music, 8, 12) == chords(part, 0, 4)
    assert (COUNT_IN_BARS + 5) * TICKS_PER_BAR == part.length


def test_an_excerpt_in_the_middle_lands_on_the_next_bar_of_the_form() -> None:
    part = excerpt(plan((0, 4, "walk-up-one-four")), 2, 3)
    assert [3, 4, 5] == [bar.number for bar in part.bars]
    assert part.bars[-1].landing
    assert "IV7" == str(part.chord(2, 0))
    assert [(1, "walk-up-one-four")] == [(one.bar, one.device.id) for one in part.placements]


@pytest.mark.parametrize(("first", "last"), [(11, 11), (8, 10), (0, 10), (0, 0)])
def test_a_device_that_does_not_lie_wholly_inside_is_left_out(first: int, last: int) -> None:
    music = plan((0, 11, "climb+dip"))
    assert () == excerpt(music, first, last).placements


def test_a_repeated_ending_lies_inside_only_with_all_its_repeats() -> None:
    music = plan((0, 9, "last-four-twice"))
    assert 1 == len(excerpt(music, 4, 15).placements)
    assert () == excerpt(music, 4, 14).placements
    assert () == excerpt(music, 8, 11).placements


def test_an_excerpt_of_everything_is_the_plan() -> None:
    music = plan((0, 4, "walk-up-one-four"), (0, 11, "climb+dip"))
    assert music == excerpt(music, 0, 11)


def test_an_excerpt_of_an_excerpt_is_an_excerpt_of_the_plan() -> None:
    music = plan((0, 4, "walk-up-one-four"), (0, 11, "climb+dip"), choruses=2)
    assert excerpt(music, 3, 5) == excerpt(excerpt(music, 2, 8), 1, 3)


def test_bars_stand_one_bar_apart() -> None:
    music = plan(choruses=3)
    ticks = [music.tick(bar, Spot(0)) for bar in range(len(music.bars))]
    assert {TICKS_PER_BAR} == {b - a for a, b in pairwise(ticks)}
