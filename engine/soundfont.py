"""Is a file a whole SoundFont? Looked at here before the synthesizer sees it.

The synthesizer hands what it cannot read to another library, which prints on the terminal; so
files that are no SoundFont, or are cut short, are refused first. What is inside the tables is the
synthesizer's to judge.
"""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from engine.errors import SynthesisError

LISTS = (b"INFO", b"sdta", b"pdta")
"""The three lists of a SoundFont (SoundFont Technical Specification 2.04, section 4)."""

TABLES = {
    # what pdta holds, in this order, and the bytes of a record (section 7)
    b"phdr": 38, b"pbag": 4, b"pmod": 10, b"pgen": 4, b"inst": 22,
    b"ibag": 4, b"imod": 10, b"igen": 4, b"shdr": 46,
}  # fmt: skip


def check_soundfont_file(path: Path) -> None:
    """Return quietly if `path` is a file with the outline of a SoundFont.

    Raises SynthesisError with the path, what is wrong with it and what to do.
    """
    if path.is_dir():
        raise SynthesisError(f"{path} is a folder: name a SoundFont file (.sf2)")
    if not path.is_file():
        raise SynthesisError(f"there is no file {path}: name a SoundFont file (.sf2)")
    try:
        with path.open("rb") as file:
            wrong = _what_is_wrong(file, path.stat().st_size)
    except OSError as error:
        raise SynthesisError(
            f"{path} cannot be read ({error.strerror}): name a SoundFont file (.sf2) that can"
        ) from error
    if wrong:
        raise SynthesisError(
            f"{path} is not a SoundFont ({wrong}): name an .sf2 file, "
            "or none to use the built-in one"
        )


def _what_is_wrong(file: BinaryIO, size: int) -> str:
    """In a few words, or nothing at all."""
    header = file.read(12)
    if len(header) < 12 or header[:4] != b"RIFF" or header[8:] != b"sfbk":
        return "it does not begin like one"
    (content,) = struct.unpack_from("<I", header, 4)
    if content + 8 > size:
        return f"it is cut short: {size} of {content + 8} bytes"
    lists = {}
    for name, start, length in _chunks(file, 12, content + 8):
        if name == b"LIST":
            file.seek(start)
            lists[file.read(4)] = (start + 4, start + length)
    missing = [name.decode() for name in LISTS if name not in lists]
    if missing:
        return f"it lacks its part {' and '.join(missing)}"
    return _wrong_tables(file, *lists[b"pdta"])


def _wrong_tables(file: BinaryIO, start: int, end: int) -> str:
    """What is wrong with the outline of the nine tables between two places of the file."""
    lengths = {name: length for name, _, length in _chunks(file, start, end)}
    if list(lengths) != list(TABLES):
        return "its tables are not the nine of the format"
    for name, record in TABLES.items():
        if lengths[name] < record or lengths[name] % record:
            return f"its table {name.decode()} is no whole number of records"
    return ""


def _chunks(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Name, first byte and length of each chunk that lies whole between two places."""
    while start + 8 <= end:
        file.seek(start)
        name, length = struct.unpack("<4sI", file.read(8))
        if start + 8 + length > end:
            return
        yield name, start + 8, length
        start += 8 + length + length % 2
