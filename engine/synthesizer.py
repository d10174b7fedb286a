"""The FluidSynth library: the one module that loads it and talks to it.

The library raises nothing and prints what it thinks. Here every return code is looked at, its log
lines are caught, and whatever it refuses becomes one SynthesisError. It is loaded at the first
use, so importing this module costs nothing and works on a machine without it.
"""

import ctypes
import os
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from engine.errors import SynthesisError
from engine.score import Instrument
from engine.soundfont import check_soundfont_file
from engine.timing import FRAME_RATE

if TYPE_CHECKING:
    import numpy
    from numpy.typing import NDArray

GAIN = 0.5
"""The synthesizer's gain, the same for every clip the program ever plays.

Set so that the loudest plausible clip (whole band at velocity 127, chords of five, both effects)
stays under -1 dBFS with the built-in SoundFont. Clips are never normalised one by one: loudness
must not tell one answer from another.
"""

ROOM: Mapping[str, float] = {
    "synth.reverb.room-size": 0.3,
    "synth.reverb.damp": 0.5,
    "synth.reverb.width": 0.8,
    "synth.reverb.level": 0.6,
}
"""A small, dark room; each part's share of it is its instrument's `reverb`."""

_FAILED = -1
_LOG_LEVELS = range(5)
_INSTALL = {
    "darwin": "install it with: brew install fluid-synth",
    "win32": "install a FluidSynth release for Windows and put its bin folder on the PATH",
}
_INSTALL_LINUX = (
    "install it with: sudo apt-get install --no-install-recommends libfluidsynth3 "
    "(Debian, Ubuntu), or your system's FluidSynth library package"
)
_HOMEBREW = (Path("/opt/homebrew"), Path("/usr/local"))

_loading = threading.Lock()
_heard = threading.local()


class _Library(NamedTuple):
    """The loaded binding, and what must stay alive with it."""

    api: Any
    write_float: Callable[..., int]
    log_callback: Any


class Synthesizer:
    """One native synthesizer for one clip, in one thread; use it in a `with`.

    A new one renders the same notes to the same bits, whatever other ones do. Every method raises
    SynthesisError when the library refuses what is asked, with what it logged.
    """

    def __init__(self, reverb: bool, chorus: bool) -> None:
        self._library = _library()
        self._api = self._library.api
        self._font = _FAILED
        self._font_path = Path()
        _heard.lines = []
        self._settings = self._api.new_fluid_settings()
        self._synth = None
        try:
            self._configure(reverb, chorus)
            self._synth = self._api.new_fluid_synth(self._settings)
            if not self._synth:
                raise SynthesisError(f"FluidSynth could not start{_log_lines()}")
        except SynthesisError:
            self._close()
            raise

    def __enter__(self) -> "Synthesizer":
        return self

    def __exit__(self, *_exception: object) -> None:
        self._close()

    def load(self, path: Path) -> None:
        """Read the SoundFont that is going to be played."""
        check_soundfont_file(path)
        self._font_path = path
        self._font = self._api.fluid_synth_sfload(self._synth, os.fsencode(path), 0)
        if self._font == _FAILED:
            raise SynthesisError(
                f"{path} is a SoundFont that FluidSynth cannot read: name another, "
                f"or none to use the built-in one{_log_lines()}"
            )

    def offers(self, instrument: Instrument) -> bool:
        """Whether the loaded SoundFont has a sound at the instrument's bank and program."""
        font = self._api.fluid_synth_get_sfont_by_id(self._synth, self._font)
        return bool(self._api.fluid_sfont_get_preset(font, instrument.bank, instrument.program))

    def select(self, channel: int, instrument: Instrument) -> None:
        """Give a channel the instrument's sound; its controllers stay as they are."""
        code = self._api.fluid_synth_program_select(
            self._synth, channel, self._font, instrument.bank, instrument.program
        )
        self._check(code, f"{place(instrument)} on channel {channel} of {self._font_path}")

    def control(self, channel: int, controller: int, value: int) -> None:
        """Set a MIDI controller."""
        code = self._api.fluid_synth_cc(self._synth, channel, controller, value)
        self._check(code, f"controller {controller} = {value} on channel {channel}")

    def start(self, channel: int, key: int, velocity: int) -> None:
        """Start a note."""
        code = self._api.fluid_synth_noteon(self._synth, channel, key, velocity)
        self._check(code, f"note {key} at velocity {velocity} on channel {channel}")

    def stop(self, channel: int, key: int) -> None:
        """Let a note go, if it sounds. Drums die away by themselves: that is no fault."""
        self._api.fluid_synth_noteoff(self._synth, channel, key)

    def render(self, frames: "NDArray[numpy.float32]", first: int, last: int) -> None:
        """Fill rows `first` up to `last` of C-contiguous stereo frames, full scale 1.0.

        Other Python threads run meanwhile. Notes start and stop on whole blocks, so `first` and
        `last` should be multiples of engine.timing.BLOCK.
        """
        data, left, right = frames.ctypes.data, 2 * first, 2 * first + 1
        code = self._library.write_float(self._synth, last - first, data, left, 2, data, right, 2)
        self._check(code, f"rendering frames {first} to {last}")

    def _configure(self, reverb: bool, chorus: bool) -> None:
        numbers = {"synth.gain": GAIN, "synth.sample-rate": float(FRAME_RATE), **ROOM}
        for name, number in numbers.items():
            code = self._api.fluid_settings_setnum(self._settings, name.encode(), number)
            self._check(code, f"setting {name} to {number:g}")
        switches = {
            "synth.midi-channels": 16,
            "synth.reverb.active": int(reverb),
            "synth.chorus.active": int(chorus),
            "synth.lock-memory": 0,  # pinning memory can fail, and a short clip has no use for it
            "synth.threadsafe-api": 0,  # one synthesizer belongs to one thread here
        }
        for name, switch in switches.items():
            code = self._api.fluid_settings_setint(self._settings, name.encode(), switch)
            self._check(code, f"setting {name} to {switch}")

    def _check(self, code: int, what: str) -> None:
        if code == _FAILED:
            raise SynthesisError(f"FluidSynth refused {what}{_log_lines()}")

    def _close(self) -> None:
        if self._synth:
            self._api.delete_fluid_synth(self._synth)
        self._api.delete_fluid_settings(self._settings)


def place(instrument: Instrument) -> str:
    """Where MIDI finds an instrument, with its name: `bank 0 program 4 (electric piano)`."""
    return f"bank {instrument.bank} program {instrument.program} ({instrument.name})"


def synthesizer_version() -> str:
    """The version of the FluidSynth library, such as `2.3.1`.

    Raises SynthesisError when it is not installed.
    """
    numbers = [ctypes.c_int() for _ in range(3)]
    _library().api.fluid_version(*(ctypes.byref(number) for number in numbers))
    return ".".join(str(number.value) for number in numbers)


# --- log lines ------------------------------------------------------------------------------------


def _log_lines() -> str:
    """What the library said in this thread since its synthesizer began, for an error message."""
    lines: list[str] = getattr(_heard, "lines", [])
    return f" (it says: {'; '.join(lines)})" if lines else ""


def _hear(_level: int, message: bytes, _data: int | None) -> None:
    """Keep a log line of the library; it calls this in the thread that called it."""
    if not hasattr(_heard, "lines"):
        _heard.lines = []
    _heard.lines.append(message.decode("utf-8", "replace").strip())


def _catch_log(api: Any) -> Any:
    """Take the library's log lines off the terminal; the result must be kept alive."""
    signature = ctypes.CFUNCTYPE(None, ctypes.c_int, ctypes.c_char_p, ctypes.c_void_p)
    callback = signature(_hear)
    set_log_function = api.cfunc(
        "fluid_set_log_function",
        ctypes.c_void_p,
        ("level", ctypes.c_int, 1),
        ("fun", signature, 1),
        ("data", ctypes.c_void_p, 1),
    )
    for level in _LOG_LEVELS:
        set_log_function(level, callback, None)
    return callback


# --- loading --------------------------------------------------------------------------------------


def _library() -> _Library:
    """The library, loaded once a process.

    Raises SynthesisError saying what to install when there is none.
    """
    with _loading:
        return _load_library()


@cache
def _load_library() -> _Library:
    try:
        with _import_environment():
            import fluidsynth
    except (ImportError, OSError) as error:  # OSError: a library of the wrong architecture
        install = _INSTALL.get(sys.platform, _INSTALL_LINUX)
        raise SynthesisError(
            f"the FluidSynth library, which makes the sound, was not found: {install} ({error})"
        ) from error
    integer, pointer = ctypes.c_int, ctypes.c_void_p
    write_float = fluidsynth.cfunc(
        "fluid_synth_write_float",
        integer,
        ("synth", pointer, 1),
        ("len", integer, 1),
        ("lout", pointer, 1),
        ("loff", integer, 1),
        ("lincr", integer, 1),
        ("rout", pointer, 1),
        ("roff", integer, 1),
        ("rincr", integer, 1),
    )
    return _Library(fluidsynth, write_float, _catch_log(fluidsynth))


@contextmanager
def _import_environment() -> Iterator[None]:
    """The environment in which the binding imports silently and finds Homebrew's library.

    With CI set it prints while it searches; and a Python that is not Homebrew's own finds
    Homebrew's library only through HOMEBREW_PREFIX.
    """
    wanted: dict[str, str | None] = {"CI": None}
    prefixes = [one for one in _HOMEBREW if (one / "lib" / "libfluidsynth.dylib").exists()]
    if prefixes and "HOMEBREW_PREFIX" not in os.environ:
        wanted["HOMEBREW_PREFIX"] = str(prefixes[0])
    before = {name: os.environ.get(name) for name in wanted}
    try:
        _set_environment(wanted)
        yield
    finally:
        _set_environment(before)


def _set_environment(values: Mapping[str, str | None]) -> None:
    for name, value in values.items():
        if value is None:
            os.environ.pop(name, None)
        else:
            os.environ[name] = value
