"""Written MIDI files, read by two parties that do not share our writer.

One is music21's own MIDI reader (music21.midi, independent of mido). The other is the small
parser below, written from the Standard MIDI File 1.0 specification (MIDI Manufacturers
Association, RP-001). Sound numbers are those of General MIDI level 1 (MMA, RP-003), also against
music21's tables.
"""

from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

import pytest
from music21 import converter, instrument, key, meter, midi, stream, tempo
from music21.midi.percussion import PercussionMapper

from engine.catalogue import builtin_catalogue
from engine.comping import comping_track
from engine.drums import drum_track
from engine.feels import FEELS, Feel
from engine.forms import find_form
from engine.line import write_line
from engine.midi import to_midi_bytes
from engine.notation import parse_key
from engine.plan import plan_choruses
from engine.score import (
    ELECTRIC_PIANO,
    FINGER_BASS,
    ORGAN,
    PERCUSSION_CHANNEL,
    Drum,
    Part,
    Score,
    Track,
)

CASES = pytest.mark.parametrize(
    ("feel", "form", "name"),
    [
        (Feel.SHUFFLE, "twelve-bar", "Bb"),
        (Feel.STRAIGHT, "quick-change", "E"),
        (Feel.SWING, "jazz-blues", "Gb"),
        (Feel.SLOW, "minor-blues", "Ebm"),
    ],
    ids=lambda value: value.value if isinstance(value, Feel) else value,
)


def chorus(feel: Feel, form: str, name: str) -> Score:
    catalogue = builtin_catalogue()
    plan = plan_choruses(
        find_form(form),
        parse_key(name),
        feel,
        FEELS[feel].slowest + 7.5,
        catalogue.find("two-beat"),
        [(0, 11, catalogue.find("stay+dip"))],
    )
    bass = tuple(note.event for note in write_line(plan, 3))
    tracks = (
        Track(Part.BASS, FINGER_BASS, 0, bass),
        comping_track(plan, bass, ELECTRIC_PIANO, 3),
        drum_track(plan, 3),
    )
    return Score(plan.tempo, plan.key, plan.compound, tracks, plan.length)


# --- a parser of our own ------------------------------------------------------------------------


class Event(NamedTuple):
    tick: int
    status: int
    """0x80 to 0xEF, or 0xFF for a meta event."""

    data: bytes
    """For a meta event its type, then what it holds."""


def chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Chunks: a type of four bytes, a length of four bytes with the highest first, the rest."""
    at = 0
    while at < len(data):
        length = int.from_bytes(data[at + 4 : at + 8], "big")
        assert at + 8 + length <= len(data), "a chunk is longer than the file"
        yield data[at : at + 4], data[at + 8 : at + 8 + length]
        at += 8 + length


def variable(data: bytes, at: int) -> tuple[int, int]:
    """A variable-length quantity: seven bits a byte, the eighth set in all but the last."""
    value = 0
    for place in range(at, at + 4):
        value = value << 7 | data[place] & 0x7F
        if data[place] < 0x80:
            return value, place + 1
    raise AssertionError("a quantity of more than four bytes")


def events(data: bytes) -> list[Event]:
    found: list[Event] = []
    at, tick, running = 0, 0, 0
    while at < len(data):
        delta, at = variable(data, at)
        tick += delta
        if data[at] == 0xFF:
            length, start = variable(data, at + 2)
            found.append(Event(tick, 0xFF, data[at + 1 : at + 2] + data[start : start + length]))
            at, running = start + length, 0
            continue
        if data[at] & 0x80:
            running = data[at]
            at += 1
        assert 0x80 <= running < 0xF0, "running status without a status"
        size = 1 if running & 0xF0 in (0xC0, 0xD0) else 2
        assert all(byte < 0x80 for byte in data[at : at + size])
        found.append(Event(tick, running, data[at : at + size]))
        at += size
    assert at == len(data), "an event runs over the end of its track"
    return found


@CASES
def test_the_chunks_are_a_header_and_as_many_tracks_as_it_says(
    feel: Feel, form: str, name: str
) -> None:
    """Standard MIDI File 1.0: MThd holds format, number of tracks and division, 16 bits each."""
    (kind, header), *tracks = chunks(to_midi_bytes(chorus(feel, form, name)))
    assert b"MThd" == kind
    numbers = [int.from_bytes(header[at : at + 2], "big") for at in (0, 2, 4)]
    assert [1, len(tracks), 640 if feel is Feel.SLOW else 960] == numbers
    assert {b"MTrk"} == {kind for kind, _ in tracks}
    assert 4 == len(tracks)


@CASES
def test_the_tempo_map_is_in_the_first_track_and_nowhere_else(
    feel: Feel, form: str, name: str
) -> None:
    """Standard MIDI File 1.0: in format 1 tempo and meter belong into the first track."""
    _, *tracks = chunks(to_midi_bytes(chorus(feel, form, name)))
    first, *rest = [events(data) for _, data in tracks]
    assert {0xFF} == {event.status for event in first}
    for kind in (0x51, 0x58, 0x59):
        assert [0] == [event.tick for event in first if event.data[0] == kind]
        assert not [
            event
            for track in rest
            for event in track
            if event.status == 0xFF and event.data[0] == kind
        ]


@CASES
def test_every_track_ends_once_after_whole_bars(feel: Feel, form: str, name: str) -> None:
    """FF 2F 00 ends every track; a bar is four quarters, or twelve eighths of 320 ticks."""
    _, *tracks = chunks(to_midi_bytes(chorus(feel, form, name)))
    for _, data in tracks:
        track = events(data)
        ends = [event for event in track if event.status == 0xFF and event.data == b"\x2f"]
        assert [track[-1]] == ends
        assert b"\xff\x2f\x00" == data[-3:]
        assert 14 * 3840 == ends[0].tick  # count-in, twelve bars, landing


@CASES
def test_every_note_starts_and_ends_once_and_offs_come_before_ons(
    feel: Feel, form: str, name: str
) -> None:
    _, *tracks = chunks(to_midi_bytes(chorus(feel, form, name)))
    for _, data in tracks:
        sounding: set[tuple[int, int]] = set()
        struck_at: tuple[int, bool] = (-1, False)
        for event in events(data):
            kind, channel = event.status & 0xF0, event.status & 0x0F
            if kind == 0x90:
                assert event.data[1] > 0
                assert (channel, event.data[0]) not in sounding
                sounding.add((channel, event.data[0]))
                struck_at = event.tick, True
            elif kind == 0x80:
                assert struck_at != (event.tick, True), "an off behind an on at one tick"
                sounding.remove((channel, event.data[0]))
        assert not sounding


@CASES
def test_set_up_comes_first_bank_before_program(feel: Feel, form: str, name: str) -> None:
    """MIDI 1.0: bank select (controllers 0, 32) takes effect with the next program change."""
    _, _, *tracks = chunks(to_midi_bytes(chorus(feel, form, name)))
    for _, data in tracks:
        first = [event for event in events(data) if event.status != 0xFF][:6]
        assert [0] * 6 == [event.tick for event in first]
        kinds = [(event.status & 0xF0, event.data[0]) for event in first]
        assert [(0xB0, 0), (0xB0, 32)] == kinds[:2]
        assert 0xC0 == kinds[2][0]
        assert [(0xB0, 7), (0xB0, 10), (0xB0, 91)] == kinds[3:]


@CASES
def test_track_names_are_ascii(feel: Feel, form: str, name: str) -> None:
    _, *tracks = chunks(to_midi_bytes(chorus(feel, form, name)))
    names = [
        event.data[1:].decode("ascii")
        for _, data in tracks
        for event in events(data)
        if event.status == 0xFF and event.data[0] == 0x03
    ]
    assert ["Conductor", "Bass", "Keys", "Drums"] == names


# --- music21 ------------------------------------------------------------------------------------


def read_by_music21(score: Score) -> midi.MidiFile:
    file = midi.MidiFile()
    file.readstr(to_midi_bytes(score))
    return file


@CASES
def test_music21_reads_the_very_notes_that_were_written(feel: Feel, form: str, name: str) -> None:
    score = chorus(feel, form, name)
    file = read_by_music21(score)
    for written, track in zip(score.tracks, file.tracks[1:], strict=True):
        now, heard = 0, Counter[tuple[int, int, int, int]]()
        for event in track.events:
            now += event.time if isinstance(event, midi.DeltaTime) else 0
            if event.type == midi.ChannelVoiceMessages.NOTE_ON:
                assert event.pitch is not None
                assert event.velocity is not None
                heard[now, event.pitch, event.velocity, event.channel] += 1
        assert (
            Counter(
                (note.start, note.midi, note.velocity, written.channel + 1)  # music21 counts from 1
                for note in written.notes
            )
            == heard
        )


@CASES
def test_music21_sees_the_meter_the_tempo_and_the_key(feel: Feel, form: str, name: str) -> None:
    score = chorus(feel, form, name)
    read = converter.parseData(to_midi_bytes(score), format="midi")
    assert isinstance(read, stream.Score)
    (signature, *_) = read.recurse().getElementsByClass(meter.TimeSignature)
    assert ("12/8" if feel is Feel.SLOW else "4/4") == signature.ratioString
    (mark, *_) = read.recurse().getElementsByClass(tempo.MetronomeMark)
    quarters = score.tempo * (1.5 if feel is Feel.SLOW else 1)
    assert quarters == pytest.approx(mark.getQuarterBPM(), abs=0.01)
    (tonality, *_) = read.recurse().getElementsByClass(key.Key)
    assert name.removesuffix("m").replace("b", "-") == tonality.tonic.name.upper()
    assert ("minor" if score.key.minor else "major") == tonality.mode


def test_programs_are_the_general_midi_sounds_that_music21_knows() -> None:
    """General MIDI level 1: 33 finger bass, 4 electric piano 1, 16 drawbar organ (from 0)."""
    wanted = {
        33: instrument.ElectricBass,
        4: instrument.ElectricPiano,
        16: instrument.ElectricOrgan,
    }
    programs = {sound.program for sound in (FINGER_BASS, ELECTRIC_PIANO, ORGAN)}
    assert set(wanted) == programs
    for program, kind in wanted.items():
        assert isinstance(instrument.instrumentFromMidiProgram(program), kind)


@pytest.mark.parametrize(
    ("drum", "number", "kind"),
    [
        (Drum.KICK, 36, instrument.BassDrum),
        (Drum.SIDE_STICK, 37, instrument.SnareDrum),
        (Drum.SNARE, 38, instrument.SnareDrum),
        (Drum.CLOSED_HAT, 42, instrument.HiHatCymbal),
        (Drum.PEDAL_HAT, 44, instrument.HiHatCymbal),
        (Drum.CRASH, 49, instrument.CrashCymbals),
    ],
    ids=lambda value: value.name if isinstance(value, Drum) else "",
)
def test_drum_keys_are_those_of_the_general_midi_percussion_map(
    drum: Drum, number: int, kind: type[instrument.Instrument]
) -> None:
    assert number == drum.value
    mapper = PercussionMapper()
    assert isinstance(mapper.midiPitchToInstrument(number), kind)  # type: ignore[no-untyped-call]  # music21 leaves it untyped


def test_the_ride_is_general_midi_key_51_on_the_tenth_channel() -> None:
    """General MIDI level 1 percussion map: 51 Ride Cymbal 1; music21 has no entry for it."""
    assert 51 == Drum.RIDE.value
    assert 10 == PERCUSSION_CHANNEL + 1
