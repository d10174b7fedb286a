"""Making a question: (what is to be asked, what the player likes, a seed) to a Question.

Every choice comes from the seed, so the same three give the same question. A choice question is
proved before it is asked: within the excerpt, no two of its options have the same pitches at the
same times. That one strikes a note again where the other lets it ring is not enough: over root
eighths, the fifth of the four as the last beat and straight on are 1 1 1 1 either way.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from engine.catalogue import Catalogue, Device, Family, combine, goes_with, places
from engine.feels import FEELS, Feel, eighth_tick
from engine.figure import figure
from engine.forms import Form, builtin_forms, find_form
from engine.line import A1, E1, Strike
from engine.score import Texture
from engine.theory import Key, Midi
from engine.timing import TICKS_PER_BEAT
from quiz.errors import QuestionError
from quiz.excerpts import excerpt_bars, question_outline
from quiz.hearing import usual_place
from quiz.kinds import KINDS, Kind
from quiz.material import can_ask
from quiz.neighbours import rivals
from quiz.questions import REGISTERS, Question, Wanted
from quiz.settings import Settings

OPTIONS = 4
"""Heads, pickups or endings to choose from."""

TAIL_OPTIONS = 3
"""Tails to choose from when both parts of a turnaround vary."""

PLAIN_SHARE = 0.5
"""How often the row where nothing happens is offered although others are nearer."""

TEMPO_STEP = 2
"""Beats a minute between the tempi that are drawn."""

SHORTEST_EIGHTH = 0.100
"""Seconds: a shorter off-beat carries no pitch, so no question hangs on it."""

FORM_WEIGHTS = {
    # How often each form is heard, of those where the device has a place.
    # [common practice, no source]
    "twelve-bar": 3,
    "twelve-bar-five": 4,
    "quick-change": 3,
    "jazz-blues": 1,
    "minor-blues": 2,
    "eight-bar": 1,
    "eight-bar-slow": 1,
    "sixteen-bar": 1,
    "sixteen-bar-tag": 1,
}


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the player's settings say about questions."""

    tempo_low: int = 80
    tempo_high: int = 132
    feels: tuple[Feel, ...] = tuple(Feel)
    texture: Texture = Texture.BAND
    comping: str = "electric-piano"
    wanted: Wanted = Wanted.EITHER
    spelling_counts: bool = False

    @classmethod
    def of(cls, settings: Settings) -> "Wishes":
        """What the player's settings say."""
        return cls(
            tempo_low=settings.tempo_low,
            tempo_high=settings.tempo_high,
            feels=tuple(map(Feel, settings.feels)),
            texture=Texture(settings.texture),
            comping=settings.comping,
            wanted=Wanted(settings.answer_as),
            spelling_counts=settings.spelling_counts,
        )


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be asked."""

    item: str
    """The id of a catalogue row: head, tail, pickup or ending."""

    kind: Kind
    key: Key
    both_vary: bool = False
    """Of a turnaround: whether head and tail are both asked for, or only the part of the item."""


def make_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """A question about `asked.item`.

    Raises QuestionError when the item cannot be asked that way, or no distractor differs from it.
    """
    chance = random.Random(seed)
    item = catalogue.find(asked.item)
    if not can_ask(item, asked.kind):
        raise QuestionError(f"'{item.name}' is not asked as '{KINDS[asked.kind].label}'")
    device = _whole(item, asked, catalogue, chance)
    heard = KINDS[asked.kind].heard
    form, bar = _form_and_bar(device, chance) if heard else usual_place(device, minor=False)
    feel = chance.choice(wishes.feels or tuple(Feel))
    first, last = excerpt_bars(device, form, bar)
    question = Question(
        kind=asked.kind,
        item=item.id,
        device=device.id,
        key=Key(asked.key.tonic, form.minor),
        tempo=_tempo(device, feel, wishes, chance),
        feel=feel.value,
        texture=wishes.texture.value,
        form=form.id,
        base=_base(catalogue, feel, chance).id,
        bar=bar,
        first=first,
        last=last,
        low=_lowest(device, asked.key),
        register=chance.choice(list(REGISTERS)),
        comping=wishes.comping,
        seed=seed,
        wanted=_wanted(asked.kind, wishes, chance),
        spelling_counts=wishes.spelling_counts,
    )
    if not KINDS[asked.kind].chosen:
        return question
    return replace(question, options=_options(question, asked, item, device, catalogue, chance))


# --- what is played -----------------------------------------------------------------------------


def _whole(item: Device, asked: Asked, catalogue: Catalogue, chance: random.Random) -> Device:
    """The item as something that can be played: a head gets a tail, a tail gets a head."""
    if item.family is Family.HEAD and not asked.both_vary:
        return catalogue.completed(item)
    if item.complete:
        return item
    if item.family is Family.HEAD:
        return combine(item, chance.choice(catalogue.tails_for(item)))
    heads = [head for head in catalogue.family(Family.HEAD) if goes_with(head, item)]
    return combine(chance.choice(heads), item)


def _form_and_bar(device: Device, chance: random.Random) -> tuple[Form, int]:
    possible = [
        (form, bar)
        for form in builtin_forms()
        if device.minor or not form.minor
        for bar in places(device, form)
    ]
    if not possible:
        raise QuestionError(f"'{device.name}' has no place in any form: check its 'serves'")
    weights = [FORM_WEIGHTS.get(form.id, 1) for form, _ in possible]
    return chance.choices(possible, weights)[0]


def _tempo(device: Device, feel: Feel, wishes: Wishes, chance: random.Random) -> float:
    """A tempo the player likes, the feel suits, and at which every note can be heard."""
    facts = FEELS[feel]
    low, high = max(wishes.tempo_low, facts.slowest), min(wishes.tempo_high, facts.fastest)
    if low > high:  # the feel lives outside what the player asked for: stay with the feel
        low, high = facts.slowest, facts.fastest
    tempi = range(round(low), round(high) + 1, TEMPO_STEP)
    clear = [bpm for bpm in tempi if _is_clear(device, feel, bpm)] or [round(facts.slowest)]
    return float(chance.choice(clear))


def _is_clear(device: Device, feel: Feel, bpm: float) -> bool:
    if not any(step.spot.offbeat for step in device.pattern.steps):
        return True
    share = 1 - eighth_tick(feel, bpm) / TICKS_PER_BEAT
    return share * 60 / bpm >= SHORTEST_EIGHTH


def _base(catalogue: Catalogue, feel: Feel, chance: random.Random) -> Device:
    bases = catalogue.family(Family.BASE)
    return chance.choice([base for base in bases if feel in base.feels] or bases)


def _lowest(device: Device, key: Key) -> Midi:
    """A1 where the device stands above it, as it nearly always can, else E1."""
    return A1 if min(figure(device, key).pitches, default=A1) >= A1 else E1


def _wanted(kind: Kind, wishes: Wishes, chance: random.Random) -> Wanted:
    """`spell` asks in one direction; `write` takes what the player likes."""
    if kind is Kind.SPELL and wishes.wanted is Wanted.EITHER:
        return chance.choice((Wanted.NOTES, Wanted.DEGREES))
    return wishes.wanted


# --- what is offered ----------------------------------------------------------------------------


def _options(
    question: Question,
    asked: Asked,
    item: Device,
    device: Device,
    catalogue: Catalogue,
    chance: random.Random,
) -> tuple[str, ...]:
    candidates = _candidates(asked, item, device, catalogue, chance)
    offered = _apart(question, device, candidates, catalogue)
    if len(offered) < 2:
        raise QuestionError(f"nothing sounds different enough from '{device.name}' to be offered")
    return tuple(option.id for option in offered)


def _candidates(
    asked: Asked, item: Device, device: Device, catalogue: Catalogue, chance: random.Random
) -> list[Device]:
    """Whole devices to offer, the answer first."""
    if device.family is not Family.TURNAROUND and item.family is not Family.HEAD:
        return [device, *_near(rivals(item, catalogue), OPTIONS - 1, chance)]
    head = catalogue.find(device.head)
    tail = catalogue.find(device.tail) if device.tail else None
    heads, tails = [head], [tail] if tail else []
    if asked.both_vary or item.family is Family.HEAD:
        heads += _near(rivals(head, catalogue), OPTIONS - 1, chance)
    if tail and (asked.both_vary or item.family is Family.TAIL):
        suited = [rival for rival in rivals(tail, catalogue) if goes_with(head, rival)]
        tails += _near(suited, TAIL_OPTIONS, chance)
    return [device, *_crossed(heads, tails, catalogue)]


def _near(nearest_first: Sequence[Device], wanted: int, chance: random.Random) -> list[Device]:
    """The nearest rival, and others from the near half; often the one where nothing happens."""
    pool = list(nearest_first[: 1 + 2 * (wanted - 1)])
    near = pool[:1] + chance.sample(pool[1:], min(wanted - 1, len(pool) - 1)) if pool else []
    plain = next((rival for rival in nearest_first if rival.plain), None)
    if chance.random() < PLAIN_SHARE and plain is not None and plain not in near:
        near[-1] = plain
    return near


def _crossed(
    heads: Iterable[Device], tails: Sequence[Device], catalogue: Catalogue
) -> list[Device]:
    """Each head with each tail that goes with it; a head that none suits takes its own first."""
    whole: list[Device] = []
    for head in heads:
        if head.complete:
            whole.append(head)
            continue
        suited = [tail for tail in tails if goes_with(head, tail)]
        whole.extend(combine(head, tail) for tail in suited or catalogue.tails_for(head)[:1])
    return whole


def _apart(
    question: Question, device: Device, candidates: Sequence[Device], catalogue: Catalogue
) -> list[Device]:
    """The candidates that stand in the same bar and sound different from each other, in the
    order of the catalogue, so that the place in the list says nothing."""
    heard: dict[tuple[Strike, ...], Device] = {}
    form = find_form(question.form)
    standing = [candidate for candidate in candidates if question.bar in places(candidate, form)]
    fitting = list(dict.fromkeys(standing))
    suited = [candidate for candidate in fitting if candidate.minor or not form.minor]
    # in a minor tune what does not suit it would rule itself out
    for candidate in suited if len(suited) > 1 else fitting:
        sound = pitch_changes(question_outline(question, catalogue, candidate))
        heard.setdefault(sound, candidate)
    order = {row.id: place for place, row in enumerate(catalogue.devices)}
    return sorted(
        heard.values(), key=lambda option: (order[option.head], order.get(option.tail or "", 0))
    )


def pitch_changes(strikes: Sequence[Strike]) -> tuple[Strike, ...]:
    """The strikes that bring another pitch class than the one before, the first of all included."""
    return tuple(
        strike
        for place, strike in enumerate(strikes)
        if place == 0 or strike.pitch_class != strikes[place - 1].pitch_class
    )
