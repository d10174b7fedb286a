"""Sound into files piece by piece, WAV and FLAC, and out of files of any usual kind. The one module
that imports soundfile.

A piece goes to the disk as soon as it is there, so a long track never stands in memory as a whole.
"""

import wave
from collections.abc import Iterable
from contextlib import closing
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
    try:
        with soundfile.SoundFile(
            path, "w", FRAME_RATE, channels=2, format="FLAC", subtype="PCM_16"
        ) as file:
            for piece in pieces:
                file.write(piece)
                frames += len(piece)
    except soundfile.LibsndfileError as error:
        raise OSError(f"{error.error_string}") from error
    return frames


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
