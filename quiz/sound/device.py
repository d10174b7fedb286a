"""The sound device library, behind one module: which inputs and outputs the system has."""

from typing import TYPE_CHECKING

from quiz.errors import SoundDeviceError

if TYPE_CHECKING:
    from types import ModuleType


def sound_library() -> "ModuleType":
    """The library itself.

    Raises SoundDeviceError when the system's PortAudio, which it stands on, is missing.
    """
    try:
        import sounddevice
    except OSError as error:
        raise SoundDeviceError(
            "the PortAudio library is missing (`lastbar check` says more)"
        ) from error
    library: ModuleType = sounddevice
    return library


def output_devices() -> tuple[str, ...]:
    """The names of the system's sound outputs; none without the library."""
    return _devices("max_output_channels")


def input_devices() -> tuple[str, ...]:
    """The names of the system's sound inputs; none without the library."""
    return _devices("max_input_channels")


def _devices(channels: str) -> tuple[str, ...]:
    try:
        library = sound_library()
    except SoundDeviceError:
        return ()
    return tuple(str(row["name"]) for row in library.query_devices() if row[channels] > 0)
