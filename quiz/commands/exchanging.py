"""`lastbar keep`: export, import, merge."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import amount
from quiz.commands.given import there
from quiz.commands.keeping import history_open
from quiz.commands.output import BAD, OK, say, say_data, waiting, warn
from quiz.locations import Locations, locate

if TYPE_CHECKING:
    from argparse import Namespace

    from quiz.history.merging import Coming, Source
    from quiz.history.store import Store


def run_export(options: "Namespace") -> int:
    """`lastbar keep export`."""
    from quiz.files import check_free
    from quiz.history.exchange import export

    check_free(options.file, options.force)
    with history_open(locate()) as store, waiting("Writing") as progress:
        done = export(store, options.file, progress)
    if options.json:
        say_data({"file": str(options.file), "answers": done.answers, "undos": done.undos})
    else:
        say(
            f"Written: {amount(done.answers, 'answer')} and {amount(done.undos, 'undo')} "
            f"in {options.file}"
        )
    return OK


def run_import(options: "Namespace") -> int:
    """`lastbar keep import`: exit code 1 when something in the file was wrong; the rest is in."""
    from quiz.history.exchange import ExportFile

    return _take_in(ExportFile(there(options.file)), options)


def run_merge(options: "Namespace") -> int:
    """`lastbar keep merge`."""
    from quiz.history.merging import source_of

    return _take_in(source_of(there(options.file)), options)


def _take_in(source: "Source", options: "Namespace") -> int:
    from quiz.history.merging import foresee

    locations = locate()
    with history_open(locations) as store:
        with waiting("Reading") as progress:
            coming = foresee(store, source, progress)
        problems = _problems(source, coming)
        backup = None
        wanted = bool(coming.new and not options.dry_run)
        asked = wanted and sys.stdin.isatty() and not (options.yes or options.json)
        if asked:
            wanted = _agreed(source.path, coming)
        if wanted:
            backup = _merged(store, source, locations)
    if options.json:
        say_data(_coming_data(source, coming, problems, wanted, backup))
    else:
        if not asked:
            for line in _coming_lines(source.path, coming):
                say(line)
        if wanted:
            say("They are in the history now.")
        if backup:
            say(f"The history as it was before: {backup}")
        warn(problems)
    return BAD if problems else OK


def _agreed(path: Path, coming: "Coming") -> bool:
    """Whether somebody at the terminal wants it: what is in stays in."""
    for line in _coming_lines(path, coming):
        say(line)
    say("A backup is made first. Take them in? y and Enter: yes; Enter alone: no")
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def _merged(store: "Store", source: "Source", locations: Locations) -> Path | None:
    """Take in; gives the copy that was made before, None when there was nothing to copy."""
    from quiz.history.kept import copy_before
    from quiz.history.merging import merge

    backup = copy_before(store, locations.backups) if store.count() else None
    with waiting("Taking in") as progress:
        merge(store, source, progress)
    with waiting("Working out what is known now") as progress:
        store.practice(progress)
    return backup


def _problems(source: "Source", coming: "Coming") -> list[str]:
    """What was wrong with the source, a line each."""
    from quiz.history.exchange import ExportFile

    problems = []
    if isinstance(source, ExportFile):
        problems += [f"{source.path}, line {bad.number}: {bad.says}" for bad in source.bad]
        if more := source.bad_lines - len(source.bad):
            problems.append(f"{source.path}: {amount(more, 'more bad line')}")
        problems += [
            f"{source.path}: the field '{name}' is unknown and was left out, "
            f"in {amount(lines, 'line')}"
            for name, lines in source.unknown.items()
        ]
        problems += [f"{source.path}: {source.end}"] if source.end else []
    if coming.invented:
        problems.append(
            f"{source.path}: {amount(coming.invented, 'answer is', 'answers are')} invented, as a "
            "demonstration makes them: a real history takes none in"
        )
    if coming.differing:
        problems.append(
            f"{source.path}: {amount(coming.differing, 'record differs', 'records differ')} from "
            "what is here under the same id: what is here stays"
        )
    return problems


def _coming_data(
    source: "Source", coming: "Coming", problems: list[str], taken: bool, backup: Path | None
) -> dict[str, object]:
    from quiz.answers import date_of

    first, last = coming.first_day, coming.last_day
    return {
        "file": str(source.path),
        "taken_in": taken,
        "new_answers": coming.answers,
        "new_undos": coming.undos,
        "known": coming.known,
        "differing": coming.differing,
        "invented": coming.invented,
        "first_day": None if first is None else date_of(first).isoformat(),
        "last_day": None if last is None else date_of(last).isoformat(),
        "origins": dict(coming.origins),
        "problems": problems,
        "backup": str(backup) if backup else None,
    }


def _coming_lines(path: Path, coming: "Coming") -> Iterator[str]:
    """What a source brings, and from where."""
    from quiz.answers import date_of

    if not coming.new:
        yield f"Nothing new in {path}."
    else:
        yield f"New in {path}:"
    if coming.first_day is not None and coming.last_day is not None:
        span = f"{date_of(coming.first_day)} to {date_of(coming.last_day)}"
        yield f"  {amount(coming.answers, 'answer')}, {span}"
    for origin, answers in sorted(coming.origins.items()):
        yield f"    {answers} recorded by the installation {origin}"
    if coming.undos:
        yield f"  {amount(coming.undos, 'answer')} taken back"
    yield f"  {amount(coming.known, 'record is', 'records are')} here already"
