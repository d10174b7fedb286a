"""A MIDI instrument at the other end of mido's own network ports."""

import socket

import mido
from mido.sockets import PortServer


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Instrument:
    """A player at the other end."""

    def __init__(self, port: int) -> None:
        self._server = PortServer("127.0.0.1", port)
        self._line = None

    def plug_in(self) -> None:
        self._line = self._server.accept()

    def send(self, *messages: mido.Message) -> None:
        assert self._line is not None
        for message in messages:
            self._line.send(message)

    def send_bytes(self, data: bytes) -> None:
        assert self._line is not None
        self._line._wfile.write(data)

    def unplug(self) -> None:
        if self._line is not None:
            self._line.close()
            self._line._rfile.close()
            self._line._wfile.close()
        self._server.close()
