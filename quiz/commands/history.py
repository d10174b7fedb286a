"""`lastbar scores` and `lastbar keep`."""

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from quiz.answers import INVENTED
from quiz.commands.catalogue import load_own, named
from quiz.commands.output import OK, NotFound, say, say_data, warn
from quiz.commands.program import begin_anew
from quiz.locations import Locations, locate

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue
    from quiz.scores import Scores


def run_scores(options: "Namespace") -> int:
    """`lastbar scores`."""
    if not options.demo:
        return _show_scores(options, load_own(options.catalogue), locate())
    from quiz.demonstration import demonstration
    from quiz.own_catalogue import load_catalogue

    with demonstration() as folders:
        loaded = load_catalogue((folders.catalogue, *named(options.catalogue)))
        warn(loaded.problems)
        return _show_scores(options, loaded.catalogue, folders)


def _show_scores(options: "Namespace", catalogue: "Catalogue", locations: Locations) -> int:
    """Print the scores of a history; those of the invented player say so, whatever the format."""
    from quiz.history.store import open_store
    from quiz.scores import as_csv, as_data, scores

    store = open_store(locations.history)
    try:
        result = scores(store)
    finally:
        store.close()
    if options.json:
        say_data(({"player": INVENTED} if options.demo else {}) | as_data(result))
    elif options.csv:
        text = as_csv(result)
        sys.stdout.write(_with_player(text) if options.demo else text)
    else:
        if options.demo:
            from quiz.demonstration import MARK

            say(MARK)
        for line in _score_lines(result, catalogue):
            say(line)
    return OK


def _with_player(table: str) -> str:
    """A table with one column more, which says in every row that the player is invented."""
    head, *rows = table.splitlines()
    return "\n".join([f"{head},player", *(f"{row},{INVENTED}" for row in rows), ""])


def _score_lines(result: "Scores", catalogue: "Catalogue") -> Iterator[str]:
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
            name = catalogue.name(count.name) if counts is result.devices else count.name
            yield (
                f"  {name:<46}{count.right:>5} of {count.answers:<5}"
                f"{count.accuracy:>5.0%}  (95 %: {low:.0%} to {high:.0%})"
            )
    if result.confusions:
        yield "Mistaken"
        for row in result.confusions:
            asked, chosen = catalogue.name(row.asked), catalogue.name(row.chosen)
            yield f"  {row.times:>3} x  {asked} taken for {chosen}"


def run_keep(options: "Namespace") -> int:
    """`lastbar keep`."""
    from quiz.clock import now
    from quiz.history.backups import backups, daily_backup, newest_sound_backup, restore
    from quiz.history.store import open_store

    locations = locate()
    if options.what == "list":
        for backup in backups(locations.backups):
            say(str(backup))
    elif options.what == "backup":
        store = open_store(locations.history)
        made = daily_backup(store, locations.backups, now().day)
        store.close()
        say(str(made) if made else "Today's backup is there already, or there are no answers.")
    elif options.what == "restore":
        chosen = options.file or newest_sound_backup(locations.backups)
        if chosen is None or not chosen.is_file():
            raise NotFound(f"no backup {options.file or 'in ' + str(locations.backups)}")
        aside = restore(chosen, locations.history)
        say(f"Restored {chosen}." + (f" What was there is now {aside}." if aside else ""))
    else:
        aside = begin_anew(locations)
        say("An empty history is there." + (f" What was there is now {aside}." if aside else ""))
    return OK
