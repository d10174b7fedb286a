"""Questions about a whole chorus: `place` and `form`.

In `place` the chorus holds one to three pickups and perhaps a turnaround; or nothing, which is an
answer of its own. It is proved before it is asked: the bars in which the bass strikes something
else than in the plain chorus, the bars in which it sounds other pitches, and the bars of the
devices are the same bars. In `form` the forms that are offered differ in their chords, and the
keys always play: the bass alone never fixes the chord.
"""

import random
from collections.abc import Sequence
from dataclasses import replace

from engine.catalogue import Catalogue, Device, Family, places
from engine.errors import MusicInputError
from engine.forms import Form
from engine.line import E1, Strike
from engine.pattern import Pattern
from engine.textures import Texture
from engine.theory import OCTAVE
from engine.timing import BEATS_PER_BAR
from quiz.errors import QuestionError
from quiz.learning.material import can_ask
from quiz.questions.excerpts import (
    Outlines,
    chorus_outlines,
    departures,
    question_compass,
    question_line,
)
from quiz.questions.figures import form_and_bar
from quiz.questions.kinds import Kind
from quiz.questions.neighbours import changed_beats, rival_forms
from quiz.questions.value import Question, placements
from quiz.questions.wishes import Asked, Stretch, Wishes, draw_question, form_weight

MOST_PICKUPS = 3
TURNAROUND_SHARE = 0.4
"""How often a chorus with pickups ends in a turnaround too."""

DRAWS = 24
"""How often a chorus is drawn anew until one has what it should, and nothing that is doubtful."""


def place_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """Which bars of a chorus hold something; for the tail that stays home it is none.

    Raises QuestionError when no chorus was found in which the device can be told.
    """
    chance = random.Random(seed)
    item = catalogue.find(asked.item)
    for _ in range(DRAWS):
        question = _place_drawn(item, asked, wishes, catalogue, chance, seed)
        if _is_clear(question, catalogue):
            return question
    raise QuestionError(f"no chorus was found in which '{item.name}' can be told from the pattern")


def _place_drawn(
    item: Device,
    asked: Asked,
    wishes: Wishes,
    catalogue: Catalogue,
    chance: random.Random,
    seed: int,
) -> Question:
    held: list[tuple[int, Device]] = []
    if item.family is Family.PICKUP:
        form, bar = form_and_bar(item, catalogue, chance)
        held.append((bar, item))
        _add_company(held, form, wishes, catalogue, chance)
    else:
        form = chance.choices(catalogue.forms, list(map(form_weight, catalogue.forms)))[0]
    drawn = _whole_chorus(form, asked, wishes, catalogue, chance, seed)
    return replace(
        drawn,
        placed=tuple(
            f"{bar}:{device.id}" for bar, device in sorted(held, key=lambda pair: pair[0])
        ),
    )


def _add_company(
    held: list[tuple[int, Device]],
    form: Form,
    wishes: Wishes,
    catalogue: Catalogue,
    chance: random.Random,
) -> None:
    """Other pickups, and perhaps a turnaround, in bars that are still free."""
    if chance.random() < TURNAROUND_SHARE:
        heads = [head for head in catalogue.family(Family.HEAD) if head.minor or not form.minor]
        if heads:  # a catalogue of somebody's own may have none
            _put(held, catalogue.completed(chance.choice(heads)), form, chance)
    wanted = chance.randint(1, min(max(wishes.options, 1), MOST_PICKUPS))
    pickups = [
        device
        for device in catalogue.family(Family.PICKUP)
        if can_ask(device, Kind.PLACE) and (device.minor or not form.minor)
    ]
    chance.shuffle(pickups)
    for device in pickups:
        if sum(one.family is Family.PICKUP for _, one in held) >= wanted:
            return
        _put(held, device, form, chance)


def _put(held: list[tuple[int, Device]], device: Device, form: Form, chance: random.Random) -> None:
    """Put a device into a bar of its own, with a free bar on both sides, if there is one."""
    free = [
        bar
        for bar in places(device, form)
        if all(
            bar > other + one.pattern.bars or bar + device.pattern.bars < other
            for other, one in held
        )
    ]
    if free:
        held.append((chance.choice(free), device))


def _is_clear(question: Question, catalogue: Catalogue) -> bool:
    """Whether every device can be told, in its own bars and in no other."""
    bars = tuple(
        sorted(
            bar + offset
            for bar, name in placements(question)
            for offset in range(catalogue.find(name).pattern.bars)
        )
    )
    try:
        outlines = chorus_outlines(question, catalogue)
        if not bars == departures(outlines) == _audible_departures(outlines):
            return False
        if not _surely_fits(question, catalogue):
            question_line(question, catalogue)
    except MusicInputError:
        return False  # this line does not fit the instrument, or two devices overlap
    return True


def _surely_fits(question: Question, catalogue: Catalogue) -> bool:
    """Whether the line fits the instrument in any key: no part of it is so wide that an octave and
    the bend of a chord's third or fifth to either side would not leave room for it. Most are not,
    and finding out costs a fraction of writing the line."""
    compass = question_compass(question)
    room = compass.high - compass.low - OCTAVE - 2
    names = [question.base, *(name for _, name in placements(question))]
    devices = map(catalogue.find, names)
    patterns = [way for one in devices for way in (one.pattern, *one.alternatives)]
    return all(_width(way) <= room for way in patterns)


def _width(pattern: Pattern) -> int:
    """Semitones from the lowest note to the highest."""
    heights = [tone.semitones for tone in pattern.tones]
    return max(heights, default=0) - min(heights, default=0)


def _audible_departures(outlines: Outlines) -> tuple[int, ...]:
    """The bars, from 1, in which other pitches sound than in the plain chorus, struck or not."""
    played, plain = map(_sounding, outlines)
    beats = [beat for beat, one in played.items() if plain.get(beat) != one]
    return tuple(sorted({beat // BEATS_PER_BAR + 1 for beat, _ in beats}))


def _sounding(strikes: Sequence[Strike]) -> dict[tuple[int, bool], int]:
    """The pitch class that sounds on each eighth, up to the last strike."""
    struck = {(strike.beat, strike.offbeat): strike.pitch_class for strike in strikes}
    sounding: dict[tuple[int, bool], int] = {}
    now: int | None = None
    for beat in range(strikes[-1].beat + 1):
        for offbeat in (False, True):
            now = struck.get((beat, offbeat), now)
            if now is not None:
                sounding[beat, offbeat] = now
    return sounding


def form_question(asked: Asked, wishes: Wishes, catalogue: Catalogue, seed: int) -> Question:
    """Which form a chorus is.

    Raises QuestionError when there is no other form to offer.
    """
    chance = random.Random(seed)
    form = catalogue.form(asked.item)
    rivals = [other for other in rival_forms(form, catalogue) if changed_beats(form, other)]
    wanted = max(wishes.options, 2) - 1
    pool = rivals[:wanted] if wishes.near else rivals
    others = _all_apart(chance.sample(pool, min(wanted, len(pool))))
    if not others:
        raise QuestionError(f"no other form differs from the {form.name}")
    order = {row.id: place for place, row in enumerate(catalogue.forms)}
    options = sorted((form.id, *(other.id for other in others)), key=lambda name: order[name])
    banded = replace(wishes, texture=Texture.BAND)
    return replace(
        _whole_chorus(form, asked, banded, catalogue, chance, seed), options=tuple(options)
    )


def _all_apart(forms: Sequence[Form]) -> list[Form]:
    """The forms without those that have the chords of one before."""
    kept: dict[object, Form] = {}
    for form in forms:
        kept.setdefault(form.bars, form)
    return list(kept.values())


def _whole_chorus(
    form: Form,
    asked: Asked,
    wishes: Wishes,
    catalogue: Catalogue,
    chance: random.Random,
    seed: int,
) -> Question:
    """One chorus of a form with nothing in it yet."""
    stretch = Stretch(form, 1, 1, len(form), E1)
    return draw_question(asked, wishes, stretch, None, catalogue, chance, seed)
