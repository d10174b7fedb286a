"""From the key press to the first sounding frame, and memory: `python -m tests.bench.bench_round`.

A round is played on the real screens with the real player; only the sound library is stood in for,
by a thread that asks for 10 ms of audio at a time as a device would. Aims: under 50 ms when the
question was prepared while the one before was answered, and under 200 MB.
"""

import asyncio
import resource
import statistics
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

from engine.timing import FRAME_RATE
from quiz.app import LastbarApp
from quiz.learning.material import Only
from quiz.locations import Locations
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import Kind
from quiz.screens.round import RoundScreen
from quiz.settings.file import save
from quiz.settings.values import Settings
from quiz.sound.player import FRAME_BYTES, DevicePlayer
from quiz.workbench import Workbench, open_workbench

QUESTIONS = 30
PERIOD = 0.010
"""Seconds of audio that the stand-in asks for at a time."""


class Device(threading.Thread):
    """Asks the callback for audio and notes when sound begins after silence."""

    def __init__(self, callback: Callable[..., None]) -> None:
        super().__init__(daemon=True)
        self._callback = callback
        self.active = True
        self.began: list[float] = []

    @property
    def time(self) -> float:
        """The device's clock."""
        return time.monotonic()

    def run(self) -> None:
        """Until it is aborted."""
        frames = round(PERIOD * FRAME_RATE)
        sounding = False
        while self.active:
            buffer = bytearray(frames * FRAME_BYTES)
            times = SimpleNamespace(outputBufferDacTime=time.monotonic() + PERIOD)
            self._callback(memoryview(buffer), frames, times, None)
            if any(buffer) and not sounding:
                self.began.append(time.perf_counter())
            sounding = any(buffer)
            time.sleep(PERIOD)

    def abort(self) -> None:
        """Stop asking."""
        self.active = False

    def close(self) -> None:
        """Nothing is held."""


def sound_library() -> tuple[ModuleType, list[Device]]:
    """A stand-in for the sound library, and the devices that it opens."""
    library, devices = ModuleType("stand_in"), []

    def open_stream(**options: Any) -> Device:
        devices.append(Device(options["callback"]))
        return devices[-1]

    library.RawOutputStream = open_stream  # type: ignore[attr-defined]
    library.PortAudioError = OSError  # type: ignore[attr-defined]
    return library, devices


async def played(bench: Workbench, device: Device) -> list[float]:
    """Seconds from each key press that asks for a question to its first sounding frame."""
    app, waits = LastbarApp(bench), []
    async with app.run_test(size=(80, 24)) as pilot:
        app.push_screen(RoundScreen(bench, QUESTIONS))
        await pilot.pause(0.5)
        for _ in range(QUESTIONS - 1):
            await pilot.press("ctrl+g")
            await pilot.pause(0.6)  # a player reads the answer for longer
            before = len(device.began)
            pressed = time.perf_counter()
            await pilot.press("enter")
            while len(device.began) == before:
                await asyncio.sleep(0.001)
            waits.append(device.began[-1] - pressed)
    return waits


def main() -> None:
    """Print the waits, the same against an unprepared render, and the memory."""
    library, devices = sound_library()
    with tempfile.TemporaryDirectory() as folder:
        locations = Locations(Path(folder), Path(folder))
        save(replace(Settings(), welcomed=True), locations.settings)
        bench = open_workbench(
            locations, lambda device: DevicePlayer(library, device), Only(kinds=(Kind.NAME,)), 1
        )
        waits = asyncio.run(played(bench, devices[0]))
        question = bench.coach.next().question
        start = time.perf_counter()
        bench.studio.prepare(Excerpt(question, speed=0.9)).result()
        fresh = time.perf_counter() - start
        bench.close()
    scale = 1024 if sys.platform != "darwin" else 1024 * 1024
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / scale
    middle, worst = statistics.median(waits), max(waits)
    sys.stdout.write(
        f"key press to first frame: median {middle * 1e3:.0f} ms, worst {worst * 1e3:.0f} ms "
        f"(aim: under 50); an unprepared render alone {fresh * 1e3:.0f} ms, "
        f"ratio {middle / fresh:.2f}\n"
        f"memory: {memory:.0f} MB at most (aim: under 200)\n"
    )


if __name__ == "__main__":
    main()
