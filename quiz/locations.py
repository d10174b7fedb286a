"""Where the program keeps its files on this machine."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import platformdirs

APP = "lastbar"
CONFIG_VARIABLE, DATA_VARIABLE = "LASTBAR_CONFIG", "LASTBAR_DATA"


@dataclass(frozen=True, slots=True)
class Locations:
    """The two folders that belong to the program."""

    config: Path
    """Settings."""

    data: Path
    """The history and its backups."""

    @property
    def settings(self) -> Path:
        return self.config / "settings.toml"

    @property
    def history(self) -> Path:
        return self.data / "history.db"

    @property
    def backups(self) -> Path:
        return self.data / "backups"

    @property
    def unsaved(self) -> Path:
        """Answers that could not be put into the history wait here."""
        return self.config / "unsaved.jsonl"

    @property
    def log(self) -> Path:
        """What native libraries say on their way."""
        return self.data / "native.log"


def locate(environment: Mapping[str, str] | None = None) -> Locations:
    """The folders of this user; LASTBAR_CONFIG and LASTBAR_DATA may put them elsewhere.

    Nothing is created. On a machine without a home directory the folders fall to where
    platformdirs puts them, and the first write says so if that place cannot be written.
    """
    variables = os.environ if environment is None else environment
    config = variables.get(CONFIG_VARIABLE) or platformdirs.user_config_dir(APP, appauthor=False)
    data = variables.get(DATA_VARIABLE) or platformdirs.user_data_dir(APP, appauthor=False)
    return Locations(Path(config).absolute(), Path(data).absolute())
