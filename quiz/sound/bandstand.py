"""The bandstand: the open jam, planned and rendered ahead of play in a thread of its own.

The thread asks for a leg when the one before is rendered, renders it piece by piece into a feed,
and waits there while enough is ahead. So what is played in a leg is decided a leg, or half a
minute, before it is heard, and memory stays as it is however long the jam goes on.
"""

import threading
from collections.abc import Iterable, Iterator
from contextlib import closing, suppress
from pathlib import Path

from engine.errors import EngineError
from engine.jam import Leg, leg_score
from engine.jam_places import JamPlace, place_at, tick_at
from engine.score import Score
from engine.sound import Mix
from engine.stream import stream
from quiz.errors import QuizError
from quiz.sound.feed import AHEAD, Feed, FeedClosed

KEPT = 8
"""Legs that are remembered: the one that is heard and those that are rendered, with some to spare.
The shortest imaginable lasts six seconds, and AHEAD seconds are rendered."""


class Bandstand:
    """One jam. Give `feed` to a player, then `begin`."""

    def __init__(
        self, legs: Iterable[Leg], soundfont: Path, mix: Mix | None = None, ahead: float = AHEAD
    ) -> None:
        """`legs` is asked for one leg after the other, in the bandstand's thread, and may go on for
        ever; it may raise EngineError and QuizError. `ahead` is how many seconds are rendered
        before they are heard."""
        self.feed = Feed(ahead)
        self.legs: tuple[Leg, ...] = ()
        """The latest legs, the one that is heard among them."""
        self.problem: EngineError | QuizError | None = None
        """Why the jam ended, if it was not meant to; known before the feed ends."""
        self._coming = legs
        self._soundfont = soundfont
        self._mix = mix
        self._thread = threading.Thread(target=self._play, name="bandstand", daemon=True)

    def begin(self) -> None:
        """Start planning and rendering; once."""
        self._thread.start()

    def place(self, seconds: float) -> JamPlace | None:
        """Where the jam is after so many seconds; None in the count-in and behind the end."""
        legs = self.legs
        return place_at(legs, tick_at(seconds, legs[0].settings.tempo)) if legs else None

    def stop(self) -> None:
        """End at once and in silence, without waiting for the thread to notice."""
        self.feed.close()

    def close(self) -> None:
        """Stop, and wait until the thread has gone; it takes a fraction of a second."""
        self.stop()
        if self._thread.is_alive():
            self._thread.join()

    def _play(self) -> None:
        try:
            pieces = stream(self._scores(), self._soundfont, self._mix)
            with suppress(FeedClosed), closing(pieces):
                for piece in pieces:
                    self.feed.put(piece)
        except (EngineError, QuizError) as error:
            self.problem = error
        finally:
            self.feed.end()

    def _scores(self) -> Iterator[Score]:
        for leg in self._coming:
            self.legs = (*self.legs[1 - KEPT :], leg)
            yield leg_score(leg)
