"""Laws of spelling, reading and writing, patterns, time and the neck."""

from collections.abc import Callable
from itertools import product

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from engine.catalogue import Device
from engine.chords import NUMERALS, QUALITIES, Chord, parse_bars, parse_chord
from engine.errors import LONGEST_SHOWN, MusicInputError, printable, shown
from engine.feels import Feel, eighth_tick, find_feel, spot_tick, swing_ratio
from engine.forms import find_form
from engine.neck import (
    TUNINGS,
    PathCost,
    Position,
    Tuning,
    find_tuning,
    fingering,
    positions,
    sounding,
)
from engine.notation import (
    NoteNames,
    Written,
    format_note,
    parse_degree,
    parse_key,
    parse_line,
    parse_note,
)
from engine.pattern import Pattern, Tone, parse_pattern
from engine.theory import (
    MAJOR_STEPS,
    OCTAVE,
    TONICS,
    Degree,
    Key,
    Note,
    degree_of,
    nearest_tonic,
    same_pitch,
    spell,
)
from engine.timing import BLOCK, FRAME_RATE, TICKS_PER_BEAT, Tick, checked_tempo, frame_at
from sounds.looping import hertz
from tests.laws.strategies import (
    AWKWARD_TEXTS,
    CATALOGUE,
    TEMPI,
    awkward_texts,
    degrees,
    notes,
    patterns,
    playable,
    played_keys,
    tonics,
    trade_degrees,
    typed_lines,
)

# --- spelling -----------------------------------------------------------------------------------


@given(trade_degrees, tonics)
def test_a_note_is_spelled_at_the_pitch_of_its_degree(degree: Degree, tonic: Note) -> None:
    note = spell(degree, tonic)
    assert (tonic.pitch_class + degree.semitones) % OCTAVE == note.pitch_class
    assert abs(note.alter) <= 2


@given(degrees, tonics)
def test_reading_a_degree_undoes_spelling_it_octaves_aside(degree: Degree, tonic: Note) -> None:
    folded = Degree((degree.number - 1) % 7 + 1, degree.alter)
    assert folded == degree_of(spell(degree, tonic), tonic)


@given(notes, tonics)
def test_spelling_a_degree_undoes_reading_it(note: Note, tonic: Note) -> None:
    degree = degree_of(note, tonic)
    assert 1 <= degree.number <= 7
    assert note == spell(degree, tonic)


@given(notes)
def test_every_note_is_one_of_itself_and_one_gives_the_tonic_back(tonic: Note) -> None:
    assert Degree(1) == degree_of(tonic, tonic)
    assert tonic == spell(Degree(1), tonic) == spell(Degree(8), tonic)


@given(trade_degrees, tonics, tonics)
def test_moving_to_another_key_and_back_changes_nothing(
    degree: Degree, here: Note, there: Note
) -> None:
    moved = spell(degree_of(spell(degree, here), here), there)
    back = spell(degree_of(moved, there), here)
    assert spell(degree, here) == back


@given(tonics, st.integers(1, 7), st.integers(1, 7))
def test_steps_of_the_scale_add_up(tonic: Note, one: int, other: int) -> None:
    direct = Degree((one + other - 2) % 7 + 1)
    through = spell(Degree(other), spell(Degree(one), tonic))
    assert spell(direct, tonic).letter == through.letter


@given(tonics)
def test_the_seven_degrees_of_a_key_have_seven_letters_and_no_double_accidentals(
    tonic: Note,
) -> None:
    scale = [spell(Degree(number), tonic) for number in range(1, 8)]
    assert 7 == len({note.letter for note in scale})
    assert all(abs(note.alter) <= 1 for note in scale)
    assert list(MAJOR_STEPS) == [(note.pitch_class - tonic.pitch_class) % 12 for note in scale]


@given(tonics)
def test_the_signature_counts_the_accidentals_of_the_scale(tonic: Note) -> None:
    scale = [spell(Degree(number), tonic) for number in range(1, 8)]
    assert sum(note.alter for note in scale) == Key(tonic).sharps
    assert Key(tonic).sharps - 3 == Key(tonic, minor=True).sharps


@given(notes, notes)
def test_sounding_alike_is_having_one_pitch_class(one: Note, other: Note) -> None:
    assert same_pitch(one, other) is (one.pitch_class == other.pitch_class)
    assert same_pitch(one, other) is same_pitch(other, one)


@given(played_keys, st.integers(0, 115))
def test_the_nearest_tonic_is_less_than_an_octave_up(key: Key, low: int) -> None:
    tonic = nearest_tonic(key, low)
    assert low <= tonic < low + OCTAVE
    assert key.tonic.pitch_class == tonic % OCTAVE


@given(st.floats(0, 115))
def test_an_octave_doubles_the_frequency(midi: float) -> None:
    assert 2 * hertz(midi) == pytest.approx(hertz(midi + OCTAVE))
    assert hertz(midi) < hertz(midi + 0.01)


# --- reading and writing ------------------------------------------------------------------------


@given(
    st.lists(notes, min_size=1, max_size=16),
    st.sampled_from(NoteNames),
    st.sampled_from((" ", ", ", " - ", "|")),
)
def test_a_line_of_notes_is_read_as_it_is_written(
    line: list[Note], names: NoteNames, between: str
) -> None:
    text = between.join(format_note(note, names) for note in line)
    assert Written(notes=tuple(line)) == parse_line(text, names)


@given(
    st.lists(degrees, min_size=1, max_size=16),
    st.sampled_from(NoteNames),
    st.sampled_from((" ", "", ",", "  |  ")),
)
def test_a_line_of_degrees_is_read_as_it_is_written(
    line: list[Degree], names: NoteNames, between: str
) -> None:
    text = between.join(map(str, line))
    assert Written(degrees=tuple(line)) == parse_line(text, names)


@given(notes, st.sampled_from(NoteNames))
def test_a_note_is_read_as_it_is_written_in_any_case(note: Note, names: NoteNames) -> None:
    text = format_note(note, names)
    assert note == parse_note(text, names)
    assert note == parse_note(text.lower(), names)
    if names is NoteNames.SOLFEGE:
        assert note == parse_note(text.upper(), names)


@given(st.lists(notes, min_size=2, max_size=12))
def test_english_names_may_run_together(line: list[Note]) -> None:
    assert Written(notes=tuple(line)) == parse_line("".join(map(str, line)))


@given(st.sampled_from(TONICS), st.booleans(), st.sampled_from(NoteNames))
def test_a_key_is_read_as_it_is_written(tonic: Note, minor: bool, names: NoteNames) -> None:
    text = format_note(tonic, names) + (" minor" if minor else "")
    assert Key(tonic, minor) == parse_key(text, names)


READERS: list[Callable[[str], object]] = [
    parse_degree,
    parse_chord,
    parse_bars,
    parse_pattern,
    find_form,
    find_feel,
    find_tuning,
    CATALOGUE.find,
    *(lambda text, names=names: parse_note(text, names) for names in NoteNames),
    *(lambda text, names=names: parse_key(text, names) for names in NoteNames),
    *(lambda text, names=names: parse_line(text, names) for names in NoteNames),
]


def refusal(read: Callable[[str], object], text: str) -> str | None:
    """The message with which a text is refused; None when it is read."""
    try:
        read(text)
    except MusicInputError as error:
        return str(error)
    return None


def is_one_bearable_line(message: str) -> bool:
    return message.isprintable() and 0 < len(message) < 400


@pytest.mark.parametrize("text", AWKWARD_TEXTS)
def test_an_awkward_text_is_read_or_refused_in_one_line(text: str) -> None:
    messages = [refusal(read, text) for read in READERS]
    assert any(messages)
    assert all(is_one_bearable_line(message) for message in messages if message is not None)


@given(st.sampled_from(READERS), awkward_texts)
def test_any_text_is_read_or_refused_in_one_line(read: Callable[[str], object], text: str) -> None:
    message = refusal(read, text)
    assert message is None or is_one_bearable_line(message)


@given(typed_lines())
def test_what_is_typed_in_any_way_is_read_again_as_it_is_written_down(
    typed: tuple[str, NoteNames, int],
) -> None:
    text, names, length = typed
    written = parse_line(text, names)
    assert {0, length} == {len(written.degrees), len(written.notes)}
    line = [format_note(note, names) for note in written.notes] or map(str, written.degrees)
    assert written == parse_line(" ".join(line), names)


@given(st.text())
@example("\x1b[2J\r\n\u2028\u202e\ud800")
def test_a_shown_text_is_one_line_of_bounded_length(text: str) -> None:
    assert shown(text).isprintable()
    assert len(shown(text)) <= LONGEST_SHOWN + 3
    assert len(text) == len(printable(text))
    assert printable(text) == printable(printable(text))


# --- chords and patterns ------------------------------------------------------------------------


@given(st.integers(1, 7), st.integers(-1, 1), st.sampled_from(list(QUALITIES)), tonics)
def test_a_chord_sounds_its_root_and_three_more_notes(
    number: int, alter: int, quality: str, tonic: Note
) -> None:
    chord = Chord(Degree(number, alter), quality)
    sounding_notes = chord.pitch_classes(tonic)
    assert 4 == len(sounding_notes)
    assert spell(chord.root, tonic).pitch_class in sounding_notes
    assert chord == parse_chord(str(chord))
    assert NUMERALS[number - 1] in str(chord)


@given(patterns)
def test_a_pattern_is_written_as_it_is_read(pattern: Pattern) -> None:
    assert pattern == parse_pattern(str(pattern))


@given(patterns)
def test_a_pattern_strikes_its_notes_in_order_within_its_bars(pattern: Pattern) -> None:
    assert len(pattern.strikes) == len(pattern.tones) == len(pattern.degrees)
    assert sorted(set(pattern.strikes)) == list(pattern.strikes)
    assert set(range(4 * pattern.bars)) == {step.spot.beat for step in pattern.steps}


@given(patterns)
def test_doubling_keeps_the_order_of_degrees_and_never_loses_a_note(pattern: Pattern) -> None:
    doubled = pattern.doubled()
    assert pattern.bars == doubled.bars
    assert set(pattern.strikes) <= set(doubled.strikes)
    kept = dict(zip(doubled.strikes, doubled.tones, strict=True))
    assert list(pattern.tones) == [kept[spot] for spot in pattern.strikes]
    assert doubled == doubled.doubled()


@given(patterns, patterns, patterns)
def test_putting_patterns_behind_each_other_is_associative(
    one: Pattern, two: Pattern, three: Pattern
) -> None:
    assert one.then(two).then(three) == one.then(two.then(three))
    assert one.bars + two.bars == one.then(two).bars
    assert one.then(two).arrival == two.arrival


@given(playable)
def test_every_device_is_written_as_it_is_read(device: Device) -> None:
    assert device.pattern == parse_pattern(str(device.pattern))


@given(degrees, st.integers(-2, 2))
def test_a_tone_stands_whole_octaves_from_its_degree(degree: Degree, octave: int) -> None:
    tone = Tone(degree, octave)
    assert degree.semitones + OCTAVE * octave == tone.semitones
    assert tone == parse_pattern(f"{tone} x x x").tones[0]


# --- time ---------------------------------------------------------------------------------------


@given(st.sampled_from(Feel), TEMPI)
def test_the_second_eighth_lies_in_the_second_half_of_its_beat(feel: Feel, bpm: float) -> None:
    eighth = eighth_tick(feel, bpm)
    assert TICKS_PER_BEAT // 2 <= eighth < TICKS_PER_BEAT
    assert 1.0 <= swing_ratio(feel, bpm) <= 2.8
    assert spot_tick(0, True, feel, bpm) < spot_tick(1, False, feel, bpm)


@given(st.integers(0, 10**7), st.integers(0, 10**5), TEMPI)
def test_frames_never_run_backwards(tick: int, more: int, bpm: float) -> None:
    assert frame_at(Tick(tick), bpm) <= frame_at(Tick(tick + more), bpm)
    assert 0 == frame_at(Tick(tick), bpm) % BLOCK
    exact = tick * 60 * FRAME_RATE / (bpm * TICKS_PER_BEAT)
    assert frame_at(Tick(tick), bpm) == pytest.approx(exact, abs=BLOCK / 2 + 1e-3)


@given(st.floats())
def test_a_tempo_is_played_or_refused(bpm: float) -> None:
    message = refusal(lambda _: checked_tempo(bpm), "")
    assert (message is None) is (30 <= bpm <= 320)
    assert message is None or message.endswith("give beats a minute from 30 to 320")


# --- the neck -----------------------------------------------------------------------------------


@given(st.sampled_from(TUNINGS), st.integers(0, 127), st.integers(0, 24))
def test_the_positions_of_a_pitch_are_all_the_places_that_sound_it(
    tuning: Tuning, midi: int, frets: int
) -> None:
    neck = (
        Position(string, fret)
        for string, fret in product(range(len(tuning.strings)), range(frets + 1))
    )
    expected = sorted(place for place in neck if sounding(place, tuning) == midi)
    assert expected == list(positions(midi, tuning, frets))


@given(st.sampled_from(TUNINGS), st.lists(st.integers(33, 55), min_size=1, max_size=12))
def test_a_path_sounds_its_notes(tuning: Tuning, pitches: list[int]) -> None:
    assert pitches == [sounding(place, tuning) for place in fingering(pitches, tuning)]


@given(st.lists(st.integers(33, 55), min_size=1, max_size=8))
def test_when_only_crossing_costs_a_path_stays_on_a_string_that_has_every_note(
    pitches: list[int],
) -> None:
    found = fingering(pitches, cost=PathCost(shift=0, crossing=1, open_string=0, height=0))
    strings = {place.string for place in found}
    shared = set.intersection(*({place.string for place in positions(p)} for p in pitches))
    assert (len(strings) == 1) is bool(shared)
