"""Agreement of every pair of turnarounds against a judgement made of music21's parts.

Source: music21. Notes are intervals above the tonic (`interval.Interval.transposePitch`), chords
are `harmony.ChordSymbol` given by root and kind (never by a figure: `Bb7` is a chord on B there),
steps are `chromatic.mod12` and half steps `intervalClass` of `interval.Interval`. The rules that
are judged by are those at the head of `engine/agreement.py`, put another way: from each foreign
note outwards to the chord tones on both sides.
"""

from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import pytest
from music21 import harmony, interval, pitch

from engine.agreement import agreement, band_beats, bass_beats
from engine.catalogue import Device, Family, builtin_catalogue
from engine.chords import BarChords, Chord
from engine.comping import comping_track
from engine.feels import Feel
from engine.forms import find_form
from engine.plan import Plan, plan_choruses
from engine.score import ELECTRIC_PIANO, NoteEvent, Track
from engine.theory import PLAYED_KEYS, Key, Note
from tests.outside.test_devices_in_all_keys import INTERVALS

KINDS = {
    "7": "dominant-seventh",
    "maj7": "major-seventh",
    "m7": "minor-seventh",
    "m6": "minor-sixth",
    "6": "major-sixth",
    "m7b5": "half-diminished-seventh",
    "dim7": "diminished-seventh",
}
"""The qualities of the engine as music21 calls them."""

CATALOGUE = builtin_catalogue()
HEADS = tuple(CATALOGUE.completed(head) for head in CATALOGUE.family(Family.HEAD))
TURNAROUNDS = CATALOGUE.turnarounds()

Told = tuple[int, str, int, int]
"""Beat, kind, and the pitch classes of the bass and of what it clashes with."""


@dataclass(frozen=True)
class Heard:
    """One beat as music21 has it."""

    bass: tuple[str, ...]
    """Names of the notes, with octaves."""

    chord: tuple[int, ...]
    voices: tuple[str, ...]


# --- what sounds --------------------------------------------------------------------------------


@cache
def note_name(degree: str, tonic: str) -> str:
    plain = degree.strip(",'")
    octaves = interval.Interval(12 * (degree.count("'") - degree.count(",")))
    above = interval.Interval(INTERVALS[plain]).transposePitch(pitch.Pitch(tonic + "3"))
    named: str = octaves.transposePitch(above).nameWithOctave
    return named


def bass_names(device: Device, tonic: str) -> list[tuple[str, ...]]:
    """The notes of each beat, read from the text of the pattern."""
    text = str(device.pattern).replace("|", " ")
    assert not set(text) & set("-x*~")  # no turnaround rests or rings on
    beats: list[tuple[str, ...]] = []
    for first, *more in (part.split() for part in text.replace("(", "/(").split("/")):
        inside = first.startswith("(")
        tokens = [first, *more]
        close = next((at for at, token in enumerate(tokens) if token.endswith(")")), -1)
        if inside:
            beats.append(
                tuple(note_name(token.strip("()"), tonic) for token in tokens[: close + 1])
            )
        beats.extend((note_name(token, tonic),) for token in tokens[close + 1 :])
    return beats


@cache
def chord_classes(chord: Chord, tonic: str) -> tuple[int, ...]:
    root = interval.Interval(INTERVALS[str(chord.root)]).transposePitch(pitch.Pitch(tonic))
    return tuple(harmony.ChordSymbol(root=root.name, kind=KINDS[chord.quality]).pitchClasses)


@cache
def voice_name(midi: int) -> str:
    named: str = pitch.Pitch(midi=midi).nameWithOctave
    return named


def voice_names(notes: tuple[NoteEvent, ...], beat: int) -> tuple[str, ...]:
    """The voices heard for a sixteenth of a beat counted from bar 11, behind a bar of count-in."""
    first = (1 + 10) * 4 + beat
    heard = {
        voice_name(note.midi)
        for note in notes
        if min(note.end / 960, first + 1) - max(note.start / 960, first) >= 1 / 16
    }
    return tuple(sorted(heard))


def chords_under(device: Device) -> list[Chord]:
    """Two bars of the device's own, then home."""
    bars: tuple[BarChords, ...] = device.chords
    home = find_form("twelve-bar").bars[0][0]
    assert 2 == len(bars)
    return [chord for bar in bars for chord in bar] + [home]


# --- the judgement ------------------------------------------------------------------------------


@cache
def step(one: str, other: str) -> int:
    """Semitones from one note up to the other, octaves taken off."""
    between = interval.Interval(pitch.Pitch(one), pitch.Pitch(other))
    return int(between.chromatic.mod12)


@cache
def half_step(one: str, other: str) -> bool:
    return bool(1 == interval.Interval(pitch.Pitch(one), pitch.Pitch(other)).intervalClass)


@cache
def pitch_class(name: str) -> int:
    return int(pitch.Pitch(name).pitchClass)


def judged(beats: list[Heard]) -> set[Told]:
    return {told for at in range(len(beats)) for told in (*stranger(beats, at), *rubs(beats, at))}


def stranger(beats: list[Heard], at: int) -> set[Told]:
    here = beats[at]
    if chord_tones(here) or (waits(beats[:at]) and waits(beats[at + 1 :]) and steady(beats, at)):
        return set()
    name = here.bass[0]
    ranked = sorted(here.chord, key=lambda tone: nearness(pitch_class(name), tone))
    return {(at, "stranger", pitch_class(name), ranked[0])}


def chord_tones(beat: Heard) -> list[str]:
    return [name for name in beat.bass if pitch_class(name) in beat.chord]


def nearness(note: int, tone: int) -> tuple[int, bool]:
    """By interval class, then the tone above the note before the one below."""
    between = interval.Interval(pitch.Pitch(note), pitch.Pitch(tone))
    return between.intervalClass, between.chromatic.mod12 > 6


def waits(beats: list[Heard]) -> bool:
    """Whether a chord tone stands somewhere in these beats."""
    return any(chord_tones(beat) for beat in beats)


def steady(beats: list[Heard], at: int) -> bool:
    """Whether the line round a foreign note goes one way by steps between its two chord tones."""
    first = max(place for place in range(at) if chord_tones(beats[place]))
    last = min(place for place in range(at + 1, len(beats)) if chord_tones(beats[place]))
    line = [chord_tones(beats[first])[-1]]
    for beat in beats[first + 1 : last]:
        line.extend(beat.bass)
    line.append(chord_tones(beats[last])[0])
    steps = [step(one, other) for one, other in pairwise(line)]
    return all(size in (1, 2) for size in steps) or all(size in (10, 11) for size in steps)


def rubs(beats: list[Heard], at: int) -> set[Told]:
    return {
        (at, "rub", low, high)
        for low, high in grinding(beats, at)
        if (low, high) in grinding(beats, at - 1) | grinding(beats, at + 1)
    }


def grinding(beats: list[Heard], at: int) -> set[tuple[int, int]]:
    """Bass note and voice of a beat with one bass note that lie a half step apart."""
    if not 0 <= at < len(beats) or 1 != len({pitch_class(name) for name in beats[at].bass}):
        return set()
    low = beats[at].bass[0]
    return {
        (pitch_class(low), pitch_class(high))
        for high in beats[at].voices
        if half_step(low, high)
        and not {pitch_class(low), pitch_class(high)} <= set(beats[at].chord)
    }


# --- both side by side --------------------------------------------------------------------------


def comped(device: Device, key: Key, feel: Feel, seed: int) -> tuple[Plan, Track]:
    plan = plan_choruses(
        find_form("twelve-bar"), key, feel, 100, CATALOGUE.find("two-beat"), [(0, 11, device)]
    )
    return plan, comping_track(plan, (), ELECTRIC_PIANO, seed)


def theirs_and_ours(
    figures: tuple[Device, ...], under: Device, key: Key, feel: Feel, seed: int = 1
) -> list[tuple[str, set[Told], list[Told]]]:
    """For each figure its id and both verdicts over the keys of one turnaround."""
    tonic = str(key.tonic).replace("b", "-")
    plan, keys = comped(under, key, feel, seed)
    band = band_beats(plan, keys, 10, 2)
    chords = [chord_classes(chord, tonic) for chord in chords_under(under)]
    voices = [voice_names(keys.notes, beat) for beat in range(9)]
    verdicts = []
    for figure in figures:
        names = bass_names(figure, tonic)
        beats = [Heard(*beat) for beat in zip(names, chords, voices, strict=True)]
        ours = [
            (clash.beat, clash.kind.value, clash.bass, clash.against)
            for clash in agreement(bass_beats(figure.pattern, key.tonic), band)
        ]
        verdicts.append((figure.id, judged(beats), ours))
    return verdicts


@pytest.mark.parametrize("key", PLAYED_KEYS, ids=str)
@pytest.mark.parametrize("under", HEADS, ids=lambda device: device.id)
def test_every_head_over_the_chords_of_every_head_is_judged_as_with_music21(
    under: Device, key: Key
) -> None:
    for figure, theirs, ours in theirs_and_ours(HEADS, under, key, Feel.SHUFFLE):
        assert sorted(theirs) == sorted(ours), figure


@pytest.mark.parametrize("under", TURNAROUNDS, ids=lambda device: device.id)
@pytest.mark.parametrize("feel", Feel, ids=lambda feel: feel.value)
def test_every_turnaround_over_the_chords_of_every_other_is_judged_as_with_music21(
    under: Device, feel: Feel
) -> None:
    b_flat = Key(Note("B", -1))
    for figure, theirs, ours in theirs_and_ours(TURNAROUNDS, under, b_flat, feel, seed=7):
        assert sorted(theirs) == sorted(ours), figure


def test_the_pairs_hold_both_verdicts_and_both_kinds_of_clash() -> None:
    told = [
        verdict
        for under in HEADS
        for _, theirs, verdict in theirs_and_ours(HEADS, under, Key(Note("F")), Feel.SHUFFLE)
    ]
    assert 144 == len(told)
    assert {True, False} == {not verdict for verdict in told}
    assert {"stranger", "rub"} == {kind for verdict in told for _, kind, _, _ in verdict}


@pytest.mark.parametrize("quality", KINDS)
@pytest.mark.parametrize("key", PLAYED_KEYS, ids=str)
def test_a_chord_has_the_tones_that_music21_gives_it(quality: str, key: Key) -> None:
    root = find_form("twelve-bar").bars[0][0].root
    chord = Chord(root, quality)
    tonic = str(key.tonic).replace("b", "-")
    assert set(chord_classes(chord, tonic)) == chord.pitch_classes(key.tonic)
