"""The bass itself as an input: sound comes in, notes go out.

The callback copies and does nothing else; a thread of our own feeds the listener. Nothing is
written to disk: the sound stays in memory, and only the caller may ask for it. A take ends when it
is stopped, after SILENCE_SECONDS without a note, or when the device goes away; `ended` says why, in
a line for the player.
"""

import queue
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from quiz.errors import SoundDeviceError, SoundInputError
from quiz.sound.device import sound_library

if TYPE_CHECKING:
    from engine.listening.live import Event
    from engine.listening.notes import Grid, Take
    from engine.theory import Cents, Midi

SILENCE_SECONDS = 10.0
"""Without a note for so long the take ends."""

GONE_SECONDS = 2.0
"""Without a block for so long the device has gone away; a sound server that dies says nothing."""

LATENCY = 0.02
"""Seconds of buffer that are asked for: what is lost is lost, but late is no use either."""

RATE = 44_100
"""Frames a second that are asked for; where the device refuses, its own rate is taken."""

SILENT = f"nothing was played for {SILENCE_SECONDS:.0f} seconds: the take has ended"
GONE = "the sound input went away: connect it again, then start anew"
BEHIND = "this machine is too busy to follow the sound: close other programs, then start anew"

MOST_WAITING = 2_000
"""Blocks that may wait for the thread: many seconds."""


class AudioInput:
    """Listens to a sound input from the moment it is made until it is closed."""

    def __init__(
        self,
        device: str | None = None,
        told: "Callable[[Event], object] | None" = None,
        over: Callable[[str], object] | None = None,
        silence: float = SILENCE_SECONDS,
    ) -> None:
        """Open `device`, or the system's own choice.

        `told` is called with each event, and `over` once with the reason when the take ends by
        itself, both from the listening thread. Raises SoundInputError when nothing opens.
        """
        from engine.listening.live import Listener

        self.ended: str | None = None
        self._told, self._over, self._silence = told, over, silence
        self._blocks: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._stopped = False
        self._stream, rate = _open(device, self._copy)
        self.rate = rate
        self._listener: Listener = Listener(rate)
        self._last_block = time.monotonic()
        self._thread = threading.Thread(target=self._run, name="sound input", daemon=True)
        self._thread.start()
        self._stream.start()
        self.delay = float(self._stream.latency)
        """Seconds by which the device says that sound comes in late."""

    @property
    def seconds(self) -> float:
        """How much sound has come in: the clock of all times here."""
        with self._lock:
            return self._listener.seconds

    @property
    def sounding(self) -> "Midi | None":
        with self._lock:
            return self._listener.sounding

    @property
    def tuning(self) -> "Cents":
        """How the instrument is tuned, as far as it is known by now."""
        with self._lock:
            return self._listener.tuning

    def take(self, since: float = 0.0, grid: "Grid | None" = None) -> "Take":
        """All notes since a moment of this clock, judged afresh; see `Listener.take`."""
        with self._lock:
            return self._listener.take(since, grid)

    def close(self) -> None:
        """Give the device back. What was heard can still be asked for."""
        self._stopped = True
        with suppress(sound_library().PortAudioError):
            # abort, not stop: stopping waits for the buffers
            self._stream.abort()
            self._stream.close()
        self._blocks.put(None)
        if threading.current_thread() is not self._thread:
            self._thread.join(timeout=5)

    def _copy(self, block: Any, _frames: int, _times: Any, _status: Any) -> None:
        self._blocks.put(bytes(block))

    def _run(self) -> None:
        while not self._stopped:
            try:
                block = self._blocks.get(timeout=GONE_SECONDS / 4)
            except queue.Empty:
                if time.monotonic() - self._last_block > GONE_SECONDS:
                    self._end(GONE)
                continue
            if block is None or self.ended:
                continue
            self._last_block = time.monotonic()
            if self._blocks.qsize() > MOST_WAITING:
                self._end(BEHIND)
                continue
            self._hear(block)

    def _hear(self, block: bytes) -> None:
        import numpy

        samples = numpy.frombuffer(block, numpy.float32).astype(numpy.float64)
        with self._lock:
            events = self._listener.feed(samples)
            silent = self._listener.silent_for
        if self._told is not None:
            for event in events:
                self._told(event)
        if silent > self._silence:
            self._end(SILENT)

    def _end(self, why: str) -> None:
        if self.ended is None and not self._stopped:
            self.ended = why
            if self._over is not None:
                self._over(why)


def _open(device: str | None, callback: Callable[..., None]) -> tuple[Any, int]:
    """A stream of one channel of floats, and its rate."""
    try:
        library = sound_library()
        rates = [RATE, round(float(library.query_devices(device, "input")["default_samplerate"]))]
        for rate in rates:
            with suppress(library.PortAudioError):
                library.check_input_settings(device, 1, "float32", samplerate=rate)
                break
        stream = library.RawInputStream(
            samplerate=rate,
            channels=1,
            dtype="float32",
            latency=LATENCY,
            device=device,
            callback=callback,
        )
    except SoundDeviceError as error:
        raise SoundInputError(f"no sound input: {error}") from error
    except (library.PortAudioError, ValueError) as error:
        reason = str(error).splitlines()[0]
        raise SoundInputError(
            f"no sound input opens ({reason}): connect one, or choose another in the settings"
        ) from error
    return stream, rate


def input_problem(device: str | None = None) -> str | None:
    """Why no input can be used, in one line; None when one can. Nothing is recorded."""
    try:
        library = sound_library()
        library.check_input_settings(device, 1, "float32")
    except SoundDeviceError as error:
        return f"no sound input: {error}"
    except (library.PortAudioError, ValueError) as error:
        return f"no sound input: {str(error).splitlines()[0]}"
    return None
