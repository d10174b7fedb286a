"""A figure: the notes of a device in one key, at one height, with a path over the neck."""

from dataclasses import dataclass

from engine.catalogue import Device
from engine.errors import MusicInputError
from engine.line import HEARD_WELL, Compass
from engine.neck import USUAL_NECK, Fingering, Neck, fingerings, path_cost, positions
from engine.pattern import Spot
from engine.theory import Degree, Key, Midi, Note, nearest_tonic, spell


@dataclass(frozen=True, slots=True)
class FigureNote:
    """One note of a figure."""

    spot: Spot
    """Beats from the start of the figure."""

    degree: Degree
    note: Note
    midi: Midi


@dataclass(frozen=True, slots=True)
class Figure:
    """A device in a key."""

    device: Device
    key: Key
    notes: tuple[FigureNote, ...]
    """In order; the downbeat arrived at is the last, where the device has one."""

    @property
    def pitches(self) -> tuple[Midi, ...]:
        return tuple(note.midi for note in self.notes)


def figure(device: Device, key: Key, compass: Compass | None = None) -> Figure:
    """The notes of `device` in `key`.

    Without a compass it stands as low as it can at or above A1, or above E1 where that is too
    high. A base pattern is spelled over the tonic chord.
    Raises MusicInputError when the compass is too narrow.
    """
    pattern = device.pattern
    tones, spots = pattern.tones, pattern.strikes
    for ground in (compass,) if compass else (HEARD_WELL, Compass()):
        tonic = _tonic_pitch(key, [tone.semitones for tone in tones], ground)
        if tonic is not None:
            break
    else:
        raise MusicInputError(f"'{device.name}' in {key} does not fit: widen the range")
    notes = tuple(
        FigureNote(spot, tone.degree, spell(tone.degree, key.tonic), Midi(tonic + tone.semitones))
        for spot, tone in zip(spots, tones, strict=True)
    )
    return Figure(device, key, notes)


def neck_figure(device: Device, key: Key, neck: Neck = USUAL_NECK) -> Figure:
    """The figure where it lies on a neck: at its usual height, or where that is off the neck as low
    as it can on it.

    Raises MusicInputError when the neck is too short for it.
    """
    usual = figure(device, key)
    if all(positions(pitch, neck.tuning, neck.frets) for pitch in usual.pitches):
        return usual
    return figure(device, key, Compass(Midi(neck.lowest), Midi(neck.highest)))


def _tonic_pitch(key: Key, semitones: list[int], compass: Compass) -> int | None:
    """The lowest tonic that puts every note into the compass; None when there is none."""
    lowest, highest = min(semitones, default=0), max(semitones, default=0)
    tonic = nearest_tonic(key, max(compass.low - lowest, 0))
    return tonic if tonic + highest <= compass.high else None


def paths(drawn: Figure, neck: Neck, best: int = 3) -> tuple[Fingering, ...]:
    """The `best` different ways to play a figure, the cheapest first; fewer where there are fewer.

    Raises MusicInputError naming the note that is off the neck, and what octave would fit.
    """
    tuning, frets = neck.tuning, neck.frets
    try:
        return fingerings(drawn.pitches, tuning, frets, path_cost(neck), best)
    except MusicInputError as error:
        lost = next((one for one in drawn.notes if not positions(one.midi, tuning, frets)), None)
        if lost is None:
            raise
        raise MusicInputError(
            f"{error}; it is the {lost.note} ({lost.degree}) of '{drawn.device.name}' in "
            f"{drawn.key}"
        ) from error
