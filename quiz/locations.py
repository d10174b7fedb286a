"""Where the program keeps its files on this machine."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from quiz.errors import LocationError

APP = "lastbar"
CONFIG_VARIABLE, DATA_VARIABLE = "LASTBAR_CONFIG", "LASTBAR_DATA"


@dataclass(frozen=True, slots=True)
class Locations:
    """The two folders that belong to the program."""

    config: Path
    """Settings, and what the player adds to the catalogue."""

    data: Path
    """The history and its backups."""

    @property
    def settings(self) -> Path:
        """The settings file."""
        return self.config / "settings.toml"

    @property
    def catalogue(self) -> Path:
        """The player's own devices, base patterns and forms."""
        return self.config / "catalogue.toml"

    @property
    def history(self) -> Path:
        """The history of all answers."""
        return self.data / "history.db"

    @property
    def backups(self) -> Path:
        """The folder of daily copies of the history."""
        return self.data / "backups"

    @property
    def unsaved(self) -> Path:
        """Answers that could not be put into the history wait here, in the other folder."""
        return self.config / "unsaved.jsonl"

    @property
    def log(self) -> Path:
        """What native libraries say on their way."""
        return self.data / "native.log"


def locate(environment: Mapping[str, str] | None = None) -> Locations:
    """The folders of this user; LASTBAR_CONFIG and LASTBAR_DATA may put them elsewhere.

    Nothing is created. Raises LocationError when a folder is not given and the user has no home
    directory for it to stand in.
    """
    variables = os.environ if environment is None else environment
    try:
        config = variables.get(CONFIG_VARIABLE) or platformdirs.user_config_dir(APP, False)
        data = variables.get(DATA_VARIABLE) or platformdirs.user_data_dir(APP, False)
        return Locations(_absolute(config), _absolute(data))
    except RuntimeError as error:  # how platformdirs and pathlib say that there is no home
        raise LocationError(
            f"this user has no home directory ({error}): set {CONFIG_VARIABLE} and "
            f"{DATA_VARIABLE} to two folders that can be written"
        ) from error


def _absolute(folder: str) -> Path:
    """An absolute path; `~` is the home directory here too, where no shell has replaced it."""
    return Path(folder).expanduser().absolute()
