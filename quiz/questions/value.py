"""A question: everything that was asked, so that it can be heard again years later.

`parameters` and `from_parameters` are inverses; what they exchange is what the history stores.
"""

import json
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from engine.catalogue import Catalogue, Device
from engine.errors import MusicInputError
from engine.feels import find_feel
from engine.neck import MOST_FRETS, USUAL_NECK, Neck, OpenStrings
from engine.notation import parse_key
from engine.score import ELECTRIC_PIANO, ORGAN, Instrument
from engine.textures import find_texture
from engine.theory import Key, Midi
from engine.timing import checked_tempo
from engine.tunings import Tuning
from quiz.errors import AnswerError
from quiz.questions.kinds import KINDS, By, Kind
from quiz.questions.rungs import Told


class Wanted(Enum):
    """What a typed answer is to be given in."""

    DEGREES = "degrees"
    NOTES = "notes"
    EITHER = "either"


UPPER = "upper"
REGISTERS = {"low": 38.0, "high": 50.0, UPPER: 52.0}
"""The height in MIDI numbers that the bass line leans to where it has a choice of octave. In the
upper register it has none: the whole line stands an octave higher than it could."""

VARIED = "+varied"
"""Behind the id of an option: the player says that it came as a variant."""

COMPING: dict[str, Instrument] = {"electric-piano": ELECTRIC_PIANO, "organ": ORGAN}


@dataclass(frozen=True, slots=True)
class Question:
    """One question. It is asked, graded, heard again and recorded from these values alone."""

    kind: Kind
    item: str
    """The id of the row that is being learned: a head, a tail, a pickup or an ending; a form."""

    device: str
    """The id of the whole device that is played, `climb+dip` for the head `climb`; of `place` and
    `form`, which are about a whole chorus, empty."""

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
    """Of kinds with options: ids of whole devices, of `form` those of forms, in the order shown;
    where one is to be picked, the answer is among them."""

    wanted: Wanted = Wanted.EITHER
    """Of typed kinds: what the answer is given in."""

    spelling_counts: bool = False
    """Whether F# for Gb costs; said in the question."""

    placed: tuple[str, ...] = ()
    """Of `place`: all that the chorus holds, as `bar:device`, in the order of the bars."""

    variants: bool = False
    """Whether the player also says if the figure came as a variant."""

    varies: str = ""
    """The id of the option that `device` is a variant of; empty where it came as it is."""

    key_given: bool = True
    """Whether a chord gives the key before the count-in is over."""

    playings: int = 0
    """How often it may be heard before the answer; 0 for as often as one likes."""

    rung: int = -1
    """The rung of `quiz.questions.rungs` that it stands on; -1 where its conditions came from
    elsewhere."""

    neck: Neck | None = None
    """Of `find`: the instrument, written out, so that an own tuning may change or go."""

    told: Told = Told.NAME
    """Of `find`: what is told besides the name."""

    octave_counts: bool = False
    """Of `find`: whether the notes have to lie in the figure's own octave."""

    @property
    def right(self) -> str:
        """Of a choice: the right one of `picks`."""
        return self.varies + VARIED if self.varies else self.device or self.form

    @property
    def picks(self) -> tuple[str, ...]:
        """Of a choice: everything that can be picked."""
        if not self.variants:
            return self.options
        return tuple(pick for option in self.options for pick in (option, option + VARIED))

    @property
    def own_neck(self) -> Neck:
        """The instrument it is answered on; of kinds that need none, the usual one."""
        return self.neck or USUAL_NECK

    @property
    def guess_rate(self) -> float:
        """The chance of a right answer by luck."""
        return _GUESS_RATES[KINDS[self.kind].answered](self)


_GUESS_RATES: Mapping[By, Callable[[Question], float]] = {
    By.CHOICE: lambda question: 1 / len(question.picks),
    By.LINE: lambda question: 0.02,
    By.BARS: lambda question: 0.05,  # a dozen bars, of which one to three are right [chosen here]
    By.NECK: lambda question: 1 / question.own_neck.frets,
    By.PLAYING: lambda question: 0.02,
    By.TICKS: lambda question: 0.5 ** len(question.options),
}


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
            "placed": list(question.placed),
            "variants": question.variants,
            "varies": question.varies,
            "key_given": question.key_given,
            "playings": question.playings,
            "rung": question.rung,
            "neck": _neck_data(question.neck),
            "told": question.told.value,
            "octave_counts": question.octave_counts,
        },
        sort_keys=True,
    )


def from_parameters(text: str) -> Question:
    """The question that `parameters` wrote.

    Raises AnswerError when the text is no such question, or the program does not know a word of
    it (a newer version wrote it). The catalogue is asked only later, when it is played.
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
            form=str(data["form"]),
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
            placed=_texts(data.get("placed", [])),  # what follows came with later versions
            variants=bool(data.get("variants", False)),
            varies=str(data.get("varies", "")),
            key_given=bool(data.get("key_given", True)),
            playings=int(data.get("playings", 0)),
            rung=int(data.get("rung", -1)),
            neck=_neck(data.get("neck")),
            told=Told(data.get("told", Told.NAME.value)),
            octave_counts=bool(data.get("octave_counts", False)),
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


def _neck_data(neck: Neck | None) -> dict[str, object] | None:
    if neck is None:
        return None
    return {
        "tuning": neck.tuning.id,
        "name": neck.tuning.name,
        "strings": [[name, pitch] for name, pitch in neck.tuning.strings],
        "frets": neck.frets,
        "open_strings": neck.open_strings.value,
    }


def _neck(data: Mapping[str, object] | None) -> Neck | None:
    """The neck that `_neck_data` wrote. Raises KeyError, TypeError or ValueError for another."""
    if data is None:
        return None
    strings, frets = data["strings"], data["frets"]
    if not isinstance(strings, list) or not strings or not isinstance(frets, int):
        raise TypeError("the neck has no list of strings, or no number of frets")
    pairs = tuple((str(name), Midi(int(pitch))) for name, pitch in strings)
    if not 1 <= frets <= MOST_FRETS or not all(0 <= pitch <= 127 for _, pitch in pairs):
        raise ValueError(f"a neck with {frets} frets and the strings {pairs}")
    tuning = Tuning(str(data["tuning"]), str(data["name"]), pairs)
    return Neck(tuning, frets, OpenStrings(data["open_strings"]))


def _known(word: str, words: Collection[str]) -> str:
    if word not in words:
        raise ValueError(f"'{word}' is none of {', '.join(words)}")
    return word


def _texts(values: object) -> tuple[str, ...]:
    if not isinstance(values, list):
        raise TypeError("options are no list")
    return tuple(map(str, values))


def _check_places(question: Question) -> None:
    """Bars in order, and a MIDI number; whether the form has them is seen when it is played."""
    if not 1 <= question.first <= question.bar <= question.last:
        raise ValueError(f"bars {question.first}, {question.bar}, {question.last}")
    if not 0 <= question.low <= 127:
        raise ValueError(f"MIDI number {question.low}")
    for placed in question.placed:
        _place(placed)


class Placed(NamedTuple):
    """A device somewhere in a chorus."""

    bar: int
    """Counted from 1."""

    device: str
    """The id of a whole device."""


def _place(text: str) -> Placed:
    bar, _, device = text.partition(":")
    return Placed(int(bar), device)


def placements(question: Question) -> tuple[Placed, ...]:
    """Of `place`: what the chorus holds, in the order of the bars."""
    return tuple(map(_place, question.placed))


def asked_device(question: Question, catalogue: Catalogue) -> Device:
    """The whole device that is played.

    Raises MusicInputError when the catalogue has it no longer.
    """
    return catalogue.find(question.device)
