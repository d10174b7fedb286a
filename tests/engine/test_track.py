"""Play-along tracks: who plays when, and that the plan is what sounds."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile
from music21 import converter, note, stream

from engine.catalogue import builtin_catalogue
from engine.choosing import listed, mixed, parse_chorus, parse_tempi
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.midi import read_midi, to_midi_bytes
from engine.notation import parse_key
from engine.recording import FLAC, WAV, record
from engine.score import Part
from engine.stream import stream_stretches
from engine.textures import Texture
from engine.timing import FRAME_RATE
from engine.track import (
    BassPart,
    TrackPlan,
    chorus_places,
    planned,
    seconds,
    stretches,
)
from sounds import soundfont_path

CATALOGUE = builtin_catalogue()
TWELVE = CATALOGUE.form("twelve-bar-five")
EIGHT = CATALOGUE.form("eight-bar")
CHOSEN = [
    parse_chorus(text, TWELVE, CATALOGUE)
    for text in ("climb+dip, walk-up-one-four@4", "", "fall+two-five, half-below-into-one@6")
]
PLAN = TrackPlan(
    TWELVE, parse_key("Bb"), Feel.SHUFFLE, CATALOGUE.find("boogie"), (110.0, 125.0),
    listed(CHOSEN, 3, 2),
)  # fmt: skip
SHORT = replace(
    PLAN, form=EIGHT, tempi=(150.0, 160.0), choruses=mixed(EIGHT, CATALOGUE, 1, 2, 3), seed=3
)
"""About half a minute, with two tempi."""

TAIL = 1.5
"""Seconds that the last chord rings."""


def midi(plan: TrackPlan) -> bytes:
    return to_midi_bytes(*(stretch.score for stretch in stretches(plan)))


def bass_beats(data: bytes) -> list[int]:
    """The beats, counted from the start of the file, on which the bass strikes."""
    file = mido.MidiFile(file=BytesIO(data))
    now, beats = 0, []
    for message in next(track for track in file.tracks if track.name == "Bass"):
        now += message.time
        if message.type == "note_on":
            beats.append(now // file.ticks_per_beat)
    return beats


def chorus_beats(plan: TrackPlan) -> list[range]:
    """The beats of each chorus of a plan in 4/4, the count-in and the landing left out."""
    per = 4 * len(plan.form)
    stretch = 4 + plan.per_tempo * per + 4
    return [
        range(first := index * stretch + 4 + chorus * per, first + per)
        for index in range(len(plan.tempi))
        for chorus in range(plan.per_tempo)
    ]


# --- the plan is what sounds ----------------------------------------------------------------------


@pytest.mark.parametrize("bass", BassPart)
def test_the_devices_of_the_plan_are_what_the_bass_plays(bass: BassPart) -> None:
    plan = planned(replace(PLAN, bass=bass))
    told = {
        (place.number, row.bar, row.device.id)
        for place in chorus_places(plan)
        for row in place.devices
        if place.bass
    }
    heard = set()
    for index, stretch in enumerate(stretches(plan)):
        for struck in stretch.line:
            bar = stretch.plan.bars[struck.bar]
            if struck.device is not None and not bar.landing:
                number = index * plan.per_tempo + bar.chorus + 1
                heard.add((number, bar.number, struck.device))
        score = stretch.score.track(Part.BASS)
        assert score is not None
        assert tuple(note.event for note in stretch.line) == score.notes
    # a device sounds in its own bars, and arrives in the bar behind them
    own = {(number, bar, device) for number, bar, device in heard if (number, bar, device) in told}
    assert told == own
    assert {device for _, _, device in told} >= {device for _, _, device in heard}


def test_choruses_start_when_the_plan_says() -> None:
    for place, stretch in zip(chorus_places(SHORT), stretches(SHORT), strict=True):
        first = stretch.line[0].event.start * 60 / (stretch.plan.tempo * 960)
        before = 0.0 if place.number == 1 else (1 + 8 + 1) * 4 * 60 / 150
        assert before + first == pytest.approx(place.start)


def test_an_ending_that_is_played_again_makes_the_track_longer() -> None:
    thrice = parse_chorus("last-four-three-times", TWELVE, CATALOGUE)
    plan = replace(PLAN, tempi=(120.0,), choruses=(thrice,))
    # count-in, chorus, the last four bars twice more, landing; two seconds a bar
    assert 2.0 * (1 + 12 + 8 + 1) == seconds(plan)
    (stretch,) = stretches(plan)
    assert 22 * 4 * 960 == stretch.score.length


# --- who plays the bass ---------------------------------------------------------------------------


def test_bass_out_has_no_bass_note_and_all_the_others() -> None:
    full, out = PLAN, replace(PLAN, bass=BassPart.OUT)
    assert [] == bass_beats(midi(out))
    for one, other in zip(stretches(full), stretches(out), strict=True):
        for part in (Part.KEYS, Part.DRUMS):
            assert one.score.track(part) == other.score.track(part)


def test_in_turns_every_other_chorus_has_no_bass_note() -> None:
    beats = set(bass_beats(midi(replace(PLAN, bass=BassPart.TURNS))))
    has_bass = [bool(beats & set(chorus)) for chorus in chorus_beats(PLAN)]
    assert [True, False, True, False, True, False] == has_bass
    told = [place.bass for place in chorus_places(replace(PLAN, bass=BassPart.TURNS))]
    assert has_bass == told


def test_bass_in_plays_all_choruses() -> None:
    beats = set(bass_beats(midi(PLAN)))
    assert all(beats & set(chorus) for chorus in chorus_beats(PLAN))


# --- files ----------------------------------------------------------------------------------------


def test_wav_flac_and_midi_are_equally_long(tmp_path: Path) -> None:
    scores = [stretch.score for stretch in stretches(SHORT)]
    read = {}
    for kind in (WAV, FLAC):
        path = tmp_path / f"track{kind}"
        written = record(
            stream_stretches(([score] for score in scores), soundfont_path()), path, kind
        )
        read[kind], rate = soundfile.read(path, dtype="int16")
        assert (FRAME_RATE, written) == (rate, len(read[kind]))
    assert np.array_equal(read[WAV], read[FLAC])
    assert np.abs(read[WAV]).max() > 1000
    length = mido.MidiFile(file=BytesIO(midi(SHORT))).length
    assert length == pytest.approx(seconds(SHORT), abs=0.001)
    # a stretch ends on a block of 64 frames
    assert len(read[WAV]) / FRAME_RATE == pytest.approx(length + TAIL, abs=0.005)


def test_the_second_stretch_begins_where_its_counting_is_written(tmp_path: Path) -> None:
    """The last chord dies away and then somebody counts: the sound rises at that moment."""
    path = tmp_path / "track.wav"
    scores = [replace(stretch.score) for stretch in stretches(SHORT)]
    record(stream_stretches(([score] for score in scores), soundfont_path()), path, WAV)
    sound, _ = soundfile.read(path, dtype="float32")
    at = round(10 * 4 * 60 / 150 * FRAME_RATE)
    assert np.abs(sound[at : at + 4410]).max() > 2 * np.abs(sound[at - 4410 : at - 64]).max()


def test_a_ladder_changes_the_tempo_of_the_midi_file_where_a_stretch_begins() -> None:
    file = mido.MidiFile(file=BytesIO(midi(SHORT)))
    now, tempi = 0, []
    for message in file.tracks[0]:
        now += message.time
        if message.type == "set_tempo":
            tempi.append((now, mido.tempo2bpm(message.tempo)))
    assert [(0, 150.0), (10 * 4 * 960, 160.0)] == tempi
    with pytest.raises(MusicInputError, match="it changes its tempo"):
        read_midi(midi(SHORT))


def test_music21_reads_the_bass_of_a_track() -> None:
    one = replace(SHORT, tempi=(150.0,), choruses=SHORT.choruses[:1])
    score = converter.parseData(midi(one), format="midi")
    assert isinstance(score, stream.Score)
    (stretch,) = stretches(one)
    bass = next(part for part in score.parts if part.partName == "Bass")
    pitches = [one.pitch.midi for one in bass.flatten().getElementsByClass(note.Note)]
    assert [struck.event.midi for struck in stretch.line] == pitches


# --- what cannot be a track -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"choruses": ()}, "0 choruses for 2 tempi"),
        ({"choruses": PLAN.choruses[:3]}, "3 choruses for 2 tempi"),
        ({"tempi": ()}, "0 tempi: give 1 to 60"),
        ({"tempi": (10.0, 20.0)}, "tempo 10: give"),
        ({"tempi": (30.0,), "choruses": ((),) * 400}, "a track of 640 minutes is too long"),
    ],
)
def test_what_cannot_be_a_track_is_told(change: dict[str, object], problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem):
        planned(replace(PLAN, **change))  # type: ignore[arg-type]  # wrong on purpose


def test_an_ending_before_the_last_chorus_is_told() -> None:
    ending = parse_chorus("run-up", TWELVE, CATALOGUE)
    with pytest.raises(MusicInputError, match="ends the tune"):
        planned(replace(PLAN, tempi=parse_tempi("120"), choruses=(ending, ())))


def test_a_track_may_be_played_by_bass_and_drums() -> None:
    (stretch, _) = stretches(replace(SHORT, texture=Texture.DRUMS))
    keys = stretch.score.track(Part.KEYS)
    assert keys is not None
    assert all(note.end <= 4 * 960 for note in keys.notes)
