"""A question: everything that was asked, so that it can be heard again years later.

`parameters` and `from_parameters` are inverses; what they exchange is what the history stores.
"""

import json
from collections.abc import Collection
from dataclasses import dataclass
from enum import Enum

from engine.catalogue import Catalogue, Device
from engine.errors import MusicInputError
from engine.feels import find_feel
from engine.forms import find_form
from engine.notation import parse_key
from engine.score import ELECTRIC_PIANO, ORGAN, Instrument, find_texture
from engine.theory import Key, Midi
from engine.timing import checked_tempo
from quiz.errors import AnswerError
from quiz.kinds import Kind


class Wanted(Enum):
    """What a typed answer is to be given in."""

    DEGREES = "degrees"
    NOTES = "notes"
    EITHER = "either"


REGISTERS = {"low": 38.0, "high": 50.0}
"""The height in MIDI numbers that the bass line leans to where it has a choice of octave."""

COMPING: dict[str, Instrument] = {"electric-piano": ELECTRIC_PIANO, "organ": ORGAN}


@dataclass(frozen=True, slots=True)
class Question:
    """One question. It is asked, graded, heard again and recorded from these values alone."""

    kind: Kind
    item: str
    """The id of the row that is being learned: a head, a tail, a pickup or an ending."""

    device: str
    """The id of the whole device that is played, `climb+dip` for the head `climb`."""

    key: Key
    tempo: float
    feel: str
    texture: str
    form: str
    base: str
    """The id of the base pattern around the device."""

    bar: int
    """The bar of the form in which the device starts, counted from 1."""

    first: int
    """The first bar of the excerpt, counted from 1."""

    last: int
    """The last whole bar of the excerpt; the downbeat after it is always played."""

    low: Midi
    """The lowest note the bass may use."""

    register: str
    """A key of REGISTERS."""

    comping: str
    """A key of COMPING."""

    seed: int
    options: tuple[str, ...] = ()
    """Of `name`: ids of whole devices, the answer among them, in the order shown."""

    wanted: Wanted = Wanted.EITHER
    """Of typed kinds: what the answer is given in."""

    spelling_counts: bool = False
    """Whether F# for Gb costs; said in the question."""

    @property
    def guess_rate(self) -> float:
        """The chance of a right answer by luck."""
        return 1 / len(self.options) if self.options else 0.02


@dataclass(frozen=True, slots=True)
class Next:
    """A question and why it is asked."""

    question: Question
    why: str
    days: int = 0
    """Practice days since its item was last asked; 0 for one that is new."""


def parameters(question: Question) -> str:
    """The question as JSON text, keys in alphabetical order."""
    return json.dumps(
        {
            "kind": question.kind.value,
            "item": question.item,
            "device": question.device,
            "key": str(question.key),
            "tempo": question.tempo,
            "feel": question.feel,
            "texture": question.texture,
            "form": question.form,
            "base": question.base,
            "bar": question.bar,
            "first": question.first,
            "last": question.last,
            "low": question.low,
            "register": question.register,
            "comping": question.comping,
            "seed": question.seed,
            "options": list(question.options),
            "wanted": question.wanted.value,
            "spelling_counts": question.spelling_counts,
        },
        sort_keys=True,
    )


def from_parameters(text: str) -> Question:
    """The question that `parameters` wrote.

    Raises AnswerError when the text is no such question, or the program does not know a word of
    it (a newer version wrote it). The catalogue is asked only later, by `asked_device`.
    """
    try:
        data = json.loads(text)
        question = Question(
            kind=Kind(data["kind"]),
            item=str(data["item"]),
            device=str(data["device"]),
            key=parse_key(data["key"]),
            tempo=checked_tempo(data["tempo"]),
            feel=find_feel(data["feel"]).value,
            texture=find_texture(data["texture"]).value,
            form=find_form(data["form"]).id,
            base=str(data["base"]),
            bar=int(data["bar"]),
            first=int(data["first"]),
            last=int(data["last"]),
            low=Midi(int(data["low"])),
            register=_known(data["register"], REGISTERS),
            comping=_known(data["comping"], COMPING),
            seed=int(data["seed"]),
            options=_texts(data["options"]),
            wanted=Wanted(data["wanted"]),
            spelling_counts=bool(data["spelling_counts"]),
        )
        _check_places(question)
    except (
        KeyError,
        TypeError,
        ValueError,
        AttributeError,
        OverflowError,
        RecursionError,
        MusicInputError,
    ) as error:
        raise AnswerError(
            f"this question cannot be opened again ({error}): it was written by another version"
        ) from error
    return question


def _known(word: str, words: Collection[str]) -> str:
    if word not in words:
        raise ValueError(f"'{word}' is none of {', '.join(words)}")
    return word


def _texts(values: object) -> tuple[str, ...]:
    if not isinstance(values, list):
        raise TypeError("options are no list")
    return tuple(map(str, values))


def _check_places(question: Question) -> None:
    """Bars that lie in the form, in order, and a MIDI number."""
    bars = len(find_form(question.form))
    if not 1 <= question.first <= question.bar <= question.last <= bars:
        raise ValueError(f"bars {question.first}, {question.bar}, {question.last} of {bars}")
    if not 0 <= question.low <= 127:
        raise ValueError(f"MIDI number {question.low}")


def asked_device(question: Question, catalogue: Catalogue) -> Device:
    """The whole device that is played.

    Raises MusicInputError when the catalogue has it no longer.
    """
    return catalogue.find(question.device)
