"""Playing on a screen: cue a passage, start it when it is rendered, follow it, stop it.

Every screen that makes a sound has one of these. The render happens in the studio's thread, which
only posts a message; a message that comes too late, for a cue that was replaced, is passed over.
"""

from concurrent.futures import Future

from textual.message import Message
from textual.widget import Widget

from engine.errors import EngineError
from engine.timing import TICKS_PER_BEAT
from quiz.sound.studio import Passage, Take
from quiz.workbench import Workbench

FOLLOW_SECONDS = 1 / 25
"""How often a screen should look where the sound is."""


class Sounding:
    """The sound of one screen."""

    class Ready(Message):
        """A passage has been rendered, or could not be."""

        def __init__(self, passage: Passage, future: "Future[Take]") -> None:
            super().__init__()
            self.passage = passage
            self.future = future

    def __init__(self, screen: Widget, bench: Workbench) -> None:
        self._screen = screen
        self._bench = bench
        self._cue: Passage | None = None
        self._take: Take | None = None

    @property
    def playing(self) -> bool:
        """Whether a take has been started and not yet seen to end."""
        return self._take is not None

    def play(self, passage: Passage) -> None:
        """Sound a passage as soon as it is rendered; the screen gets Ready and passes it on."""
        self._cue = passage
        future = self._bench.studio.prepare(passage)
        ready = self.Ready(passage, future)
        if future.done():
            self._screen.post_message(ready)
        else:
            future.add_done_callback(lambda _: self._screen.post_message(ready) and None)

    def take_in(self, message: "Sounding.Ready") -> str:
        """Start what is ready, if it is still wanted. Gives a line when nothing will be heard."""
        if message.passage != self._cue or message.future.cancelled():
            return ""
        try:
            self._take = message.future.result()
        except EngineError as error:
            return str(error)
        self._bench.player.play(self._take.clip)
        return self._bench.player.silent or self._bench.studio.problem or ""

    def stop(self) -> None:
        """Be silent, and forget what was cued."""
        self._cue = self._take = None
        self._bench.player.stop()

    def where(self) -> tuple[int, int] | None:
        """(bar of the form, beat from 0) that sounds now; None in the count-in and the ring."""
        seconds = self._bench.player.position()
        if self._take is None or seconds is None:
            return None
        place = self._take.place(seconds)
        return None if place is None else (self._take.bars[place[0]], place[1])

    def tick(self) -> int | None:
        """The tick of the score that sounds now; None in silence."""
        seconds = self._bench.player.position()
        if self._take is None or seconds is None:
            return None
        return int(seconds * self._take.tempo / 60 * TICKS_PER_BEAT)

    def has_ended(self) -> bool:
        """Whether the take that was started has come to its end; true once."""
        if self._take is None or self._bench.player.position() is not None:
            return False
        self._take = None
        return True
