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


class SettingsError(QuizError):
    """A setting with a value that is not allowed, or a settings file that cannot be read."""


class StoreError(QuizError):
    """The history cannot be opened, read or written."""


class StoreUnwritable(StoreError):
    """The history stands where nothing can be written, or the disk is full."""


class StoreTooNew(StoreError):
    """A newer version of the program wrote the history."""


class StoreDamaged(StoreError):
    """The history is no sound database; it is left as it is until somebody decides."""

    def __init__(self, message: str, path: Path) -> None:
        super().__init__(message)
        self.path = path
