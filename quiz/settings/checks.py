"""What each setting may be: a row a setting. A check gives the value to keep, or says what to give.

TOML and Python call different things a number: `true` is none here, and nothing is rounded.
"""

from collections.abc import Callable, Iterable, Mapping
from enum import Enum
from typing import Any, NamedTuple

from engine.errors import MusicInputError
from engine.feels import Feel
from engine.fields import is_identity
from engine.fretboard import LEAST_FRETS, MOST_FRETS, OpenStrings
from engine.notation import NoteNames
from engine.textures import Texture
from engine.theory import PLAYED_KEYS
from engine.tunings import TUNINGS, own_tuning
from quiz.errors import InstrumentError, SettingsError
from quiz.playing.ports import NETWORK, checked_port
from quiz.questions.kinds import ROUND_KINDS

KEY_NAMES = tuple(str(key) for key in PLAYED_KEYS)
"""The twelve keys by name, C to B."""

SLOWEST, FASTEST = 50, 220
"""Beats a minute that a question may have."""

BY_REACH = "reach"
"""In place of a texture: whoever plays at the reach of the item."""

SHOWN = 60
"""Characters of a wrong value that a message repeats."""

FAMILIES = ("head", "pickup", "tail", "ending", "form")
"""What can be asked about, by family. Written out: settings are read before any catalogue is."""

KINDS_ASKED = tuple(kind.value for kind in ROUND_KINDS)

TEXTURES = tuple(texture.value for texture in Texture)


class PlayBy(Enum):
    """What answers are played on. The value is what the settings say."""

    NOTHING = "nothing"
    MIDI = "midi"
    SOUND = "sound"


class Pin(NamedTuple):
    """The conditions that a player has fixed for a device."""

    texture: str
    tempo: int
    """Beats a minute."""


Check = Callable[[str, object], Any]
"""(key, value given) to the value to keep; raises SettingsError."""


def _wrong(key: str, value: object, allowed: str) -> SettingsError:
    given = repr(value)
    given = given if len(given) <= SHOWN else given[:SHOWN] + " ..."
    return SettingsError(f"setting '{key}' is {given}: give {allowed}")


def _one_of(*allowed: str) -> Check:
    def check(key: str, value: object) -> str:
        if not isinstance(value, str) or value not in allowed:
            raise _wrong(key, value, f"one of {', '.join(allowed)}")
        return value

    return check


def _some_of(*allowed: str) -> Check:
    def check(key: str, value: object) -> tuple[str, ...]:
        given = list(value) if isinstance(value, list | tuple) else []
        if not given or any(entry not in allowed for entry in given):
            raise _wrong(key, value, f"a list of one or more of {', '.join(allowed)}")
        return tuple(dict.fromkeys(given))

    return check


def _whole(least: int, most: int) -> Check:
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
    if not isinstance(value, str) or "\0" in value:
        raise _wrong(key, value, "a text in quotes")
    return value


def _midi_input(key: str, value: object) -> str:
    text: str = _text(key, value)
    if text.startswith(NETWORK):
        try:
            checked_port(text)
        except InstrumentError as error:
            allowed = f"a name, or {NETWORK}HOST:PORT with a port from 1 to 65535"
            raise _wrong(key, value, allowed) from error
    return text


def _weights(key: str, value: object) -> dict[str, float]:
    allowed = f"a number from 0 to 1000000 for each of {' '.join(KEY_NAMES)}, not all 0"
    if not isinstance(value, Mapping) or not set(value) <= set(KEY_NAMES):
        raise _wrong(key, value, allowed)
    weights: dict[str, Any] = dict.fromkeys(KEY_NAMES, 1.0) | dict(value)
    if not all(_is_weight(weight) for weight in weights.values()) or not any(weights.values()):
        raise _wrong(key, value, allowed)
    return {name: float(weight) for name, weight in weights.items()}


def _is_weight(value: object) -> bool:
    """Whether it is a finite number from 0 up; a whole number may be too large for a float."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return 0 <= value <= HEAVIEST


def _pins(key: str, value: object) -> dict[str, Pin]:
    allowed = (
        "for each device a list of who plays and a tempo, such as "
        f'climb = ["band", 120]: one of {", ".join(TEXTURES)}, and {SLOWEST} to {FASTEST}'
    )
    if not isinstance(value, Mapping):
        raise _wrong(key, value, allowed)
    pins: dict[str, Pin] = {}
    for device, given in value.items():
        pair = tuple(given) if isinstance(given, list | tuple) else ()
        if len(pair) != 2 or pair[0] not in TEXTURES or not _is_tempo(pair[1]):
            raise _wrong(key, value, allowed)
        pins[str(device)] = Pin(str(pair[0]), pair[1])
    return pins


def _topics(key: str, value: object) -> tuple[str, ...]:
    allowed = (
        "a list of entries such as device:climb, family:tail, kind:spell or key:B, with a family "
        f"of {', '.join(FAMILIES)}, a kind of {', '.join(KINDS_ASKED)}, and a key of "
        f"{' '.join(KEY_NAMES)}"
    )
    if not isinstance(value, list | tuple):
        raise _wrong(key, value, allowed)
    entries = [entry for entry in value if isinstance(entry, str) and _is_topic(entry)]
    if len(entries) != len(value):
        raise _wrong(key, value, allowed)
    return tuple(dict.fromkeys(entries))


def _is_topic(entry: str) -> bool:
    sort, _, name = entry.partition(":")
    if sort == "device":  # any word: a device of the player's own may come and go
        return name.isprintable() and bool(name) and " " not in name
    return name in {"family": FAMILIES, "kind": KINDS_ASKED, "key": KEY_NAMES}.get(sort, ())


BUILTIN_TUNINGS = tuple(tuning.id for tuning in TUNINGS)

MOST_OWN_TUNINGS = 20


def _own_tunings(key: str, value: object) -> dict[str, tuple[str, ...]]:
    allowed = (
        "for each tuning a name in small letters, digits and hyphens, and a list of its open "
        'strings from the lowest, such as my-five = ["B0", "E1", "A1", "D2", "G2"] '
        f"or MIDI numbers, at most {MOST_OWN_TUNINGS}"
    )
    if not isinstance(value, Mapping) or len(value) > MOST_OWN_TUNINGS:
        raise _wrong(key, value, allowed)
    tunings: dict[str, tuple[str, ...]] = {}
    for name, given in value.items():
        strings = list(given) if isinstance(given, list | tuple) else []
        if not is_identity(name) or not strings or not all(map(_is_string, strings)):
            raise _wrong(key, value, allowed)
        if name in BUILTIN_TUNINGS:
            raise SettingsError(f"setting '{key}' names '{name}', which is built in: rename it")
        tunings[name] = tuple(str(string).strip() for string in strings)
        try:
            own_tuning(name, tunings[name])
        except MusicInputError as error:
            raise SettingsError(f"setting '{key}', tuning '{name}': {error}") from error
    return tunings


def _is_string(value: object) -> bool:
    return isinstance(value, str) or (isinstance(value, int) and not isinstance(value, bool))


def _is_tempo(value: object) -> bool:
    whole = isinstance(value, int) and not isinstance(value, bool)
    return whole and SLOWEST <= value <= FASTEST  # type: ignore[operator]  # whole means int


HEAVIEST = 1e6
"""A weight above this says no more than one below it."""

CHECKS: dict[str, Check] = {
    "tuning": _one_of(*BUILTIN_TUNINGS),
    "frets": _whole(LEAST_FRETS, MOST_FRETS),
    "left_handed": _flag,
    "open_strings": _one_of(*(wish.value for wish in OpenStrings)),
    "own_tunings": _own_tunings,
    "note_names": _one_of(*(names.value for names in NoteNames)),
    "f_sharp": _flag,
    "key_weights": _weights,
    "tempo_low": _whole(SLOWEST, FASTEST),
    "tempo_high": _whole(SLOWEST, FASTEST),
    "feels": _some_of(*(feel.value for feel in Feel)),
    "texture": _one_of(BY_REACH, *TEXTURES),
    "comping": _one_of("electric-piano", "organ"),
    "answer_as": _one_of("degrees", "notes", "either"),
    "round_length": _whole(1, 100),
    "daily_questions": _whole(1, 400),
    "spelling_counts": _flag,
    "contrast": _flag,
    "pins": _pins,
    "resting": _topics,
    "leading": _topics,
    "jam_by_ear": _flag,
    "soundfont": _text,
    "output_device": _text,
    "play_by": _one_of(*(by.value for by in PlayBy)),
    "midi_input": _midi_input,
    "input_device": _text,
    "reverb": _flag,
    "ascii": _flag,
    "welcomed": _flag,
}
"""How each setting is checked; the keys are the settings there are. A tuning may be one of the
player's own besides."""


def checked(key: str, value: object, own_tunings: Iterable[str] = ()) -> Any:
    """The value to keep for a setting; `own_tunings` are the names of the player's own.

    Raises SettingsError naming the key, what was given and what is allowed.
    """
    if key == "tuning":
        return _one_of(*BUILTIN_TUNINGS, *own_tunings)(key, value)
    check = CHECKS.get(key)
    if check is None:
        raise SettingsError(f"there is no setting '{key}': the settings are {', '.join(CHECKS)}")
    return check(key, value)
