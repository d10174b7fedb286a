"""Choosing in steps: where head and tail both vary, first the head, then the tail; where a figure
may come as a variant, first the figure, then how it came."""

from collections.abc import Sequence
from dataclasses import dataclass

from engine.catalogue import Catalogue, Device
from quiz.questions.kinds import Kind
from quiz.questions.value import VARIED, Question


@dataclass(frozen=True, slots=True)
class Choice:
    """What can be picked in one step: a word for each, and the picks that are left after it."""

    asks: str
    """What this step is about, such as `bar 11`; empty when there is only one step."""

    words: tuple[str, ...]
    left: tuple[tuple[str, ...], ...]
    """For each word the picks that it leaves; one pick ends the choice."""


def choice(question: Question, picks: Sequence[str], catalogue: Catalogue) -> Choice:
    """The step that narrows `picks`, more than one of the question's own."""
    if question.kind is Kind.FORM:
        return Choice("", tuple(map(catalogue.name, picks)), tuple((pick,) for pick in picks))
    if question.variants:
        return _with_variants(question, picks, catalogue)
    devices = [catalogue.find(pick) for pick in picks]
    heads = tuple(dict.fromkeys(device.head for device in devices))
    left = tuple(tuple(device.id for device in devices if device.head == head) for head in heads)
    if max(map(len, left)) == 1:
        return Choice("", _names_of_single_step(devices, heads, catalogue), left)
    if len(heads) > 1:
        words = tuple(catalogue.find(head).name for head in heads)
        return Choice(f"bar {question.bar}", words, left)
    words = tuple(_tail_name(device, catalogue) for device in devices)
    return Choice(f"bar {question.bar + 1}", words, tuple((device.id,) for device in devices))


def _with_variants(question: Question, picks: Sequence[str], catalogue: Catalogue) -> Choice:
    figures = tuple(dict.fromkeys(pick.removesuffix(VARIED) for pick in picks))
    if len(figures) == 1:
        return Choice("how it came", ("as it is", "a variant"), tuple((pick,) for pick in picks))
    devices = [catalogue.find(figure) for figure in figures]
    heads = tuple(dict.fromkeys(device.head for device in devices))
    words = (
        tuple(device.name for device in devices)
        if len(heads) < len(devices)
        else _names_of_single_step(devices, heads, catalogue)
    )
    left = tuple((figure, figure + VARIED) for figure in figures)
    return Choice("the figure", words, left)


def _names_of_single_step(
    devices: Sequence[Device], heads: Sequence[str], catalogue: Catalogue
) -> tuple[str, ...]:
    """The heads alone where the tails are all the same, else the whole names."""
    if len({device.tail for device in devices} - {None}) > 1:
        return tuple(device.name for device in devices)
    return tuple(catalogue.find(head).name for head in heads)


def _tail_name(device: Device, catalogue: Catalogue) -> str:
    return catalogue.find(device.tail).name if device.tail else device.name
