"""Scores into sound.

A clip gets a synthesizer of its own: the same score gives the same frames, alone or beside other
renders, in any thread and process. Rendering takes a few milliseconds a second of music, and
other Python threads run meanwhile. Two versions of the FluidSynth library differ in the last bits.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from engine.clip import Clip as Clip
from engine.clip import write_wav as write_wav
from engine.errors import EngineError, MusicInputError, SynthesisError
from engine.score import ELECTRIC_PIANO, FINGER_BASS, KIT, ORGAN, Instrument, Part, Score, Track
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
    tail = tail_frames(tail_seconds)
    total = frame_at(score.length, score.tempo) + tail
    with Synthesizer(mix.reverb, mix.chorus) as synthesizer:
        synthesizer.load(soundfont)
        performance = Performance(synthesizer, mix)
        performance.add(score)
        frames = performance.play(total, cancelled)
    return Clip(sixteen_bit(frames, fade_frames(tail)))


class Performance:
    """Scores on their way through one synthesizer: notes that wait, and how far it has come."""

    def __init__(self, synthesizer: Synthesizer, mix: Mix) -> None:
        """`synthesizer` has loaded its SoundFont and played nothing."""
        self._synthesizer = synthesizer
        self._mix = mix
        self._seated: dict[int, tuple[Part, Instrument]] = {}
        self._waiting: deque[_Event] = deque()
        self.position = Frame(0)
        """Frames played so far."""

    def add(self, score: Score, first: int = 0) -> None:
        """Take the notes of a score in, at the frames of their ticks, beside those that wait.

        `first` is the frame of the score's tick 0.

        Raises MusicInputError for a note that should have begun already, SynthesisError when the
        SoundFont has no such instrument.
        """
        for track in score.tracks:
            chair = (track.part, track.instrument)
            if self._seated.get(track.channel) != chair:
                _seat(self._synthesizer, track, self._mix)
                self._seated[track.channel] = chair
        events = _events(score, first)
        if events and events[0].frame < self.position:
            raise MusicInputError(
                f"a note at frame {events[0].frame} comes too late, {self.position} are played: "
                "add scores in order of time"
            )
        self._waiting = deque(sorted([*self._waiting, *events]))

    def play(
        self, frames: int, cancelled: Callable[[], bool] | None = None
    ) -> "NDArray[numpy.float32]":
        """The next `frames` frames, each event at its frame; events behind them go on waiting.

        A multiple of BLOCK, unless nothing follows. Raises RenderCancelled once `cancelled` gives
        True.
        """
        import numpy

        played = numpy.empty((frames, 2), dtype=numpy.float32)
        first = self.position
        while self._waiting and self._waiting[0].frame < first + frames:
            event = self._waiting.popleft()
            self._render_to(played, first, event.frame, cancelled)
            self._strike(event)
        self._render_to(played, first, Frame(first + frames), cancelled)
        return played

    def _strike(self, event: _Event) -> None:
        if event.starts:
            self._synthesizer.start(event.channel, event.key, event.velocity)
        else:
            self._synthesizer.stop(event.channel, event.key)

    def _render_to(
        self,
        played: "NDArray[numpy.float32]",
        first: Frame,
        end: Frame,
        cancelled: Callable[[], bool] | None,
    ) -> None:
        """Render up to frame `end` into `played`, whose row 0 is frame `first`."""
        for start in range(self.position, end, CHUNK):
            if cancelled is not None and cancelled():
                raise RenderCancelled("the clip is no longer wanted")
            stop = min(start + CHUNK, end)
            self._synthesizer.render(played, start - first, stop - first)
            self.position = Frame(stop)


def tail_frames(seconds: float) -> int:
    """Whole blocks of ringing behind the last bar.

    Raises MusicInputError for a tail that is negative or not finite.
    """
    if not (isfinite(seconds) and seconds >= 0):
        raise MusicInputError(f"tail of {seconds} s: give 0 or more seconds")
    return round(seconds * FRAME_RATE / BLOCK) * BLOCK


def fade_frames(tail: int) -> int:
    """How many of the last frames of a tail of `tail` frames fade."""
    return min(tail, round(FADE_SECONDS * FRAME_RATE))


def sixteen_bit(frames: "NDArray[numpy.float32]", fade: int = 0) -> "NDArray[numpy.int16]":
    """Full scale 1.0 to 16 bits, in place but for the last step; overshoots are clipped.

    The last `fade` frames fall evenly to silence.
    """
    import numpy

    if fade:
        frames[-fade:] *= numpy.linspace(1, 0, fade, dtype=numpy.float32)[:, None]
    frames *= 32767
    numpy.rint(frames, out=frames)
    numpy.clip(frames, -32768, 32767, out=frames)
    return frames.astype(numpy.int16)


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


def _events(score: Score, first: int) -> list[_Event]:
    events = []
    for track in score.tracks:
        for note in track.notes:
            start = Frame(first + frame_at(note.start, score.tempo))
            end = Frame(max(first + frame_at(note.end, score.tempo), start + BLOCK))
            events.append(_Event(start, True, track.channel, note.midi, note.velocity))
            events.append(_Event(end, False, track.channel, note.midi, 0))
    return sorted(events)
