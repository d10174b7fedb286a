"""What can go wrong in the quiz, split by who can put it right.

Every message says what was given, what is allowed and what to do.
"""

from pathlib import Path


class QuizError(Exception):
    """Base of everything the quiz raises on purpose."""


class AnswerError(QuizError):
    """An answer that does not fit its question, or a record that no question fits."""


class QuestionError(QuizError):
    """Something that cannot be asked: the item, the key or the options do not allow it."""


class LocationError(QuizError):
    """There is no folder for the program's files: the user has no home directory."""


class SettingsError(QuizError):
    """A setting with a value that is not allowed, or a settings file that cannot be written."""


class StoreError(QuizError):
    """The history cannot be opened, read or written."""


class StoreUnwritable(StoreError):
    """The history stands where nothing can be written, or the disk is full."""


class StoreUnlockable(StoreUnwritable):
    """The history stands on a drive that refuses to lock files, as network drives may."""


class StoreTooNew(StoreError):
    """A newer version of the program wrote the history."""


class StoreDamaged(StoreError):
    """The history is no sound database. It is left as it is until somebody decides.

    In `quiz.history.backups`, `restore` puts the backup in its place and `set_aside` starts anew.
    """

    def __init__(self, message: str, path: Path, backup: Path | None = None) -> None:
        """`path` is the damaged file, `backup` the newest sound backup if one was looked for."""
        super().__init__(message)
        self.path = path
        self.backup = backup


class AssignmentError(QuizError):
    """An assignment that breaks rules; the message names everything that is wrong with it."""

    def __init__(self, *problems: str) -> None:
        """`problems` are what is wrong, a line each."""
        super().__init__("; ".join(problems))
        self.problems = problems


class ResultsError(QuizError):
    """Results that cannot be read, written or made; the file, the place and what to do."""


class InstrumentError(QuizError):
    """An instrument that cannot be listened to."""


class ChartError(QuizError):
    """A chart that is wanted under a name or in a file that there cannot be."""


class RecordingError(QuizError):
    """A recording that cannot be read: not there, empty, no audio, too long."""


class SoundDeviceError(QuizError):
    """The library that talks to sound devices is missing."""


class SoundInputError(QuizError):
    """The sound input cannot be opened; the message says why and what to do."""


class ExchangeError(QuizError):
    """A file of answers that cannot be read or written, or a line of one that is no record."""


class DemonstrationError(QuizError):
    """The invented answers of the demonstration cannot be read, or it was asked for where there is
    none."""


class FileError(QuizError):
    """A file that cannot be written, or whose name is taken."""


class EngravingError(QuizError):
    """The library that draws notes is not installed, or it refused a sheet."""
