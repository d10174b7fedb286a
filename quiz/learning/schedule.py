"""Which question comes next, each rule one function.

The "spread" rule: of all items met, the one that has waited longest against the wait it can bear
comes next; when none is ripe, a new one, as long as the day's share of new ones lasts; then it is
said that nothing is due, and going on, by lot among what was right least often, is offered.
Measured on simulated learners who go on when nothing is due, this rule gained about 0.02 recall
after four weeks against asking at random (`tests/bench/bench_weeks.py`). Real players may differ.

Nothing here is random but the key: the same history on the same day gives the same item, whatever
comes by lot too, so a question can be prepared while the one before it is answered.
"""

import random
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import chain
from math import ceil, exp
from zlib import crc32

from quiz.errors import QuestionError
from quiz.learning.memory import PLACEMENT, PRESUMED, Item, State, stage, wait
from quiz.learning.practice import CONTRAST, DayTally, KeyTally, Practice

LONGEST_WAIT = 30.0
"""Days: no item waits longer, however well it is known."""

SHORTEST_WAIT = 1.7
"""Days: no item is ripe sooner."""

ROTATION_DAYS = 14
"""Days over which the questions a day are counted."""

SETTLED_DAYS = 7
"""Days of history from which the questions a day are counted at all."""

EVENNESS = 2
"""How strongly the lot of what is asked ahead of time is tilted to what was right less often.
[chosen by simulation, as the next two, on other seeds than those of tests/bench/bench_weeks.py;
what lies near does as well]"""

HELD = 0.95
"""Up to this share of items that were right last time the days since an item was asked count in
that lot too."""

SAME_DAY = 0.5
"""What counts there as days for an item that was asked today."""

LEAST_PACE = 1 / 3
"""The questions a day are taken to be at least this share of what the player plans, so that after a
holiday there is something due."""

NEW_SHARE, MOST_NEW = 1 / 3, 20
"""New items a day: this share of the daily questions, and never more than so many."""

OPENED_AT_A_TIME = 5
"""Devices that are being opened, the nearest neighbour of each with it."""

OPEN_MATERIAL = 2.5
"""Items that are shaky, as a multiple of the daily questions: from there on none is opened."""

CONTRAST_SHARE = 0.05
"""At most this share of questions are contrasts; many more do harm."""

SHRINK = 8.0
"""Answers of an average key that every key is mixed with before it is called weak."""

LEAD = 2.0
"""What the player has put forward is ripe after this part of the wait of other items, and comes
before an equally ripe one. A factor and no privilege: the ripeness of the others grows day by day,
so none of them waits more than LEAD times as long. [chosen here, no source]"""

WEAK_PULL = 3.0
"""How much more often than one without any weakness a key of average weakness is tilted to."""


class Why(StrEnum):
    """Why a question is asked; the value is what the screen and the history say."""

    NEW = "new"
    PRESUMED = PRESUMED
    """New, but by the placement the player knows it: a first question to make sure."""

    DUE = "due"
    AHEAD = "ahead"
    """Nothing is due: this comes by lot. Offer to stop."""

    CONTRAST = CONTRAST
    PLACEMENT = PLACEMENT
    """To find out what is known already; see `quiz.learning.placement`."""

    ASKED_FOR = "asked for"


@dataclass(frozen=True, slots=True)
class Ask:
    """What to ask next, and why."""

    item: Item
    why: Why
    days: int = 0
    """Of an item met before: practice days since it was last asked."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What the player has set about scheduling, and what a placement has found."""

    daily_questions: int = 36
    contrast: bool = True
    leading: frozenset[Item] = frozenset()
    """Items that are put forward."""

    presumed: frozenset[Item] = frozenset()
    """Items that may be presumed known; those not met yet come last among the new ones."""


USUAL = Plan()
"""Nothing is set and nothing found."""

Neighbours = Callable[[str], Sequence[str]]
"""The devices that are easily mistaken for a device, nearest first."""


def next_ask(
    items: Sequence[Item],
    practice: Practice,
    day: int,
    last_device: str | None,
    plan: Plan,
    neighbours: Neighbours,
) -> Ask:
    """The next item by the spread rule; `items` is all material, in the order of learning.

    Never the device asked just before, unless there is no other. Raises QuestionError when there
    are no items.
    """
    if not items:
        raise QuestionError("there is nothing to ask: allow more kinds or devices")
    others = [item for item in items if item.device != last_device] or list(items)
    longest = longest_waiting(others, practice, day, plan)
    if longest is not None and is_due(longest, practice, day, plan):
        return _again(longest, Why.DUE, practice, day)
    fresh = next_new(items, practice, day, plan, neighbours)
    allowed = [item for item in fresh if item in others]
    if allowed:
        return Ask(allowed[0], Why.PRESUMED if allowed[0] in plan.presumed else Why.NEW)
    early = ahead_of_time(others, practice, day, plan)
    return Ask(others[0], Why.AHEAD) if early is None else _again(early, Why.AHEAD, practice, day)


def _again(item: Item, why: Why, practice: Practice, day: int) -> Ask:
    return Ask(item, why, max(0, day - practice.states[item].day))


# --- items that have been met -------------------------------------------------------------------


def questions_a_day(days: Mapping[int, DayTally], day: int, plan: Plan) -> float:
    """Questions a day over the last two weeks, days without any counted too; what the player plans
    while the history is shorter than SETTLED_DAYS."""
    span = min(ROTATION_DAYS, day - min(days, default=day) + 1)
    if span < SETTLED_DAYS:
        return float(plan.daily_questions)
    asked = sum(tally.answers for date, tally in days.items() if day - span < date <= day)
    return max(LEAST_PACE * plan.daily_questions, asked / span)


def shortest_wait(met: int, a_day: float) -> float:
    """Days before which no item is ripe: half of a whole rotation of what has been met, within the
    limits of every wait, so that a long rotation cannot hold an item back for more than those."""
    return min(LONGEST_WAIT, max(SHORTEST_WAIT, 0.5 * met / a_day))


def ripeness(state: State, day: int, low: float) -> float:
    """How long an item has waited against the wait it can bear; 1 and more is due.

    `low` is the wait that no item goes below.
    """
    return max(0, day - state.day) / max(low, min(wait(state), LONGEST_WAIT))


def pressing(item: Item, practice: Practice, day: int, low: float, plan: Plan) -> float:
    """How much an item that has been met presses to be asked: its ripeness, LEAD times over where
    it is put forward; 1 and more is due."""
    lead = LEAD if item in plan.leading else 1.0
    return lead * ripeness(practice.states[item], day, low)


def longest_waiting(items: Iterable[Item], practice: Practice, day: int, plan: Plan) -> Item | None:
    """The ripest item of those met; None when none has been met.

    Of equally ripe ones the one asked least often, then in an order that each day shuffles anew.
    """
    low = _low(practice, day, plan)

    def rank(item: Item) -> tuple[float, int, int]:
        state = practice.states[item]
        shuffled = crc32(f"{day} {item.device} {item.kind}".encode())
        return pressing(item, practice, day, low, plan), -state.asked, shuffled

    return max((item for item in items if item in practice.states), key=rank, default=None)


def ahead_of_time(
    items: Sequence[Item], practice: Practice, day: int, plan: Plan = USUAL
) -> Item | None:
    """What is asked when nothing is due and nothing new may come; None when none has been met.

    A lot among all that has been met. The chance of an item falls with how often it was right, as
    1 / (1 + times) ** EVENNESS; while less than HELD of all items were right last time, it also
    grows in proportion to the days since the item was asked. It is LEAD times as high for one that
    is put forward, its times counted as so many fewer. The lot comes from the day and the number of
    answers, so the same history gives the same item.

    Asking the ripest instead lost recall on simulated learners (`tests/bench/bench_weeks.py`): it
    brings each item back just before it is due, again and again, so that none is ever left alone
    long enough to gain by it. A lot leaves some alone for long, and no item behind the others.

    The days count for a while only, since kinds of memory want different things. Where memory fades
    as a power of time, and much still fails from one time to the next, even gaps are worth most.
    Where nearly all is held from one time to the next, asking in turn is a waste: slow traces grow
    over gaps that are long by chance.
    """
    met = [item for item in items if item in practice.states]
    if not met:
        return None
    answers = sum(state.asked for state in practice.states.values())
    chance = random.Random(f"ahead of time, day {day}, {answers} answers")
    days_count = held(practice.states.values()) < HELD

    def pull(item: Item) -> float:
        state = practice.states[item]
        days = max(0, day - state.day) + SAME_DAY if days_count else 1.0
        return days * _pull(state, item in plan.leading)

    return chance.choices(met, [pull(item) for item in met])[0]


def held(states: Collection[State]) -> float:
    """The share of items met, one at least, that were right last time."""
    return sum(state.last_right for state in states) / len(states)


def _pull(state: State, leading: bool) -> float:
    """How likely an item comes ahead of time against others, its days left out."""
    right = state.right / LEAD if leading else state.right
    pull = (1 + right) ** -EVENNESS
    return float(pull * LEAD if leading else pull)


def is_due(item: Item, practice: Practice, day: int, plan: Plan) -> bool:
    """Whether an item that has been met is ripe today."""
    return pressing(item, practice, day, _low(practice, day, plan), plan) >= 1


def due_items(items: Iterable[Item], practice: Practice, day: int, plan: Plan) -> tuple[Item, ...]:
    """The items that are ripe today."""
    low = _low(practice, day, plan)
    return tuple(
        item
        for item in items
        if item in practice.states and pressing(item, practice, day, low, plan) >= 1
    )


def left_of_day(due: int, asked: int, plan: Plan) -> int:
    """Of `due` items, how many are today's work when `asked` questions are answered already: never
    more than a day's share. What is beyond it stays due, the ripest first, and so spreads over the
    coming days: after a holiday nobody faces all of it at once."""
    return min(due, max(0, plan.daily_questions - asked))


def _low(practice: Practice, day: int, plan: Plan) -> float:
    return shortest_wait(len(practice.states), questions_a_day(practice.days, day, plan))


# --- items that are new -------------------------------------------------------------------------


def new_left(practice: Practice, day: int, plan: Plan) -> int:
    """New items that the day still has room for; none while too much is open."""
    shaky = sum(stage(state) == "shaky" for state in practice.states.values())
    if shaky >= OPEN_MATERIAL * plan.daily_questions:
        return 0
    allowed = min(MOST_NEW, ceil(plan.daily_questions * NEW_SHARE))
    return max(0, allowed - practice.new_on(day))


def next_new(
    items: Sequence[Item], practice: Practice, day: int, plan: Plan, neighbours: Neighbours
) -> list[Item]:
    """The items that may be met now, the first one first; none when the day has had enough.

    Of what is open the kind that has been met least comes first, so that kinds interleave; before
    that come items that are put forward, and behind all others those that are presumed known.
    """
    if not new_left(practice, day, plan):
        return []
    order = {
        device: place for place, device in enumerate(opened(items, practice, neighbours, plan))
    }
    fresh = [item for item in items if item.device in order and item not in practice.states]
    met: dict[str, int] = {}
    for item in practice.states:
        met[item.kind] = met.get(item.kind, 0) + 1
    return sorted(
        fresh,
        key=lambda item: (_standing(item, plan), met.get(item.kind, 0), order[item.device]),
    )


def _standing(item: Item, plan: Plan) -> int:
    """Where a new item stands: put forward, as usual, or presumed known."""
    if item in plan.leading:
        return -1
    return int(item in plan.presumed)


def opened(
    items: Sequence[Item], practice: Practice, neighbours: Neighbours, plan: Plan = USUAL
) -> tuple[str, ...]:
    """The devices whose new items may come now: those begun, then new ones, each with its nearest
    neighbour, OPENED_AT_A_TIME in all.

    Devices that are put forward come before those, as many again. A device of which only presumed
    items are left is opened when there is no other.
    """
    standings: dict[str, int] = {}
    for item in items:
        if item not in practice.states:
            standing = _standing(item, plan)
            standings[item.device] = min(standing, standings.get(item.device, standing))
    leading = [device for device, standing in standings.items() if standing < 0]
    usual = [device for device, standing in standings.items() if standing <= 0]
    found = _opened_of(usual or list(standings), practice, neighbours)
    return tuple(dict.fromkeys([*leading[:OPENED_AT_A_TIME], *found]))


def _opened_of(unmet: Sequence[str], practice: Practice, neighbours: Neighbours) -> list[str]:
    """Of devices with something left to be met, those that are open."""
    met = {item.device for item in practice.states}
    begun = [device for device in unmet if device in met]
    pairs = chain.from_iterable(
        (device, *list(neighbours(device))[:1]) for device in unmet if device not in met
    )
    fresh = [device for device in dict.fromkeys(pairs) if device in unmet and device not in met]
    return [*begun, *fresh][: max(OPENED_AT_A_TIME, len(begun))]


# --- contrasts and keys -------------------------------------------------------------------------


def contrast(
    asked: Item,
    chosen: str,
    contrasts_so_far: int,
    questions_so_far: int,
    plan: Plan,
    items: Sequence[Item],
    neighbours: Neighbours,
) -> Ask | None:
    """After a wrong choice of a listed neighbour: that neighbour, if contrasts are not too many."""
    twin = Item(chosen, asked.kind)
    share = (contrasts_so_far + 1) / (questions_so_far + 1)  # with this one asked
    allowed = plan.contrast and share <= CONTRAST_SHARE
    if not allowed or chosen not in neighbours(asked.device) or twin not in items:
        return None
    return Ask(twin, Why.CONTRAST)


def pick_key(
    keys: Sequence[str],
    weights: Mapping[str, float],
    tallies: Mapping[str, KeyTally],
    chance: random.Random,
) -> str:
    """A key for a question of one kind, whose tallies are given.

    Least practised first, tilted to weak ones:

        own weight * exp(-(times - fewest)) * (1 + 3 weakness / mean weakness)

    where `times` is how often the key came lately, against its own weight (1 on average), so that a
    favoured key comes more often for good. A key of weight 0 never comes; one key at least must
    weigh more. A key that `weights` leaves out weighs 1.
    """
    given = {key: weights.get(key, 1.0) for key in keys if weights.get(key, 1.0) > 0}
    average = sum(given.values()) / len(given)
    own = {key: weight / average for key, weight in given.items()}
    answers = sum(tally.times for tally in tallies.values())
    times = {key: tallies.get(key, KeyTally()).lately(answers) / own[key] for key in own}
    fewest, weak = min(times.values()), weakness(list(own), tallies)
    mean = sum(weak.values()) / len(weak)
    pulls = [
        own[key] * exp(fewest - times[key]) * (1 + (WEAK_PULL * weak[key] / mean if mean else 0))
        for key in own
    ]
    return chance.choices(list(own), pulls)[0]


def weakness(keys: Sequence[str], tallies: Mapping[str, KeyTally]) -> dict[str, float]:
    """The share of answers that goes wrong in each key, what its items cannot help left out.

    The residual of a key is shrunk towards the mean of all keys, (surplus + SHRINK * mean) /
    (n + SHRINK), and taken from the share that was expected to go wrong over all keys.
    """
    rows = {key: tallies.get(key, KeyTally()) for key in keys}
    foreseen = sum(row.foreseen for row in rows.values())
    if not foreseen:
        return dict.fromkeys(keys, 0.0)
    expected_wrong = 1 - sum(row.expected for row in rows.values()) / foreseen
    mean = sum(row.surplus for row in rows.values()) / foreseen
    return {
        key: max(0.0, expected_wrong - (row.surplus + SHRINK * mean) / (row.foreseen + SHRINK))
        for key, row in rows.items()
    }
