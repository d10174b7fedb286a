"""Files that are whole or not there at all."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from engine.whole import clear_leftovers, whole_file

DIES_WRITING = """
import os, sys
from pathlib import Path
from engine.whole import whole_file
with whole_file(Path(sys.argv[1])) as partial:
    partial.write_bytes(b"half")
    os._exit(9)
"""


def die_writing(target: Path) -> None:
    """Leave what a process leaves that is killed while it writes `target`."""
    assert 9 == subprocess.run([sys.executable, "-c", DIES_WRITING, str(target)]).returncode


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_what_a_killed_process_left_goes_when_the_same_file_is_written(tmp_path: Path) -> None:
    target = tmp_path / "take [1].wav"
    die_writing(target)
    assert 1 == len(names(tmp_path))
    with whole_file(target) as partial:
        partial.write_bytes(b"whole")
    assert ["take [1].wav"] == names(tmp_path)


@pytest.mark.skipif(os.name == "nt", reason="there nobody can be asked whether a process lives")
def test_what_a_living_process_is_writing_stays(tmp_path: Path) -> None:
    target = tmp_path / "t.wav"
    with whole_file(target) as theirs:
        theirs.write_bytes(b"theirs")
        clear_leftovers(target)
        assert theirs.exists()
    assert ["t.wav"] == names(tmp_path)


def test_what_other_files_left_and_what_looks_alike_stays(tmp_path: Path) -> None:
    die_writing(tmp_path / "other.wav")
    for name in (".t.wav.part", ".t.wav.1-x.part", ".t.wav.mine", "t.wav.1-1.part"):
        (tmp_path / name).write_bytes(b"mine")
    before = names(tmp_path)
    clear_leftovers(tmp_path / "t.wav")
    assert before == names(tmp_path)


def test_a_folder_that_is_not_there_holds_no_leftovers(tmp_path: Path) -> None:
    clear_leftovers(tmp_path / "none" / "t.wav")
    assert [] == names(tmp_path)
