"""What a question is asked with: what is to be asked, under which conditions, and how those that
are left open are drawn from its seed."""

import random
from dataclasses import dataclass, replace
from typing import NamedTuple

from engine.catalogue import Catalogue, Device, Family
from engine.feels import FEELS, Feel, FeelFacts, eighth_tick
from engine.forms import Form
from engine.neck import USUAL_NECK, Neck
from engine.textures import Texture
from engine.theory import Key, Midi
from engine.timing import TICKS_PER_BEAT
from quiz.questions.kinds import Kind
from quiz.questions.rungs import Rung, Told
from quiz.questions.value import REGISTERS, UPPER, Question, Wanted
from quiz.settings.values import Settings

TEMPO_STEP = 2
"""Beats a minute between the tempi that are drawn."""

TEMPO_SPREAD = 0.06
"""How far around the reach a tempo is drawn, as a share of it, so that nobody learns one tempo."""

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
class Asked:
    """What is to be asked."""

    item: str
    """The id of a catalogue row: head, tail, pickup or ending; of `form`, of a form."""

    kind: Kind
    key: Key
    both_vary: bool = False
    """Of a turnaround: whether head and tail are both asked for, or only the part of the item."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """The conditions of a question: what the player's settings say, and how far the reach goes."""

    tempo_low: float = 80
    tempo_high: float = 132
    feels: tuple[Feel, ...] = tuple(Feel)
    texture: Texture = Texture.BAND
    comping: str = "electric-piano"
    wanted: Wanted = Wanted.EITHER
    spelling_counts: bool = False
    options: int = 4
    """How many are offered; see `quiz.questions.rungs.Rung` for this and the fields below."""

    near: bool = False
    key_given: bool = True
    playings: int = 0
    variants: bool = False
    neck: Neck = USUAL_NECK
    """Of `find`: the player's instrument."""

    told: Told = Told.NAME
    octave_counts: bool = False
    rung: int = -1
    """The rung that the conditions come from; -1 when they come from elsewhere."""

    @classmethod
    def of(cls, settings: Settings) -> "Wishes":
        """What the player's settings say; the whole band where they leave it to the reach."""
        return cls(
            tempo_low=settings.tempo_low,
            tempo_high=settings.tempo_high,
            feels=tuple(map(Feel, settings.feels)),
            texture=settings.set_texture or Texture.BAND,
            comping=settings.comping,
            wanted=Wanted(settings.answer_as),
            spelling_counts=settings.spelling_counts,
            neck=settings.neck,
        )

    def on(self, rung: Rung, place: int, texture: Texture | None = None) -> "Wishes":
        """With the conditions of a rung, the one at `place`; `texture` in place of its own."""
        return replace(
            self,
            options=rung.options,
            near=rung.near,
            key_given=rung.key_given,
            playings=rung.playings,
            variants=rung.variants,
            told=rung.told,
            octave_counts=rung.octave_counts,
            rung=place,
        ).played_by(texture or rung.texture)

    def played_by(self, texture: Texture) -> "Wishes":
        """With other players. Where no keys play, a chord gives the key in any case: a bass alone
        never fixes a chord."""
        key_given = self.key_given or texture is not Texture.BAND
        return replace(self, texture=texture, key_given=key_given)

    def around(self, tempo: float) -> "Wishes":
        """With a tempo near the one given, within what the player allows."""
        low, high = tempo * (1 - TEMPO_SPREAD), tempo * (1 + TEMPO_SPREAD)
        return replace(
            self,
            tempo_low=min(max(low, self.tempo_low), self.tempo_high),
            tempo_high=max(min(high, self.tempo_high), self.tempo_low),
        )


class Stretch(NamedTuple):
    """What is played of a form, bars counted from 1."""

    form: Form
    bar: int
    """Where the device starts."""

    first: int
    last: int
    """The last whole bar."""

    low: Midi
    """The lowest note that the bass may use."""


def draw_question(
    asked: Asked,
    wishes: Wishes,
    stretch: Stretch,
    device: Device | None,
    catalogue: Catalogue,
    chance: random.Random,
    seed: int,
) -> Question:
    """A question about a device, or about a whole chorus, with everything that the kind does not
    decide: feel, tempo, base pattern and register are drawn, the rest is as it is wished."""
    feel = draw_feel(wishes, chance)
    return Question(
        kind=asked.kind,
        item=asked.item,
        device=device.id if device else "",
        key=Key(asked.key.tonic, stretch.form.minor),
        tempo=draw_tempo(device, feel, wishes, chance),
        feel=feel.value,
        texture=wishes.texture.value,
        form=stretch.form.id,
        base=draw_base(catalogue, feel, chance).id,
        bar=stretch.bar,
        first=stretch.first,
        last=stretch.last,
        low=stretch.low,
        register=chance.choice([name for name in REGISTERS if name != UPPER]),
        comping=wishes.comping,
        seed=seed,
        key_given=wishes.key_given,
        playings=wishes.playings,
        rung=wishes.rung,
    )


def draw_feel(wishes: Wishes, chance: random.Random) -> Feel:
    """One of the feels the player likes."""
    return chance.choice(wishes.feels or tuple(Feel))


def draw_tempo(device: Device | None, feel: Feel, wishes: Wishes, chance: random.Random) -> float:
    """A tempo the player likes, the feel suits, and at which every note can be heard."""
    facts = FEELS[feel]
    low, high = max(wishes.tempo_low, facts.slowest), min(wishes.tempo_high, facts.fastest)
    if low > high:
        low, high = _outside(facts, wishes)
    tempi = range(round(low), round(high) + 1, TEMPO_STEP)
    clear = [bpm for bpm in tempi if device is None or _is_clear(device, feel, bpm)]
    return float(chance.choice(clear or [round(facts.slowest)]))


def _outside(facts: FeelFacts, wishes: Wishes) -> tuple[float, float]:
    """The tempi of a feel that lives outside what is wished: those near its end on that side, so
    that a player who is slow yet is not asked at the fastest. Where the beat is another one, as in
    12/8, tempi do not compare, and the feel has all of its own."""
    if facts.compound:
        return facts.slowest, facts.fastest
    if wishes.tempo_high < facts.slowest:
        return facts.slowest, facts.slowest * (1 + TEMPO_SPREAD)
    return facts.fastest * (1 - TEMPO_SPREAD), facts.fastest


def _is_clear(device: Device, feel: Feel, bpm: float) -> bool:
    if not any(step.spot.offbeat for step in device.pattern.steps):
        return True
    share = 1 - eighth_tick(feel, bpm) / TICKS_PER_BEAT
    return share * 60 / bpm >= SHORTEST_EIGHTH


def draw_base(catalogue: Catalogue, feel: Feel, chance: random.Random) -> Device:
    """A base pattern that suits the feel."""
    bases = catalogue.family(Family.BASE)
    return chance.choice([base for base in bases if feel in base.feels] or bases)


def form_weight(form: Form) -> int:
    """How often a form is heard against the others."""
    return FORM_WEIGHTS.get(form.id, 1)
