"""Choosing in steps: where head and tail both vary, first the head, then the tail."""

from collections.abc import Sequence
from dataclasses import dataclass

from engine.catalogue import Catalogue, Device
from quiz.questions import Question


@dataclass(frozen=True, slots=True)
class Choice:
    """What can be picked in one step: a word for each, and the options that are left after it."""

    asks: str
    """What this step is about, such as `bar 11`; empty when there is only one step."""

    words: tuple[str, ...]
    left: tuple[tuple[str, ...], ...]
    """For each word the ids of the options that it leaves; one id ends the choice."""


def choice(question: Question, options: Sequence[str], catalogue: Catalogue) -> Choice:
    """The step that narrows `options`, more than one of the question's own."""
    devices = [catalogue.find(option) for option in options]
    heads = tuple(dict.fromkeys(device.head for device in devices))
    left = tuple(tuple(device.id for device in devices if device.head == head) for head in heads)
    if max(map(len, left)) == 1:
        return Choice("", _names_of_single_step(devices, heads, catalogue), left)
    if len(heads) > 1:
        words = tuple(catalogue.find(head).name for head in heads)
        return Choice(f"bar {question.bar}", words, left)
    words = tuple(_tail_name(device, catalogue) for device in devices)
    return Choice(f"bar {question.bar + 1}", words, tuple((device.id,) for device in devices))


def _names_of_single_step(
    devices: Sequence[Device], heads: Sequence[str], catalogue: Catalogue
) -> tuple[str, ...]:
    """The heads alone where the tails are all the same, else the whole names."""
    if len({device.tail for device in devices} - {None}) > 1:
        return tuple(device.name for device in devices)
    return tuple(catalogue.find(head).name for head in heads)


def _tail_name(device: Device, catalogue: Catalogue) -> str:
    return catalogue.find(device.tail).name if device.tail else device.name
