"""`lastbar` and `lastbar ask`; what works on this machine."""

import gc
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from quiz.commands.given import key_of, load_own, named, there
from quiz.commands.output import BAD, OK, found, say, say_data, waiting, warn
from quiz.errors import QuestionError, StoreDamaged
from quiz.locations import Locations, locate
from quiz.version import VERSION

if TYPE_CHECKING:
    from argparse import Namespace

    from quiz.app import LastbarApp
    from quiz.workbench import Workbench

USUAL_COUNT = 12
"""Questions of `lastbar ask` where nobody says how many."""

FEW_PROBLEMS = 3
"""Problems of a catalogue that the screen shows one by one."""


def run_app(
    catalogue_files: Sequence[Path] = (),
    assignment: Path | None = None,
    results: Path | None = None,
    demo: Locations | None = None,
) -> int:
    """The program in the terminal, with the rows of some files beside the player's own.

    `assignment` is a file whose assignment the player works at; `results` is a folder of results
    that is shown first; `demo` are the folders of the demonstration, in place of the user's.
    """
    from quiz.sound.player import LatePlayer
    from quiz.sound.quiet import move_native_noise
    from quiz.workbench import open_workbench

    gc.disable()  # hundreds of classes are being made and none goes; the app enables it again
    files = named(catalogue_files)
    for path in filter(None, (assignment, results)):
        there(path)
    locations = demo or locate()
    move_native_noise(locations.log)
    try:
        bench = open_workbench(locations, LatePlayer, catalogue_files=files, waiting=waiting)
    except StoreDamaged as error:
        if not sys.stdin.isatty():
            raise
        _decide(error, locations)
        bench = open_workbench(locations, LatePlayer, catalogue_files=files, waiting=waiting)
    from quiz.app import LastbarApp

    if assignment is not None:
        bench.assign(assignment)
    bench.ascii_terminal = "utf" not in (sys.stdout.encoding or "").lower()
    app = LastbarApp(bench, results, _mark(demo))
    bench.tell = lambda problems: notify_few(app, problems)
    try:
        app.run()
    finally:
        bench.close()
    return OK


def _mark(demo: Locations | None) -> str:
    if demo is None:
        return ""
    from quiz.learners.demonstration import MARK

    return MARK


def run_demo(options: "Namespace") -> int:
    """`lastbar --demo`: the program on the history of an invented player."""
    from quiz.errors import DemonstrationError
    from quiz.learners.demonstration import demonstration

    if options.assignment is not None:
        raise DemonstrationError(
            "--demo and --assignment were given together: an invented player has no teacher, so "
            "leave one of them out"
        )
    with demonstration() as folders:
        return run_app(options.catalogue, demo=folders)


def notify_few(app: "LastbarApp", problems: Sequence[str]) -> None:
    """Show the first problems of a catalogue on the screen, and how many there are besides."""
    lines = list(problems[:FEW_PROBLEMS])
    if left := len(problems) - len(lines):
        lines.append(f"{left} more: `lastbar devices --check FILE` tells them all.")
    for line in lines:
        app.notify(line, severity="warning", markup=False, timeout=15)


def _decide(error: StoreDamaged, locations: Locations) -> None:
    """Ask what to do with a damaged history. Anything but a clear choice changes nothing."""
    from quiz.history.backups import restore

    say(f"{error}.")
    offer = f"r  take the newest backup ({error.backup.name})\n" if error.backup else ""
    say(
        f"The file will be kept under another name. What now?\n{offer}n  start with an empty "
        "history\nEnter alone ends the program and changes nothing."
    )
    choice = sys.stdin.readline().strip().lower()
    if choice == "r" and error.backup is not None:
        restore(error.backup, locations.history)
    elif choice == "n":
        begin_anew(locations)
    else:
        raise error


def begin_anew(locations: Locations) -> Path | None:
    """Make an empty history; what stood there is set aside, and its new name given."""
    from quiz.history.backups import make_room
    from quiz.history.store import open_store

    aside = make_room(locations.history)
    open_store(locations.history).close()
    return aside


def run_ask(options: "Namespace") -> int:
    """`lastbar ask`."""
    from quiz.ask import LineRound, Said
    from quiz.learning.material import Only, find_row
    from quiz.questions.kinds import Kind
    from quiz.sound.quiet import move_native_noise
    from quiz.workbench import open_workbench

    _refuse_both(options)
    catalogue = load_own(options.catalogue)
    rows = (found(lambda row: find_row(row, catalogue), name) for name in options.device)
    kinds = tuple(Kind(name) for name in options.kind)
    keys = (key_of(options.key),) if options.key else ()
    locations = locate()
    move_native_noise(locations.log)
    only = Only(kinds, tuple(row.id for row in rows), keys)
    bench = open_workbench(locations, only=only, seed=options.seed, waiting=waiting)
    bench.catalogue = catalogue  # read and complained about once
    if options.assignment is not None:
        bench.assign(there(options.assignment))
    _find_instrument(bench, asked_for=Kind.PLAY in kinds)
    count = options.count or USUAL_COUNT
    if options.placement:
        bench.place(silent_too=options.clips is not None)
        count = options.count or bench.coach.probes_left
    elif not kinds and options.clips is None:
        bench.fresh_coach()  # nobody asked for what cannot be heard
    warn([*bench.problems, *([bench.player.silent] if bench.player.silent else [])])

    def tell(said: Said) -> None:
        say_data(said.data) if options.json else say(said.text)

    try:
        LineRound(bench, tell, options.clips).run(_lines(), count)
    finally:
        bench.close()
    return OK


def _find_instrument(bench: "Workbench", asked_for: bool) -> None:
    """Open what is to be played on, if it is chosen.

    Raises QuestionError where only that was asked for and it does not open.
    """
    if not asked_for and not bench.playable:
        return
    problem = bench.try_instrument()
    if problem and asked_for:
        raise QuestionError(problem)


def _refuse_both(options: "Namespace") -> None:
    """An assignment says what is asked, and so does a placement."""
    given = [f"--{name}" for name in ("kind", "device", "key") if getattr(options, name)]
    for name in ("assignment", "placement"):
        others = [*given, "--placement"] if options.placement and name == "assignment" else given
        if getattr(options, name) and others:
            raise QuestionError(
                f"--{name} was given with {' and '.join(others)}: it says itself what is asked, so "
                "leave the other away"
            )


def _lines() -> Iterator[str]:
    """The lines of standard input, whatever bytes they hold."""
    for raw in sys.stdin.buffer:
        yield raw.decode("utf-8", errors="replace").rstrip("\r\n")


def run_check(options: "Namespace") -> int:
    """`lastbar check`: exit code 1 when something is missing that is needed."""
    from quiz.check import findings
    from quiz.sound.quiet import move_native_noise

    locations = locate()
    move_native_noise(locations.log)
    found = findings(locations)
    if options.json:
        say_data(
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
            say(f"{'ok ' if row.works else 'NO '} {row.name:<16}{row.says}")
    return OK if all(row.works or not row.needed for row in found) else BAD
