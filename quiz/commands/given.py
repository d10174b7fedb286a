"""What commands are given: files, keys, and the player's own rows beside the built-in ones."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from engine.errors import printable
from quiz.commands.output import NotFound, warn
from quiz.locations import locate

if TYPE_CHECKING:
    from engine.catalogue import Catalogue
    from engine.theory import Key


def named(files: Sequence[Path]) -> Sequence[Path]:
    """The files, when they are all there."""
    for file in files:
        there(file)
    return files


def there(path: Path) -> Path:
    """A file or folder that was named; raises NotFound when nothing has that name."""
    from quiz.own_catalogue import is_there

    if not is_there(path):
        name = printable(str(path))
        raise NotFound(f"there is no file {name}: give the name of one that is there")
    return path


def load_own(files: Sequence[Path]) -> "Catalogue":
    """The built-in rows, the player's own and those of the named files; says what is wrong."""
    from quiz.own_catalogue import load_catalogue

    loaded = load_catalogue((locate().catalogue, *named(files)))
    warn(loaded.problems)
    return loaded.catalogue


def key_of(text: str) -> "Key":
    """A key that was named, in the player's note names."""
    from engine.notation import NoteNames, parse_key
    from quiz.settings.values import load

    return parse_key(text, NoteNames(load(locate().settings).settings.note_names))
