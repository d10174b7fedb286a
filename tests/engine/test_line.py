"""The bass line: what is struck when, how high, how long and how loud."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import mean

import pytest

from engine.catalogue import Device, builtin_catalogue
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import find_form
from engine.line import A1, A3, E1, GAP, HEARD_WELL, Compass, LineNote, outline, write_line
from engine.pattern import Spot, parse_pattern
from engine.plan import Plan, excerpt, plan_choruses
from engine.theory import OCTAVE, Key, Midi, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT


def device(name: str) -> Device:
    return builtin_catalogue().find(name)


def plan(
    *placed: tuple[int, str | Device],
    base: str = "two-beat",
    form: str = "twelve-bar",
    tonic: str = "F",
    feel: Feel = Feel.SHUFFLE,
) -> Plan:
    """One chorus at 120 with devices given as (bar, id or device)."""
    shape = find_form(form)
    key = Key(Note(tonic[0], -tonic.count("b")), shape.minor)
    devices = [(0, bar, device(row) if isinstance(row, str) else row) for bar, row in placed]
    return plan_choruses(shape, key, feel, 120, device(base), devices)


def bar(notes: tuple[LineNote, ...], number: int) -> list[LineNote]:
    """The notes of the bar of that number, counted from 1."""
    return [note for note in notes if note.bar == number - 1]


def degrees(notes: list[LineNote]) -> str:
    return " ".join(str(note.degree) for note in notes)


def names(notes: list[LineNote]) -> str:
    return " ".join(str(note.note) for note in notes)


def leaps(notes: Sequence[LineNote]) -> list[int]:
    """In semitones, without sign, from each note to the next."""
    return [abs(b.event.midi - a.event.midi) for a, b in pairwise(notes)]


def beats(notes: list[LineNote]) -> list[tuple[int, bool]]:
    return [(note.spot.beat, note.spot.offbeat) for note in notes]


# --- the base pattern ---------------------------------------------------------------------------


def test_the_base_pattern_counts_against_the_chord_of_the_bar() -> None:
    line = write_line(plan(), seed=1)
    assert ["F C", "Bb F", "C G"] == [names(bar(line, number)) for number in (1, 5, 9)]
    assert ["1 5", "4 1", "5 2"] == [degrees(bar(line, number)) for number in (1, 5, 9)]


def test_a_pattern_of_two_bars_plays_its_second_bar_over_the_same_chord_again() -> None:
    line = write_line(plan(base="boogie"), seed=1)
    assert "F A C D" == names(bar(line, 1))
    assert "Eb D C A" == names(bar(line, 2))
    assert "F A C D" == names(bar(line, 3))
    assert "Bb D F G" == names(bar(line, 5))
    assert "Ab G F D" == names(bar(line, 6))
    assert "C E G A" == names(bar(line, 9))  # one bar of five, then one of four
    assert "Bb D F G" == names(bar(line, 10))


def test_a_pattern_bends_to_a_minor_and_to_a_diminished_chord() -> None:
    minor = write_line(plan(base="boogie", form="minor-blues"), seed=1)
    assert "F Ab C D" == names(bar(minor, 1))
    jazz = write_line(plan(base="boogie", form="jazz-blues"), seed=1)
    assert "B D F G#" == names(bar(jazz, 6))


def test_a_chord_that_comes_within_a_bar_starts_on_its_root() -> None:
    line = write_line(plan(form="jazz-blues"), seed=1)
    assert "F D" == names(bar(line, 11))  # I7 VI7
    assert "G C" == names(bar(line, 12))  # IIm7 V7


def test_eighths_stand_where_the_feel_puts_them() -> None:
    line = write_line(plan(base="root-eighths"), seed=1)
    first = bar(line, 1)
    grid = [(beat, offbeat) for beat in range(4) for offbeat in (False, True)]
    assert grid == beats(first)
    expected = [
        TICKS_PER_BAR + beat * TICKS_PER_BEAT + (640 if offbeat else 0) for beat, offbeat in grid
    ]
    assert expected == [note.event.start for note in first]


def test_a_doubled_base_pattern_plays_eighths() -> None:
    line = write_line(plan(base="boogie+doubled"), seed=1)
    assert "F F A A C C D D" == names(bar(line, 1))


def test_a_leading_note_is_a_half_step_off_or_the_fifth_of_the_next_downbeat() -> None:
    steps: Counter[int] = Counter()
    for seed in range(60):
        line = write_line(plan(base="walking", feel=Feel.SWING), seed)
        for lead, target in pairwise(line):
            if lead.spot == Spot(3) and lead.device is None:
                steps[(lead.event.midi - target.event.midi) % OCTAVE] += 1
    assert {11, 1, 7} == set(steps)
    # 22, 20 and 24 of 66, as counted on arrivals over the Weimar Jazz Database
    total = sum(steps.values())
    shares = [steps[step] / total for step in (11, 1, 7)]
    assert [22 / 66, 20 / 66, 24 / 66] == pytest.approx(shares, abs=0.06)


def test_a_leading_note_leads_into_the_first_note_of_a_device() -> None:
    for seed in range(20):
        line = write_line(plan((11, "three-six-two-five"), base="walking"), seed)
        (lead,) = [note for note in bar(line, 10) if note.spot == Spot(3)]
        assert "A" == names(bar(line, 11)[:1])  # the third of F
        assert str(lead.note) in ("G#", "Bb", "E")


# --- devices ------------------------------------------------------------------------------------


def test_a_device_has_its_degrees_on_its_beats_and_its_downbeat_on_the_top() -> None:
    line = write_line(plan((11, "climb+dip")), seed=1)
    assert "1 3 4 #4" == degrees(bar(line, 11))
    assert "5 b6 5 5 5" == degrees(bar(line, 12))
    assert [(0, False), (1, False), (1, True), (2, False), (3, False)] == beats(bar(line, 12))
    assert "F A Bb B" == names(bar(line, 11))
    (top,) = bar(line, 13)
    assert ("1", "climb+dip") == (str(top.degree), top.device)
    assert {"climb+dip"} == {note.device for note in bar(line, 11) + bar(line, 12)}


def test_a_device_keeps_its_contour() -> None:
    line = write_line(plan((11, "fall+dip")), seed=1)
    played = [note.event.midi for note in line if note.device]
    above = [tone.semitones for tone in device("fall+dip").pattern.tones]
    assert {played[0] - above[0]} == {a - b for a, b in zip(played, above, strict=True)}


def test_the_base_pattern_goes_on_where_a_device_says_so() -> None:
    line = write_line(plan((4, "half-below-into-four")), seed=1)
    assert [("F", None), ("C", None), ("A", "half-below-into-four")] == [
        (str(note.note), note.device) for note in bar(line, 4)
    ]
    assert [("Bb", "half-below-into-four"), ("F", None)] == [
        (str(note.note), note.device) for note in bar(line, 5)
    ]


def test_where_two_devices_meet_the_later_one_has_the_beat() -> None:
    line = write_line(plan((10, "walk-up-four-one"), (11, "fall+dip")), seed=1)
    assert {"fall+dip"} == {note.device for note in bar(line, 11)}
    assert "4 6 b7 7" == degrees(bar(line, 10))


def test_where_the_later_device_leaves_the_beat_the_earlier_one_arrives_on_it() -> None:
    line = write_line(plan((9, "walk-down-five-four"), (10, "double-below")), seed=1)
    assert "walk-down-five-four" == bar(line, 10)[0].device
    assert "4 b7 7" == degrees(bar(line, 10))


def test_a_doubled_device_strikes_twice_a_beat() -> None:
    line = write_line(plan((11, "climb+plain-five+doubled")), seed=1)
    assert "1 1 3 3 4 4 #4 #4" == degrees(bar(line, 11))


def test_an_ending_that_is_played_three_times_lands_after_the_last_time() -> None:
    line = write_line(plan((9, "last-four-three-times")), seed=1)
    assert 21 == line[-1].bar + 1
    assert "last-four-three-times" == line[-1].device
    fives = [number for number in range(1, 22) if degrees(bar(line, number)).startswith("5")]
    assert [9, 13, 17] == fives


@pytest.mark.parametrize("name", ["four-to-one", "stop-half-above", "blues-run-down"])
def test_an_ending_without_a_downbeat_rings_over_the_landing(name: str) -> None:
    music = plan((11, name))
    line = write_line(music, seed=1)
    assert [] == bar(line, 13)
    assert music.length == line[-1].event.end


# --- how high -----------------------------------------------------------------------------------


def test_a_line_stays_between_the_open_e_and_the_fourteenth_fret_unless_told() -> None:
    pitches = [note.event.midi for note in write_line(plan((11, "fall+dip")), seed=1)]
    assert E1 <= min(pitches)
    assert max(pitches) <= A3


@pytest.mark.parametrize("low", [23, 28, 33, 36])
def test_a_line_stays_in_the_compass_that_is_given(low: int) -> None:
    compass = Compass(Midi(low), Midi(low + 24), low + 12)
    music = plan((4, "walk-up-one-four"), (11, "fall+dip"), base="box")
    pitches = [note.event.midi for note in write_line(music, 1, compass)]
    assert low <= min(pitches)
    assert max(pitches) <= low + 24


def test_a_line_for_naming_keeps_to_the_pitches_that_are_heard_well() -> None:
    assert (A1, A3) == (HEARD_WELL.low, HEARD_WELL.high)
    line = write_line(plan((11, "climb+dip"), tonic="E"), 1, HEARD_WELL)
    assert A1 <= min(note.event.midi for note in line)


def test_a_compass_that_is_too_narrow_is_refused_with_the_device_that_does_not_fit() -> None:
    narrow = Compass(Midi(40), Midi(50), 45)
    with pytest.raises(MusicInputError, match=r"^'fall\+dip' does not fit between MIDI 40 and 50"):
        write_line(excerpt(plan((11, "fall+dip")), 10, 11), 1, narrow)
    with pytest.raises(MusicInputError, match=r"^'the base pattern' does not fit between MIDI 40"):
        write_line(plan(base="box"), 1, narrow)


def test_of_equally_smooth_lines_the_one_nearest_to_the_lean_is_played() -> None:
    music = excerpt(plan(), 0, 0)
    low = write_line(music, 1, Compass(lean=30))
    high = write_line(music, 1, Compass(lean=56))
    assert leaps(low) == leaps(high)
    assert [29, 36, 41] == [note.event.midi for note in low]
    assert [41, 48, 53] == [note.event.midi for note in high]


def test_two_middling_leaps_are_better_than_a_small_and_a_large_one() -> None:
    # the devices before and after span two octaves and can only stand on F1; the four between them
    # may be Bb1 (leaps of 5 and 19) or Bb2 (17 and 7): the squares decide, whatever the lean
    wide = replace(device("walk-down-five-four"), pattern=parse_pattern("8' 1 1 1"))
    again = replace(device("run-up"), pattern=parse_pattern("8' 1 1 1 | 1 1 1 1"))
    music = excerpt(plan((9, wide), (11, again), base="root-eighths"), 8, 11)
    line = write_line(music, 1, Compass(lean=0))
    assert [53, 29, 29, 29] == [note.event.midi for note in bar(line, 1)]
    assert {46} == {note.event.midi for note in bar(line, 2)}
    assert [53, 29, 29, 29] == [note.event.midi for note in bar(line, 3)]


def test_the_lean_never_widens_a_seam_however_long_the_tune() -> None:
    form = find_form("jazz-blues")
    music = plan_choruses(form, Key(Note("F")), Feel.SWING, 140, device("walking"), choruses=10)

    def cost(lean: float) -> int:
        return sum(leap * leap for leap in leaps(write_line(music, 7, Compass(lean=lean))))

    assert cost(45) == cost(28) == cost(57) == cost(1000)


# --- how long, how loud -------------------------------------------------------------------------


def test_a_note_lasts_until_the_next_less_a_gap() -> None:
    first, second = bar(write_line(plan(), seed=1), 1)
    assert 2 * TICKS_PER_BEAT - GAP == first.event.length
    assert 2 * TICKS_PER_BEAT - GAP == second.event.length


def test_a_silence_ends_a_note() -> None:
    stop = replace(device("run-up"), id="stop", pattern=parse_pattern("1 x x x | x x (x 5) x | 1"))
    line = write_line(plan((11, stop)), seed=1)
    (first,), (second,) = bar(line, 11), bar(line, 12)
    assert TICKS_PER_BEAT - GAP == first.event.length
    assert Spot(2, True) == second.spot
    assert TICKS_PER_BEAT // 3 - GAP == second.event.length


def test_a_hold_rings_through_what_the_base_pattern_would_play() -> None:
    held = replace(device("run-up"), id="held", pattern=parse_pattern("1 - - - | - - 5 - | 1"))
    line = write_line(plan((11, held), base="root-eighths"), seed=1)
    (first,), (second,) = bar(line, 11), bar(line, 12)
    assert 6 * TICKS_PER_BEAT - GAP == first.event.length
    assert 2 * TICKS_PER_BEAT - GAP == second.event.length


def test_the_last_note_rings_through_the_landing() -> None:
    music = plan(base="walking")
    last = write_line(music, seed=3)[-1]
    assert (13, Spot(0)) == (last.bar + 1, last.spot)
    assert (TICKS_PER_BAR, music.length) == (last.event.length, last.event.end)


def test_downbeats_are_firmest_and_notes_off_the_beat_lightest() -> None:
    line = write_line(plan(base="root-eighths"), seed=1)
    down = [note.event.velocity for note in line if note.spot == Spot(0)]
    other = [note.event.velocity for note in line if note.spot.beat and not note.spot.offbeat]
    off = [note.event.velocity for note in line if note.spot.offbeat]
    assert mean(off) < mean(other) - 4
    assert mean(other) < mean(down) - 1
    assert 80 <= min(down + other + off)
    assert max(down + other + off) <= 100


def test_no_touch_is_like_the_one_before() -> None:
    line = write_line(plan(base="root-eighths"), seed=1)
    for spot in (Spot(0), Spot(1), Spot(1, True)):
        touches = {note.event.velocity for note in line if note.spot == spot}
        assert len(touches) >= 4


# --- what is drawn from the seed ----------------------------------------------------------------


def test_the_same_seed_plays_the_same_line_and_another_one_another() -> None:
    music = plan((11, "climb+dip"), base="walking")
    assert write_line(music, 5) == write_line(music, 5)
    assert write_line(music, 5) != write_line(music, 6)


def test_the_climb_and_the_walk_up_of_bar_8_sound_alike_up_to_their_downbeat() -> None:
    walk = excerpt(plan((8, "walk-up-one-five")), 7, 7)
    climb = excerpt(plan((11, "climb+plain-five")), 10, 11)
    assert 5 == len(outline(walk, 1))
    assert outline(walk, 1) == outline(climb, 1)[:5]


def test_a_device_that_is_cut_off_is_not_in_the_outline() -> None:
    music = plan((11, "climb+plain-five"))
    *cut, landing = outline(excerpt(music, 10, 10), 1)
    assert list(outline(excerpt(plan(), 10, 10), 1)[:-1]) == cut
    assert 7 == landing.pitch_class  # the five that the device has the band play in bar 12


def test_devices_that_differ_in_one_note_have_two_outlines() -> None:
    outlines = {
        outline(excerpt(plan((11, name)), 10, 11), 1)
        for name in ("climb+dip", "climb-flat-third+dip", "climb+plain-five", "fall+dip")
    }
    assert 4 == len(outlines)


def test_an_octave_does_not_tell_two_outlines_apart() -> None:
    low = replace(device("run-up"), id="low", pattern=parse_pattern("1 1 1 1 | 5, 5, 6, 7, | 1"))
    high = replace(low, id="high", pattern=parse_pattern("1 1 1 1 | 5 5 6 7 | 8"))
    assert outline(plan((11, low)), 1) == outline(plan((11, high)), 1)


def test_a_pattern_with_alternatives_changes_from_bar_to_bar() -> None:
    line = write_line(plan(base="walking"), seed=5)
    contours = {degrees(bar(line, number)[:3]) for number in (1, 2, 3, 4, 7, 8, 11, 12)}
    assert len(contours) >= 3
