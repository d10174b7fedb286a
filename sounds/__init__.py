"""The band's own instruments: a SoundFont made by this package's code, and nothing sampled.

Only `soundfont_path` is needed to play; `python -m sounds.build` makes the file again.
"""

from pathlib import Path


def soundfont_path() -> Path:
    """Where the built-in SoundFont lies in this installation."""
    return Path(__file__).with_name("lastbar.sf2")
