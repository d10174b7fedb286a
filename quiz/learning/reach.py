"""The reach: how far a player has come with an item, harder as it gets easy.

A rung of the kind's ladder, and a tempo. Both are a fold over the answers in the order of
(time, id), apart from the memory of `quiz.learning.memory`: that says when an item is due,
this says how hard it is asked.

The rung follows the staircase of H. Levitt, J. Acoust. Soc. Am. 49 (1971), 467-477: three right
answers running lead one rung up, one wrong answer leads one down, which settles where three right
answers running are as likely as not, at 0.5 ** (1/3) = 79.4 % right.

The tempo follows the weighted up-down rule of C. Kaernbach, Perception & Psychophysics 49 (1991),
227-229 (10.3758/bf03214307): a right answer leads up by step (1 - GOAL) octaves, a wrong one down
by step GOAL, which settles at GOAL right. An octave is twice the tempo. What moves is shared out
between the learner, the device and the item, so that a device that has never been met in a kind
starts at the tempo that suits the player and the device.

Where nothing is heard before the answer, the rung moves and the tempo does not.

Only an answer to a question that stood at the reach counts, played as it was asked: one that was
pinned or set by an assignment, slowed down or stopped says nothing of it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log2
from typing import NamedTuple

from engine.errors import amount
from engine.textures import Texture
from quiz.answers import Outcome
from quiz.learning.memory import RIGHT_FROM, Item
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.rungs import LADDERS, Rung, Told

RIGHT_RUN = 3
"""Right answers running that lead one rung up. [Levitt 1971]"""

FIRST_RUNG = 1
"""Where the very first item of a kind starts: bass and drums, where the kind has that. [chosen
here, no source]"""

GOAL = 0.82
"""The share of right answers at which the tempo settles. [chosen here, no source]"""

START_TEMPO = 88.0
"""Beats a minute before the first answer: on the easy side. [chosen here, no source]"""

SLOWEST, FASTEST, TEMPO_STEP = 50, 220, 2
"""Beats a minute that a reach may have, even numbers. The feels live between them."""

CLEARLY = 0.1
"""A tempo more than this share from the reach is clearly slower, or clearly faster."""

_LAST_RUNGS = {kind.value: len(ladder) - 1 for kind, ladder in LADDERS.items()}
_UNHEARD = frozenset(kind.value for kind in LADDERS if not KINDS[kind].heard)
_LOWEST, _HIGHEST = log2(SLOWEST / START_TEMPO), log2(FASTEST / START_TEMPO)

WHO_PLAYS = {
    Texture.BASS: "bass alone",
    Texture.DRUMS: "bass and drums",
    Texture.BAND: "whole band",
}
NO_BASS = "band without the bass"
"""Who plays when the bass is what is asked for."""

OFFERED = {Kind.NAME: "option", Kind.PLACE: "pickup", Kind.FIT: "figure", Kind.FORM: "form"}
"""What the options of a rung are, for the kinds whose rungs have some."""


TOLD_WORDS = {
    Told.NOTES: "note names shown",
    Told.DEGREES: "degrees shown",
    Told.NAME: "only the name shown",
}


class TempoRule(NamedTuple):
    """How far an answer moves the tempo, and whose offset takes how much of it."""

    step: float
    """Octaves: a right answer and a wrong one are this far apart."""

    learner: float
    """The share that goes to the learner's offset; the three shares make 1."""

    device: float
    item: float


TEMPO_RULE = TempoRule(step=0.2, learner=0.1, device=0.4, item=0.5)
"""Chosen here by simulation, tests/bench/bench_reach.py."""


class ItemReach(NamedTuple):
    """How far the player has come with one item."""

    rung: int
    """The place on the ladder of its kind, 0 the easiest."""

    run: int
    """Right answers running at this rung, fewer than RIGHT_RUN."""

    octaves: float
    """The item's own offset of the tempo."""


@dataclass(frozen=True, slots=True)
class Reaches:
    """All reaches. An item is in them from the first answer that counts."""

    learner: float = 0.0
    """Octaves over START_TEMPO that all items share."""

    devices: Mapping[str, float] = field(default_factory=dict)
    """Octaves that the items of a device share."""

    items: Mapping[Item, ItemReach] = field(default_factory=dict)

    def rung(self, item: Item) -> int:
        """The rung at which an item is asked; -1 where its kind has no ladder.

        A new one starts where its kind usually stands: at the lower median of the rungs of the
        kind's items. The very first of a kind starts at FIRST_RUNG.
        """
        known = self.items.get(item)
        return known.rung if known else _first_rung(item.kind, self.items)

    def tempo(self, item: Item) -> float:
        """The tempo at which an item is asked, beats a minute: an even number from SLOWEST to
        FASTEST."""
        known = self.items.get(item)
        own = known.octaves if known else 0.0
        octaves = self.learner + self.devices.get(item.device, 0.0) + own
        return float(TEMPO_STEP * round(_beats_a_minute(octaves) / TEMPO_STEP))

    def after(self, answer: Outcome) -> "Reaches":
        """With one answer more, later than all before."""
        moving = Moving(self)
        moving.take(answer)
        return moving.reaches()


class Moving:
    """Reaches while a run of answers is taken in, one by one and in place: for folds alone."""

    __slots__ = ("_devices", "_items", "_learner", "_rule")

    def __init__(self, start: Reaches, rule: TempoRule = TEMPO_RULE) -> None:
        """Goes on from `start`, which stays as it is."""
        self._learner = start.learner
        self._devices = dict(start.devices)
        self._items = dict(start.items)
        self._rule = rule

    def reaches(self) -> Reaches:
        """What has been reached; answers that are taken later do not change it."""
        return Reaches(self._learner, dict(self._devices), dict(self._items))

    def take(self, answer: Outcome) -> None:
        """Take in an answer, later than all before."""
        if counts(answer):
            right = answer.score >= RIGHT_FROM
            self.move(Item(answer.device, answer.kind), answer.rung, answer.tempo, right)

    def move(self, item: Item, rung: int, tempo: float, right: bool) -> None:
        """Move by an answer to a question that was asked at `rung` and `tempo`; its kind has a
        ladder."""
        known = self._items.get(item) or ItemReach(_first_rung(item.kind, self._items), 0, 0.0)
        if item.kind in _UNHEARD:
            climbed = _climbed(known.rung, known.run, rung, right, _LAST_RUNGS[item.kind])
            self._items[item] = ItemReach(*climbed, known.octaves)
            self._devices.setdefault(item.device, 0.0)
            return
        of_device, rule = self._devices.get(item.device, 0.0), self._rule
        octaves = _moved(self._learner + of_device + known.octaves, tempo, right, rule.step)
        self._learner += rule.learner * octaves
        self._devices[item.device] = of_device + rule.device * octaves
        self._items[item] = ItemReach(
            *_climbed(known.rung, known.run, rung, right, _LAST_RUNGS[item.kind]),
            known.octaves + rule.item * octaves,
        )


def counts(answer: Outcome) -> bool:
    """Whether an answer may move a reach: its question stood on a ladder, and was neither slowed
    down nor stopped."""
    return (
        answer.rung >= 0
        and not answer.slowed
        and not answer.interrupted
        and answer.kind in _LAST_RUNGS
    )


def reach_words(rung: Rung, tempo: float, kind: Kind) -> str:
    """A rung and a tempo in plain words: "bass alone, 3 options, 96 bpm". Where nothing is heard
    before the answer: what is shown."""
    if not KINDS[kind].heard:
        return TOLD_WORDS[rung.told] + (", the octave counts" if rung.octave_counts else "")
    words = (
        NO_BASS if kind is Kind.FIT else WHO_PLAYS[rung.texture],
        _offered(rung, kind),
        "with variants" if rung.variants else "",
        "" if rung.key_given else "key from what is played",
        f"at most {amount(rung.playings, 'playing')}" if rung.playings else "",
        f"{tempo:g} bpm",
    )
    return ", ".join(word for word in words if word)


def _offered(rung: Rung, kind: Kind) -> str:
    """How many are offered, in the word of the kind; empty where it offers none."""
    if not rung.options or kind not in OFFERED:
        return ""
    if kind is Kind.PLACE:  # what it offers is not chosen from but to be found
        return f"at most {amount(rung.options, OFFERED[kind])}"
    return amount(rung.options, f"near {OFFERED[kind]}" if rung.near else OFFERED[kind])


def _first_rung(kind: str, items: Mapping[Item, ItemReach]) -> int:
    last = _LAST_RUNGS.get(kind)
    if last is None:
        return -1
    rungs = sorted(reach.rung for item, reach in items.items() if item.kind == kind)
    if not rungs:
        return min(FIRST_RUNG, last)
    return rungs[(len(rungs) - 1) // 2]


def _climbed(at: int, run: int, asked: int, right: bool, last: int) -> tuple[int, int]:
    """Rung and run after an answer to a question that was asked at rung `asked`."""
    if right and asked >= at:
        run += 1
        return (min(at + 1, last), 0) if run == RIGHT_RUN else (at, run)
    if not right and asked <= at:
        return max(0, at - 1), 0
    return at, run  # right where it was easier, or wrong where it was harder: nothing new


def _moved(octaves: float, asked: float, right: bool, step: float) -> float:
    """Octaves by which an answer to a question asked at tempo `asked` moves a reach at `octaves`,
    up to the end of the range."""
    reach = _beats_a_minute(octaves)
    if right:
        slower = asked < reach * (1 - CLEARLY)
        return 0.0 if slower else max(0.0, min(step * (1 - GOAL), _HIGHEST - octaves))
    faster = asked > reach * (1 + CLEARLY)
    return 0.0 if faster else min(0.0, max(-step * GOAL, _LOWEST - octaves))


def _beats_a_minute(octaves: float) -> float:
    """The tempo that lies so far over START_TEMPO, held between SLOWEST and FASTEST."""
    return float(START_TEMPO * 2.0 ** min(max(octaves, _LOWEST), _HIGHEST))
