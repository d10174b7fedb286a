"""Scores into sound without an end: one synthesizer, score after score, a piece at a time.

The scores follow each other in ticks counted from the start of the first, so nothing is added up
and nothing drifts: an hour in, a note still begins at the frame that `engine.timing.frame_at` gives
for its tick. What rings at the end of a score rings on into the next one.
"""

from collections.abc import Generator, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import MusicInputError
from engine.score import Score
from engine.sound import CHUNK, Mix, Performance, fade_frames, sixteen_bit, tail_frames
from engine.synthesizer import Synthesizer
from engine.timing import BLOCK, Frame, frame_at

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

REACH = 8 * BLOCK
"""Frames by which notes of a score may begin before the score before it ends, 11.6 ms: a drummer
is sometimes early on the downbeat."""


def stream(
    scores: Iterable[Score], soundfont: Path, mix: Mix | None = None, tail_seconds: float = 1.5
) -> Generator["NDArray[numpy.int16]", None, None]:
    """The sound of `scores` one behind the other, in pieces of at most CHUNK stereo frames.

    All scores have one tempo, and count their ticks, `length` too, from the start of the first. The
    next one is asked for only when all but the last REACH frames of the one before are given away.
    Behind the last score comes the tail, which fades as that of `engine.sound.render`: the pieces
    of a single score put together are the frames of its clip. Closing the iterator lets the
    synthesizer go.

    Raises SynthesisError when the library is missing or refuses something, MusicInputError for a
    tail that cannot be, another tempo, and notes that come too late to be played.
    """
    return stream_stretches([scores], soundfont, mix, tail_seconds)


def stream_stretches(
    stretches: Iterable[Iterable[Score]],
    soundfont: Path,
    mix: Mix | None = None,
    tail_seconds: float = 1.5,
) -> Generator["NDArray[numpy.int16]", None, None]:
    """The sound of several stretches of scores, one behind the other, each in a tempo of its own.

    The scores of a stretch count their ticks from its beginning, which is the frame at which the
    one before ends. Otherwise it is as `stream`, and raises the same.
    """
    tail, mix = tail_frames(tail_seconds), mix or Mix()
    with Synthesizer(mix.reverb, mix.chorus) as synthesizer:
        synthesizer.load(soundfont)
        performance = Performance(synthesizer, mix)
        end = Frame(0)
        for stretch in stretches:
            first, tempo = end, None
            for score in stretch:
                if tempo not in (None, score.tempo):
                    raise MusicInputError(f"tempo {score.tempo:g} after {tempo:g}: keep the tempo")
                tempo, end = score.tempo, Frame(first + frame_at(score.length, score.tempo))
                performance.add(score, first)
                yield from _pieces(performance, end - REACH)
        fade = fade_frames(tail)
        last = -(-fade // BLOCK) * BLOCK  # whole blocks, so that notes still start on one
        yield from _pieces(performance, end + tail - last)
        if last:
            yield sixteen_bit(performance.play(last), fade)


def _pieces(performance: Performance, end: int) -> Generator["NDArray[numpy.int16]", None, None]:
    """What is played from here to frame `end`."""
    while performance.position < end:
        yield sixteen_bit(performance.play(min(CHUNK, end - performance.position)))
