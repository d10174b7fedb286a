"""Writing the settings into their file: comments and unknown keys in it survive.

Reading is in `quiz.settings.values`, which every start needs; the library that keeps comments is
needed only here.
"""

import os
from contextlib import suppress
from dataclasses import fields
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError

from quiz.errors import SettingsError
from quiz.files import ENCODING
from quiz.settings.checks import checked
from quiz.settings.values import Settings


def save(settings: Settings, path: Path) -> None:
    """Write the settings into the file, whole or not at all.

    A value that stands in the file already, or is the default of a setting that the file does not
    name, is left alone, and so are comments and unknown keys. A file that is no TOML is renamed to
    `settings.toml.bad-N` first. Raises SettingsError when nothing can be written there.
    """
    target = Path(os.path.realpath(path))  # a link to a file kept elsewhere stays a link
    partial = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        document = _document(target)
        _enter(settings, document)
        with partial.open("w", encoding="utf-8", newline="") as file:
            file.write(tomlkit.dumps(document))
            file.flush()
            os.fsync(file.fileno())
        os.replace(partial, target)
    except OSError as error:
        with suppress(OSError):
            partial.unlink()
        raise SettingsError(
            f"the settings cannot be written to {path} ({error.strerror}): they hold until you "
            "quit; make that folder writable, or set LASTBAR_CONFIG to one that is"
        ) from error


def _parsed(text: str) -> tomlkit.TOMLDocument:
    """Raises TOMLKitError for every text that is no TOML, also where the library says otherwise."""
    try:
        return tomlkit.parse(text)
    except (RecursionError, ValueError) as error:
        if isinstance(error, TOMLKitError):
            raise
        raise TOMLKitError(f"{type(error).__name__}: {error}") from error


def _document(path: Path) -> tomlkit.TOMLDocument:
    """The file as it is; an empty document where there is none, or none that can be read."""
    try:
        return _parsed(path.read_text(encoding=ENCODING))
    except FileNotFoundError:
        return tomlkit.document()
    except (TOMLKitError, UnicodeDecodeError):
        number = 1
        while (aside := path.with_name(f"{path.name}.bad-{number}")).exists():
            number += 1
        path.rename(aside)
        return tomlkit.document()


def _enter(settings: Settings, document: tomlkit.TOMLDocument) -> None:
    """Put what differs into the document.

    A wrong value means the default, and stays for its owner to put right until it is changed.
    """
    defaults, written = Settings(), document.unwrap()
    for row in fields(Settings):
        value, means = getattr(settings, row.name), getattr(defaults, row.name)
        sound = row.name in written
        if sound:
            try:
                means = checked(row.name, written[row.name], settings.own_tunings)
            except SettingsError:
                sound = False
        if value != means:
            _put(document, row.name, value, keep=sound)


def _put(document: tomlkit.TOMLDocument, key: str, value: object, keep: bool) -> None:
    """Enter a value; `keep` says that the comments inside a table there are kept."""
    table = document.get(key)
    if not (keep and isinstance(value, dict) and isinstance(table, dict)):
        document[key] = _as_toml(value)
        return
    for name, entry in value.items():
        if table.get(name, 1.0) != _as_toml(entry):  # a key left out weighs 1
            table[name] = _as_toml(entry)
    for name in [name for name in table if name not in value]:
        del table[name]


def _as_toml(value: object) -> object:
    """The value with lists in place of tuples, which TOML does not know."""
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, dict):
        return {name: _as_toml(entry) for name, entry in value.items()}
    return value
