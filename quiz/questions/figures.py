"""Questions about one figure: `name`, `write`, `spell` and `play`.

A choice question is proved before it is asked: within the excerpt, no two of its options have the
same pitches at the same times. That one strikes a note again where the other lets it ring is not
enough: over root eighths, the fifth of the four as the last beat and straight on are 1 1 1 1 either
way. Where a figure may come as a variant, its variants are kept apart from those of the other
options too.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import replace

from engine.catalogue import Catalogue, Device, Family, combine, goes_with, places
from engine.errors import MusicInputError
from engine.figure import figure
from engine.forms import Form
from engine.line import A1, E1, Strike
from engine.theory import Key, Midi
from quiz.errors import QuestionError
from quiz.questions.excerpts import excerpt_bars, question_line, question_outline
from quiz.questions.hearing import usual_place
from quiz.questions.kinds import KINDS, By, Kind
from quiz.questions.neighbours import rivals
from quiz.questions.value import UPPER, Question, Wanted, asked_device
from quiz.questions.wishes import Asked, Stretch, Wishes, draw_question, form_weight

TAIL_OPTIONS = 3
"""Tails to choose from when both parts of a turnaround vary."""

PLAIN_SHARE = 0.5
"""How often the row where nothing happens is offered although others are nearer."""

VARIED_SHARE = 0.5
"""How often a figure comes as a variant where it may. Both ways come as often, so that the second
half of the answer cannot be guessed."""

UPPER_SHARE = 0.25
"""How often the line stands an octave up where the options are near ones."""


def figure_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """A question of a kind that is about one figure.

    Raises QuestionError when the item has no place, or no distractor differs from it.
    """
    chance = random.Random(seed)
    item = catalogue.find(asked.item)
    plain = whole_device(item, asked, catalogue, chance)
    heard = KINDS[asked.kind].heard
    form, bar = (
        form_and_bar(plain, catalogue, chance) if heard else usual_place(plain, False, catalogue)
    )
    may_vary = wishes.variants and asked.kind is Kind.NAME and not asked.both_vary
    variants = may_vary and plain.variant_of is None  # a tail too may follow a head that is one
    device = _as_it_comes(plain, form, bar, catalogue, chance) if variants else plain
    stretch = Stretch(form, bar, *excerpt_bars(device, form, bar), lowest(device, asked.key))
    question = replace(
        draw_question(asked, wishes, stretch, device, catalogue, chance, seed),
        wanted=_wanted(asked.kind, wishes, chance),
        spelling_counts=wishes.spelling_counts,
        variants=variants,
        varies=plain.id if device != plain else "",
        rung=wishes.rung if heard else -1,
    )
    if question.varies and not _is_told_apart(question, plain, catalogue):
        question = replace(question, device=plain.id, varies="")
    if wishes.near and heard and chance.random() < UPPER_SHARE:
        question = _an_octave_up(question, catalogue)
    if KINDS[asked.kind].answered is not By.CHOICE:
        return question
    return replace(
        question, options=_options(question, asked, item, plain, wishes, catalogue, chance)
    )


# --- what is played -----------------------------------------------------------------------------


def whole_device(item: Device, asked: Asked, catalogue: Catalogue, chance: random.Random) -> Device:
    """The item as something that can be played: a head gets a tail, a tail gets a head."""
    if item.family is Family.HEAD and not asked.both_vary:
        return catalogue.completed(item)
    if item.complete:
        return item
    if item.family is Family.HEAD:
        return combine(item, chance.choice(catalogue.tails_for(item)))
    heads = [head for head in catalogue.family(Family.HEAD) if goes_with(head, item)]
    return combine(chance.choice(heads), item)


def form_and_bar(
    device: Device,
    catalogue: Catalogue,
    chance: random.Random,
    forms: Iterable[Form] | None = None,
) -> tuple[Form, int]:
    """A form and a bar of it in which the device has a place; one of `forms` if they are given.

    Raises QuestionError when there is none.
    """
    possible = [
        (form, bar)
        for form in (catalogue.forms if forms is None else forms)
        if device.minor or not form.minor
        for bar in places(device, form)
    ]
    if not possible:
        raise QuestionError(f"'{device.name}' has no place in any form: check its 'serves'")
    return chance.choices(possible, [form_weight(form) for form, _ in possible])[0]


def _as_it_comes(
    plain: Device, form: Form, bar: int, catalogue: Catalogue, chance: random.Random
) -> Device:
    """The figure itself, or one of its variants that have a place there."""
    if chance.random() >= VARIED_SHARE:
        return plain
    standing = [
        variant
        for variant in catalogue.variants(plain)
        if bar in places(variant, form) and (variant.minor or not form.minor)
    ]
    return chance.choice(standing or [plain])


def _is_told_apart(question: Question, plain: Device, catalogue: Catalogue) -> bool:
    """Whether the variant that is played can be told from the figure: by other pitches, or, where
    it is doubled, by what is struck twice. A stay that comes late over a base pattern that stays
    cannot."""
    varied, itself = (question_outline(question, catalogue, way) for way in (None, plain))
    doubled = asked_device(question, catalogue).pattern == plain.pattern.doubled()
    return varied != itself if doubled else pitch_changes(varied) != pitch_changes(itself)


def lowest(device: Device, key: Key) -> Midi:
    """A1 where the device stands above it, as it nearly always can, else E1."""
    return A1 if min(figure(device, key).pitches, default=A1) >= A1 else E1


def _an_octave_up(question: Question, catalogue: Catalogue) -> Question:
    """The question in the upper register, where the whole line fits there."""
    above = replace(question, register=UPPER)
    try:
        question_line(above, catalogue)
    except MusicInputError:
        return question
    return above


def _wanted(kind: Kind, wishes: Wishes, chance: random.Random) -> Wanted:
    """`spell` asks in one direction; `write` takes what the player likes, but degrees where nothing
    says which key it is."""
    if kind is Kind.WRITE and not wishes.key_given:
        return Wanted.DEGREES
    if kind is Kind.SPELL and wishes.wanted is Wanted.EITHER:
        return chance.choice((Wanted.NOTES, Wanted.DEGREES))
    return wishes.wanted


# --- what is offered ----------------------------------------------------------------------------


def _options(
    question: Question,
    asked: Asked,
    item: Device,
    plain: Device,
    wishes: Wishes,
    catalogue: Catalogue,
    chance: random.Random,
) -> tuple[str, ...]:
    wished = replace(wishes, variants=question.variants)
    candidates = _candidates(asked, item, plain, wished, catalogue, chance)
    offered = _apart(question, candidates, catalogue)
    if len(offered) < 2:
        raise QuestionError(f"nothing sounds different enough from '{plain.name}' to be offered")
    return tuple(option.id for option in offered)


def _candidates(
    asked: Asked,
    item: Device,
    device: Device,
    wishes: Wishes,
    catalogue: Catalogue,
    chance: random.Random,
) -> list[Device]:
    """Whole devices to offer, the answer first."""
    others = wishes.options - 1

    def near(nearest_first: Sequence[Device], wanted: int) -> list[Device]:
        if wishes.variants:  # a row that is a variant would be a second right answer
            nearest_first = [one for one in nearest_first if one.variant_of is None]
        return _near(nearest_first, wanted, wishes.near, chance)

    if device.family is not Family.TURNAROUND and item.family is not Family.HEAD:
        return [device, *near(rivals(item, catalogue), others)]
    head = catalogue.find(device.head)
    tail = catalogue.find(device.tail) if device.tail else None
    heads, tails = [head], [tail] if tail else []
    if asked.both_vary or item.family is Family.HEAD:
        heads += near(rivals(head, catalogue), others)
    if tail and (asked.both_vary or item.family is Family.TAIL):
        suited = [rival for rival in rivals(tail, catalogue) if goes_with(head, rival)]
        tails += near(suited, TAIL_OPTIONS if asked.both_vary else others)
    return [device, *_crossed(heads, tails, catalogue)]


def _near(
    nearest_first: Sequence[Device], wanted: int, nearest_only: bool, chance: random.Random
) -> list[Device]:
    """The nearest rival, and others from the near half, or the nearest alone; often the one where
    nothing happens."""
    pool = list(nearest_first[: wanted if nearest_only else 1 + 2 * (wanted - 1)])
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


def _apart(question: Question, candidates: Sequence[Device], catalogue: Catalogue) -> list[Device]:
    """The candidates that stand in the same bar and sound different from each other, in the
    order of the catalogue, so that the place in the list says nothing."""
    form = catalogue.form(question.form)
    standing = [candidate for candidate in candidates if question.bar in places(candidate, form)]
    fitting = list(dict.fromkeys(standing))
    # in a minor tune what does not suit it would rule itself out
    suited = [candidate for candidate in fitting if candidate.minor or not form.minor]
    offered = _different(question, suited, catalogue)
    if len(offered) < 2:
        offered = _different(question, fitting, catalogue)
    order = {row.id: place for place, row in enumerate(catalogue.devices)}
    return sorted(offered, key=lambda one: (order[one.head], order.get(one.tail or "", 0)))


def _different(
    question: Question, candidates: Sequence[Device], catalogue: Catalogue
) -> list[Device]:
    """The candidates without those that sound like one before."""
    heard: set[tuple[Strike, ...]] = set()
    kept: list[Device] = []
    for candidate in candidates:
        sounds = _sounds(question, candidate, catalogue)
        if not sounds & heard:
            heard |= sounds
            kept.append(candidate)
    return kept


def _sounds(question: Question, option: Device, catalogue: Catalogue) -> set[tuple[Strike, ...]]:
    """What is heard where an option is right: its own sound, and where it may come as a variant
    those of all its variants."""
    form = catalogue.form(question.form)
    ways = [option]
    if question.variants:
        ways += [way for way in catalogue.variants(option) if question.bar in places(way, form)]
    return {pitch_changes(question_outline(question, catalogue, way)) for way in ways}


def pitch_changes(strikes: Sequence[Strike]) -> tuple[Strike, ...]:
    """The strikes that bring another pitch class than the one before, the first of all included."""
    return tuple(
        strike
        for place, strike in enumerate(strikes)
        if place == 0 or strike.pitch_class != strikes[place - 1].pitch_class
    )
