"""A sheet as MusicXML 4.0: staff and tablature, chord symbols, degrees as lyrics.

One part with two staves, as the format has it for an instrument that is written in both ways. The
staff is in bass clef, an octave above what sounds, and says so (`transpose`); the tablature staff
names string and fret, string 1 the highest. Swung eighths are written as eighths with the usual
mark above the first bar.
[MusicXML 4.0, W3C Music Notation Community Group Final Report, 2021]
"""

from fractions import Fraction
from textwrap import wrap
from typing import NamedTuple
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from engine.chords import Chord
from engine.errors import printable
from engine.feels import Feel, swing_ratio
from engine.paper.notated import COMPOUND, VALUES, Sheet, SheetBar, Sign, Sounding, played
from engine.theory import LETTERS, OCTAVE, Key, Note, spell

DIVISIONS = 2
"""Parts of a quarter that durations count in: an eighth is the smallest."""

BARS_A_LINE = 4

STAFF, TABLATURE = 1, 2

WORDS_A_LINE = 18
"""Characters of a device's name on a line of a picture: about the width of a bar."""

KINDS = {
    # quality in our charts: the format's word for it
    "7": "dominant",
    "maj7": "major-seventh",
    "m7": "minor-seventh",
    "m6": "minor-sixth",
    "6": "major-sixth",
    "m7b5": "half-diminished",
    "dim7": "diminished-seventh",
}

ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

_HEAD = """<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" \
"http://www.musicxml.org/dtds/partwise.dtd">
"""


class _Written(NamedTuple):
    """Where a note stands on the staff."""

    letter: str
    octave: int


def to_musicxml(sheet: Sheet, for_a_picture: bool = False) -> str:
    """The sheet as the text of a MusicXML file, in UTF-8 once it is written.

    `for_a_picture` writes what few viewers of pictures have a font for in plain letters, tempo and
    swing in words and the flats of chords as b, and breaks long words into lines.
    """
    root = Element("score-partwise", version="4.0")
    work = SubElement(root, "work")
    _text(work, "work-title", printable(sheet.title))
    encoding = SubElement(SubElement(root, "identification"), "encoding")
    _text(encoding, "software", "lastbar")
    listed = SubElement(SubElement(root, "part-list"), "score-part", id="P1")
    _text(listed, "part-name", "Bass")
    part = SubElement(root, "part", id="P1")
    for index, bar in enumerate(sheet.bars):
        part.append(_measure(sheet, index, bar, for_a_picture))
    indent(root)
    return _HEAD + tostring(root, encoding="unicode") + "\n"


def _text(parent: Element, tag: str, text: object, /, **attributes: str) -> Element:
    child = SubElement(parent, tag, attributes)
    child.text = str(text)
    return child


def _measure(sheet: Sheet, index: int, bar: SheetBar, for_a_picture: bool) -> Element:
    measure = Element("measure", number=str(index + 1))
    if index and index % BARS_A_LINE == 0 and not bar.landing:
        SubElement(measure, "print", {"new-system": "yes"})
    if index == 0:
        _attributes(measure, sheet)
        if for_a_picture:
            _words(measure, played(sheet))
        else:
            _tempo(measure, sheet)
            _swing(measure, sheet)
    for name in bar.devices:
        words = printable(name)
        lines = reversed(wrap(words, WORDS_A_LINE)) if for_a_picture else [words]
        for line in lines:  # each stands above the one before
            _words(measure, line)
    _staff(measure, sheet, bar, for_a_picture)
    backup = SubElement(measure, "backup")
    _text(backup, "duration", sheet.meter.per_bar)
    for sign in bar.signs:
        _tablature_note(measure, sheet, sign)
    if index == len(sheet.bars) - 1:
        _text(SubElement(measure, "barline", location="right"), "bar-style", "light-heavy")
    return measure


# --- what stands at the beginning -----------------------------------------------------------------


def _attributes(measure: Element, sheet: Sheet) -> None:
    attributes = SubElement(measure, "attributes")
    _text(attributes, "divisions", DIVISIONS)
    key = SubElement(attributes, "key")
    _text(key, "fifths", sheet.key.sharps)
    _text(key, "mode", "minor" if sheet.key.minor else "major")
    time = SubElement(attributes, "time")
    _text(time, "beats", sheet.meter.beats)
    _text(time, "beat-type", sheet.meter.kind)
    _text(attributes, "staves", 2)
    for staff, (sign, line) in {STAFF: ("F", 4), TABLATURE: ("TAB", 5)}.items():
        clef = SubElement(attributes, "clef", number=str(staff))
        _text(clef, "sign", sign)
        _text(clef, "line", line)
    strings = sheet.tuning.strings
    details = SubElement(attributes, "staff-details", number=str(TABLATURE))
    _text(details, "staff-lines", len(strings))
    for number, (_, pitch) in enumerate(strings, start=1):
        tuning = SubElement(details, "staff-tuning", line=str(number))
        note = _open_string(pitch)
        _text(tuning, "tuning-step", note.letter)
        if note.alter:
            _text(tuning, "tuning-alter", note.alter)
        _text(tuning, "tuning-octave", (pitch - note.alter) // OCTAVE - 1)
    transpose = SubElement(attributes, "transpose")
    _text(transpose, "diatonic", 0)
    _text(transpose, "chromatic", 0)
    _text(transpose, "octave-change", -1)


def _open_string(pitch: int) -> Note:
    """An open string; of two spellings the flat one."""
    names = (Note(letter, alter) for alter in (0, -1) for letter in LETTERS)
    return next(name for name in names if name.pitch_class == pitch % OCTAVE)


def _tempo(measure: Element, sheet: Sheet) -> None:
    compound = sheet.meter is COMPOUND
    direction = SubElement(measure, "direction", placement="above")
    metronome = SubElement(SubElement(direction, "direction-type"), "metronome")
    _text(metronome, "beat-unit", "quarter")
    if compound:
        SubElement(metronome, "beat-unit-dot")
    _text(metronome, "per-minute", f"{sheet.tempo:g}")
    _text(direction, "staff", STAFF)
    quarters = sheet.tempo * 1.5 if compound else sheet.tempo
    SubElement(direction, "sound", tempo=f"{quarters:g}")


def _swing(measure: Element, sheet: Sheet) -> None:
    """Two eighths stand for a quarter and an eighth of a triplet, and how long they are played."""
    ratio = swing_ratio(sheet.feel, sheet.tempo)
    if sheet.meter is COMPOUND or ratio == 1:
        return
    direction = SubElement(measure, "direction", placement="above")
    metronome = SubElement(SubElement(direction, "direction-type"), "metronome")
    for beam in ("begin", "end"):
        note = SubElement(metronome, "metronome-note")
        _text(note, "metronome-type", "eighth")
        _text(note, "metronome-beam", beam, number="1")
    _text(metronome, "metronome-relation", "equals")
    for value, end in (("quarter", "start"), ("eighth", "stop")):
        note = SubElement(metronome, "metronome-note")
        _text(note, "metronome-type", value)
        tuplet = SubElement(note, "metronome-tuplet", type=end)
        _text(tuplet, "actual-notes", 3)
        _text(tuplet, "normal-notes", 2)
        _text(tuplet, "normal-type", "eighth")
    _text(direction, "staff", STAFF)
    swing = SubElement(SubElement(direction, "sound"), "swing")
    exact = Fraction(ratio).limit_denominator(10)
    _text(swing, "first", exact.numerator)
    _text(swing, "second", exact.denominator)
    _text(swing, "swing-type", "eighth")
    _words(measure, "Swing" if sheet.feel is Feel.SWING else "Shuffle")


def _words(measure: Element, words: str) -> None:
    direction = SubElement(measure, "direction", placement="above")
    _text(SubElement(direction, "direction-type"), "words", words)
    _text(direction, "staff", STAFF)


# --- the staff ------------------------------------------------------------------------------------


def _staff(measure: Element, sheet: Sheet, bar: SheetBar, for_a_picture: bool) -> None:
    waiting = [(row.beat * sheet.meter.per_beat, row.chord) for row in bar.chords]
    accidentals = _accidentals(bar, sheet.key)
    for index, sign in enumerate(bar.signs):
        while waiting and waiting[0][0] < sign.start + sign.length:
            at, chord = waiting.pop(0)
            _harmony(measure, chord, sheet.key.tonic, at - sign.start, for_a_picture)
        note = SubElement(measure, "note")
        _pitch(note, sign)
        _timing(note, sign, STAFF)
        if index in accidentals:
            note.insert(_before_staff(note), _element("accidental", accidentals[index]))
        if (beam := _beam(bar, index, sheet.meter.per_beat)) is not None:
            _text(note, "beam", beam, number="1")
        _ties(note, sign, SubElement(note, "notations") if sign.tied_from or sign.tied_to else None)
        if sign.struck and sign.sounding is not None:
            lyric = SubElement(note, "lyric", number="1")
            _text(lyric, "syllabic", "single")
            _text(lyric, "text", sign.sounding.degree)


def _element(tag: str, text: str) -> Element:
    element = Element(tag)
    element.text = text
    return element


def _before_staff(note: Element) -> int:
    return [child.tag for child in note].index("staff")


def _harmony(measure: Element, chord: Chord, tonic: Note, offset: int, for_a_picture: bool) -> None:
    root = spell(chord.root, tonic)
    harmony = SubElement(measure, "harmony")
    named = SubElement(harmony, "root")
    _text(named, "root-step", root.letter)
    behind = chord.symbol(tonic)[len(root.letter) :]
    if root.alter and not for_a_picture:
        _text(named, "root-alter", root.alter)
    text = behind if for_a_picture else chord.quality
    _text(harmony, "kind", KINDS[chord.quality], text=text)
    if offset:
        _text(harmony, "offset", offset)
    _text(harmony, "staff", STAFF)


def written(sounding: Sounding) -> _Written:
    """Where a note stands on the staff, an octave above what sounds."""
    natural = sounding.midi + OCTAVE - sounding.note.alter
    return _Written(sounding.note.letter, natural // OCTAVE - 1)


def _pitch(note: Element, sign: Sign) -> None:
    if sign.sounding is None:
        SubElement(note, "rest")
        return
    place = written(sign.sounding)
    pitch = SubElement(note, "pitch")
    _text(pitch, "step", place.letter)
    if sign.sounding.note.alter:
        _text(pitch, "alter", sign.sounding.note.alter)
    _text(pitch, "octave", place.octave)


def _timing(note: Element, sign: Sign, staff: int) -> None:
    """Duration, ties as they sound, voice, value and staff."""
    _text(note, "duration", sign.length)
    if sign.tied_from:
        SubElement(note, "tie", type="stop")
    if sign.tied_to:
        SubElement(note, "tie", type="start")
    _text(note, "voice", staff)
    value = VALUES[sign.length]
    _text(note, "type", value.name)
    for _ in range(value.dots):
        SubElement(note, "dot")
    _text(note, "staff", staff)


def _ties(note: Element, sign: Sign, notations: Element | None) -> None:
    """Ties as they are drawn."""
    if notations is not None and sign.tied_from:
        SubElement(notations, "tied", type="stop")
    if notations is not None and sign.tied_to:
        SubElement(notations, "tied", type="start")


def _accidentals(bar: SheetBar, key: Key) -> dict[int, str]:
    """The signs to be drawn before notes, by index: one holds to the end of the bar."""
    drawn: dict[int, str] = {}
    holds: dict[_Written, int] = {}
    for index, sign in enumerate(bar.signs):
        if sign.sounding is None or sign.tied_from:
            continue
        place, alter = written(sign.sounding), sign.sounding.note.alter
        if alter != holds.get(place, in_signature(place.letter, key)):
            drawn[index] = ACCIDENTALS[alter]
        holds[place] = alter
    return drawn


def in_signature(letter: str, key: Key) -> int:
    """What the key signature does to a letter: 1, 0 or -1."""
    order = "FCGDAEB"
    if key.sharps >= 0:
        return int(order.index(letter) < key.sharps)
    return -int(order[::-1].index(letter) < -key.sharps)


def _beam(bar: SheetBar, index: int, per_beat: int) -> str | None:
    """Two eighths of one beat hang together."""
    pairs = {
        at
        for at, (one, other) in enumerate(zip(bar.signs, bar.signs[1:], strict=False))
        if one.length == other.length == 1
        and one.sounding is not None
        and other.sounding is not None
        and one.start // per_beat == other.start // per_beat
    }
    return "begin" if index in pairs else "end" if index - 1 in pairs else None


# --- the tablature --------------------------------------------------------------------------------


def _tablature_note(measure: Element, sheet: Sheet, sign: Sign) -> None:
    note = SubElement(measure, "note")
    _pitch(note, sign)
    _timing(note, sign, TABLATURE)
    if sign.sounding is None:
        return
    note.insert(_before_staff(note), _element("stem", "none"))
    notations = SubElement(note, "notations")
    _ties(note, sign, notations)
    technical = SubElement(notations, "technical")
    position = sign.sounding.position
    _text(technical, "string", len(sheet.tuning.strings) - position.string)
    _text(technical, "fret", position.fret)
