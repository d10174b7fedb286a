"""Who chooses the questions of a bench: the program itself, and what it is measured against.

A picker is told which day it is, gives the item to ask, and is told what came of it. Textbook
pickers know nothing of the learner but the answers; the planner looks into the learner's memory.
"""

import random
from collections.abc import Callable, Sequence
from typing import NamedTuple, Protocol

from quiz.answers import DAY_SECONDS, MICROSECONDS, Answer, AnswerIds, practice_day
from quiz.history.store import Store, memory_store
from quiz.learners.learner import Learner, Response
from quiz.learners.memory_models import Trace, When
from quiz.learning.memory import Item, chance_of_right, is_taken
from quiz.learning.practice import Practice
from quiz.learning.schedule import Ask, Plan, Why, contrast, next_ask, pick_key
from quiz.settings.checks import KEY_NAMES

FIRST_DAY = 20_000
"""The practice day that a bench's day 0 is."""

EVENING = 20 * 3600
"""Seconds after midnight, UTC, at which the learners practise."""

GUESS_RATES = {"name": 0.25, "write": 0.02, "place": 0.1}
"""What an invented item can be guessed with, by its kind."""


PATIENCE = {"activation": 0.65, "integrators": 1.0, "two rates": 0.65}
"""What suits the planner best in each family, of a few that were tried on other seeds; that of the
last family was not tried, but taken over."""


class Picker(Protocol):
    """Chooses question after question for one learner."""

    def pick(self, at: When) -> tuple[Item, str]:
        """The item to ask, and the key to ask it in."""

    def told(self, item: Item, key: str, at: When, response: Response) -> None:
        """What came of it."""


class Uniform:
    """Any item by lot, but no device twice running."""

    def __init__(self, items: Sequence[Item], seed: int) -> None:
        self.items = items
        self.chance = random.Random(f"{seed}:picker")
        self.last = ""

    def pick(self, at: When) -> tuple[Item, str]:
        """Any other device's item."""
        item = self.chance.choice(self.items)
        while item.device == self.last:
            item = self.chance.choice(self.items)
        self.last = item.device
        return item, self.chance.choice(KEY_NAMES)

    def told(self, item: Item, key: str, at: When, response: Response) -> None:
        """Nothing is learned from it."""


class RoundRobin(Uniform):
    """All items in turn, in an order that is shuffled once."""

    def __init__(self, items: Sequence[Item], seed: int) -> None:
        super().__init__(items, seed)
        self.order = self.chance.sample(list(items), len(items))
        self.place = 0

    def pick(self, at: When) -> tuple[Item, str]:
        """The next one."""
        item = self.order[self.place % len(self.order)]
        self.place += 1
        return item, self.chance.choice(KEY_NAMES)


class Boxes(Uniform):
    """The textbook boxes: a right answer moves an item one box on, a wrong one back to the first;
    the boxes wait 1, 2, 4, 8 and 16 days. What is over its time most comes first; then something
    that was never met; then any item by lot. [common practice, no source]"""

    WAITS = (1, 2, 4, 8, 16)

    def __init__(self, items: Sequence[Item], seed: int) -> None:
        super().__init__(items, seed)
        self.box: dict[Item, tuple[int, int]] = {}

    def pick(self, at: When) -> tuple[Item, str]:
        """The most overdue one of another device."""
        late = [
            (at.day - day - self.WAITS[box], item)
            for item, (box, day) in self.box.items()
            if item.device != self.last and at.day - day >= self.WAITS[box]
        ]
        fresh = [i for i in self.items if i not in self.box and i.device != self.last]
        if late:
            item = max(late)[1]
        elif fresh:
            item = fresh[0]
        else:
            return super().pick(at)
        self.last = item.device
        return item, self.chance.choice(KEY_NAMES)

    def told(self, item: Item, key: str, at: When, response: Response) -> None:
        """One box on, or back to the first."""
        box, _ = self.box.get(item, (-1, 0))
        last = len(self.WAITS) - 1
        self.box[item] = (min(box + 1, last) if response.right else 0, at.day)


class LeastKnown(Uniform):
    """Looks into the learner's memory, and asks what is least likely to be remembered now: who is
    asked by it and still spends questions on what is known has little left that is not known."""

    def __init__(self, items: Sequence[Item], seed: int, learner: Learner) -> None:
        super().__init__(items, seed)
        self.learner = learner

    def pick(self, at: When) -> tuple[Item, str]:
        """The one with the lowest true recall, of equal ones any."""
        others = [item for item in self.items if item.device != self.last]
        item = min(others, key=lambda item: (self.learner.recall(item, at), self.chance.random()))
        self.last = item.device
        return item, self.chance.choice(KEY_NAMES)


class Planner(Uniform):
    """Looks into the learner's memory and ahead: it asks what would gain most now for the recall
    when all is over, less `patience` of what it would gain at its best later day. What can wait
    waits; at a patience of 0 it would take every gain at once, which is a bad plan."""

    LATER = (2, 5, 10, 20)
    """Days ahead that it looks at."""

    def __init__(
        self, items: Sequence[Item], seed: int, learner: Learner, days: int, end: When
    ) -> None:
        super().__init__(items, seed)
        self.learner, self.days, self.end = learner, days, end
        self.patience = PATIENCE[learner.family.name]
        self.day = -1
        self.queue: list[Item] = []

    def pick(self, at: When) -> tuple[Item, str]:
        """The first of the day's list that is of another device."""
        if self.day != at.day or not self.queue:
            self.day, self.queue = at.day, self._listed(at)
        place = next((n for n, i in enumerate(self.queue) if i.device != self.last), 0)
        item = self.queue.pop(place)
        self.last = item.device
        return item, self.chance.choice(KEY_NAMES)

    def _listed(self, at: When) -> list[Item]:
        def worth(item: Item) -> float:
            trace = self.learner.trace(item)
            later = [
                self._gain(trace, When(at.day + days))
                for days in self.LATER
                if at.day + days < self.days
            ]
            return self._gain(trace, at) - self.patience * max(later, default=0.0)

        worths = {item: worth(item) for item in self.items}
        return sorted(self.items, key=lambda item: -worths[item])

    def _gain(self, trace: Trace, at: When) -> float:
        """What asking at a moment adds to the recall at the end, on average."""
        family = self.learner.family
        known = family.recall(trace, at)
        right = family.recall(family.met(trace, at, True), self.end)
        wrong = family.recall(family.met(trace, at, False), self.end)
        return known * right + (1 - known) * wrong - family.recall(trace, self.end)


class Prediction(NamedTuple):
    """The first answer of an item on a day: what was predicted, and what happened."""

    remembered: float
    """By the memory state alone."""

    shown: float
    """As the program shows it."""

    right: bool


class Program:
    """The program's own schedule, memory and history."""

    stops = False
    """Whether the learner stops for the day when it is said that nothing is due."""

    def __init__(
        self,
        items: Sequence[Item],
        seed: int,
        plan: Plan,
        neighbours: Callable[[str], Sequence[str]],
        store: Store | None = None,
    ) -> None:
        self.items, self.plan, self.neighbours = items, plan, neighbours
        self.store = store or memory_store()
        self.practice: Practice = self.store.practice()
        self.predictions: list[Prediction] = []
        self.undue: set[int] = set()
        """Days on which the program has said that nothing is due."""
        self.reasons: dict[str, int] = {}
        self.chance = random.Random(f"{seed}:picker")
        self.ids = AnswerIds(self.chance)
        self.last: str | None = None
        self.ask: Ask | None = None
        self.contrast: Ask | None = None

    def pick(self, at: When) -> tuple[Item, str]:
        """As a coach does."""
        day = FIRST_DAY + at.day
        ask = self.contrast or next_ask(
            self.items, self.practice, day, self.last, self.plan, self.neighbours
        )
        self.ask, self.contrast, self.last = ask, None, ask.item.device
        self.reasons[ask.why] = self.reasons.get(ask.why, 0) + 1
        if ask.why is Why.AHEAD:
            self.undue.add(at.day)
        tallies = {k: tally for (of, k), tally in self.practice.keys.items() if of == ask.item.kind}
        return ask.item, pick_key(KEY_NAMES, {}, tallies, self.chance)

    def told(self, item: Item, key: str, at: When, response: Response) -> None:
        """Keep the answer; a wrong choice may call for a contrast."""
        assert self.ask is not None
        answer = self._answer(item, key, at, response)
        known = self.practice.states.get(item)
        if known is not None and is_taken(known, answer.practice_day):
            guess_rate, day = answer.guess_rate, answer.practice_day
            self.predictions.append(
                Prediction(
                    chance_of_right(known, guess_rate, day),
                    self.practice.knowing.chance(item, known, day, guess_rate, key),
                    response.right,
                )
            )
        self.practice = self.practice.after(answer)
        self.store.append(answer, self.practice)
        if answer.chosen:
            self.contrast = contrast(
                item,
                answer.chosen,
                *self.practice.contrast_counts(),
                self.plan,
                self.items,
                self.neighbours,
            )

    def _answer(self, item: Item, key: str, at: When, response: Response) -> Answer:
        moment = int(((FIRST_DAY + at.day) * DAY_SECONDS + EVENING + at.second) * MICROSECONDS)
        mistaken = not response.right and item.kind == "name" and self.chance.random() < 0.5
        assert self.ask is not None
        return Answer(
            id=self.ids.make(moment),
            at=moment,
            utc_offset=0,
            practice_day=practice_day(moment, 0),
            device=item.device,
            kind=item.kind,
            key=key,
            tempo=96.0,
            feel="shuffle",
            texture="band",
            options=4 if item.kind == "name" else 0,
            guess_rate=GUESS_RATES[item.kind],
            score=float(response.right),
            verdict="right" if response.right else "wrong",
            seconds=response.seconds,
            playings=1,
            slowed=False,
            interrupted=False,
            given="",
            chosen=next(iter(self.neighbours(item.device)), "") if mistaken else "",
            question="{}",
            why=self.ask.why,
            version="0",
            origin="bench",
        )


class Stopping(Program):
    """The program, for a learner who stops for the day whenever it says that nothing is due."""

    stops = True
