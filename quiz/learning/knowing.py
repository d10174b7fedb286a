"""What the player sees as known: a layer over the memory states that learns from the answers.

A memory state predicts by rule; whether that holds for this player shows only in their answers. The
layer is a logistic regression, learned answer by answer:

    known = 1 / (1 + exp(-sum of weight * feature))
    chance of a right answer = known + (1 - known) * guess rate

Its features are always 1; the log odds of the state's recall; how often the item was right, and
wrong (logarithms); whether it was right last time; the logarithms of the days since and of the
stability; one for the kind and one for the key of the answer. Before the first answer the weights
give the state's own recall back.

The step is that of an extended Kalman filter in which every weight keeps a variance of its own and
no covariances, known as a decoupled one (G. V. Puskorius and L. A. Feldkamp, IJCNN 1991, from
memory). On simulated learners of two families it came within 0.003 of the log loss of the full
filter, at a few microseconds an answer. Two weights are held on their side of 0, that of the recall
and that of the days, so that nothing becomes better known by waiting.

Only answers that were foreseen count, the first of an item on a practice day but not its very
first: the others say nothing about remembering. What was predicted before each of them is kept
against what happened, in ten bins, for the memory state alone and for this layer. It is for what is
shown; the schedule does not look at it.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from math import exp, log, log1p
from typing import NamedTuple

from quiz.learning.memory import Item, State, recall

FEATURES = ("always", "recall", "right", "wrong", "last", "days", "stability")
"""The weights that every answer has; those of kinds and keys stand under their own names."""

_RECALL, _DAYS = FEATURES.index("recall"), FEATURES.index("days")

START = (0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
"""The weights of FEATURES before the first answer: the recall as it is."""

SPREAD = (0.3, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1)
"""Their variances before the first answer. [these and the next: chosen here on simulated learners;
what lies near does as well]"""

_NEW_KIND, _NEW_KEY = (0.0, 0.1), (0.0, 0.02)
"""Weight and variance of a kind and of a key before the first answer."""

DRIFT = 1e-6
"""What a variance gains with each answer that uses it: a player changes over the years. [chosen
here, no source]"""

SURE = 0.98
"""Recalls are taken as between 1 - SURE and SURE: a state is never that sure."""

FURTHEST = 8.0
"""Log odds beyond which nothing is believed; 8 is 0.9997."""

BINS = 10


class Weight(NamedTuple):
    """A weight of the layer."""

    value: float
    variance: float


class Bin(NamedTuple):
    """Answers whose predicted chance lay in one tenth of 0 to 1."""

    answers: int = 0
    predicted: float = 0.0
    """The sum of the predicted chances."""

    right: int = 0
    """Right answers."""


Bins = tuple[Bin, ...]
"""BINS of them, the lowest chances first."""


@dataclass(frozen=True, slots=True)
class Knowing:
    """The layer as it stands after some answers. Before the first it trusts the memory state."""

    weights: tuple[Weight, ...] = tuple(map(Weight, START, SPREAD))
    """Of FEATURES."""

    kinds: Mapping[str, Weight] = field(default_factory=dict)
    keys: Mapping[str, Weight] = field(default_factory=dict)
    """Kinds and keys of which nothing is known yet are missing; they weigh 0."""

    raw: Bins = (Bin(),) * BINS
    """The predictions of the memory state alone."""

    shown: Bins = (Bin(),) * BINS
    """The predictions of this layer."""

    def known(self, item: Item, state: State | None, day: int, key: str = "") -> float:
        """How likely the item is known on a practice day, 0 to 1; 0 where it was never asked.

        Without a key: in one of average difficulty. On the day of its last answer an item is taken
        as known as it will be a day later: nothing sooner is ever foreseen, so nothing sooner is
        learned.
        """
        if state is None:
            return 0.0
        day = max(day, state.day + 1)
        weights = [weight.value for weight in self.weights]
        odds = sum(map(float.__mul__, weights, _features(state, day, recall(state, day))))
        odds += self.kinds[item.kind].value if item.kind in self.kinds else 0.0
        odds += self.keys[key].value if key in self.keys else 0.0
        return _known(odds)

    def chance(
        self, item: Item, state: State | None, day: int, guess_rate: float = 0.0, key: str = ""
    ) -> float:
        """How likely a right answer is on a practice day, 0 to 1: known, or guessed."""
        known = self.known(item, state, day, key)
        return known + (1 - known) * guess_rate

    def take(self, seen: "Seen") -> "Knowing":
        """With one answer more, later than all before."""
        learning = Learning(self)
        learning.take(*seen)
        return learning.knowing()


class Seen(NamedTuple):
    """A foreseen answer, and what was remembered of its item before it."""

    kind: str
    key: str
    guess_rate: float
    right: bool
    state: State
    day: int
    """The practice day of the answer, later than `state.day`."""

    recalled: float
    """The recall of `state` on that day."""


class Learning:
    """A `Knowing` while a run of answers is taken in, one by one and in place: for folds alone."""

    __slots__ = ("_keys", "_kinds", "_raw", "_shown", "_values", "_variances")

    def __init__(self, start: Knowing) -> None:
        """Goes on from `start`, which stays as it is."""
        self._values = [weight.value for weight in start.weights]
        self._variances = [weight.variance for weight in start.weights]
        self._kinds = dict[str, tuple[float, float]](start.kinds)
        self._keys = dict[str, tuple[float, float]](start.keys)
        self._raw = [list(row) for row in start.raw]
        self._shown = [list(row) for row in start.shown]

    def knowing(self) -> Knowing:
        """What has been learned; answers that are taken later do not change it."""
        return Knowing(
            tuple(map(Weight, self._values, self._variances)),
            {name: Weight(*weight) for name, weight in self._kinds.items()},
            {name: Weight(*weight) for name, weight in self._keys.items()},
            _bins(self._raw),
            _bins(self._shown),
        )

    def take(
        self,
        kind: str,
        key: str,
        guess_rate: float,
        right: bool,
        state: State,
        day: int,
        recalled: float,
    ) -> None:
        """Take in a foreseen answer, later than all before; the parts are those of `Seen`.

        Written out weight by weight: a replay comes by here a million times. In order of FEATURES,
        w are the weights, v their variances, x the features, and m = v * x.
        """
        w0, w1, w2, w3, w4, w5, w6 = self._values
        v0, v1, v2, v3, v4, v5, v6 = self._variances
        _, x1, x2, x3, x4, x5, x6 = _features(state, day, recalled)
        of_kind, kind_variance = self._kinds.get(kind, _NEW_KIND)
        of_key, key_variance = self._keys.get(key, _NEW_KEY)

        odds = w0 + w1 * x1 + w2 * x2 + w3 * x3 + w4 * x4 + w5 * x5 + w6 * x6 + of_kind + of_key
        known = _known(odds)
        chance = known + (1 - known) * guess_rate
        _count(self._raw, recalled + (1 - recalled) * guess_rate, right)
        _count(self._shown, chance, right)
        if guess_rate == 1:
            return  # luck alone: nothing is learned of it

        m1, m2, m3, m4, m5, m6 = v1 * x1, v2 * x2, v3 * x3, v4 * x4, v5 * x5, v6 * x6
        spread = v0 + m1 * x1 + m2 * x2 + m3 * x3 + m4 * x4 + m5 * x5 + m6 * x6
        slope = (1 - guess_rate) * known * (1 - known)
        gain = slope / (
            slope * slope * (spread + kind_variance + key_variance) + chance * (1 - chance)
        )
        step, cut = gain * (right - chance), gain * slope
        w1, w5 = w1 + step * m1, w5 + step * m5
        self._values = [
            w0 + step * v0,
            w1 if w1 > 0 else 0.0,
            w2 + step * m2,
            w3 + step * m3,
            w4 + step * m4,
            w5 if w5 < 0 else 0.0,
            w6 + step * m6,
        ]
        self._variances = [
            v0 + DRIFT - cut * v0 * v0,
            v1 + DRIFT - cut * m1 * m1,
            v2 + DRIFT - cut * m2 * m2,
            v3 + DRIFT - cut * m3 * m3,
            v4 + DRIFT - cut * m4 * m4,
            v5 + DRIFT - cut * m5 * m5,
            v6 + DRIFT - cut * m6 * m6,
        ]
        self._kinds[kind] = (
            of_kind + step * kind_variance,
            kind_variance + DRIFT - cut * kind_variance * kind_variance,
        )
        self._keys[key] = (
            of_key + step * key_variance,
            key_variance + DRIFT - cut * key_variance * key_variance,
        )


def calibration_error(bins: Bins) -> float:
    """How far the predictions are off: the mean over answers of |share right - mean predicted| of
    their bin, 0 to 1; 0 without answers."""
    answers = sum(row.answers for row in bins)
    return sum(abs(row.right - row.predicted) for row in bins) / answers if answers else 0.0


def as_text(knowing: Knowing) -> str:
    """A knowing as JSON, every digit of it."""
    return json.dumps(
        [knowing.weights, knowing.kinds, knowing.keys, knowing.raw, knowing.shown],
        separators=(",", ":"),
    )


def from_text(text: str) -> Knowing:
    """The knowing that `as_text` wrote.

    Raises ValueError or TypeError for a text that it did not write.
    """
    weights, kinds, keys, raw, shown = json.loads(text)
    return Knowing(
        tuple(Weight(*weight) for weight in weights),
        {kind: Weight(*weight) for kind, weight in kinds.items()},
        {key: Weight(*weight) for key, weight in keys.items()},
        tuple(Bin(*row) for row in raw),
        tuple(Bin(*row) for row in shown),
    )


def _features(
    state: State, day: int, recalled: float
) -> tuple[float, float, float, float, float, float, float]:
    """In the order of FEATURES; the logarithms are shifted to lie around 0."""
    likely = SURE if recalled > SURE else max(recalled, 1 - SURE)
    return (
        1.0,
        log(likely / (1 - likely)),
        log1p(state.right) - 1.0,
        log1p(state.asked - state.right) - 0.5,
        1.0 if state.last_right else -1.0,
        log1p(day - state.day) - 1.5,
        log(state.stability) / 2 - 0.75,
    )


def _known(odds: float) -> float:
    if odds > FURTHEST:
        odds = FURTHEST
    return 1 / (1 + exp(-odds)) if odds > -FURTHEST else 1 / (1 + exp(FURTHEST))


def _count(bins: list[list[float]], chance: float, right: bool) -> None:
    row = bins[int(chance * BINS) if chance < 1 else BINS - 1]
    row[0] += 1
    row[1] += chance
    row[2] += right


def _bins(rows: list[list[float]]) -> Bins:
    return tuple(Bin(int(answers), predicted, int(right)) for answers, predicted, right in rows)
