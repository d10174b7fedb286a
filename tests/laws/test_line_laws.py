"""Laws of the line, over any form, key, feel, tempo, device, base pattern and seed."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine.errors import MusicInputError
from engine.line import E1, Compass, LineNote, outline, write_line
from engine.pattern import Spot, Tone
from engine.plan import Plan
from engine.theory import OCTAVE, PLAYED_KEYS, Degree, Key, spell
from engine.timing import BEATS_PER_BAR
from tests.laws.strategies import (
    BASES,
    PLAIN_BASES,
    SEEDS,
    compasses,
    plans,
    short_plans,
)

EPSILON = 1e-6


def place(note: LineNote) -> tuple[int, bool]:
    """Beats from the start of the music, and whether it is the second eighth."""
    return note.bar * BEATS_PER_BAR + note.spot.beat, note.spot.offbeat


def written(plan: Plan, seed: int, compass: Compass) -> tuple[tuple[LineNote, ...], str | None]:
    """The line, or none and the message that says what does not fit."""
    try:
        return write_line(plan, seed, compass), None
    except MusicInputError as error:
        return (), str(error)


def promised(plan: Plan) -> dict[tuple[int, bool], tuple[str, Tone, int]]:
    """What the devices promise at each place: the id, the token, and which placement it is of.

    Where two meet, the later one has the beat.
    """
    notes: dict[tuple[int, bool], tuple[str, Tone, int]] = {}
    for index, placement in enumerate(plan.placements):
        device, first = placement.device, placement.bar * BEATS_PER_BAR
        for step in device.pattern.steps:
            at = (first + step.spot.beat, step.spot.offbeat)
            if isinstance(step.what, Tone):
                notes[at] = (device.id, step.what, index)
        if device.pattern.arrival is not None:
            end = first + device.pattern.bars * device.times * BEATS_PER_BAR
            notes[end, False] = (device.id, device.pattern.arrival, index)
    return notes


def segments(line: Sequence[LineNote], plan: Plan) -> list[list[LineNote]]:
    """The parts of a line that keep their contour: a device, or a chord of one bar.

    A leading note of a base pattern is a part of its own.
    """
    leads = plan.base not in PLAIN_BASES
    parts: list[list[LineNote]] = []
    before: object = None
    for note in line:
        chord = plan.chord(note.bar, note.spot.beat)
        lead = leads and note.device is None and note.spot.beat == BEATS_PER_BAR - 1
        owner: object = note.device or (note.bar, chord, lead)
        if owner != before:
            parts.append([])
            before = owner
        parts[-1].append(note)
    return parts


# --- range, time and seed -----------------------------------------------------------------------


@given(plans(), SEEDS, compasses)
def test_a_line_stays_in_its_compass_or_says_what_does_not_fit(
    plan: Plan, seed: int, compass: Compass
) -> None:
    line, refused = written(plan, seed, compass)
    assert bool(line) is (refused is None)
    assert refused is None or "does not fit between MIDI" in refused
    assert all(compass.low <= note.event.midi <= compass.high for note in line)


@given(plans(), SEEDS)
def test_every_line_fits_the_compass_that_is_played_unless_told(plan: Plan, seed: int) -> None:
    pitches = [note.event.midi for note in write_line(plan, seed)]
    assert E1 <= min(pitches)


@given(plans(), SEEDS)
def test_notes_follow_each_other_without_overlap_and_end_with_the_plan(
    plan: Plan, seed: int
) -> None:
    line = write_line(plan, seed)
    assert plan.tick(0, Spot(0)) <= line[0].event.start
    assert all(note.event.length > 0 for note in line)
    assert all(a.event.end < b.event.start for a, b in pairwise(line))
    assert line[-1].event.end <= plan.length
    assert [plan.tick(note.bar, note.spot) for note in line] == [note.event.start for note in line]


@given(plans(), SEEDS)
def test_the_same_seed_gives_the_same_line(plan: Plan, seed: int) -> None:
    assert write_line(plan, seed) == write_line(replace(plan), seed)


@given(plans(), SEEDS)
def test_a_note_sounds_as_it_is_spelled_and_named(plan: Plan, seed: int) -> None:
    for note in write_line(plan, seed):
        assert note.note.pitch_class == note.event.midi % OCTAVE
        assert note.note == spell(note.degree, plan.key.tonic)


@given(plans(), SEEDS)
def test_the_outline_is_the_line_without_its_octaves(plan: Plan, seed: int) -> None:
    tonic = plan.key.tonic.pitch_class
    line = write_line(plan, seed)
    assert [(*place(note), (note.event.midi - tonic) % OCTAVE) for note in line] == [
        (strike.beat, strike.offbeat, strike.pitch_class) for strike in outline(plan, seed)
    ]


@given(plans(), SEEDS)
def test_the_landing_is_one_note_at_most(plan: Plan, seed: int) -> None:
    last = len(plan.bars) - 1
    landed = [note for note in write_line(plan, seed) if note.bar == last]
    assert [Spot(0)] * len(landed) == [note.spot for note in landed]
    assert len(landed) <= 1


# --- devices ------------------------------------------------------------------------------------


@given(plans(), SEEDS)
def test_devices_are_struck_on_their_promised_beats_and_nothing_else_is_theirs(
    plan: Plan, seed: int
) -> None:
    line = write_line(plan, seed)
    expected = {
        at: (owner, tone.degree.pitch_class) for at, (owner, tone, _) in promised(plan).items()
    }
    tonic = plan.key.tonic.pitch_class
    played = {
        place(note): (note.device, (note.event.midi - tonic) % OCTAVE)
        for note in line
        if note.device
    }
    assert expected == played


@given(plans(), SEEDS)
def test_a_device_keeps_its_contour_through_to_its_downbeat(plan: Plan, seed: int) -> None:
    pitches = {place(note): note.event.midi for note in write_line(plan, seed)}
    heights: dict[int, set[int]] = {}
    for at, (_, tone, index) in promised(plan).items():
        heights.setdefault(index, set()).add(pitches[at] - tone.semitones)
    assert all(len(tonics) == 1 for tonics in heights.values())


@given(plans(), SEEDS)
def test_between_devices_each_new_chord_starts_on_its_root(plan: Plan, seed: int) -> None:
    for note in write_line(plan, seed):
        beat = note.spot.beat
        chord = plan.chord(note.bar, beat)
        enters = beat == 0 and note.bar > 0 and plan.chord(note.bar - 1, 3) != chord
        enters = enters or (beat > 0 and plan.chord(note.bar, beat - 1) != chord)
        if enters and not note.spot.offbeat and note.device is None:
            assert chord.root.pitch_class == note.degree.pitch_class


# --- transposing --------------------------------------------------------------------------------


@given(plans(), SEEDS, st.sampled_from(PLAYED_KEYS))
def test_another_key_has_the_same_degrees_on_the_same_beats(
    plan: Plan, seed: int, key: Key
) -> None:
    moved = replace(plan, key=Key(key.tonic, plan.key.minor))
    line, other = write_line(plan, seed), write_line(moved, seed)

    def meaning(notes: Sequence[LineNote]) -> list[tuple[int, Spot, Degree, str | None, int]]:
        return [
            (note.bar, note.spot, note.degree, note.device, note.event.velocity) for note in notes
        ]

    assert meaning(line) == meaning(other)
    assert outline(plan, seed) == outline(moved, seed)


# --- the choice of octaves ----------------------------------------------------------------------


def cost(parts: Sequence[Sequence[int]], compass: Compass) -> tuple[int, float]:
    """Squared leaps at the seams first, then how far the parts lie from the lean."""
    leaps = sum((after[0] - before[-1]) ** 2 for before, after in pairwise(parts))
    return leaps, sum(abs(sum(part) / len(part) - compass.lean) for part in parts)


def cheapest(parts: Sequence[Sequence[int]], compass: Compass) -> tuple[int, float]:
    """The cost of the best of all ways to put each part into an octave."""
    ways = [
        [
            [pitch + OCTAVE * octave for pitch in part]
            for octave in range(-5, 6)
            if compass.low <= min(part) + OCTAVE * octave
            and max(part) + OCTAVE * octave <= compass.high
        ]
        for part in parts
    ]
    return min(cost(way, compass) for way in product(*ways))


@settings(max_examples=120)
@given(short_plans(), SEEDS, compasses)
def test_no_other_choice_of_octaves_is_cheaper(plan: Plan, seed: int, compass: Compass) -> None:
    line, refused = written(plan, seed, compass)
    assume(refused is None)
    parts = [[note.event.midi for note in part] for part in segments(line, plan)]
    leaps, height = cost(parts, compass)
    best_leaps, best_height = cheapest(parts, compass)
    assert best_leaps == leaps
    assert best_height == pytest.approx(height, abs=EPSILON)


def test_the_plans_reach_every_base_pattern() -> None:
    assert len(PLAIN_BASES) + 1 == len(BASES)
