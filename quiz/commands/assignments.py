"""`lastbar assignment`: looking one over, handing results in, a folder of results as a table."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import amount, shown
from quiz.commands.given import load_own, there
from quiz.commands.output import BAD, OK, history_at, say, say_data, warn
from quiz.errors import AssignmentError, ResultsError
from quiz.locations import locate

if TYPE_CHECKING:
    from argparse import Namespace

    from quiz.teacher.assignment import Assignment
    from quiz.teacher.roster import PlayerLine, Roster


def run_check_assignment(options: "Namespace") -> int:
    """`lastbar assignment check`: every mistake, a line each; exit code 1 when there are some."""
    from quiz.teacher.assignment import load_assignment

    catalogue, file = load_own(options.catalogue), there(options.file)
    try:
        found = load_assignment(file, catalogue)
    except AssignmentError as error:
        if options.json:
            say_data({"file": str(file), "items": 0, "problems": list(error.problems)})
        warn(error.problems)
        return BAD
    if options.json:
        say_data({"file": str(file), "items": found.items, "problems": []})
    else:
        say(f"{file}: '{found.title}' is good. {_words(found)}")
    return OK


def _words(found: "Assignment") -> str:
    until = "" if found.until is None else f", until {found.until}"
    items, a_day = amount(found.items, "item"), amount(found.a_day, "question")
    return f"It asks about {items}, {a_day} a day{until}."


def run_results(options: "Namespace") -> int:
    """`lastbar assignment results`."""
    from quiz.files import write_whole
    from quiz.teacher.assignment import load_assignment
    from quiz.teacher.results import as_text, results_of

    found = load_assignment(there(options.file), load_own(options.catalogue))
    _check_target(options.out)
    store = history_at(locate().history)
    try:
        results = results_of(found, store.answers(assignment=found.id), options.name)
    finally:
        store.close()
    write_whole(options.out, as_text(results))
    say(str(options.out))
    return OK


def _check_target(target: Path) -> None:
    """Refuse a name that the table would pass over, and to write over anything but earlier
    results."""
    from quiz.own_catalogue import is_there
    from quiz.teacher.results import load_results

    if target.suffix.lower() != ".json":
        raise ResultsError(f"{shown(target.name)}: give a file name that ends in .json")
    if not is_there(target):
        return
    try:
        load_results(target)
    except ResultsError as error:
        raise ResultsError(
            f"{target} is there already and holds no results: give another name"
        ) from error


def run_table(options: "Namespace") -> int:
    """`lastbar assignment table`; without --csv and --json it opens in the program."""
    from quiz.commands.program import run_app
    from quiz.teacher.roster import as_csv, read_folder

    folder = there(options.folder)
    if not (options.csv or options.json):
        if sys.stdout.isatty():
            return run_app(options.catalogue, results=folder)
        options.csv = True  # nobody looks at a pipe
    roster = read_folder(folder)
    if options.json:
        say_data(_roster_data(roster))
    else:
        sys.stdout.write(as_csv(roster))
    warn(roster.problems)
    return OK


def _roster_data(roster: "Roster") -> dict[str, object]:
    return {
        "players": [dict(_player_data(player)) for player in roster.players],
        "problems": list(roster.problems),
    }


def _player_data(player: "PlayerLine") -> Iterator[tuple[str, object]]:
    low, high = player.interval
    yield "who", player.who
    yield "assignment", player.assignment
    yield "right", player.right
    yield "answers", player.answers
    yield "low", round(low, 4)
    yield "high", round(high, 4)
    yield "days", player.days
    yield "items", player.items
    yield "items_done", player.done
    yield (
        "lines",
        [
            {
                "device": line.item.device,
                "kind": line.item.kind,
                "right": line.right,
                "answers": line.answers,
            }
            for line in player.lines
        ],
    )
