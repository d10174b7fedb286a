"""Scores into sound without an end: nothing added at the joints, nothing lost, nothing late."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from engine.catalogue import builtin_catalogue
from engine.errors import MusicInputError, SynthesisError
from engine.feels import Feel
from engine.forms import find_form
from engine.jam import JamSettings, Leg, Placed, first_leg, leg_score, next_leg
from engine.score import Drum, Score, Track
from engine.sound import CHUNK, Mix, render
from engine.stream import REACH, stream
from engine.textures import Texture
from engine.theory import PLAYED_KEYS
from engine.timing import BLOCK, FRAME_RATE, TICKS_PER_BAR, TICKS_PER_BEAT, Tick, frame_at
from sounds import soundfont_path
from tests.bench.chorus import chorus
from tests.engine.small_scores import bass, drums, hit, keys, score

FONT = soundfont_path()
DRY = Mix(reverb=False)
CATALOGUE = builtin_catalogue()
TEMPO = 153.7


def streamed(scores: Iterable[Score], mix: Mix | None = None) -> NDArray[np.int16]:
    return np.concatenate(list(stream(scores, FONT, mix)))


def until(bar: int, *tracks: Track, tempo: float = 120.0) -> Score:
    """A score that ends with bar index `bar`, counted from the start of the stream."""
    return replace(score(*tracks, tempo=tempo), length=Tick(bar * TICKS_PER_BAR))


def merged(scores: list[Score]) -> Score:
    """All of them as one score."""
    tracks = tuple(
        replace(track, notes=tuple(note for one in scores for note in one.tracks[place].notes))
        for place, track in enumerate(scores[0].tracks)
    )
    return replace(scores[0], tracks=tracks, length=scores[-1].length)


@cache
def legs(texture: Texture) -> tuple[Leg, ...]:
    """Two choruses each in F, again in F, in Ab and in E, with devices in the seams."""
    band = JamSettings(
        find_form("eight-bar"), Feel.SHUFFLE, TEMPO, CATALOGUE.find("two-beat"), texture
    )
    row = [PLAYED_KEYS[place] for place in (5, 5, 8, 4)]
    placed = [Placed(0, 7, CATALOGUE.find("climb+dip")), Placed(1, 7, CATALOGUE.find("fall+dip"))]
    played = [first_leg(band, 3, row[0], 2, placed, row[1])]
    for after in (*row[2:], None):
        played.append(next_leg(played[-1], 2, placed, after))
    return tuple(played)


# --- what comes out -------------------------------------------------------------------------------


@pytest.mark.parametrize("tail", [0.0, 0.003, 0.1, 1.5, 4.0])
def test_the_stream_of_one_score_is_its_clip(tail: float) -> None:
    pieces = list(stream([chorus()], FONT, tail_seconds=tail))
    clip = render(chorus(), FONT, tail_seconds=tail)
    assert np.array_equal(clip.frames, np.concatenate(pieces))


def test_the_pieces_are_short_stereo_frames_in_one_piece() -> None:
    for piece in stream([chorus()], FONT):
        assert piece.dtype == np.int16
        assert piece.shape[1] == 2
        assert piece.flags.c_contiguous
        assert 0 < len(piece) <= CHUNK


def test_nothing_is_added_or_lost_where_scores_meet() -> None:
    """A jam leg by leg sounds, to the bit, as if all of it had been one score."""
    scores = [leg_score(leg) for leg in legs(Texture.BAND)]
    assert np.array_equal(render(merged(scores), FONT).frames, streamed(scores))


def test_a_note_rings_on_into_the_next_score_and_stops_there() -> None:
    long = bass(hit(2 * TICKS_PER_BEAT, 33, length=4 * TICKS_PER_BEAT))
    audio = streamed([until(1, long), until(2, bass())], DRY)
    joint, end = (frame_at(Tick(bar * TICKS_PER_BAR), 120.0) for bar in (1, 2))
    before, after = (audio[start : start + 4410].astype(float) for start in (joint - 4410, joint))
    assert 0.8 < np.sqrt(np.mean(after**2)) / np.sqrt(np.mean(before**2)) < 1.1
    assert not np.any(audio[end - 4410 : end])  # it ended two beats before


def test_only_the_very_end_fades() -> None:
    held = keys(hit(0, 60, length=3 * TICKS_PER_BAR))
    audio = np.abs(streamed([until(1, held), until(2, bass())], DRY).astype(int)).max(axis=1)
    joint = frame_at(Tick(TICKS_PER_BAR), 120.0)
    levels = [np.max(audio[start : start + 441]) for start in range(joint - 8820, joint, 441)]
    assert min(levels) > 0.8 * max(levels)
    assert np.max(audio[-3:]) < 10


def test_no_scores_are_the_tail_alone() -> None:
    assert not np.any(streamed([]))


# --- when -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("tempo", [61.3, 120.0, 233.3])
def test_every_stroke_begins_within_a_block_of_its_tick_in_whichever_score_it_stands(
    tempo: float,
) -> None:
    ticks = [round(place * TICKS_PER_BEAT * 2 / 3) for place in range(48)]
    scores = [
        until(
            bar + 1,
            drums(*(hit(tick, Drum.SIDE_STICK.value, length=60) for tick in ticks
                    if bar == tick // TICKS_PER_BAR)),
            tempo=tempo,
        )
        for bar in range(8)
    ]  # fmt: skip
    loud = np.abs(streamed(scores, DRY)).max(axis=1) > 1000
    exact = [tick * 60 / (tempo * TICKS_PER_BEAT) * FRAME_RATE for tick in ticks]
    starts = [
        frame for frame in np.flatnonzero(loud) if not np.any(loud[max(0, frame - 3000) : frame])
    ]
    assert len(exact) == len(starts)
    late = [start - wanted for start, wanted in zip(starts, exact, strict=True)]
    assert max(map(abs, late)) <= BLOCK


def test_a_stroke_may_come_a_little_before_the_score_before_it_has_ended() -> None:
    early = TICKS_PER_BAR - 15  # 7.8 ms at this tempo
    loud = np.abs(
        streamed([until(1, drums()), until(2, drums(hit(early, Drum.SIDE_STICK.value)))], DRY)
    ).max(axis=1)
    start = frame_at(Tick(early), 120.0)
    assert not np.any(loud[:start])
    assert np.max(loud[start : start + BLOCK]) > 1000


def onset(wave: NDArray[np.float64], frame: int) -> float:
    """Milliseconds from `frame` to the beginning of a bass note, looked for 30 ms around it.

    The first moment at which the curvature of the wave, where the pluck shows and the ringing of
    the note before does not, is four times what it was.
    """
    reach = round(0.03 * FRAME_RATE)
    bent = np.abs(np.diff(wave[frame - reach - 64 : frame + reach + 64], n=2))
    level = np.convolve(bent, np.ones(32) / 32, "same")[64 : 64 + 2 * reach]
    before = np.max(level[: 2 * reach // 3])
    return float((np.argmax(level > 4 * before + 1) - reach) / FRAME_RATE * 1000)


@cache
def bass_alone() -> NDArray[np.float64]:
    scores = [leg_score(leg) for leg in legs(Texture.BASS)]
    return streamed(scores, DRY).astype(np.float64)[:, 0]


def downbeats() -> list[int]:
    """The frames, exact to half a frame, of every bar from the second of the music to the last."""
    bars = range(2, legs(Texture.BASS)[-1].end // TICKS_PER_BAR)
    return [round(bar * 4 * 60 / TEMPO * FRAME_RATE) for bar in bars]


def joints() -> list[int]:
    """Those of the downbeats on which a chorus or a leg begins, or the band begins to lead over."""
    starts = [leg.start // TICKS_PER_BAR for leg in legs(Texture.BASS)]
    bars = {start + bar for start in starts for bar in (0, 8, 16)} - {1}
    return [frame for bar, frame in enumerate(downbeats(), start=2) if bar in bars]


def test_the_bass_begins_every_chorus_and_leg_within_three_milliseconds_of_the_grid() -> None:
    assert 10 == len(joints())
    assert max(abs(onset(bass_alone(), frame)) for frame in joints()) <= 3.0


def test_the_beat_does_not_shift_anywhere_in_a_jam() -> None:
    late = [onset(bass_alone(), frame) for frame in downbeats()]
    assert max(late) - min(late) <= 3.0


def test_nothing_clicks_where_choruses_and_legs_meet() -> None:
    steps = np.abs(np.diff(bass_alone()))
    around = [slice(frame - 882, frame + 882) for frame in joints()]
    here = [np.max(steps[where]) for where in around]
    for where in around:
        steps[where] = 0
    assert max(here) <= np.max(steps)


def test_no_hole_opens_where_choruses_and_legs_meet() -> None:
    def level(frame: int) -> float:
        """Of the first beat but for the pluck."""
        return float(np.sqrt(np.mean(bass_alone()[frame + 441 : frame + 8820] ** 2)))

    assert min(map(level, joints())) >= 0.8 * min(map(level, downbeats()))


# --- a piece at a time ----------------------------------------------------------------------------


def test_a_score_is_asked_for_when_the_one_before_is_given_away() -> None:
    asked = []

    def scores() -> Iterator[Score]:
        for bar in range(3):
            asked.append(bar)
            yield until(bar + 1, bass(hit(bar * TICKS_PER_BAR, 33)))

    bar_frames, given = frame_at(Tick(TICKS_PER_BAR), 120.0), 0
    for piece in stream(scores(), FONT):
        assert len(asked) == min(3, 1 + given // (bar_frames - REACH))
        given += len(piece)
    assert [0, 1, 2] == asked


def test_a_stream_can_be_left_at_any_piece() -> None:
    left = stream([chorus()], FONT)
    first = next(left)
    left.close()
    assert np.array_equal(first, next(stream([chorus()], FONT)))


def test_streams_side_by_side_do_not_hear_each_other() -> None:
    one, other = stream([chorus()], FONT), stream([chorus()], FONT)
    pairs = list(zip(one, other, strict=True))
    assert all(np.array_equal(first, second) for first, second in pairs)
    assert np.array_equal(render(chorus(), FONT).frames, np.concatenate([one for one, _ in pairs]))


# --- refused --------------------------------------------------------------------------------------


def test_another_tempo_is_refused() -> None:
    with pytest.raises(MusicInputError, match=r"^tempo 121 after 120: keep the tempo$"):
        streamed([until(1, bass()), until(2, bass(), tempo=121.0)])


def test_a_note_that_comes_too_late_is_refused() -> None:
    with pytest.raises(MusicInputError, match="comes too late"):
        streamed([until(1, bass()), until(2, bass(hit(0, 33)))])


@pytest.mark.parametrize("tail", [-1.0, float("nan"), float("inf")])
def test_a_tail_that_cannot_be_is_refused(tail: float) -> None:
    with pytest.raises(MusicInputError, match="give 0 or more seconds"):
        list(stream([chorus()], FONT, tail_seconds=tail))


def test_a_file_that_is_no_soundfont_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SynthesisError, match="there is no file"):
        list(stream([chorus()], tmp_path / "none.sf2"))
