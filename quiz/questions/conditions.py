"""Under which conditions an item is asked: the reach, unless a pin, an assignment or a setting says
otherwise, in this order of strength: assignment, pin, setting, reach."""

from collections.abc import Sequence
from dataclasses import replace

from engine.feels import FEELS, Feel
from engine.textures import Texture
from quiz.learning.material import REACH, Given
from quiz.learning.memory import Item
from quiz.learning.reach import NO_BASS, WHO_PLAYS, Reaches, reach_words
from quiz.questions.kinds import KINDS, Kind
from quiz.questions.rungs import LADDERS, rung
from quiz.questions.wishes import Wishes
from quiz.settings.values import Settings

ABOUT_CHORDS = (Kind.FIT, Kind.FORM)
"""Kinds that make no sense without the keys."""


def wishes_for(item: Item, settings: Settings, reaches: Reaches, given: Given = REACH) -> Wishes:
    """The conditions of the next question about an item.

    Where tempo or players come from a pin or an assignment, the answer says nothing of the reach,
    and the rung is -1.
    """
    wishes = Wishes.of(settings)
    kind = Kind(item.kind)
    if kind not in LADDERS:
        return wishes
    place = reaches.rung(item)
    if not KINDS[kind].heard:  # no tempo and no player makes it harder or easier
        return wishes.on(rung(kind, place), place, settings.set_texture)
    fixed = settings.set_texture
    reached = wishes.on(rung(kind, place), place, fixed and _who(kind, fixed)).around(
        reaches.tempo(item)
    )
    pin = settings.pins.get(item.device)
    if given == REACH and pin is None:
        return reached
    tempo, texture = given.tempo, given.texture
    if pin is not None:  # what an assignment leaves open
        tempo, texture = tempo or (pin.tempo, pin.tempo), texture or Texture(pin.texture)
    return _fixed(reached, tempo, texture and _who(kind, texture))


def reach_of(item: Item, settings: Settings, reaches: Reaches) -> str:
    """The conditions in plain words, `whole band, 120 bpm`; empty where the kind has no ladder."""
    kind = Kind(item.kind)
    if kind not in LADDERS:
        return ""
    pin = settings.pins.get(item.device)
    if pin is not None and KINDS[kind].heard:
        who = NO_BASS if kind is Kind.FIT else WHO_PLAYS[_who(kind, Texture(pin.texture))]
        return f"{who}, {pin.tempo} bpm, pinned"
    place, tempo = reaches.rung(item), reaches.tempo(item)
    here = rung(kind, place)
    if settings.set_texture is not None:
        wishes = Wishes().on(here, place, _who(kind, settings.set_texture))
        here = replace(here, texture=wishes.texture, key_given=wishes.key_given)
    return reach_words(here, tempo, kind)


def _who(kind: Kind, texture: Texture) -> Texture:
    """Who plays when `texture` is set: the whole band where a kind asks about chords."""
    return Texture.BAND if kind in ABOUT_CHORDS else texture


def _fixed(wishes: Wishes, tempo: tuple[float, float] | None, texture: Texture | None) -> Wishes:
    low, high = tempo or (wishes.tempo_low, wishes.tempo_high)
    feels = wishes.feels if tempo is None else bearing(wishes.feels, low, high)
    fixed = replace(wishes, tempo_low=low, tempo_high=high, feels=feels, rung=-1)
    return fixed.played_by(texture or wishes.texture)


def bearing(feels: Sequence[Feel], low: float, high: float) -> tuple[Feel, ...]:
    """The feels that are at home somewhere between two tempi: where a tempo is set, a feel that
    cannot bear it would change it. All feels, when none can."""
    able = [one for one in feels if FEELS[one].slowest <= high and low <= FEELS[one].fastest]
    return tuple(able or feels)
