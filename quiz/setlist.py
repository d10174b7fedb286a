"""What an open jam plays next: a handful of figures to tell apart, and leg after leg with them.

The figures are chosen once, when the jam starts, and proved: over the jam's form, feel and base
pattern no two of them that can stand in one place sound the same, and each sounds different from
the chorus without it, but for the one where nothing happens. A chorus holds one turnaround (no
turnaround at all is one of the figures) and now and then a pickup before it. After a few choruses
the key moves.
"""

import random
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from statistics import median

from engine.catalogue import Catalogue, Device, Family, combine, places
from engine.errors import MusicInputError
from engine.feels import FEELS, Feel
from engine.forms import Form
from engine.jam import FEWEST_CHORUSES, MOST_CHORUSES, JamSettings, Leg, Placed, first_leg, next_leg
from engine.jam_places import Cue
from engine.line import E1, Compass, outline
from engine.plan import plan_choruses
from engine.textures import Texture
from engine.theory import PLAYED_KEYS, Key, as_called
from quiz.errors import QuestionError
from quiz.learning.focus import Focus, key_weights, row_rests
from quiz.learning.material import can_ask, learning_order
from quiz.learning.memory import Item, State
from quiz.learning.reach import Reaches
from quiz.questions.figures import pitch_changes
from quiz.questions.kinds import Kind
from quiz.questions.value import COMPING, Question
from quiz.questions.wishes import draw_base, form_weight
from quiz.settings.values import Settings

TURNAROUNDS, PICKUPS = 4, 2
"""Figures of a jam: so many turnarounds, no turnaround among them where there is such a row, and so
many pickups."""

PICKUP_SHARE = 0.5
"""How often a chorus has a pickup before its turnaround."""

BARS_APART = 2
"""Bars between a pickup's arrival and the turnaround, at least: time to name it."""

TRIES = 12
"""Legs drawn until one fits the bass."""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """What the player has set for a jam."""

    tempo: float
    """Beats a minute; held within what the feel bears."""

    feels: tuple[Feel, ...] = tuple(Feel)
    texture: Texture = Texture.BAND
    comping: str = "electric-piano"
    key_weights: Mapping[str, float] | None = None
    """How often each key comes, by its name; None for all alike."""

    f_sharp: bool = False
    """Whether the sixth key is called F# rather than Gb."""

    favoured: tuple[str, ...] = ()
    """Ids of rows that are known already, those to be heard first in front."""

    focus: Focus = field(default_factory=Focus)
    """Devices and families that rest are not heard."""


class Setlist:
    """One jam from its first leg on; the same arguments give the same jam."""

    def __init__(self, catalogue: Catalogue, wanted: Circumstances, seed: int) -> None:
        """Raises QuestionError when there are not two figures that can be told apart."""
        self._catalogue = catalogue
        self._wanted = wanted
        self.seed = seed
        chance = random.Random(f"{seed}:setlist")
        feel = chance.choice(wanted.feels or tuple(Feel))
        facts = FEELS[feel]
        majors = [form for form in catalogue.forms if not form.minor]
        form = chance.choices(majors, [form_weight(form) for form in majors])[0]
        self.settings = JamSettings(
            form=form,
            feel=feel,
            tempo=float(round(min(max(wanted.tempo, facts.slowest), facts.fastest))),
            base=draw_base(catalogue, feel, chance),
            texture=wanted.texture,
            comping=COMPING[wanted.comping],
            compass=Compass(),
        )
        tails = random.Random(f"{seed}:tails")
        self.figures = _figures(self.settings, catalogue, wanted, tails)
        """Whole devices, turnarounds first, in the order in which they are offered."""
        if len(self.figures) < 2 or not self._of_a_chorus(turnarounds=True):
            raise QuestionError(
                f"there are not two figures to tell apart in the {form.name}"
                + (": wake some that rest" if wanted.focus.resting else "")
            )

    def legs(self) -> Iterator[Leg]:
        """Leg after leg, without end."""
        leg: Leg | None = None
        key = self._key(random.Random(f"{self.seed}:key"), None)
        for index in count():
            chance = random.Random(f"{self.seed}:leg:{index}")
            following = self._key(chance, key)
            leg = self._leg(leg, key, following, chance)
            yield leg
            key = following

    def question(self, cue: Cue, key: Key) -> Question:
        """What the history keeps of a figure that went by in the key of its leg."""
        settings, form = self.settings, self.settings.form
        device = self._catalogue.find(cue.device)
        last = min(cue.bar + device.pattern.bars - 1, len(form))
        return Question(
            kind=Kind.JAM,
            item=row_of(device, self._catalogue).id,
            device=device.id,
            key=key,
            tempo=settings.tempo,
            feel=settings.feel.value,
            texture=settings.texture.value,
            form=form.id,
            base=settings.base.id,
            bar=cue.bar,
            first=max(1, cue.bar - 2),
            last=last,
            low=E1,
            register="low",
            comping=self._wanted.comping,
            seed=self.seed,
            options=tuple(figure.id for figure in self.figures),
        )

    def _leg(self, before: Leg | None, key: Key, following: Key, chance: random.Random) -> Leg:
        """A leg behind `before`, its figures drawn; what does not fit the bass is drawn anew."""
        problem: MusicInputError | None = None
        for _ in range(TRIES):
            choruses = chance.randint(FEWEST_CHORUSES, MOST_CHORUSES)
            placed = [row for chorus in range(choruses) for row in self._chorus(chorus, chance)]
            try:
                if before is None:
                    return first_leg(self.settings, self.seed, key, choruses, placed, following)
                return next_leg(before, choruses, placed, following)
            except MusicInputError as error:
                problem = error
        raise problem or MusicInputError("no leg could be drawn")

    def _chorus(self, chorus: int, chance: random.Random) -> list[Placed]:
        """The figures of a chorus in order: perhaps a pickup, then a turnaround."""
        form = self.settings.form
        pickups = self._of_a_chorus(turnarounds=False)
        turn = chance.choice(self._of_a_chorus(turnarounds=True))
        bar = places(turn, form)[0]
        placed = [Placed(chorus, bar, turn)]
        if pickups and chance.random() < PICKUP_SHARE:
            pickup = chance.choice(pickups)
            placed.insert(0, Placed(chorus, chance.choice(_early(pickup, form)), pickup))
        return placed

    def _of_a_chorus(self, turnarounds: bool) -> list[Device]:
        """The turnarounds among the figures, or the pickups."""
        return [one for one in self.figures if (one.family is not Family.PICKUP) == turnarounds]

    def _key(self, chance: random.Random, before: Key | None) -> Key:
        """A key other than the one before; the same one where no other weighs anything."""
        weights = self._wanted.key_weights or {}
        keys = [key for key in PLAYED_KEYS if self._called(key) != before]
        given = [weights.get(str(key), 1.0) for key in keys]
        if before is not None and not any(given):
            return before
        return self._called(chance.choices(keys, given if any(given) else None)[0])

    def _called(self, key: Key) -> Key:
        """The key by the name that the player gives it."""
        return as_called(key, self._wanted.f_sharp)


def _figures(
    settings: JamSettings, catalogue: Catalogue, wanted: Circumstances, chance: random.Random
) -> tuple[Device, ...]:
    """What is going to be told apart: known rows first, then others in the order of learning."""
    rows = [
        row
        for row in learning_order(catalogue)
        if isinstance(row, Device) and not row_rests(row, wanted.focus)
    ]
    rank = {row: place for place, row in enumerate(wanted.favoured)}
    rows.sort(key=lambda row: rank.get(row.id, len(rank)))  # equal ones stay in order
    heads = [row for row in rows if row.family is Family.HEAD and row.variant_of is None]
    plain = [row for row in rows if row.family is Family.TAIL and row.plain]
    none = [catalogue.completed(row) for row in plain[:1]]
    tails = {row.id for row in rows if row.family is Family.TAIL and row.id in rank}
    turnarounds = [*none, *(_whole(head, catalogue, tails, chance) for head in heads)]
    pickups = [row for row in rows if can_ask(row, Kind.PLACE) and row.family is Family.PICKUP]
    told = _Told(settings)
    return (*told.apart(turnarounds, TURNAROUNDS, none), *told.apart(pickups, PICKUPS))


def _whole(
    head: Device, catalogue: Catalogue, known: Collection[str], chance: random.Random
) -> Device:
    """A turnaround with this head, and one of the tails that the player knows, drawn; without any
    the usual one."""
    tails = [tail for tail in catalogue.tails_for(head) if tail.id in known and not tail.plain]
    if head.complete or not tails:
        return catalogue.completed(head)
    return combine(head, chance.choice(tails))


class _Told:
    """Which devices can be told from each other and from the plain chorus, over one jam's form."""

    def __init__(self, settings: JamSettings) -> None:
        self._settings = settings

    def apart(
        self, devices: Sequence[Device], wanted: int, none: Sequence[Device] = ()
    ) -> list[Device]:
        """The first devices that have a place in the form and sound like none before them, nor like
        the plain chorus; `none`, where nothing happens, may be just that."""
        bare = {self._sound(None, 1)}
        heard: set[object] = set()
        kept: list[Device] = []
        for device in devices:
            bars = _early(device, self._settings.form)
            sounds = {self._sound(device, bar) for bar in bars}
            taken = heard if device in none else heard | bare
            if bars and not sounds & taken and len(kept) < wanted:
                heard |= sounds
                kept.append(device)
        return kept

    def _sound(self, device: Device | None, bar: int) -> object:
        settings = self._settings
        held = [] if device is None else [(0, bar, device)]
        plan = plan_choruses(
            settings.form, PLAYED_KEYS[0], settings.feel, settings.tempo, settings.base, held
        )
        return pitch_changes(outline(plan, 1))


def _early(device: Device, form: Form) -> tuple[int, ...]:
    """The bars in which a device may start; of a pickup those that leave the turnaround alone."""
    bars = places(device, form)
    if device.family is not Family.PICKUP:
        return bars
    turn = len(form) - 1  # the bar in which a turnaround starts
    return tuple(bar for bar in bars if bar + device.pattern.bars + BARS_APART <= turn)


def row_of(device: Device, catalogue: Catalogue) -> Device:
    """The row that a figure of a jam stands for: of a turnaround its head, or its tail where that
    is the one in which nothing happens."""
    tail = catalogue.find(device.tail) if device.tail else None
    return tail if tail is not None and tail.plain else catalogue.find(device.head)


def circumstances(
    settings: Settings, states: Mapping[Item, State], reaches: Reaches, seed: int
) -> Circumstances:
    """What settings and history say for a jam: the figures met by ear in an order drawn from the
    seed, at the middle of the tempi that they have reached."""
    focus = Focus(settings.resting, settings.leading)
    met = sorted({item for item in states if item.kind in (Kind.NAME.value, Kind.PLACE.value)})
    random.Random(seed).shuffle(met)
    tempi = [reaches.tempo(item) for item in met] or [
        reaches.tempo(Item("", Kind.NAME.value))  # nobody has answered yet: where all begin
    ]
    return Circumstances(
        tempo=min(max(median(tempi), settings.tempo_low), settings.tempo_high),
        feels=tuple(map(Feel, settings.feels)),
        texture=settings.set_texture or Texture.BAND,
        comping=settings.comping,
        key_weights=key_weights(settings.key_weights, focus),
        f_sharp=settings.f_sharp,
        favoured=tuple(dict.fromkeys(item.device for item in met)),
        focus=focus,
    )
