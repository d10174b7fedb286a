"""Scores into sound.

A clip gets a synthesizer of its own: the same score gives the same frames, alone or beside other
renders, in any thread and process. Rendering takes a few milliseconds a second of music, and
other Python threads run meanwhile. Two versions of the FluidSynth library differ in the last bits.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from engine.clip import Clip as Clip
from engine.clip import write_wav as write_wav
from engine.errors import EngineError, MusicInputError, SynthesisError
from engine.score import ELECTRIC_PIANO, FINGER_BASS, KIT, ORGAN, Part, Score, Track
from engine.synthesizer import Synthesizer, place
from engine.synthesizer import synthesizer_version as synthesizer_version
from engine.timing import BLOCK, FRAME_RATE, Frame, frame_at

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

INSTRUMENTS = (FINGER_BASS, ELECTRIC_PIANO, ORGAN, KIT)
"""What the band plays: a SoundFont must hold all of these."""

CHORUS_SEND = 64
"""Controller 93 of the keys when the chorus is on; chorus blurs a bass and a kit."""

FADE_SECONDS = 0.2
"""The end of a clip fades over this long (at most the tail), so that no cymbal is chopped."""

CHUNK = 256 * BLOCK
"""Frames rendered at most between two looks at `cancelled`: 0.37 s of music."""

VOLUME, PAN, REVERB, CHORUS = 7, 10, 91, 93
"""Controllers: channel volume, pan, and the two effect depths (MIDI 1.0, General MIDI level 1)."""


class RenderCancelled(EngineError):
    """The caller of `render` no longer wants the clip. No fault of anybody's."""


@dataclass(frozen=True, slots=True)
class Mix:
    """The effects of a clip."""

    reverb: bool = True
    chorus: bool = False
    """On the keys only."""


class _Event(NamedTuple):
    """A note to start or to stop; in this order stops come first within a frame."""

    frame: Frame
    starts: bool
    channel: int
    key: int
    velocity: int


def render(
    score: Score,
    soundfont: Path,
    mix: Mix = Mix(),
    tail_seconds: float = 1.5,
    cancelled: Callable[[], bool] | None = None,
) -> Clip:
    """The sound of `score` played with `soundfont`: its whole length and then the tail.

    A note begins at the frame that `engine.timing.frame_at` gives for its tick. `cancelled` is
    asked between chunks of at most CHUNK frames, from the rendering thread.

    Raises SynthesisError when the library is missing or refuses something, RenderCancelled once
    `cancelled` gives True, MusicInputError for a tail that is negative or not finite.
    """
    if not (isfinite(tail_seconds) and tail_seconds >= 0):
        raise MusicInputError(f"tail of {tail_seconds} s: give 0 or more seconds")
    tail = round(tail_seconds * FRAME_RATE / BLOCK) * BLOCK
    total = frame_at(score.length, score.tempo) + tail
    with Synthesizer(mix.reverb, mix.chorus) as synthesizer:
        synthesizer.load(soundfont)
        for track in score.tracks:
            _seat(synthesizer, track, mix)
        frames = _played(synthesizer, _events(score), total, cancelled)
    return Clip(_sixteen_bit(frames, min(tail, round(FADE_SECONDS * FRAME_RATE))))


def check_soundfont(path: Path) -> None:
    """Return quietly if `path` is a SoundFont that holds every one of INSTRUMENTS.

    Raises SynthesisError with the path, what is wrong with it and what to do.
    """
    with Synthesizer(reverb=False, chorus=False) as synthesizer:
        synthesizer.load(path)
        missing = [one for one in INSTRUMENTS if not synthesizer.offers(one)]
    if missing:
        raise SynthesisError(
            f"{path} has no {', no '.join(map(place, missing))}: "
            "name a General MIDI SoundFont, or none to use the built-in one"
        )


def _seat(synthesizer: Synthesizer, track: Track, mix: Mix) -> None:
    """Give the track's channel its sound, its level, its place and its share of the effects."""
    instrument, channel = track.instrument, track.channel
    synthesizer.select(channel, instrument)
    synthesizer.control(channel, VOLUME, instrument.volume)
    synthesizer.control(channel, PAN, instrument.pan)
    synthesizer.control(channel, REVERB, instrument.reverb)
    chorus = CHORUS_SEND if mix.chorus and track.part is Part.KEYS else 0
    synthesizer.control(channel, CHORUS, chorus)


def _events(score: Score) -> list[_Event]:
    events = []
    for track in score.tracks:
        for note in track.notes:
            first = frame_at(note.start, score.tempo)
            last = Frame(max(frame_at(note.end, score.tempo), first + BLOCK))
            events.append(_Event(first, True, track.channel, note.midi, note.velocity))
            events.append(_Event(last, False, track.channel, note.midi, 0))
    return sorted(events)


def _played(
    synthesizer: Synthesizer,
    events: Sequence[_Event],
    total: int,
    cancelled: Callable[[], bool] | None,
) -> "NDArray[numpy.float32]":
    """Render `total` frames, each event at its frame; events past the end are left out."""
    import numpy

    frames = numpy.empty((total, 2), dtype=numpy.float32)
    position = 0
    for event in events:
        if event.frame >= total:
            break
        _render_to(synthesizer, frames, position, event.frame, cancelled)
        position = event.frame
        if event.starts:
            synthesizer.start(event.channel, event.key, event.velocity)
        else:
            synthesizer.stop(event.channel, event.key)
    _render_to(synthesizer, frames, position, total, cancelled)
    return frames


def _render_to(
    synthesizer: Synthesizer,
    frames: "NDArray[numpy.float32]",
    start: int,
    end: int,
    cancelled: Callable[[], bool] | None,
) -> None:
    for first in range(start, end, CHUNK):
        if cancelled is not None and cancelled():
            raise RenderCancelled("the clip is no longer wanted")
        synthesizer.render(frames, first, min(first + CHUNK, end))


def _sixteen_bit(frames: "NDArray[numpy.float32]", fade: int) -> "NDArray[numpy.int16]":
    """Full scale 1.0 to 16 bits, in place but for the last step; overshoots are clipped."""
    import numpy

    if fade:
        frames[-fade:] *= numpy.linspace(1, 0, fade, dtype=numpy.float32)[:, None]
    frames *= 32767
    numpy.rint(frames, out=frames)
    numpy.clip(frames, -32768, 32767, out=frames)
    return frames.astype(numpy.int16)
