"""A plan and a line become a score for the whole band, or for a part of it."""

from itertools import pairwise

import pytest

from engine.arrangement import BASS_CHANNEL, arrange
from engine.catalogue import Device, builtin_catalogue
from engine.feels import Feel
from engine.forms import find_form
from engine.line import LineNote, write_line
from engine.plan import Plan, excerpt, plan_choruses
from engine.score import (
    ELECTRIC_PIANO,
    FINGER_BASS,
    KIT,
    ORGAN,
    PERCUSSION_CHANNEL,
    NoteEvent,
    Part,
    Score,
)
from engine.textures import Texture
from engine.theory import Key, Note
from engine.timing import TICKS_PER_BAR

FLAT = -1
SEED = 11


def device(name: str) -> Device:
    return builtin_catalogue().find(name)


def plan(feel: Feel = Feel.SHUFFLE, tempo: float = 116, choruses: int = 1) -> Plan:
    return plan_choruses(
        find_form("twelve-bar"),
        Key(Note("E", FLAT)),
        feel,
        tempo,
        device("walking"),
        [
            (choruses - 1, 4, device("walk-up-one-four")),
            (choruses - 1, 11, device("climb-half-above")),
        ],
        choruses,
    )


def line_of(music: Plan) -> tuple[LineNote, ...]:
    return write_line(music, SEED)


def score(music: Plan, texture: Texture = Texture.BAND, seed: int = SEED) -> Score:
    return arrange(music, line_of(music), texture, seed)


def notes(music: Score, part: Part) -> tuple[NoteEvent, ...]:
    track = music.track(part)
    assert track is not None
    return track.notes


PARTS_THAT_STOP = {
    Texture.BASS: (Part.KEYS, Part.DRUMS),
    Texture.DRUMS: (Part.KEYS,),
    Texture.BAND: (),
}
"""Who plays nothing after the count-in, by texture."""


@pytest.mark.parametrize("texture", Texture)
def test_a_score_has_the_tempo_key_meter_and_length_of_its_plan(texture: Texture) -> None:
    for feel, tempo in ((Feel.SWING, 140.0), (Feel.SLOW, 60.0)):
        music = plan(feel, tempo)
        written = score(music, texture)
        assert (tempo, music.key) == (written.tempo, written.key)
        assert (feel is Feel.SLOW) is written.compound
        assert music.length == written.length
        assert 0 == written.length % TICKS_PER_BAR


@pytest.mark.parametrize("texture", Texture)
def test_every_chair_has_a_track_with_its_own_sound_and_channel(texture: Texture) -> None:
    tracks = score(plan(), texture).tracks
    assert [Part.BASS, Part.KEYS, Part.DRUMS] == [track.part for track in tracks]
    assert [FINGER_BASS, ELECTRIC_PIANO, KIT] == [track.instrument for track in tracks]
    assert len(tracks) == len({track.channel for track in tracks})
    assert BASS_CHANNEL == tracks[0].channel
    assert PERCUSSION_CHANNEL == tracks[2].channel


@pytest.mark.parametrize("texture", Texture)
def test_the_bass_plays_the_line_that_was_written_and_nothing_else(texture: Texture) -> None:
    music = plan()
    assert tuple(note.event for note in line_of(music)) == notes(score(music, texture), Part.BASS)


@pytest.mark.parametrize("texture", Texture)
def test_the_key_is_given_and_the_bar_counted_in_every_texture(texture: Texture) -> None:
    music = score(plan(), texture)
    before = [
        [note for note in notes(music, part) if note.end <= TICKS_PER_BAR]
        for part in (Part.KEYS, Part.DRUMS, Part.BASS)
    ]
    keys, drums, bass = before
    root, third, fifth, seventh = 3, 7, 10, 1  # E flat, G, B flat and D flat
    assert {root, third, fifth} <= {note.midi % 12 for note in keys}
    assert {note.midi % 12 for note in keys} <= {root, third, fifth, seventh}
    assert len({note.start for note in drums}) >= 4
    assert [] == bass


@pytest.mark.parametrize("texture", Texture)
def test_who_is_not_in_the_texture_is_silent_after_the_count_in(texture: Texture) -> None:
    music = score(plan(), texture)
    silent = tuple(
        part
        for part in (Part.KEYS, Part.DRUMS)
        if all(note.end <= TICKS_PER_BAR for note in notes(music, part))
    )
    assert PARTS_THAT_STOP[texture] == silent


def test_a_player_who_stays_plays_the_same_whoever_else_is_there() -> None:
    band, drums, bass = (
        score(plan(), texture) for texture in (Texture.BAND, Texture.DRUMS, Texture.BASS)
    )
    assert notes(band, Part.DRUMS) == notes(drums, Part.DRUMS)
    counted_in = tuple(note for note in notes(band, Part.KEYS) if note.end <= TICKS_PER_BAR)
    assert counted_in == notes(drums, Part.KEYS) == notes(bass, Part.KEYS)


@pytest.mark.parametrize("feel", Feel)
def test_no_two_notes_of_one_pitch_overlap_in_a_part_and_none_outlasts_the_score(
    feel: Feel,
) -> None:
    music = score(plan(feel, tempo=75))
    for track in music.tracks:
        for midi in {note.midi for note in track.notes}:
            same = sorted(
                (note for note in track.notes if note.midi == midi), key=lambda note: note.start
            )
            assert all(one.end <= other.start for one, other in pairwise(same))
        assert all(0 <= note.start < note.end <= music.length for note in track.notes)
        assert list(track.notes) == sorted(track.notes, key=lambda note: (note.start, note.midi))


def test_the_keys_can_be_an_organ() -> None:
    music = plan()
    organ = arrange(music, line_of(music), Texture.BAND, SEED, comping=ORGAN).track(Part.KEYS)
    assert organ is not None
    assert ORGAN == organ.instrument


def test_the_same_seed_gives_the_same_score_and_another_seed_another() -> None:
    assert score(plan()) == score(plan())
    one, other = score(plan()), score(plan(), seed=SEED + 1)
    assert notes(one, Part.KEYS) != notes(other, Part.KEYS)
    assert notes(one, Part.DRUMS) != notes(other, Part.DRUMS)


def test_an_excerpt_is_counted_in_like_a_whole_chorus() -> None:
    music = excerpt(plan(), 8, 11)
    written = score(music)
    assert (1 + 4 + 1) * TICKS_PER_BAR == written.length
    assert TICKS_PER_BAR == min(note.start for note in notes(written, Part.BASS))
    assert notes(score(plan()), Part.DRUMS)[:4] == notes(written, Part.DRUMS)[:4]
