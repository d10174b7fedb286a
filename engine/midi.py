"""Scores as Standard MIDI Files, and back. The one module of the engine that imports mido.

Format 1 of the Standard MIDI File 1.0 specification: a first track with tempo, meter and key, and
a track a part. An engine tick is a file tick: in 4/4 a quarter has 960 of them, in 12/8 it has
640, so that the beat, a dotted quarter, has 960 again. A score that is written and read is equal
to what it was, but for the tempo: the file holds whole microseconds a quarter, and the reader
gives the tempo with the fewest decimals that they can stand for.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from io import BytesIO
from itertools import accumulate, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from engine.errors import MusicInputError
from engine.notation import parse_key
from engine.score import (
    ELECTRIC_PIANO,
    FINGER_BASS,
    KIT,
    ORGAN,
    PERCUSSION_CHANNEL,
    Instrument,
    NoteEvent,
    Part,
    Score,
    Track,
)
from engine.theory import Key, Midi, with_signature
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT, Tick, checked_tempo
from engine.whole import whole_file

if TYPE_CHECKING:
    import mido

SIMPLE_DIVISION, COMPOUND_DIVISION = TICKS_PER_BEAT, TICKS_PER_BEAT * 2 // 3
"""File ticks a quarter note, in 4/4 and in 12/8."""

BANK, BANK_FINE, VOLUME, PAN, REVERB = 0, 32, 7, 10, 91
"""Controller numbers. [MIDI 1.0 specification, table of control change messages]"""

KIT_BANK = 128
"""Kits live in this bank of a SoundFont; a file says it by the percussion channel alone."""

MOST_DECIMALS = 9
KEY_TEXT = "key: "
"""A text event that gives a key which no key signature can hold, such as Db minor."""

KNOWN = (FINGER_BASS, ELECTRIC_PIANO, ORGAN, KIT)


class _Timed(NamedTuple):
    """A message at its tick."""

    tick: int
    order: int
    """At one tick: set-up before note-offs before note-ons."""

    message: "mido.Message | mido.MetaMessage"


# --- writing ------------------------------------------------------------------------------------


def to_midi_bytes(score: Score, *more: Score) -> bytes:
    """The score as the bytes of a Standard MIDI File.

    More scores of the same band, meter and key go behind it, each at its own tempo and in ticks
    from its own beginning; such a file cannot be read back as one score.
    A part whose notes ring on after the score's end has a track that is longer, by whole bars.
    Raises MusicInputError when two notes of one pitch overlap on a channel, and when a kit is not
    on the percussion channel or something else is.
    """
    import mido

    tempi = _changes((score, *more))
    score = _joined((score, *more))
    _check_kits(score)
    _check_overlaps(score)
    division = COMPOUND_DIVISION if score.compound else SIMPLE_DIVISION
    file = mido.MidiFile(type=1, ticks_per_beat=division)
    file.tracks.append(_track([*_conductor(score), *tempi], score.length))
    for track in score.tracks:
        end = max((note.end for note in track.notes), default=0)
        bars = -(-max(end, score.length) // TICKS_PER_BAR)
        file.tracks.append(_track(_messages(track), bars * TICKS_PER_BAR))
    buffer = BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()


def write_midi(score: Score, path: Path, *more: Score) -> None:
    """Write the score, and more behind it, to a file, which is replaced whole or not at all.

    Raises MusicInputError as `to_midi_bytes` does, and OSError when the folder is missing or not
    writable or the disk is full; then nothing is left behind.
    """
    data = to_midi_bytes(score, *more)
    with whole_file(path) as partial:
        partial.write_bytes(data)


def _changes(scores: Sequence[Score]) -> Iterator[_Timed]:
    """The tempi behind the first one."""
    import mido

    tick = 0
    for before, score in pairwise(scores):
        tick += before.length
        microseconds = _microseconds(score.tempo, score.compound)
        yield _Timed(tick, 0, mido.MetaMessage("set_tempo", tempo=microseconds))


def _joined(scores: Sequence[Score]) -> Score:
    """Scores of one band put behind each other; a note rings to the end of its own at most."""
    if len(scores) == 1:
        return scores[0]
    starts = list(accumulate((score.length for score in scores[:-1]), initial=0))
    tracks = []
    for own in zip(*(score.tracks for score in scores), strict=True):
        notes = tuple(
            replace(
                note,
                start=Tick(start + note.start),
                length=Tick(min(note.end, score.length) - note.start),
            )
            for start, score, track in zip(starts, scores, own, strict=True)
            for note in track.notes
        )
        tracks.append(replace(own[0], notes=notes))
    length = Tick(sum(score.length for score in scores))
    return replace(scores[0], tracks=tuple(tracks), length=length)


def _check_kits(score: Score) -> None:
    for track in score.tracks:
        if (track.instrument.bank == KIT_BANK) != (track.channel == PERCUSSION_CHANNEL):
            raise MusicInputError(
                f"{track.part.value} with bank {track.instrument.bank} on channel {track.channel}: "
                f"kits, in bank {KIT_BANK}, go on channel {PERCUSSION_CHANNEL}, all else elsewhere"
            )


def _check_overlaps(score: Score) -> None:
    notes = sorted(
        (track.channel, note.midi, note.start, note.end)
        for track in score.tracks
        for note in track.notes
    )
    for (channel, midi, _, end), (next_channel, next_midi, start, _) in pairwise(notes):
        if (channel, midi) == (next_channel, next_midi) and start < end:
            raise MusicInputError(
                f"MIDI note {midi} on channel {channel} starts again at tick "
                f"{start} but sounds until {end}: end it first"
            )


def _track(timed: Iterable[_Timed], length: int) -> "mido.MidiTrack":
    import mido

    track = mido.MidiTrack()
    now = 0
    for tick, _, message in sorted(timed, key=lambda row: row[:2]):
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=length - now))
    return track


def _conductor(score: Score) -> Iterator[_Timed]:
    import mido

    numerator, denominator, clocks = (12, 8, 36) if score.compound else (4, 4, 24)
    signature = with_signature(score.key)
    messages = [
        mido.MetaMessage("track_name", name="Conductor"),
        mido.MetaMessage(
            "time_signature",
            numerator=numerator,
            denominator=denominator,
            clocks_per_click=clocks,
            notated_32nd_notes_per_beat=8,
        ),
        mido.MetaMessage("key_signature", key=_signature_name(signature)),
        mido.MetaMessage("set_tempo", tempo=_microseconds(score.tempo, score.compound)),
    ]
    if signature != score.key:
        messages.insert(3, mido.MetaMessage("text", text=KEY_TEXT + str(score.key)))
    return (_Timed(0, order, message) for order, message in enumerate(messages))


def _microseconds(tempo: float, compound: bool) -> int:
    """Microseconds a quarter note."""
    return round(60_000_000 / (tempo * 1.5 if compound else tempo))


def _signature_name(key: Key) -> str:
    return f"{key.tonic}{'m' if key.minor else ''}"


def _messages(track: Track) -> Iterator[_Timed]:
    import mido

    sound, channel = track.instrument, track.channel
    setup = [
        mido.MetaMessage("track_name", name=_ascii(track.part.value)),
        mido.MetaMessage("instrument_name", name=_ascii(sound.name)),
        _control(channel, BANK, 0 if sound.bank == KIT_BANK else sound.bank),
        _control(channel, BANK_FINE, 0),  # synthesizers that read SoundFonts go by the other one
        mido.Message("program_change", channel=channel, program=sound.program),
        _control(channel, VOLUME, sound.volume),
        _control(channel, PAN, sound.pan),
        _control(channel, REVERB, sound.reverb),
    ]
    yield from (_Timed(0, order, message) for order, message in enumerate(setup, -len(setup)))
    for note in track.notes:
        yield _Timed(note.end, 0, mido.Message("note_off", channel=channel, note=note.midi))
        yield _Timed(
            note.start,
            1,
            mido.Message("note_on", channel=channel, note=note.midi, velocity=note.velocity),
        )


def _control(channel: int, control: int, value: int) -> "mido.Message":
    import mido

    return mido.Message("control_change", channel=channel, control=control, value=value)


def _ascii(text: str) -> str:
    return text.encode("ascii", "replace").decode("ascii")


# --- reading ------------------------------------------------------------------------------------


def read_midi(source: Path | bytes) -> Score:
    """The score of a file, or of a file's bytes, that `write_midi` wrote.

    Raises MusicInputError for anything else, and OSError when the file cannot be read.
    """
    name, data = (
        ("these bytes", source)
        if isinstance(source, bytes)
        else (f"'{source.name}'", source.read_bytes())
    )
    try:
        return _score(_parsed(data))
    except MusicInputError as error:
        raise MusicInputError(f"{name} cannot be read as a score: {error}") from error


def _parsed(data: bytes) -> "mido.MidiFile":
    import mido
    from mido.midifiles.meta import (
        KeySignatureError,
    )

    try:
        return mido.MidiFile(file=BytesIO(data))
    except EOFError as error:
        raise MusicInputError("it ends too early; give a whole Standard MIDI File") from error
    except (
        OSError,
        ValueError,
        LookupError,
        TypeError,
        OverflowError,
        KeySignatureError,
    ) as error:  # what mido lets through on damaged data
        raise MusicInputError(f"it is no Standard MIDI File, or damaged ({error})") from error


def _score(file: "mido.MidiFile") -> Score:
    divisions = {SIMPLE_DIVISION: False, COMPOUND_DIVISION: True}
    if file.type != 1 or file.ticks_per_beat not in divisions or not file.tracks:
        raise MusicInputError(
            f"format {file.type} with {file.ticks_per_beat} ticks a quarter was given: give "
            f"format 1 with {SIMPLE_DIVISION} or {COMPOUND_DIVISION}, as this program writes it"
        )
    compound = divisions[file.ticks_per_beat]
    conductor, *parts = file.tracks
    if len([message for message in conductor if message.type == "set_tempo"]) > 1:
        raise MusicInputError("it changes its tempo: give a file with a single one")
    tempo = _last(conductor, "set_tempo").tempo
    length = sum(message.time for message in conductor)
    if not tempo or not length or length % TICKS_PER_BAR:
        raise MusicInputError(
            f"its first track has {length} ticks and {tempo} microseconds a "
            "quarter: give whole bars and a tempo"
        )
    tracks = tuple(_read_track(track) for track in parts)
    bpm = checked_tempo(_tempo(tempo, compound))
    return Score(bpm, _key(conductor), compound, tracks, Tick(length))


def _last(track: "mido.MidiTrack", kind: str) -> "mido.MetaMessage":
    found = [message for message in track if message.type == kind]
    if not found:
        raise MusicInputError(f"there is no {kind.replace('_', ' ')} where one must be")
    return found[-1]


def _tempo(microseconds: int, compound: bool) -> float:
    """Beats a minute with the fewest decimals that are written as these microseconds."""
    exact = 60_000_000 / microseconds / (1.5 if compound else 1.0)
    for decimals in range(MOST_DECIMALS + 1):
        tempo = round(exact, decimals)
        if tempo and _microseconds(tempo, compound) == microseconds:
            return tempo
    return exact


def _key(conductor: "mido.MidiTrack") -> Key:
    texts = [message.text for message in conductor if message.type == "text"]
    named = [text.removeprefix(KEY_TEXT) for text in texts if text.startswith(KEY_TEXT)]
    return parse_key(named[-1] if named else _last(conductor, "key_signature").key)


def _read_track(track: "mido.MidiTrack") -> Track:
    name = _last(track, "track_name").name
    if name not in (allowed := [part.value for part in Part]):
        raise MusicInputError(f"there is a track {name[:40]!r}: give {', '.join(allowed)}")
    program = _last(track, "program_change")
    notes = tuple(sorted(_notes(track), key=lambda note: (note.start, note.midi)))
    return Track(Part(name), _instrument(track, program), program.channel, notes)


def _instrument(track: "mido.MidiTrack", program: "mido.Message") -> Instrument:
    """The sound that the set-up asks for; without a name in the file, as the engine names it."""
    values = {
        message.control: message.value for message in track if message.type == "control_change"
    }
    missing = {BANK, VOLUME, PAN, REVERB} - values.keys()
    if missing:
        raise MusicInputError(
            f"the track of channel {program.channel} does not set controller {min(missing)}"
        )
    bank = KIT_BANK if program.channel == PERCUSSION_CHANNEL else values[BANK]
    sound = Instrument(
        f"program {program.program}",
        program.program,
        bank,
        values[VOLUME],
        values[PAN],
        values[REVERB],
    )
    names = [message.name for message in track if message.type == "instrument_name"]
    names += [known.name for known in KNOWN if replace(sound, name=known.name) == known]
    return replace(sound, name=names[0]) if names else sound


def _notes(track: "mido.MidiTrack") -> Iterator[NoteEvent]:
    sounding: dict[int, tuple[int, int]] = {}
    now = 0
    for message in track:
        now += message.time
        if message.type == "note_on" and message.velocity and message.note not in sounding:
            sounding[message.note] = now, message.velocity
        elif message.type in ("note_on", "note_off"):
            start, velocity = sounding.pop(message.note, (now, 0))
            if start == now or (message.type == "note_on" and message.velocity):
                raise MusicInputError(
                    f"note {message.note} at tick {now} does not start and end once each"
                )
            yield NoteEvent(Tick(start), Tick(now - start), Midi(message.note), velocity)
    if sounding:
        raise MusicInputError(f"note {min(sounding)} never ends")
