"""Notes, degrees and keys."""

import pytest

from engine.errors import MusicInputError
from engine.theory import (
    F_SHARP,
    G_FLAT,
    PLAYED_KEYS,
    TONICS,
    Degree,
    Key,
    Note,
    degree_of,
    nearest_tonic,
    same_pitch,
    spell,
)

FLAT, SHARP = -1, 1


@pytest.mark.parametrize(
    ("note", "text", "pitch_class"),
    [
        (Note("C"), "C", 0),
        (Note("F", SHARP), "F#", 6),
        (Note("B", -2), "Bbb", 9),
        (Note("F", 2), "F##", 7),
        (Note("C", FLAT), "Cb", 11),
        (Note("B", SHARP), "B#", 0),
    ],
)
def test_a_note_has_a_text_and_a_pitch_class(note: Note, text: str, pitch_class: int) -> None:
    assert text == str(note)
    assert pitch_class == note.pitch_class


@pytest.mark.parametrize(
    ("degree", "text", "semitones", "pitch_class"),
    [
        (Degree(1), "1", 0, 0),
        (Degree(3, FLAT), "b3", 3, 3),
        (Degree(4, SHARP), "#4", 6, 6),
        (Degree(7), "7", 11, 11),
        (Degree(7, FLAT), "b7", 10, 10),
        (Degree(8), "8", 12, 0),
        (Degree(7, -2), "bb7", 9, 9),
        (Degree(8, FLAT), "b8", 11, 11),
        (Degree(1, FLAT), "b1", -1, 11),
    ],
)
def test_a_degree_counts_semitones_above_the_tonic(
    degree: Degree, text: str, semitones: int, pitch_class: int
) -> None:
    assert text == str(degree)
    assert semitones == degree.semitones
    assert pitch_class == degree.pitch_class


@pytest.mark.parametrize(
    ("tonic", "degree", "written"),
    [
        # letter counting, by hand
        ("C", Degree(3, FLAT), "Eb"),
        ("F", Degree(4, SHARP), "B"),
        ("F", Degree(5, FLAT), "Cb"),
        ("E", Degree(3), "G#"),
        ("B", Degree(7), "A#"),
        ("Ab", Degree(6, FLAT), "Fb"),
        ("Db", Degree(6, FLAT), "Bbb"),
        ("C#", Degree(4, SHARP), "F##"),
        ("A", Degree(8), "A"),
    ],
)
def test_spelling_counts_letters_from_the_tonic(tonic: str, degree: Degree, written: str) -> None:
    note = Note(tonic[0], tonic.count("#") - tonic.count("b"))
    assert written == str(spell(degree, note))


def test_sharp_four_and_flat_five_sound_alike_and_are_written_apart() -> None:
    sharp_four, flat_five = spell(Degree(4, SHARP), Note("C")), spell(Degree(5, FLAT), Note("C"))
    assert ("F#", "Gb") == (str(sharp_four), str(flat_five))
    assert same_pitch(sharp_four, flat_five)
    assert sharp_four != flat_five


def test_the_octave_is_read_back_as_one() -> None:
    assert Degree(1) == degree_of(spell(Degree(8), Note("G")), Note("G"))


def test_there_are_fifteen_tonics_and_twelve_played_keys_of_different_pitch() -> None:
    assert 15 == len(set(TONICS))
    assert set(range(12)) == {key.tonic.pitch_class for key in PLAYED_KEYS}
    assert {key.tonic for key in PLAYED_KEYS} <= set(TONICS)
    assert 12 == len(PLAYED_KEYS)


def test_f_sharp_and_g_flat_are_the_two_names_of_one_key() -> None:
    assert same_pitch(F_SHARP.tonic, G_FLAT.tonic)
    assert ("F#", "Gb") == (str(F_SHARP), str(G_FLAT))


def test_a_minor_key_says_so() -> None:
    assert "Bb minor" == str(Key(Note("B", FLAT), minor=True))


@pytest.mark.parametrize(
    ("tonic", "low", "expected"),
    [("A", 33, 33), ("A", 34, 45), ("G", 33, 43), ("C", 0, 0), ("Ab", 28, 32), ("B", 0, 11)],
)
def test_the_nearest_tonic_is_the_lowest_one_at_or_above(
    tonic: str, low: int, expected: int
) -> None:
    key = Key(Note(tonic[0], -tonic.count("b")))
    assert expected == nearest_tonic(key, low)


@pytest.mark.parametrize("low", [-1, 128, 10**9])
def test_a_number_that_is_no_midi_number_is_refused(low: int) -> None:
    with pytest.raises(MusicInputError, match=rf"^MIDI number {low}: give 0 to 127$"):
        nearest_tonic(Key(Note("C")), low)
