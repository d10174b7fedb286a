"""The player's settings, kept in a TOML file that can be edited by hand.

Comments and unknown keys in the file survive; a wrong value is reported and the default stands in
for it; a file that cannot be read is set aside before a new one is written.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from math import isfinite
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from engine.arrangement import Texture
from engine.feels import Feel
from engine.neck import TUNINGS
from engine.notation import NoteNames
from engine.theory import PLAYED_KEYS
from quiz.errors import SettingsError

KEY_NAMES = tuple(str(key) for key in PLAYED_KEYS)
GUITAR_KEYS, HORN_KEYS = ("E", "A", "D", "G", "C"), ("F", "Bb", "Eb", "Ab")
FAVOURED = 4.0
"""The weight of a key that a band favours, against 1 for the others."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the player has chosen. The defaults stand here and nowhere else."""

    tuning: str = "four-string"
    """The instrument: the id of a tuning."""

    frets: int = 20
    """Frets of the neck, 20 to 24."""

    left_handed: bool = False
    """Whether the neck is drawn for a left-handed player."""

    note_names: str = NoteNames.ENGLISH.value
    """The language of note names: english, german or solfege."""

    f_sharp: bool = False
    """Whether the sixth key is called F# rather than Gb."""

    key_weights: dict[str, float] = field(default_factory=lambda: dict.fromkeys(KEY_NAMES, 1.0))
    """How often each key comes, relative to the others; 0 never."""

    tempo_low: int = 80
    """The slowest tempo that is drawn, beats a minute."""

    tempo_high: int = 132
    """The fastest tempo that is drawn. Slow 12/8 stays at its own 50 to 75."""

    feels: tuple[str, ...] = tuple(feel.value for feel in Feel)
    """The feels that are drawn."""

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
        text = path.read_text(encoding="utf-8")
    except (FileNotFoundError, NotADirectoryError):
        return Loaded(Settings())
    except (OSError, UnicodeDecodeError) as error:
        return Loaded(Settings(), (f"{path} cannot be read ({error}): the defaults are used",))
    try:
        data = tomlkit.parse(text).unwrap()
    except ParseError as error:
        return Loaded(Settings(), (f"{path} is no TOML ({error}): the defaults are used",))
    settings, problems = Settings(), []
    for key, value in data.items():
        try:
            settings = with_value(settings, key, value)
        except SettingsError as error:
            problems.append(f"{path}: {error}")
    return Loaded(settings, tuple(problems))


def with_value(settings: Settings, key: str, value: object) -> Settings:
    """The settings with one value changed.

    Raises SettingsError naming the key, what was given and what is allowed.
    """
    check = CHECKS.get(key)
    if check is None:
        raise SettingsError(f"there is no setting '{key}': the settings are {', '.join(CHECKS)}")
    changed: Settings = replace(settings, **{key: check(key, value)})
    if changed.tempo_low > changed.tempo_high:
        low, high = sorted((changed.tempo_low, changed.tempo_high))
        changed = replace(changed, tempo_low=low, tempo_high=high)
    return changed


def save(settings: Settings, path: Path) -> None:
    """Write the settings into the file, keeping its comments and unknown keys.

    A file that is no TOML is renamed to `settings.toml.bad-N` first. Raises SettingsError when
    nothing can be written there.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        document = _document(path)
        for row in fields(Settings):
            value = getattr(settings, row.name)
            plain = list(value) if isinstance(value, tuple) else value
            if document.get(row.name) != plain:
                document[row.name] = plain
        partial = path.with_name(f".{path.name}.{os.getpid()}.part")
        partial.write_text(tomlkit.dumps(document), encoding="utf-8")
        os.replace(partial, path)
    except OSError as error:
        raise SettingsError(
            f"the settings cannot be written to {path} ({error.strerror}): they hold until you quit"
        ) from error


def _document(path: Path) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return tomlkit.document()
    except (ParseError, UnicodeDecodeError):
        number = 1
        while (aside := path.with_name(f"{path.name}.bad-{number}")).exists():
            number += 1
        path.rename(aside)
        return tomlkit.document()


# --- what each setting may be -------------------------------------------------------------------

_Check = Callable[[str, object], Any]


def _wrong(key: str, value: object, allowed: str) -> SettingsError:
    return SettingsError(f"setting '{key}' is {value!r}: give {allowed}")


def _one_of(*allowed: str) -> _Check:
    def check(key: str, value: object) -> str:
        if not isinstance(value, str) or value not in allowed:
            raise _wrong(key, value, f"one of {', '.join(allowed)}")
        return value
    return check


def _some_of(*allowed: str) -> _Check:
    def check(key: str, value: object) -> tuple[str, ...]:
        if not isinstance(value, list | tuple) or not value or not set(value) <= set(allowed):
            raise _wrong(key, value, f"a list of one or more of {', '.join(allowed)}")
        return tuple(value)
    return check


def _whole(least: int, most: int) -> _Check:
    def check(key: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise _wrong(key, value, f"a whole number from {least} to {most}")
        return value
    return check


def _flag(key: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise _wrong(key, value, "true or false")
    return value


def _text(key: str, value: object) -> str:
    if not isinstance(value, str):
        raise _wrong(key, value, "a text in quotes")
    return value


def _weights(key: str, value: object) -> dict[str, float]:
    allowed = f"a number from 0 up for each of {' '.join(KEY_NAMES)}, not all 0"
    if not isinstance(value, dict) or not set(value) <= set(KEY_NAMES):
        raise _wrong(key, value, allowed)
    weights = dict.fromkeys(KEY_NAMES, 1.0) | value
    for weight in weights.values():
        number = isinstance(weight, int | float) and not isinstance(weight, bool)
        if not number or not isfinite(weight) or weight < 0:
            raise _wrong(key, value, allowed)
    if not any(weights.values()):
        raise _wrong(key, value, allowed)
    return {name: float(weight) for name, weight in weights.items()}


CHECKS: dict[str, _Check] = {
    "tuning": _one_of(*(tuning.id for tuning in TUNINGS)),
    "frets": _whole(20, 24),
    "left_handed": _flag,
    "note_names": _one_of(*(names.value for names in NoteNames)),
    "f_sharp": _flag,
    "key_weights": _weights,
    "tempo_low": _whole(50, 220),
    "tempo_high": _whole(50, 220),
    "feels": _some_of(*(feel.value for feel in Feel)),
    "texture": _one_of(*(texture.value for texture in Texture)),
    "comping": _one_of("electric-piano", "organ"),
    "answer_as": _one_of("degrees", "notes", "either"),
    "round_length": _whole(1, 100),
    "daily_questions": _whole(1, 400),
    "spelling_counts": _flag,
    "contrast": _flag,
    "soundfont": _text,
    "output_device": _text,
    "reverb": _flag,
    "ascii": _flag,
    "welcomed": _flag,
}
"""How each setting is checked; the keys are the settings there are."""


def favouring(keys: tuple[str, ...]) -> dict[str, float]:
    """Key weights for a band that favours `keys`; all alike when empty."""
    return {name: FAVOURED if name in keys else 1.0 for name in KEY_NAMES}
