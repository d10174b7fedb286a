"""Laws of the schedule, whatever the material and however the answers go."""

import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.catalogue import builtin_catalogue
from quiz.learning.material import Only, items_within
from quiz.learning.memory import Item, State, recall
from quiz.learning.practice import KeyTally, Practice
from quiz.learning.schedule import (
    CONTRAST_SHARE,
    LEAD,
    LONGEST_WAIT,
    Plan,
    ahead_of_time,
    contrast,
    due_items,
    next_ask,
    pick_key,
    ripeness,
    weakness,
)
from quiz.learning.today import Today, today
from quiz.questions.kinds import KINDS, ROUND_KINDS, By
from quiz.questions.neighbours import contrasts, nearest_rows
from quiz.settings.values import KEY_NAMES
from tests.quiz.histories import FIRST_DAY, an_answer

SOME_KINDS = ("name", "write", "spell")
MATERIAL = [Item(device, kind) for device in "abcdefgh" for kind in SOME_KINDS]


def alone(_device: str) -> Sequence[str]:
    return ()


@st.composite
def practices(draw: st.DrawFn) -> Practice:
    """Any part of the material met at any time with any memory of it."""
    states = {
        item: State(
            stability=draw(st.floats(0.01, 3000)),
            difficulty=draw(st.floats(1, 10)),
            day=FIRST_DAY + draw(st.integers(0, 100)),
            asked=draw(st.integers(1, 50)),
            right=1,
            first_day=FIRST_DAY + draw(st.integers(-50, 0)),
            last_right=draw(st.booleans()),
        )
        for item in draw(st.lists(st.sampled_from(MATERIAL), unique=True))
    }
    return Practice(states=states)


@given(practices(), st.integers(0, 400), st.sampled_from("abcdefghz"), st.integers(1, 400))
def test_what_is_asked_is_of_the_material_and_not_the_device_just_asked(
    practice: Practice, later: int, last: str, daily: int
) -> None:
    day = FIRST_DAY + later
    asked = next_ask(MATERIAL, practice, day, last, Plan(daily), alone)
    assert asked.item in MATERIAL
    assert asked.item.device != last
    assert asked == next_ask(MATERIAL, practice, day, last, Plan(daily), alone)


@given(practices(), st.integers(100, 400))
def test_while_anything_is_due_something_due_is_asked_and_the_ripest_of_it(
    practice: Practice, later: int
) -> None:
    day, plan = FIRST_DAY + later, Plan()
    due = due_items(MATERIAL, practice, day, plan)
    asked = next_ask(MATERIAL, practice, day, None, plan, alone)
    assert bool(due) == (asked.why == "due")
    if due:
        ripest = max(ripeness(practice.states[item], day, 1.7) for item in due)
        assert ripest == ripeness(practice.states[asked.item], day, 1.7)


@given(practices(), st.integers(0, 400), st.randoms(use_true_random=False))
def test_what_is_asked_does_not_depend_on_the_order_in_which_the_history_is_held(
    practice: Practice, later: int, chance: random.Random
) -> None:
    day = FIRST_DAY + later
    shuffled = list(practice.states.items())
    chance.shuffle(shuffled)
    again = Practice(states=dict(shuffled))
    assert next_ask(MATERIAL, practice, day, None, Plan(), alone) == next_ask(
        MATERIAL, again, day, None, Plan(), alone
    )


@given(practices(), st.integers(0, 400))
def test_what_comes_ahead_of_time_has_been_met_and_is_of_the_material(
    practice: Practice, later: int
) -> None:
    found = ahead_of_time(MATERIAL, practice, FIRST_DAY + later)
    assert (found is None) == (not practice.states)
    assert found is None or found in practice.states


@given(practices(), st.integers(100, 400))
def test_nothing_stays_undue_for_longer_than_the_longest_wait(
    practice: Practice, later: int
) -> None:
    day = FIRST_DAY + later
    due = due_items(MATERIAL, practice, day, Plan())
    waited = {item for item, state in practice.states.items() if day - state.day >= LONGEST_WAIT}
    assert waited <= set(due)


@given(
    st.dictionaries(st.sampled_from(KEY_NAMES), st.floats(0.001, 1000), min_size=1),
    st.dictionaries(
        st.sampled_from(KEY_NAMES),
        st.builds(
            lambda times, right, expected: KeyTally(
                times, times, int(times * right), times * expected, times / 2, times
            ),
            st.integers(1, 2000),
            st.floats(0, 1),
            st.floats(0, 1),
        ),
    ),
    st.integers(),
)
def test_a_key_is_always_one_that_is_allowed(
    weights: dict[str, float], tallies: dict[str, KeyTally], seed: int
) -> None:
    off = {key: weights.get(key, 0.0) for key in KEY_NAMES}
    key = pick_key(KEY_NAMES, off, tallies, random.Random(seed))
    assert off[key] > 0
    assert key == pick_key(KEY_NAMES, off, tallies, random.Random(seed))
    assert all(0 <= weak <= 2 for weak in weakness(KEY_NAMES, tallies).values())


@given(st.lists(st.booleans(), max_size=300))
def test_contrasts_never_pass_their_share(mistakes: list[bool]) -> None:
    asked, contrasts_so_far = 0, 0
    for mistaken in mistakes:
        asked += 1
        if mistaken and contrast(
            Item("a", "name"), "b", contrasts_so_far, asked, Plan(), MATERIAL, lambda _device: ["b"]
        ):
            contrasts_so_far += 1
            asked += 1
        assert contrasts_so_far <= CONTRAST_SHARE * asked


# --- a learner over eighty days ------------------------------------------------------------------


DAYS = 80
"""Of practice and holidays, at five days a week: more material takes longer to be met."""


class Learner:
    """Practises all built-in material; remembers as the model says, with luck from a seed."""

    def __init__(self, daily: int, days: Sequence[int], seed: int) -> None:
        catalogue = builtin_catalogue()
        self.items = list(items_within(Only(), catalogue))
        self.asked: list[tuple[int, Item, str]] = []
        self.practice = Practice()
        rows = {item.device for item in self.items}
        near = {row: nearest_rows(row, catalogue) for row in rows}
        chance, plan = random.Random(seed), Plan(daily)
        for day in days:
            for _ in range(daily):
                last = self.asked[-1][1].device if self.asked else None
                ask = next_ask(
                    self.items,
                    self.practice,
                    FIRST_DAY + day,
                    last,
                    plan,
                    lambda device: near[device],
                )
                self._answer(ask.item, ask.why, day, chance)

    def _answer(self, item: Item, why: str, day: int, chance: random.Random) -> None:
        known = self.practice.states.get(item)
        remembered = chance.random() < (recall(known, FIRST_DAY + day) if known else 0.3)
        number = len(self.asked)
        self.asked.append((day, item, why))
        self.practice = self.practice.after(
            an_answer(
                number,
                FIRST_DAY + day,
                device=item.device,
                kind=item.kind,
                why=why,
                key=KEY_NAMES[number % 12],
                score=float(remembered),
                verdict="right" if remembered else "wrong",
            )
        )


@pytest.fixture(scope="module")
def learner() -> Learner:
    """Sixty days, two of seven without practice."""
    return Learner(36, [day for day in range(DAYS) if day % 7 not in (2, 5)], seed=4)


def test_all_material_is_met_within_eighty_days(learner: Learner) -> None:
    assert set(learner.items) == set(learner.practice.states)


def test_no_item_starves(learner: Learner) -> None:
    days = defaultdict[Item, list[int]](list)
    for day, item, _ in learner.asked:
        days[item].append(day)
    gaps = [
        later - earlier for asked in days.values() for earlier, later in pairwise([*asked, DAYS])
    ]
    assert len(gaps) > 1000
    assert max(gaps) <= LONGEST_WAIT + 7  # ripe after 30 days, asked within a week of it


def test_no_device_is_asked_twice_running_over_eighty_days(learner: Learner) -> None:
    assert all(one[1].device != other[1].device for one, other in pairwise(learner.asked))


def test_new_items_keep_to_their_daily_share(learner: Learner) -> None:
    new = Counter(day for day, _, why in learner.asked if why == "new")
    assert 12 == new[0] == max(new.values())


def test_all_kinds_are_met_side_by_side_from_the_first_day(learner: Learner) -> None:
    first = Counter(item.kind for day, item, why in learner.asked if (day, why) == (0, "new"))
    kinds = {kind.value for kind in ROUND_KINDS if KINDS[kind].answered is not By.PLAYING}
    assert kinds == set(first)  # nobody has an instrument connected there
    assert 12 == first.total()
    assert max(first.values()) <= 4


def test_a_learner_who_comes_back_after_a_month_is_asked_what_is_due() -> None:
    learner = Learner(20, [*range(10), 40], seed=9)
    assert {"due"} == {why for day, _, why in learner.asked if day == 40}


# --- a smaller player: holidays, rests, leads -----------------------------------------------------


class Regular:
    """Practises some items a day's share a day; remembers as the model says."""

    def __init__(self, items: Sequence[Item], plan: Plan, seed: int) -> None:
        self.items, self.plan, self.practice = items, plan, Practice()
        self.asked: list[tuple[int, Item, str]] = []
        self._chance = random.Random(seed)

    def practise(self, day: int) -> None:
        """A day's share of questions."""
        for _ in range(self.plan.daily_questions):
            last = self.asked[-1][1].device if self.asked else None
            ask = next_ask(self.items, self.practice, FIRST_DAY + day, last, self.plan, alone)
            known = self.practice.states.get(ask.item)
            right = self._chance.random() < (recall(known, FIRST_DAY + day) if known else 0.5)
            self.asked.append((day, ask.item, ask.why))
            self.practice = self.practice.after(
                an_answer(
                    len(self.asked),
                    FIRST_DAY + day,
                    device=ask.item.device,
                    kind=ask.item.kind,
                    score=float(right),
                    why=ask.why,
                )
            )

    def today(self, day: int) -> Today:
        return today(self.items, self.practice, FIRST_DAY + day, self.plan)

    def longest_gap(self, items: Iterable[Item], since: int, until: int) -> int:
        """The most days that one of the items was not asked, up to the end."""
        days = {item: [since] for item in items}
        for day, item, _ in self.asked:
            if item in days and day > since:
                days[item].append(day)
        return max(
            later - earlier
            for asked in days.values()
            for earlier, later in pairwise([*asked, until])
        )


SIXTY = [Item(f"d{number}", kind) for number in range(20) for kind in SOME_KINDS]


@pytest.mark.parametrize("seed", range(3))
def test_after_six_weeks_away_the_backlog_is_spread_and_nothing_of_it_hidden(seed: int) -> None:
    player = Regular(SIXTY, Plan(daily_questions=12), seed)
    for day in range(30):
        player.practise(day)
    back = 72
    waiting = set(player.practice.states)
    assert 60 == len(waiting)
    backlog = set(due_items(SIXTY, player.practice, FIRST_DAY + back, Plan(daily_questions=12)))
    whole = player.today(back)
    assert whole.due > 2 * 12  # far more than a day's share
    for day in range(back, back + 21):
        stand = player.today(day)
        assert stand.left <= 12
        assert stand.due == stand.left + stand.later
        player.practise(day)
        assert 0 == player.today(day).left
    asked = [item for day, item, _ in player.asked if day >= back]
    assert waiting == set(asked)
    assert backlog <= set(asked[: 12 * 7])  # all of it within a week of shares
    assert 12 >= player.today(back + 21).due  # and then the days are as they were


def test_with_rests_and_leads_no_item_that_is_awake_starves() -> None:
    resting = {item for item in SIXTY if item.device in ("d3", "d4")}
    awake = [item for item in SIXTY if item not in resting]
    leading = frozenset(item for item in awake if item.kind == "spell")
    player = Regular(awake, Plan(12, leading=leading), seed=5)
    for day in range(80):
        player.practise(day)
    assert set(awake) == set(player.practice.states)
    others = set(awake) - leading
    assert player.longest_gap(others, 10, 80) <= LONGEST_WAIT  # 12 when this was written
    assert all(one[1].device != other[1].device for one, other in pairwise(player.asked))
    counts = Counter(item for _, item, _ in player.asked)
    led, usual = (sum(counts[item] for item in some) / len(some) for some in (leading, others))
    assert led > 1.3 * usual


def test_the_same_history_day_and_plan_ask_the_same_over_weeks() -> None:
    courses = []
    for _ in range(2):
        player = Regular(SIXTY, Plan(12, leading=frozenset(SIXTY[:4])), seed=8)
        for day in range(0, 30, 2):
            player.practise(day)
        courses.append(player.asked)
    assert courses[0] == courses[1]


@given(practices(), st.integers(100, 400), st.frozensets(st.sampled_from(MATERIAL)))
def test_a_lead_lets_no_other_item_wait_more_than_so_many_times_as_long(
    practice: Practice, later: int, leading: frozenset[Item]
) -> None:
    day, plan = FIRST_DAY + later, Plan(leading=leading)
    asked = next_ask(MATERIAL, practice, day, None, plan, alone)
    for item in due_items(MATERIAL, practice, day, plan):
        over = LEAD if asked.item in leading else 1.0
        mine = ripeness(practice.states[item], day, 1.7)
        assert mine <= over * ripeness(practice.states[asked.item], day, 1.7)


def test_neighbours_of_the_built_in_devices_are_mutual() -> None:
    catalogue = builtin_catalogue()
    for device in catalogue.devices:
        for rival in contrasts(device, catalogue):
            assert device in contrasts(rival, catalogue)
