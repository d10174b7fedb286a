"""Keys from a MIDI instrument: the one module that listens to a MIDI port.

A thread polls the port and stamps what comes with the clock. An instrument that is unplugged is
waited for and opened again when it comes back; meanwhile `problem` says so. The system's ports need
the extra `midi`. A port `network:HOST:PORT` needs nothing: there the notes come as MIDI bytes over
TCP, as mido's own network ports send them.
"""

import socket
import threading
import time
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from engine.theory import Midi
from quiz.errors import InstrumentError
from quiz.playing.ports import NETWORK, checked_port
from quiz.playing.strokes import Stroke

POLL_SECONDS = 0.002
"""Between two looks at an open port: a key is stamped at most one look late."""

RETRY_SECONDS = 1.0
"""Between two looks at what ports there are."""

CONNECT_SECONDS = 3.0
"""How long the other end of a network port may take to answer."""

CLOSE_SECONDS = 0.5
"""How long closing waits for the thread."""

SYSTEM = "mido.backends.rtmidi"
"""The backend for the system's ports."""


class MidiInput:
    """An instrument that is listened to until `close`."""

    def __init__(self, name: str, clock: Callable[[], float] = time.monotonic) -> None:
        """Open the port `name`, or the first that there is where it is empty.

        Raises InstrumentError when it cannot be opened; one that goes away later is waited for.
        """
        self.problem: str | None = None
        """Why nothing comes at the moment; None while the port is open."""

        self._name = name
        self._clock = clock
        self._strokes: deque[Stroke] = deque()
        self._closing = threading.Event()
        self._port: Any = _open(name)
        self._looked = clock()
        self._thread = threading.Thread(target=self._listen, name="MIDI input", daemon=True)
        self._thread.start()

    def taken(self) -> tuple[Stroke, ...]:
        """What was played since the last call, in order."""
        found: list[Stroke] = []
        with suppress(IndexError):  # another one may come in meanwhile
            while True:
                found.append(self._strokes.popleft())
        return tuple(found)

    def close(self) -> None:
        """Stop listening. The thread gives the port back: it may be waiting for one that does not
        answer, and nobody waits for that."""
        self._closing.set()
        self._thread.join(CLOSE_SECONDS)

    # --- in the thread --------------------------------------------------------------------------

    def _listen(self) -> None:
        self._listen_on()
        self._drop()

    def _listen_on(self) -> None:
        while not self._closing.wait(POLL_SECONDS if self._port else RETRY_SECONDS):
            if self._port is None:
                self._try_again()
            elif not self._poll():
                self._drop()
                self.problem = (
                    f"the instrument {self._name} is gone: plug it in again and it is found by "
                    "itself"
                )

    def _poll(self) -> bool:
        """Take in what has come; whether the port still stands."""
        try:
            # mido's messages cannot be compared with None, so no `iter` with an end to look for
            while (message := self._port.poll()) is not None:
                self._take(message)
        except (OSError, ValueError, IndexError):  # the last where mido looks for an error's text
            return False
        return not self._port.closed and self._is_listed()

    def _is_listed(self) -> bool:
        """Whether the system still knows the port: one that is unplugged only falls silent."""
        if self._name.startswith(NETWORK) or self._clock() < self._looked + RETRY_SECONDS:
            return True
        self._looked = self._clock()
        with suppress(InstrumentError):
            return self._port.name in input_names()
        return False

    def _take(self, message: Any) -> None:
        if message.type in ("note_on", "note_off"):
            velocity = message.velocity if message.type == "note_on" else 0
            self._strokes.append(Stroke(self._clock(), Midi(message.note), velocity))

    def _try_again(self) -> None:
        with suppress(InstrumentError):  # `problem` still says what to do
            self._port = _open(self._name)
            self.problem = None

    def _drop(self) -> None:
        port, self._port = self._port, None
        if port is not None:
            with suppress(OSError):
                port.close()


def input_names() -> tuple[str, ...]:
    """The system's MIDI inputs by name.

    Raises InstrumentError when the extra is missing or the system has no MIDI.
    """
    backend = _backend()
    try:
        return tuple(backend.get_input_names())
    except OSError as error:
        raise InstrumentError(
            f"no MIDI inputs: the system's MIDI does not open ({_first_line(error)}); an "
            f"instrument elsewhere can be named as {NETWORK}HOST:PORT"
        ) from error


def _backend() -> Any:
    import mido

    backend = mido.Backend(SYSTEM)
    try:
        backend.load()
    except ImportError as error:
        raise InstrumentError(
            "no MIDI inputs: the part for the system's ports is missing, "
            "`pip install 'lastbar[midi]'` brings it; an instrument elsewhere can be named as "
            f"{NETWORK}HOST:PORT"
        ) from error
    return backend


def _open(name: str) -> Any:
    """The opened port. Raises InstrumentError."""
    if name.startswith(NETWORK):
        return _connected(name)
    names = input_names()
    if not names:
        raise InstrumentError("no MIDI input: plug an instrument in")
    if name and name not in names:
        raise InstrumentError(
            f"no MIDI input {name!r}: there are {', '.join(names)}; plug it in or choose another "
            "in the settings"
        )
    try:
        return _backend().open_input(name or names[0])
    except OSError as error:
        raise InstrumentError(
            f"the MIDI input {name or names[0]!r} does not open ({_first_line(error)}): close the "
            "program that holds it"
        ) from error


def _connected(name: str) -> Any:
    from mido import sockets

    host, port = checked_port(name)
    try:
        connection = socket.create_connection((host, port), CONNECT_SECONDS)
        connection.settimeout(None)
        return sockets.SocketPort(host, port, connection)
    except OSError as error:
        raise InstrumentError(
            f"no MIDI from {host}:{port} ({_first_line(error)}): start the sending side first"
        ) from error


def _first_line(error: BaseException) -> str:
    return next(iter(str(error).splitlines()), type(error).__name__)
