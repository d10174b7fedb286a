"""The demonstration: the program on the history of an invented player, in a temporary folder.

Nothing of the user's own is opened, settings included, and nothing is left behind.
"""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from quiz.answers import INVENTED
from quiz.clock import now
from quiz.history.store import open_store
from quiz.learners.invented import answers_up_to, settings
from quiz.locations import Locations
from quiz.settings.file import save

MARK = "Invented player: none of this is yours, none is kept"
"""What stands on every screen."""


@contextmanager
def demonstration() -> Iterator[Locations]:
    """Folders with the settings and the history of the invented player, up to yesterday; they are
    gone afterwards.

    Raises DemonstrationError when the invented answers cannot be read, StoreUnwritable when there
    is no room for a copy.
    """
    # on Windows a file that something still holds cannot go: better a folder left than an error
    with TemporaryDirectory(prefix="lastbar-demo-", ignore_cleanup_errors=True) as folder:
        locations = Locations(Path(folder) / "config", Path(folder) / "data")
        save(settings(), locations.settings)
        with closing(open_store(locations.history)) as store:
            store.name(INVENTED)
            store.take_in(answers_up_to(now().day - 1))
        yield locations
