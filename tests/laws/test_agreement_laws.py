"""Laws of agreement: alike in every key, kind to roots, and what the catalogue says of itself."""

from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.agreement import (
    BandBeat,
    BassBeat,
    Clash,
    ClashKind,
    agreement,
    band_beats,
    bass_beats,
)
from engine.catalogue import Device, doubled
from engine.chords import Chord
from engine.comping import comping_track
from engine.feels import Feel
from engine.forms import find_form
from engine.pattern import Pattern
from engine.plan import Plan, plan_choruses
from engine.score import ELECTRIC_PIANO, Track
from engine.theory import PLAYED_KEYS, Key, Midi
from tests.laws.strategies import CATALOGUE, SEEDS, TEMPI, patterns, played_keys, short_plans

TURNAROUNDS = CATALOGUE.turnarounds()
TWO_BEAT = CATALOGUE.find("two-beat")

AGAINST_THEMSELVES = {
    # turnarounds that clash with their own chords, and the beats, 0 first
    # led to the five, but the tail starts on the two: the line leaps and passes nowhere
    "climb+two-five": (2, 3),
    "fall+two-five": (2, 3),
    "scale-climb+two-five": (3,),
    # from the four to the flat six is a leap of a minor third
    "scale-climb+flat-six-five": (3,),
    # the flat six comes a beat before its chord and stays: an anticipation, no passing note
    "fall+flat-six-five": (2, 3),
    # the flat third of a blues over a major chord is neither a chord tone nor reached by step
    "climb-flat-third+plain-five": (1, 2, 3),
    "climb-flat-third+walk-up-from-four": (1, 2, 3),
    "climb-flat-third+dip": (1, 2, 3),
    "climb-flat-third+flat-six-five": (1, 2, 3),
    "climb-flat-third+two-five": (1, 2, 3),
}
"""Common practice plays all of these; the rules of agreement are narrower. No source."""

pitch_classes = st.integers(0, 11)
bass_lines = st.lists(st.lists(pitch_classes, max_size=2).map(tuple).map(BassBeat), max_size=12)
bands = st.lists(
    st.builds(
        BandBeat,
        st.frozensets(pitch_classes, min_size=2, max_size=4),
        st.frozensets(pitch_classes, max_size=4),
    ),
    min_size=12,
    max_size=12,
)


@st.composite
def likely_lines(draw: st.DrawFn) -> list[BassBeat]:
    """Lines that mostly step and hold, so that passing notes and rubs are common."""
    note = draw(pitch_classes)
    line = []
    for step in draw(st.lists(st.sampled_from((0, 0, 1, 1, 2, -1, -1, -2)), max_size=12)):
        note = (note + step) % 12
        line.append(BassBeat((note,)))
    return line


lines = st.one_of(bass_lines, likely_lines())


def moved(numbers: Sequence[int], by: int) -> tuple[int, ...]:
    return tuple((number + by) % 12 for number in numbers)


def moved_band(band: Sequence[BandBeat], by: int) -> list[BandBeat]:
    return [
        BandBeat(frozenset(moved(tuple(beat.tones), by)), frozenset(moved(tuple(beat.voices), by)))
        for beat in band
    ]


def moved_clashes(clashes: Sequence[Clash], by: int) -> tuple[Clash, ...]:
    return tuple(
        Clash(clash.beat, clash.kind, (clash.bass + by) % 12, (clash.against + by) % 12)
        for clash in clashes
    )


def chorus(device: Device, key: Key, feel: Feel, tempo: float) -> Plan:
    """The twelve-bar form with a turnaround at its end."""
    return plan_choruses(find_form("twelve-bar"), key, feel, tempo, TWO_BEAT, [(0, 11, device)])


def turnaround_band(plan: Plan, keys: Track) -> tuple[BandBeat, ...]:
    """The last two bars of a chorus of twelve and the landing."""
    return band_beats(plan, keys, 10, 2)


# --- the same in every key ----------------------------------------------------------------------


@given(lines, bands, st.integers(0, 11))
def test_figure_and_band_moved_together_clash_as_before(
    line: list[BassBeat], band: list[BandBeat], by: int
) -> None:
    higher = [BassBeat(moved(beat.notes, by)) for beat in line]
    before = agreement(line, band)
    assert moved_clashes(before, by) == agreement(higher, moved_band(band, by))


@given(
    st.sampled_from(TURNAROUNDS), st.sampled_from(TURNAROUNDS), st.sampled_from(Feel), TEMPI, SEEDS
)
def test_a_whole_passage_moved_to_any_key_clashes_as_before(
    figure: Device, comped: Device, feel: Feel, tempo: float, seed: int
) -> None:
    home = PLAYED_KEYS[0]
    plan = chorus(comped, home, feel, tempo)
    keys = comping_track(plan, (), ELECTRIC_PIANO, seed)
    at_home = agreement(bass_beats(figure.pattern, home.tonic), turnaround_band(plan, keys))
    for by, key in enumerate(PLAYED_KEYS):
        up = tuple(replace(note, midi=Midi(note.midi + by)) for note in keys.notes)
        there = turnaround_band(replace(plan, key=key), replace(keys, notes=up))
        found = agreement(bass_beats(figure.pattern, key.tonic), there)
        assert moved_clashes(at_home, by) == found


@given(
    st.sampled_from(TURNAROUNDS), st.sampled_from(TURNAROUNDS), st.sampled_from(Feel), TEMPI, SEEDS
)
def test_strangers_are_the_same_however_the_keys_comp(
    figure: Device, comped: Device, feel: Feel, tempo: float, seed: int
) -> None:
    """Voicings differ from key to key, so rubs come and go; strangers depend on chords alone."""
    told = set()
    for key in PLAYED_KEYS:
        plan = chorus(comped, key, feel, tempo)
        band = turnaround_band(plan, comping_track(plan, (), ELECTRIC_PIANO, seed))
        found = agreement(bass_beats(figure.pattern, key.tonic), band)
        strangers = [clash for clash in found if clash.kind is ClashKind.STRANGER]
        told.add(moved_clashes(strangers, -key.tonic.pitch_class))
    assert 1 == len(told)


# --- what a clash says --------------------------------------------------------------------------


@given(lines, bands)
def test_clashes_come_by_beats_and_say_what_sounds_there(
    line: list[BassBeat], band: list[BandBeat]
) -> None:
    found = agreement(line, band)
    assert [clash.beat for clash in found] == sorted(clash.beat for clash in found)
    for clash in found:
        assert clash.bass in line[clash.beat].notes
        under = band[clash.beat]
        assert clash.against in (under.tones if clash.kind is ClashKind.STRANGER else under.voices)


@given(lines, bands)
def test_a_stranger_has_no_chord_tone_and_no_nearer_one_than_the_one_it_names(
    line: list[BassBeat], band: list[BandBeat]
) -> None:
    for clash in agreement(line, band):
        if clash.kind is ClashKind.STRANGER:
            tones = band[clash.beat].tones
            assert not tones & set(line[clash.beat].notes)
            assert apart(clash.bass, clash.against) == min(
                apart(clash.bass, tone) for tone in tones
            )


@given(lines, bands)
def test_a_rub_is_a_half_step_and_has_a_neighbour_with_the_same_two_notes(
    line: list[BassBeat], band: list[BandBeat]
) -> None:
    found = agreement(line, band)
    rubs = {clash for clash in found if clash.kind is ClashKind.RUB}
    for rub in rubs:
        assert 1 == apart(rub.bass, rub.against)
        assert not {rub.bass, rub.against} <= band[rub.beat].tones
        assert {rub._replace(beat=rub.beat + step) for step in (-1, 1)} & rubs


def apart(one: int, other: int) -> int:
    """Semitones between two pitch classes, the short way round."""
    return min((one - other) % 12, (other - one) % 12)


@given(lines, bands)
def test_without_voices_nothing_rubs(line: list[BassBeat], band: list[BandBeat]) -> None:
    quiet = [BandBeat(beat.tones) for beat in band]
    strangers = tuple(clash for clash in agreement(line, band) if clash.kind is ClashKind.STRANGER)
    assert strangers == agreement(line, quiet)


@given(lines, bands)
def test_a_figure_clashes_alike_backwards(line: list[BassBeat], band: list[BandBeat]) -> None:
    """Passing up is passing down backwards, so only the beats change places."""
    band = band[: len(line)]
    back = [BassBeat(beat.notes[::-1]) for beat in line[::-1]]
    turned = {(len(line) - 1 - clash.beat, clash.kind) for clash in agreement(back, band[::-1])}
    assert {(clash.beat, clash.kind) for clash in agreement(line, band)} == turned


# --- lines that always agree --------------------------------------------------------------------


@given(short_plans(), SEEDS)
def test_a_line_of_roots_agrees_with_all_that_the_keys_comp(plan: Plan, seed: int) -> None:
    bars = len(plan.bars) - 1
    band = band_beats(plan, comping_track(plan, (), ELECTRIC_PIANO, seed), 0, bars)
    chords = [plan.chord(*divmod(beat, 4)) for beat in range(len(band))]
    assert () == agreement([BassBeat((root(chord, plan.key),)) for chord in chords], band)


def root(chord: Chord, key: Key) -> int:
    return (key.tonic.pitch_class + chord.root.semitones) % 12


@given(bands, st.data())
def test_a_line_of_chord_tones_that_moves_on_every_beat_agrees(
    band: list[BandBeat], data: st.DataObject
) -> None:
    notes: list[int] = []
    for beat in band:
        notes.append(data.draw(st.sampled_from(sorted(beat.tones - set(notes[-1:])))))
    assert () == agreement([BassBeat((note,)) for note in notes], band)


@given(bands, st.integers(0, 11), st.integers(2, 11), st.sampled_from((1, -1)))
def test_a_chromatic_scale_from_chord_tone_to_chord_tone_agrees(
    band: list[BandBeat], first: int, beats: int, way: int
) -> None:
    line = [BassBeat(((first + way * beat) % 12,)) for beat in range(beats)]
    ends = {0: line[0].notes[0], beats - 1: line[-1].notes[0]}
    under = [
        BandBeat(beat.tones | {ends[place]}, beat.voices) if place in ends else beat
        for place, beat in enumerate(band)
    ]
    assert () == agreement(line, under)


# --- the catalogue ------------------------------------------------------------------------------


@pytest.mark.parametrize("device", TURNAROUNDS, ids=lambda device: device.id)
def test_a_turnaround_agrees_with_its_own_chords_but_for_those_that_are_listed(
    device: Device,
) -> None:
    beats = AGAINST_THEMSELVES.get(device.id, ())
    for key in PLAYED_KEYS:
        plan = chorus(device, key, Feel.SHUFFLE, 110)
        band = turnaround_band(plan, comping_track(plan, (), ELECTRIC_PIANO, 1))
        found = agreement(bass_beats(device.pattern, key.tonic), band)
        assert [(beat, ClashKind.STRANGER) for beat in beats] == [clash[:2] for clash in found]


@given(st.sampled_from(TURNAROUNDS), played_keys, st.sampled_from(Feel), TEMPI, SEEDS)
def test_no_turnaround_rubs_against_what_the_keys_comp_on_its_own_chords(
    device: Device, key: Key, feel: Feel, tempo: float, seed: int
) -> None:
    plan = chorus(device, key, feel, tempo)
    band = turnaround_band(plan, comping_track(plan, (), ELECTRIC_PIANO, seed))
    found = agreement(bass_beats(device.pattern, key.tonic), band)
    assert [] == [clash for clash in found if clash.kind is ClashKind.RUB]


def test_in_a_minor_tune_the_climb_with_the_flat_third_agrees() -> None:
    form, device = find_form("minor-blues"), CATALOGUE.find("climb-flat-third+plain-five")
    for key in PLAYED_KEYS:
        minor = Key(key.tonic, minor=True)
        plan = plan_choruses(form, minor, Feel.SWING, 120, TWO_BEAT, [(0, len(form) - 1, device)])
        keys = comping_track(plan, (), ELECTRIC_PIANO, 1)
        band = band_beats(plan, keys, len(form) - 2, 2)
        assert () == agreement(bass_beats(device.pattern, key.tonic), band)


@given(st.sampled_from(TURNAROUNDS), played_keys)
def test_a_turnaround_is_heard_beat_by_beat_like_its_doubled_form(device: Device, key: Key) -> None:
    assert bass_beats(device.pattern, key.tonic) == bass_beats(doubled(device).pattern, key.tonic)


@given(patterns, played_keys)
def test_every_pattern_has_its_beats_and_they_hold_the_notes_that_are_struck(
    pattern: Pattern, key: Key
) -> None:
    beats = bass_beats(pattern, key.tonic)
    assert pattern.bars * 4 + (pattern.arrival is not None) == len(beats)
    for spot, tone in zip(pattern.strikes, pattern.tones, strict=True):
        assert (key.tonic.pitch_class + tone.semitones) % 12 in beats[spot.beat].notes
