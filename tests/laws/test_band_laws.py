"""Laws of drums, keys and MIDI files, over any form, key, feel, tempo, device and seed."""

from itertools import groupby, pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from engine.catalogue import Device, Family, builtin_catalogue, doubled, places
from engine.chords import Chord
from engine.comping import comping_track
from engine.drums import drum_track, find_stops
from engine.errors import MusicInputError
from engine.feels import Feel, bar_tick, eighth_tick
from engine.forms import Form, builtin_forms
from engine.line import write_line
from engine.midi import read_midi, to_midi_bytes
from engine.plan import Plan, excerpt, plan_choruses
from engine.score import ELECTRIC_PIANO, FINGER_BASS, NoteEvent, Part, Score, Track
from engine.styles import draw_style
from engine.theory import PLAYED_KEYS, Key, Midi
from engine.timing import FASTEST, SLOWEST, TICKS_PER_BAR, TICKS_PER_BEAT, Tick
from engine.voicings import HIGHEST, LOWEST, voicings

CATALOGUE = builtin_catalogue()
SEEDS = st.integers(0, 2**32)
TEMPI = st.integers(round(SLOWEST * 10), round(FASTEST * 10)).map(lambda tenths: tenths / 10)
DEVICES = (*CATALOGUE.turnarounds(), *CATALOGUE.family(Family.PICKUP, Family.ENDING))
MUSIC = bar_tick(1)


@st.composite
def placements(draw: st.DrawFn, form: Form) -> list[tuple[int, int, Device]]:
    """Up to two devices that have a place in the form and do not overlap."""
    chosen: list[tuple[int, int, Device]] = []
    free = 1
    for device in draw(st.lists(st.sampled_from(DEVICES), max_size=2)):
        if draw(st.booleans()) and device.pattern != device.pattern.doubled():
            device = doubled(device)
        allowed = [bar for bar in places(device, form) if bar >= free]
        if allowed:
            bar = draw(st.sampled_from(allowed))
            chosen.append((0, bar, device))
            free = bar + device.pattern.bars
    return chosen


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    form = draw(st.sampled_from(builtin_forms()))
    tonic = draw(st.sampled_from(PLAYED_KEYS)).tonic
    whole = plan_choruses(
        form,
        Key(tonic, form.minor),
        draw(st.sampled_from(Feel)),
        draw(TEMPI),
        draw(st.sampled_from(CATALOGUE.family(Family.BASE))),
        draw(placements(form)),
    )
    if draw(st.booleans()):
        return whole
    last = len(whole.bars) - 2
    return excerpt(whole, draw(st.integers(0, last)), last)


@st.composite
def basses(draw: st.DrawFn) -> tuple[NoteEvent, ...]:
    """One note after another, from anywhere on a bass with many frets."""
    notes: list[NoteEvent] = []
    now = MUSIC
    for length, midi in draw(
        st.lists(st.tuples(st.integers(60, 4000), st.integers(23, 72)), max_size=40)
    ):
        notes.append(NoteEvent(now, Tick(length), Midi(midi), 90))
        now = Tick(now + length)
    return tuple(notes)


def line_of(plan: Plan, seed: int) -> tuple[NoteEvent, ...]:
    return tuple(note.event for note in write_line(plan, seed))


def score_of(plan: Plan, seed: int) -> Score:
    bass = line_of(plan, seed)
    tracks = (
        Track(Part.BASS, FINGER_BASS, 0, bass),
        comping_track(plan, bass, ELECTRIC_PIANO, seed),
        drum_track(plan, seed),
    )
    return Score(plan.tempo, plan.key, plan.compound, tracks, plan.length)


def slack(plan: Plan) -> int:
    """Ticks of ten milliseconds, more than anything is humanised by."""
    return round(0.01 * plan.tempo / 60 * TICKS_PER_BEAT)


def overlap(one: NoteEvent, other: NoteEvent) -> int:
    return min(one.end, other.end) - max(one.start, other.start)


# --- drums and keys as events -------------------------------------------------------------------


@given(plans(), SEEDS)
def test_notes_stay_within_the_score_in_order_and_never_overlap_on_a_pitch(
    plan: Plan, seed: int
) -> None:
    for track in score_of(plan, seed).tracks[1:]:
        assert list(track.notes) == sorted(track.notes, key=lambda note: (note.start, note.midi))
        for note in track.notes:
            assert 0 <= note.start < note.end <= plan.length
            assert 40 <= note.velocity <= 127
            assert 0 <= note.midi <= 127
        by_pitch = sorted(track.notes, key=lambda note: (note.midi, note.start))
        for _, same in groupby(by_pitch, key=lambda note: note.midi):
            assert all(one.end <= other.start for one, other in pairwise(same))


@given(plans(), SEEDS)
def test_the_same_plan_and_seed_give_the_same_band(plan: Plan, seed: int) -> None:
    assert score_of(plan, seed) == score_of(plan, seed)


@given(plans(), SEEDS)
def test_in_the_count_in_there_are_four_clicks_and_one_chord_let_go_in_time(
    plan: Plan, seed: int
) -> None:
    _, keys, drums = score_of(plan, seed).tracks
    start = MUSIC - slack(plan)
    assert [0, 960, 1920, 2880] == [note.start for note in drums.notes if note.start < start]
    counted = [note for note in keys.notes if note.start < start]
    assert {0} == {note.start for note in counted}
    assert max(note.end for note in counted) < start
    assert plan.key.tonic.pitch_class in {note.midi % 12 for note in counted}


@given(plans(), SEEDS)
def test_every_piece_of_music_ends_on_one_hit_of_the_whole_band(plan: Plan, seed: int) -> None:
    bass, keys, drums = score_of(plan, seed).tracks
    last = max(note.start for note in bass.notes)
    for track in (keys, drums):
        assert abs(last - max(note.start for note in track.notes)) <= slack(plan)
    ringing = [note for note in keys.notes if note.start >= last - slack(plan)]
    assert {plan.length} == {note.end for note in ringing}


# --- keys and bass ------------------------------------------------------------------------------


@given(plans(), basses(), SEEDS)
def test_no_voice_of_the_keys_is_ever_at_or_under_a_sounding_bass_note(
    plan: Plan, bass: tuple[NoteEvent, ...], seed: int
) -> None:
    for line in (bass, line_of(plan, seed)):
        for note in comping_track(plan, line, ELECTRIC_PIANO, seed).notes:
            for below in line:
                assert overlap(note, below) <= 0 or note.midi > below.midi


@given(plans(), SEEDS)
def test_over_a_line_in_first_positions_the_keys_stay_in_their_register(
    plan: Plan, seed: int
) -> None:
    keys = comping_track(plan, line_of(plan, seed), ELECTRIC_PIANO, seed)
    for note in keys.notes:
        if note.start > 0:
            assert LOWEST <= note.midi <= HIGHEST


@given(plans(), SEEDS)
def test_three_or_more_voices_never_rub_against_a_long_bass_note(plan: Plan, seed: int) -> None:
    """A half step for more than a sixteenth, unless both notes belong to the chord."""
    line = line_of(plan, seed)
    notes = comping_track(plan, line, ELECTRIC_PIANO, seed).notes
    long = eighth_tick(plan.feel, plan.tempo)
    for start, chord in groupby(notes, key=lambda note: note.start):
        voices = list(chord)
        if start < MUSIC - slack(plan) or len(voices) < 3:
            continue
        for voice in voices:
            for below in line:
                if (voice.midi - below.midi) % 12 in (1, 11) and below.length > long:
                    assert overlap(voice, below) <= TICKS_PER_BEAT // 4 or _own(
                        plan, start, voice, below
                    )


def _own(plan: Plan, start: int, voice: NoteEvent, below: NoteEvent) -> bool:
    """Whether both are notes of a chord that may be played at `start`."""
    pair = {voice.midi % 12, below.midi % 12}
    return any(pair <= chord.pitch_classes(plan.key.tonic) for chord in _chords(plan, start))


def _chords(plan: Plan, start: int) -> list[Chord]:
    """The chord of the beat at `start`, that of the next (for a push) and that of the landing."""
    beat = (start + slack(plan) - MUSIC) // TICKS_PER_BEAT
    last = len(plan.bars) * 4 - 1
    return [plan.chord(*divmod(min(place, last), 4)) for place in (beat, beat + 1, last)]


@given(plans(), SEEDS)
def test_every_chord_of_the_keys_is_the_chord_of_its_beat_or_a_push_to_the_next(
    plan: Plan, seed: int
) -> None:
    notes = comping_track(plan, line_of(plan, seed), ELECTRIC_PIANO, seed).notes
    count = draw_style(plan.feel, seed).voices
    for start, group in groupby(notes, key=lambda note: note.start):
        if start < MUSIC - slack(plan):
            continue
        voices = {note.midi for note in group}
        assert any(
            voices <= set(voicing)
            for chord in _chords(plan, start)
            for voicing in voicings(chord, plan.key.tonic.pitch_class, plan.form.minor, count)
        )


@given(plans(), SEEDS)
def test_every_change_of_chord_is_heard_before_the_next(plan: Plan, seed: int) -> None:
    notes = comping_track(plan, line_of(plan, seed), ELECTRIC_PIANO, seed).notes
    starts = sorted({note.start for note in notes})
    stops = find_stops(plan)
    beats = len(plan.bars) * 4 if stops is None else stops.first
    chords = [plan.chord(*divmod(beat, 4)) for beat in range(beats)]
    changes = [beat for beat in range(beats) if beat == 0 or chords[beat] != chords[beat - 1]]
    for beat, until in pairwise([*changes, beats]):
        # from the off-beat before it, which may push it, to its end
        first = MUSIC + (beat - 0.55) * TICKS_PER_BEAT
        end = MUSIC + until * TICKS_PER_BEAT - slack(plan)
        assert any(first <= start < end for start in starts)


# --- fairness -----------------------------------------------------------------------------------


@given(st.sampled_from(builtin_forms()), st.sampled_from(Feel), TEMPI, SEEDS, st.data())
def test_drums_are_alike_whatever_turnaround_or_pickup_is_played(
    form: Form, feel: Feel, tempo: float, seed: int, data: st.DataObject
) -> None:
    fair = [
        device for device in DEVICES if device.family is not Family.ENDING and places(device, form)
    ]
    base = CATALOGUE.find("two-beat")
    tracks = []
    for _ in range(2):
        device = data.draw(st.sampled_from(fair))
        bar = data.draw(st.sampled_from(places(device, form)))
        plan = plan_choruses(form, PLAYED_KEYS[0], feel, tempo, base, [(0, bar, device)])
        tracks.append(drum_track(plan, seed))
    assert tracks[0] == tracks[1]


# --- MIDI files ---------------------------------------------------------------------------------


@given(plans(), SEEDS)
def test_a_score_comes_back_from_its_midi_file_as_it_was(plan: Plan, seed: int) -> None:
    score = score_of(plan, seed)
    assert score == read_midi(to_midi_bytes(score))


@given(plans(), SEEDS)
def test_in_the_file_every_note_on_has_one_note_off(plan: Plan, seed: int) -> None:
    score = score_of(plan, seed)
    back = read_midi(to_midi_bytes(score))
    for written, read in zip(score.tracks, back.tracks, strict=True):
        assert len(written.notes) == len(read.notes)


@given(st.binary(max_size=200))
def test_bytes_that_are_no_file_are_refused_and_never_crash(data: bytes) -> None:
    refused_or_read(data)
    refused_or_read(b"MThd\x00\x00\x00\x06\x00\x01\x00\x02\x03\xc0MTrk" + data)


WHOLE = to_midi_bytes(
    Score(
        120.0,
        PLAYED_KEYS[0],
        False,
        (Track(Part.BASS, FINGER_BASS, 0, (NoteEvent(Tick(0), Tick(960), Midi(33), 90),)),),
        Tick(TICKS_PER_BAR),
    )
)


@settings(max_examples=400)
@given(
    st.lists(
        st.tuples(st.integers(0, len(WHOLE) - 1), st.integers(0, 255)), min_size=1, max_size=4
    ),
    st.integers(0, len(WHOLE)),
)
def test_a_damaged_file_is_refused_or_read_and_never_crashes(
    changes: list[tuple[int, int]], length: int
) -> None:
    data = bytearray(WHOLE)
    for at, byte in changes:
        data[at] = byte
    refused_or_read(bytes(data))
    refused_or_read(bytes(data[:length]))


def refused_or_read(data: bytes) -> None:
    try:
        tempo = read_midi(data).tempo
    except MusicInputError:
        return
    assert SLOWEST <= tempo <= FASTEST
