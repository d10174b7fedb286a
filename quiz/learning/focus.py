"""What the player lets rest and what they put forward: devices, families, kinds, keys.

What rests is never asked until it is woken, and nothing of it is forgotten meanwhile: its answers
and states stay. What is put forward comes first and more often, by rules of
`schedule` beside it. Both are kept as entries such as `device:climb`, `family:tail`, `kind:spell`
and `key:B`. An entry that stands in both rests.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from engine.catalogue import Catalogue
from quiz.errors import QuestionError
from quiz.learning.material import FORM, Only, Row, family_name, learning_order
from quiz.learning.memory import Item
from quiz.learning.practice import Practice
from quiz.questions.kinds import KINDS, Kind

DEVICE, FAMILY, KIND, KEY = "device", "family", "kind", "key"
"""What an entry may be about."""

KEY_LEAD = 4.0
"""How much more often a key comes that is put forward. [chosen here, no source]"""

NAMED = 5
"""Entries that a line names: the home screen has more to show."""

FAMILY_WORDS = {
    "head": "heads",
    "pickup": "pickups",
    "tail": "tails",
    "ending": "endings",
    FORM: "forms",
}


class Stance(Enum):
    """How a topic stands; the value is what the screen says."""

    USUAL = "as usual"
    FORWARD = "put forward"
    RESTS = "rests"


STANCE_WORDS = {
    Stance.USUAL: "asked as usual",
    Stance.FORWARD: "put forward: it comes first and more often",
    Stance.RESTS: "rests: it is not asked until you wake it",
}
"""Each stance in a few more words."""


@dataclass(frozen=True, slots=True)
class Focus:
    """What rests and what is put forward, as entries."""

    resting: tuple[str, ...] = ()
    leading: tuple[str, ...] = ()

    def stance(self, entry: str) -> Stance:
        """How one entry stands."""
        if entry in self.resting:
            return Stance.RESTS
        return Stance.FORWARD if entry in self.leading else Stance.USUAL

    def with_stance(self, entry: str, stance: Stance) -> "Focus":
        """With one entry standing otherwise, the others as they are."""
        resting = tuple(one for one in self.resting if one != entry)
        leading = tuple(one for one in self.leading if one != entry)
        match stance:
            case Stance.RESTS:
                return Focus((*resting, entry), leading)
            case Stance.FORWARD:
                return Focus(resting, (*leading, entry))
        return Focus(resting, leading)


def about(sort: str, name: str) -> str:
    """The entry for something: `about(DEVICE, "climb")` is `device:climb`."""
    return f"{sort}:{name}"


def families(catalogue: Catalogue) -> Mapping[str, str]:
    """The family of every row that can be learned, by the row's id."""
    return {row.id: family_name(row) for row in learning_order(catalogue)}


def awake(
    items: Sequence[Item], focus: Focus, only: Only, family_of: Mapping[str, str]
) -> tuple[Item, ...]:
    """Those of `items` that may be asked, in their order.

    What somebody asks for by name wins over a rest: under an assignment nothing rests, and where
    `only` names devices or kinds, those do not. Raises QuestionError when everything rests.
    """
    if not focus.resting or only.assignment:
        return tuple(items)
    resting = frozenset(focus.resting)
    left = tuple(item for item in items if not resting & _held_to(item, only, family_of))
    if not left:
        raise QuestionError(
            "everything that could be asked rests: wake something, in the catalogue or in the "
            "settings under Rest and put forward"
        )
    return left


def _held_to(item: Item, only: Only, family_of: Mapping[str, str]) -> set[str]:
    """The entries by which an item may rest."""
    entries: set[str] = set()
    if not only.devices:
        entries |= {about(DEVICE, item.device), about(FAMILY, family_of.get(item.device, ""))}
    if not only.kinds:
        entries.add(about(KIND, item.kind))
    return entries


def row_rests(row: Row, focus: Focus) -> bool:
    """Whether a row rests, by itself or with its family, in whatever kind it is asked."""
    return not {about(DEVICE, row.id), about(FAMILY, family_name(row))}.isdisjoint(focus.resting)


def put_forward(
    items: Sequence[Item], focus: Focus, family_of: Mapping[str, str]
) -> frozenset[Item]:
    """Those of `items` that are put forward: by their device, their family or their kind."""
    leading, free = frozenset(focus.leading), Only()
    if not leading:
        return frozenset()
    return frozenset(item for item in items if leading & _held_to(item, free, family_of))


def awake_practice(
    practice: Practice, focus: Focus, only: Only, family_of: Mapping[str, str]
) -> Practice:
    """The practice without the states of what rests, so that it is counted in no rotation."""
    if not focus.resting or only.assignment:
        return practice
    resting = frozenset(focus.resting)
    states = {
        item: state
        for item, state in practice.states.items()
        if not resting & _held_to(item, only, family_of)
    }
    return replace(practice, states=states)


def key_weights(weights: Mapping[str, float], focus: Focus) -> dict[str, float]:
    """How often each key comes: never while it rests, KEY_LEAD times as often when put forward.

    Raises QuestionError when no key is left.
    """
    tilt = {Stance.USUAL: 1.0, Stance.FORWARD: KEY_LEAD, Stance.RESTS: 0.0}
    tilted = {key: tilt[focus.stance(about(KEY, key))] * weights[key] for key in weights}
    if not any(tilted.values()):
        raise QuestionError(
            "every key that comes at all rests: wake one in the settings under Rest and put forward"
        )
    return tilted


def entry_words(entry: str, catalogue: Catalogue) -> str:
    """What an entry is called: `Climb`, `all tails`, `Spell it`, `key of B`."""
    sort, _, name = entry.partition(":")
    match sort:
        case "family":
            return f"all {FAMILY_WORDS.get(name, name)}"
        case "kind":
            return KINDS[Kind(name)].label
        case "key":
            return f"key of {name}"
    return catalogue.name(name)


def focus_lines(focus: Focus, catalogue: Catalogue) -> list[str]:
    """What rests and what is put forward, a line each; no line where there is nothing."""
    named = (("Resting", focus.resting), ("Put forward", focus.leading))
    return [f"{label}: {_named(entries, catalogue)}." for label, entries in named if entries]


def _named(entries: Sequence[str], catalogue: Catalogue) -> str:
    """The first NAMED entries, and how many more there are; names have commas of their own."""
    names = "; ".join(entry_words(entry, catalogue) for entry in entries[:NAMED])
    more = len(entries) - NAMED
    return f"{names}; and {more} more" if more > 0 else names
