"""Reading back what `engine.midi` writes: the inverse that the round trips are checked with.

It goes by the bytes alone and takes nothing for granted that a file should say: what is missing or
stands there twice fails the test.
"""

from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO

import mido

from engine.midi import (
    BANK,
    COMPOUND_DIVISION,
    KEY_TEXT,
    KIT_BANK,
    PAN,
    REVERB,
    SIMPLE_DIVISION,
    VOLUME,
)
from engine.notation import parse_key
from engine.score import PERCUSSION_CHANNEL, Instrument, NoteEvent, Part, Score, Track
from engine.theory import Key, Midi
from engine.timing import TICKS_PER_BAR, Tick

MOST_DECIMALS = 9


def read_midi(data: bytes) -> Score:
    """The score that was written; of all tempi that a file can stand for, the one with the fewest
    decimals."""
    file = mido.MidiFile(file=BytesIO(data))
    assert 1 == file.type
    compound = {SIMPLE_DIVISION: False, COMPOUND_DIVISION: True}[file.ticks_per_beat]
    conductor, *parts = file.tracks
    tempo = _tempo(_only(conductor, "set_tempo").tempo, compound)
    length = sum(message.time for message in conductor)
    assert 0 == length % TICKS_PER_BAR
    return Score(tempo, _key(conductor), compound, tuple(map(_track, parts)), Tick(length))


def _only(track: mido.MidiTrack, kind: str) -> mido.MetaMessage:
    (found,) = (message for message in track if message.type == kind)
    return found


def _tempo(microseconds: int, compound: bool) -> float:
    def written(tempo: float) -> float:
        return 60_000_000 / (tempo * 1.5 if compound else tempo)

    exact = written(microseconds)  # its own inverse
    rounded = (round(exact, decimals) for decimals in range(MOST_DECIMALS + 1))
    return next((tempo for tempo in rounded if round(written(tempo)) == microseconds), exact)


def _key(conductor: mido.MidiTrack) -> Key:
    texts = [message.text for message in conductor if message.type == "text"]
    named = [text.removeprefix(KEY_TEXT) for text in texts if text.startswith(KEY_TEXT)]
    return parse_key(named[0] if named else _only(conductor, "key_signature").key)


def _track(track: mido.MidiTrack) -> Track:
    program = _only(track, "program_change")
    set_up = {
        message.control: message.value for message in track if message.type == "control_change"
    }
    sound = Instrument(
        _only(track, "instrument_name").name,
        program.program,
        set_up[BANK],
        set_up[VOLUME],
        set_up[PAN],
        set_up[REVERB],
    )
    if program.channel == PERCUSSION_CHANNEL:
        sound = replace(sound, bank=KIT_BANK)
    notes = tuple(sorted(_notes(track), key=lambda note: (note.start, note.midi)))
    return Track(Part(_only(track, "track_name").name), sound, program.channel, notes)


def _notes(track: mido.MidiTrack) -> Iterator[NoteEvent]:
    sounding: dict[int, tuple[int, int]] = {}
    now = 0
    for message in track:
        now += message.time
        if message.type == "note_on":
            assert message.velocity
            assert message.note not in sounding
            sounding[message.note] = now, message.velocity
        elif message.type == "note_off":
            start, velocity = sounding.pop(message.note)
            yield NoteEvent(Tick(start), Tick(now - start), Midi(message.note), velocity)
    assert not sounding
