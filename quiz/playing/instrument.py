"""What is played on: a MIDI instrument or the bass itself, behind one protocol.

All times that come out of here are seconds of the machine's clock after `begin`, so that they can
be put against a count-in that this machine sounds.
"""

import time
from collections.abc import Callable
from math import inf
from typing import TYPE_CHECKING, Protocol

from engine.listening.notes import IN_TUNE, Grid, PlayedNote, Take
from engine.theory import Cents
from quiz.errors import InstrumentError, SoundInputError
from quiz.playing.audio_input import AudioInput, input_problem
from quiz.playing.midi_input import MidiInput
from quiz.playing.strokes import Stroke, notes_of
from quiz.settings.checks import PlayBy

if TYPE_CHECKING:
    from engine.listening.live import Event

Clock = Callable[[], float]

NOT_CHOSEN = (
    "nothing is chosen to answer with by playing: choose midi or sound for 'Answer by playing' in "
    "the settings"
)

NEVER = 1e9
"""Seconds of silence after which the sound input ends by itself: who takes says when."""


class Instrument(Protocol):
    """Something that is listened to, a take at a time."""

    @property
    def problem(self) -> str | None:
        """Why nothing comes at the moment, and what to do; None while it is there."""

    @property
    def tuning(self) -> Cents:
        """How it is tuned, as far as it is known by now."""

    @property
    def ready(self) -> bool:
        """Whether what is played now is heard; a sound input needs a moment from `begin` on."""

    def begin(self) -> float:
        """Begin a take, whatever came before forgotten; gives the moment on the clock.

        Raises InstrumentError or SoundInputError when it is not there.
        """

    def heard(self) -> tuple[PlayedNote, ...]:
        """What was played since `begin`, as far as it is known by now."""

    def take(self, grid: Grid | None = None) -> Take:
        """The same, judged afresh; a grid, if given, counts from `begin` too."""

    def rest(self) -> None:
        """End the take."""

    def close(self) -> None:
        """Give the instrument back."""


class MidiInstrument:
    """A MIDI instrument; one that is unplugged is waited for."""

    tuning = IN_TUNE
    ready = True

    def __init__(self, name: str, clock: Clock = time.monotonic) -> None:
        """Open a port; see `MidiInput`. Raises InstrumentError."""
        self._input = MidiInput(name, clock)
        self._clock = clock
        self._began = clock()
        self._strokes: list[Stroke] = []

    @property
    def problem(self) -> str | None:
        return self._input.problem

    def begin(self) -> float:
        if self._input.problem is not None:
            raise InstrumentError(self._input.problem)
        self._input.taken()
        self._strokes = []
        self._began = self._clock()
        return self._began

    def heard(self) -> tuple[PlayedNote, ...]:
        self._strokes += self._input.taken()
        return notes_of(self._strokes, self._began, self._clock())

    def take(self, grid: Grid | None = None) -> Take:
        return Take(self.heard(), self._clock() - self._began)

    def rest(self) -> None:
        """It goes on being listened to; what comes is forgotten at the next beginning."""

    def close(self) -> None:
        self._input.close()


class SoundInstrument:
    """The bass through a sound input, which is open only while a take lasts.

    The sound's own clock counts what has come in. It is put on the machine's clock by the moment
    at which the newest sound was there soonest, less what the device says that it comes late.
    """

    def __init__(self, device: str | None, clock: Clock = time.monotonic) -> None:
        """Raises SoundInputError when there is no such input."""
        if problem := input_problem(device):
            raise SoundInputError(f"{problem}: connect one, or choose another in the settings")
        self._device = device
        self._clock = clock
        self._input: AudioInput | None = None
        self._began = 0.0
        self._offset = inf
        self._notes: list[PlayedNote] = []

    @property
    def problem(self) -> str | None:
        return None if self._input is None else self._input.ended

    @property
    def tuning(self) -> Cents:
        return IN_TUNE if self._input is None else self._input.tuning

    @property
    def ready(self) -> bool:
        return self._input is not None and self._input.seconds > 0

    def begin(self) -> float:
        self.rest()
        self._notes, self._offset = [], inf
        self._input = AudioInput(self._device, told=self._told, silence=NEVER)
        self._began = self._clock()
        return self._began

    def heard(self) -> tuple[PlayedNote, ...]:
        if not self.ready:
            return ()
        return Take(tuple(self._notes), 0.0).later(self._later()).notes

    def take(self, grid: Grid | None = None) -> Take:
        if self._input is None or not self.ready:
            return Take((), 0.0)
        later = self._later()
        own = None if grid is None else Grid(grid.start - later, grid.tempo, grid.feel)
        return self._input.take(0.0, own).later(later)

    def rest(self) -> None:
        source, self._input = self._input, None
        if source is not None:
            source.close()

    def close(self) -> None:
        self.rest()

    def _later(self) -> float:
        """What is added to a moment of the sound's clock to have it counted from `begin`."""
        assert self._input is not None  # the callers have looked, and that sound has come in
        self._offset = min(self._offset, self._clock() - self._input.seconds)
        return self._offset - self._input.delay - self._began

    def _told(self, event: "Event") -> None:
        """From the listening thread; only the list is touched."""
        from engine.listening.live import NoteBegan

        if isinstance(event, NoteBegan):
            note = PlayedNote(event.onset, 0.0, event.midi, event.cents, event.confidence)
            if self._notes and self._notes[-1].onset == event.onset:
                self._notes[-1] = note  # the same, heard better
            else:
                self._notes.append(note)


def open_instrument(by: PlayBy, midi_input: str, input_device: str) -> Instrument:
    """What the settings name.

    Raises InstrumentError or SoundInputError, which say why it does not open and what to do.
    """
    if by is PlayBy.MIDI:
        return MidiInstrument(midi_input)
    if by is PlayBy.SOUND:
        return SoundInstrument(input_device or None)
    raise InstrumentError(NOT_CHOSEN)
