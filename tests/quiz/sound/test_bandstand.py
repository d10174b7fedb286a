"""The bandstand: ahead of play, no further than it should be, and gone when it is told."""

import threading
from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from engine.catalogue import builtin_catalogue
from engine.errors import MusicInputError, SynthesisError
from engine.feels import Feel
from engine.forms import find_form
from engine.jam import JamSettings, Leg, first_leg, leg_score, next_leg
from engine.jam_places import JamPlace
from engine.sound import Mix
from engine.stream import stream
from engine.textures import Texture
from engine.theory import PLAYED_KEYS
from engine.timing import FRAME_RATE, Tick, seconds_at
from quiz.errors import QuestionError
from quiz.sound.bandstand import KEPT, Bandstand
from quiz.sound.feed import FRAME_BYTES, Feed
from quiz.sound.player import ClockPlayer
from sounds import soundfont_path
from tests.quiz.jamming import on_stage

FONT = soundfont_path()
PATIENCE = 60.0
"""Seconds after which a test that waits for a thread has failed."""

WHOLE = 1000.0
"""Seconds ahead, more than any of these jams lasts."""

BAND = JamSettings(
    find_form("eight-bar"),
    Feel.STRAIGHT,
    240.0,
    builtin_catalogue().find("two-beat"),
    Texture.DRUMS,
)


def jam(legs: int | None = None) -> Iterator[Leg]:
    """Round the keys, sixteen seconds a leg; without an end unless there is a number of legs."""
    count = 0
    leg: Leg | None = None
    while legs is None or count < legs:
        count += 1
        after = None if count == legs else PLAYED_KEYS[5 * count % 12]
        if leg is None:
            leg = first_leg(BAND, 4, PLAYED_KEYS[0], 2, following=after)
        else:
            leg = next_leg(leg, 2, following=after)
        yield leg


def played(legs: Iterable[Leg], font: Path = FONT) -> Bandstand:
    """A bandstand that has played to the end of its legs, with all of it still in the feed."""
    stand = Bandstand(legs, font, Mix(reverb=False), ahead=WHOLE)
    stand.begin()
    for thread in on_stage():
        thread.join(PATIENCE)
    assert [] == on_stage()
    return stand


def taken(feed: Feed) -> "np.ndarray[tuple[int, ...], np.dtype[np.int16]]":
    """All that waits in a feed."""
    buffer = bytearray(round(feed.waiting * FRAME_RATE) * FRAME_BYTES)
    feed.fill(memoryview(buffer), 0.0)
    return np.frombuffer(buffer, np.int16).reshape(-1, 2)


# --- what is played -------------------------------------------------------------------------------


def test_a_jam_comes_out_of_the_feed_whole() -> None:
    stand = played(jam(2))
    whole = np.concatenate(list(stream(map(leg_score, jam(2)), FONT, Mix(reverb=False))))
    assert np.array_equal(whole, taken(stand.feed))
    assert stand.problem is None
    assert stand.feed.position(1e9) is None


def test_the_mix_is_the_one_that_was_asked_for() -> None:
    wet = Bandstand(jam(1), FONT, Mix(reverb=True), ahead=WHOLE)
    wet.begin()
    for thread in on_stage():
        thread.join(PATIENCE)
    assert not np.array_equal(taken(wet.feed), taken(played(jam(1)).feed))


def test_a_player_plays_what_the_bandstand_makes() -> None:
    now = [0.0]
    player, stand = ClockPlayer(None, lambda: now[0]), played(jam(1))
    player.play_feed(stand.feed)
    positions = []
    while (position := player.position()) is not None:
        positions.append(position)
        now[0] += 0.25
    assert all(pytest.approx(0.25) == after - before for before, after in pairwise(positions))
    assert 18.0 <= positions[-1]  # a bar of counting, sixteen bars, the last one, the tail
    assert 0 == stand.feed.starved


# --- ahead, but not far ---------------------------------------------------------------------------


def test_a_leg_is_asked_for_only_when_it_is_needed_and_by_the_bandstand() -> None:
    asked: list[str] = []
    second = threading.Event()

    def legs() -> Iterator[Leg]:
        for leg in jam():
            asked.append(threading.current_thread().name)
            if len(asked) == 2:
                second.set()
            yield leg

    stand = Bandstand(legs(), FONT, ahead=4.0)
    assert [] == asked
    stand.begin()
    heard = 0.0
    while on_stage() and not second.is_set():
        heard += len(taken(stand.feed)) / FRAME_RATE
    stand.close()
    assert ["bandstand"] * 2 == asked
    end = seconds_at(stand.legs[0].end, BAND.tempo)
    assert end - 4.5 <= heard <= end + 4.5  # half a second more for the piece that is being made


def test_no_more_waits_than_was_asked_for() -> None:
    stand = Bandstand(jam(), FONT, ahead=2.0)
    stand.begin()
    most = 0.0
    for _ in range(200):
        most = max(most, stand.feed.waiting)
        stand.feed.skip(FRAME_RATE // 2 if stand.feed.waiting >= 2.0 else 0, 0.0)
    stand.close()
    assert most < 2.0 + 0.5


def test_the_latest_legs_are_remembered_and_no_others() -> None:
    stand = played(jam(KEPT + 3))
    assert list(range(3, KEPT + 3)) == [leg.index for leg in stand.legs]


@pytest.mark.parametrize(
    ("beats", "place"),
    [
        (3.5, None),
        (4.5, JamPlace(0, 0, 1, 0)),
        (4 + 32 + 1.5, JamPlace(0, 1, 1, 1)),
        (4 + 64 + 4.5, JamPlace(0, 2, 2, 0, leads_over=True)),
        (4 + 72 + 0.5, JamPlace(1, 0, 1, 0)),
        (4 + 72 + 64 + 0.5, None),
    ],
)
def test_the_bandstand_knows_where_the_jam_is(beats: float, place: JamPlace | None) -> None:
    stand = played(jam(2))
    assert place == stand.place(seconds_at(Tick(round(960 * beats)), BAND.tempo))


def test_before_anything_is_planned_the_jam_is_nowhere() -> None:
    assert Bandstand(jam(), FONT).place(10.0) is None


# --- stopping -------------------------------------------------------------------------------------


def test_closing_ends_the_thread_of_an_endless_jam() -> None:
    stand = Bandstand(jam(), FONT)
    stand.begin()
    stand.close()
    assert [] == on_stage()
    assert stand.feed.closed
    assert stand.problem is None


def test_stopping_the_player_sends_the_band_home() -> None:
    stand, player = Bandstand(jam(), FONT, ahead=1.0), ClockPlayer(None)
    player.play_feed(stand.feed)
    stand.begin()
    player.stop()
    for thread in on_stage():
        thread.join(PATIENCE)
    assert [] == on_stage()


def test_stopping_does_not_wait() -> None:
    release = threading.Event()

    def legs() -> Iterator[Leg]:
        release.wait(PATIENCE)
        yield from jam()

    stand = Bandstand(legs(), FONT)
    stand.begin()
    stand.stop()
    assert 1 == len(on_stage())  # still thinking about the first leg
    release.set()
    stand.close()
    assert [] == on_stage()


def test_a_bandstand_that_never_began_can_be_closed() -> None:
    stand = Bandstand(jam(), FONT)
    stand.close()
    assert stand.feed.closed


def test_many_jams_one_after_the_other_leave_no_thread_behind() -> None:
    for _ in range(10):
        stand = Bandstand(jam(), FONT, ahead=0.5)
        stand.begin()
        stand.close()
    assert [] == on_stage()


# --- what goes wrong ------------------------------------------------------------------------------


@pytest.mark.parametrize("error", [MusicInputError("too wide"), QuestionError("nothing to ask")])
def test_what_goes_wrong_with_a_leg_is_kept_and_the_jam_ends(error: Exception) -> None:
    def legs() -> Iterator[Leg]:
        yield next(jam())
        raise error

    stand = played(legs())
    assert error is stand.problem
    assert stand.feed.waiting > 10.0  # what was rendered before is still heard
    taken(stand.feed)
    assert stand.feed.position(1e9) is None


def test_a_soundfont_that_is_none_is_told(tmp_path: Path) -> None:
    stand = played(jam(), tmp_path / "none.sf2")
    assert isinstance(stand.problem, SynthesisError)
    assert stand.feed.position(0.0) is None
