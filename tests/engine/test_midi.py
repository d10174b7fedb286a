"""Standard MIDI Files, byte by byte, and back.

The bytes are those of the Standard MIDI File 1.0 specification (MIDI Manufacturers Association,
RP-001): chunks "MThd" and "MTrk", variable-length delta times, running status, meta events FF.
"""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from engine.errors import MusicInputError
from engine.midi import read_midi, to_midi_bytes, write_midi
from engine.notation import parse_key
from engine.score import (
    ELECTRIC_PIANO,
    FINGER_BASS,
    KIT,
    ORGAN,
    Instrument,
    NoteEvent,
    Part,
    Score,
    Track,
)
from engine.theory import TONICS, Key, Midi, Note
from engine.timing import TICKS_PER_BAR, Tick

A = Key(Note("A"))


def note(start: int, length: int, midi: int, velocity: int = 90) -> NoteEvent:
    return NoteEvent(Tick(start), Tick(length), Midi(midi), velocity)


def score(*notes: NoteEvent, **changes: object) -> Score:
    bass = Track(Part.BASS, FINGER_BASS, 0, notes)
    plain = Score(120.0, A, False, (bass,), Tick(TICKS_PER_BAR))
    return replace(plain, **changes)  # type: ignore[arg-type]  # fields by name, per test


HEADER = """
4D 54 68 64  00 00 00 06   # "MThd", six bytes follow
00 01  00 02  03 C0        # format 1, two tracks, 960 ticks a quarter
"""

CONDUCTOR = """
4D 54 72 6B  00 00 00 27   # "MTrk", 39 bytes follow
00 FF 03 09 43 6F 6E 64 75 63 74 6F 72   # track name "Conductor"
00 FF 58 04 04 02 18 08    # 4/4: four, 2 to the 2nd, 24 clocks a click, 8 32nds a quarter
00 FF 59 02 03 00          # three sharps, major
00 FF 51 03 07 A1 20       # 500000 microseconds a quarter: 120 a minute
9E 00 FF 2F 00             # after 3840 ticks, one bar: end of track
"""

BASS = """
4D 54 72 6B  00 00 00 42   # "MTrk", 66 bytes follow
00 FF 03 04 42 61 73 73    # track name "Bass"
00 FF 04 0B 66 69 6E 67 65 72 20 62 61 73 73   # instrument name "finger bass"
00 B0 00 00                # channel 1: bank select, 0
00 20 00                   # running status: bank select, fine, 0
00 C0 21                   # program 33, finger bass
00 B0 07 70                # volume 112
00 0A 40                   # pan, middle
00 5B 08                   # reverb send 8
00 90 21 5A                # A1 on, velocity 90
87 40 80 21 40             # after 960 ticks: A1 off
00 90 21 54                # at the same tick, behind the off: A1 on, velocity 84
87 40 80 21 40             # after 960 ticks: A1 off
8F 00 FF 2F 00             # after 1920 ticks the bar is full: end of track
"""


def from_hex(*dumps: str) -> bytes:
    lines = [line.partition("#")[0] for dump in dumps for line in dump.splitlines()]
    return bytes.fromhex(" ".join(lines))


def test_a_score_becomes_exactly_these_bytes() -> None:
    played = score(note(0, 960, 33), note(960, 960, 33, 84))
    assert from_hex(HEADER, CONDUCTOR, BASS) == to_midi_bytes(played)


def test_exactly_these_bytes_become_a_score() -> None:
    played = score(note(0, 960, 33), note(960, 960, 33, 84))
    assert played == read_midi(from_hex(HEADER, CONDUCTOR, BASS))


def test_twelve_eight_has_640_ticks_a_quarter_and_a_quarter_s_tempo() -> None:
    data = to_midi_bytes(score(tempo=60.0, compound=True))
    assert from_hex("4D 54 68 64 00 00 00 06 00 01 00 02  02 80") == data[:14]
    # 12/8: twelve, 2 to the 3rd, a click every 36 clocks (a dotted quarter), 8 32nds a quarter
    assert from_hex("00 FF 58 04 0C 03 24 08") in data
    # 60 dotted quarters a minute are 90 quarters: 666667 microseconds each
    assert from_hex("00 FF 51 03 0A 2C 2B") in data


@pytest.mark.parametrize(
    ("key", "dump"),
    [
        ("F", "FF 59 02 FF 00"),
        ("Eb", "FF 59 02 FD 00"),
        ("Gb", "FF 59 02 FA 00"),
        ("F#", "FF 59 02 06 00"),
        ("Cm", "FF 59 02 FD 01"),
        ("F#m", "FF 59 02 03 01"),
        ("Abm", "FF 59 02 F9 01"),
    ],
)
def test_the_key_signature_counts_sharps_up_and_flats_down(key: str, dump: str) -> None:
    assert from_hex(dump) in to_midi_bytes(score(key=parse_key(key)))


def test_a_key_of_eight_flats_is_signed_as_its_equal_and_named_in_a_text() -> None:
    data = to_midi_bytes(score(key=parse_key("Db minor")))
    assert from_hex("FF 59 02 04 01") in data  # four sharps, minor: C# minor
    assert b"\xff\x01\x0dkey: Db minor" in data


@pytest.mark.parametrize("minor", [False, True])
@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_every_key_comes_back_as_it_was_spelled(tonic: Note, minor: bool) -> None:
    played = score(key=Key(tonic, minor))
    assert played == read_midi(to_midi_bytes(played))


@pytest.mark.parametrize("compound", [False, True])
def test_every_tempo_of_one_decimal_comes_back_exactly(compound: bool) -> None:
    for tenths in range(300, 3201, 7):
        played = score(tempo=tenths / 10, compound=compound)
        assert played == read_midi(to_midi_bytes(played))


def test_any_other_tempo_comes_back_within_half_a_microsecond_a_quarter() -> None:
    tempo = 137.123456789
    back = read_midi(to_midi_bytes(score(tempo=tempo))).tempo
    assert abs(60e6 / back - 60e6 / tempo) <= 0.5


@pytest.mark.parametrize(
    ("part", "instrument", "channel"),
    [
        (Part.BASS, FINGER_BASS, 0),
        (Part.KEYS, ELECTRIC_PIANO, 1),
        (Part.KEYS, ORGAN, 1),
        (Part.DRUMS, KIT, 9),
        (Part.BASS, Instrument("fretless", 35, 3, 99, 1, 127), 5),
    ],
)
def test_every_sound_and_channel_comes_back(
    part: Part, instrument: Instrument, channel: int
) -> None:
    track = Track(part, instrument, channel, (note(0, 100, 40, 1), note(0, 9, 44, 127)))
    played = score(tracks=(track,))
    assert played == read_midi(to_midi_bytes(played))


def test_a_known_sound_is_found_by_its_numbers_when_the_file_names_none() -> None:
    named = to_midi_bytes(score(note(0, 960, 33)))
    name = from_hex("00 FF 04 0B") + b"finger bass"
    length = named.rindex(b"MTrk") + 7
    unnamed = bytearray(named.replace(name, b""))
    unnamed[length] -= len(name)
    assert FINGER_BASS == read_midi(bytes(unnamed)).tracks[0].instrument


def test_names_outside_ascii_are_written_in_ascii() -> None:
    sound = replace(FINGER_BASS, name="Böse")
    track = Track(Part.BASS, sound, 0, ())
    data = to_midi_bytes(score(tracks=(track,)))
    assert b"\xff\x04\x04B?se" in data


def test_notes_that_ring_on_make_their_own_track_longer_by_whole_bars() -> None:
    played = score(note(0, TICKS_PER_BAR + 1, 33))
    data = to_midi_bytes(played)
    assert from_hex("9E 01 80 21 40  9D 7F FF 2F 00") == data[-10:]  # 3841, then 3839 more
    assert from_hex("9E 00 FF 2F 00") in data  # the first track keeps the score's length
    assert played == read_midi(data)


def test_the_same_score_gives_the_same_bytes() -> None:
    played = score(note(0, 960, 33), note(960, 960, 33))
    assert to_midi_bytes(played) == to_midi_bytes(played)


def test_two_sounding_notes_of_one_pitch_are_refused() -> None:
    with pytest.raises(MusicInputError, match="note 33 on channel 0 starts again at tick 959"):
        to_midi_bytes(score(note(0, 960, 33), note(959, 960, 33)))


@pytest.mark.parametrize(("instrument", "channel"), [(KIT, 0), (FINGER_BASS, 9)])
def test_kits_and_the_percussion_channel_belong_together(
    instrument: Instrument, channel: int
) -> None:
    with pytest.raises(MusicInputError, match="go on channel 9"):
        to_midi_bytes(score(tracks=(Track(Part.DRUMS, instrument, channel, ()),)))


# --- files --------------------------------------------------------------------------------------


def test_a_file_is_written_whole_and_read_back(tmp_path: Path) -> None:
    played = score(note(0, 960, 33))
    path = tmp_path / "chorus in Bb ♭.mid"
    write_midi(played, path)
    assert to_midi_bytes(played) == path.read_bytes()
    assert played == read_midi(path)
    assert [path] == list(tmp_path.iterdir())


def test_writing_over_a_file_replaces_it(tmp_path: Path) -> None:
    path = tmp_path / "take.mid"
    path.write_bytes(b"old")
    write_midi(score(), path)
    assert score() == read_midi(path)


def test_a_write_that_fails_leaves_the_old_file_and_no_litter(tmp_path: Path) -> None:
    target = tmp_path / "take.mid"
    target.mkdir()  # a folder stands where the file should go
    with pytest.raises(OSError, match="take"):
        write_midi(score(), target)
    assert [target] == list(tmp_path.iterdir())


def test_a_score_that_cannot_be_written_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "take.mid"
    path.write_bytes(b"old")
    with pytest.raises(MusicInputError, match="starts again"):
        write_midi(score(note(0, 960, 33), note(1, 960, 33)), path)
    assert b"old" == path.read_bytes()
    assert [path] == list(tmp_path.iterdir())


def test_a_missing_file_is_an_os_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read_midi(tmp_path / "none.mid")


@pytest.mark.parametrize("mode", [0o644])
def test_a_written_file_has_the_rights_of_any_other(tmp_path: Path, mode: int) -> None:
    before = os.umask(0o022)
    try:
        write_midi(score(), tmp_path / "take.mid")
    finally:
        os.umask(before)
    assert mode == (tmp_path / "take.mid").stat().st_mode & 0o777


# --- what is no such file -----------------------------------------------------------------------

WHOLE = to_midi_bytes(score(note(0, 960, 33)))


def changed(old: str, new: str) -> bytes:
    assert from_hex(old) in WHOLE
    return WHOLE.replace(from_hex(old), from_hex(new), 1)


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "ends too early"),
        (b"RIFF\x00\x00\x00\x00WAVEfmt ", "no Standard MIDI File"),
        (WHOLE[:40], "ends too early"),
        (WHOLE[:-3], "ends too early"),
        (changed("00 01 00 02 03 C0", "00 00 00 02 03 C0"), "format 0"),
        (changed("00 01 00 02 03 C0", "00 01 00 02 01 E0"), "480 ticks a quarter"),
        (changed("00 01 00 02 03 C0", "00 01 00 00 03 C0"), "format 1 with 960"),
        (changed("FF 51 03 07 A1 20", "FF 51 03 00 00 00"), "0 microseconds"),
        (changed("FF 51 03 07 A1 20", "FF 51 03 00 00 01"), "tempo"),
        (changed("FF 51 03 07 A1 20", "FF 01 03 41 41 41"), "no set tempo"),
        (changed("FF 59 02 03 00", "FF 59 02 09 00"), "damaged"),
        (changed("9E 00 FF 2F 00", "9E 01 FF 2F 00"), "3841 ticks"),
        (changed("42 61 73 73", "42 61 73 6B"), "a track 'Bask'"),
        (changed("42 61 73 73", "42 1B 5B 6B"), r"'B\\x1b\[k'"),
        (changed("00 B0 07 70", "00 B0 08 70"), "controller 7"),
        (changed("80 21 40", "80 22 40"), "note 34"),
        (changed("87 40 80 21 40", "80 00 80 21 40"), "start and end once"),
        (changed("80 21 40", "90 21 40"), "start and end once"),
        (changed("80 21 40", "B0 21 40"), "never ends"),
    ],
    ids=lambda value: value if isinstance(value, str) else "bytes",
)
def test_anything_else_is_refused_with_one_clear_line(data: bytes, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem) as caught:
        read_midi(data)
    assert str(caught.value).startswith("these bytes cannot be read as a score: ")
    assert "\n" not in str(caught.value)


def test_the_message_names_the_file(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("1 b3 4 #4")
    with pytest.raises(MusicInputError, match=r"'notes\.txt' cannot be read as a score"):
        read_midi(path)


def test_a_note_on_of_velocity_zero_ends_a_note() -> None:
    """Standard MIDI File 1.0: note-on with velocity 0 is the same as note-off."""
    data = changed("80 21 40", "90 21 00")
    assert (note(0, 960, 33),) == read_midi(data).tracks[0].notes


def test_importing_the_module_does_not_load_the_midi_library() -> None:
    code = "import sys, engine.midi; sys.exit('mido' in sys.modules)"
    assert 0 == subprocess.run([sys.executable, "-c", code], check=False).returncode
