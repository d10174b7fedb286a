"""What is heard of a question, bar by bar."""

from dataclasses import replace

import pytest

from engine.errors import MusicInputError
from engine.forms import find_form
from engine.line import A1, write_line
from engine.score import Part
from engine.textures import Texture
from engine.theory import Degree
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT
from quiz.questions.excerpts import (
    Accompaniment,
    Excerpt,
    chorus_outlines,
    chorus_plan,
    departures,
    excerpt_bars,
    question_compass,
    question_line,
    question_outline,
    question_plan,
)
from quiz.questions.kinds import Kind
from quiz.questions.value import REGISTERS, UPPER
from tests.quiz.asking import CATALOGUE, chorus, device, form_call, question


@pytest.mark.parametrize(("name", "form", "bar", "bars"), [
    # turnarounds and endings: the last phrase, through the last bar
    ("climb+plain-five", "twelve-bar", 11, (9, 12)),
    ("climb+plain-five", "eight-bar", 7, (5, 8)),
    ("climb+plain-five", "sixteen-bar", 15, (13, 16)),
    ("fall-five-one", "twelve-bar", 11, (9, 12)),
    ("last-four-twice", "twelve-bar", 9, (9, 12)),
    # pickups: their phrase and the bar they lead into
    ("walk-up-one-four", "twelve-bar", 4, (1, 5)),
    ("walk-up-four-one", "twelve-bar", 6, (5, 7)),
    ("walk-up-one-five", "twelve-bar", 8, (5, 9)),
    ("walk-up-four-one", "twelve-bar", 10, (9, 11)),
    ("sharp-four-bar", "twelve-bar", 5, (4, 7)),
    ("walk-down-five-four", "twelve-bar", 9, (8, 10)),
    ("walk-up-one-four", "quick-change", 1, (1, 2)),
    # into the top of the next chorus: its downbeat is the landing
    ("walk-up-five-one", "twelve-bar-five", 12, (9, 12)),
])  # fmt: skip
def test_an_excerpt_is_the_phrase_around_the_device(
    name: str, form: str, bar: int, bars: tuple[int, int]
) -> None:
    assert bars == excerpt_bars(device(name), find_form(form), bar)


@pytest.mark.parametrize("name", ["climb+plain-five", "stay+stay-on-one", "run-up", "long-climb"])
def test_a_turnaround_or_ending_runs_through_bar_12_and_rings_on_the_next_downbeat(
    name: str,
) -> None:
    plan = question_plan(question(name), CATALOGUE)
    assert [9, 10, 11, 12, 1] == [bar.number for bar in plan.bars]
    assert [False] * 4 + [True] == [bar.landing for bar in plan.bars]


def test_bars_that_are_played_three_times_are_heard_three_times() -> None:
    plan = question_plan(question("last-four-three-times"), CATALOGUE)
    assert [9, 10, 11, 12] * 3 + [1] == [bar.number for bar in plan.bars]


def test_another_device_can_stand_in_the_same_place() -> None:
    asked = question("climb+plain-five")
    line = question_line(asked, CATALOGUE, device("fall+plain-five"))
    assert ["1", "b7", "6", "b6", "5"] == [
        str(note.degree) for note in line if note.device == "fall+plain-five"
    ][:5]


def test_the_line_strikes_what_the_outline_says() -> None:
    asked = question("climb+dip", "Eb", base="walking", seed=9)
    line = question_line(asked, CATALOGUE)
    struck = [
        (4 * note.bar + note.spot.beat, note.spot.offbeat, note.degree.pitch_class) for note in line
    ]
    assert [tuple(strike) for strike in question_outline(asked, CATALOGUE)] == struck


def test_the_register_moves_the_line_and_nothing_else() -> None:
    asked = question("walk-up-one-four", "C", base="two-beat")
    low, high = (
        question_line(replace(asked, register=register), CATALOGUE) for register in ("low", "high")
    )
    assert [note.degree for note in low] == [note.degree for note in high]
    mean = [sum(note.event.midi for note in line) / len(line) for line in (low, high)]
    assert mean[0] <= mean[1]


def test_in_the_upper_register_the_whole_line_stands_higher() -> None:
    asked = question("walk-up-one-four", "C", base="two-beat")
    low, upper = (
        question_line(replace(asked, register=register), CATALOGUE) for register in ("low", UPPER)
    )
    assert [note.degree for note in low] == [note.degree for note in upper]
    assert max(note.event.midi for note in upper) <= 63  # the twentieth fret of the G string
    assert 45 <= min(note.event.midi for note in upper)  # an octave over the open A string
    assert min(note.event.midi for note in low) < 45


def test_the_compass_is_that_of_the_question() -> None:
    compass = question_compass(replace(question("run-up"), register="high"))
    assert (A1, REGISTERS["high"]) == (compass.low, compass.lean)


@pytest.mark.parametrize("texture", [texture.value for texture in Texture])
def test_the_key_sounds_during_the_count_in_and_the_bass_comes_after_it(texture: str) -> None:
    _, score = Excerpt(replace(question("climb+dip", "F"), texture=texture)).passage(CATALOGUE)
    keys, bass = score.track(Part.KEYS), score.track(Part.BASS)
    assert keys is not None
    assert bass is not None
    chord = {note.midi % 12 for note in keys.notes if note.start < TICKS_PER_BAR}
    assert {5, 9} <= chord  # F and A, root and third of F
    assert TICKS_PER_BAR == min(note.start for note in bass.notes)


def test_slower_playing_changes_the_tempo_and_no_pitch() -> None:
    asked = question("climb+dip", "F", base="walking", seed=4)
    (_, plain), (_, slower) = (
        Excerpt(asked, speed=speed).passage(CATALOGUE) for speed in (1.0, 0.75)
    )
    assert 0.75 * plain.tempo == slower.tempo
    for part in (Part.BASS,):
        fast_track, slow_track = plain.track(part), slower.track(part)
        assert fast_track is not None
        assert slow_track is not None
        assert [note.midi for note in fast_track.notes] == [note.midi for note in slow_track.notes]


def test_the_downbeat_after_an_ending_that_rings_on_is_not_struck() -> None:
    line = question_line(question("four-to-one", "G"), CATALOGUE)
    assert 3 == max(note.bar for note in line)  # bars 9 to 12 are bars 0 to 3
    assert Degree(1) == line[-1].degree


# --- a whole chorus -----------------------------------------------------------------------------

PLACED = chorus("4:walk-up-one-four", "11:climb+plain-five", base="box")


def test_a_whole_chorus_is_heard_from_its_first_bar_to_the_next_downbeat() -> None:
    for asked in (PLACED, form_call("quick-change")):
        plan = question_plan(asked, CATALOGUE)
        assert [*range(1, 13), 1] == [bar.number for bar in plan.bars]
        assert plan.bars[-1].landing


def test_the_devices_stand_in_their_bars() -> None:
    line = question_line(PLACED, CATALOGUE)
    owned = {(note.bar + 1, note.device) for note in line if note.device}
    assert {
        (4, "walk-up-one-four"),
        (5, "walk-up-one-four"),  # the downbeat arrived at
        (11, "climb+plain-five"),
        (12, "climb+plain-five"),
        (13, "climb+plain-five"),
    } == owned


def test_a_plain_chorus_has_the_same_bars_without_devices() -> None:
    plan = chorus_plan(PLACED, CATALOGUE, plain=True)
    assert () == plan.placements
    assert {None} == {note.device for note in write_line(plan, PLACED.seed)}


def test_the_bars_that_depart_are_those_of_the_devices_and_not_of_their_downbeats() -> None:
    assert (4, 11, 12) == departures(chorus_outlines(PLACED, CATALOGUE))
    assert () == departures(chorus_outlines(chorus(item="stay-on-one"), CATALOGUE))


@pytest.mark.parametrize("placed", ["3:walk-up-one-four", "13:walk-up-one-four", "4:gone"])
def test_a_device_that_cannot_stand_there_is_refused_when_it_is_played(placed: str) -> None:
    with pytest.raises(MusicInputError):
        question_plan(chorus(placed), CATALOGUE)


def test_the_last_bar_must_be_one_that_the_form_has() -> None:
    with pytest.raises(MusicInputError, match="bar 13 of the twelve-bar blues"):
        question_plan(replace(question("climb+dip"), last=13), CATALOGUE)


# --- figures over the band ----------------------------------------------------------------------

FITTING = question("climb+plain-five", kind=Kind.FIT, options=("climb+plain-five", "raised-one"))


def test_the_band_of_a_fit_question_plays_without_a_bass() -> None:
    _, score = Excerpt(FITTING).passage(CATALOGUE)
    bass, keys = score.track(Part.BASS), score.track(Part.KEYS)
    assert keys is not None
    assert keys.notes
    assert bass is None or not bass.notes


def test_whatever_bass_is_put_under_it_the_band_plays_the_same() -> None:
    _, alone = Excerpt(FITTING).passage(CATALOGUE)
    for name in ("climb+plain-five", "raised-one", "long-climb"):
        _, score = Excerpt(FITTING, device(name)).passage(CATALOGUE)
        bass = score.track(Part.BASS)
        assert bass is not None
        assert bass.notes
        for part in (Part.KEYS, Part.DRUMS):
            assert alone.track(part) == score.track(part)


def test_the_chords_stay_those_of_the_question_under_another_bass() -> None:
    mine, theirs = (
        [bar.chords for bar in question_plan(FITTING, CATALOGUE, device(name)).bars]
        for name in ("climb+plain-five", "raised-one")
    )
    assert mine == theirs


def test_the_bass_that_is_put_under_it_plays_the_figure() -> None:
    line = question_line(FITTING, CATALOGUE, device("raised-one"))
    assert ["1", "1", "#1", "#1", "2", "2", "5", "5", "1"] == [
        str(note.degree) for note in line if note.device == "raised-one"
    ]


def test_figures_are_judged_over_what_the_keys_play() -> None:
    band = Accompaniment.of(FITTING, CATALOGUE)
    assert 9 == len(band.beats)  # two bars and the downbeat behind them
    assert () == band.clashes(device("climb+plain-five"))
    assert 2 == band.clashes(device("raised-one"))[0].beat


# --- the key ------------------------------------------------------------------------------------


def test_where_the_key_is_not_given_no_keys_sound_in_the_count_in() -> None:
    _, score = Excerpt(replace(question("climb+dip", "F"), key_given=False)).passage(CATALOGUE)
    keys = score.track(Part.KEYS)
    assert keys is not None
    # a hand may come a few milliseconds early; nothing sounds before the last beat of the count-in
    assert TICKS_PER_BAR - TICKS_PER_BEAT < min(note.start for note in keys.notes)
