"""The open jam: legs, what joins them, where a device stands, and what is refused."""

from functools import cache
from itertools import pairwise

import pytest
from music21 import harmony

from engine.catalogue import Device, builtin_catalogue
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import find_form
from engine.jam import JamSettings, Leg, Placed, first_leg, leg_plan, leg_score, next_leg
from engine.jam_places import JamPlace, cues, place_at, tick_at
from engine.line import Compass
from engine.plan import lead_over, seen_from
from engine.score import ORGAN, Drum, NoteEvent, Part
from engine.textures import Texture
from engine.theory import PLAYED_KEYS, Key, Midi, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick, seconds_at

CATALOGUE = builtin_catalogue()
F, BB, EB, AB, E = (Key(Note(name[0], -name.count("b"))) for name in ("F", "Bb", "Eb", "Ab", "E"))
SLACK = 20
"""Ticks, more than a hit is ever early."""


def device(name: str) -> Device:
    return CATALOGUE.find(name)


def settings(
    form: str = "twelve-bar",
    base: str = "two-beat",
    feel: Feel = Feel.SHUFFLE,
    texture: Texture = Texture.BAND,
    tempo: float = 120.0,
) -> JamSettings:
    return JamSettings(find_form(form), feel, tempo, device(base), texture)


def jam(
    *keys: Key, placed: tuple[Placed, ...] = (), band: JamSettings | None = None, seed: int = 7
) -> list[Leg]:
    """A jam of two choruses in each key, the same devices in every leg."""
    legs = [first_leg(band or settings(), seed, keys[0], 2, placed, keys[1])]
    for after in (*keys[2:], None):
        legs.append(next_leg(legs[-1], 2, placed, after))
    return legs


def notes(leg: Leg, part: Part) -> tuple[NoteEvent, ...]:
    track = leg_score(leg).track(part)
    assert track is not None
    return track.notes


def struck(legs: list[Leg], tick: int) -> list[int]:
    """The pitches of the bass that begin at `tick`, in all legs together."""
    return [note.midi for leg in legs for note in notes(leg, Part.BASS) if note.start == tick]


# --- legs -----------------------------------------------------------------------------------------


def test_legs_follow_each_other_without_a_gap() -> None:
    legs = jam(F, BB, BB, AB)
    assert [TICKS_PER_BAR, *(leg.end for leg in legs[:-1])] == [leg.start for leg in legs]
    assert [F, BB, BB, AB] == [leg.key for leg in legs]
    assert [0, 1, 2, 3] == [leg.index for leg in legs]


def test_two_bars_lead_over_where_the_key_moves_and_none_where_it_stays() -> None:
    legs = jam(F, BB, BB, AB)
    bars = [(leg.end - leg.start) // TICKS_PER_BAR for leg in legs]
    # two choruses of twelve; the last leg has the bar in which the last chord rings
    assert [26, 24, 26, 25] == bars


def test_f_sharp_and_g_flat_are_one_key_to_the_band() -> None:
    sharp, flat = Key(Note("F", 1)), Key(Note("G", -1))
    assert not jam(sharp, flat)[0].moves


def test_only_the_first_leg_is_counted_in() -> None:
    legs = jam(F, BB, EB)
    first, *later = [[note.start for note in notes(leg, Part.DRUMS)] for leg in legs]
    assert [0, 960, 1920, 2880] == first[:4]
    for leg, starts in zip(legs[1:], later, strict=True):
        assert leg.start - SLACK <= min(starts)


def test_only_the_first_leg_has_the_chord_that_gives_the_key() -> None:
    legs = jam(F, BB, band=settings(texture=Texture.DRUMS))
    assert {0} == {note.start for note in notes(legs[0], Part.KEYS)}
    assert () == notes(legs[1], Part.KEYS)


def test_the_bass_alone_is_alone_behind_the_count_in() -> None:
    legs = jam(F, BB, band=settings(texture=Texture.BASS))
    for leg in legs:
        late = [note for note in notes(leg, Part.DRUMS) if note.start >= TICKS_PER_BAR]
        assert [] == late
        assert notes(leg, Part.BASS)


def test_the_score_of_a_leg_ends_where_the_leg_does() -> None:
    for leg in jam(F, BB, EB):
        score = leg_score(leg)
        assert leg.end == score.length
        assert leg.key == score.key
        assert 120.0 == score.tempo


def test_the_keys_are_played_on_the_instrument_that_was_chosen() -> None:
    band = JamSettings(find_form("twelve-bar"), Feel.SWING, 140.0, device("walking"), comping=ORGAN)
    track = leg_score(first_leg(band, 1, F, 2, following=F)).track(Part.KEYS)
    assert track is not None
    assert ORGAN == track.instrument


def test_the_band_keeps_its_style_for_the_whole_jam() -> None:
    # of the two ways to play a shuffle one has the ride in every bar, the other never
    rides = [
        {Drum.RIDE.value in {note.midi for note in notes(leg, Part.DRUMS)} for leg in legs}
        for legs in (jam(F, BB, EB, AB, seed=seed) for seed in range(6))
    ]
    assert all(len(answers) == 1 for answers in rides)
    assert {True, False} == set().union(*rides)


def test_no_two_legs_are_drummed_alike() -> None:
    rows = [
        [(note.start - leg.start, note.midi) for note in notes(leg, Part.DRUMS)]
        for leg in jam(F, F, F, F)[1:]
    ]
    assert rows[0] != rows[1]


# --- the joints -----------------------------------------------------------------------------------


def test_every_leg_after_the_first_starts_with_a_crash() -> None:
    # common practice, no source
    for leg in jam(F, BB, BB, AB)[1:]:
        top = {note.midi for note in notes(leg, Part.DRUMS) if abs(note.start - leg.start) <= SLACK}
        assert Drum.CRASH.value in top


def test_what_leads_over_is_the_old_one_and_two_five_of_the_new_key() -> None:
    plan = leg_plan(jam(F, AB)[0])
    over = [[chord.symbol(Note("F")) for chord in bar.chords] for bar in plan.bars[-3:]]
    assert [["F7"] * 4, ["Bbm7", "Bbm7", "Eb7", "Eb7"], ["Ab7"] * 4] == over


def test_in_minor_the_old_one_is_minor() -> None:
    minor = find_form("minor-blues")
    bars = lead_over(minor, Key(Note("A"), True), Key(Note("D"), True), 2)
    assert [["Am7"] * 4, ["Em7", "Em7", "A7", "A7"]] == [
        [chord.symbol(Note("A")) for chord in bar.chords] for bar in bars
    ]


@cache
def written(root: str, kind: str) -> frozenset[int]:
    """Pitch classes of a chord symbol, by music21."""
    return frozenset(
        pitch.pitchClass for pitch in harmony.ChordSymbol(root.replace("b", "-") + kind).pitches
    )


@pytest.mark.parametrize("old", PLAYED_KEYS, ids=str)
def test_two_and_five_sound_right_from_every_key_into_every_other(old: Key) -> None:
    # outside check: music21 says what the chord symbols of the new key sound like
    fifths = ["C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F"]
    names = {written(name, "7"): place for place, name in enumerate(fifths)}
    for new in PLAYED_KEYS:
        place = names[written(str(new), "7")]
        two, five = fifths[(place + 2) % 12], fifths[(place + 1) % 12]
        bar = lead_over(find_form("twelve-bar"), old, new, 2)[1]
        sounding = [chord.pitch_classes(old.tonic) for chord in bar.chords]
        assert [written(two, "m7")] * 2 + [written(five, "7")] * 2 == sounding


@pytest.mark.parametrize("old", PLAYED_KEYS, ids=str)
def test_the_roots_of_another_key_are_written_as_charts_write_them(old: Key) -> None:
    for new in PLAYED_KEYS:
        for bar in find_form("jazz-blues").bars:
            roots = {str(chord.root) for chord in seen_from(bar, new, old.tonic)}
            assert roots <= {"1", "b2", "2", "b3", "3", "4", "#4", "b5", "5", "b6", "6", "b7", "7"}


def test_chords_of_a_key_seen_from_itself_stay_as_they_are() -> None:
    for bar in find_form("jazz-blues").bars:
        assert bar == seen_from(bar, EB, EB.tonic)


def test_the_turnaround_before_a_new_key_still_arrives_on_the_old_one() -> None:
    legs = jam(F, AB, placed=(Placed(1, 11, device("climb+dip")),))
    arrival = cues(legs[0])[0].arrival
    assert [F.tonic.pitch_class] == [midi % 12 for midi in struck(legs, arrival)]
    assert legs[1].start - 2 * TICKS_PER_BAR == arrival


def test_the_base_pattern_walks_through_the_bars_that_lead_over() -> None:
    legs = jam(F, AB, band=settings(base="two-beat"))
    start = legs[1].start - 2 * TICKS_PER_BAR
    roots = [struck(legs, start + beat * TICKS_PER_BEAT)[0] % 12 for beat in (0, 2, 4, 6, 8)]
    # F and its fifth, then the roots Bb and Eb, and Ab on the downbeat of the new leg
    assert [5, 0, 10, 3, 8] == roots


def test_a_turnaround_into_the_same_key_arrives_on_the_first_downbeat_of_the_next_leg() -> None:
    legs = jam(F, F, placed=(Placed(1, 12, device("walk-up-five-one")),), band=FIVE)
    arrival = cues(legs[0])[0].arrival
    last, target = notes(legs[0], Part.BASS)[-1].midi, struck(legs, arrival)
    assert legs[1].start == arrival
    assert [last + 1] == target  # 7 to 8: the half step up, not the eleventh down


FIVE = settings("twelve-bar-five")


@pytest.mark.parametrize("base", ["two-beat", "boogie", "box", "walking", "root-eighths"])
def test_the_bass_leaps_no_further_at_a_joint_than_a_fifth(base: str) -> None:
    # the root motions of the lead-over: a fourth up or a fifth down, or nearer
    legs = jam(F, BB, EB, AB, AB, E, F, band=settings(base=base))
    lines = [notes(leg, Part.BASS) for leg in legs]
    leaps = [abs(after[0].midi - before[-1].midi) for before, after in pairwise(lines)]
    assert max(leaps) <= 7


def test_the_bass_stays_in_the_compass_it_is_given() -> None:
    narrow = Compass(Midi(33), Midi(55))
    band = JamSettings(
        find_form("twelve-bar"), Feel.SHUFFLE, 120.0, device("two-beat"), compass=narrow
    )
    pitches = {note.midi for leg in jam(F, AB, E, band=band) for note in notes(leg, Part.BASS)}
    assert narrow.low <= min(pitches)
    assert max(pitches) <= narrow.high


def test_the_last_leg_ends_on_a_chord_that_rings_for_a_bar() -> None:
    last = jam(F, BB)[-1]
    landing = last.end - TICKS_PER_BAR
    assert landing == notes(last, Part.BASS)[-1].start
    for part in (Part.BASS, Part.KEYS):
        assert last.end == notes(last, part)[-1].end


def test_an_ending_may_stop_the_last_leg() -> None:
    legs = [first_leg(settings(), 7, F, 2, following=BB)]
    legs.append(next_leg(legs[0], 2, [Placed(1, 9, device("last-four-twice"))]))
    assert 24 + 4 + 1 == (legs[1].end - legs[1].start) // TICKS_PER_BAR


@pytest.mark.parametrize("seed", [1, 2, 3, 27, 35])
def test_the_keys_play_the_first_chord_of_every_leg_before_it_changes(seed: int) -> None:
    # in the quick change that is after one bar; a push may come an off-beat before it
    band = settings("quick-change", "root-eighths", Feel.SLOW, tempo=60)
    for leg in jam(F, BB, EB, band=band, seed=seed)[1:]:
        until = leg.start + TICKS_PER_BAR - TICKS_PER_BEAT // 2
        starts = [note.start for note in notes(leg, Part.KEYS)]
        assert any(leg.start - SLACK <= start < until for start in starts)


@pytest.mark.parametrize("keys", [(F, BB, EB, AB, E, F), (F, AB, E, F), (BB, F, F, BB, AB, EB)])
def test_a_base_pattern_keeps_its_contour_behind_a_joint(keys: tuple[Key, ...]) -> None:
    for leg in jam(*keys, band=settings(base="boogie"))[1:]:
        first = [note.midi for note in notes(leg, Part.BASS)[:4]]
        assert [0, 4, 7, 9] == [midi - first[0] for midi in first]  # 1 3 5 6


def test_devices_are_heard_in_every_leg_where_their_cues_say() -> None:
    for leg in jam(F, BB, BB, AB, placed=(Placed(1, 11, device("climb+plain-five")),)):
        start = cues(leg)[0].start
        heard = [struck([leg], start + beat * TICKS_PER_BEAT)[0] % 12 for beat in range(5)]
        tonic = leg.key.tonic.pitch_class
        assert [(tonic + above) % 12 for above in (0, 4, 5, 6, 7)] == heard


# --- where things are -----------------------------------------------------------------------------


def test_a_cue_says_where_a_device_starts_and_arrives() -> None:
    placed = (Placed(1, 11, device("fall+dip")), Placed(0, 4, device("walk-up-one-four")))
    legs = jam(F, BB, placed=placed)
    one, two = cues(legs[1])
    start = 27 * TICKS_PER_BAR  # the count-in, two choruses, and the bars that lead over
    assert ("walk-up-one-four", 1, 0, 4) == (one.device, one.leg, one.chorus, one.bar)
    assert start + 3 * TICKS_PER_BAR == one.start
    assert start + 4 * TICKS_PER_BAR == one.arrival
    assert ("fall+dip", 1, 1, 11) == (two.device, two.leg, two.chorus, two.bar)
    assert start + 22 * TICKS_PER_BAR == two.start
    assert start + 24 * TICKS_PER_BAR == two.arrival


@pytest.mark.parametrize(
    ("bar", "beat", "place"),
    [
        (0, 3, None),  # the count-in
        (1, 0, JamPlace(0, 0, 1, 0)),
        (12, 3, JamPlace(0, 0, 12, 3)),
        (13, 1, JamPlace(0, 1, 1, 1)),
        (25, 2, JamPlace(0, 2, 1, 2, leads_over=True)),
        (26, 0, JamPlace(0, 2, 2, 0, leads_over=True)),
        (27, 0, JamPlace(1, 0, 1, 0)),
        (50, 3, JamPlace(1, 1, 12, 3)),
        (51, 0, None),  # the last chord rings
        (52, 0, None),
    ],
)
def test_a_tick_has_its_place_in_the_form(bar: int, beat: int, place: JamPlace | None) -> None:
    first = bar * TICKS_PER_BAR + beat * TICKS_PER_BEAT
    for tick in (first, first + TICKS_PER_BEAT - 1):
        assert place == place_at(jam(F, BB), Tick(tick))


def test_bars_that_an_ending_plays_again_have_their_number_in_the_form() -> None:
    last = first_leg(settings(), 7, F, 2, [Placed(1, 9, device("last-four-twice"))])
    bars = [
        place.bar
        for bar in range(29)
        if (place := place_at([last], Tick(last.start + bar * TICKS_PER_BAR)))
    ]
    assert [*range(1, 13), *range(1, 13), 9, 10, 11, 12] == bars


@pytest.mark.parametrize("tempo", [47.3, 120.0, 211.7])
def test_seconds_become_ticks_and_ticks_seconds(tempo: float) -> None:
    for tick in (0, 1, 959, 1_000_003):
        assert tick == tick_at(seconds_at(Tick(tick), tempo), tempo)


# --- repeatable, and refused ----------------------------------------------------------------------


def test_the_same_jam_is_played_again_from_the_same_seed_and_another_one_from_another() -> None:
    again = [[leg_score(leg) for leg in jam(F, BB)] for _ in range(2)]
    assert again[0] == again[1]
    other = first_leg(settings(), 8, F, 2, following=BB)
    assert again[0][0] != leg_score(other)


@pytest.mark.parametrize("choruses", [-1, 0, 1, 5])
def test_a_leg_has_two_to_four_choruses(choruses: int) -> None:
    with pytest.raises(MusicInputError, match=f"^{choruses} choruses in a leg: give 2 to 4$"):
        first_leg(settings(), 1, F, choruses, following=F)


def test_an_ending_has_no_place_where_the_jam_goes_on() -> None:
    with pytest.raises(MusicInputError, match="ends the tune: put it into the last leg"):
        first_leg(settings(), 1, F, 2, [Placed(1, 11, device("run-up"))], F)


def test_nothing_follows_the_last_leg() -> None:
    with pytest.raises(MusicInputError, match="leg 0 ends the jam"):
        next_leg(first_leg(settings(), 1, F, 2), 2)


@pytest.mark.parametrize(
    ("placed", "says"),
    [
        (Placed(0, 5, device("walk-up-one-four")), "it may start in 4$"),
        (Placed(2, 11, device("climb+dip")), "in chorus index 2: give 0 to 1$"),
        (Placed(0, 11, device("climb")), "cannot stand alone"),
    ],
)
def test_a_device_without_a_place_there_is_refused(placed: Placed, says: str) -> None:
    with pytest.raises(MusicInputError, match=says):
        first_leg(settings(), 1, F, 2, [placed], F)


def test_a_device_that_is_wider_than_the_bass_is_refused_before_it_is_played() -> None:
    band = JamSettings(
        find_form("twelve-bar"),
        Feel.SHUFFLE,
        120.0,
        device("two-beat"),
        compass=Compass(Midi(40), Midi(50)),
    )
    with pytest.raises(MusicInputError, match="does not fit between MIDI 40 and 50"):
        first_leg(band, 1, F, 2, [Placed(0, 11, device("fall+dip"))], F)
