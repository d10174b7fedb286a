"""Tracks into files: one job a file, several of them in processes of their own.

A file is written under a name beside its own and renamed when it is whole, so whatever ends the
work, an error, Ctrl+C or a signal, leaves no half file. The processes are ended with the program.
"""

import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

from engine.midi import to_midi_bytes
from engine.recording import FLAC, WAV, record
from engine.sound import Mix
from engine.stream import stream_stretches
from engine.timing import FRAME_RATE
from engine.track import TrackPlan, seconds, stretches
from engine.whole import clear_leftovers
from quiz.errors import FileError
from quiz.files import check_free, new_file

if TYPE_CHECKING:
    from multiprocessing.context import SpawnContext
    from multiprocessing.pool import IMapIterator

    import numpy
    from numpy.typing import NDArray

MIDI = ".mid"
ENDINGS = (WAV, FLAC, MIDI)

LOOK_SECONDS = 0.5
"""How often somebody looks whether all processes are still there."""

ENDED = 128 + signal.SIGTERM
"""The exit code of a process that was told to end."""


@dataclass(frozen=True, slots=True)
class TrackJob:
    """A track and the file that it goes into."""

    plan: TrackPlan
    target: Path
    """Its ending, one of ENDINGS, says what is written."""

    soundfont: Path
    mix: Mix
    force: bool = False
    """Whether a file that is there may be replaced."""


def write_track(job: TrackJob, tell: Callable[[float], None] = lambda done: None) -> None:
    """Write a track; `tell` hears now and then which share is done, from 0 to 1.

    Raises FileError when the name is taken or cannot be written, SynthesisError when the library is
    missing or refuses something.
    """
    kind = job.target.suffix.lower()
    with new_file(job.target, job.force) as partial:
        played = [stretch.score for stretch in stretches(job.plan)]
        if kind == MIDI:
            partial.write_bytes(to_midi_bytes(*played))
        else:
            pieces = stream_stretches(([score] for score in played), job.soundfont, job.mix)
            record(_told(pieces, seconds(job.plan), tell), partial, kind)
    tell(1.0)


def write_tracks(jobs: Sequence[TrackJob], done: Callable[[int], None]) -> None:
    """Write several tracks at a time, as many as there are cores; `done` hears how many are.

    Raises what `write_track` raises for the first one that fails; the others are then given up,
    and what is whole already stays.
    """
    for job in jobs:
        check_free(job.target, job.force)
    processes = min(len(jobs), os.cpu_count() or 1)
    context = multiprocessing.get_context("spawn")  # a fork would copy locks of native threads
    with _interrupt_held(context) as hear_it_again:  # the processes never hear it
        pool = context.Pool(processes, _end_quietly)
        staff = _process_ids()
        try:
            hear_it_again()
            results = pool.imap_unordered(write_track, jobs)
            for count in range(1, len(jobs) + 1):
                _next(results, staff)
                done(count)
        finally:
            pool.terminate()
            pool.join()  # until then a process may still be taking its half file away
            for job in jobs:
                clear_leftovers(job.target)  # of a process that was killed


def _next(results: "IMapIterator[None]", staff: set[int | None]) -> None:
    """Wait for the next track; a process that died is never heard of again, so look for them."""
    while True:
        try:
            return results.next(timeout=LOOK_SECONDS)
        except multiprocessing.TimeoutError:
            if not staff <= _process_ids():
                raise FileError(
                    "a process that wrote a track was ended from outside, perhaps for want of "
                    "memory: give the command again with fewer keys"
                ) from None


def _process_ids() -> set[int | None]:
    return {process.pid for process in multiprocessing.active_children()}


@contextmanager
def told_to_end() -> Iterator[None]:
    """While this lasts, SIGTERM and SIGHUP end the work as Ctrl+C does: what is half is removed."""
    names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = {name: signal.signal(getattr(signal, name), _interrupt) for name in names}
    try:
        yield
    finally:
        for name, handler in before.items():
            signal.signal(getattr(signal, name), handler)


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt


@contextmanager
def _interrupt_held(context: "SpawnContext") -> Iterator[Callable[[], None]]:
    """Ctrl+C and a terminal that closes wait, here and in the processes that are started, until
    what is given is called, or this ends: then they are heard here."""
    if not hasattr(signal, "pthread_sigmask"):
        yield lambda: None
        return
    held = {signal.SIGINT, signal.SIGHUP}
    before = signal.pthread_sigmask(signal.SIG_BLOCK, held)
    context.Lock()  # starts a process that counts these, and lets Ctrl+C through again
    signal.pthread_sigmask(signal.SIG_BLOCK, held)

    def hear_it_again() -> None:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)

    try:
        yield hear_it_again
    finally:
        hear_it_again()


def _end_quietly() -> None:
    """In a process of the pool: the program alone hears Ctrl+C and a terminal that closes, and
    tells this one to end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, lambda _number, _frame: sys.exit(ENDED))


def _told(
    pieces: "Iterator[NDArray[numpy.int16]]", length: float, tell: Callable[[float], None]
) -> "Iterator[NDArray[numpy.int16]]":
    """The pieces, with a word after each how far it is."""
    frames = 0
    for piece in pieces:
        yield piece
        frames += len(piece)
        tell(min(frames / (length * FRAME_RATE), 1.0))
