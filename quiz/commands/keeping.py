"""`lastbar keep`: back up, list, restore, check, fresh."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from engine.errors import amount
from quiz.commands.output import BAD, NOT_FOUND, OK, NotFound, fail, say, say_data, waiting, warn
from quiz.commands.program import begin_anew
from quiz.locations import Locations, locate

if TYPE_CHECKING:
    from argparse import Namespace

    from quiz.history.kept import Copy, Findings
    from quiz.history.store import Store


@contextmanager
def history_open(locations: Locations) -> Iterator["Store"]:
    """The history, with all in it that has been waiting beside it.

    Raises StoreDamaged and the other errors of a store.
    """
    from quiz.history.backups import open_kept
    from quiz.history.unsaved import take_in

    store = open_kept(locations.history, locations.backups)
    try:
        take_in(locations.unsaved, store.take_in)
        yield store
    finally:
        store.close()


def run_backup(options: "Namespace") -> int:
    """`lastbar keep backup`."""
    from quiz.clock import now
    from quiz.history.kept import copy_asked_for

    locations = locate()
    with history_open(locations) as store:
        if not store.count():
            return fail("there are no answers to back up yet", BAD)
        made, answers = copy_asked_for(store, locations.backups, now().day), store.count()
    if options.json:
        say_data({"backup": str(made), "answers": answers})
    else:
        say(f"Backed up: {amount(answers, 'answer')} in {made}")
    return OK


def run_list(options: "Namespace") -> int:
    """`lastbar keep list`."""
    from quiz.history.kept import copies

    found = list(copies(locate().backups))
    if options.json:
        say_data({"backups": [_copy_data(copy) for copy in found]})
    elif not found:
        say(f"No backups in {locate().backups} yet: each day's first start makes one.")
    for copy in found if not options.json else ():
        answers = "not sound" if copy.answers is None else amount(copy.answers, "answer")
        say(f"{copy.why:<16}{answers:>16}  {copy.path}")
    return OK


def _copy_data(copy: "Copy") -> dict[str, object]:
    return {
        "file": str(copy.path),
        "why": copy.why,
        "sound": copy.answers is not None,
        "answers": copy.answers,
        "problem": copy.problem or None,
    }


def run_restore(options: "Namespace") -> int:
    """`lastbar keep restore`."""
    from quiz.history.backups import newest_sound_backup, restore
    from quiz.history.store import answers_in

    locations = locate()
    chosen = options.file or newest_sound_backup(locations.backups)
    if chosen is None or not chosen.is_file():
        place = options.file or f"in {locations.backups}"
        raise NotFound(f"no backup {place}: `lastbar keep list` names those there are")
    aside = restore(chosen, locations.history)
    copied, there = answers_in(chosen), answers_in(locations.history)
    if options.json:
        data = {"restored": str(chosen), "aside": str(aside) if aside else None}
        say_data(data | {"answers": there, "saved": there - copied})
        return OK
    say(f"Restored {chosen}: {amount(there, 'answer')}.")
    if aside:
        saved = amount(there - copied, "answer of it was", "answers of it were")
        say(f"What was there is now {aside}; {saved} taken over.")
    return OK


def run_fresh(options: "Namespace") -> int:
    """`lastbar keep fresh`."""
    aside = begin_anew(locate())
    if options.json:
        say_data({"aside": str(aside) if aside else None})
    else:
        say("An empty history is there." + (f" What was there is now {aside}." if aside else ""))
    return OK


def run_check_history(options: "Namespace") -> int:
    """`lastbar keep check`: exit code 1 when something is wrong with the history."""
    from quiz.history.kept import WRONG, look_through
    from quiz.history.unsaved import read_unsaved

    locations = locate()
    if not locations.history.exists():
        return fail(
            f"there is no history {locations.history} yet: the first answer makes one, or "
            "`lastbar keep restore` brings a backup back",
            NOT_FOUND,
        )
    with waiting("Looking through the history") as progress:
        found = look_through(locations.history, progress)
    if found.practice == WRONG:
        found = _mended(found, locations)
    unsaved = len(read_unsaved(locations.unsaved).answers)
    if options.json:
        say_data(_findings_data(found, unsaved))
    else:
        for line in _finding_lines(found, unsaved):
            say(line)
        warn(found.problems)
    return BAD if found.problems else OK


def _mended(found: "Findings", locations: Locations) -> "Findings":
    """What is kept beside the answers is worked out anew; the answers are the truth."""
    with history_open(locations) as store, waiting("Working it out anew") as progress:
        store.forget_practice()
        store.practice(progress)
    *others, wrong = found.problems
    return found._replace(problems=(*others, f"{wrong}: it has been worked out anew"))


def _findings_data(found: "Findings", unsaved: int) -> dict[str, object]:
    from quiz.answers import date_of

    first, last = found.first_day, found.last_day
    return {
        "file": str(found.path),
        "sound": not found.problems,
        "problems": list(found.problems),
        "answers": found.answers,
        "taken_back": found.taken_back,
        "days": found.days,
        "first_day": None if first is None else date_of(first).isoformat(),
        "last_day": None if last is None else date_of(last).isoformat(),
        "installations": found.installations,
        "format": found.format,
        "practice": found.practice or None,
        "waiting": unsaved,
    }


def _finding_lines(found: "Findings", unsaved: int) -> Iterator[str]:
    from quiz.answers import date_of

    yield f"{found.path}: {'sound' if not found.problems else 'NOT SOUND'}"
    if found.first_day is not None and found.last_day is not None:
        span = f"{date_of(found.first_day)} to {date_of(found.last_day)}"
        yield f"  answers         {found.answers}, {found.taken_back} of them taken back"
        yield f"  practice days   {found.days}, {span}"
        yield f"  recorded by     {amount(found.installations, 'installation')}"
    elif not found.problems:
        yield "  no answers yet"
    if found.practice:
        yield f"  the schedule    {found.practice}"
    if unsaved:
        yield f"  waiting         {amount(unsaved, 'answer')} for the next start"
