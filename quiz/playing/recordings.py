"""Reading recordings of a bass figure: one channel of sound out of a file, or why there is none."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from engine import recording
from engine.errors import printable
from quiz.errors import RecordingError

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

LONGEST_MINUTES = 5
"""A figure takes seconds; whoever gives an hour has taken the wrong file."""


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """Sound of one channel."""

    samples: "NDArray[numpy.float64]"
    """1.0 is full scale."""

    rate: int
    """Frames a second."""


def read_recording(path: Path) -> Recording:
    """The sound in a file, mixed down to one channel; of a file that was cut off what it holds.

    Raises RecordingError for a file that cannot be read, is empty, too long or no audio.
    """
    import numpy

    name = printable(str(path))
    try:
        if not path.stat().st_size:
            raise RecordingError(f"{name} is empty: record it again")
        path.open("rb").close()
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise RecordingError(f"{name} cannot be read ({reason}): give another file") from error
    try:
        minutes = recording.length_of(path) / 60
        if minutes > LONGEST_MINUTES:
            raise RecordingError(
                f"{name} lasts {minutes:.0f} minutes: give the figure alone, "
                f"{LONGEST_MINUTES} minutes at most"
            )
        samples, rate = recording.read(path)
    except ValueError as error:
        raise RecordingError(
            f"{name} is not audio that can be read ({error}): give a WAV or FLAC file"
        ) from error
    return Recording(_mixed(numpy.nan_to_num(samples, nan=0.0, posinf=0.0, neginf=0.0)), rate)


def _mixed(samples: "NDArray[numpy.float64]") -> "NDArray[numpy.float64]":
    """One channel: the mean of all, or the loudest where they cancel each other."""
    import numpy

    if not len(samples):
        return numpy.zeros(0)
    mean: NDArray[numpy.float64] = samples.mean(axis=1)
    energies = numpy.sum(samples**2, axis=0)
    loudest: NDArray[numpy.float64] = samples[:, int(numpy.argmax(energies))]
    return mean if numpy.sum(mean**2) >= 0.1 * energies.max() else loudest
