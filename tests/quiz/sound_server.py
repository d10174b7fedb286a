"""A private sound server: a room without walls, whose sound can be listened to.

PulseAudio runs with a runtime folder of its own and one null sink, and PortAudio reaches it through
ALSA's plugin. What is played into the sink comes out of its monitor, the default input there.
"""

import os
import shutil
import subprocess
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

ALSA = """
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


def _missing() -> str | None:
    for program in ("pulseaudio", "paplay", "pactl"):
        if shutil.which(program) is None:
            return f"{program} is missing"
    if not list(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")):
        return "ALSA's plugin for PulseAudio is missing"
    return None


needs_server = pytest.mark.skipif(
    _missing() is not None,
    reason=f"{_missing()}: install pulseaudio pulseaudio-utils libasound2-plugins",
)

ROOM = "room"


@dataclass(frozen=True, slots=True)
class Server:
    """A running server."""

    process: subprocess.Popen[bytes]
    environment: Mapping[str, str]
    """For programs that shall use it."""

    def play(self, file: Path) -> None:
        """Play a WAV file into the room, to its end."""
        subprocess.run(["paplay", str(file)], env=self.environment, check=True, timeout=60)

    def stop(self) -> None:
        """Take the server away, as a crash would."""
        self.process.kill()
        self.process.wait(timeout=10)


@contextmanager
def running(folder: Path) -> Iterator[Server]:
    """A server in a folder of its own, gone at the end."""
    runtime = folder / "run"
    runtime.mkdir(mode=0o700)
    socket = runtime / "native"
    (folder / "asoundrc").write_text(ALSA, encoding="utf-8")
    environment = os.environ | {
        "HOME": str(folder),
        "XDG_RUNTIME_DIR": str(runtime),
        "PULSE_RUNTIME_PATH": str(runtime),
        "PULSE_SERVER": f"unix:{socket}",
        "PULSE_SOURCE": f"{ROOM}.monitor",
        "PULSE_SINK": ROOM,
        "ALSA_CONFIG_PATH": f"/usr/share/alsa/alsa.conf:{folder / 'asoundrc'}",
    }
    command = ["pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1"]
    command += ["--log-level=error", f"--load=module-null-sink sink_name={ROOM} rate=44100"]
    command += [f"--load=module-native-protocol-unix auth-anonymous=1 socket={socket}"]
    with (folder / "server.log").open("wb") as log:
        process = subprocess.Popen(command, env=environment, stdout=log, stderr=log)
    try:
        _wait(environment, process)
        yield Server(process, environment)
    finally:
        process.kill()
        process.wait(timeout=10)


def _wait(environment: Mapping[str, str], process: subprocess.Popen[bytes]) -> None:
    for _ in range(100):
        answer = subprocess.run(
            ["pactl", "list", "short", "sources"], env=environment, capture_output=True, check=False
        )
        if ROOM.encode() in answer.stdout:
            return
        if process.poll() is not None:
            break
        time.sleep(0.05)
    raise AssertionError("the sound server did not start")
