"""A simulated learner: remembers, guesses, misses days, takes time to answer; all from a seed."""

import random
from dataclasses import dataclass
from math import exp
from zlib import crc32

from quiz.learners.memory_models import Family, Trace, When
from quiz.learning.memory import Item


@dataclass(frozen=True, slots=True)
class Traits:
    """What a learner is like. Every number is chosen here, none has a source."""

    skill: float = 0.25
    """Added to the ease of every item."""

    unlike: float = 1.0
    """How much the items differ: the standard deviation of their ease."""

    known_before: float = 0.1
    """The share of the items that the learner has met some times before the first day."""

    missed: float = 0.2
    """The share of days without practice."""

    key_trouble: float = 0.1
    """What the hardest key takes off the chance of a right answer before it has been practised."""

    key_habit: float = 25.0
    """Answers in a key after which its trouble has fallen to 1/e."""

    seconds: float = 6.0
    """A usual response time."""


@dataclass(frozen=True, slots=True)
class Response:
    """What came of one question."""

    remembered: bool
    right: bool
    """Remembered, or guessed."""

    seconds: float


class Learner:
    """One simulated player. The same family, traits and seed give the same learner: what an item
    is like depends on nothing else, least of all on the order of the questions."""

    def __init__(self, family: Family, seed: int, traits: Traits | None = None) -> None:
        self.family = family
        self.traits = traits or Traits()
        self._seed = seed
        self._chance = random.Random(f"{seed}:answers")
        self._traces: dict[Item, Trace] = {}
        self._keys: dict[str, int] = {}

    def comes(self, day: int) -> bool:
        """Whether the learner practises on a day."""
        return self._lot("day", str(day)).random() >= self.traits.missed

    def recall(self, item: Item, at: When) -> float:
        """The true chance of remembering an item, keys left out."""
        return self.family.recall(self.trace(item), at)

    def trace(self, item: Item) -> Trace:
        """What the learner holds of an item now."""
        if item not in self._traces:
            self._traces[item] = self._before(item)
        return self._traces[item]

    def key_ease(self, key: str) -> float:
        """What a key leaves of the chance of a right answer, 0 to 1."""
        if not key:
            return 1.0
        trouble = self.traits.key_trouble * self._lot("key", key).random()
        return 1 - trouble * exp(-self._keys.get(key, 0) / self.traits.key_habit)

    def chance(self, item: Item, at: When, guess_rate: float, key: str = "") -> float:
        """The true chance of a right answer."""
        known = self.recall(item, at) * self.key_ease(key)
        return known + (1 - known) * guess_rate

    def answer(self, item: Item, at: When, guess_rate: float, key: str = "") -> Response:
        """Answer a question, and see what would have been right."""
        known = self.recall(item, at)
        remembered = self._chance.random() < known * self.key_ease(key)
        right = remembered or self._chance.random() < guess_rate
        seconds = self._response(known, remembered)
        self._traces[item] = self.family.met(self.trace(item), at, remembered)
        if key:
            self._keys[key] = self._keys.get(key, 0) + 1
        return Response(remembered, right, seconds)

    def _response(self, known: float, remembered: bool) -> float:
        """Seconds: what is known well comes quickly, what is not known is thought over."""
        slow = 1.6 - known if remembered else 1.8
        return round(self.traits.seconds * slow * exp(self._chance.gauss(0, 0.35)), 2)

    def _before(self, item: Item) -> Trace:
        """An item as the learner brings it along."""
        lot = self._lot("item", f"{item.device} {item.kind}")
        trace = Trace(self.traits.skill + lot.gauss(0, self.traits.unlike), at=When(-100))
        if lot.random() < self.traits.known_before:
            for day in sorted(lot.randrange(-80, 0) for _ in range(lot.randrange(4, 12))):
                trace = self.family.met(trace, When(day), remembered=True)
        return trace

    def _lot(self, what: str, name: str) -> random.Random:
        return random.Random(crc32(f"{self._seed}:{what}:{name}".encode()))
