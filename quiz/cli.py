"""The command line: the one place that reads arguments, wires things up and prints.

Exit codes: 0 all went well; 1 wrong use or bad input; 2 not found. Errors are one line on stderr
that says what to do.
"""

import argparse
import gc
import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from engine.catalogue import Catalogue, Device, builtin_catalogue
from engine.errors import EngineError, MusicInputError
from quiz.errors import QuizError, StoreDamaged
from quiz.kinds import Kind
from quiz.locations import Locations, locate
from quiz.version import VERSION

if TYPE_CHECKING:
    from engine.theory import Key
    from quiz.hearing import Hearing
    from quiz.scores import Scores

OK, BAD, NOT_FOUND = 0, 1, 2
MOST_QUESTIONS = 100_000


class NotFound(Exception):
    """What was asked for does not exist."""


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line and ends with this program's exit code."""

    def error(self, message: str) -> NoReturn:
        sys.stderr.write(f"lastbar: {message}. `{self.prog} --help` shows what is allowed.\n")
        raise SystemExit(BAD)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program; gives the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a locale that lacks a sign gets a ? instead
            stream.reconfigure(errors="replace")
    given = sys.argv[1:] if arguments is None else list(arguments)
    try:
        if not given:
            return _run_app()  # the program itself is not kept waiting by the parser of the others
        options = _parser().parse_args(given)
        run: Callable[[argparse.Namespace], int] = options.run
        return run(options)
    except NotFound as error:
        return _fail(str(error), NOT_FOUND)
    except StoreDamaged as error:
        return _fail(f"{error}. It is left as it is: `lastbar keep restore` sets it aside and "
                     "takes the newest backup, `lastbar keep fresh` sets it aside and starts "
                     "anew", BAD)
    except (EngineError, QuizError) as error:
        return _fail(str(error), BAD)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except KeyboardInterrupt:
        return BAD


def _fail(message: str, code: int) -> int:
    sys.stderr.write(f"lastbar: {' '.join(message.split())}\n")
    return code


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _say_data(data: object) -> None:
    _say(json.dumps(data, ensure_ascii=False))


# --- the program --------------------------------------------------------------------------------


def _run_app() -> int:
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
    _say(f"The file will be kept under another name. What now?\n{offer}n  start with an empty "
         "history\nEnter alone ends the program and changes nothing.")
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


def _run_ask(options: argparse.Namespace) -> int:
    from quiz.ask import LineRound, Said
    from quiz.coach import Only
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


def _run_devices(options: argparse.Namespace) -> int:
    rows = [device for device in builtin_catalogue().devices
            if options.family in (None, device.family.value)]
    if options.json:
        _say_data({"devices": [
            {"id": device.id, "name": device.name, "family": device.family.value,
             "bars": list(device.bars), "degrees": str(device.pattern),
             "serves": str(device.change) if device.change else None,
             "says": device.says, "source": device.source}
            for device in rows
        ]})
        return OK
    for device in rows:
        bars = ",".join(map(str, device.bars))
        _say(f"{device.id:<28}{device.family.value:<8} bar {bars:<6} {device.pattern}")
        _say(f"{'':<28}{device.name}. {device.says}")
    return OK


def _run_spell(options: argparse.Namespace) -> int:
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
        "device": device.id, "key": str(key),
        "degrees": [str(note.degree) for note in shape.notes],
        "notes": [str(note.note) for note in shape.notes],
        "midi": list(shape.pitches),
        "positions": [{"string": string, "fret": place.fret}
                      for string, place in zip(strings, places, strict=True)],
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


def _run_hear(options: argparse.Namespace) -> int:
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
    hearing = Hearing(device.id, _key(options.key), tempo, feel, find_texture(options.texture),
                      settings.comping, options.seed)
    if options.out is not None:
        return _write(hearing, options.out, catalogue, locations)
    return _play(hearing, catalogue, locations)


def _write(hearing: "Hearing", target: Path, catalogue: Catalogue, locations: Locations) -> int:
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
    except OSError as error:
        raise MusicInputError(
            f"{target} cannot be written ({error.strerror}): give a folder that exists and can "
            "be written") from error
    _say(str(target))
    return OK


def _play(hearing: "Hearing", catalogue: Catalogue, locations: Locations) -> int:
    import time

    from quiz.player import open_player
    from quiz.quiet import move_native_noise
    from quiz.settings import load
    from quiz.workbench import open_studio

    move_native_noise(locations.log)
    settings = load(locations.settings).settings
    player = open_player(settings.output_device or None)
    if player.silent:
        return _fail(f"{player.silent}; --out FILE.wav or FILE.mid writes it instead", BAD)
    studio = open_studio(catalogue, settings)
    try:
        player.play(studio.prepare(hearing).result().clip)
        while player.position() is not None:
            time.sleep(0.05)
    finally:
        player.close()
        studio.close()
    return OK


def _found(catalogue: Catalogue, name: str) -> Device:
    try:
        return catalogue.find(name)
    except MusicInputError as error:
        raise NotFound(str(error)) from error


def _key(text: str) -> "Key":
    from engine.notation import NoteNames, parse_key
    from quiz.settings import load

    return parse_key(text, NoteNames(load(locate().settings).settings.note_names))


# --- history ------------------------------------------------------------------------------------


def _run_scores(options: argparse.Namespace) -> int:
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
    groups = (("By week", result.weeks), ("By kind", result.kinds),
              ("By device", result.devices), ("By key", result.keys))
    for title, counts in groups:
        yield title
        for count in counts:
            low, high = count.interval
            yield (f"  {count.name:<30}{count.right:>5} of {count.answers:<5}"
                   f"{count.accuracy:>5.0%}  (95 %: {low:.0%} to {high:.0%})")
    if result.confusions:
        yield "Mistaken"
        for row in result.confusions:
            yield f"  {row.times:>3} x  {row.asked} taken for {row.chosen}"


def _run_keep(options: argparse.Namespace) -> int:
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


def _run_check(options: argparse.Namespace) -> int:
    from quiz.check import findings
    from quiz.quiet import move_native_noise

    locations = locate()
    move_native_noise(locations.log)
    found = findings(locations)
    if options.json:
        _say_data({"version": VERSION, "findings": [
            {"name": row.name, "works": row.works, "needed": row.needed, "says": row.says}
            for row in found]})
    else:
        for row in found:
            _say(f"{'ok ' if row.works else 'NO '} {row.name:<16}{row.says}")
    return OK if all(row.works or not row.needed for row in found) else BAD


# --- arguments ----------------------------------------------------------------------------------


def _whole(least: int, most: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        if not text.lstrip("-").isdecimal() or not least <= int(text) <= most:
            raise argparse.ArgumentTypeError(
                f"'{text[:30]}' was given: give a whole number from {least} to {most}")
        return int(text)
    return parse


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="lastbar", description="Ear training for bass players who go to jams. "
                     "Without a command it opens the program in the terminal.")
    parser.add_argument("--version", action="version", version=f"lastbar {VERSION}")
    parser.set_defaults(run=lambda _options: _run_app())
    commands = parser.add_subparsers(title="commands", parser_class=_Parser)
    _ask_arguments(commands.add_parser("ask", help="the same questions, line by line"))
    devices = commands.add_parser("devices", help="the catalogue")
    devices.add_argument("--family", choices=["head", "tail", "pickup", "ending", "base"])
    devices.set_defaults(run=_run_devices)
    spell = commands.add_parser("spell", help="a device's notes in a key")
    spell.add_argument("device", metavar="DEVICE", help="an id such as climb or climb+dip")
    spell.add_argument("--key", required=True, metavar="K")
    spell.add_argument("--tuning", metavar="ID", help="an instrument; unset: the settings' one")
    spell.set_defaults(run=_run_spell)
    _hear_arguments(commands.add_parser("hear", help="play a device, or write it to a file"))
    shown = commands.add_parser("scores", help="scores over weeks")
    shown.add_argument("--csv", action="store_true", help="print a table for a spreadsheet")
    shown.set_defaults(run=_run_scores)
    check = commands.add_parser("check", help="what works on this machine")
    check.set_defaults(run=_run_check)
    for command in (devices, spell, shown, check):
        command.add_argument("--json", action="store_true", help="print data for scripts")
    keep = commands.add_parser("keep", help="backups of the history")
    keep.add_argument("what", choices=["list", "backup", "restore", "fresh"])
    keep.add_argument("file", nargs="?", type=Path, help="the backup to restore; unset: the newest")
    keep.set_defaults(run=_run_keep)
    return parser


def _ask_arguments(ask: argparse.ArgumentParser) -> None:
    ask.add_argument("--count", type=_whole(1, MOST_QUESTIONS), default=12, metavar="N")
    ask.add_argument("--seed", type=_whole(0, 2**63 - 1), metavar="N",
                     help="makes the choice of questions repeatable")
    ask.add_argument("--kind", action="append", default=[], choices=[kind.value for kind in Kind])
    ask.add_argument("--device", action="append", default=[], metavar="ID")
    ask.add_argument("--key", metavar="K")
    ask.add_argument("--clips", type=Path, metavar="FOLDER",
                     help="write what is heard there as WAV files")
    ask.add_argument("--json", action="store_true", help="one JSON object a line")
    ask.set_defaults(run=_run_ask)


def _hear_arguments(hear: argparse.ArgumentParser) -> None:
    hear.add_argument("device", metavar="DEVICE", help="an id such as climb or climb+dip")
    hear.add_argument("--key", required=True, metavar="K")
    hear.add_argument("--tempo", type=float, metavar="N", help="beats a minute")
    hear.add_argument("--feel", default="shuffle", metavar="F",
                      help="shuffle, straight, swing or slow")
    hear.add_argument("--texture", default="band", metavar="T", help="bass, drums or band")
    hear.add_argument("--seed", type=_whole(0, 2**63 - 1), default=1, metavar="N",
                      help="another performance of the same passage")
    hear.add_argument("--out", type=Path, metavar="FILE", help="a .wav or .mid file to write")
    hear.set_defaults(run=_run_hear)


if __name__ == "__main__":
    raise SystemExit(main())
