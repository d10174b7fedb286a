"""Laws of the open jam, over any form, key, feel, tempo, base, devices and seed."""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from itertools import chain, groupby, pairwise
from typing import cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.catalogue import Family
from engine.errors import MusicInputError
from engine.feels import Feel, spot_tick
from engine.forms import builtin_forms
from engine.jam import JamSettings, Leg, Placed, first_leg, leg_score, next_leg
from engine.jam_places import cues, place_at
from engine.line import Compass
from engine.score import ELECTRIC_PIANO, ORGAN, Instrument, NoteEvent, Part, Score
from engine.sound import CHUNK, Mix, Performance
from engine.synthesizer import Synthesizer
from engine.textures import Texture
from engine.theory import Key
from engine.timing import BLOCK, FRAME_RATE, TICKS_PER_BAR, TICKS_PER_BEAT, Tick, frame_at
from tests.laws.strategies import BASES, SEEDS, TEMPI, placements, played_keys

COMPASS = Compass()
FEW = settings(max_examples=25)
"""Examples a law: every one is a few minutes of music for three."""

ROUNDED = Fraction(BLOCK, 2) + Fraction(1, 1000)
"""Frames: to the nearest block, and what floating point makes of it."""


@st.composite
def jams(draw: st.DrawFn, most: int = 3) -> list[Leg]:
    """Two legs or more with up to three devices in each chorus; the last one ends the jam."""
    form = draw(st.sampled_from(builtin_forms()))
    band = JamSettings(
        form,
        draw(st.sampled_from(Feel)),
        draw(TEMPI),
        draw(st.sampled_from(BASES)),
        draw(st.sampled_from(Texture)),
        draw(st.sampled_from((ELECTRIC_PIANO, ORGAN))),
    )
    count = draw(st.integers(2, most))
    keys = [Key(draw(played_keys).tonic, form.minor) for _ in range(count)]
    seed = draw(SEEDS)

    def placed(choruses: int) -> list[Placed]:
        return [
            Placed(chorus, bar, device)
            for chorus in range(choruses)
            for _, bar, device in draw(placements(form))
            if device.family is not Family.ENDING
        ]

    legs: list[Leg] = []
    for place, key in enumerate(keys):
        choruses, after = draw(st.integers(2, 4)), keys[place + 1] if place + 1 < count else None
        rows = placed(choruses)
        leg = next_leg(legs[-1], choruses, rows, after) if legs else None
        legs.append(leg or first_leg(band, seed, key, choruses, rows, after))
    return legs


def together(legs: list[Leg], part: Part) -> list[NoteEvent]:
    """What a part plays in the whole jam, in the order in which the legs come."""
    scores = [leg_score(leg).track(part) for leg in legs]
    return list(chain.from_iterable(track.notes for track in scores if track is not None))


def early(leg: Leg) -> float:
    """Ticks of three milliseconds, by which a hand may be early, and one for rounding."""
    return 0.003 * leg.settings.tempo / 60 * TICKS_PER_BEAT + 1


# --- in ticks -------------------------------------------------------------------------------------


@FEW
@given(jams())
def test_legs_join_without_a_gap_and_fill_whole_bars(legs: list[Leg]) -> None:
    assert TICKS_PER_BAR == legs[0].start
    for leg, after in pairwise(legs):
        assert leg.end == after.start
        assert leg.following == after.key
    for leg in legs:
        assert 0 == (leg.end - leg.start) % TICKS_PER_BAR


@FEW
@given(jams())
def test_every_note_lies_in_its_leg_or_a_hair_before_it(legs: list[Leg]) -> None:
    for leg in legs:
        opens = 0 if leg.index == 0 else leg.start - early(leg)
        for track in leg_score(leg).tracks:
            for note in track.notes:
                assert opens <= note.start < note.end <= leg.end


@FEW
@given(jams())
def test_in_a_whole_jam_notes_are_in_order_and_never_overlap_on_a_pitch(legs: list[Leg]) -> None:
    scores = [leg_score(leg) for leg in legs]
    for track in zip(*(score.tracks for score in scores), strict=True):
        notes = [note for leg in track for note in leg.notes]
        assert [note.start for note in notes] == sorted(note.start for note in notes)
        by_pitch = sorted(notes, key=lambda note: (note.midi, note.start))
        for _, same in groupby(by_pitch, key=lambda note: note.midi):
            assert all(one.end <= other.start for one, other in pairwise(same))


@FEW
@given(jams())
def test_the_bass_plays_one_note_at_a_time_through_every_joint(legs: list[Leg]) -> None:
    line = together(legs, Part.BASS)
    assert all(one.end <= other.start for one, other in pairwise(line))
    starts = {note.start for note in line}
    # every base pattern in the catalogue has a note on every downbeat of a chorus
    assert all(leg.start in starts for leg in legs)


@FEW
@given(jams())
def test_a_leg_goes_on_where_the_bass_of_the_one_before_arrives(legs: list[Leg]) -> None:
    for leg in legs[1:]:
        first = together([leg], Part.BASS)[0]
        assert leg.entry is not None
        assert leg.start == first.start
        if not any(row[:2] == (0, 1) for row in leg.placed):  # a device of its own comes first
            assert leg.entry.pitch == first.midi


@FEW
@given(jams())
def test_the_bass_stays_on_the_neck(legs: list[Leg]) -> None:
    pitches = [note.midi for note in together(legs, Part.BASS)]
    assert COMPASS.low <= min(pitches)
    assert max(pitches) <= COMPASS.high


@FEW
@given(jams())
def test_every_device_is_played_where_its_cue_says_note_by_note(legs: list[Leg]) -> None:
    band = legs[0].settings
    struck = {note.start: note.midi % 12 for note in together(legs, Part.BASS)}
    wanted: dict[Tick, int] = {}  # where two devices meet, the later one has the beat
    for leg in legs:
        for cue, row in zip(cues(leg), leg.placed, strict=True):
            pattern = row.device.pattern
            for spot, tone in zip(pattern.strikes, pattern.tones, strict=True):
                after = spot_tick(spot.beat, spot.offbeat, band.feel, band.tempo)
                pitch = leg.key.tonic.pitch_class + tone.semitones
                wanted[Tick(cue.start + after)] = pitch % 12
    assert wanted == {tick: struck.get(tick) for tick in wanted}


@FEW
@given(jams())
def test_cues_name_the_devices_in_order_and_lie_in_their_leg(legs: list[Leg]) -> None:
    for leg in legs:
        told = [(cue.leg, cue.chorus, cue.bar, cue.device) for cue in cues(leg)]
        assert [(leg.index, *row[:2], row.device.id) for row in leg.placed] == told
        assert all(leg.start <= cue.start < cue.arrival <= leg.end for cue in cues(leg))


@FEW
@given(jams())
def test_every_beat_of_a_leg_has_its_place(legs: list[Leg]) -> None:
    form = len(legs[0].settings.form)
    for leg in legs:
        expected = [
            (chorus, bar, False) for chorus in range(leg.choruses) for bar in range(1, form + 1)
        ]
        if leg.moves:
            expected += [(leg.choruses, 1, True), (leg.choruses, 2, True)]
        for number, (chorus, bar, leads_over) in enumerate(expected):
            for beat in range(4):
                tick = Tick(leg.start + number * TICKS_PER_BAR + beat * TICKS_PER_BEAT)
                place = place_at(legs, tick)
                assert place is not None
                assert (leg.index, chorus, bar, beat, leads_over) == (
                    place.leg, place.chorus, place.bar, place.beat, place.leads_over
                )  # fmt: skip


@FEW
@given(jams(most=2))
def test_a_leg_is_played_from_its_value_alone(legs: list[Leg]) -> None:
    for leg in reversed(legs):
        assert leg_score(leg) == leg_score(leg)


@FEW
@given(jams(most=2), SEEDS)
def test_another_seed_changes_the_touch_and_never_the_devices(legs: list[Leg], seed: int) -> None:
    leg = legs[0]
    other = first_leg(leg.settings, seed, leg.key, leg.choruses, leg.placed, leg.following)
    assert cues(leg) == cues(other)
    assert leg.end == other.end


# --- in frames ------------------------------------------------------------------------------------


class Tape:
    """Stands in for a synthesizer: writes down what it is told, and when."""

    def __init__(self) -> None:
        self.frame = 0
        self.struck: list[tuple[int, int, int]] = []
        """Frame, channel, key."""
        self.sounding: Counter[tuple[int, int]] = Counter()
        self.most: Counter[tuple[int, int]] = Counter()

    def select(self, channel: int, instrument: Instrument) -> None:
        """Every channel has a sound."""

    def control(self, channel: int, controller: int, value: int) -> None:
        """And a level."""

    def start(self, channel: int, key: int, velocity: int) -> None:
        self.struck.append((self.frame, channel, key))
        self.sounding[channel, key] += 1
        self.most[channel, key] = max(self.most[channel, key], self.sounding[channel, key])

    def stop(self, channel: int, key: int) -> None:
        self.sounding[channel, key] -= 1

    def render(self, _frames: object, first: int, last: int) -> None:
        self.frame += last - first


def taped(scores: Iterator[Score]) -> Tape:
    """Scores played one after the other, each added when the one before is nearly over."""
    tape = Tape()
    performance = Performance(cast(Synthesizer, tape), Mix())
    for score in scores:
        performance.add(score)
        end = frame_at(score.length, score.tempo) - 8 * BLOCK
        while performance.position < end:
            performance.play(min(CHUNK, end - performance.position))
    performance.play(CHUNK)
    return tape


@FEW
@given(jams())
def test_every_onset_is_within_half_a_block_of_its_exact_time(legs: list[Leg]) -> None:
    scores = [leg_score(leg) for leg in legs]
    second = Fraction(scores[0].tempo) * TICKS_PER_BEAT / 60
    due = sorted(
        (track.channel, note.midi, note.start / second * FRAME_RATE)
        for score in scores
        for track in score.tracks
        for note in track.notes
    )
    struck = sorted((channel, key, frame) for frame, channel, key in taped(iter(scores)).struck)
    assert [row[:2] for row in due] == [row[:2] for row in struck]
    late = [abs(frame - exact) for (*_, exact), (*_, frame) in zip(due, struck, strict=True)]
    assert max(late) <= ROUNDED


@FEW
@given(jams())
def test_every_note_that_starts_stops_before_its_pitch_starts_again(legs: list[Leg]) -> None:
    tape = taped(leg_score(leg) for leg in legs)
    assert {0} == set(tape.sounding.values())
    assert {1} == set(tape.most.values())


@given(st.integers(0, 30_000), TEMPI)
def test_hours_into_a_jam_a_tick_has_still_its_exact_block(bar: int, tempo: float) -> None:
    tick = Tick(bar * TICKS_PER_BAR + 7)
    exact = Fraction(tick * 60 * FRAME_RATE) / (Fraction(tempo) * TICKS_PER_BEAT)
    assert abs(frame_at(tick, tempo) - exact) <= ROUNDED


# --- refused --------------------------------------------------------------------------------------


@FEW
@given(jams(most=2), st.integers(-3, 9))
def test_a_leg_has_two_to_four_choruses(legs: list[Leg], choruses: int) -> None:
    if 2 <= choruses <= 4:
        assert choruses == next_leg(legs[0], choruses).choruses
    else:
        with pytest.raises(MusicInputError, match="choruses in a leg"):
            next_leg(legs[0], choruses)
