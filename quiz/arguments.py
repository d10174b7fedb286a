"""What the commands take, and what each argument may be."""

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from engine.neck import LEAST_FRETS, MOST_FRETS, MOST_PATHS
from quiz.commands import assignments, catalogue, exchanging, keeping, scores, sheets, tracks
from quiz.commands import program as program_commands
from quiz.commands.output import BAD
from quiz.display.cautions import CAUTIONS
from quiz.errors import DemonstrationError
from quiz.questions.kinds import ROUND_KINDS
from quiz.version import VERSION

MOST_QUESTIONS = 100_000
MOST_CHORUSES = 400


SHOW_DEMO = (None, "scores")
"""The commands that take --demo; None is the program itself."""


def parsed(arguments: Sequence[str]) -> argparse.Namespace:
    """The command line, read; what it gives has `run`, the command to run.

    Raises DemonstrationError when --demo stands before a command that has none.
    """
    options = parser().parse_args(arguments)
    if options.demo and options.command not in SHOW_DEMO:
        raise DemonstrationError(
            f"--demo was given for '{options.command}': it shows the program itself and `scores`, "
            "so leave it out here"
        )
    return options


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line and ends with this program's exit code."""

    def error(self, message: str) -> NoReturn:
        sys.stderr.write(f"lastbar: {message}. `{self.prog} --help` shows what is allowed.\n")
        raise SystemExit(BAD)


class _Explaining(argparse.HelpFormatter):
    """Help that ends with the open format, field by field; read only when it is asked for."""

    def format_help(self) -> str:
        from quiz.history.exchange_fields import explained

        return f"{super().format_help()}\n{explained()}\n"


def _whole(least: int, most: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        if not text.lstrip("-").isdecimal() or not least <= int(text) <= most:
            raise argparse.ArgumentTypeError(
                f"'{text[:30]}' was given: give a whole number from {least} to {most}"
            )
        return int(text)

    return parse


def parser() -> argparse.ArgumentParser:
    """Reads the command line; what it gives has `run`, the command to run."""
    program = _Parser(
        prog="lastbar",
        description="Ear training for bass players who go to jams. "
        "Without a command it opens the program in the terminal.",
    )
    program.add_argument("--version", action="version", version=f"lastbar {VERSION}")
    program.add_argument(
        "--catalogue",
        action="append",
        default=[],
        type=Path,
        metavar="FILE",
        help="a file with more devices, base patterns and forms; may be given several times",
    )
    program.add_argument(
        "--assignment", type=Path, metavar="FILE", help="what a teacher has set, to work at it"
    )
    program.add_argument(
        "--demo",
        action="store_true",
        help="look at the program, or the scores, of an invented player; nothing of yours is "
        "opened, and nothing is kept",
    )
    program.set_defaults(run=_run_program, command=None)
    added = program.add_subparsers(title="commands", parser_class=_Parser)
    _ask_arguments(added.add_parser("ask", help="the same questions, line by line"))
    devices = added.add_parser("devices", help="the catalogue")
    devices.add_argument(
        "--family", choices=["head", "tail", "pickup", "ending", "base", catalogue.FORM]
    )
    devices.add_argument(
        "--check", type=Path, metavar="FILE", help="say what is wrong with a file of more devices"
    )
    devices.set_defaults(run=catalogue.run_devices)
    spell = added.add_parser("spell", help="a device's notes in a key")
    spell.add_argument("device", metavar="DEVICE", help="an id such as climb or climb+dip")
    spell.add_argument("--key", required=True, metavar="K")
    spell.add_argument("--tuning", metavar="ID", help="an instrument; unset: the settings' one")
    spell.add_argument(
        "--frets",
        type=_whole(LEAST_FRETS, MOST_FRETS),
        metavar="N",
        help="frets of the neck; unset: the settings' number",
    )
    spell.add_argument(
        "--paths",
        type=_whole(1, MOST_PATHS),
        metavar="N",
        help="how many ways to play it are shown, the easiest first",
    )
    spell.set_defaults(run=catalogue.run_spell)
    _hear_arguments(added.add_parser("hear", help="play a device, write it, or name a recording"))
    _track_arguments(added.add_parser("track", help="play-along tracks, as files"))
    _sheet_arguments(added.add_parser("sheet", help="a device or a chorus on paper"))
    shown = added.add_parser("scores", help="scores over weeks")
    _printed_as(shown)
    shown.add_argument("--chart", choices=scores.CHARTS, help="write one chart to a file")
    shown.add_argument("--out", type=Path, metavar="FILE.svg", help="the file of the chart")
    shown.add_argument(
        "--demo",
        action="store_true",
        default=argparse.SUPPRESS,  # it may stand before the command too
        help="the scores of an invented player",
    )
    shown.set_defaults(run=scores.run_scores)
    check = added.add_parser("check", help="what works on this machine")
    check.set_defaults(run=program_commands.run_check)
    for command in (devices, spell, check):
        command.add_argument("--json", action="store_true", help="print data for scripts")
    _keep_arguments(added.add_parser("keep", help="backups, and histories of other machines"))
    _assignment_arguments(added.add_parser("assignment", help="what a teacher sets, and results"))
    for name, command in added.choices.items():
        command.set_defaults(command=name)
    return program


def _printed_as(command: argparse.ArgumentParser) -> None:
    """Words, unless one of these is asked for."""
    forms = command.add_mutually_exclusive_group()
    forms.add_argument("--csv", action="store_true", help="print a table for a spreadsheet")
    forms.add_argument("--json", action="store_true", help="print data for scripts")


def _keep_arguments(keep: argparse.ArgumentParser) -> None:
    what = keep.add_subparsers(title="what", parser_class=_Parser, required=True)
    backup = what.add_parser("backup", help="make a copy of the history, now and for good")
    backup.set_defaults(run=keeping.run_backup)
    listed = what.add_parser("list", help="the copies there are")
    listed.set_defaults(run=keeping.run_list)
    restore = what.add_parser(
        "restore", help="bring a copy back; what is there is set aside and read as far as it goes"
    )
    restore.add_argument(
        "file", nargs="?", type=Path, help="the copy; unset: the one with the most answers"
    )
    restore.set_defaults(run=keeping.run_restore)
    check = what.add_parser("check", help="whether the history is sound")
    check.set_defaults(run=keeping.run_check_history)
    fresh = what.add_parser("fresh", help="set the history aside and begin an empty one")
    fresh.set_defaults(run=keeping.run_fresh)
    export = what.add_parser(
        "export",
        help="write all answers as open text; --help explains every field",
        formatter_class=_Explaining,
    )
    export.set_defaults(run=exchanging.run_export)
    export.add_argument("--force", action="store_true", help="write over a file that is there")
    import_ = what.add_parser("import", help="take answers in that `keep export` has written")
    import_.set_defaults(run=exchanging.run_import)
    merge = what.add_parser("merge", help="take in another machine's history, or its export")
    merge.set_defaults(run=exchanging.run_merge)
    for command, file in (
        (export, "where to, such as answers.jsonl"),
        (import_, "what `keep export` has written"),
        (merge, "the other machine's history.db, or its export; it is only read"),
    ):
        command.add_argument("file", type=Path, metavar="FILE", help=file)
    for command in (import_, merge):
        command.add_argument(
            "--dry-run", action="store_true", help="say what would come in, and change nothing"
        )
        command.add_argument("--yes", action="store_true", help="do not ask")
    for command in (backup, listed, restore, check, fresh, export, import_, merge):
        command.add_argument("--json", action="store_true", help="print data for scripts")


def _run_program(options: argparse.Namespace) -> int:
    if options.demo:
        return program_commands.run_demo(options)
    return program_commands.run_app(options.catalogue, options.assignment)


def _assignment_arguments(assignment: argparse.ArgumentParser) -> None:
    what = assignment.add_subparsers(title="what", parser_class=_Parser, required=True)
    check = what.add_parser("check", help="say what is wrong with an assignment")
    check.set_defaults(run=assignments.run_check_assignment)
    results = what.add_parser("results", help="write what was answered, for the teacher")
    results.add_argument("--name", default="", help="the name to give; unset: none")
    results.add_argument("--out", type=Path, required=True, metavar="FILE.json")
    results.set_defaults(run=assignments.run_results)
    for command in (check, results):
        command.add_argument("file", type=Path, metavar="FILE", help="the assignment")
    table = what.add_parser("table", help="read a folder of results into one table")
    table.add_argument("folder", type=Path, metavar="FOLDER")
    _printed_as(table)
    table.set_defaults(run=assignments.run_table)
    check.add_argument("--json", action="store_true", help="print data for scripts")


def _ask_arguments(ask: argparse.ArgumentParser) -> None:
    ask.add_argument("--count", type=_whole(1, MOST_QUESTIONS), metavar="N", help="unset: 12")
    ask.add_argument(
        "--seed",
        type=_whole(0, 2**63 - 1),
        metavar="N",
        help="makes the choice of questions repeatable",
    )
    ask.add_argument(
        "--kind", action="append", default=[], choices=[kind.value for kind in ROUND_KINDS]
    )
    ask.add_argument("--device", action="append", default=[], metavar="ID")
    ask.add_argument("--key", metavar="K")
    ask.add_argument(
        "--clips", type=Path, metavar="FOLDER", help="write what is heard there as WAV files"
    )
    ask.add_argument(
        "--placement",
        action="store_true",
        help="find out what is known already, with at most 24 questions",
    )
    ask.add_argument("--json", action="store_true", help="one JSON object a line")
    ask.description = (
        "Asks line by line. A line is an answer, or one of these words: again, slower, undo (take "
        "back the answer before), ? (see the answer), quit."
    )
    ask.set_defaults(run=program_commands.run_ask)


def _track_arguments(track: argparse.ArgumentParser) -> None:
    track.description = (
        "Choruses to play along with, as sound or MIDI, and the plan of what comes when. Without "
        "--chorus the devices are mixed from the seed. " + " ".join(CAUTIONS)
    )
    track.add_argument(
        "--key",
        required=True,
        metavar="K",
        help="a key, several as A,D,G, or all twelve: fourths, 'fourths from F'; a file for each",
    )
    track.add_argument("--form", default="twelve-bar-five", metavar="ID")
    track.add_argument(
        "--tempo",
        metavar="N",
        help="beats a minute; several as 90,100,120, or a ladder as 90..140+10",
    )
    track.add_argument(
        "--feel", default="shuffle", metavar="F", help="shuffle, straight, swing or slow"
    )
    track.add_argument(
        "--choruses",
        type=_whole(1, MOST_CHORUSES),
        metavar="N",
        help="at each tempo; unset: those that were listed, or 4",
    )
    track.add_argument(
        "--chorus",
        action="append",
        default=[],
        metavar="DEVICES",
        help="the devices of a chorus, such as 'climb+dip, walk-up-one-four@4', behind @ the bar; "
        "given again for the next chorus, and repeated in turn",
    )
    track.add_argument("--device", action="append", default=[], metavar="ID", help="mix only these")
    track.add_argument(
        "--bass",
        choices=["in", "out", "turns"],
        default="in",
        help="out: you play it; turns: every other chorus is yours",
    )
    track.add_argument("--texture", default="band", metavar="T", help="bass, drums or band")
    track.add_argument("--base", metavar="ID", help="the base pattern; unset: the feel's usual one")
    track.add_argument(
        "--seed", type=_whole(0, 2**63 - 1), default=1, metavar="N", help="another mix"
    )
    track.add_argument("--out", type=Path, metavar="FILE", help="a .wav, .flac or .mid file")
    track.add_argument("--force", action="store_true", help="write over files that are there")
    track.add_argument("--plan-only", action="store_true", help="say what would be in it, no more")
    track.add_argument("--json", action="store_true", help="print the plan as data for scripts")
    track.set_defaults(run=tracks.run_track)


def _sheet_arguments(sheet: argparse.ArgumentParser) -> None:
    sheet.description = (
        "A device in a key, or a chorus with chosen devices: as tablature text, as MusicXML, or as "
        "a picture."
    )
    sheet.add_argument(
        "device", nargs="?", metavar="DEVICE", help="an id such as climb or climb+dip"
    )
    sheet.add_argument("--key", required=True, metavar="K")
    sheet.add_argument("--form", metavar="ID", help="a whole chorus of this form")
    sheet.add_argument(
        "--chorus",
        default="",
        metavar="DEVICES",
        help="the devices of a chorus, such as 'climb+dip, walk-up-one-four@4'; behind @ the bar",
    )
    sheet.add_argument("--tempo", type=float, metavar="N", help="beats a minute")
    sheet.add_argument(
        "--feel", default="shuffle", metavar="F", help="shuffle, straight, swing or slow"
    )
    sheet.add_argument("--base", metavar="ID", help="the base pattern; unset: the feel's usual one")
    sheet.add_argument("--tuning", metavar="ID", help="an instrument; unset: the settings' one")
    sheet.add_argument(
        "--seed", type=_whole(0, 2**63 - 1), default=1, metavar="N", help="another base line"
    )
    sheet.add_argument("--ascii", action="store_true", help="draw with plain characters")
    sheet.add_argument(
        "--width", type=_whole(20, 1000), default=80, metavar="N", help="characters a line"
    )
    sheet.add_argument(
        "--out", type=Path, metavar="FILE", help="a .txt, .musicxml, .svg or .pdf file to write"
    )
    sheet.add_argument("--force", action="store_true", help="write over a file that is there")
    sheet.add_argument("--json", action="store_true", help="print data for scripts")
    sheet.set_defaults(run=sheets.run_sheet)


def _hear_arguments(hear: argparse.ArgumentParser) -> None:
    hear.add_argument(
        "device", nargs="?", metavar="DEVICE", help="an id such as climb or climb+dip"
    )
    hear.add_argument(
        "--file",
        type=Path,
        metavar="FILE",
        help="name what was played in a recording of a bass alone, instead of playing",
    )
    hear.add_argument(
        "--key", metavar="K", help="of the figure; with --file the key it is meant in, if known"
    )
    hear.add_argument("--json", action="store_true", help="with --file: print data for scripts")
    hear.add_argument("--tempo", type=float, metavar="N", help="beats a minute")
    hear.add_argument(
        "--feel", default="shuffle", metavar="F", help="shuffle, straight, swing or slow"
    )
    hear.add_argument("--texture", default="band", metavar="T", help="bass, drums or band")
    hear.add_argument(
        "--seed",
        type=_whole(0, 2**63 - 1),
        default=1,
        metavar="N",
        help="another performance of the same passage",
    )
    hear.add_argument("--out", type=Path, metavar="FILE", help="a .wav or .mid file to write")
    hear.set_defaults(run=catalogue.run_hear)
