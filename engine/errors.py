"""What can go wrong in the engine, split by who can put it right.

Every message says what was given, what is allowed and what to do. Below stands how a message shows
what was given, and how it counts.
"""


class EngineError(Exception):
    """Base of everything the engine raises on purpose."""


class MusicInputError(EngineError):
    """Text or a number from outside that is no note, degree, key, tempo or device."""


class UnknownName(MusicInputError):
    """The id of a device or a form that the catalogue does not have."""


class CatalogueError(EngineError):
    """A row of a data file that breaks a rule; the message names the entry and the field."""


class SynthesisError(EngineError):
    """The synthesizer library is missing, or it refused a SoundFont, a program or a note."""


class TakeError(EngineError):
    """A recording in which nothing can be heard: empty, silent, too short, too long."""


LONGEST_SHOWN = 40
"""Characters of somebody's text that a message repeats."""


def printable(text: str) -> str:
    """The text with a sign in place of each character that moves a cursor or breaks a line."""
    return "".join(char if char.isprintable() else "�" for char in text)


def shown(text: str) -> str:
    """The text in quotes as it can safely stand in a one-line message, cut when it is long."""
    visible = printable(text[:LONGEST_SHOWN])
    return f"'{visible}…'" if len(text) > LONGEST_SHOWN else f"'{visible}'"


def amount(count: int, one: str, many: str = "") -> str:
    """`1 answer`, `2 answers`; `many` is said where it is not `one` and an s."""
    return f"{count} {one}" if count == 1 else f"{count} {many or one + 's'}"
