"""What can go wrong in the engine, split by who can put it right.

Every message says what was given, what is allowed and what to do.
"""


class EngineError(Exception):
    """Base of everything the engine raises on purpose."""


class MusicInputError(EngineError):
    """Text or a number from outside that is no note, degree, key, tempo or device."""


class CatalogueError(EngineError):
    """A row of a data file that breaks a rule; the message names the entry and the field."""


class SynthesisError(EngineError):
    """The synthesizer library is missing, or it refused a SoundFont, a program or a note."""
