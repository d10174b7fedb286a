"""A clip: rendered audio in memory, and the one way it becomes a file."""

import wave
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from engine.timing import FRAME_RATE
from engine.whole import whole_file

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """Audio ready for a device or a file."""

    frames: "NDArray[numpy.int16]"
    """Shape (n, 2), left then right, C-contiguous, -32768 to 32767."""

    rate: int = FRAME_RATE
    """Frames a second."""

    @property
    def seconds(self) -> float:
        """How long the clip lasts."""
        return len(self.frames) / self.rate


def write_wav(clip: Clip, path: Path) -> None:
    """Write `clip` as a 16-bit stereo WAV file.

    The file is written under a name of its own beside `path` and renamed when complete, so
    whatever stands at `path` is a whole file, old or new. Raises OSError when the folder is
    missing or not writable or the disk is full; then nothing is left behind.
    """
    with whole_file(path) as partial, partial.open("xb") as raw, wave.open(raw, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(clip.rate)
        file.writeframes(clip.frames.astype("<i2", copy=False).tobytes())
