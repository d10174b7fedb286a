"""Reading what players type and writing what they read, in three note-name languages."""

from time import perf_counter

import pytest

from engine.errors import LONGEST_SHOWN, MusicInputError, printable, shown
from engine.notation import (
    LONGEST_ANSWER,
    NoteNames,
    Written,
    format_note,
    parse_degree,
    parse_key,
    parse_line,
    parse_note,
)
from engine.theory import TONICS, Degree, Key, Note, spell
from tests.laws.strategies import TRADE_DEGREES

ENGLISH, GERMAN, SOLFEGE = NoteNames.ENGLISH, NoteNames.GERMAN, NoteNames.SOLFEGE


def notes_of(text: str, names: NoteNames = ENGLISH) -> str:
    """The notes of a line in English, to compare with."""
    written = parse_line(text, names)
    assert () == written.degrees
    return " ".join(map(str, written.notes))


def degrees_of(text: str, names: NoteNames = ENGLISH) -> str:
    written = parse_line(text, names)
    assert () == written.notes
    return " ".join(map(str, written.degrees))


# --- writing and reading back -------------------------------------------------------------------


@pytest.mark.parametrize("names", NoteNames)
@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_every_degree_of_every_key_is_read_back_in_every_language(
    tonic: Note, names: NoteNames
) -> None:
    line = [spell(degree, tonic) for degree in TRADE_DEGREES]
    text = " ".join(format_note(note, names) for note in line)
    assert Written(notes=tuple(line)) == parse_line(text, names)
    assert line == [parse_note(format_note(note, names), names) for note in line]


@pytest.mark.parametrize("names", NoteNames)
@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_every_tonic_is_read_back_as_a_key_major_and_minor(tonic: Note, names: NoteNames) -> None:
    name = format_note(tonic, names)
    assert Key(tonic) == parse_key(name, names)
    assert Key(tonic, minor=True) == parse_key(f"{name}m", names)
    assert Key(tonic, minor=True) == parse_key(f"{name} minor", names)


@pytest.mark.parametrize(
    ("note", "english", "german", "solfege"),
    [
        # the German and the Romance names: common practice, no source
        (Note("C", 1), "C#", "Cis", "Do#"),
        (Note("D", 2), "D##", "Disis", "Re##"),
        (Note("E", -1), "Eb", "Es", "Mib"),
        (Note("E", -2), "Ebb", "Eses", "Mibb"),
        (Note("F", -1), "Fb", "Fes", "Fab"),
        (Note("G", -1), "Gb", "Ges", "Solb"),
        (Note("A", -1), "Ab", "As", "Lab"),
        (Note("A", -2), "Abb", "Ases", "Labb"),
        (Note("B"), "B", "H", "Si"),
        (Note("B", -1), "Bb", "B", "Sib"),
        (Note("B", -2), "Bbb", "Heses", "Sibb"),
        (Note("B", 1), "B#", "His", "Si#"),
        (Note("B", -3), "Bbbb", "Heseses", "Sibbb"),
    ],
)
def test_a_note_has_a_name_in_each_language(
    note: Note, english: str, german: str, solfege: str
) -> None:
    assert english == format_note(note)
    assert german == format_note(note, GERMAN)
    assert solfege == format_note(note, SOLFEGE)


# --- generous reading ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("1 b3 4 #4", "1 b3 4 #4"),
        ("1 ♭3 4 ♯4", "1 b3 4 #4"),
        ("𝄫7 𝄪4", "bb7 ##4"),
        ("1,3,4,#4", "1 3 4 #4"),
        ("1 - 3 - 4 - #4", "1 3 4 #4"),
        ("1 – 3 — 4", "1 3 4"),
        ("1|3|4", "1 3 4"),
        ("1; 3;4", "1 3 4"),
        ("R 3 4 #4", "1 3 4 #4"),
        ("root 3", "1 3"),
        ("ROOT 3", "1 3"),
        ("134#4", "1 3 4 #4"),
        ("8b76b6", "8 b7 6 b6"),
        ("8b7b6b5", "8 b7 b6 b5"),
        ("B3", "b3"),
        ("1' 3'' 8’", "1 3 8"),
        ("  1\t3\n4  ", "1 3 4"),
    ],
)
def test_degrees_are_read_however_they_are_written(text: str, degrees: str) -> None:
    assert degrees == degrees_of(text)


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("A C# D D#", "A C# D D#"),
        ("a c# d d#", "A C# D D#"),
        ("A C♯ D D♯", "A C# D D#"),
        ("B♭ E♭", "Bb Eb"),
        ("B𝄫 F𝄪", "Bbb F##"),
        ("E♮ Bb", "E Bb"),
        ("Fx FX", "F## F##"),
        ("ACDD#", "A C D D#"),
        ("acdd#", "A C D D#"),
        ("BbEbF", "Bb Eb F"),
        ("A2 B2 C3", "A B C"),
        ("A,C#,D", "A C# D"),
        ("a' b'' c’", "A B C"),
        ("A - B - C", "A B C"),
    ],
)
def test_note_names_are_read_however_they_are_written(text: str, notes: str) -> None:
    assert notes == notes_of(text)


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("b", "B"),  # where a note must stand
        ("B", "B"),
        ("a b c", "A B C"),
        ("bb", "Bb"),  # behind a letter it is a flat
        ("Bb b", "Bb B"),
        ("bbb", "Bbb"),
        ("ab", "Ab"),
        ("aB", "A B"),  # a capital letter is no flat
        ("AB", "A B"),
        ("ABC", "A B C"),
        ("abb", "Abb"),
        ("b b", "B B"),
        ("A b3 C", "A B C"),  # among notes, the number is an octave mark
    ],
)
def test_a_b_is_a_note_where_a_note_must_stand_and_a_flat_behind_a_letter(
    text: str, notes: str
) -> None:
    assert notes == notes_of(text)


@pytest.mark.parametrize(("text", "degrees"), [("b3", "b3"), ("b6b7", "b6 b7"), ("bb7", "bb7")])
def test_a_b_is_a_flat_before_a_number(text: str, degrees: str) -> None:
    assert degrees == degrees_of(text)


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("A Cis D Dis E", "A C# D D# E"),
        ("h b", "B Bb"),
        ("B H", "Bb B"),
        ("as es ases eses heses", "Ab Eb Abb Ebb Bbb"),
        ("AES EES", "Ab Eb"),
        ("fis FISIS his", "F# F## B#"),
        ("F# E♭ Hb", "F# Eb Bb"),  # signs are read in every language
    ],
)
def test_german_names_are_read(text: str, notes: str) -> None:
    assert notes == notes_of(text, GERMAN)


@pytest.mark.parametrize("text", ["Bes", "Bb", "B#", "Bis", "Cs", "aſ", "aİs", "aıs", "i", "s"])
def test_what_is_no_german_name_is_refused(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"no note name: give one such as A, B, Fis$"):
        parse_note(text, GERMAN)


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("la do# re re# mi", "A C# D D# E"),
        ("Sol SIB ti", "G Bb B"),
        ("ré RÉ re\u0301", "D D D"),  # composed, capital, and with a combining accent
        ("fa♯ sol♭", "F# Gb"),
    ],
)
def test_fixed_do_names_are_read(text: str, notes: str) -> None:
    assert notes == notes_of(text, SOLFEGE)


@pytest.mark.parametrize("text", ["mİ", "sı", "ſol", "b", "A", "dob#", "so"])
def test_what_is_no_fixed_do_name_is_refused(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"no note name: give one such as La, Sib, Fa#$"):
        parse_note(text, SOLFEGE)


def test_degrees_are_read_alike_in_every_language() -> None:
    assert {"1 b3 4"} == {degrees_of("1 b3 4", names) for names in NoteNames}


# --- keys ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Bb", Key(Note("B", -1))),
        ("b♭", Key(Note("B", -1))),
        ("b", Key(Note("B"))),
        ("f#", Key(Note("F", 1))),
        ("Am", Key(Note("A"), minor=True)),
        ("A m", Key(Note("A"), minor=True)),
        ("A Minor", Key(Note("A"), minor=True)),
        ("amin", Key(Note("A"), minor=True)),
        ("Bbm", Key(Note("B", -1), minor=True)),
        # minor keys of five, six and seven sharps whose major would need eight and more
        ("G#m", Key(Note("G", 1), minor=True)),
        ("D# minor", Key(Note("D", 1), minor=True)),
        ("A#m", Key(Note("A", 1), minor=True)),
    ],
)
def test_a_key_is_read(text: str, key: Key) -> None:
    assert key == parse_key(text)


@pytest.mark.parametrize(
    "text",
    [
        "G#",
        "D#",
        "E#",
        "Fb",
        "E#m",
        "Fbm",
        "Bbb",
        "H",
        "AM",
        "",
        "m",
        "minor",
        "1",
        "A major",
        "A\nm\nm",
        "x" * 100_000,
    ],
)
def test_what_is_no_key_is_refused_with_those_there_are(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"is no key: give one of Cb Gb .* F# C#, with m"):
        parse_key(text)


# --- what cannot be read ------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["", " ", "\t\n", " - ", "|", ",;,"])
def test_an_empty_answer_is_refused(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"^nothing was written: give degrees"):
        parse_line(text)


def test_the_longest_answer_is_read_and_a_longer_one_is_refused() -> None:
    assert LONGEST_ANSWER == len(parse_line("1" * LONGEST_ANSWER).degrees)
    with pytest.raises(MusicInputError, match=r"^201 characters is too long: .* at most 200$"):
        parse_line("1" * (LONGEST_ANSWER + 1))


@pytest.mark.parametrize("text", ["1 3 D E", "A #4", "1 b", "b 1"])
def test_degrees_and_note_names_do_not_mix(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"^degrees and note names are mixed: write all in"):
        parse_line(text)


@pytest.mark.parametrize(
    ("text", "bad"),
    [
        ("1 9 3", "'9'"),
        ("1 3 🎸", "'🎸'"),
        ("A H C", "'H'"),
        ("1 b", None),
        ("1 #", "'#'"),
        ("1 ###4", "'###4'"),
        ("1 [/]", "'[/]'"),
        ("1 \x1b[2J", "'�[2J'"),
        ("1 \x00", "'�'"),
        ("1 3\u202e", "'3�'"),
        ("1 \ud800", "'�'"),
        ("1 １", "'１'"),  # a full-width digit
        ("1 ٣", "'٣'"),  # an Arabic digit
        ("1 " + "q" * 60, "'" + "q" * 40 + "…'"),
    ],
)
def test_the_message_shows_the_token_that_cannot_be_read(text: str, bad: str | None) -> None:
    with pytest.raises(MusicInputError) as caught:
        parse_line(text)
    message = str(caught.value)
    assert message.startswith("degrees and note" if bad is None else f"{bad} is neither a degree")
    assert message.isprintable()


@pytest.mark.parametrize("text", ["", "0", "9", "b", "x", "###1", "1 3", "b\x1b3", "🎸", "-1"])
def test_what_is_no_degree_is_refused_on_one_line(text: str) -> None:
    with pytest.raises(MusicInputError, match=r"^'.*' is no degree: give 1 to 8 with b or #"):
        parse_degree(text)


@pytest.mark.parametrize("text", ["R", "r", "Root", "1", "1'", "1''"])
def test_the_root_is_one(text: str) -> None:
    assert Degree(1) == parse_degree(text)


@pytest.mark.parametrize(
    "text", ["b" * 199 + "z", "bb" * 99 + "9", "b#" * 99 + "?", "1b" * 99 + "x"]
)
def test_an_awkward_answer_is_refused_at_once(text: str) -> None:
    start = perf_counter()
    with pytest.raises(MusicInputError):
        parse_line(text)
    assert perf_counter() - start < 0.5  # a parser that tries every split takes hours


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("b3", "'b3'"),
        ("", "''"),
        ("a\nb\tc", "'a�b�c'"),
        ("\x1b]0;title\x07", "'�]0;title�'"),
        ("\u2028\u202e\ufeff", "'���'"),
        ("Bb é 🎸", "'Bb é 🎸'"),
        ("q" * LONGEST_SHOWN, "'" + "q" * LONGEST_SHOWN + "'"),
        ("q" * (LONGEST_SHOWN + 1), "'" + "q" * LONGEST_SHOWN + "…'"),
    ],
)
def test_a_text_is_shown_without_what_moves_a_cursor_or_breaks_a_line(text: str, safe: str) -> None:
    assert safe == shown(text)
    assert shown(text).isprintable()


def test_printable_keeps_the_length_and_every_printable_character() -> None:
    text = "A\x00B\x9bC ♭"
    assert "A�B�C ♭" == printable(text)


@pytest.mark.parametrize("text", [" b3 ", "♭3", "B3", "b3'"])
def test_one_degree_is_read_however_it_is_written(text: str) -> None:
    assert Degree(3, -1) == parse_degree(text)
