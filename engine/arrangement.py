"""The whole band: a plan becomes a score."""

from collections.abc import Sequence

from engine.comping import comping_track
from engine.drums import drum_track
from engine.line import LineNote
from engine.pattern import Spot
from engine.plan import Plan
from engine.score import ELECTRIC_PIANO, FINGER_BASS, Instrument, NoteEvent, Part, Score, Track
from engine.textures import Texture

BASS_CHANNEL = 0


def arrange(
    plan: Plan,
    line: Sequence[LineNote],
    texture: Texture,
    seed: int,
    comping: Instrument = ELECTRIC_PIANO,
    key_chord: bool = True,
) -> Score:
    """The score of a plan and its line, the count-in first, in every texture.

    With `key_chord` a chord gives the key while it is counted in. A plan may be played without a
    line: the bass is silent then.
    """
    bass = tuple(note.event for note in line)
    keys = comping_track(plan, bass, comping, seed, key_chord)
    drums = drum_track(plan, seed)
    if texture is not Texture.BAND:
        keys = _count_in_only(keys, plan)
    if texture is Texture.BASS:
        drums = _count_in_only(drums, plan)
    tracks = (Track(Part.BASS, FINGER_BASS, BASS_CHANNEL, bass), keys, drums)
    return Score(plan.tempo, plan.key, plan.compound, tracks, plan.length)


def _count_in_only(track: Track, plan: Plan) -> Track:
    first = plan.tick(0, Spot(0))
    kept: tuple[NoteEvent, ...] = tuple(note for note in track.notes if note.end <= first)
    return Track(track.part, track.instrument, track.channel, kept)
