"""Sound into files piece by piece, WAV and FLAC, and out of files of any usual kind. The one module
that imports soundfile.

A piece goes to the disk as soon as it is there, so a long track never stands in memory as a whole.
"""

import wave
from collections.abc import Callable, Iterable
from contextlib import closing
from io import BufferedWriter
from pathlib import Path
from typing import TYPE_CHECKING

from engine.timing import FRAME_RATE

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

WAV, FLAC = ".wav", ".flac"


def record(pieces: "Iterable[NDArray[numpy.int16]]", path: Path, kind: str) -> int:
    """Write stereo pieces of 16 bits as a file of `kind`, WAV or FLAC; gives the frames written.

    Raises OSError when the file cannot be written or the disk is full, and whatever the pieces
    raise; what is left at `path` is then no whole file.
    """
    return (_record_flac if kind == FLAC else _record_wav)(pieces, path)


def _record_wav(pieces: "Iterable[NDArray[numpy.int16]]", path: Path) -> int:
    frames = 0
    with path.open("wb") as raw, closing(wave.open(raw, "wb")) as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(FRAME_RATE)
        for piece in pieces:
            file.writeframesraw(piece.astype("<i2", copy=False).tobytes())
            frames += len(piece)
    return frames


def _record_flac(pieces: "Iterable[NDArray[numpy.int16]]", path: Path) -> int:
    import soundfile

    frames = 0
    with path.open("wb") as raw:
        target = _Target(raw)
        try:
            with soundfile.SoundFile(
                target, "w", FRAME_RATE, channels=2, format="FLAC", subtype="PCM_16"
            ) as file:
                for piece in pieces:
                    file.write(piece)
                    frames += len(piece)
                    target.check()
        except soundfile.LibsndfileError as error:
            raise OSError(error.error_string) from error
        target.check()
    return frames


class _Target:
    """A file that the library writes to.

    The library cannot say why something could not be written. So what the system says is kept for
    `check`, and the library is told that all went well.
    """

    def __init__(self, raw: BufferedWriter) -> None:
        self._raw = raw
        self._error: OSError | None = None

    def check(self) -> None:
        """Raises OSError as soon as something could not be written."""
        if self._error is not None:
            raise self._error

    def write(self, data: bytes) -> int:
        self._try(lambda: self._raw.write(data))
        return len(data)

    def seek(self, offset: int, whence: int) -> None:
        self._try(lambda: self._raw.seek(offset, whence))

    def tell(self) -> int:
        return self._raw.tell()

    def _try(self, do: Callable[[], object]) -> None:
        try:
            do()
        except OSError as error:
            self._error = self._error or error


def length_of(path: Path) -> float:
    """How many seconds a file of sound lasts. Raises ValueError for one that cannot be read."""
    import soundfile

    try:
        facts = soundfile.info(path)
    except soundfile.LibsndfileError as error:
        raise ValueError(error.error_string) from error
    return float(facts.frames / facts.samplerate)


def read(path: Path) -> "tuple[NDArray[numpy.float64], int]":
    """The sound in a file, a row a frame and a column a channel, 1.0 full scale, and its frames a
    second. Raises ValueError for a file that cannot be read."""
    import soundfile

    try:
        samples, rate = soundfile.read(path, dtype="float64", always_2d=True)
    except soundfile.LibsndfileError as error:
        raise ValueError(error.error_string) from error
    return samples, int(rate)
