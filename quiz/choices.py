"""Choosing in steps: where head and tail both vary, first the head, then the tail."""

from collections.abc import Sequence
from dataclasses import dataclass

from engine.catalogue import Catalogue, Device, Family
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
    heads = list(dict.fromkeys(device.head for device in devices))
    in_two = any(device.family is Family.TURNAROUND for device in devices)
    if in_two and len(heads) > 1:
        varied = len({device.tail for device in devices}) > 1
        left = tuple(tuple(device.id for device in devices if device.head == head)
                     for head in heads)
        words = tuple(catalogue.find(head).name for head in heads)
        if all(len(ids) == 1 for ids in left) and varied:
            return Choice("", tuple(device.name for device in devices), left)
        return Choice(f"bar {question.bar}", words, left)
    if in_two:
        words = tuple(_tail_name(device, catalogue) for device in devices)
        return Choice(f"bar {question.bar + 1}", words, tuple((device.id,) for device in devices))
    return Choice("", tuple(device.name for device in devices),
                  tuple((device.id,) for device in devices))


def _tail_name(device: Device, catalogue: Catalogue) -> str:
    return catalogue.find(device.tail).name if device.tail else device.name
