"""What each command does: wiring, and what it prints."""

import gc
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import MusicInputError
from quiz.errors import StoreDamaged
from quiz.locations import Locations, locate
from quiz.version import VERSION

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue, Device
    from engine.theory import Key
    from quiz.hearing import Hearing
    from quiz.scores import Scores
    from quiz.studio import Studio

OK, BAD, NOT_FOUND = 0, 1, 2
"""Exit codes."""


class NotFound(Exception):
    """What was asked for does not exist."""


def fail(message: str, code: int) -> int:
    """Say in one line on stderr what is wrong; gives the exit code back."""
    sys.stderr.write(f"lastbar: {' '.join(message.split())}\n")
    return code


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _say_data(data: object) -> None:
    _say(json.dumps(data, ensure_ascii=False))


# --- the program --------------------------------------------------------------------------------


def run_app() -> int:
    """The program in the terminal."""
    from quiz.player import LatePlayer
    from quiz.quiet import move_native_noise
    from quiz.workbench import open_workbench

    gc.disable()  # hundreds of classes are being made and none goes; the app enables it again
    locations = locate()
    move_native_noise(locations.log)
    try:
        bench = open_workbench(locations, LatePlayer)
    except StoreDamaged as error:
        if not sys.stdin.isatty():
            raise
        _decide(error, locations)
        bench = open_workbench(locations, LatePlayer)
    from quiz.app import LastbarApp

    bench.ascii_terminal = "utf" not in (sys.stdout.encoding or "").lower()
    try:
        LastbarApp(bench).run()
    finally:
        bench.close()
    return OK


def _decide(error: StoreDamaged, locations: Locations) -> None:
    """Ask what to do with a damaged history. Anything but a clear choice changes nothing."""
    from quiz.backups import restore

    _say(f"{error}.")
    offer = f"r  take the newest backup ({error.backup.name})\n" if error.backup else ""
    _say(
        f"The file will be kept under another name. What now?\n{offer}n  start with an empty "
        "history\nEnter alone ends the program and changes nothing."
    )
    choice = sys.stdin.readline().strip().lower()
    if choice == "r" and error.backup is not None:
        restore(error.backup, locations.history)
    elif choice == "n":
        _begin_anew(locations)
    else:
        raise error


def _begin_anew(locations: Locations) -> Path | None:
    """Make an empty history; what stood there is set aside, and its new name given."""
    from quiz.backups import set_aside
    from quiz.store import open_store

    aside = set_aside(locations.history) if locations.history.exists() else None
    open_store(locations.history).close()
    return aside


def run_ask(options: "Namespace") -> int:
    """`lastbar ask`."""
    from engine.catalogue import builtin_catalogue
    from quiz.ask import LineRound, Said
    from quiz.kinds import Kind
    from quiz.material import Only
    from quiz.quiet import move_native_noise
    from quiz.workbench import open_workbench

    catalogue = builtin_catalogue()
    devices = tuple(_found(catalogue, name).id for name in options.device)
    kinds = tuple(Kind(name) for name in options.kind)
    key = _key(options.key) if options.key else None
    locations = locate()
    move_native_noise(locations.log)
    only = Only(kinds, devices, key)
    bench = open_workbench(locations, only=only, seed=options.seed)
    if not kinds and options.clips is None:
        bench.fresh_coach()  # nobody asked for what cannot be heard
    for problem in [*bench.problems, *([bench.player.silent] if bench.player.silent else [])]:
        sys.stderr.write(f"lastbar: {problem}\n")

    def say(said: Said) -> None:
        _say_data(said.data) if options.json else _say(said.text)

    try:
        LineRound(bench, say, options.clips).run(_lines(), options.count)
    finally:
        bench.close()
    return OK


def _lines() -> Iterator[str]:
    """The lines of standard input, whatever bytes they hold."""
    for raw in sys.stdin.buffer:
        yield raw.decode("utf-8", errors="replace").rstrip("\r\n")


# --- the catalogue ------------------------------------------------------------------------------


def run_devices(options: "Namespace") -> int:
    """`lastbar devices`."""
    from engine.catalogue import builtin_catalogue

    rows = [
        device
        for device in builtin_catalogue().devices
        if options.family in (None, device.family.value)
    ]
    if options.json:
        _say_data(
            {
                "devices": [
                    {
                        "id": device.id,
                        "name": device.name,
                        "family": device.family.value,
                        "bars": list(device.bars),
                        "degrees": device.pattern.text,
                        "line": str(device.pattern),
                        "serves": str(device.change) if device.change else None,
                        "says": device.says,
                        "source": device.source,
                    }
                    for device in rows
                ]
            }
        )
        return OK
    for device in rows:
        bars = ",".join(map(str, device.bars))
        _say(f"{device.id:<28}{device.family.value:<8} bar {bars:<6} {device.pattern.text}")
        _say(f"{'':<28}{device.name}. {device.says}")
    return OK


def run_spell(options: "Namespace") -> int:
    """`lastbar spell`."""
    from engine.catalogue import builtin_catalogue
    from engine.figure import figure, path
    from engine.neck import find_tuning
    from engine.notation import NoteNames, format_note
    from quiz.settings import load

    settings = load(locate().settings).settings
    device, key = _found(builtin_catalogue(), options.device), _key(options.key)
    shape = figure(device, key)
    tuning = find_tuning(options.tuning or settings.tuning)
    names = NoteNames(settings.note_names)
    places = path(shape, tuning, settings.frets)
    strings = [tuning.strings[place.string][0] for place in places]
    data = {
        "device": device.id,
        "key": str(key),
        "degrees": [str(note.degree) for note in shape.notes],
        "notes": [str(note.note) for note in shape.notes],
        "midi": list(shape.pitches),
        "positions": [
            {"string": string, "fret": place.fret}
            for string, place in zip(strings, places, strict=True)
        ],
    }
    if options.json:
        _say_data(data)
        return OK
    _say(f"{device.name} in {key}")
    rows = (
        ("degrees", [str(note.degree) for note in shape.notes]),
        ("notes", [format_note(note.note, names) for note in shape.notes]),
        ("midi", [str(pitch) for pitch in shape.pitches]),
        ("neck", [f"{string}{place.fret}" for string, place in zip(strings, places, strict=True)]),
    )
    for label, words in rows:
        _say(f"{label:<9}{''.join(f'{word:<6}' for word in words)}".rstrip())
    return OK


def run_hear(options: "Namespace") -> int:
    """`lastbar hear`."""
    from engine.catalogue import builtin_catalogue
    from engine.feels import find_feel
    from engine.score import find_texture
    from engine.timing import checked_tempo
    from quiz.hearing import Hearing, usual_tempo
    from quiz.settings import load

    catalogue, locations = builtin_catalogue(), locate()
    device = _found(catalogue, options.device)
    feel = find_feel(options.feel)
    tempo = usual_tempo(feel) if options.tempo is None else checked_tempo(options.tempo)
    settings = load(locations.settings).settings
    hearing = Hearing(
        device.id,
        _key(options.key),
        tempo,
        feel,
        find_texture(options.texture),
        settings.comping,
        options.seed,
    )
    if options.out is not None:
        return _write(hearing, options.out, catalogue, locations)
    return _play(hearing, catalogue, locations)


def _write(hearing: "Hearing", target: Path, catalogue: "Catalogue", locations: Locations) -> int:
    from engine.midi import write_midi
    from engine.sound import write_wav
    from quiz.settings import load
    from quiz.workbench import open_studio

    ending = target.suffix.lower()
    if ending not in (".wav", ".mid"):
        raise MusicInputError(f"'{target.name}': give a file name that ends in .wav or .mid")
    _, score = hearing.passage(catalogue)
    try:
        if ending == ".mid":
            write_midi(score, target)
        else:
            studio = open_studio(catalogue, load(locations.settings).settings)
            write_wav(studio.render(score), target)
            studio.close()
            _warn(studio)
    except OSError as error:
        raise MusicInputError(
            f"{target} cannot be written ({error.strerror}): give a folder that exists and can "
            "be written"
        ) from error
    _say(str(target))
    return OK


def _warn(studio: "Studio") -> None:
    """Say on stderr when the player's own SoundFont could not be used."""
    if studio.problem:
        sys.stderr.write(f"lastbar: {studio.problem}\n")


def _play(hearing: "Hearing", catalogue: "Catalogue", locations: Locations) -> int:
    import time

    from quiz.player import open_player
    from quiz.quiet import move_native_noise
    from quiz.settings import load
    from quiz.workbench import open_studio

    move_native_noise(locations.log)
    settings = load(locations.settings).settings
    player = open_player(settings.output_device or None)
    if player.silent:
        return fail(f"{player.silent}; --out FILE.wav or FILE.mid writes it instead", BAD)
    studio = open_studio(catalogue, settings)
    try:
        player.play(studio.prepare(hearing).result().clip)
        _warn(studio)
        while player.position() is not None:
            time.sleep(0.05)
    finally:
        player.close()
        studio.close()
    return OK


def _found(catalogue: "Catalogue", name: str) -> "Device":
    try:
        return catalogue.find(name)
    except MusicInputError as error:
        raise NotFound(str(error)) from error


def _key(text: str) -> "Key":
    from engine.notation import NoteNames, parse_key
    from quiz.settings import load

    return parse_key(text, NoteNames(load(locate().settings).settings.note_names))


# --- history ------------------------------------------------------------------------------------


def run_scores(options: "Namespace") -> int:
    """`lastbar scores`."""
    from quiz.scores import as_csv, as_data, scores
    from quiz.store import open_store

    store = open_store(locate().history)
    try:
        result = scores(store)
    finally:
        store.close()
    if options.json:
        _say_data(as_data(result))
    elif options.csv:
        sys.stdout.write(as_csv(result))
    else:
        for line in _score_lines(result):
            _say(line)
    return OK


def _score_lines(result: "Scores") -> Iterator[str]:
    if not result.weeks:
        yield "No answers yet."
        return
    groups = (
        ("By week", result.weeks),
        ("By kind", result.kinds),
        ("By device", result.devices),
        ("By key", result.keys),
    )
    for title, counts in groups:
        yield title
        for count in counts:
            low, high = count.interval
            yield (
                f"  {count.name:<30}{count.right:>5} of {count.answers:<5}"
                f"{count.accuracy:>5.0%}  (95 %: {low:.0%} to {high:.0%})"
            )
    if result.confusions:
        yield "Mistaken"
        for row in result.confusions:
            yield f"  {row.times:>3} x  {row.asked} taken for {row.chosen}"


def run_keep(options: "Namespace") -> int:
    """`lastbar keep`."""
    from quiz.backups import backups, daily_backup, newest_sound_backup, restore
    from quiz.clock import now
    from quiz.store import open_store

    locations = locate()
    if options.what == "list":
        for backup in backups(locations.backups):
            _say(str(backup))
    elif options.what == "backup":
        store = open_store(locations.history)
        made = daily_backup(store, locations.backups, now().day)
        store.close()
        _say(str(made) if made else "Today's backup is there already, or there are no answers.")
    elif options.what == "restore":
        chosen = options.file or newest_sound_backup(locations.backups)
        if chosen is None or not chosen.is_file():
            raise NotFound(f"no backup {options.file or 'in ' + str(locations.backups)}")
        aside = restore(chosen, locations.history)
        _say(f"Restored {chosen}." + (f" What was there is now {aside}." if aside else ""))
    else:
        aside = _begin_anew(locations)
        _say("An empty history is there." + (f" What was there is now {aside}." if aside else ""))
    return OK


def run_check(options: "Namespace") -> int:
    """`lastbar check`: exit code 1 when something is missing that is needed."""
    from quiz.check import findings
    from quiz.quiet import move_native_noise

    locations = locate()
    move_native_noise(locations.log)
    found = findings(locations)
    if options.json:
        _say_data(
            {
                "version": VERSION,
                "findings": [
                    {"name": row.name, "works": row.works, "needed": row.needed, "says": row.says}
                    for row in found
                ],
            }
        )
    else:
        for row in found:
            _say(f"{'ok ' if row.works else 'NO '} {row.name:<16}{row.says}")
    return OK if all(row.works or not row.needed for row in found) else BAD
