"""Is a file a whole SoundFont? Looked at here before the synthesizer sees it.

The synthesizer hands what it cannot read to another library, which prints on the terminal; so
files that are no SoundFont, or are cut short, are refused first. What is inside the tables is the
synthesizer's to judge.
"""

import struct
from pathlib import Path
from typing import BinaryIO

from engine.errors import SynthesisError

LISTS = (b"INFO", b"sdta", b"pdta")
"""The three lists of a SoundFont (SoundFont Technical Specification 2.04, section 4)."""


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
    found = _lists(file, content + 8)
    missing = [name.decode() for name in LISTS if name not in found]
    return f"it lacks its part {' and '.join(missing)}" if missing else ""


def _lists(file: BinaryIO, end: int) -> list[bytes]:
    """The names of the lists that lie whole before `end`."""
    names = []
    while file.tell() + 12 <= end:
        chunk, size, name = struct.unpack("<4sI4s", file.read(12))
        after = file.tell() - 4 + size + size % 2
        if chunk == b"LIST" and after <= end:
            names.append(name)
        file.seek(after)
    return names
