"""What there is to learn: the items, in the order in which they are met."""

from collections.abc import Sequence
from itertools import chain, zip_longest

from engine.catalogue import Catalogue, Device, Family
from quiz.kinds import Kind

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
