"""The coach: asks the schedule what comes next, makes the question, and keeps the answer.

Screens and line mode both talk to a coach; it is the whole path from an answer to the next
question.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache, cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from engine.catalogue import Catalogue, Family
from engine.notation import parse_key
from engine.theory import F_SHARP, G_FLAT, Key, as_called
from quiz.answers import Answer, AnswerIds
from quiz.clock import Moment
from quiz.errors import AnswerError, QuestionError, StoreError, StoreUnwritable
from quiz.history.store import Store
from quiz.history.undo import Records, Undo
from quiz.history.unsaved import write_unsaved
from quiz.learning.focus import Focus, awake, awake_practice, families, key_weights, put_forward
from quiz.learning.material import Only, can_ask, items_within
from quiz.learning.memory import Item, after, stage
from quiz.learning.placement import (
    FEW_ANSWERS,
    MOST_PROBES,
    Found,
    Group,
    findings,
    groups_of,
    next_probe,
    placement_lines,
    presumed,
)
from quiz.learning.practice import Practice, Probe, counted_until
from quiz.learning.schedule import Ask, Plan, Why, contrast, next_ask, pick_key
from quiz.learning.today import Today, today
from quiz.questions.conditions import reach_of, wishes_for
from quiz.questions.kinds import Kind
from quiz.questions.neighbours import mistakable_rows, nearest_rows
from quiz.questions.value import Next, Question, parameters
from quiz.settings.values import KEY_NAMES, Settings

if TYPE_CHECKING:
    from quiz.grading.lines import Grade
    from quiz.session import Record

NOTHING_SHARE = 1 / 8
"""How often a chorus has nothing in it where bars are to be marked. [chosen here, no source]"""

TRIES = 8
"""Seeds tried before an item is called impossible to ask in a key."""


class Undone(NamedTuple):
    """An answer that was taken back."""

    answer: Answer
    problem: str
    """Empty, or one line that says what could not be done."""


class Coach:
    """The path from an answer to the next question, for one player."""

    def __init__(
        self,
        catalogue: Catalogue,
        settings: Settings,
        store: Store,
        clock: Callable[[], Moment],
        unsaved: Path,
        version: str,
        chance: random.Random | None = None,
        prepare: Callable[[Question], object] | None = None,
        only: Only | None = None,
        placing: bool = False,
    ) -> None:
        """`prepare` is told of a question as soon as it is likely to come next; `placing` asks the
        questions of a placement, going on where one was stopped."""
        self._catalogue = catalogue
        self._settings = settings
        self._store = store
        self._clock = clock
        self._unsaved = unsaved
        self._version = version
        self._chance = chance or random.Random()
        self._prepare = prepare or (lambda question: None)
        self._only = only or Only()
        self._focus = Focus(settings.resting, settings.leading)
        self.placing = placing
        """Whether this is a placement, which finds out what is known already."""
        # a pick looks at the neighbours of every row that is not met yet
        self._nearest = cache(partial(nearest_rows, catalogue=catalogue))
        self._ids = AnswerIds()
        self._practice = store.practice(until=counted_until(self.day))
        newest = store.newest()
        self._last_device = newest.device if newest else None  # a new round begins with another
        self._asking: Item | None = None
        self._ahead: tuple[Ask, Next] | None = None
        self._contrast: Ask | None = None
        self._presumed: tuple[tuple[Probe, ...], frozenset[Item]] | None = None
        self._last: tuple[Answer, Practice] | None = None  # with the practice of before it

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """All material of this round that does not rest, in the order of learning.

        Raises QuestionError when the limits leave nothing, or all of it rests, or every key does.
        """
        if not self._only.keys:
            self._key_weights()
        within = items_within(self._only, self._catalogue)
        return awake(within, self._focus, self._only, self._families)

    @property
    def over(self) -> bool:
        """Whether a placement has found what it can; never of an ordinary round."""
        return self.placing and self._probe(self._practice) is None

    @property
    def placed(self) -> bool:
        """Whether a placement would find nothing more; it need not be taken for that."""
        return next_probe(self._groups, self._practice.probes, None) is None

    @property
    def probes_left(self) -> int:
        """Questions that a placement has left, at most; 0 where none is offered: under an
        assignment, and when the history is long enough to know better."""
        answers = sum(state.asked for state in self._practice.states.values())
        if self._only.assignment or answers >= FEW_ANSWERS:
            return 0
        return max(0, MOST_PROBES - len(self._practice.probes))

    def findings(self) -> tuple[Found, ...]:
        """What the placement answers say of each group of the material of this round."""
        return findings(self._groups, self._practice.probes)

    def placement_lines(self) -> list[str]:
        """What the placement has found, in plain words, and what follows from it."""
        known = len(self._plan.presumed)
        lines = placement_lines(self.findings(), self._catalogue)
        if not known:
            return [*lines, "Nothing is presumed known: everything comes in its turn."]
        return [
            *lines,
            f"Presumed known: {known} of {len(self.items)}. They come last among the new ones, "
            "with one question each to make sure.",
        ]

    def next(self) -> Next:
        """The next question: the one looked ahead to if it is still the right one.

        Raises QuestionError when an item cannot be asked at all, or a placement is over.
        """
        ask = self._contrast or self._pick(self._practice)
        if ask is None:
            raise QuestionError("the placement is done: start a round")
        ahead, self._ahead = self._ahead, None
        if ahead is not None and ahead[0] == ask:
            chosen = ahead[1]
        else:
            chosen = Next(self._make(ask), ask.why, ask.days)
        self._contrast = None
        self._asking = Item(chosen.question.item, chosen.question.kind.value)
        self._last_device = chosen.question.item
        return chosen

    def look_ahead(self) -> None:
        """Make the question that is likely to come next, so that it can be rendered meanwhile."""
        ask = self._contrast or self._pick(self._foreseen())
        if ask is None:
            return  # a placement that is about to be over
        if self._ahead is None or self._ahead[0] != ask:
            self._ahead = ask, Next(self._make(ask), ask.why, ask.days)
        self._prepare(self._ahead[1].question)

    def record(self, effect: "Record") -> str:
        """Keep an answer. Gives an empty text, or one line that says what could not be done.

        An answer that the history does not take is written to a file beside the settings, and goes
        into the history at the next start.
        """
        answer = self._answer(effect)
        self._last = answer, self._practice
        self._practice, self._asking = self._practice.after(answer), None
        self._look_for_contrast(answer)
        return self._keep(
            Records((answer,)), lambda: self._store.append(answer, self._practice), "answer"
        )

    def undo(self) -> Undone:
        """Take back the answer that was recorded last; its question is open again.

        Raises AnswerError when there is none, or it was taken back already.
        """
        if self._last is None:
            raise AnswerError("there is no answer to take back: answer first")
        (answer, before), self._last = self._last, None
        self._practice, self._asking = before, Item(answer.device, answer.kind)
        self._last_device, self._ahead, self._contrast = answer.device, None, None
        moment = self._clock()
        undo = Undo(
            self._ids.make(moment.at), answer.id, moment.at, moment.utc_offset, self._store.origin
        )
        problem = self._keep(Records(undos=(undo,)), lambda: self._store.undo(undo, before), "undo")
        return Undone(answer, problem)

    @property
    def day(self) -> int:
        """The present practice day."""
        return self._clock().day

    def today(self) -> Today:
        """How the day stands, over all material of this round."""
        return today(self.items, self._awake(self._practice), self.day, self._plan)

    def stage(self, item: Item) -> str:
        """The word for how well an item is known."""
        return stage(self._practice.states.get(item))

    def is_first(self, kind: Kind) -> bool:
        """Whether the player has answered no question of a kind yet."""
        return not any(item.kind == kind.value for item in self._practice.states)

    def reach_sentence(self, question: Question) -> str:
        """How far the player has come with what was asked, `climb: whole band, 120 bpm`; empty
        where the kind has no ladder."""
        words = self.reach(Item(question.item, question.kind.value))
        return f"Reach of {self._catalogue.name(question.item)}: {words}." if words else ""

    def reach(self, item: Item) -> str:
        """How far the player has come with an item, in plain words; empty where its kind has no
        ladder."""
        return reach_of(item, self._settings, self._practice.reaches)

    # --- inside ---------------------------------------------------------------------------------

    @cached_property
    def _families(self) -> Mapping[str, str]:
        return families(self._catalogue)

    @cached_property
    def _groups(self) -> tuple[Group, ...]:
        return groups_of(self.items, self._families)

    @property
    def _plan(self) -> Plan:
        probes = self._practice.probes
        if self._presumed is None or self._presumed[0] != probes:
            self._presumed = probes, presumed(self._groups, probes)
        return Plan(
            self._settings.daily_questions,
            self._settings.contrast,
            self._leading,
            self._presumed[1],
        )

    @cached_property
    def _leading(self) -> frozenset[Item]:
        return put_forward(self.items, self._focus, self._families)

    def _awake(self, practice: Practice) -> Practice:
        """The practice without what rests."""
        return awake_practice(practice, self._focus, self._only, self._families)

    def _probe(self, practice: Practice) -> Item | None:
        return next_probe(self._groups, practice.probes, self._last_device)

    def _pick(self, practice: Practice) -> Ask | None:
        """What comes next; None when a placement is over."""
        if self.placing:
            probe = self._probe(practice)
            return Ask(probe, Why.PLACEMENT) if probe else None
        return next_ask(
            self.items,
            self._awake(practice),
            self.day,
            self._last_device,
            self._plan,
            self._nearest,
        )

    def _foreseen(self) -> Practice:
        """The practice as it will be when the present question has been answered, right or not; of
        a placement when it has been answered right."""
        if self._asking is None:
            return self._practice
        if self.placing:
            probe = Probe(self._asking, True, 0.0)
            return replace(self._practice, probes=(*self._practice.probes, probe))
        states = self._practice.states
        answered = after(states.get(self._asking), 0.0, 0.0, self.day)
        return replace(self._practice, states={**states, self._asking: answered})

    def _mistakable(self, row: str) -> Sequence[str]:
        return mistakable_rows(row, self._catalogue)

    def _make(self, ask: Ask) -> Question:
        """The question, with a fresh seed; some seeds put a device where it cannot be asked."""
        from quiz.questions.generator import make_question  # a start does without it
        from quiz.questions.wishes import Asked

        problem: QuestionError | None = None
        item = self._or_nothing(ask)
        kind = Kind(item.kind)
        known = self.stage(item) in ("steady", "solid")
        wishes = wishes_for(item, self._settings, self._practice.reaches, self._only.given)
        # a variant and an open tail are two ways to make one thing harder: one at a time
        both = known and not (wishes.variants and self._chance.random() < 0.5)
        for _ in range(TRIES):
            asked = Asked(item.device, kind, self._key(kind), both_vary=both)
            try:
                return make_question(asked, wishes, self._catalogue, self._chance.getrandbits(48))
            except QuestionError as error:
                problem = error
        raise problem or QuestionError(f"'{item.device}' cannot be asked")

    def _or_nothing(self, ask: Ask) -> Item:
        """The item; now and then, where bars are to be marked, a chorus with nothing in it."""
        if ask.why is Why.PLACEMENT:
            return ask.item
        if ask.item.kind != Kind.PLACE.value or self._chance.random() >= NOTHING_SHARE:
            return ask.item
        nothing = [
            Item(tail.id, ask.item.kind)
            for tail in self._catalogue.family(Family.TAIL)
            if can_ask(tail, Kind.PLACE)
        ]
        fresh = [item for item in nothing if item.device != self._last_device]
        return next((item for item in fresh if item in self.items), ask.item)

    def _key(self, kind: Kind) -> Key:
        tallies = {
            key: tally for (of, key), tally in self._practice.keys.items() if of == kind.value
        }
        if self._only.keys:  # what somebody has set comes as it is, whatever its usual weight
            named = {_tally_name(key): key for key in self._only.keys}
            return named[pick_key(list(named), {}, tallies, self._chance)]
        name = pick_key(KEY_NAMES, self._key_weights(), tallies, self._chance)
        return as_called(parse_key(name), self._settings.f_sharp)

    def _key_weights(self) -> Mapping[str, float]:
        """How often each key comes; under an assignment no key rests.

        Raises QuestionError when every key rests.
        """
        resting = () if self._only.assignment else self._focus.resting
        return key_weights(self._settings.key_weights, replace(self._focus, resting=resting))

    def _look_for_contrast(self, answer: Answer) -> None:
        self._contrast = None
        if answer.chosen and not self.placing:
            asked = Item(answer.device, answer.kind)
            self._contrast = contrast(
                asked,
                answer.chosen,
                *self._practice.contrast_counts(),
                self._plan,
                self.items,
                self._mistakable,
            )

    def _answer(self, effect: "Record") -> Answer:
        question, moment = effect.question, self._clock()
        return Answer(
            rung=question.rung,
            assignment=self._assignment_of(question),
            id=self._ids.make(moment.at),
            at=moment.at,
            utc_offset=moment.utc_offset,
            practice_day=moment.day,
            device=question.item,
            kind=question.kind.value,
            key=_tally_name(question.key),
            tempo=question.tempo,
            feel=question.feel,
            texture=question.texture,
            options=len(question.options),
            guess_rate=question.guess_rate,
            score=effect.grade.score,
            verdict=effect.grade.verdict.value,
            seconds=effect.seconds,
            playings=effect.playings,
            slowed=effect.slowed,
            interrupted=effect.interrupted,
            given=effect.given,
            chosen=self._chosen_row(question, effect.grade),
            question=parameters(question),
            why=effect.why,
            version=self._version,
            origin=self._store.origin,
        )

    def _assignment_of(self, question: Question) -> str:
        """The assignment that a question belongs to: a call in a jam belongs to none."""
        if question.kind is Kind.JAM or not self._only.assignment:
            return ""
        asked = Item(question.item, question.kind.value)
        return self._only.assignment if asked in self.items else ""

    def _chosen_row(self, question: Question, grade: "Grade") -> str:
        """The row that was picked in place of the item; empty when it was the item itself."""
        if grade.chosen is None:
            return ""
        if question.kind is Kind.FORM:
            return "" if grade.chosen == question.item else grade.chosen
        picked = self._catalogue.find(grade.chosen_option)
        family = self._catalogue.find(question.item).family
        row = picked.tail or "" if family is Family.TAIL else picked.head
        return "" if row == question.item else row

    def _keep(self, records: Records, keep: Callable[[], None], what: str) -> str:
        """Let the history keep a record. Gives an empty text, or what could not be done."""
        try:
            keep()
            if not self._store.lasts:
                write_unsaved(records.answers, self._unsaved, records.undos)
        except StoreUnwritable as error:
            if not self._store.lasts:
                return f"this {what} is not kept: {error}"
            return self._rescue(records, what, error)
        except StoreError as error:
            return self._rescue(records, what, error)
        return ""

    def _rescue(self, records: Records, what: str, error: StoreError) -> str:
        try:
            write_unsaved(records.answers, self._unsaved, records.undos)
        except StoreUnwritable as second:
            return f"this {what} is not kept: {error}; {second}"
        return f"{error}. The {what} waits in {self._unsaved} and goes in at the next start."


def _tally_name(key: Key) -> str:
    """The name of a key's tonic in the tallies, where F# and Gb are one."""
    return str(G_FLAT.tonic if key.tonic == F_SHARP.tonic else key.tonic)
