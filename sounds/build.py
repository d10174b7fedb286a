"""Making the SoundFont: `python -m sounds.build` writes lastbar.sf2 into this package.

The file is committed, so players need not build it; a test builds it again and compares bytes.
"""

import sys
from pathlib import Path

from sounds import soundfont_path
from sounds.bass import finger_bass
from sounds.electric_piano import electric_piano
from sounds.kit import drum_kit
from sounds.organ import organ
from sounds.sf2 import Preset, soundfont

NAME = "lastbar band"
COMMENT = "Finger bass, electric piano, organ and drum kit, all synthesised; MIT licence."


def soundfont_bytes() -> bytes:
    """The whole SoundFont: General MIDI's finger bass, electric piano, organ and kit."""
    return soundfont(
        NAME,
        COMMENT,
        (
            Preset(0, 33, finger_bass()),
            Preset(0, 4, electric_piano()),
            Preset(0, 16, organ()),
            Preset(128, 0, drum_kit()),
        ),
    )


def main(path: Path) -> None:
    """Build the SoundFont and write it to `path`."""
    content = soundfont_bytes()
    path.write_bytes(content)
    sys.stdout.write(f"{path}: {len(content)} bytes\n")


if __name__ == "__main__":
    main(soundfont_path())
