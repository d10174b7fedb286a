"""Reading recordings: WAV by ourselves, FLAC and the rest through the soundfile library if it is
there.

WAV files are RIFF with a `fmt ` and a `data` chunk (Microsoft and IBM, Multimedia Programming
Interface and Data Specifications 1.0, 1991; the extensible form: Microsoft, Multiple channel audio
data and WAVE files, 2001). Whole numbers of 8 to 32 bits and floats of 32 and 64 are read, at any
rate, with any number of channels. A file that was cut off gives what it holds.
"""

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import printable
from quiz.errors import RecordingError

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

WHOLE, FLOAT, EXTENSIBLE = 1, 3, 0xFFFE
"""Format tags."""

LONGEST_MINUTES = 5
"""A figure takes seconds; whoever gives an hour has taken the wrong file."""

MOST_CHANNELS = 64


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """Sound of one channel."""

    samples: "NDArray[numpy.float64]"
    """1.0 is full scale."""

    rate: int
    """Frames a second."""


@dataclass(frozen=True, slots=True)
class _Format:
    """What a `fmt ` chunk says."""

    tag: int
    channels: int
    rate: int
    bits: int
    """A sample takes so many."""

    @property
    def width(self) -> int:
        """Bytes of one sample."""
        return self.bits // 8


def read_recording(path: Path) -> Recording:
    """The sound in a file, mixed down to one channel.

    Raises RecordingError for a file that cannot be read, is empty, too long or no audio, and for
    one that needs the soundfile library where that is missing.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise RecordingError(
            f"{_name(path)} cannot be read ({reason}): give another file"
        ) from error
    if not data:
        raise RecordingError(f"{_name(path)} is empty: record it again")
    if data[:4] == b"RIFF" and data[8:12] == b"WAVE":
        return _wav(data, path)
    return _by_library(path)


def _name(path: Path) -> str:
    return printable(str(path))


def _wav(data: bytes, path: Path) -> Recording:
    import numpy

    shape, start, length = _chunks(data, path)
    frame = shape.width * shape.channels
    frames = min(length, len(data) - start) // frame
    _check_length(frames, shape.rate, path)
    raw = numpy.frombuffer(data, numpy.uint8, frames * frame, start)
    samples = _samples(raw, shape).reshape(frames, shape.channels)
    return Recording(_mixed(samples), shape.rate)


def _chunks(data: bytes, path: Path) -> tuple[_Format, int, int]:
    """The format, and where the samples start and how many bytes they have."""
    shape: _Format | None = None
    at = 12
    while at + 8 <= len(data):
        name, size = data[at : at + 4], struct.unpack_from("<I", data, at + 4)[0]
        if name == b"fmt " and size >= 16 and at + 24 <= len(data):
            shape = _format(data[at + 8 : at + 8 + size], path)
        if name == b"data":
            if shape is None:
                break
            return shape, at + 8, size
        at += 8 + size + size % 2
    raise RecordingError(f"{_name(path)} has no sound in it: give a whole WAV file")


def _format(chunk: bytes, path: Path) -> _Format:
    tag, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", chunk)
    if tag == EXTENSIBLE and len(chunk) >= 26:
        tag = struct.unpack_from("<H", chunk, 24)[0]
    known = (tag == WHOLE and bits in (8, 16, 24, 32)) or (tag == FLOAT and bits in (32, 64))
    if not known or not 1 <= channels <= MOST_CHANNELS or rate < 1:
        raise RecordingError(
            f"{_name(path)} is a WAV file of a kind that is not read (format {tag}, {bits} bits, "
            f"{channels} channels, {rate} frames a second): save it as 16-bit PCM"
        )
    return _Format(tag, channels, rate, bits)


def _samples(raw: "NDArray[numpy.uint8]", shape: _Format) -> "NDArray[numpy.float64]":
    import numpy

    if shape.tag == FLOAT:
        floats: NDArray[numpy.float64] = raw.view(f"<f{shape.width}").astype(numpy.float64)
        floats[~numpy.isfinite(floats)] = 0.0
        return floats
    if shape.bits == 8:  # the only unsigned ones
        return (raw - numpy.float64(128)) / numpy.float64(128)
    if shape.bits == 24:
        wide = numpy.zeros((len(raw) // 3, 4), numpy.uint8)
        wide[:, 1:] = raw.reshape(-1, 3)
        triples: NDArray[numpy.float64] = wide.view("<i4")[:, 0].astype(numpy.float64)
        return triples / numpy.float64(2**31)
    whole: NDArray[numpy.float64] = raw.view(f"<i{shape.width}").astype(numpy.float64)
    scale = float(2 ** (shape.bits - 1))
    return whole / scale


def _mixed(samples: "NDArray[numpy.float64]") -> "NDArray[numpy.float64]":
    """One channel: the mean of all, or the loudest where they cancel each other."""
    import numpy

    if not len(samples):
        return numpy.zeros(0)
    mean: NDArray[numpy.float64] = samples.mean(axis=1)
    energies = numpy.sum(samples**2, axis=0)
    loudest: NDArray[numpy.float64] = samples[:, int(numpy.argmax(energies))]
    return mean if numpy.sum(mean**2) >= 0.1 * energies.max() else loudest


def _check_length(frames: int, rate: int, path: Path) -> None:
    if frames > LONGEST_MINUTES * 60 * rate:
        raise RecordingError(
            f"{_name(path)} lasts {frames / rate / 60:.0f} minutes: give the figure alone, "
            f"{LONGEST_MINUTES} minutes at most"
        )


def _by_library(path: Path) -> Recording:
    try:
        import soundfile
    except (ImportError, OSError) as error:
        raise RecordingError(
            f"{_name(path)} is no WAV file: give one, or install the soundfile library for FLAC"
        ) from error
    try:
        facts = soundfile.info(str(path))
        _check_length(facts.frames, facts.samplerate, path)
        samples, rate = soundfile.read(str(path), dtype="float64", always_2d=True)
    except (soundfile.SoundFileError, RuntimeError, ValueError) as error:
        raise RecordingError(
            f"{_name(path)} is not audio that can be read: give a WAV or FLAC file"
        ) from error
    return Recording(_mixed(samples), int(rate))
