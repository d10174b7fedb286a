"""The player's settings, kept in a TOML file that can be edited by hand.

Comments and unknown keys in the file survive, and only what was changed is written. A wrong value
is reported and the default stands in for it; a file that is no TOML is set aside before a new one
is written.
"""

import os
from contextlib import suppress
from dataclasses import dataclass, field, fields, replace
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError

from engine.arrangement import Texture
from engine.feels import Feel
from engine.notation import NoteNames
from quiz.errors import SettingsError
from quiz.setting_checks import KEY_NAMES as KEY_NAMES
from quiz.setting_checks import checked

GUITAR_KEYS, HORN_KEYS = ("E", "A", "D", "G", "C"), ("F", "Bb", "Eb", "Ab")
ENCODING = "utf-8-sig"
"""UTF-8; some editors put a byte order mark in front."""

FAVOURED = 4.0
"""The weight of a key that a band favours, against 1 for the others."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the player has chosen. The defaults stand here and nowhere else."""

    tuning: str = "four-string"
    """The instrument: the id of a tuning, such as four-string, drop-d or five-string."""

    frets: int = 20
    """Frets of the neck, 20 to 24."""

    left_handed: bool = False
    """Whether the neck is drawn for a left-handed player."""

    note_names: str = NoteNames.ENGLISH.value
    """The language of note names: english, german or solfege."""

    f_sharp: bool = False
    """Whether the sixth key is called F# rather than Gb."""

    key_weights: dict[str, float] = field(default_factory=lambda: dict.fromkeys(KEY_NAMES, 1.0))
    """How often each key comes, relative to the others; 0 never. A key left out weighs 1."""

    tempo_low: int = 80
    """The slowest tempo that is drawn, beats a minute."""

    tempo_high: int = 132
    """The fastest tempo that is drawn. Slow 12/8 stays at its own 50 to 75."""

    feels: tuple[str, ...] = tuple(feel.value for feel in Feel)
    """The feels that are drawn: shuffle, straight, swing, slow."""

    texture: str = Texture.BAND.value
    """Who plays: bass, drums (bass and drums) or band."""

    comping: str = "electric-piano"
    """What the keys are: electric-piano or organ."""

    answer_as: str = "either"
    """What typed answers are in: degrees, notes or either."""

    round_length: int = 12
    """Questions in a round."""

    daily_questions: int = 36
    """Questions a day that the schedule plans with."""

    spelling_counts: bool = False
    """Whether F# for Gb costs in questions that ask for note names."""

    contrast: bool = True
    """Whether a device that was mistaken for its neighbour may be followed by that neighbour."""

    soundfont: str = ""
    """A SoundFont file of the player's own; empty means the built-in one."""

    output_device: str = ""
    """The name of a sound output; empty means the system's default."""

    reverb: bool = True
    """Whether the band plays in a room."""

    ascii: bool = False
    """Whether the screen is drawn with ASCII signs alone."""

    welcomed: bool = False
    """Whether the first-run questions have been seen."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """Settings, and what was wrong in the file, a line each."""

    settings: Settings
    problems: tuple[str, ...] = ()


def load(path: Path) -> Loaded:
    """Read the settings; what is missing or wrong gets its default. Never raises for content."""
    try:
        text = path.read_text(encoding=ENCODING)
    except (FileNotFoundError, NotADirectoryError):
        return Loaded(Settings())
    except (OSError, UnicodeDecodeError) as error:
        return Loaded(Settings(), (f"{path} cannot be read ({error}): the defaults are used",))
    try:
        data = _parsed(text).unwrap()
    except TOMLKitError as error:
        return Loaded(Settings(), (f"{path} is no TOML ({error}): the defaults are used",))
    settings, problems = Settings(), []
    for key, value in data.items():
        try:
            settings = replace(settings, **{key: checked(key, value)})
        except SettingsError as error:
            problems.append(f"{path}: {error}")
    if settings.tempo_low > settings.tempo_high:
        problems.append(
            f"{path}: 'tempo_low' {settings.tempo_low} is above 'tempo_high' "
            f"{settings.tempo_high}: the defaults are used for both"
        )
        both = Settings()
        settings = replace(settings, tempo_low=both.tempo_low, tempo_high=both.tempo_high)
    return Loaded(settings, tuple(problems))


def with_value(settings: Settings, key: str, value: object) -> Settings:
    """The settings with one value changed. A tempo takes the other end of the range with it.

    Raises SettingsError naming the key, what was given and what is allowed.
    """
    changed = replace(settings, **{key: checked(key, value)})
    if changed.tempo_low > changed.tempo_high:
        tempo = changed.tempo_low if key == "tempo_low" else changed.tempo_high
        changed = replace(changed, tempo_low=tempo, tempo_high=tempo)
    return changed


def favouring(keys: tuple[str, ...]) -> dict[str, float]:
    """Key weights for a band that favours `keys`; all alike when empty."""
    return {name: FAVOURED if name in keys else 1.0 for name in KEY_NAMES}


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
                means = checked(row.name, written[row.name])
            except SettingsError:
                sound = False
        if value != means:
            _put(document, row.name, value, keep=sound)


def _put(document: tomlkit.TOMLDocument, key: str, value: object, keep: bool) -> None:
    """Enter a value; `keep` says that the comments inside a table there are kept."""
    table = document.get(key)
    if keep and isinstance(value, dict) and isinstance(table, dict):
        for name, entry in value.items():
            if table.get(name, 1.0) != entry:
                table[name] = entry
        return
    document[key] = list(value) if isinstance(value, tuple) else value
