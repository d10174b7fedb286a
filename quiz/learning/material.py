"""What there is to learn: the items, in the order in which they are met."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, zip_longest

from engine.catalogue import Catalogue, Device, Family
from engine.forms import Form
from engine.textures import Texture
from engine.theory import Key
from quiz.errors import QuestionError
from quiz.learning.memory import Item
from quiz.questions.kinds import KINDS, ROUND_KINDS, By, Kind

LEARNED = (Family.HEAD, Family.PICKUP, Family.TAIL, Family.ENDING)
"""The families that are asked about, in the order in which their first devices come; forms come
after them."""

Row = Device | Form
"""What can be asked about."""

FORM = "form"
"""The family that forms count as."""


def family_name(row: Row) -> str:
    """The family of a row, as a word."""
    return FORM if isinstance(row, Form) else row.family.value


def learning_order(catalogue: Catalogue) -> tuple[Row, ...]:
    """The rows to learn: a head, a pickup, a tail, an ending and a form in turn.

    Within a family the order is that of the catalogue file.
    """
    families: list[Sequence[Row]] = [catalogue.family(family) for family in LEARNED]
    rounds: Sequence[Sequence[Row | None]] = list(zip_longest(*families, catalogue.forms))
    return tuple(row for row in chain.from_iterable(rounds) if row is not None)


def find_row(name: str, catalogue: Catalogue) -> Row:
    """The device or the form of an id.

    Raises MusicInputError when the catalogue has neither.
    """
    for form in catalogue.forms:
        if form.id == name:
            return form
    return catalogue.find(name)


def can_ask(row: Row, kind: Kind) -> bool:
    """Whether a row of the catalogue makes sense as a question of that kind.

    `place` asks for pickups, and by the tail that stays home for choruses with nothing in them;
    `fit` asks for the chords of heads, variants left out: their chords are those of their model.
    """
    if isinstance(row, Form):
        return kind is Kind.FORM
    if row.family in (Family.BASE, Family.TURNAROUND):
        return False
    return _ASKABLE.get(kind, _never)(row)


def _never(_device: Device) -> bool:
    return False


def _can_place(device: Device) -> bool:
    if device.family is Family.PICKUP:
        arrival, change = device.pattern.arrival, device.change
        assert arrival is not None  # every pickup has one,
        assert change is not None  # and serves a change
        at_home = arrival.degree.pitch_class == change.there.pitch_class
        return at_home and not device.plain  # another arrival would change the bar behind it too
    return device.family is Family.TAIL and device.plain


_ASKABLE: Mapping[Kind, Callable[[Device], bool]] = {
    Kind.NAME: lambda device: True,
    Kind.WRITE: lambda device: device.worth_spelling,
    Kind.SPELL: lambda device: device.worth_spelling,
    Kind.PLACE: _can_place,
    Kind.FIND: lambda device: device.worth_spelling,
    Kind.PLAY: lambda device: device.worth_spelling,
    Kind.FIT: lambda device: device.family is Family.HEAD and device.variant_of is None,
}


def kinds_of(row: Row) -> tuple[Kind, ...]:
    """The kinds in which a row can be asked in a round."""
    return tuple(kind for kind in ROUND_KINDS if can_ask(row, kind))


@dataclass(frozen=True, slots=True)
class Given:
    """Conditions that somebody has set; None leaves them to the player's reach."""

    tempo: tuple[float, float] | None = None
    """The slowest and the fastest, beats a minute."""

    texture: Texture | None = None


REACH = Given()
"""Nothing is set."""


@dataclass(frozen=True, slots=True)
class Only:
    """What a round is limited to; an empty field limits nothing."""

    kinds: tuple[Kind, ...] = ()
    devices: tuple[str, ...] = ()
    """Ids of catalogue rows, forms among them."""

    keys: tuple[Key, ...] = ()
    silent: bool = False
    """Whether nothing can be heard, so that only kinds that need no ear are asked."""

    playing: bool = False
    """Whether there is an instrument to play on; without one nothing asks to be played."""

    given: Given = REACH
    """Conditions that are set, whatever the player's reach."""

    assignment: str = ""
    """The id of the assignment that these limits come from; empty without one."""


def items_within(only: Only, catalogue: Catalogue) -> tuple[Item, ...]:
    """All material within some limits, in the order of learning.

    Raises QuestionError when they leave nothing.
    """
    items = tuple(
        Item(row.id, kind.value)
        for row in learning_order(catalogue)
        for kind in kinds_of(row)
        if (not only.kinds or kind in only.kinds)
        and (not only.devices or row.id in only.devices)
        and (not only.silent or not KINDS[kind].heard)
        and (only.playing or KINDS[kind].answered is not By.PLAYING)
    )
    if not items and set(only.kinds) == {Kind.PLAY} and not only.playing:
        raise QuestionError(
            f"'{KINDS[Kind.PLAY].label}' needs an instrument: choose one in the settings "
            "(`lastbar check` says what is there)"
        )
    if not items:
        raise QuestionError(
            "nothing is left to ask with these limits: allow other kinds or devices"
        )
    return items
