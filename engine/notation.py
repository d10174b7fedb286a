"""Notes and degrees as text: what players type, and what the program writes.

Three note-name languages: English letters, German (H is B, B is Bb, Fis, Es) and fixed do.
Reading is generous (flat and sharp signs, any case, commas or dashes between, octave marks
passed over); writing is one form a language.
"""

import re
import unicodedata
from dataclasses import dataclass
from enum import Enum

from engine.errors import MusicInputError, shown
from engine.theory import (
    LETTER_PITCH,
    OCTAVE,
    TONICS,
    Degree,
    Key,
    Midi,
    Note,
    accidental_text,
)


class NoteNames(Enum):
    """The language of note names. The value is what a settings file holds."""

    ENGLISH = "english"
    GERMAN = "german"
    SOLFEGE = "solfege"


LONGEST_ANSWER = 200
"""Characters read from one answer; no line that is asked for comes near it."""

SOLFEGE = {"C": "Do", "D": "Re", "E": "Mi", "F": "Fa", "G": "Sol", "A": "La", "B": "Si"}

_SIGNS = str.maketrans({"♭": "b", "♯": "#", "𝄫": "bb", "𝄪": "##", "♮": "", "’": "'", "′": "'"})
_BETWEEN = re.compile(r"[\s,;|–—-]+")
_DEGREE = re.compile(r"(bb?|##?)?([1-8])'*")
_ENGLISH = re.compile(r"([A-Ga-g])(bb?|##?|[xX])?(?:'*|[0-4]?)")
_ANY_CASE = re.IGNORECASE | re.ASCII  # without ASCII the long s and the Turkish i match as well
_GERMAN = re.compile(r"([a-h])(isis|is|eses|ses|es|s|bb?|##?)?'*", _ANY_CASE)
_SOLFEGE = re.compile(r"(do|r[eéÉ]|mi|fa|sol|la|si|ti)(bb?|##?)?'*", _ANY_CASE)
_ENGLISH_RUN = re.compile(r"([A-Ga-g](bb?+|##?+)?+){2,}+")  # never backs up: linear in the length
_USUAL_NAMES = tuple(
    Note(name[0], -name.count("b"))
    for name in ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
)
_ALTER = {"": 0, "b": -1, "bb": -2, "#": 1, "##": 2, "x": 2}
_GERMAN_ALTER = {"is": 1, "isis": 2, "es": -1, "s": -1, "eses": -2, "ses": -2}


@dataclass(frozen=True, slots=True)
class Written:
    """A line as somebody wrote it: all degrees, or all note names."""

    degrees: tuple[Degree, ...] = ()
    notes: tuple[Note, ...] = ()


def format_note(note: Note, names: NoteNames = NoteNames.ENGLISH) -> str:
    """`Bb`, `B` or `Sib`: the note in the given language."""
    if names is NoteNames.SOLFEGE:
        return SOLFEGE[note.letter] + accidental_text(note.alter)
    if names is NoteNames.GERMAN:
        return _format_german(note)
    return str(note)


def _format_german(note: Note) -> str:
    if note == Note("B", -1):
        return "B"
    letter = "H" if note.letter == "B" else note.letter
    if note.alter >= 0:
        return letter + "is" * note.alter
    first = "s" if letter in "AE" else "es"  # As and Es drop the e
    return letter + first + "es" * (-note.alter - 1)


def parse_degree(text: str) -> Degree:
    """Read one degree such as `b3`, `#4`, `8`, `R`.

    Raises MusicInputError for anything else.
    """
    cleaned = _clean(text)
    degree = _degree(cleaned)
    if degree is None:
        raise MusicInputError(f"{shown(text)} is no degree: give 1 to 8 with b or # before it")
    return degree


def parse_note(text: str, names: NoteNames = NoteNames.ENGLISH) -> Note:
    """Read one note name in the given language, in any case but for the flat of English letters.

    There a capital B is always the note: `AB` is A and B, and so no note name.
    Raises MusicInputError for anything else.
    """
    note = _note(_clean(text), names)
    if note is None:
        raise MusicInputError(f"{shown(text)} is no note name: give one such as {_sample(names)}")
    return note


_PITCH = re.compile(r"([A-Ga-g])(bb?|##?)?(-1|[0-9])")


def parse_pitch(text: str) -> Midi:
    """Read one pitch: an English note name with its octave, A4 being 440 Hz, or a MIDI number.

    `E1` and `28` are the low E of a bass. Raises MusicInputError for anything else.
    """
    cleaned = _clean(text)
    match = _PITCH.fullmatch(cleaned)
    if match:
        note = Note(match[1].upper(), _ALTER[match[2] or ""])
        midi = LETTER_PITCH[note.letter] + note.alter + OCTAVE * (int(match[3]) + 1)
    else:
        is_number = cleaned.isascii() and cleaned.isdecimal() and len(cleaned) <= 3
        midi = int(cleaned) if is_number else -1
    if not 0 <= midi <= 127:
        raise MusicInputError(
            f"{shown(text)} is no pitch: give a note name with its octave, such as E1 or Bb0, or "
            "a MIDI number from 0 to 127"
        )
    return Midi(midi)


def format_pitch(midi: int, note: Note | None = None) -> str:
    """`E1` for 28: a note name and its octave, A4 being 440 Hz; flats unless the note is given."""
    name = note or _USUAL_NAMES[midi % OCTAVE]
    return f"{name}{(midi - name.alter) // OCTAVE - 1}"


def parse_key(text: str, names: NoteNames = NoteNames.ENGLISH) -> Key:
    """Read a key: a tonic, with `m` or `minor` behind it for a minor tune.

    Raises MusicInputError when it is no note, or a tonic that is neither that of a major key with
    up to seven accidentals nor, in minor, that of such a minor key.
    """
    cleaned = _clean(text)
    tonic_text = re.sub(r"(?<=\S)\s*((?i:minor|min)|m)$", "", cleaned)
    minor = tonic_text != cleaned
    tonic = _note(tonic_text, names)
    if tonic is None or (tonic not in TONICS and not (minor and _has_signature(tonic))):
        allowed = " ".join(format_note(tonic, names) for tonic in TONICS)
        raise MusicInputError(
            f"{shown(text)} is no key: give one of {allowed}, with m behind it for minor"
        )
    return Key(tonic, minor)


def _has_signature(tonic: Note) -> bool:
    """Whether the minor key has up to seven accidentals: G#, D# and A# do, unlike in major."""
    return abs(Key(tonic, minor=True).sharps) <= 7


def parse_line(text: str, names: NoteNames = NoteNames.ENGLISH) -> Written:
    """Read a whole answer, all degrees or all note names.

    A lone `b` is the note B; behind a letter it is a flat, before a number too.
    Raises MusicInputError for an empty, overlong, mixed or unreadable line.
    """
    tokens = _tokens(text, names)
    degrees = [_degree(token) for token in tokens]
    notes = [_note(token, names) for token in tokens]
    for token, degree, note in zip(tokens, degrees, notes, strict=True):
        if degree is None and note is None:
            raise MusicInputError(
                f"{shown(token)} is neither a degree (1 b3 #4) nor a note name "
                f"({_sample(names)}): write them with spaces between"
            )
    if all(degree is not None for degree in degrees):
        return Written(degrees=tuple(degree for degree in degrees if degree is not None))
    if all(note is not None for note in notes):
        return Written(notes=tuple(note for note in notes if note is not None))
    raise MusicInputError("degrees and note names are mixed: write all in one way")


def _tokens(text: str, names: NoteNames) -> list[str]:
    if len(text) > LONGEST_ANSWER:
        raise MusicInputError(
            f"{len(text)} characters is too long: an answer has at most {LONGEST_ANSWER}"
        )
    tokens = [token for token in _BETWEEN.split(_clean(text)) if token]
    if not tokens:
        raise MusicInputError("nothing was written: give degrees (1 b3 #4) or note names")
    return [part for token in tokens for part in _run_together(token, names)]


def _run_together(token: str, names: NoteNames) -> list[str]:
    """Split `134#4` and `ACDD#`; any other token stays whole."""
    if re.fullmatch(r"((bb?|##?)?[1-8]){2,}", token):
        return [match.group() for match in re.finditer(r"(bb?|##?)?[1-8]", token)]
    if names is NoteNames.ENGLISH and _ENGLISH_RUN.fullmatch(token):
        return [match.group() for match in re.finditer(r"[A-Ga-g](bb?|##?)?", token)]
    return [token]


def _clean(text: str) -> str:
    return unicodedata.normalize("NFC", text).translate(_SIGNS).strip()


def _degree(token: str) -> Degree | None:
    if token.casefold() in ("r", "root"):
        return Degree(1)
    match = _DEGREE.fullmatch(token.casefold())
    return Degree(int(match[2]), _ALTER[match[1] or ""]) if match else None


def _note(token: str, names: NoteNames) -> Note | None:
    if names is NoteNames.GERMAN:
        return _german(token)
    if names is NoteNames.SOLFEGE:
        match = _SOLFEGE.fullmatch(token)
        return Note(_solfege_letter(match[1]), _ALTER[(match[2] or "").lower()]) if match else None
    match = _ENGLISH.fullmatch(token)
    return Note(match[1].upper(), _ALTER[(match[2] or "").lower()]) if match else None


def _solfege_letter(syllable: str) -> str:
    plain = syllable.casefold().replace("é", "e").replace("ti", "si")
    return next(letter for letter, name in SOLFEGE.items() if name.casefold() == plain)


def _german(token: str) -> Note | None:
    match = _GERMAN.fullmatch(token)
    if match is None:
        return None
    letter, ending = match[1].upper(), (match[2] or "").lower()
    shortened = ending in ("s", "ses")
    if shortened and letter not in "AE":
        return None
    if letter == "B" and ending:
        return None  # B is already flat; its double flat is Heses
    alter = (_ALTER | _GERMAN_ALTER)[ending]
    if letter == "B":
        return Note("B", -1)
    return Note("B" if letter == "H" else letter, alter)


def _sample(names: NoteNames) -> str:
    return ", ".join(
        format_note(Note(letter, alter), names) for letter, alter in (("A", 0), ("B", -1), ("F", 1))
    )
