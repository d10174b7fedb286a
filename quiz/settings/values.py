"""The player's settings, kept in a TOML file that can be edited by hand.

A wrong value is reported and the default stands in for it. Writing is in `quiz.settings.file`.
"""

import tomllib
from dataclasses import dataclass, field, replace
from pathlib import Path

from engine.feels import Feel
from engine.fretboard import Neck, OpenStrings
from engine.notation import NoteNames
from engine.textures import Texture
from engine.tunings import Tuning, find_tuning, own_tuning
from quiz.errors import SettingsError
from quiz.files import ENCODING
from quiz.settings.checks import BUILTIN_TUNINGS, checked
from quiz.settings.checks import BY_REACH as BY_REACH
from quiz.settings.checks import KEY_NAMES as KEY_NAMES
from quiz.settings.checks import Pin as Pin
from quiz.settings.checks import PlayBy as PlayBy

GUITAR_KEYS, HORN_KEYS = ("E", "A", "D", "G", "C"), ("F", "Bb", "Eb", "Ab")

FAVOURED = 4.0
"""The weight of a key that a band favours, against 1 for the others."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the player has chosen. The defaults stand here and nowhere else."""

    tuning: str = "four-string"
    """The instrument: the id of a tuning, such as four-string, drop-d or five-string, or the name
    of one of `own_tunings`."""

    frets: int = 20
    """Frets of the neck, 20 to 24."""

    left_handed: bool = False
    """Whether the neck is drawn for a left-handed player."""

    open_strings: str = OpenStrings.AVOID.value
    """What the player thinks of open strings: avoid, neutral or prefer."""

    own_tunings: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Tunings of the player's own: a name, and the open strings as they sound, lowest first, as
    note names with octaves (E1 is the low E) or MIDI numbers."""

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

    texture: str = BY_REACH
    """Who plays: bass, drums (bass and drums) or band; or reach, which lets it grow with what the
    player can hear."""

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

    pins: dict[str, Pin] = field(default_factory=dict)
    """Devices whose tempo, and who plays, the player has fixed, by their ids."""

    resting: tuple[str, ...] = ()
    """What is never asked until it is woken: entries such as device:climb, family:tail, kind:spell
    and key:B."""

    leading: tuple[str, ...] = ()
    """What is put forward, asked first and more often: entries as in `resting`."""

    jam_by_ear: bool = False
    """Whether the open jam keeps its keys to itself: then only the band tells where it goes."""

    soundfont: str = ""
    """A SoundFont file of the player's own; empty means the built-in one."""

    output_device: str = ""
    """The name of a sound output; empty means the system's default."""

    play_by: str = PlayBy.NOTHING.value
    """What answers are played on: nothing, midi (a MIDI instrument) or sound (the bass through a
    sound input)."""

    midi_input: str = ""
    """The name of a MIDI input; empty means the first there is; network:HOST:PORT is one at the
    other end of a network connection."""

    input_device: str = ""
    """The name of a sound input; empty means the system's default."""

    reverb: bool = True
    """Whether the band plays in a room."""

    ascii: bool = False
    """Whether the screen is drawn with ASCII signs alone."""

    welcomed: bool = False
    """Whether the first-run questions have been seen."""

    @property
    def tunings(self) -> tuple[Tuning, ...]:
        """The player's own tunings."""
        return tuple(own_tuning(name, strings) for name, strings in self.own_tunings.items())

    @property
    def neck(self) -> Neck:
        """The instrument, and what its player thinks of open strings."""
        return Neck(
            find_tuning(self.tuning, self.tunings), self.frets, OpenStrings(self.open_strings)
        )

    @property
    def set_texture(self) -> Texture | None:
        """Who plays, where the player has said so; None where it grows with the reach."""
        return None if self.texture == BY_REACH else Texture(self.texture)


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
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        return Loaded(Settings(), (f"{path} is no TOML ({error}): the defaults are used",))
    settings, problems = Settings(), []
    for key in sorted(data, key=lambda key: key != "own_tunings"):  # a tuning may be one of them
        try:
            value = checked(key, data[key], settings.own_tunings)
            settings = replace(settings, **{key: value})
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
    changed = replace(settings, **{key: checked(key, value, settings.own_tunings)})
    if changed.tuning not in (*BUILTIN_TUNINGS, *changed.own_tunings):
        raise SettingsError(
            f"setting '{key}' leaves out '{changed.tuning}', which is the instrument: choose "
            "another instrument first"
        )
    if changed.tempo_low > changed.tempo_high:
        tempo = changed.tempo_low if key == "tempo_low" else changed.tempo_high
        changed = replace(changed, tempo_low=tempo, tempo_high=tempo)
    return changed


def read_own_tunings(text: str) -> dict[str, tuple[str, ...]]:
    """Tunings as they are typed in one line: `name: B0 E1 A1 D2 G2`, several with ; between.

    Raises SettingsError when a part has no name; what stands there is checked later.
    """
    tunings: dict[str, tuple[str, ...]] = {}
    for part in filter(None, map(str.strip, text.split(";"))):
        name, colon, strings = part.partition(":")
        if not colon or name.strip() in tunings:
            problem = "it is there twice" if colon else "a name and a colon are missing"
            raise SettingsError(
                f"'{part[:40]}': {problem}: write a name, a colon and the open strings from the "
                "lowest, such as my-five: B0 E1 A1 D2 G2"
            )
        tunings[name.strip()] = tuple(strings.replace(",", " ").split())
    return tunings


def own_tunings_text(tunings: dict[str, tuple[str, ...]]) -> str:
    """The line that `read_own_tunings` reads."""
    return "; ".join(f"{name}: {' '.join(strings)}" for name, strings in tunings.items())


def favouring(keys: tuple[str, ...]) -> dict[str, float]:
    """Key weights for a band that favours `keys`; all alike when empty."""
    return {name: FAVOURED if name in keys else 1.0 for name in KEY_NAMES}
