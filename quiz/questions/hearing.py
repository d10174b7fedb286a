"""Hearing any device or form in any key: what the catalogue screen and `lastbar hear` play."""

from dataclasses import dataclass

from engine.arrangement import arrange
from engine.catalogue import Catalogue, Device, Family, places
from engine.errors import MusicInputError
from engine.feels import FEELS, Feel
from engine.figure import figure
from engine.forms import Form
from engine.line import Compass, LineNote, write_line
from engine.plan import Plan, excerpt, plan_choruses
from engine.score import Score
from engine.textures import Texture
from engine.theory import Key
from quiz.learning.material import Row, find_row
from quiz.neck.notes import at_height, beats_before
from quiz.questions.excerpts import excerpt_bars
from quiz.questions.value import COMPING

BASES = {
    Feel.SHUFFLE: "boogie",
    Feel.STRAIGHT: "two-beat",
    Feel.SWING: "walking",
    Feel.SLOW: "root-eighths",
}
"""The base pattern around a device that is only listened to. [common practice, no source]"""


@dataclass(frozen=True, slots=True)
class Hearing:
    """A device, or a form, to be listened to."""

    device: str
    """The id of any device or form: a head gets the plain five behind it, a tail the first head
    that goes with it, a base pattern or a form a whole chorus."""

    key: Key
    tempo: float
    feel: Feel = Feel.SHUFFLE
    texture: Texture = Texture.BAND
    comping: str = "electric-piano"
    seed: int = 1

    def passage(self, catalogue: Catalogue) -> tuple[Plan, Score]:
        """What is played, bar by bar and note by note.

        Raises MusicInputError for an unknown device, or one without a place in any form.
        """
        plan, line = self.line(catalogue)
        return plan, arrange(plan, line, self.texture, self.seed, COMPING[self.comping])

    def line(self, catalogue: Catalogue) -> tuple[Plan, tuple[LineNote, ...]]:
        """The bars and the bass line. A device stands at the height at which it is drawn.

        Raises MusicInputError as `passage` does.
        """
        row = find_row(self.device, catalogue)
        plan = self._plan(catalogue, row)
        line = write_line(plan, self.seed, Compass())
        if isinstance(row, Form) or not plan.placements:
            return plan, line
        placed = plan.placements[0]
        notes = figure(row, self.key).notes
        return plan, at_height(line, placed.device, placed.bar, notes, beats_before(row))

    def _plan(self, catalogue: Catalogue, device: Row) -> Plan:
        if isinstance(device, Form):
            base = catalogue.find(BASES[self.feel])
            key = Key(self.key.tonic, device.minor)
            return plan_choruses(device, key, self.feel, self.tempo, base)
        if device.family is Family.BASE:
            form = catalogue.form("twelve-bar-five")
            return plan_choruses(form, self.key, self.feel, self.tempo, device)
        whole = catalogue.completed(device)
        form, bar = usual_place(whole, self.key.minor, catalogue)
        base = catalogue.find(BASES[self.feel])
        plan = plan_choruses(form, self.key, self.feel, self.tempo, base, [(0, bar, whole)])
        first, last = excerpt_bars(whole, form, bar)
        repeats = (whole.times - 1) * whole.pattern.bars
        return excerpt(plan, first - 1, last - 1 + repeats)


def usual_place(device: Device, minor: bool, catalogue: Catalogue) -> tuple[Form, int]:
    """The first form, and bar of it, in which the device has a place; a minor one if asked.

    Raises MusicInputError when there is none.
    """
    for form in sorted(catalogue.forms, key=lambda form: form.minor is not minor):
        allowed = places(device, form)
        if allowed:
            return form, allowed[0]
    raise MusicInputError(f"'{device.name}' has no place in any form: check its 'serves'")


def usual_tempo(feel: Feel) -> float:
    """A comfortable tempo of a feel: a third of the way up its range."""
    facts = FEELS[feel]
    return float(round(facts.slowest + (facts.fastest - facts.slowest) / 3))
