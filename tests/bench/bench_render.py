"""How fast a chorus becomes sound: `python -m tests.bench.bench_render`.

Renders a twelve-bar chorus of three parts in this process and, in turn with it, lets the
`fluidsynth` program write the same MIDI file with the same SoundFont. What counts is the ratio of
the two within one run, and how many times faster than the music it is. Needs the `fluidsynth`
program (Debian, Ubuntu: apt-get install --no-install-recommends fluidsynth).
"""

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from engine.midi import write_midi
from engine.sound import Clip, render, synthesizer_version, write_wav
from sounds import soundfont_path
from tests.bench.chorus import chorus

ROUNDS = 9
HIGHEST_RATIO = 0.7
LOWEST_SPEED = 60.0
"""Times faster than the music."""


def main() -> int:
    """Measure, print, and give 0 if both targets are met, 1 if not, 2 if it cannot be measured."""
    program = shutil.which("fluidsynth")
    if program is None:
        sys.stdout.write("no fluidsynth program here to compare with: install it\n")
        return 2
    clip = render(chorus(), soundfont_path())  # warm: the library is loaded, the file cached
    with TemporaryDirectory() as folder:
        ours, with_file, theirs = _times(program, Path(folder), clip)
    ratio, speed = median(ours) / median(theirs), clip.seconds / median(ours)
    sys.stdout.write(
        f"FluidSynth {synthesizer_version()}, {clip.seconds:.1f} s of music, {ROUNDS} rounds\n"
        f"render in this process   {median(ours) * 1000:7.1f} ms   {speed:.0f} x real time "
        f"(at least {LOWEST_SPEED:.0f})\n"
        f"render and write WAV     {median(with_file) * 1000:7.1f} ms\n"
        f"fluidsynth -F, a process {median(theirs) * 1000:7.1f} ms   "
        f"ratio {ratio:.2f} (at most {HIGHEST_RATIO})\n"
    )
    return 0 if ratio <= HIGHEST_RATIO and speed >= LOWEST_SPEED else 1


def _times(program: str, folder: Path, clip: Clip) -> tuple[list[float], list[float], list[float]]:
    """Seconds of each way, in turn, so that a busy moment of the machine meets all."""
    score, font, file = chorus(), soundfont_path(), folder / "chorus.mid"
    write_midi(score, file)
    command = [program, "-ni", "-q", "-r", "44100", "-F", str(folder / "theirs.wav"),
               str(font), str(file)]  # fmt: skip
    ways: tuple[Callable[[], object], ...] = (
        lambda: render(score, font),
        lambda: write_wav(render(score, font), folder / "ours.wav"),
        lambda: subprocess.run(command, check=True, capture_output=True),
    )
    rounds = [[_seconds(way) for way in ways] for _ in range(ROUNDS)]
    least = 0.9 * clip.seconds * clip.rate * 4
    if (folder / "theirs.wav").stat().st_size < least:
        raise RuntimeError("the fluidsynth program wrote too little: the comparison is not fair")
    ours, with_file, theirs = ([times[way] for times in rounds] for way in range(3))
    return ours, with_file, theirs


def _seconds(way: Callable[[], object]) -> float:
    start = perf_counter()
    way()
    return perf_counter() - start


if __name__ == "__main__":
    sys.exit(main())
