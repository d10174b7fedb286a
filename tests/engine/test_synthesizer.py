"""The native library: what it refuses, what it says, and what happens without it."""

import os
import struct
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from engine.errors import SynthesisError
from engine.score import FINGER_BASS, Part, Track
from engine.sound import check_soundfont, render, synthesizer_version
from engine.soundfont import check_soundfont_file
from sounds import soundfont_path
from sounds.sf2 import Instrument as FontInstrument
from sounds.sf2 import Preset, Sample, Zone, soundfont
from tests.bench.chorus import chorus
from tests.engine.small_scores import bass, digest, hit, keys, peak, score

FONT = soundfont_path()

# --- what is refused ------------------------------------------------------------------------------


@pytest.fixture
def lonely_font(tmp_path: Path) -> Path:
    """A SoundFont with a bass and nothing else."""
    frames = (np.sin(np.arange(400) / 5) * 20_000).astype(np.int16)
    sample = Sample("tone", frames, 22_050, 60, 0, (40, 340))
    path = tmp_path / "lonely.sf2"
    path.write_bytes(
        soundfont("lonely", "", [Preset(0, 33, FontInstrument("one", [Zone(sample, (0, 127))]))])
    )
    return path


def test_the_built_in_soundfont_passes_without_a_log_line(
    capfd: pytest.CaptureFixture[str],
) -> None:
    check_soundfont(FONT)
    render(chorus(), FONT)
    assert ("", "") == tuple(capfd.readouterr())


def test_a_missing_soundfont_is_named(tmp_path: Path) -> None:
    with pytest.raises(SynthesisError, match=r"there is no file .*nowhere\.sf2"):
        check_soundfont(tmp_path / "nowhere.sf2")


def test_a_folder_is_no_soundfont(tmp_path: Path) -> None:
    with pytest.raises(SynthesisError, match="is a folder: name a SoundFont file"):
        check_soundfont(tmp_path)


WHOLE = FONT.read_bytes()
PRESETS = WHOLE.index(b"phdr")


@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        (b"", "it does not begin like one"),
        (b"no music in here", "it does not begin like one"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt ", "it does not begin like one"),
        (b"RIFF\x10\x00\x00\x00sfbkLIST\x04\x00\x00\x00INFO", "it lacks its part sdta and pdta"),
        (WHOLE[:200_000], f"it is cut short: 200000 of {len(WHOLE)} bytes"),
        (WHOLE[:-2], f"it is cut short: {len(WHOLE) - 2} of {len(WHOLE)} bytes"),
        (WHOLE.replace(b"phdr", b"xxxx"), "its tables are not the nine of the format"),
        (
            WHOLE[:PRESETS] + b"phdr\x06\x00\x00\x00" + WHOLE[PRESETS + 8 : PRESETS + 14]
            + b"fill" + struct.pack("<I", 170) + WHOLE[PRESETS + 22 :],
            "its tables are not the nine of the format",
        ),
    ],
)  # fmt: skip
def test_a_broken_file_is_refused_in_one_line_off_the_terminal(
    content: bytes, wrong: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "broken.sf2"
    path.write_bytes(content)
    with pytest.raises(SynthesisError) as told:
        check_soundfont(path)
    assert f"{path} is not a SoundFont ({wrong}): name an .sf2 file" in str(told.value)
    assert "\n" not in str(told.value)
    assert ("", "") == tuple(capfd.readouterr())


def test_a_table_of_broken_records_is_refused(lonely_font: Path) -> None:
    data = lonely_font.read_bytes()
    at = data.index(b"shdr") + 4
    (size,) = struct.unpack_from("<I", data, at)
    pieces = (data[:at], struct.pack("<I", size - 2), data[at + 4 :])
    lonely_font.write_bytes(b"".join(pieces))
    with pytest.raises(SynthesisError, match="table shdr is no whole number of records"):
        check_soundfont_file(lonely_font)


def test_a_soundfont_that_only_the_library_finds_fault_with_is_refused(lonely_font: Path) -> None:
    data = lonely_font.read_bytes()
    at = data.index(b"pbag") + 8
    lonely_font.write_bytes(data[:at] + b"\xff\x7f\xff\x7f" + data[at + 4 :])
    check_soundfont_file(lonely_font)
    with pytest.raises(SynthesisError, match=r"FluidSynth cannot read.*\(it says: "):
        check_soundfont(lonely_font)


def test_what_a_soundfont_lacks_is_listed(lonely_font: Path) -> None:
    with pytest.raises(SynthesisError) as told:
        check_soundfont(lonely_font)
    message = str(told.value)
    assert str(lonely_font) in message
    for lack in (
        "bank 0 program 4 (electric piano)",
        "bank 0 program 16 (organ)",
        "bank 128 program 0 (drum kit)",
    ):
        assert lack in message
    assert "program 33" not in message


def test_rendering_without_the_sound_names_it(lonely_font: Path) -> None:
    assert peak(render(score(bass(hit(0, 33))), lonely_font)) > -40
    with pytest.raises(SynthesisError, match=r"refused bank 0 program 4 \(electric piano\)"):
        render(score(keys(hit(0, 60))), lonely_font)


@pytest.mark.parametrize(
    "track",
    [
        bass(hit(0, 33, velocity=200)),
        bass(hit(0, 133)),
        bass(hit(0, 33), instrument=replace(FINGER_BASS, volume=128)),
        Track(Part.BASS, FINGER_BASS, 16, (hit(0, 33),)),
    ],
    ids=["velocity", "pitch", "volume", "channel"],
)
def test_a_number_out_of_range_is_refused(track: Track) -> None:
    with pytest.raises(SynthesisError, match="refused"):
        render(score(track), FONT)


def test_an_error_leaves_nothing_behind_for_the_next_render(lonely_font: Path) -> None:
    before = digest(render(chorus(), FONT))
    for _ in range(5):
        with pytest.raises(SynthesisError):
            render(score(keys(hit(0, 60))), lonely_font)
    assert before == digest(render(chorus(), FONT))


# --- the native library ---------------------------------------------------------------------------


def run(code: str, **environment: str) -> "subprocess.CompletedProcess[str]":
    """A Python of its own, in this folder."""
    return subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **environment}, capture_output=True,
        text=True, check=True,
    )  # fmt: skip


def test_the_version_has_three_numbers() -> None:
    assert all(part.isdigit() for part in synthesizer_version().split("."))
    assert synthesizer_version().count(".") == 2


def test_importing_the_module_loads_neither_numpy_nor_the_library() -> None:
    run(
        "import sys, engine.sound;"
        "assert not {'numpy', 'fluidsynth'} & set(sys.modules), 'loaded too early'"
    )


def test_the_library_loads_without_a_word_on_the_screen() -> None:
    done = run("from engine.sound import synthesizer_version; synthesizer_version()", CI="true")
    assert ("", "") == (done.stdout, done.stderr)


@pytest.mark.parametrize(
    ("platform", "advice"),
    [
        ("linux", "apt-get install --no-install-recommends libfluidsynth3"),
        ("darwin", "brew install fluid-synth"),
        ("win32", "put its bin folder on the PATH"),
    ],
)
def test_a_missing_library_says_what_to_install(platform: str, advice: str) -> None:
    # the search of the standard library is told to find nothing, as on a fresh machine
    done = run(
        "import ctypes.util, sys\n"
        "ctypes.util.find_library = lambda name: None\n"
        f"import engine.sound, engine.errors; sys.platform = {platform!r}\n"
        "for _ in range(2):\n"
        "    try: engine.sound.synthesizer_version()\n"
        "    except engine.errors.SynthesisError as error: print(error)\n",
        CI="true", HOMEBREW_PREFIX="",
    )  # fmt: skip
    first, second = done.stdout.splitlines()
    assert advice in first
    assert first == second
    assert done.stderr == ""


def test_loading_leaves_the_environment_as_it_was() -> None:
    code = (
        "import os; before = dict(os.environ); from engine.sound import synthesizer_version;"
        "synthesizer_version(); assert before == dict(os.environ)"
    )
    run(code, CI="1")
    run("import os; os.environ.pop('CI', None);" + code)
