"""Styles: the notation, the built-in rows, and what is refused."""

import pytest

from engine.errors import CatalogueError, MusicInputError
from engine.feels import Feel, eighth_tick
from engine.rows import builtin_text
from engine.score import Drum
from engine.styles import (
    Cell,
    Groove,
    Hit,
    Style,
    builtin_styles,
    draw_style,
    parse_groove,
    parse_rhythm,
    read_styles,
)
from engine.timing import TICKS_PER_BEAT

STYLES = pytest.mark.parametrize("style", builtin_styles(), ids=lambda style: style.id)


def of_feel(feel: Feel) -> tuple[Style, ...]:
    return tuple(style for style in builtin_styles() if style.feel is feel)


def cells(groove: Groove, drum: Drum, least: int = 60) -> set[tuple[int, int, int]]:
    """Where a drum is struck at or above a velocity: beat of the bar, cell, cells."""
    return {
        (stroke.cell.beat % 4, stroke.cell.part, stroke.cell.parts)
        for stroke in groove.strokes
        if stroke.drum is drum and stroke.velocity >= least
    }


# --- places -------------------------------------------------------------------------------------


@pytest.mark.parametrize("feel", Feel)
def test_the_second_of_two_cells_falls_where_the_feel_puts_the_off_beat(feel: Feel) -> None:
    assert TICKS_PER_BEAT + eighth_tick(feel, 140) == Cell(1, 1, 2).tick(feel, 140)


def test_three_and_four_cells_divide_the_beat_evenly_in_every_feel() -> None:
    assert [0, 320, 640] == [Cell(0, part, 3).tick(Feel.SWING, 120) for part in range(3)]
    assert [0, 240, 480, 720] == [Cell(0, part, 4).tick(Feel.STRAIGHT, 120) for part in range(4)]


# --- the notation -------------------------------------------------------------------------------


def test_drum_letters_become_strokes_of_falling_velocity() -> None:
    groove = parse_groove("snare Xx og", Feel.SHUFFLE)
    assert 2 == groove.beats
    assert [104, 88, 72, 50] == [stroke.velocity for stroke in groove.strokes]
    assert {Drum.SNARE} == {stroke.drum for stroke in groove.strokes}


def test_a_groove_knows_the_strokes_of_a_stretch_of_beats() -> None:
    groove = parse_groove("kick x x x x | x . . .", Feel.STRAIGHT, whole_bars=True)
    assert 8 == groove.beats
    assert [4] == [stroke.cell.beat for stroke in groove.within(4, 8)]


def test_comping_letters_say_stab_held_chord_accent_and_push() -> None:
    rhythm = parse_rhythm("xo h- -X .> | -", Feel.SWING)
    assert 1 == rhythm.bars
    assert (
        Hit(Cell(0, 0, 2), 80),
        Hit(Cell(0, 1, 2), 66),
        Hit(Cell(1, 0, 2), 80, until=Cell(2, 1, 2)),
        Hit(Cell(2, 1, 2), 92),
        Hit(Cell(3, 1, 2), 84, until=Cell(5), push=True),
    ) == rhythm.hits


def test_a_held_chord_without_a_dash_sounds_for_its_own_cell() -> None:
    (hit,) = parse_rhythm(".. h. .. ..", Feel.STRAIGHT).hits
    assert Cell(1, 1, 2) == hit.until


@pytest.mark.parametrize(
    ("text", "feel", "problem"),
    [
        ("cowbell x x x x", Feel.SWING, "no such piece"),
        ("kick x\nkick x", Feel.SWING, "there twice"),
        ("kick q", Feel.SWING, "'q'"),
        ("kick xxxx", Feel.SWING, "4 cells"),
        ("kick xxx", Feel.STRAIGHT, "3 cells"),
        ("kick x x\nsnare x", Feel.SWING, "equally many beats"),
        ("kick . .", Feel.SWING, "at least one hit"),
        ("kick x | x", Feel.SWING, "without |"),
        ("kick x x x x x", Feel.SWING, "one to 4 beats"),
        ("kick", Feel.SWING, "one to 4 beats"),
    ],
)
def test_tablature_that_breaks_a_rule_is_refused_with_the_reason(
    text: str, feel: Feel, problem: str
) -> None:
    with pytest.raises(MusicInputError, match=problem.replace("|", r"\|")):
        parse_groove(text, feel)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("x x x", "one or two bars"),
        ("x x x x | x x x x | x x x x", "one or two bars"),
        ("x x x x | x", "can only ring on"),
        ("x- .. .. ..", "stands behind h"),
        ("-. x. .. ..", "stands behind h"),
        (".. .. .. ..", "no hit"),
        ("q. .. .. ..", "'q'"),
        ("xxxx .. .. ..", "4 cells"),
    ],
)
def test_a_comping_rhythm_that_breaks_a_rule_is_refused(text: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem):
        parse_rhythm(text, Feel.SWING)


# --- the file -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('id = "hat-shuffle"', 'id = "Hat Shuffle"', "id"),
        ('id = "ride-shuffle"', 'id = "hat-shuffle"', "id"),
        ('name = "shuffle on the hat"', "name = 3", "name"),
        ('feel = "shuffle"', 'feel = "waltz"', "feel"),
        ("voices = 3", "voices = 2", "voices"),
        ("voices = 3", "voices = 5", "voices"),
        ("voices = 3", 'voices = "three"', "voices"),
        ('says = "The hat ticks', 'sings = "The hat ticks', "says"),
        ('source = "common practice"\n', "", "source"),
        ("kick   X. .. x. ..\n''', '''", "cow    X. .. x. ..\n''', '''", "time"),
        ("snare  Xo\nkick   .o", "snare  Xo\nkick   .q", "lift"),
        ("hat    x.. x..", "hat    x.... x..", "fill"),
        ("crash  o.\n", "crash  ..... o.\n", "top"),
        ("stop = '''\nhat    x", "stop = '''\nhut    x", "stop"),
        ("landing = '''\ncrash  X", "landing = '''\ncrash  . |", "landing"),
        ('    "h- .x .. ..",', '    "h- .x ..",', "comping"),
        ("comping = [", "comping = []\nother = [", "comping"),
        ("\n[[style]]\n", '\n[[style]]\nmood = "blue"\n', "mood"),
    ],
)
def test_a_style_with_a_wrong_field_is_refused_naming_entry_and_field(
    old: str, new: str, field: str
) -> None:
    text = builtin_text("styles.toml")
    assert old in text
    with pytest.raises(CatalogueError, match=rf"styles.toml: entry .*, field '{field}'"):
        read_styles(text.replace(old, new, 1), "styles.toml")


def test_a_file_that_leaves_a_feel_without_a_style_is_refused() -> None:
    text, _, _ = builtin_text("styles.toml").partition("# Slow 12/8")
    with pytest.raises(CatalogueError, match="no entry has the feel 'slow'"):
        read_styles(text, "styles.toml")


def test_the_same_seed_draws_the_same_style_and_other_seeds_draw_them_all() -> None:
    for feel in Feel:
        drawn = {draw_style(feel, seed).id for seed in range(40)}
        assert {style.id for style in of_feel(feel)} == drawn
        assert draw_style(feel, 7) is draw_style(feel, 7)


# --- what the built-in styles play (each: common practice, no source) ----------------------------


@STYLES
def test_every_style_has_a_main_groove_and_others_to_vary_with(style: Style) -> None:
    assert len(style.time) >= 3
    assert len(style.fill) >= 2
    assert len(style.comping) >= 4


@pytest.mark.parametrize(
    "style",
    [style for style in builtin_styles() if style.id not in ("ride-swing", "rumba")],
    ids=lambda style: style.id,
)
def test_two_and_four_carry_a_backbeat_on_snare_or_side_stick(style: Style) -> None:
    for groove in style.time:
        back = cells(groove, Drum.SNARE) | cells(groove, Drum.SIDE_STICK)
        assert {1, 3} <= {beat for beat, part, _ in back if part == 0}


@pytest.mark.parametrize("style", of_feel(Feel.SWING), ids=lambda style: style.id)
def test_the_swing_ride_plays_one_two_and_three_four_and_over_a_foot_on_two_and_four(
    style: Style,
) -> None:
    for groove in style.time:
        assert {(0, 0), (1, 0), (1, 1), (2, 0), (3, 0), (3, 1)} == {
            place[:2] for place in cells(groove, Drum.RIDE)
        }
        assert {(1, 0), (3, 0)} == {place[:2] for place in cells(groove, Drum.PEDAL_HAT)}


def test_the_swing_kick_is_feathered_on_all_four_beats() -> None:
    style = next(style for style in of_feel(Feel.SWING) if style.id == "ride-swing")
    for groove in style.time:
        soft = cells(groove, Drum.KICK, least=1) - cells(groove, Drum.KICK)
        assert {(0, 0), (1, 0), (2, 0), (3, 0)} == {place[:2] for place in soft}


@pytest.mark.parametrize("style", of_feel(Feel.SLOW), ids=lambda style: style.id)
def test_slow_twelve_eight_spells_the_triplets_on_hat_or_ride(style: Style) -> None:
    main = style.time[0]
    assert 12 == len(cells(main, Drum.CLOSED_HAT) | cells(main, Drum.RIDE))


@pytest.mark.parametrize("feel", [Feel.SHUFFLE, Feel.STRAIGHT])
def test_shuffle_and_straight_keep_eighths_on_hat_or_ride(feel: Feel) -> None:
    for style in of_feel(feel):
        main = style.time[0]
        assert 8 == len(cells(main, Drum.CLOSED_HAT) | cells(main, Drum.RIDE))


@STYLES
def test_a_fill_is_small_and_takes_no_more_than_the_last_two_beats(style: Style) -> None:
    assert {2} == {fill.beats for fill in style.fill}
    assert {1} == {lift.beats for lift in style.lift}


@STYLES
def test_the_last_hit_has_a_cymbal_that_rings_and_a_kick(style: Style) -> None:
    struck = {stroke.drum for stroke in style.landing.strokes}
    assert {Drum.CRASH, Drum.KICK} <= struck


@STYLES
def test_no_hand_plays_hat_and_ride_or_crash_at_one_moment(style: Style) -> None:
    """Two hands: closed hat, ride and crash each need the same one; landing chords aside."""
    for groove in (*style.time, *style.lift, *style.fill, style.top):
        held = [
            stroke.cell
            for stroke in groove.strokes
            if stroke.drum in (Drum.CLOSED_HAT, Drum.RIDE, Drum.CRASH)
        ]
        assert len(set(held)) == len(held)
