"""Where an answer is played: count-in, beat, and what is heard as degrees against the key."""

from collections.abc import Callable

from rich.text import Text
from textual.binding import Binding
from textual.message import Message
from textual.widgets import Static

from engine.errors import EngineError
from engine.timing import BEATS_PER_BAR
from quiz.display.cautions import HANDS
from quiz.errors import QuizError
from quiz.playing.live_take import COUNT_BEATS, LiveTake
from quiz.playing.taking import Stage
from quiz.questions.value import Question

LOOK_SECONDS = 1 / 40
"""How often the pad looks at clock, sound and instrument."""

NOTHING_THERE = "There is nothing to play on: choose it in the settings."

BeginTake = Callable[[Question], LiveTake]
"""Raises InstrumentError when there is nothing to play on."""


class PlayPad(Static, can_focus=True):
    """A take, and another one until something was played."""

    BINDINGS = [
        Binding("enter", "finish", "Done", id="play.done", tooltip="That was it: judge the take"),
        Binding(
            "space",
            "start",
            "Start",
            id="play.start",
            tooltip="Start the take; again: start it anew",
        ),
    ]

    class Starting(Message):
        """A take is about to start: whatever sounds should stop."""

    class Given(Message):
        """The take is over."""

        def __init__(self, text: str, said: str) -> None:
            super().__init__()
            self.text = text
            self.said = said
            """What belongs beside the answer: why it ended, how the instrument is tuned."""

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id, markup=False)
        self._take: LiveTake | None = None
        self._problem = ""
        self._shown: list[str] = []

    def on_mount(self) -> None:
        """Look again and again, while there is something to look at."""
        self.set_interval(LOOK_SECONDS, self._look)

    def ask(self, question: Question, begin: BeginTake | None) -> None:
        """Begin anew with a question; nothing is taken yet."""
        self.leave()
        self._take, self._problem = None, NOTHING_THERE if begin is None else ""
        try:
            self._take = begin(question) if begin is not None else None
        except (EngineError, QuizError) as error:
            self._problem = str(error)
        self._show()

    @property
    def taking(self) -> bool:
        """Whether a take is running."""
        return self._take is not None and self._take.running

    def leave(self) -> bool:
        """Stop a take that is running, which does not count then; whether one was."""
        if self._take is None or not self._take.running:
            return False
        self._take.leave()
        self._show()
        self.refresh_bindings()
        return True

    def start(self) -> None:
        """Start a take, or the same anew."""
        if self._take is None:
            return
        self._take.leave()
        self._take.begin()
        self._show()
        self.refresh_bindings()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Nothing is done before it was started."""
        return self.taking if action == "finish" else True

    def action_start(self) -> None:
        """Start, once the screen is silent."""
        self.post_message(self.Starting())

    def action_finish(self) -> None:
        """Judge the take."""
        if self._take is not None:
            self._take.finish()
            self._look(ended=True)

    def on_click(self) -> None:
        """A click starts too."""
        if not self.taking:
            self.action_start()

    def _look(self, ended: bool = False) -> None:
        take = self._take
        if take is None or not (take.running or ended):
            return
        take.tick()
        self._show()
        if take.running:
            return
        self.refresh_bindings()
        if take.given is not None:
            self._take = None
            said = " ".join(filter(None, [take.told, take.tuning_words]))
            self.post_message(self.Given(take.given, said))

    def _show(self) -> None:
        lines = self.lines()
        if lines != self._shown:  # a layout many times a second would cost too much
            self._shown = lines
            self.update(Text("\n".join(lines)))

    def lines(self) -> list[str]:
        """What stands on the pad."""
        take = self._take
        if take is None:
            return [self._problem] if self._problem else []
        heard = " ".join(map(str, take.degrees)) or "nothing yet"
        tuning = [take.tuning_words] if take.tuning_words else []
        match take.stage:
            case Stage.COUNT_IN:
                return [f"count-in: {_counted(take.beat)}"]
            case Stage.PLAYING if take.counted:
                return [_beat_words(take.beat), f"heard: {heard}", *tuning]
            case Stage.PLAYING:
                return [
                    f"heard: {heard}",
                    "Play it freely. Enter is the end of it, or a long silence.",
                    *tuning,
                ]
        told = [take.told] if take.told else []
        gone = [f"{take.problem}."] if take.problem and not take.told else []
        how = "Space starts it: a bar is counted in, then play." if take.counted else ""
        return [*told, *gone, how or "Space starts it.", HANDS]


def _counted(beat: float | None) -> str:
    """`1 2 3`, as far as it has been counted."""
    if beat is None:
        return ""
    done = int(beat + COUNT_BEATS) + 1
    return " ".join(str(number + 1) for number in range(min(max(done, 0), BEATS_PER_BAR)))


def _beat_words(beat: float | None) -> str:
    if beat is None or beat < 0:
        return "now"
    bar, inside = divmod(int(beat), BEATS_PER_BAR)
    return f"bar {bar + 1}, beat {inside + 1}"
