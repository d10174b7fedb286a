"""The names of MIDI ports at the other end of a network connection."""

from quiz.errors import InstrumentError

NETWORK = "network:"
"""Begins the name of a port at the other end of a network connection."""


def checked_port(name: str) -> tuple[str, int]:
    """Host and port number of a network port's name.

    Raises InstrumentError for a name that is none.
    """
    host, _, port = name.removeprefix(NETWORK).rpartition(":")
    if not host or not (port.isascii() and port.isdecimal()) or not 0 < int(port) < 65536:
        raise InstrumentError(
            f"{name!r} is no network port: give {NETWORK}HOST:PORT with a port from 1 to 65535"
        )
    return host, int(port)
