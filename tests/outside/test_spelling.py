"""Spelling, signatures and chords against music21.

Source: music21 (M. S. Cuthbert and others), its `interval`, `key`, `harmony` and `roman` modules.
It writes a flat as `-`; it spells by interval arithmetic here, never from a MIDI number, because
`pitch.Pitch(midi)` spells from a table of its own.
"""

from collections import Counter

import pytest
from music21 import harmony, interval, key, pitch, roman

from engine.chords import QUALITIES, Chord
from engine.notation import NoteNames, format_note, parse_note
from engine.theory import PLAYED_KEYS, TONICS, Degree, Key, Note, degree_of, spell

INTERVALS = {
    "1": "P1",
    "b2": "m2",
    "2": "M2",
    "b3": "m3",
    "3": "M3",
    "4": "P4",
    "#4": "A4",
    "b5": "d5",
    "5": "P5",
    "b6": "m6",
    "6": "M6",
    "b7": "m7",
    "7": "M7",
    "8": "P8",
}
"""What each degree is called as an interval above the tonic."""

DEGREES = {
    str(degree): degree
    for number in range(1, 9)
    for alter in (-1, 0, 1)
    if str(degree := Degree(number, alter)) in INTERVALS
}


def music21_name(note: Note) -> str:
    return str(note).replace("b", "-")


def engine_name(name: str) -> str:
    return name.replace("-", "b")


def outside(degree: str, tonic: Note) -> str:
    above = interval.Interval(INTERVALS[degree])
    return engine_name(above.transposePitch(pitch.Pitch(music21_name(tonic))).name)


def test_every_degree_has_an_interval() -> None:
    assert set(INTERVALS) == set(DEGREES)
    assert 14 == len(DEGREES)


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_every_degree_of_every_key_is_spelled_as_music21_transposes_it(tonic: Note) -> None:
    assert {degree: outside(degree, tonic) for degree in INTERVALS} == {
        degree: str(spell(DEGREES[degree], tonic)) for degree in INTERVALS
    }


@pytest.mark.parametrize("degree", INTERVALS)
def test_a_degree_has_the_semitones_of_its_interval(degree: str) -> None:
    assert interval.Interval(INTERVALS[degree]).semitones == DEGREES[degree].semitones


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_a_note_is_read_as_the_degree_that_music21_finds_between_tonic_and_note(
    tonic: Note,
) -> None:
    low = pitch.Pitch(music21_name(tonic) + "2")
    for degree, name in INTERVALS.items():
        high = interval.Interval(name).transposePitch(low)
        found = degree_of(Note(high.step, int(high.alter)), tonic)
        assert interval.Interval(low, high).semitones == DEGREES[degree].semitones
        assert (degree if degree != "8" else "1") == str(found)


def test_double_accidentals_turn_up_where_letter_counting_puts_them() -> None:
    # counted over music21's spellings of 14 degrees in 15 keys: only in the keys of many
    # accidentals and Eb, all on flat degrees but F## in C#
    expected = {"C#": 1, "Eb": 1, "Ab": 2, "Db": 3, "Gb": 4, "Cb": 5}
    found: Counter[str] = Counter()
    for tonic in TONICS:
        for degree in INTERVALS:
            note = spell(DEGREES[degree], tonic)
            assert abs(outside(degree, tonic).count("b")) == max(-note.alter, 0)
            if abs(note.alter) == 2:
                found[str(tonic)] += 1
                assert degree.startswith("b") or ("C#", "F##") == (str(tonic), str(note))
    assert expected == dict(found)


@pytest.mark.parametrize("minor", [False, True], ids=["major", "minor"])
@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_a_key_has_the_signature_that_music21_gives_it(tonic: Note, minor: bool) -> None:
    theirs = key.Key(music21_name(tonic), "minor" if minor else "major")
    assert theirs.sharps == Key(tonic, minor).sharps


def test_the_fifteen_tonics_are_those_of_the_signatures_from_seven_flats_to_seven_sharps() -> None:
    theirs = [key.KeySignature(sharps).asKey("major").tonic.name for sharps in range(-7, 8)]
    assert [engine_name(name) for name in theirs] == [str(tonic) for tonic in TONICS]


SYMBOLS = {
    "7": "7",
    "maj7": "maj7",
    "m7": "m7",
    "m6": "m6",
    "6": "6",
    "m7b5": "m7b5",
    "dim7": "dim7",
}
"""Our qualities in the chord symbols that music21 reads."""


def test_every_quality_has_a_symbol() -> None:
    assert set(QUALITIES) == set(SYMBOLS)


@pytest.mark.parametrize("quality", SYMBOLS)
@pytest.mark.parametrize("tonic", [key.tonic for key in PLAYED_KEYS], ids=str)
def test_a_chord_has_the_notes_that_music21_reads_in_its_symbol(tonic: Note, quality: str) -> None:
    symbol = harmony.ChordSymbol(music21_name(tonic) + SYMBOLS[quality])
    theirs = [engine_name(tone.name) for tone in symbol.pitches]
    ours = Chord(Degree(1), quality)
    assert sorted(theirs) == sorted(str(spell(tone, tonic)) for tone in ours.tones)
    assert {tone.pitchClass for tone in symbol.pitches} == ours.pitch_classes(tonic)


@pytest.mark.parametrize(
    ("figure", "chord"),
    [
        # 'I7' alone is a major seventh to music21, 'I7[b7]' the chord of the blues
        ("I7[b7]", Chord(Degree(1), "7")),
        ("IV7[b7]", Chord(Degree(4), "7")),
        ("V7", Chord(Degree(5), "7")),
        ("ii7", Chord(Degree(2), "m7")),
        ("iii7", Chord(Degree(3), "m7")),
        ("#ivo7", Chord(Degree(4, 1), "dim7")),
        ("V7/ii", Chord(Degree(6), "7")),
        ("V7/V", Chord(Degree(2), "7")),
    ],
)
@pytest.mark.parametrize("tonic", [key.tonic for key in PLAYED_KEYS], ids=str)
def test_a_numeral_stands_on_the_degree_that_music21_gives_it(
    tonic: Note, figure: str, chord: Chord
) -> None:
    theirs = roman.RomanNumeral(figure, key.Key(music21_name(tonic)))
    assert engine_name(theirs.root().name) == str(spell(chord.root, tonic))
    assert {tone.pitchClass for tone in theirs.pitches} == chord.pitch_classes(tonic)


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_german_and_fixed_do_names_are_those_of_music21(tonic: Note) -> None:
    for degree in DEGREES.values():
        note = spell(degree, tonic)
        theirs = pitch.Pitch(music21_name(note))
        assert theirs.german == format_note(note, NoteNames.GERMAN)
        assert note == parse_note(theirs.german, NoteNames.GERMAN)
        # its Spanish names are the syllables of fixed do; their accidentals are words
        syllable = pitch.Pitch(note.letter).spanish
        assert syllable == format_note(Note(note.letter), NoteNames.SOLFEGE).lower()
