"""Who plays along."""

from enum import Enum

from engine.errors import MusicInputError, shown


class Texture(Enum):
    """Who plays along. The value is what files and commands say."""

    BASS = "bass"
    """The bass alone, after the key-giving chord and the count-in."""

    DRUMS = "drums"
    """Bass and drums."""

    BAND = "band"
    """Bass, drums and keys."""


def find_texture(name: str) -> Texture:
    """The texture of that name.

    Raises MusicInputError when there is none.
    """
    try:
        return Texture(name)
    except ValueError:
        allowed = ", ".join(texture.value for texture in Texture)
        raise MusicInputError(f"there is no texture {shown(name)}: give one of {allowed}") from None
