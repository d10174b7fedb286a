"""Playing clips and feeds through the sound device.

The stream runs all the time and its callback copies from whatever is current, so playing, stopping
and playing again are a swap of one reference and take effect at the next buffer. Without a device a
clock stands in: everything else works the same, in silence.
"""

import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from engine.clip import Clip
from engine.timing import FRAME_RATE
from quiz.errors import SoundDeviceError
from quiz.sound.device import sound_library
from quiz.sound.feed import FRAME_BYTES as FRAME_BYTES
from quiz.sound.feed import Feed

if TYPE_CHECKING:
    from types import ModuleType

CHANNELS = 2

LATENCY = 0.12
"""Seconds of buffer: below 0.1 a busy machine drops out."""

SWITCH_INTERVAL = 0.0005
"""Seconds a thread may keep the interpreter: the callback must get its turn."""


class Player(Protocol):
    """What plays clips and feeds; a real device or a clock."""

    @property
    def silent(self) -> str | None:
        """Why nothing can be heard, in one line; None when it can."""

    def play(self, clip: Clip) -> None:
        """Play `clip` from its start, at once, in place of whatever is playing."""

    def play_feed(self, feed: Feed) -> None:
        """Play `feed` as it comes, at once, in place of whatever is playing; then it is closed."""

    def stop(self) -> None:
        """Be silent at once; a feed that was playing is closed."""

    def position(self) -> float | None:
        """Seconds of the music that have been heard, or None when nothing is playing."""

    def close(self) -> None:
        """Give the device back."""


class _Source(Protocol):
    """What is playing."""

    def fill(self, out: Any, heard_at: float) -> None:
        """Fill a buffer of bytes that will be heard at `heard_at`."""

    def position(self, now: float) -> float | None:
        """Seconds of the music that have been heard; None when it has ended."""

    def close(self) -> None:
        """It is not wanted any more."""


class ClockPlayer:
    """Plays nothing, in time. `why` is None where silence is nothing to speak of."""

    def __init__(self, why: str | None, clock: Callable[[], float] = time.monotonic) -> None:
        self.silent: str | None = why
        self._clock = clock
        self._clip: Clip | None = None
        self._feed: Feed | None = None
        self._started = 0.0
        """When the clip began; of a feed, up to when it has been taken."""

    def play(self, clip: Clip) -> None:
        self.stop()
        self._clip, self._started = clip, self._clock()

    def play_feed(self, feed: Feed) -> None:
        if feed is not self._feed:
            self.stop()
        self._feed, self._started = feed, self._clock()

    def stop(self) -> None:
        if self._feed is not None:
            self._feed.close()
        self._clip = self._feed = None

    def position(self) -> float | None:
        """As every player; a feed is taken from whenever somebody asks."""
        if self._feed is not None:
            heard = self._taken(self._feed)
        elif self._clip is not None:
            heard = self._clock() - self._started
            heard = None if heard >= self._clip.seconds else heard
        else:
            return None
        if heard is None:
            self.stop()
        return heard

    def close(self) -> None:
        self.stop()

    def _taken(self, feed: Feed) -> float | None:
        now = self._clock()
        frames = int((now - self._started) * FRAME_RATE)
        feed.skip(frames, self._started)
        self._started += frames / FRAME_RATE
        return feed.position(now)


@dataclass(slots=True)
class _Reel:
    """A clip on its way through the callback."""

    data: memoryview
    at: int = 0
    """Bytes handed to the device so far."""

    first_heard: float | None = None
    """Stream time at which its first frame leaves the device."""

    def fill(self, out: Any, heard_at: float) -> None:
        if self.first_heard is None:
            self.first_heard = heard_at
        piece = self.data[self.at : self.at + len(out)]
        self.at += len(piece)
        out[: len(piece)] = piece
        if len(piece) < len(out):
            out[len(piece) :] = bytes(len(out) - len(piece))

    def position(self, now: float) -> float | None:
        if self.first_heard is None:
            return 0.0
        heard = now - self.first_heard
        return None if heard * FRAME_RATE * FRAME_BYTES >= len(self.data) else max(0.0, heard)

    def close(self) -> None:
        """A clip needs nothing."""


class DevicePlayer:
    """Plays through the system's sound output."""

    def __init__(self, library: "ModuleType", device: str | None = None) -> None:
        self.silent: str | None = None
        self._library = library
        self._source: _Source | None = None
        sys.setswitchinterval(SWITCH_INTERVAL)
        self._stream: Any = library.RawOutputStream(
            samplerate=FRAME_RATE,
            channels=CHANNELS,
            dtype="int16",
            latency=LATENCY,
            device=device,
            callback=self._fill,
        )
        self._stream.start()

    def play(self, clip: Clip) -> None:
        self._swap(_Reel(clip.frames.data.cast("B")))
        self._watch()

    def play_feed(self, feed: Feed) -> None:
        self._swap(feed)
        self._watch()

    def stop(self) -> None:
        self._swap(None)

    def position(self) -> float | None:
        source = self._source
        if source is None:
            return None
        self._watch()
        heard = None if self.silent else source.position(float(self._stream.time))
        if heard is None:
            self._swap(None)
        return heard

    def close(self) -> None:
        self._swap(None)
        # abort, not stop: stopping drains the buffers for more than a second
        with suppress(self._library.PortAudioError):
            self._stream.abort()
            self._stream.close()

    def _swap(self, source: _Source | None) -> None:
        before, self._source = self._source, source
        if before is not None and before is not source:
            before.close()

    def _watch(self) -> None:
        """A sound server that dies only stops the callbacks: notice it."""
        if not self._stream.active:
            self.silent = "the sound output went away: restart the program to use it again"

    def _fill(self, out: Any, frames: int, times: Any, _status: Any) -> None:
        source = self._source
        if source is None:
            out[:] = bytes(frames * FRAME_BYTES)
        else:
            source.fill(out, times.outputBufferDacTime)


class LatePlayer:
    """A player whose device is opened in the background; whoever needs it first waits for it.

    `begin` starts the opening; `opened` is called from its thread when it is done. Closing waits
    for an opening under way: a program that ends in the midst of one can crash.
    """

    def __init__(self, device: str | None) -> None:
        self._device = device
        self._player: Player | None = None
        self._lock = threading.Lock()

    def begin(self, opened: Callable[[], object]) -> None:
        """Start opening, and say when that has happened."""

        def open_it() -> None:
            self._opened()
            opened()

        threading.Thread(target=open_it, name="sound output", daemon=True).start()

    @property
    def is_open(self) -> bool:
        """Whether the opening has ended, well or not."""
        return self._player is not None

    @property
    def silent(self) -> str | None:
        """Why nothing can be heard; known once the device is open, or is not."""
        return self._opened().silent

    def play(self, clip: Clip) -> None:
        self._opened().play(clip)

    def play_feed(self, feed: Feed) -> None:
        self._opened().play_feed(feed)

    def stop(self) -> None:
        if self._player is not None:
            self._player.stop()

    def position(self) -> float | None:
        return None if self._player is None else self._player.position()

    def close(self) -> None:
        with self._lock:
            if self._player is None:
                self._player = ClockPlayer(None)  # closed before its time: nothing opens any more
            self._player.close()

    def _opened(self) -> Player:
        with self._lock:
            if self._player is None:
                self._player = open_player(self._device)
            return self._player


def open_player(device: str | None = None) -> Player:
    """The sound device, or a clock that says in one line why there is none."""
    try:
        library = sound_library()
    except SoundDeviceError as error:
        return ClockPlayer(f"no sound: {error}")
    try:
        return DevicePlayer(library, device)
    except (library.PortAudioError, ValueError) as error:
        reason = str(error).splitlines()[0]
        return ClockPlayer(f"no sound: no output device opens ({reason})")
