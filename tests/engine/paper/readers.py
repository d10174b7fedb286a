"""Readers of what is on paper that share nothing with the writers.

Each gives the notes as they sound: where they begin, how long they last, which pitch.
"""

import re
from io import BytesIO
from itertools import pairwise
from typing import NamedTuple
from xml.etree.ElementTree import Element, fromstring

import mido

from engine.neck import Tuning


class Heard(NamedTuple):
    """A note, in eighths of a bar of 8 or 12."""

    start: int
    """From the start of the sheet."""

    length: int
    midi: int


STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
FLAT_SIGNS, SHARP_SIGNS = "BEADGCF", "FCGDAEB"
"""The order of the signs in a key signature. [common practice, no source]"""


# --- MusicXML -------------------------------------------------------------------------------------


def measures(text: str) -> list[Element]:
    return list(fromstring(text).iter("measure"))


def number(element: Element, path: str, missing: int = 0) -> int:
    found = element.findtext(path)
    return missing if found is None else int(found)


def from_musicxml(text: str, staff: int) -> list[Heard]:
    """The notes of a staff; the parts of a tied one put together; an octave below the written."""
    heard: list[Heard] = []
    first = 0
    for measure in measures(text):
        place, length = 0, 0
        for child in measure:
            length = number(child, "duration")
            if child.tag == "backup":
                place -= length
            if child.tag != "note":
                continue
            if staff == number(child, "staff") and child.find("rest") is None:
                ties = {tie.get("type") for tie in child.findall("tie")}
                midi = pitch(child) - 12
                if "stop" in ties:
                    before = heard.pop()
                    assert (before.midi, before.start + before.length) == (midi, first + place)
                    heard.append(before._replace(length=before.length + length))
                else:
                    heard.append(Heard(first + place, length, midi))
            place += length
        first += place
    return heard


def pitch(note: Element) -> int:
    step = STEPS[note.findtext("pitch/step") or ""]
    return 12 * (number(note, "pitch/octave") + 1) + step + number(note, "pitch/alter")


def frets(text: str, tuning: Tuning) -> list[int]:
    """What the strings and frets of the tablature staff sound like."""
    lowest_first = [open_pitch for _, open_pitch in tuning.strings]
    return [
        lowest_first[len(lowest_first) - number(row, "string")] + number(row, "fret")
        for measure in measures(text)
        for row in measure.iter("technical")
    ]


def misread(text: str) -> list[str]:
    """Notes that a reader of the signs would take for others, key signature and bar line known."""
    wrong: list[str] = []
    fifths = 0
    for measure in measures(text):
        fifths = number(measure, "attributes/key/fifths", fifths)
        signs = SHARP_SIGNS[:fifths] if fifths > 0 else FLAT_SIGNS[:-fifths] if fifths else ""
        alter = {
            letter: (1 if fifths > 0 else -1) if letter in signs else 0 for letter in "ABCDEFG"
        }
        here: dict[str, int] = {}
        for note in measure.findall("note"):
            tied = "stop" in {tie.get("type") for tie in note.findall("tie")}
            if number(note, "staff") != 1 or note.find("rest") is not None or tied:
                continue
            line = f"{note.findtext('pitch/step')}{note.findtext('pitch/octave')}"
            drawn = note.findtext("accidental")
            named = {"flat-flat": -2, "flat": -1, "natural": 0, "sharp": 1, "double-sharp": 2}
            if drawn is not None:
                here[line] = named[drawn]
            if here.get(line, alter[line[0]]) != number(note, "pitch/alter"):
                wrong.append(f"measure {measure.get('number')}: {line}")
    return wrong


# --- tablature ------------------------------------------------------------------------------------


def from_tablature(text: str, tuning: Tuning, per_beat: int, offbeat: int) -> list[Heard]:
    """The notes of a tablature; how long they last is told by the row of note values."""
    heard: list[Heard] = []
    bars = 0
    for system in text.split("\n\n")[1:]:
        rows = system.splitlines()
        label = next(row for row in rows if row.startswith("chords")).index("s") + 2
        named = {row[:label].strip(): row for row in rows if not row.startswith(" ")}
        strings = {name: named[name] for name, _ in tuning.strings}
        any_string = next(iter(strings.values()))
        edges = [at for at, sign in enumerate(any_string) if sign in "|│"]
        for left, right in pairwise(edges):
            heard += _bar(named, strings, tuning, (left, right), bars, per_beat, offbeat, heard)
            bars += 1
    return heard


def _bar(
    named: dict[str, str],
    strings: dict[str, str],
    tuning: Tuning,
    edges: tuple[int, int],
    bar: int,
    per_beat: int,
    offbeat: int,
    before: list[Heard],
) -> list[Heard]:
    left, right = edges
    counts = _words(named["counts"], left, right)
    values = _words(named["rhythm"], left, right)
    heard: list[Heard] = []
    beat = 0
    for column, count in sorted(counts.items()):
        beat = int(count) if count.isdigit() else beat
        if column not in values:
            continue
        start = (4 * bar + beat - 1) * per_beat + (0 if count.isdigit() else offbeat)
        value = values[column]
        length = {"w": 8, "h": 4, "q": 2, "e": 1}[value.strip("r.")]
        length = length * 3 // 2 if value.endswith(".") else length
        if value.startswith("r"):
            continue
        (found,) = [
            (open_pitch, match)
            for name, open_pitch in tuning.strings
            if (match := re.match(r"\(?\d+\)?", strings[name][column:])) is not None
        ]
        midi, held = found[0] + int(found[1].group().strip("()")), "(" in found[1].group()
        if held:
            row = (heard or before).pop()
            assert (row.midi, row.start + row.length) == (midi, start)
            heard.append(row._replace(length=row.length + length))
        else:
            heard.append(Heard(start, length, midi))
    return heard


def _words(row: str, left: int, right: int) -> dict[int, str]:
    """The words between two bar lines, by the columns where they begin."""
    return {
        match.start(): match.group()
        for match in re.finditer(r"\S+", row)
        if left < match.start() < right
    }


# --- MIDI -----------------------------------------------------------------------------------------


def from_midi(data: bytes, per_beat: int, offbeat: int, gap: int) -> list[Heard]:
    """The bass of a MIDI file behind its bar of counting; what begins between beats is an offbeat.

    A player lifts the finger `gap` ticks before the next place, which is added again.
    """
    file = mido.MidiFile(file=BytesIO(data))
    track = next(one for one in file.tracks if one.name == "Bass")
    ticks = 960  # a beat, in 4/4 and in 12/8
    now, started, heard = 0, {}, []

    def eighths(tick: int) -> int:
        beats, rest = divmod(tick - 4 * ticks, ticks)
        return beats * per_beat + (offbeat if rest else 0)

    for message in track:
        now += message.time
        if message.type == "note_on":
            started[message.note] = now
        elif message.type == "note_off":
            start = eighths(started.pop(message.note))
            end = eighths(now if now % (4 * ticks) == 0 else now + gap)
            heard.append(Heard(start, end - start, message.note))
    return sorted(heard)
