"""The test tone: a soft bass note, to set the volume by."""

from dataclasses import dataclass

from engine.arrangement import BASS_CHANNEL
from engine.catalogue import Catalogue, Family
from engine.feels import Feel
from engine.forms import find_form
from engine.plan import Plan, plan_choruses
from engine.score import FINGER_BASS, NoteEvent, Part, Score, Track
from engine.theory import PLAYED_KEYS, Midi
from engine.timing import TICKS_PER_BAR, Tick

TEMPO = 120.0
PITCH = Midi(45)
"""A2: in the middle of the bass, and of small loudspeakers."""

VELOCITY = 70
"""Below anything the band plays, so that the first sound is the softest."""


@dataclass(frozen=True, slots=True)
class TestTone:
    """Two bars of one note."""

    __test__ = False  # pytest takes classes of this name for tests

    def passage(self, catalogue: Catalogue) -> tuple[Plan, Score]:
        """A plan without devices, and the note alone."""
        key = next(key for key in PLAYED_KEYS if str(key) == "A")
        base = catalogue.family(Family.BASE)[0]
        plan = plan_choruses(find_form("twelve-bar"), key, Feel.STRAIGHT, TEMPO, base)
        length = Tick(2 * TICKS_PER_BAR)
        note = NoteEvent(Tick(0), length, PITCH, VELOCITY)
        track = Track(Part.BASS, FINGER_BASS, BASS_CHANNEL, (note,))
        return plan, Score(TEMPO, key, compound=False, tracks=(track,), length=length)
