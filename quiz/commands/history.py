"""`lastbar keep`."""

from typing import TYPE_CHECKING

from quiz.commands.output import OK, NotFound, say
from quiz.commands.program import begin_anew
from quiz.locations import locate

if TYPE_CHECKING:
    from argparse import Namespace


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
