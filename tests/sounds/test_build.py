"""The committed SoundFont is what the code makes, on this machine as on any other."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest

from sounds import soundfont_path
from sounds.build import main, soundfont_bytes

LARGEST = 4_000_000
SLOWEST_SECONDS = 30.0


def test_a_rebuild_gives_the_committed_bytes_in_time() -> None:
    start = perf_counter()
    content = soundfont_bytes()
    assert perf_counter() - start < SLOWEST_SECONDS
    assert soundfont_path().read_bytes() == content
    assert len(content) < LARGEST


def test_a_processor_without_vector_instructions_makes_the_same_bytes() -> None:
    extensions = np.show_config(mode="dicts")["SIMD Extensions"]
    names = " ".join(extensions.get("found", []))
    if not names:
        pytest.skip("numpy uses no optional instructions here: there is nothing to switch off")
    code = (
        "import hashlib; from sounds.build import soundfont_bytes;"
        "print(hashlib.sha256(soundfont_bytes()).hexdigest())"
    )
    plain = {**os.environ, "NPY_DISABLE_CPU_FEATURES": names}
    answer = subprocess.run(
        [sys.executable, "-c", code], env=plain, capture_output=True, text=True, check=True
    )
    assert hashlib.sha256(soundfont_path().read_bytes()).hexdigest() == answer.stdout.strip()


def test_the_command_writes_the_file_and_says_its_size(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "made.sf2"
    main(path)
    assert soundfont_path().read_bytes() == path.read_bytes()
    assert f"{path}: {path.stat().st_size} bytes\n" == capsys.readouterr().out


def test_finding_the_file_needs_no_numpy() -> None:
    code = (
        "import sys, sounds; path = sounds.soundfont_path();"
        "assert path.is_file(); assert 'numpy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
