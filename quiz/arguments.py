"""What the commands take, and what each argument may be."""

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

from engine.neck import LEAST_FRETS, MOST_FRETS, MOST_PATHS
from quiz.commands import assignments, catalogue, history, scores
from quiz.commands import program as program_commands
from quiz.commands.output import BAD
from quiz.kinds import ROUND_KINDS
from quiz.version import VERSION

MOST_QUESTIONS = 100_000


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line and ends with this program's exit code."""

    def error(self, message: str) -> NoReturn:
        sys.stderr.write(f"lastbar: {message}. `{self.prog} --help` shows what is allowed.\n")
        raise SystemExit(BAD)


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
    program.set_defaults(
        run=lambda options: program_commands.run_app(options.catalogue, options.assignment)
    )
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
    shown = added.add_parser("scores", help="scores over weeks")
    shown.add_argument("--csv", action="store_true", help="print a table for a spreadsheet")
    shown.add_argument("--chart", choices=scores.CHARTS, help="write one chart to a file")
    shown.add_argument("--out", type=Path, metavar="FILE.svg", help="the file of the chart")
    shown.set_defaults(run=scores.run_scores)
    check = added.add_parser("check", help="what works on this machine")
    check.set_defaults(run=program_commands.run_check)
    for command in (devices, spell, shown, check):
        command.add_argument("--json", action="store_true", help="print data for scripts")
    keep = added.add_parser("keep", help="backups of the history")
    keep.add_argument("what", choices=["list", "backup", "restore", "fresh"])
    keep.add_argument("file", nargs="?", type=Path, help="the backup to restore; unset: the newest")
    keep.set_defaults(run=history.run_keep)
    _assignment_arguments(added.add_parser("assignment", help="what a teacher sets, and results"))
    return program


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
    table.add_argument("--csv", action="store_true", help="print a table for a spreadsheet")
    table.set_defaults(run=assignments.run_table)
    for command in (check, table):
        command.add_argument("--json", action="store_true", help="print data for scripts")


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
