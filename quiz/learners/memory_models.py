"""How simulated learners remember: three families of memory, none of them the scheduler's own.

- `Activation`: power-law activation. P. I. Pavlik and J. R. Anderson, *Cognitive Science* 29
  (2005), 559-586. Every encounter leaves a trace that fades as a power of time; it fades faster
  when the item was fresh at the encounter, which is why spacing helps.
- `Integrators`: leaky integrators on many time scales. M. C. Mozer, H. Pashler, N. Cepeda, R.
  Lindsey and E. Vul, *Advances in Neural Information Processing Systems* 22 (2009), 1321-1329. A
  slow integrator takes in only what all faster ones do not hold already.
- `TwoRates`: one fast and one slow strength. Own derivation, kept out of all tuning.

Formulas and parameters that are said to be of a paper are from memory: the abstracts were at hand,
not the full texts. A family is a value; what one learner holds of one item is a trace, a value too.
"""

from dataclasses import dataclass, replace
from itertools import accumulate
from math import exp, inf, log
from typing import NamedTuple, Protocol

from quiz.answers import DAY_SECONDS


class When(NamedTuple):
    """A moment of practice."""

    day: int
    second: float = 0.0
    """Seconds since the day's practice began."""


LONG_AGO = When(0)


@dataclass(frozen=True, slots=True)
class Trace:
    """What one learner holds of one item. The numbers mean what the family makes of them."""

    ease: float = 0.0
    """How much easier the item is for the learner than an average one: about -2 to 2."""

    numbers: tuple[float, ...] = ()
    """Empty for an item that was never met."""

    at: When = LONG_AGO
    """The latest encounter."""


class Family(Protocol):
    """A family of memory models."""

    @property
    def name(self) -> str:
        """One word."""

    def recall(self, trace: Trace, at: When) -> float:
        """The true chance of remembering, 0 to 1; 0 for an item that was never met."""

    def met(self, trace: Trace, at: When, remembered: bool) -> Trace:
        """The trace after an encounter, the right answer being shown at its end."""


# --- power-law activation -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Activation:
    """Power-law activation: m = ln(sum of age ** -decay over the encounters).

    The decay of an encounter is `scale * e**m + least`, m the activation just before it, and recall
    is 1 / (1 + e**((threshold - m - ease) / noise)). Ages are seconds; a second between two days
    of practice counts as `rest` of one.
    """

    least: float = 0.177  # [Pavlik and Anderson 2005, from memory, as are the next four]
    scale: float = 0.217
    threshold: float = -0.704
    noise: float = 0.255
    rest: float = 0.025
    unlike: float = 0.25
    """What one step of ease adds to the activation. [chosen here]"""

    @property
    def name(self) -> str:
        """One word."""
        return "activation"

    def recall(self, trace: Trace, at: When) -> float:
        """The true chance of remembering, 0 to 1; 0 for an item that was never met."""
        if not trace.numbers:
            return 0.0
        m = self.activation(trace, at) + self.unlike * trace.ease
        return 1 / (1 + exp((self.threshold - m) / self.noise))

    def activation(self, trace: Trace, at: When) -> float:
        """m, without the ease of the item; minus infinity for an item that was never met."""
        now, numbers = self._clock(at), iter(trace.numbers)
        strength = sum(
            max(1.0, now - then) ** -decay for then, decay in zip(numbers, numbers, strict=True)
        )
        return log(strength) if strength else -inf

    def met(self, trace: Trace, at: When, remembered: bool) -> Trace:
        """The trace after an encounter. Right or wrong is all the same to this family."""
        decay = self.scale * exp(self.activation(trace, at)) + self.least
        return replace(trace, numbers=(*trace.numbers, self._clock(at), decay), at=at)

    def _clock(self, at: When) -> float:
        """Seconds that count: all of a day's practice, of the rest of the day a share."""
        night = DAY_SECONDS * self.rest
        return at.day * night + min(at.second, night)


# --- integrators --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Integrators:
    """Leaky integrators: number i forgets with the time constant `shortest * ratio**i` days.

    s(i) is the mean of the integrators up to i, each weighing `share**i`; recall is s of the last,
    at most 1. An encounter adds `step * (1 - s(i))` to integrator i: step is `failed` or, where the
    item was remembered, `remembered`. Ease stretches all time constants.
    """

    count: int = 40
    shortest: float = 0.25
    """Days. [chosen here, as are the next two]"""

    ratio: float = 1.35
    share: float = 0.95
    failed: float = 1 / 9
    """[Mozer et al. 2009 have 1 and 9, from memory; both are divided by 9 here, so that no
    encounter adds more than there is to add]"""

    remembered: float = 1.0
    unlike: float = 0.7
    """e to this is what one step of ease makes of a time constant. [chosen here]"""

    @property
    def name(self) -> str:
        """One word."""
        return "integrators"

    def recall(self, trace: Trace, at: When) -> float:
        """The true chance of remembering, 0 to 1; 0 for an item that was never met."""
        if not trace.numbers:
            return 0.0
        weights = self._weights()
        held = sum(w * x for w, x in zip(weights, self._faded(trace, at), strict=True))
        return min(1.0, held / sum(weights))

    def met(self, trace: Trace, at: When, remembered: bool) -> Trace:
        """The trace after an encounter: what is remembered leaves more."""
        faded = self._faded(trace, at) if trace.numbers else [0.0] * self.count
        weights = self._weights()
        sums = accumulate(w * x for w, x in zip(weights, faded, strict=True))
        held = [s / w for s, w in zip(sums, accumulate(weights), strict=True)]
        step = self.remembered if remembered else self.failed
        # what is held in full takes nothing away: [chosen here]
        grown = (x + step * max(0.0, 1 - s) for x, s in zip(faded, held, strict=True))
        return replace(trace, numbers=tuple(grown), at=at)

    def _weights(self) -> list[float]:
        return [self.share**i for i in range(self.count)]

    def _faded(self, trace: Trace, at: When) -> list[float]:
        days = max(0.0, _days(at) - _days(trace.at))
        longer = self.shortest * exp(self.unlike * trace.ease)
        return [x * exp(-days / (longer * self.ratio**i)) for i, x in enumerate(trace.numbers)]


# --- two rates ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TwoRates:
    """A fast strength and a slow one, each 0 to 1: recall is 1 - (1 - fast) (1 - slow).

    An encounter fills the fast one to `fill` of what is missing, and the slow one by `learn` of
    what is missing, times what the fast one had lost: an item that is still fresh teaches little.
    [own derivation]
    """

    fast_days: float = 2.0
    slow_days: float = 120.0
    fill: float = 0.8
    learn: float = 0.4
    unlike: float = 0.5

    @property
    def name(self) -> str:
        """Two words."""
        return "two rates"

    def recall(self, trace: Trace, at: When) -> float:
        """The true chance of remembering, 0 to 1; 0 for an item that was never met."""
        fast, slow = self._faded(trace, at)
        return 1 - (1 - fast) * (1 - slow)

    def met(self, trace: Trace, at: When, remembered: bool) -> Trace:
        """The trace after an encounter. Right or wrong is all the same to this family."""
        fast, slow = self._faded(trace, at)
        learned = self.learn * (1 - fast)
        filled = (fast + self.fill * (1 - fast), slow + learned * (1 - slow))
        return replace(trace, numbers=filled, at=at)

    def _faded(self, trace: Trace, at: When) -> tuple[float, float]:
        if not trace.numbers:
            return 0.0, 0.0
        days = max(0.0, _days(at) - _days(trace.at)) / exp(self.unlike * trace.ease)
        fast, slow = trace.numbers
        return fast * exp(-days / self.fast_days), slow * exp(-days / self.slow_days)


def _days(at: When) -> float:
    return at.day + at.second / DAY_SECONDS


FAMILIES: tuple[Family, ...] = (Activation(), Integrators(), TwoRates())
"""All families; the last one has no part in any choice of a rule or a number."""
