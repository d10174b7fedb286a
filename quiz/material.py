"""What there is to learn: the items, in the order in which they are met."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, zip_longest

from engine.catalogue import Catalogue, Device, Family
from engine.theory import Key
from quiz.errors import QuestionError
from quiz.kinds import KINDS, Kind
from quiz.memory import Item

LEARNED = (Family.HEAD, Family.PICKUP, Family.TAIL, Family.ENDING)
"""The families that are asked about, in the order in which their first devices come."""


def learning_order(catalogue: Catalogue) -> tuple[Device, ...]:
    """The devices to learn, a head, a pickup, a tail and an ending in turn.

    Within a family the order is that of the catalogue file.
    """
    families = [catalogue.family(family) for family in LEARNED]
    rounds: Sequence[Sequence[Device | None]] = list(zip_longest(*families))
    return tuple(device for device in chain.from_iterable(rounds) if device is not None)


def can_ask(device: Device, kind: Kind) -> bool:
    """Whether a row of the catalogue makes sense as a question of that kind."""
    if device.family in (Family.BASE, Family.TURNAROUND):
        return False
    return kind is Kind.NAME or device.worth_spelling


def kinds_of(device: Device) -> tuple[Kind, ...]:
    """The kinds in which a device can be asked."""
    return tuple(kind for kind in Kind if can_ask(device, kind))


@dataclass(frozen=True, slots=True)
class Only:
    """What a round is limited to; an empty field limits nothing."""

    kinds: tuple[Kind, ...] = ()
    devices: tuple[str, ...] = ()
    """Ids of catalogue rows."""

    key: Key | None = None
    silent: bool = False
    """Whether nothing can be heard, so that only kinds that need no ear are asked."""


def items_within(only: Only, catalogue: Catalogue) -> tuple[Item, ...]:
    """All material within some limits, in the order of learning.

    Raises QuestionError when they leave nothing.
    """
    items = tuple(
        Item(device.id, kind.value)
        for device in learning_order(catalogue)
        for kind in kinds_of(device)
        if (not only.kinds or kind in only.kinds)
        and (not only.devices or device.id in only.devices)
        and (not only.silent or not KINDS[kind].heard)
    )
    if not items:
        raise QuestionError(
            "nothing is left to ask with these limits: give another --kind or --device"
        )
    return items
