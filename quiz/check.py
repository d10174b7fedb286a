"""What works on this machine, and what to do about what does not."""

import os
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

from engine.errors import SynthesisError, amount
from engine.sound import check_soundfont, synthesizer_version
from quiz.errors import InstrumentError, SoundInputError, StoreError
from quiz.exports.engraving import missing
from quiz.history.store import open_store
from quiz.locations import Locations
from quiz.own_catalogue import counts, is_there, load_catalogue
from quiz.playing.audio_input import input_problem
from quiz.playing.instrument import open_instrument
from quiz.playing.midi_input import input_names
from quiz.settings.values import PlayBy, Settings, load
from quiz.sound.device import input_devices, output_devices
from quiz.sound.player import open_player
from sounds import soundfont_path

SMALLEST = (60, 20)
"""Columns and lines that the screens need."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at."""

    name: str
    works: bool
    says: str
    """What was found, or what to do."""

    needed: bool = True
    """Whether the program is of little use without it."""


def findings(locations: Locations) -> tuple[Finding, ...]:
    """Look at everything the program stands on."""
    loaded = load(locations.settings)
    own = loaded.settings.soundfont
    return (
        _synthesizer(),
        _soundfont("built-in sound", soundfont_path()),
        *((_soundfont("own SoundFont", Path(own).expanduser()),) if own else ()),
        _output(loaded.settings.output_device or None),
        _input(loaded.settings.input_device or None),
        _midi_ports(),
        _playing(loaded.settings),
        Finding("MIDI files", True, "written and read", needed=False),
        _pictures(),
        _terminal(),
        Finding(
            "settings",
            not loaded.problems,
            "; ".join(loaded.problems) or str(locations.settings),
            needed=False,
        ),
        *((_own_catalogue(locations.catalogue),) if is_there(locations.catalogue) else ()),
        _history(locations.history),
    )


def _synthesizer() -> Finding:
    try:
        return Finding("synthesizer", True, f"FluidSynth {synthesizer_version()}")
    except SynthesisError as error:
        return Finding("synthesizer", False, str(error))


def _soundfont(name: str, path: Path) -> Finding:
    try:
        check_soundfont(path)
    except SynthesisError as error:
        return Finding(name, False, str(error), needed=False)
    return Finding(name, True, str(path), needed=False)


def _output(device: str | None) -> Finding:
    player = open_player(device)
    silent = player.silent
    player.close()
    if silent:
        advice = "install libportaudio2 or connect a sound output; `lastbar hear --out` still works"
        return Finding("sound output", False, f"{silent}: {advice}", needed=False)
    return Finding("sound output", True, ", ".join(output_devices()), needed=False)


def _input(device: str | None) -> Finding:
    problem = input_problem(device)
    if problem:
        advice = "connect one to be heard live; `lastbar hear --file` works without"
        return Finding("sound input", False, f"{problem}: {advice}", needed=False)
    return Finding("sound input", True, device or ", ".join(input_devices()), needed=False)


def _midi_ports() -> Finding:
    """What MIDI instruments there are."""
    try:
        names = input_names()
    except InstrumentError as error:
        return Finding("MIDI input", False, str(error), needed=False)
    if not names:
        return Finding("MIDI input", False, "no MIDI input: plug an instrument in", needed=False)
    return Finding("MIDI input", True, ", ".join(names), needed=False)


def _playing(settings: Settings) -> Finding:
    """Whether answers can be played on what the settings name."""
    by = PlayBy(settings.play_by)
    try:
        instrument = open_instrument(by, settings.midi_input, settings.input_device)
    except (InstrumentError, SoundInputError) as error:
        return Finding("playing", False, str(error), needed=False)
    instrument.close()
    where = settings.midi_input if by is PlayBy.MIDI else settings.input_device
    says = f"answers are played by {by.value}: {where or 'the first there is'}"
    return Finding("playing", True, says, needed=False)


def _pictures() -> Finding:
    advice = missing()
    return Finding("pictures", advice is None, advice or "sheets as SVG and PDF", needed=False)


def _terminal() -> Finding:
    size = shutil.get_terminal_size()
    encoding = sys.stdout.encoding or "unknown"
    colours = "no colours (NO_COLOR)" if os.environ.get("NO_COLOR") else "colours"
    says = f"{size.columns} x {size.lines}, {encoding}, {colours}"
    wide = size.columns >= SMALLEST[0] and size.lines >= SMALLEST[1]
    return Finding(
        "terminal",
        wide,
        says if wide else f"{says}: make it at least {SMALLEST[0]} x {SMALLEST[1]}",
        needed=False,
    )


def _own_catalogue(path: Path) -> Finding:
    loaded = load_catalogue([path])
    says = f"{counts(loaded, path)} in {path}"
    if wrong := len(loaded.problems):
        says += f"; {wrong} of what is there is wrong: `lastbar devices --check {path}` says what"
    return Finding("own catalogue", not wrong, says, needed=False)


def _history(path: Path) -> Finding:
    try:
        store = open_store(path)
    except StoreError as error:
        return Finding("history", False, str(error))
    count = store.count()
    store.close()
    return Finding("history", True, f"{amount(count, 'answer')} in {path}")
