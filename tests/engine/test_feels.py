"""How a beat is divided."""

import pytest

from engine.errors import MusicInputError
from engine.feels import FEELS, Feel, bar_tick, eighth_tick, find_feel, spot_tick, swing_ratio
from engine.timing import FASTEST, SLOWEST, TICKS_PER_BAR, TICKS_PER_BEAT


def test_every_feel_has_facts_within_the_tempi_that_can_be_played() -> None:
    assert set(Feel) == set(FEELS)
    for facts in FEELS.values():
        assert SLOWEST <= facts.slowest < facts.fastest <= FASTEST


def test_only_the_slow_feel_is_written_in_twelve_eight() -> None:
    assert [Feel.SLOW] == [feel for feel, facts in FEELS.items() if facts.compound]


@pytest.mark.parametrize(
    ("feel", "bpm", "ratio"),
    [
        (Feel.STRAIGHT, 120, 1.0),
        (Feel.SHUFFLE, 120, 2.0),
        (Feel.SLOW, 60, 2.0),
        # 3.46 - 0.0070 bpm between 1.2 and 2.8: the fit to the drummers of the Jazz Trio Database
        (Feel.SWING, 60, 2.8),
        (Feel.SWING, 120, 2.62),
        (Feel.SWING, 200, 2.06),
        (Feel.SWING, 320, 1.22),
    ],
)
def test_the_long_part_of_a_beat_against_the_short(feel: Feel, bpm: float, ratio: float) -> None:
    assert ratio == pytest.approx(swing_ratio(feel, bpm))


def test_the_second_eighth_stands_where_the_ratio_puts_it() -> None:
    assert TICKS_PER_BEAT // 2 == eighth_tick(Feel.STRAIGHT, 120)
    assert TICKS_PER_BEAT * 2 // 3 == eighth_tick(Feel.SHUFFLE, 120)
    assert TICKS_PER_BEAT * 2 // 3 == eighth_tick(Feel.SLOW, 60)
    assert round(TICKS_PER_BEAT * 2.62 / 3.62) == eighth_tick(Feel.SWING, 120)


def test_swing_narrows_as_the_tempo_rises() -> None:
    eighths = [eighth_tick(Feel.SWING, bpm) for bpm in range(100, 321, 20)]
    assert sorted(eighths, reverse=True) == eighths
    assert len(eighths) == len(set(eighths))


@pytest.mark.parametrize("bpm", [140, 180, 220, 260])
def test_the_short_note_of_swing_is_about_a_tenth_of_a_second(bpm: float) -> None:
    # A. Friberg and A. Sundstroem, Music Perception 19(3), 2002, 333-349: about 100 ms at medium
    # and fast tempi
    short = (TICKS_PER_BEAT - eighth_tick(Feel.SWING, bpm)) / TICKS_PER_BEAT * 60 / bpm
    assert 0.1 == pytest.approx(short, abs=0.03)


@pytest.mark.parametrize("feel", Feel)
def test_places_on_the_grid_come_one_after_the_other(feel: Feel) -> None:
    bpm = FEELS[feel].slowest
    grid = [spot_tick(beat, offbeat, feel, bpm) for beat in range(8) for offbeat in (False, True)]
    assert sorted(set(grid)) == grid
    assert [beat * TICKS_PER_BEAT for beat in range(8)] == grid[::2]


def test_bars_are_four_beats_apart() -> None:
    assert [0, TICKS_PER_BAR, 12 * TICKS_PER_BAR] == [bar_tick(bar) for bar in (0, 1, 12)]


@pytest.mark.parametrize("feel", Feel)
def test_a_feel_is_found_by_its_name(feel: Feel) -> None:
    assert feel is find_feel(feel.value)


@pytest.mark.parametrize("name", ["", "Shuffle", "waltz", "\x1b[2J", "x" * 10_000])
def test_an_unknown_feel_is_refused_with_those_there_are(name: str) -> None:
    allowed = "shuffle, straight, swing, slow"
    with pytest.raises(MusicInputError, match=rf"^there is no feel '.*': give one of {allowed}$"):
        find_feel(name)
