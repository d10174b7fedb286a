"""Questions about what agrees with the band: `fit`.

The keys play a turnaround without a bass; which of the figures that are offered agree with them is
judged by `engine.agreement`, beat by beat. Several may. The figures differ from each other in what
the bass strikes, and at least one of them agrees unless none of all does.
"""

import random
from collections.abc import Sequence
from dataclasses import replace

from engine.catalogue import Catalogue, Device, Family, places
from engine.forms import Form
from engine.line import Strike, outline
from engine.pattern import Pattern
from engine.plan import Placement
from engine.textures import Texture
from engine.timing import BEATS_PER_BAR
from quiz.errors import QuestionError
from quiz.questions.excerpts import Accompaniment, excerpt_bars, question_plan
from quiz.questions.figures import form_and_bar, lowest, pitch_changes
from quiz.questions.neighbours import distance
from quiz.questions.value import Question
from quiz.questions.wishes import Asked, Stretch, Wishes, draw_question

LEAST_OPTIONS = 2


def fit_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """Which figures agree with the chords of a turnaround.

    Raises QuestionError when there are not two figures to offer.
    """
    chance = random.Random(seed)
    device = catalogue.completed(catalogue.find(asked.item))
    figures = _whole_heads(catalogue)
    forms = [form for form in catalogue.forms if _enough(figures, form)]
    form, bar = form_and_bar(device, catalogue, chance, forms)
    stretch = Stretch(form, bar, *excerpt_bars(device, form, bar), lowest(device, asked.key))
    banded = replace(wishes, texture=Texture.BAND)  # without keys there is nothing to fit
    question = draw_question(asked, banded, stretch, device, catalogue, chance, seed)
    figures = [one for one in figures if _suits(one, form, bar)]
    chance.shuffle(figures)
    return replace(question, options=_options(question, device, figures, wishes, catalogue, chance))


def _options(
    question: Question,
    device: Device,
    figures: Sequence[Device],
    wishes: Wishes,
    catalogue: Catalogue,
    chance: random.Random,
) -> tuple[str, ...]:
    """Figures to tick, in the order of the catalogue."""
    band = Accompaniment.of(question, catalogue)
    judged = [(len(band.clashes(one)), one) for one in _different(question, figures, catalogue)]
    agreeing = [one for clashes, one in judged if not clashes]
    agreeing.sort(key=lambda one: one != device)  # the figure that is being learned comes first
    if wishes.near:  # the figures that miss by little are the hard ones
        judged.sort(key=lambda pair: (pair[0], distance(device, pair[1])))
    clashing = [one for clashes, one in judged if clashes]
    wanted = max(wishes.options, LEAST_OPTIONS)
    right = chance.randint(1, max(1, wanted - 1))
    picked = agreeing[:right]
    picked += clashing[: wanted - len(picked)]
    picked += agreeing[right : right + wanted - len(picked)]
    if len(picked) < LEAST_OPTIONS:
        raise QuestionError(f"there are not two figures to offer over '{device.name}'")
    order = {row.id: place for place, row in enumerate(catalogue.devices)}
    return tuple(one.id for one in sorted(picked, key=lambda one: order[one.head]))


def _whole_heads(catalogue: Catalogue) -> list[Device]:
    """Every head as a whole turnaround. Variants are left out: a flat third over a major chord is a
    colour, and no mistake."""
    heads = catalogue.family(Family.HEAD)
    return [catalogue.completed(head) for head in heads if head.variant_of is None]


def _enough(figures: Sequence[Device], form: Form) -> bool:
    """Whether a form has room for figures to choose from."""
    return sum(any(_suits(one, form, bar) for bar in places(one, form)) for one in figures) > 1


def _suits(device: Device, form: Form, bar: int) -> bool:
    return bar in places(device, form) and (device.minor or not form.minor)


def _different(question: Question, figures: Sequence[Device], catalogue: Catalogue) -> list[Device]:
    """The figures without those that sound like one before."""
    if all(_stands_alone(one.pattern) for one in figures):
        struck = [_own_strikes(one.pattern) for one in figures]
    else:
        plan, bar = question_plan(question, catalogue), question.bar - question.first
        under = [replace(plan, placements=(Placement(one, bar),)) for one in figures]
        struck = [outline(one, question.seed) for one in under]
    heard: dict[tuple[Strike, ...], Device] = {}
    for one, strikes in zip(figures, struck, strict=True):
        heard.setdefault(pitch_changes(strikes), one)
    return list(heard.values())


def _stands_alone(pattern: Pattern) -> bool:
    """Whether a figure strikes every beat and the downbeat behind, so that two such figures can be
    compared without the line around them."""
    struck = {spot.beat for spot in pattern.strikes if not spot.offbeat}
    return struck == set(range(pattern.bars * BEATS_PER_BAR + 1))


def _own_strikes(pattern: Pattern) -> tuple[Strike, ...]:
    notes = zip(pattern.strikes, pattern.degrees, strict=True)
    return tuple(Strike(spot.beat, spot.offbeat, degree.pitch_class) for spot, degree in notes)
