"""The studio: renders what is going to be heard, ahead of time, in the background.

A take is a clip with the moments that the screen needs to follow it. Takes are kept for a while,
so a replay and a prepared next question start at once.
"""

import threading
from collections import OrderedDict
from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from engine.catalogue import Catalogue
from engine.errors import SynthesisError
from engine.jam import Leg
from engine.plan import COUNT_IN_BARS, Plan
from engine.score import Score
from engine.sound import Clip, Mix, check_soundfont, render
from engine.timing import BEATS_PER_BAR
from quiz.sound.bandstand import Bandstand
from sounds import soundfont_path

KEPT = 6
"""Takes kept in memory: the question, its slower playing, the answer, and the next question. A
take of half a minute is about 5 MB."""


@dataclass(frozen=True, slots=True)
class Take:
    """A clip, and which bar of the form sounds when."""

    clip: Clip
    tempo: float
    bars: tuple[int, ...]
    """The bar of the form, from 1, of each bar that is played, count-in left out."""

    def place(self, seconds: float) -> tuple[int, int] | None:
        """(index into `bars`, beat 0 to 3) at `seconds`; None during the count-in and the ring."""
        beat = int(seconds * self.tempo / 60)
        bar, beat = divmod(beat, BEATS_PER_BAR)
        index = bar - COUNT_IN_BARS
        return (index, beat) if 0 <= index < len(self.bars) else None


class Passage(Protocol):
    """Something that can be recorded; hashable, and equal things sound equal."""

    def passage(self, catalogue: Catalogue) -> tuple[Plan, Score]:
        """What is played, bar by bar and note by note. Raises MusicInputError."""


class Studio:
    """Renders takes in a thread of its own and keeps the latest."""

    def __init__(self, catalogue: Catalogue, soundfont: Path | None, reverb: bool) -> None:
        """Raises nothing: an own SoundFont that cannot be used is told by `problem`."""
        self._catalogue = catalogue
        self._mix = Mix(reverb=reverb)
        self.problem: str | None = None
        self._soundfont = soundfont or soundfont_path()
        self._checked = soundfont is None
        self._takes: OrderedDict[Passage, Future[Take]] = OrderedDict()
        self._lock = threading.Lock()
        self._pool = ThreadPoolExecutor(max_workers=1, thread_name_prefix="studio")

    def prepare(self, wanted: Passage) -> "Future[Take]":
        """Start rendering unless that has happened; the future gives the take.

        The future raises SynthesisError, or MusicInputError for what cannot be played.
        """
        with self._lock:
            known = self._takes.get(wanted)
            if known is not None and not known.cancelled():
                self._takes.move_to_end(wanted)
                return known
            future = self._pool.submit(self._take, wanted)
            self._takes[wanted] = future
            while len(self._takes) > KEPT:
                _, oldest = self._takes.popitem(last=False)
                oldest.cancel()
            return future

    def render(self, score: Score) -> Clip:
        """Render any score here and now.

        Raises SynthesisError.
        """
        return render(score, self._usable_soundfont(), self._mix)

    def instruments(self) -> tuple[Path, Mix]:
        """The SoundFont and the effects, for what is rendered elsewhere; raises SynthesisError."""
        return self._usable_soundfont(), self._mix

    def bandstand(self, legs: Iterable[Leg]) -> Bandstand:
        """A bandstand for a jam, with the sound of this studio.

        Raises SynthesisError when there is no synthesizer.
        """
        return Bandstand(legs, self._usable_soundfont(), self._mix)

    def close(self) -> None:
        """Let the thread go."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _take(self, wanted: Passage) -> Take:
        plan, score = wanted.passage(self._catalogue)
        numbers = tuple(bar.number for bar in plan.bars)
        return Take(self.render(score), score.tempo, numbers)

    def _usable_soundfont(self) -> Path:
        """The player's SoundFont, or the built-in one when that one is no good."""
        if not self._checked:
            self._checked = True
            try:
                check_soundfont(self._soundfont)
            except SynthesisError as error:
                self.problem = f"{error}; the built-in sound plays now"
                self._soundfont = soundfont_path()
        return self._soundfont
