"""A feed: audio that is played while more of it is being made.

One thread puts pieces in and waits while enough of them wait; a player takes bytes out. The player
takes them in the callback of a sound device, which must never wait: it takes no lock and wakes
nobody, it copies. So the thread that puts looks now and then whether there is room again.
"""

import threading
from collections import deque
from typing import TYPE_CHECKING, Any, NamedTuple

from engine.timing import FRAME_RATE
from quiz.errors import QuizError

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

FRAME_BYTES = 4
"""Two 16-bit samples."""

AHEAD = 20.0
"""Seconds of audio that may wait to be played, 3.5 MB: more than any machine stalls for."""

LOOK_AGAIN = 0.1
"""Seconds after which a thread that waits for room looks again."""


class FeedClosed(QuizError):
    """Nobody listens to the feed any more. No fault of anybody's."""


class _Stretch(NamedTuple):
    """Audio that went to the device without a gap."""

    first: int
    """Its first frame, counted from the start of the feed."""

    heard_from: float
    """When that frame is heard, by the player's clock."""

    frame: int
    """A later frame of it, the latest one that is known, and when that is heard: the clock of a
    sound device and that of the machine drift apart in an hour."""

    heard_at: float


class Feed:
    """Audio on its way from the thread that makes it to the player."""

    def __init__(self, ahead: float = AHEAD) -> None:
        """`ahead` is how many seconds may wait before `put` waits too."""
        self.starved = 0
        """Frames of silence that were played because the next piece came too late."""
        self._room = round(ahead * FRAME_RATE)
        self._pieces: deque[memoryview] = deque()
        self._piece = memoryview(b"")
        self._put = 0
        self._taken = 0
        self._ended = False
        self._closed = threading.Event()
        self._gap = True
        self._stretches: tuple[_Stretch, ...] = ()  # newest first, two at most; swapped as a whole

    # --- for the thread that makes it -------------------------------------------------------------

    def put(self, frames: "NDArray[numpy.int16]") -> None:
        """Add a piece, shape (n, 2) and C-contiguous, once there is room.

        Raises FeedClosed when nobody listens any more.
        """
        while self._put - self._taken >= self._room and not self._closed.is_set():
            self._closed.wait(LOOK_AGAIN)
        if self._closed.is_set():
            raise FeedClosed("nobody listens any more")
        self._pieces.append(frames.data.cast("B"))
        self._put += len(frames)

    def end(self) -> None:
        """Say that nothing more comes."""
        self._ended = True

    # --- for whoever listens ----------------------------------------------------------------------

    @property
    def waiting(self) -> float:
        """Seconds of audio that are made and not played yet."""
        return (self._put - self._taken) / FRAME_RATE

    @property
    def closed(self) -> bool:
        """Whether nobody listens any more."""
        return self._closed.is_set()

    def close(self) -> None:
        """Let the audio go; whoever puts is told at once, whoever takes gets silence."""
        self._closed.set()
        self._pieces.clear()

    # --- for the player ---------------------------------------------------------------------------

    def fill(self, out: Any, heard_at: float) -> None:
        """Fill a writable buffer of bytes, the first of which will be heard at `heard_at`.

        What is missing becomes silence. Before the first piece and behind the last one that is no
        starving.
        """
        at = 0
        while at < len(out) and (piece := self._take(len(out) - at)):
            out[at : at + len(piece)] = piece
            at += len(piece)
        missing = len(out) - at
        if missing:
            out[at:] = bytes(missing)
        self._account(at // FRAME_BYTES, missing // FRAME_BYTES, heard_at)

    def skip(self, frames: int, heard_at: float) -> None:
        """Do as `fill` does, without a buffer."""
        missing = frames * FRAME_BYTES
        while missing and (piece := self._take(missing)):
            missing -= len(piece)
        missing //= FRAME_BYTES
        self._account(frames - missing, missing, heard_at)

    def position(self, now: float) -> float | None:
        """Seconds of the music that have been heard; None when it has ended, or is closed.

        While the player waits for a piece the position stays where it is.
        """
        if self._closed.is_set():
            return None
        frame = self._heard(now)
        return None if self._ended and frame >= self._put else frame / FRAME_RATE

    def _heard(self, now: float) -> float:
        """The frame that is heard at `now`."""
        end = self._taken
        for stretch in self._stretches:
            if stretch.heard_from <= now:
                later = (now - stretch.heard_at) * FRAME_RATE
                return max(stretch.first, min(stretch.frame + later, end))
            end = stretch.first
        return end

    def _take(self, wanted: int) -> memoryview:
        """Up to `wanted` of the bytes that wait; none when none do."""
        if self._closed.is_set():
            return memoryview(b"")
        if not self._piece:
            try:
                self._piece = self._pieces.popleft()
            except IndexError:  # asking first would not do: `close` may come in between
                return self._piece
        piece, self._piece = self._piece[:wanted], self._piece[wanted:]
        return piece

    def _account(self, taken: int, missing: int, heard_at: float) -> None:
        if taken:
            latest = (self._taken, heard_at)
            if self._gap:
                self._stretches = (_Stretch(*latest, *latest), *self._stretches[:1])
            else:
                newest, *older = self._stretches
                self._stretches = (_Stretch(*newest[:2], *latest), *older)
            self._taken += taken
            self._gap = False
        if missing:
            self._gap = True
            if self._taken and not self._ended:
                self.starved += missing
