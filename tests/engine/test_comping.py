"""The keys: key-giving chord, voicings, rhythm, landing, endings, and staying off the bass."""

from collections.abc import Sequence
from itertools import pairwise

import pytest

from engine.catalogue import Device, builtin_catalogue
from engine.chords import parse_chord
from engine.comping import KEYS_CHANNEL, comping_track
from engine.feels import FEELS, Feel, bar_tick
from engine.forms import find_form
from engine.line import write_line
from engine.plan import Plan, plan_choruses
from engine.score import ELECTRIC_PIANO, ORGAN, NoteEvent, Part
from engine.theory import PLAYED_KEYS, Key, Midi, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick
from engine.voicings import HIGHEST, LOWEST, cost, nearest, voicings

NEAR = 24
"""Ticks within which a hit counts as on its place: a few milliseconds at any tempo played."""

FEEL = pytest.mark.parametrize("feel", Feel, ids=lambda feel: feel.value)
KEY = pytest.mark.parametrize("key", PLAYED_KEYS, ids=str)
F = Key(Note("F"))


def device(name: str) -> Device:
    return builtin_catalogue().find(name)


def plan(
    *devices: tuple[int, str],
    feel: Feel = Feel.SHUFFLE,
    form: str = "twelve-bar",
    key: Key = F,
    base: str = "two-beat",
) -> Plan:
    facts = FEELS[feel]
    placed = [(0, bar, device(name)) for bar, name in devices]
    return plan_choruses(
        find_form(form), key, feel, (facts.slowest + facts.fastest) / 2, device(base), placed
    )


def bass_of(music: Plan, seed: int = 1) -> tuple[NoteEvent, ...]:
    return tuple(note.event for note in write_line(music, seed))


def keys_of(
    music: Plan, seed: int = 1, bass: Sequence[NoteEvent] | None = None
) -> tuple[NoteEvent, ...]:
    bass = bass_of(music) if bass is None else bass
    return comping_track(music, bass, ELECTRIC_PIANO, seed).notes


def in_bar(notes: Sequence[NoteEvent], bar: int) -> list[NoteEvent]:
    """The notes that start in a bar of the score; the count-in is bar 0."""
    return [note for note in notes if bar_tick(bar) - NEAR <= note.start < bar_tick(bar + 1) - NEAR]


def beats(notes: Sequence[NoteEvent]) -> list[float]:
    """Beats of the bar, from 1, where chords start, rounded to a tenth."""
    return sorted(
        {
            round((note.start + NEAR) % TICKS_PER_BAR / TICKS_PER_BEAT + 1 - 0.025, 1)
            for note in notes
        }
    )


def classes(notes: Sequence[NoteEvent]) -> set[int]:
    return {note.midi % 12 for note in notes}


# --- the key-giving chord -----------------------------------------------------------------------


@KEY
@pytest.mark.parametrize(("form", "third"), [("twelve-bar", 4), ("minor-blues", 3)])
def test_the_count_in_sounds_the_whole_tonic_seventh_with_its_root_lowest(
    key: Key, form: str, third: int
) -> None:
    music = plan(form=form, key=key)
    chord = in_bar(keys_of(music), 0)
    tonic = key.tonic.pitch_class
    assert {(tonic + above) % 12 for above in (0, third, 7, 10)} == classes(chord)
    assert tonic == min(note.midi for note in chord) % 12
    assert {0} == {note.start for note in chord}
    assert all(TICKS_PER_BAR // 2 < note.end < TICKS_PER_BAR for note in chord)


def test_keys_are_on_a_channel_of_their_own_with_the_instrument_asked_for() -> None:
    track = comping_track(plan(), (), ORGAN, 1)
    assert (Part.KEYS, ORGAN, KEYS_CHANNEL) == (track.part, track.instrument, track.channel)


# --- voicings -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("symbol", "core", "root"),
    [
        ("I7", {4, 10}, 0),
        ("IV7", {9, 3}, 5),
        ("V7", {11, 5}, 7),
        ("IIm7", {5, 0}, 2),
        ("Im7", {3, 10}, 0),
        ("#IVdim7", {9, 3}, 6),
        ("bVI7", {0, 6}, 8),
        ("IIm7b5", {5, 0}, 2),
        ("Imaj7", {4, 11}, 0),
        ("I6", {4, 9}, 0),
        ("Im6", {3, 9}, 0),
    ],
)
@pytest.mark.parametrize("voices", [3, 4])
def test_every_voicing_has_third_and_seventh_and_never_the_root(
    symbol: str, core: set[int], root: int, voices: int
) -> None:
    """Pitch classes over C. Standard chord construction; rootless voicings: common practice."""
    found = voicings(parse_chord(symbol), 0, False, voices)
    assert found
    for voicing in found:
        sounding = {midi % 12 for midi in voicing}
        assert core <= sounding
        assert root not in sounding
        assert 3 <= len(voicing) <= voices
        assert LOWEST <= voicing[0]
        assert voicing[-1] <= HIGHEST


@pytest.mark.parametrize(
    ("symbol", "minor", "never"),
    [
        # common practice, no source: what is added stays in the key
        ("V7", True, {9, 4}),  # G7 in C minor: neither A nor E
        ("VI7", False, {11, 6}),  # A7 in C: neither B nor F#
        ("IIIm7", False, {6}),  # Em7 in C: no F#
    ],
)
def test_nothing_is_added_that_is_foreign_to_the_key(
    symbol: str, minor: bool, never: set[int]
) -> None:
    for voices in (3, 4):
        for voicing in voicings(parse_chord(symbol), 0, minor, voices):
            assert set() == never & {midi % 12 for midi in voicing}


def test_the_one_and_the_four_are_coloured_with_ninth_and_thirteenth() -> None:
    one = {
        frozenset(midi % 12 for midi in voicing)
        for voicing in voicings(parse_chord("I7"), 0, False, 4)
    }
    assert {frozenset({4, 10, 2, 9}), frozenset({4, 10, 2, 7})} == one


def test_staying_on_a_voicing_costs_less_than_going_to_any_other() -> None:
    chord = parse_chord("I7")
    for voices in (3, 4):
        found = voicings(chord, 5, False, voices)
        for other in found:
            assert cost(other, other) <= min(cost(other, third) + 4 for third in found)


def test_one_to_four_moves_each_voice_a_step_or_so() -> None:
    """C7 to F7 as a pianist plays it: E Bb D to Eb A D (common practice, no source)."""
    before = (Midi(52), Midi(58), Midi(62))
    after = nearest(before, voicings(parse_chord("IV7"), 0, False, 3))
    assert {3, 9} < {midi % 12 for midi in after}
    assert sum(abs(one - other) for one, other in zip(before, after, strict=True)) <= 6


@KEY
@FEEL
def test_voices_move_little_from_chord_to_chord(key: Key, feel: Feel) -> None:
    notes = keys_of(plan(form="jazz-blues", key=key, feel=feel), bass=())
    starts = sorted({note.start for note in notes if note.start >= TICKS_PER_BAR - NEAR})
    chords = [sorted(note.midi for note in notes if note.start == start) for start in starts]
    for before, after in pairwise(chords):
        assert abs(before[-1] - after[-1]) <= 7
        if len(before) == len(after):
            moved = [abs(one - other) for one, other in zip(before, after, strict=True)]
            assert sum(moved) / len(moved) <= 4


# --- rhythm -------------------------------------------------------------------------------------


@FEEL
@pytest.mark.parametrize("form", ["twelve-bar", "jazz-blues", "eight-bar-slow", "minor-blues"])
def test_every_new_chord_is_heard_within_its_beats(feel: Feel, form: str) -> None:
    for seed in range(5):
        music = plan(feel=feel, form=form)
        notes = keys_of(music, seed, bass=())
        bars = len(music.bars)
        for beat in range(4 * bars):
            chord = music.chord(*divmod(beat, 4))
            if beat and chord == music.chord(*divmod(beat - 1, 4)):
                continue
            until = beat + 1
            while until < 4 * bars and music.chord(*divmod(until, 4)) == chord:
                until += 1
            tonic = music.key.tonic.pitch_class
            core = {
                (tonic + chord.root.semitones + chord.tones[step].semitones) % 12 for step in (1, 3)
            }
            pushed = bar_tick(1) + (beat - 1) * TICKS_PER_BEAT + NEAR
            end = bar_tick(1) + until * TICKS_PER_BEAT - NEAR
            heard = [note for note in notes if pushed < note.start < end]
            assert core <= classes(heard), (seed, beat, str(chord))


def test_a_bar_whose_chord_changes_on_every_beat_is_played_on_the_beats() -> None:
    music = plan((11, "stay+late-five"))
    bar = in_bar(keys_of(music, bass=()), 12)
    assert [1, 2, 3, 4] == beats(bar)


def test_no_chord_rings_over_a_change() -> None:
    for seed in range(8):
        music = plan((11, "one-six-two-five"), feel=Feel.SLOW)
        for note in in_bar(keys_of(music, seed, bass=()), 11):
            middle = bar_tick(11) + TICKS_PER_BAR // 2
            assert note.end <= middle or note.start >= middle - NEAR


@FEEL
def test_the_landing_chord_comes_on_the_downbeat_and_is_held_to_the_end(feel: Feel) -> None:
    for seed in range(8):
        music = plan((11, "climb+dip"), feel=feel)
        notes = keys_of(music, seed)
        landing = in_bar(notes, 13)
        assert [1] == beats(landing)
        assert {music.length} == {note.end for note in landing}
        one = music.chord(12, 0).pitch_classes(music.key.tonic)
        early = [note for note in in_bar(notes, 12) if note.start > bar_tick(12) + 3000]
        assert not early or classes(early) != classes(landing)
        assert {(5 + 4) % 12, (5 + 10) % 12} <= classes(landing) & one


# --- out of the way of the bass -----------------------------------------------------------------


def note(beat: float, length: float, midi: int) -> NoteEvent:
    start = bar_tick(1) + round(beat * TICKS_PER_BEAT)
    return NoteEvent(Tick(start), Tick(round(length * TICKS_PER_BEAT)), Midi(midi), 90)


def held(music: Plan) -> tuple[Sequence[NoteEvent], list[NoteEvent]]:
    """A seed's first held chord in bar 1 without a bass, and all notes of that take."""
    for seed in range(60):
        notes = keys_of(music, seed, bass=())
        long = [one for one in in_bar(notes, 1) if one.length > 1.5 * TICKS_PER_BEAT]
        if long and long[0].start < bar_tick(1) + NEAR:
            return [one for one in long if one.start == long[0].start], list(notes)
    raise AssertionError("no seed holds a chord on the first downbeat")


def seed_of_held(music: Plan, chord: Sequence[NoteEvent]) -> int:
    return next(seed for seed in range(60) if chord[0] in keys_of(music, seed, bass=()))


def test_a_voice_a_half_step_from_a_long_bass_note_is_left_out() -> None:
    music = plan(feel=Feel.SLOW)
    chord, _ = held(music)
    seed = seed_of_held(music, chord)
    third = next(voice for voice in chord if voice.midi % 12 == (5 + 4) % 12)
    rubbing = note(0, 1, third.midi - 25)  # a half step under, two octaves down
    clashing = {one.midi for one in chord if (one.midi - rubbing.midi) % 12 in (1, 11)}
    sounding = [one for one in keys_of(music, seed, bass=[rubbing]) if one.start == chord[0].start]
    assert third.midi in clashing
    assert {one.midi for one in chord} - clashing == {one.midi for one in sounding}


def test_a_voice_is_let_go_where_the_bass_comes_to_rub_against_it() -> None:
    music = plan(feel=Feel.SLOW)
    chord, _ = held(music)
    seed = seed_of_held(music, chord)
    third = next(voice for voice in chord if voice.midi % 12 == (5 + 4) % 12)
    later = note(1, 0.9, third.midi - 25)
    sounding = {
        one.midi: one
        for one in keys_of(music, seed, bass=[note(0, 0.9, 29), later])
        if one.start == chord[0].start
    }
    assert later.start == sounding[third.midi].end
    assert {one.midi for one in chord} == set(sounding)


def test_a_short_bass_note_takes_nothing_away() -> None:
    music = plan(feel=Feel.SLOW)
    chord, _ = held(music)
    seed = seed_of_held(music, chord)
    third = next(voice for voice in chord if voice.midi % 12 == (5 + 4) % 12)
    dip = note(0, 0.5, third.midi - 25)
    sounding = [one for one in keys_of(music, seed, bass=[dip]) if one.start == chord[0].start]
    assert list(chord) == sounding


def test_two_voices_stay_even_when_all_would_rub() -> None:
    music = plan(feel=Feel.SLOW)
    chord, _ = held(music)
    seed = seed_of_held(music, chord)
    bass = [note(0, 1, midi) for midi in range(24, 48) if midi % 12 != 5]
    sounding = [one for one in keys_of(music, seed, bass=bass) if one.start == chord[0].start]
    assert 2 == len(sounding)


def test_over_a_bass_up_in_the_comping_register_the_hand_moves_up() -> None:
    music = plan()
    bass = [note(beat, 0.9, 70) for beat in range(48)]
    for seed in range(4):
        for one in keys_of(music, seed, bass=bass):
            if one.start > TICKS_PER_BAR - NEAR and one.start < bar_tick(13) - NEAR:
                assert one.midi > 70


# --- fairness -----------------------------------------------------------------------------------


@FEEL
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("climb+plain-five", "fall+plain-five"),
        ("scale-climb+dip", "climb+walk-up-from-four"),
        ("climb+plain-five", "climb-flat-third+plain-five+doubled"),
    ],
)
def test_over_the_same_chords_the_keys_differ_only_by_what_the_bass_takes_away(
    feel: Feel, one: str, other: str
) -> None:
    for seed in range(6):
        first, second = plan((11, one), feel=feel), plan((11, other), feel=feel)
        free = keys_of(first, seed, bass=())
        assert free == keys_of(second, seed, bass=())
        struck = {(note.start, note.midi): note for note in free}
        for music in (first, second):
            for sounding in keys_of(music, seed, bass=bass_of(music)):
                whole = struck[sounding.start, sounding.midi]
                assert sounding.length <= whole.length


@FEEL
def test_what_comes_before_a_device_does_not_announce_it(feel: Feel) -> None:
    until = bar_tick(11)
    for seed in range(6):
        stay = keys_of(plan((11, "stay+stay-on-one"), feel=feel), seed, bass=())
        move = keys_of(plan((11, "three-six-two-five"), feel=feel), seed, bass=())
        before = [
            (note.start, note.midi, note.velocity)
            for note in stay
            if note.start < until - TICKS_PER_BEAT
        ]
        assert before == [
            (note.start, note.midi, note.velocity)
            for note in move
            if note.start < until - TICKS_PER_BEAT
        ]


# --- endings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "bar_12", "landing"),
    [
        ("climb-five-one", [1, 3], [1]),
        ("run-up", [1, 3, 4], [1]),
        ("blues-run-down", [1, 2, 3], []),
        ("stop-half-above", [1], []),
        ("chromatic-fall-ending", [1, 2, 3, 4], []),
    ],
)
def test_the_keys_hit_with_the_line_where_an_ending_stops(
    name: str, bar_12: list[float], landing: list[float]
) -> None:
    for feel in Feel:
        music = plan((11, name), feel=feel)
        for seed in range(4):
            notes = keys_of(music, seed)
            assert bar_12 == beats(in_bar(notes, 12))
            assert landing == beats(in_bar(notes, 13))
            last = max(note.start for note in notes)
            assert {music.length} == {note.end for note in notes if note.start == last}


def test_a_line_that_ends_before_the_landing_ends_on_the_chord_of_the_landing() -> None:
    """Also in a form whose bar 12 is the five: the root is not left hanging under it."""
    music = plan((11, "blues-run-down"), form="twelve-bar-five")
    notes = keys_of(music, bass=())
    last = [note for note in notes if note.start == max(note.start for note in notes)]
    third, seventh = (5 + 4) % 12, (5 + 10) % 12
    assert {third, seventh} <= classes(last)


def test_a_walking_bass_keeps_the_keys_at_two_voices_or_more() -> None:
    music = plan(feel=Feel.SWING, base="walking", form="jazz-blues")
    for seed in range(6):
        notes = keys_of(music, seed, bass=bass_of(music, seed))
        for start in {note.start for note in notes}:
            assert len([note for note in notes if note.start == start]) >= 2
