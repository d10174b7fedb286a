"""The player's own catalogue file, and files that are named: what is read, and what is told."""

import os
import socket
from pathlib import Path

import pytest
from textual.widgets._toast import Toast

from engine.additions import LARGEST
from engine.catalogue import Family, builtin_catalogue
from quiz.app import LastbarApp
from quiz.commands.program import notify_few
from quiz.own_catalogue import Counts, counts, is_there, load_catalogue, with_file
from tests.quiz.benches import opened

DEMO = Path(__file__).parents[2] / "demo" / "catalogue.toml"
BUILTIN = builtin_catalogue()
ROOT = hasattr(os, "geteuid") and os.geteuid() == 0

PATTERN = """[[device]]
id = "{name}"
name = "{name}"
family = "base"
bars = [1]
degrees = "1 5 8 5"
feels = ["swing"]
says = "Root, five, octave, five."
source = "common practice"
"""


def written(file: Path, text: str | bytes) -> Path:
    """The file, with that content."""
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def pattern(name: str) -> str:
    return PATTERN.format(name=name)


# --- what is read -------------------------------------------------------------------------------


def test_without_a_file_there_are_the_built_in_rows(tmp_path: Path) -> None:
    loaded = load_catalogue([tmp_path / "none.toml", tmp_path / "none" / "none.toml"])
    assert BUILTIN == loaded.catalogue
    assert () == loaded.problems


def test_the_example_of_a_teacher_is_good_and_holds_what_it_says() -> None:
    loaded = load_catalogue([DEMO])
    assert () == loaded.problems
    assert Counts(devices=4, base_patterns=1, forms=1) == counts(loaded, DEMO)
    added = [row.family for row in loaded.catalogue.devices if row.id in loaded.origins]
    pickup = Family.PICKUP
    assert [pickup, pickup, Family.HEAD, Family.ENDING, Family.BASE] == added
    assert "Thursday blues" == loaded.catalogue.form("thursday-blues").name


def test_files_are_read_in_their_order(tmp_path: Path) -> None:
    one = written(tmp_path / "one.toml", pattern("a") + pattern("b").replace('"1 5', '"1 6'))
    two = written(tmp_path / "two.toml", pattern("c"))
    loaded = load_catalogue([one, two])
    assert () == loaded.problems
    assert ["a", "b", "c"] == [device.id for device in loaded.catalogue.devices[-3:]]
    assert Counts(0, 2, 0) == counts(loaded, one)
    assert Counts(0, 1, 0) == counts(loaded, two)


def test_an_id_that_two_files_use_is_told_with_the_first_file(tmp_path: Path) -> None:
    one = written(tmp_path / "one.toml", pattern("a"))
    two = written(tmp_path / "two.toml", pattern("a"))
    (problem,) = load_catalogue([one, two]).problems
    assert f"{two}: entry 'a', field 'id': it is used twice: a device in {one} has" in problem


def test_a_file_that_is_named_twice_is_read_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = written(tmp_path / "one.toml", pattern("a"))
    (tmp_path / "link.toml").symlink_to(file)
    monkeypatch.chdir(tmp_path)
    loaded = load_catalogue([file, Path("one.toml"), tmp_path / "link.toml"])
    assert () == loaded.problems
    assert "a" == loaded.catalogue.devices[-1].id


def test_the_problems_of_one_more_file_come_behind_those_that_were_there(tmp_path: Path) -> None:
    before = load_catalogue([written(tmp_path / "one.toml", "[[device]]\n")])
    after = with_file(before, written(tmp_path / "two.toml", "[[form]]\n" + pattern("a")))
    assert before.problems == after.problems[:1]
    assert 2 == len(after.problems)
    assert Counts(0, 1, 0) == counts(after, tmp_path / "two.toml")


@pytest.mark.parametrize(
    "raw",
    [
        b"\xef\xbb\xbf" + pattern("a").encode(),
        pattern("a").replace("\n", "\r\n").encode(),
        b"\xef\xbb\xbf" + pattern("a").replace("\n", "\r\n").encode(),
        pattern("a").rstrip("\n").encode(),
    ],
    ids=["byte order mark", "CRLF", "both", "no last line end"],
)
def test_what_editors_do_to_a_file_does_no_harm(tmp_path: Path, raw: bytes) -> None:
    loaded = load_catalogue([written(tmp_path / "own.toml", raw)])
    assert () == loaded.problems
    assert "a" == loaded.catalogue.devices[-1].id


def test_counts_are_said_in_words() -> None:
    assert "1 device, 0 base patterns and 2 forms" == str(Counts(1, 0, 2))
    assert "2 devices, 1 base pattern and 1 form" == str(Counts(2, 1, 1))


# --- what cannot be read ------------------------------------------------------------------------


def told_of(file: Path) -> str:
    """The one problem of a file that adds nothing."""
    loaded = load_catalogue([file])
    assert BUILTIN == loaded.catalogue
    (problem,) = loaded.problems
    assert problem.isprintable()
    assert str(file) in problem
    return problem


@pytest.mark.parametrize(
    "raw",
    [pattern("ä").encode("latin-1"), pattern("a").encode("utf-16"), b"\xff\xfe\x00", b"\x80"],
    ids=["Latin 1", "UTF-16", "half a character", "one byte"],
)
def test_a_file_in_another_encoding_is_told(tmp_path: Path, raw: bytes) -> None:
    problem = told_of(written(tmp_path / "own.toml", raw))
    assert "no text in UTF-8" in problem
    assert problem.endswith("save it as UTF-8")


def test_a_file_that_is_too_large_is_told(tmp_path: Path) -> None:
    assert "1000 kB" in told_of(written(tmp_path / "own.toml", b"#" * (LARGEST + 1)))


def test_a_file_of_the_largest_size_is_read(tmp_path: Path) -> None:
    text = pattern("a").encode()
    loaded = load_catalogue([written(tmp_path / "own.toml", text.ljust(LARGEST, b"\n"))])
    assert () == loaded.problems
    assert "a" == loaded.catalogue.devices[-1].id


def test_a_folder_is_told(tmp_path: Path) -> None:
    assert "cannot be read" in told_of(tmp_path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="Windows has no device files")
def test_a_device_file_is_told_and_not_read() -> None:
    assert "is no plain file" in told_of(Path("/dev/zero"))


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="Windows has no pipes with names")
def test_a_pipe_that_nobody_writes_to_is_told_at_once(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "is no plain file" in told_of(tmp_path / "pipe")


@pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="Windows has no sockets with names")
def test_a_socket_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)  # the names of sockets are short
    with socket.socket(socket.AF_UNIX) as end:
        end.bind("s")
        assert "cannot be read" in told_of(tmp_path / "s")


@pytest.mark.skipif(ROOT, reason="root may read everything")
def test_a_file_that_is_closed_to_us_is_told(tmp_path: Path) -> None:
    file = written(tmp_path / "folder" / "own.toml", pattern("a"))
    file.chmod(0)
    assert "Permission denied" in told_of(file)
    file.chmod(0o600)
    file.parent.chmod(0)
    try:
        assert is_there(file)
        assert "Permission denied" in told_of(file)
    finally:
        file.parent.chmod(0o700)


def test_links_in_a_circle_are_told(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    assert "cannot be read" in told_of(tmp_path / "a")


def test_a_link_to_nothing_is_not_there(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    assert not is_there(tmp_path / "a")


def test_a_name_that_would_move_the_cursor_is_told_without_doing_so(tmp_path: Path) -> None:
    file = written(tmp_path / "o\x1b[2Jwn.toml", pattern("a") + "[[device]]\n")
    loaded = load_catalogue([file])
    assert all(problem.isprintable() for problem in loaded.problems)
    assert Counts(0, 1, 0) == counts(loaded, file)


# --- while the program runs ---------------------------------------------------------------------


def test_the_catalogue_of_the_bench_is_read_when_it_is_first_needed(tmp_path: Path) -> None:
    own = tmp_path / "config" / "catalogue.toml"
    with opened(tmp_path) as bench:
        assert own == bench.locations.catalogue
        written(own, pattern("a") + "[[device]]\n")
        assert [] == bench.problems
        assert "a" == bench.catalogue.devices[-1].id
        (problem,) = bench.problems
        assert problem.startswith(f"{own}: entry number 2 of [[device]], field")
        assert bench.catalogue is bench.catalogue
        assert 1 == len(bench.problems)


def test_whoever_listens_is_told_of_late_problems(tmp_path: Path) -> None:
    heard: list[str] = []
    with opened(tmp_path) as bench:
        bench.tell = heard.extend
        written(bench.locations.catalogue, "[[device]]\n[[form]]\n")
        assert BUILTIN == bench.catalogue
        assert 2 == len(heard)
        assert [] == bench.problems


async def test_the_program_shows_what_is_wrong_with_the_own_catalogue(tmp_path: Path) -> None:
    written(tmp_path / "config" / "catalogue.toml", "[[device]]\n" * 5)
    with opened(tmp_path) as bench:
        app = LastbarApp(bench)
        bench.tell = lambda problems: notify_few(app, problems)
        async with app.run_test(notifications=True) as pilot:
            await pilot.pause()
            shown = [str(toast.render()) for toast in app.screen.query(Toast)]
    assert 4 == len(shown)
    assert "entry number 1 of [[device]], field 'family': it is missing" in shown[0]
    assert "2 more: `lastbar devices --check FILE` tells them all." == shown[-1].strip()
