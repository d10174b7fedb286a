"""Scores into sound: timing to the block, levels, repeatability, and what is refused."""

import subprocess
import sys
import wave
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from engine.errors import EngineError, MusicInputError
from engine.score import ELECTRIC_PIANO, FINGER_BASS, ORGAN, Drum, Instrument, Part
from engine.sound import CHUNK, Clip, Mix, RenderCancelled, render, write_wav
from engine.timing import BLOCK, FRAME_RATE, TICKS_PER_BAR, TICKS_PER_BEAT, Tick, frame_at
from sounds import soundfont_path
from tests.bench.chorus import chorus
from tests.engine.small_scores import bass, digest, drums, hit, keys, peak, score
from tests.sounds.loudness_meter import integrated

FONT = soundfont_path()
DRY = Mix(reverb=False)

# --- what comes out -------------------------------------------------------------------------------


def test_a_clip_is_stereo_sixteen_bit_frames_in_one_piece() -> None:
    clip = render(score(bass(hit(0, 33))), FONT)
    assert clip.frames.dtype == np.int16
    assert clip.frames.shape[1] == 2
    assert clip.frames.flags.c_contiguous
    assert clip.rate == FRAME_RATE


@pytest.mark.parametrize(
    ("bars", "tempo", "tail"), [(1, 120.0, 1.5), (2, 97.3, 0.0), (3, 210.0, 4.0)]
)
def test_a_clip_lasts_as_long_as_the_score_and_its_tail(
    bars: int, tempo: float, tail: float
) -> None:
    clip = render(score(bass(hit(0, 33)), bars=bars, tempo=tempo), FONT, tail_seconds=tail)
    assert abs(bars * 4 * 60 / tempo + tail - clip.seconds) <= 2 * BLOCK / FRAME_RATE


def test_a_score_without_notes_is_silence() -> None:
    clip = render(score(bass()), FONT)
    assert not np.any(clip.frames)


@pytest.mark.parametrize("tempo", [60.0, 113.7, 299.0])
@pytest.mark.parametrize("tick", [0, 1, 320, 963, 2880, 3601])
def test_a_note_begins_within_one_block_of_its_tick(tick: int, tempo: float) -> None:
    clip = render(score(drums(hit(tick, Drum.SIDE_STICK.value)), tempo=tempo), FONT, DRY)
    first = int(np.argmax(np.abs(clip.frames).max(axis=1) > 100))
    exact = tick * 60 / (tempo * TICKS_PER_BEAT) * FRAME_RATE
    assert abs(first - exact) <= BLOCK
    assert 0 <= first - frame_at(Tick(tick), tempo) < BLOCK


def test_two_hundred_strokes_do_not_drift() -> None:
    tempo = 133.3
    ticks = [round(number * TICKS_PER_BEAT / 3) for number in range(200)]
    strokes = [hit(tick, Drum.SIDE_STICK.value, length=60) for tick in ticks]
    clip = render(score(drums(*strokes), bars=17, tempo=tempo), FONT, DRY)
    loud = np.abs(clip.frames).max(axis=1)
    for tick in ticks:
        start = frame_at(Tick(tick), tempo)
        assert np.max(loud[start : start + BLOCK]) > 1000


def test_a_repeated_pitch_is_struck_again_each_time() -> None:
    notes = [hit(beat * TICKS_PER_BEAT, 33) for beat in range(4)]  # each ends where the next starts
    clip = render(score(bass(*notes)), FONT, DRY)
    mono = clip.frames.mean(axis=1)
    for beat in range(4):
        start = frame_at(Tick(beat * TICKS_PER_BEAT), 120.0)
        assert np.sqrt(np.mean(mono[start + 2000 : start + 6000] ** 2)) > 1000


def test_a_note_shorter_than_a_block_still_ends() -> None:
    clip = render(score(bass(hit(0, 33, length=1))), FONT, DRY)
    assert not np.any(clip.frames[FRAME_RATE // 2 :])


def test_a_note_that_ends_behind_the_clip_is_faded_out() -> None:
    clip = render(score(keys(hit(0, 60, length=4 * TICKS_PER_BAR))), FONT, tail_seconds=1.0)
    assert np.max(np.abs(clip.frames[-22050:-11025])) > 100
    assert np.max(np.abs(clip.frames[-3:])) < 10


def test_the_tail_falls_silent() -> None:
    notes = [hit(beat * TICKS_PER_BEAT, 33) for beat in range(4)]
    dry = render(score(bass(*notes)), FONT, DRY)
    assert not np.any(dry.frames[-FRAME_RATE:])
    wet = render(score(bass(*notes), drums(hit(0, Drum.CRASH.value, 127))), FONT)
    assert np.max(np.abs(wet.frames[-FRAME_RATE // 100 :])) < np.max(np.abs(wet.frames)) / 1000


def test_effects_are_there_when_asked_for() -> None:
    piece = score(keys(hit(0, 60), hit(0, 64)))
    dry, reverb, both = (
        render(piece, FONT, mix) for mix in (DRY, Mix(reverb=True), Mix(reverb=True, chorus=True))
    )
    after = slice(round(1.2 * FRAME_RATE), round(1.6 * FRAME_RATE))
    assert not np.any(dry.frames[after])
    assert np.any(reverb.frames[after])
    assert digest(reverb) != digest(both)


def test_chorus_leaves_the_bass_alone() -> None:
    piece = score(bass(hit(0, 33)))
    plain, chorus_on = render(piece, FONT, DRY), render(piece, FONT, Mix(reverb=False, chorus=True))
    difference = plain.frames.astype(int) - chorus_on.frames
    assert np.max(np.abs(difference)) <= 1


@pytest.mark.parametrize(
    ("field", "value", "louder"), [("volume", 60, (-20, -5)), ("reverb", 127, (0.05, 6))]
)
def test_an_instrument_sets_its_controllers(
    field: str, value: int, louder: tuple[float, float]
) -> None:
    notes = (hit(0, 60), hit(0, 64))
    changed = replace(ELECTRIC_PIANO, **{field: value})  # type: ignore[arg-type]  # an int field
    one, other = (
        render(score(keys(*notes)), FONT),
        render(score(keys(*notes, instrument=changed)), FONT),
    )
    energy = [10 * np.log10(np.mean(clip.frames.astype(float) ** 2)) for clip in (one, other)]
    assert louder[0] < energy[1] - energy[0] < louder[1]


@pytest.mark.parametrize(("pan", "louder"), [(0, 0), (127, 1)])
def test_pan_is_left_at_0_and_right_at_127(pan: int, louder: int) -> None:
    placed = replace(FINGER_BASS, pan=pan)
    clip = render(score(bass(hit(0, 33), instrument=placed)), FONT, DRY)
    sides = np.abs(clip.frames.astype(int)).max(axis=0)
    assert sides[louder] > 1000
    assert sides[1 - louder] < sides[louder] / 20


# --- levels ---------------------------------------------------------------------------------------


VOICINGS = ((48, 52, 55, 58, 62), (57, 61, 64, 67, 71), (60, 64, 67, 70, 74))


@pytest.mark.parametrize("comping", [ORGAN, ELECTRIC_PIANO], ids=["organ", "piano"])
@pytest.mark.parametrize("root", [23, 26, 28, 30, 33, 36, 40, 45, 52])
def test_the_loudest_clip_peaks_at_or_under_minus_one_decibel(
    root: int, comping: Instrument
) -> None:
    """Everybody as hard as can be on every beat, chords of five, both effects on."""
    bass_notes, chord_notes, strokes = [], [], []
    for beat, (voicing, step) in enumerate(product(VOICINGS[:2], (0, 5))):
        tick = beat * TICKS_PER_BEAT
        bass_notes.append(hit(tick, root + step, 127))
        chord_notes += [hit(tick, voice + step, 127) for voice in voicing]
        for drum in (Drum.KICK, Drum.SNARE, Drum.CRASH):
            strokes.append(hit(tick, drum.value, 127, length=120))
    loudest = score(bass(*bass_notes), keys(*chord_notes, instrument=comping), drums(*strokes))
    level = peak(render(loudest, FONT, Mix(reverb=True, chorus=True)))
    assert -6.0 < level <= -1.0


@pytest.mark.parametrize("comping", [ORGAN, ELECTRIC_PIANO], ids=["organ", "piano"])
def test_in_a_chorus_the_bass_leads_and_nobody_is_lost(comping: Instrument) -> None:
    # integrated loudness, ITU-R BS.1770; the distances are common practice, no source
    whole = chorus(comping)
    levels = {
        track.part: integrated(render(replace(whole, tracks=(track,)), FONT))
        for track in whole.tracks
    }
    assert -7.0 < levels[Part.KEYS] - levels[Part.BASS] < 0.0
    assert -9.0 < levels[Part.DRUMS] - levels[Part.BASS] < 0.0
    assert -28.0 < integrated(render(whole, FONT)) < -20.0


def test_loudness_does_not_depend_on_what_else_is_in_the_clip() -> None:
    one, two = hit(0, 33), hit(0, 57, 127)
    alone = render(score(bass(one)), FONT, DRY)
    together = render(score(bass(one), keys(two)), FONT, DRY)
    other = render(score(keys(two)), FONT, DRY)
    total = alone.frames.astype(int) + other.frames
    assert np.max(np.abs(total - together.frames)) <= 1  # rounding of either


# --- the same every time --------------------------------------------------------------------------


def test_the_same_score_gives_the_same_frames_again() -> None:
    whole = chorus()
    assert digest(render(whole, FONT)) == digest(render(whole, FONT))


def test_renders_in_two_threads_give_the_frames_they_give_alone() -> None:
    whole = [chorus(ORGAN), chorus(ELECTRIC_PIANO)] * 3
    alone = [digest(render(one, FONT)) for one in whole[:2]] * 3
    with ThreadPoolExecutor(3) as pool:
        assert alone == list(pool.map(lambda one: digest(render(one, FONT)), whole))


def test_another_process_gives_the_same_frames() -> None:
    code = (
        "from tests.bench.chorus import chorus; from engine.sound import render;"
        "from sounds import soundfont_path; import hashlib;"
        "print(hashlib.sha256(render(chorus(), soundfont_path()).frames.tobytes()).hexdigest())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert [digest(render(chorus(), FONT))] == done.stdout.split()


def test_asking_whether_it_is_cancelled_changes_nothing() -> None:
    whole = chorus()
    asked = render(whole, FONT, cancelled=lambda: False)
    assert digest(render(whole, FONT)) == digest(asked)


# --- stopping -------------------------------------------------------------------------------------


def test_cancelling_is_an_event_of_the_engine() -> None:
    assert issubclass(RenderCancelled, EngineError)


def test_a_cancelled_render_stops_at_the_next_chunk() -> None:
    answers = iter([False, False, True])
    with pytest.raises(RenderCancelled):
        render(score(bass(), bars=8), FONT, cancelled=lambda: next(answers))
    assert [] == list(answers)  # asked three times, no more


def test_a_long_silence_is_rendered_in_chunks() -> None:
    asked = []

    def never() -> bool:
        asked.append(1)
        return False

    clip = render(score(bass(), bars=8), FONT, cancelled=never)
    assert len(asked) >= len(clip.frames) // CHUNK


@pytest.mark.parametrize("tail", [-1.0, float("nan"), float("inf")])
def test_a_tail_that_cannot_be_is_refused(tail: float) -> None:
    with pytest.raises(MusicInputError, match="give 0 or more seconds"):
        render(score(bass(hit(0, 33))), FONT, tail_seconds=tail)


# --- files ----------------------------------------------------------------------------------------


def test_a_written_file_reads_back_as_the_same_frames(tmp_path: Path) -> None:
    clip = render(score(bass(hit(0, 33))), FONT)
    path = tmp_path / "clip.wav"
    write_wav(clip, path)
    with wave.open(str(path), "rb") as file:
        assert file.getparams()[:4] == (2, 2, FRAME_RATE, len(clip.frames))
        read = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2)
    assert np.array_equal(clip.frames, read)
    assert [path] == list(tmp_path.iterdir())


def test_a_file_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    clip = Clip(np.zeros((10, 2), dtype=np.int16))
    with pytest.raises(FileNotFoundError):
        write_wav(clip, tmp_path / "missing" / "clip.wav")
    (tmp_path / "taken.wav").mkdir()
    with pytest.raises(OSError, match=r"taken\.wav"):
        write_wav(clip, tmp_path / "taken.wav")
    assert [tmp_path / "taken.wav"] == list(tmp_path.iterdir())


def test_writing_replaces_the_old_file_whole(tmp_path: Path) -> None:
    path = tmp_path / "clip.wav"
    path.write_bytes(b"old")
    write_wav(Clip(np.zeros((10, 2), dtype=np.int16)), path)
    assert path.stat().st_size == 44 + 40


def test_a_clip_knows_its_seconds() -> None:
    assert Clip(np.zeros((FRAME_RATE, 2), dtype=np.int16)).seconds == 1.0
