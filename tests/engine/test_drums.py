"""The drummer: count-in, time, fills, stops and landing."""

import random
from collections.abc import Sequence

import pytest

from engine.catalogue import Device, builtin_catalogue
from engine.drums import draw_main, drum_track, find_stops, pair_of
from engine.feels import FEELS, Feel, bar_tick
from engine.forms import find_form
from engine.pattern import Spot
from engine.plan import Plan, excerpt, plan_choruses
from engine.score import KIT, PERCUSSION_CHANNEL, Drum, NoteEvent, Part
from engine.styles import builtin_styles, draw_style
from engine.theory import Key, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick, seconds_at

F = Key(Note("F"))
NEAR = 24
"""Ticks within which a hit counts as on its place: a few milliseconds at any tempo played."""


def device(name: str) -> Device:
    return builtin_catalogue().find(name)


def plan(
    *devices: tuple[int, str],
    feel: Feel = Feel.SHUFFLE,
    form: str = "twelve-bar",
    tempo: float | None = None,
    choruses: int = 1,
) -> Plan:
    facts = FEELS[feel]
    tempo = (facts.slowest + facts.fastest) / 2 if tempo is None else tempo
    placed = [(choruses - 1, bar, device(name)) for bar, name in devices]
    return plan_choruses(find_form(form), F, feel, tempo, device("two-beat"), placed, choruses)


def of(notes: tuple[NoteEvent, ...], *drums: Drum) -> list[NoteEvent]:
    return [note for note in notes if note.midi in {drum.value for drum in drums}]


def places(notes: list[NoteEvent], bar: int) -> list[float]:
    """Beats of the bar (the count-in is bar 0), rounded to a tenth, where notes start."""
    first = bar_tick(bar)
    return [
        round((note.start - first) / TICKS_PER_BEAT, 1)
        for note in notes
        if first - NEAR <= note.start < first + TICKS_PER_BAR - NEAR
    ]


def alike(wanted: Sequence[tuple[int, int]], heard: Sequence[tuple[int, int]]) -> bool:
    """Whether the same drums are struck at the same places, but for a few milliseconds."""
    return len(wanted) == len(heard) and all(
        any(drum == other and abs(tick - place) <= NEAR for other, place in heard)
        for drum, tick in wanted
    )


FEEL = pytest.mark.parametrize("feel", Feel, ids=lambda feel: feel.value)


@FEEL
def test_the_count_in_is_four_side_stick_clicks_exactly_on_the_beats(feel: Feel) -> None:
    track = drum_track(plan(feel=feel), 5)
    counted = [note for note in track.notes if note.start < TICKS_PER_BAR - NEAR]
    assert [0, 960, 1920, 2880] == [note.start for note in counted]
    assert {Drum.SIDE_STICK.value} == {note.midi for note in counted}
    assert 1 == len({note.velocity for note in counted})


def test_drums_are_a_kit_on_the_percussion_channel() -> None:
    track = drum_track(plan(), 1)
    assert (track.part, track.instrument, track.channel) == (Part.DRUMS, KIT, PERCUSSION_CHANNEL)


@FEEL
@pytest.mark.parametrize("seed", range(4))
def test_hits_stay_within_a_few_milliseconds_of_the_grid(feel: Feel, seed: int) -> None:
    music = plan(feel=feel)
    style = draw_style(feel, seed)
    grooves = (*style.time, *style.lift, *style.fill, style.top, style.landing)
    grid = {
        stroke.cell.tick(feel, music.tempo) % TICKS_PER_BEAT
        for groove in grooves
        for stroke in groove.strokes
    }
    for note in drum_track(music, seed).notes:
        within = note.start % TICKS_PER_BEAT
        off = min(abs(within - place - wrap) for place in grid for wrap in (0, TICKS_PER_BEAT))
        assert seconds_at(Tick(off), music.tempo) <= 0.0035


@FEEL
@pytest.mark.parametrize("seed", range(4))
def test_no_two_bars_are_struck_alike_yet_the_groove_is_held(feel: Feel, seed: int) -> None:
    notes = drum_track(plan(feel=feel), seed).notes
    bars = [
        tuple(
            (note.start % TICKS_PER_BAR, note.velocity)
            for note in notes
            if note.start // TICKS_PER_BAR == bar
        )
        for bar in range(1, 12)
    ]
    assert len(set(bars)) == len(bars)
    shapes = [
        tuple(
            sorted(
                {
                    (round(place, 1), drum)
                    for drum in Drum
                    for place in places(of(notes, drum), bar)
                },
                key=str,
            )
        )
        for bar in range(1, 12)
    ]
    assert 2 <= len(set(shapes)) <= 9


@FEEL
def test_the_fill_comes_in_the_last_two_beats_of_the_form_and_nowhere_else(feel: Feel) -> None:
    """The first two beats of bar 12 are time, the last two are one of the style's fills."""
    for seed in range(6):
        music = plan(feel=feel)
        start = bar_tick(12) + 2 * TICKS_PER_BEAT
        heard = [
            (note.midi, note.start - start)
            for note in drum_track(music, seed).notes
            if start - NEAR <= note.start < bar_tick(13) - NEAR
        ]
        fills = [
            [(stroke.drum.value, stroke.cell.tick(feel, music.tempo)) for stroke in fill.strokes]
            for fill in draw_style(feel, seed).fill
        ]
        assert any(alike(fill, heard) for fill in fills)


@FEEL
def test_the_landing_is_one_hit_whose_cymbal_rings_to_the_end(feel: Feel) -> None:
    music = plan(feel=feel)
    notes = drum_track(music, 3).notes
    last = [note for note in notes if note.start >= bar_tick(13) - NEAR]
    assert {0.0} == set(places(last, 13))
    (crash,) = of(tuple(last), Drum.CRASH)
    assert music.length == crash.end


def test_a_second_chorus_starts_with_the_style_s_own_top() -> None:
    for seed in range(6):
        style = draw_style(Feel.STRAIGHT, seed)
        notes = drum_track(plan(feel=Feel.STRAIGHT, choruses=2), seed).notes
        assert 0.0 in places(of(notes, Drum.CRASH), 13), style.id
        assert [] == places(of(notes, Drum.CRASH), 1)


# --- fairness -----------------------------------------------------------------------------------


@FEEL
@pytest.mark.parametrize("other", ["fall+plain-five", "scale-climb+dip", "one-six-two-five"])
def test_which_turnaround_is_played_cannot_be_heard_from_the_drums(feel: Feel, other: str) -> None:
    one = drum_track(plan((11, "climb+plain-five"), feel=feel), 9)
    assert one == drum_track(plan((11, other), feel=feel), 9)


def test_one_bar_does_not_shift_the_chances_of_the_next() -> None:
    """Without its last bar, whose ending stops the band, the chorus is struck as before."""
    until = bar_tick(12) - NEAR
    plain = [note for note in drum_track(plan(), 4).notes if note.start < until]
    ended = [note for note in drum_track(plan((11, "run-up")), 4).notes if note.start < until]
    # a cymbal may ring on; where and how hard it was struck is the same
    assert [(note.start, note.midi, note.velocity) for note in plain] == [
        (note.start, note.midi, note.velocity) for note in ended
    ]


# --- endings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "bar_12", "landing"),
    [
        ("climb-five-one", [0.0, 2.0], [0.0]),
        ("climb-half-above", [0.0, 2.0], [0.0]),
        ("run-up", [0.0, 2.0, 3.0], [0.0]),
        ("flat-six-five-one", [0.0, 2.0], [0.0]),
        ("blues-run-down", [0.0, 1.0, 2.0], []),
        ("four-to-one", [0.0], []),
        ("stop-half-above", [0.0], []),
        ("chromatic-fall-ending", [0.0, 1.0, 2.0, 3.0], []),
    ],
)
def test_the_drums_stop_with_the_line_of_an_ending(
    name: str, bar_12: list[float], landing: list[float]
) -> None:
    for feel in Feel:
        notes = drum_track(plan((11, name), feel=feel), 2).notes
        assert bar_12 == sorted(set(places(list(notes), 12)))
        assert landing == sorted(set(places(list(notes), 13)))


def test_the_last_hit_of_an_ending_rings_from_where_the_line_ends() -> None:
    music = plan((11, "stop-half-above"))
    notes = drum_track(music, 2).notes
    (crash,) = [note for note in of(notes, Drum.CRASH) if note.start > bar_tick(12) - NEAR]
    assert [0.0] == places([crash], 12)
    assert music.length == crash.end


def test_bar_11_of_an_ending_keeps_time() -> None:
    with_ending = drum_track(plan((11, "climb-five-one")), 2).notes
    without = drum_track(plan(), 2).notes
    assert places(of(without, Drum.SNARE), 11) == places(of(with_ending, Drum.SNARE), 11)


def test_an_ending_played_three_times_keeps_time_up_to_the_landing() -> None:
    music = plan((9, "last-four-three-times"))
    assert find_stops(music) is None
    notes = drum_track(music, 2).notes
    assert 21 == len(music.bars)
    for bar in range(9, 21):
        assert len(places(list(notes), bar)) > 6
    assert [0.0] == places(of(notes, Drum.CRASH), 21)


def test_the_stops_of_an_ending_are_its_strikes_from_the_last_bar_on() -> None:
    stops = find_stops(plan((11, "run-up")))
    assert stops is not None
    assert (Spot(44), Spot(46), Spot(47), Spot(48)) == stops.spots
    assert (44, Spot(48)) == (stops.first, stops.last)


def test_a_turnaround_has_no_stops() -> None:
    assert find_stops(plan((11, "climb+dip"))) is None


def test_an_excerpt_counts_in_and_lands_like_a_whole_chorus() -> None:
    music = excerpt(plan((11, "climb+dip")), 9, 11)
    notes = drum_track(music, 2).notes
    assert [0.0, 1.0, 2.0, 3.0] == places(list(notes), 0)
    assert [0.0] == places(of(notes, Drum.CRASH), 4)


# --- how patterns are drawn ---------------------------------------------------------------------


def test_the_first_of_several_patterns_is_drawn_half_of_the_time() -> None:
    drawn = [draw_main("abc", f"{random.Random(seed).random()}") for seed in range(2000)]
    assert 0.45 < drawn.count("a") / 2000 < 0.55
    assert 0.2 < drawn.count("b") / 2000 < 0.3


def test_bars_are_paired_by_the_form_also_in_an_excerpt() -> None:
    whole = plan()
    part = excerpt(whole, 3, 11)
    assert [0, 1, 0, 1] == [pair_of(whole, bar)[1] for bar in range(4)]
    assert pair_of(whole, 3) == pair_of(part, 0)


def test_every_style_is_heard_from_some_seed() -> None:
    assert {style.id for style in builtin_styles()} == {
        draw_style(feel, seed).id for feel in Feel for seed in range(20)
    }
