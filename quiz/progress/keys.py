"""Which keys are weak, once there is enough to tell.

What is easy and what is hard does not come equally often in every key, so shares alone mislead. A
key is called weak when fewer answers in it were right than the items that were asked in it made
expect:

    z = (right - expected * all right / all expected) / sqrt(n p (1 - p)),   p = the scaled
        expectation per answer

with z below -WEAK_Z. The scale takes out what is off in all keys alike.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import sqrt

from engine.errors import amount
from quiz.learning.practice import KeyTally, Practice
from quiz.progress.counts import FOURTHS

ENOUGH = 1200
"""Answers under which nothing is said about weak keys: a hundred a key."""

WEAK_Z = 2.87
"""The 2.5 % point of the normal distribution, shared out over twelve keys (Bonferroni):
2.5 % / 12 = 0.2 %."""


@dataclass(frozen=True, slots=True)
class WeakKey:
    """A key that goes worse than what was asked in it."""

    key: str
    answers: int
    """Those that could be foreseen."""

    right: int
    expected: float
    """Right answers that the items made expect."""


@dataclass(frozen=True, slots=True)
class KeyVerdict:
    """What can be said about weak keys."""

    answers: int
    """In all keys together."""

    weak: tuple[WeakKey, ...]
    """Round the fourths; none while there are fewer than ENOUGH answers."""

    @property
    def too_early(self) -> bool:
        """Whether nothing can be said yet."""
        return self.answers < ENOUGH


def weak_keys(practice: Practice) -> KeyVerdict:
    """What the tallies say, kinds taken together."""
    rows = _by_key(practice.keys)
    answers = sum(row.times for row in rows.values())
    expected = sum(row.expected for row in rows.values())
    if answers < ENOUGH or not expected:
        return KeyVerdict(answers, ())
    scale = sum(row.right for row in rows.values()) / expected
    found = (
        WeakKey(key, row.foreseen, row.right, row.expected * scale)
        for key, row in rows.items()
        if _is_weak(row, scale)
    )
    return KeyVerdict(answers, tuple(found))


def keys_sentence(verdict: KeyVerdict, named: Callable[[str], str] = str) -> str:
    """The verdict in one sentence; `named` says how a key is called."""
    if verdict.too_early:
        return (
            f"Too early to tell which keys are weak: {amount(verdict.answers, 'answer')} so far, "
            f"from about {ENOUGH} on it can be said."
        )
    if not verdict.weak:
        return "No key goes clearly worse than what was asked in it."
    told = ", ".join(
        f"{named(key.key)} ({key.right} right of {key.answers}, {key.expected:.0f} expected)"
        for key in verdict.weak
    )
    return f"Worse than what was asked in {'them' if len(verdict.weak) > 1 else 'it'}: {told}."


def _by_key(tallies: Mapping[tuple[str, str], KeyTally]) -> dict[str, KeyTally]:
    """The tallies of all kinds, added up, in the order of FOURTHS."""
    names = [*FOURTHS, *sorted({key for _, key in tallies} - set(FOURTHS))]
    rows = dict.fromkeys(names, KeyTally())
    for (_, key), tally in tallies.items():
        row = rows[key]
        rows[key] = KeyTally(
            row.times + tally.times,
            row.foreseen + tally.foreseen,
            row.right + tally.right,
            row.expected + tally.expected,
        )
    return rows


def _is_weak(row: KeyTally, scale: float) -> bool:
    if not row.foreseen:
        return False
    share = min(1.0, row.expected * scale / row.foreseen)
    spread = sqrt(row.foreseen * share * (1 - share))
    return spread > 0 and (row.right - row.foreseen * share) / spread < -WEAK_Z
