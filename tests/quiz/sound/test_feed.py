"""Feeds, and players that play them: what is heard, what waits, and where the music is."""

import threading
from collections.abc import Callable
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from engine.clip import Clip
from engine.timing import FRAME_RATE
from quiz.sound.feed import FRAME_BYTES, Feed, FeedClosed
from quiz.sound.player import ClockPlayer, DevicePlayer, LatePlayer, Player

PATIENCE = 20.0
"""Seconds after which a test that waits for a thread has failed."""

BUFFER = 441
"""Frames that the stand-in for a device asks for at a time: 10 ms."""

LATENCY = 0.1


def piece(frames: int, first: int = 0) -> NDArray[np.int16]:
    """Frames that say their own number, left and right, from 1 on."""
    numbers = (np.arange(first, first + frames) % 30_000 + 1).astype(np.int16)
    return np.stack([numbers, numbers], axis=1)


def numbers(buffer: bytearray) -> list[int]:
    """The left samples of a buffer."""
    return [int(number) for number in np.frombuffer(buffer, np.int16).reshape(-1, 2)[:, 0]]


def filled(feed: Feed, frames: int, heard_at: float = 0.0) -> list[int]:
    buffer = bytearray(frames * FRAME_BYTES)
    feed.fill(memoryview(buffer), heard_at)
    return numbers(buffer)


# --- a feed ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("sizes", [(6,), (1, 2, 3), (2, 4), (1, 1, 1, 1, 1, 1)])
@pytest.mark.parametrize("gulp", [1, 2, 4, 6])
def test_what_is_put_in_comes_out_in_any_portions(sizes: tuple[int, ...], gulp: int) -> None:
    feed, first = Feed(), 0
    for size in sizes:
        feed.put(piece(size, first))
        first += size
    out = [number for _ in range(0, 8, gulp) for number in filled(feed, gulp)]
    assert [1, 2, 3, 4, 5, 6, 0, 0] == out[:8]


def test_what_is_missing_is_silent_and_counted() -> None:
    feed = Feed()
    feed.put(piece(3))
    assert [1, 2, 3, 0, 0] == filled(feed, 5)
    assert [0] * 5 == filled(feed, 5)
    feed.put(piece(2, 3))
    assert [4, 5, 0, 0, 0] == filled(feed, 5)
    assert 2 + 5 + 3 == feed.starved


def test_silence_before_the_first_piece_and_behind_the_last_is_no_starving() -> None:
    feed = Feed()
    filled(feed, 100)
    feed.put(piece(3))
    feed.end()
    filled(feed, 100)
    filled(feed, 100)
    assert 0 == feed.starved


def test_a_feed_knows_how_much_waits() -> None:
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    assert 1.0 == feed.waiting
    filled(feed, FRAME_RATE // 4)
    assert 0.75 == feed.waiting


def test_skipping_takes_what_filling_would() -> None:
    feed = Feed()
    feed.put(piece(5))
    feed.skip(3, 0.0)
    assert [4, 5, 0] == filled(feed, 3)
    feed.skip(2, 0.0)
    assert 1 + 2 == feed.starved


def test_taking_nothing_at_all_changes_nothing() -> None:
    feed = Feed()
    feed.put(piece(4))
    feed.skip(0, 1.0)
    assert [1, 2, 3, 4, 0, 0] == filled(feed, 6, heard_at=2.0)
    feed.skip(0, 3.0)
    assert 4 / FRAME_RATE == feed.position(3.0)


def test_who_puts_waits_for_room_and_goes_on_when_there_is_some() -> None:
    feed, most = Feed(ahead=0.01), 0.0

    def put_six() -> None:
        for _ in range(6):
            feed.put(piece(441))

    thread = threading.Thread(target=put_six)
    thread.start()
    taken = 0
    while taken < 6 * 441:
        most = max(most, feed.waiting)
        taken += sum(number > 0 for number in filled(feed, 441)) if feed.waiting else 0
    thread.join(PATIENCE)
    assert not thread.is_alive()
    # what may wait, and the piece that was begun while there was room; 1 ms of rounding
    assert most <= 0.01 + 0.01 + 0.001


def test_who_waits_for_room_is_told_at_once_that_nobody_listens() -> None:
    feed, told = Feed(ahead=0.001), threading.Event()

    def put_on() -> None:
        try:
            while True:
                feed.put(piece(441))
        except FeedClosed:
            told.set()

    threading.Thread(target=put_on).start()
    feed.close()
    assert told.wait(PATIENCE)


def test_nothing_comes_out_of_a_closed_feed() -> None:
    feed = Feed()
    feed.put(piece(10))
    filled(feed, 1)
    feed.close()
    assert [0] * 5 == filled(feed, 5)
    assert feed.position(0.0) is None
    with pytest.raises(FeedClosed):
        feed.put(piece(1))


def test_a_feed_may_be_closed_while_it_is_played() -> None:
    for _ in range(50):
        feed = Feed(ahead=60.0)
        for _ in range(200):
            feed.put(piece(20))
        thread = threading.Thread(target=feed.close)
        thread.start()
        for _ in range(400):
            filled(feed, 10)
        thread.join(PATIENCE)
        assert [0] == filled(feed, 1)


# --- where the music is ---------------------------------------------------------------------------


def test_the_position_follows_what_is_heard_not_what_is_handed_over() -> None:
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    assert 0.0 == feed.position(5.0)
    filled(feed, FRAME_RATE // 2, heard_at=10.0)
    assert 0.0 == feed.position(9.9)
    assert pytest.approx(0.25) == feed.position(10.25)
    assert pytest.approx(0.5) == feed.position(11.0)  # no more has been handed over


def test_the_position_waits_while_the_next_piece_is_late() -> None:
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    filled(feed, FRAME_RATE, heard_at=10.0)
    filled(feed, FRAME_RATE, heard_at=11.0)  # a second of silence
    assert pytest.approx(1.0) == feed.position(11.5)
    feed.put(piece(FRAME_RATE))
    filled(feed, FRAME_RATE, heard_at=12.0)
    assert pytest.approx(0.75) == feed.position(10.75)
    assert pytest.approx(1.0) == feed.position(11.9)
    assert pytest.approx(1.5) == feed.position(12.5)


def test_the_position_follows_the_devices_clock_where_clocks_drift_apart() -> None:
    feed = Feed(ahead=1e9)
    at, fast = 0.0, 1.0001  # a device that plays an hour in 0.36 s less
    for second in range(3600):
        feed.put(np.zeros((FRAME_RATE, 2), np.int16))
        feed.skip(FRAME_RATE, at)
        heard = feed.position(at + 0.5)
        assert heard is not None
        assert abs(second + 0.5 - heard) < 0.001
        at += 1 / fast


def test_the_position_is_gone_when_the_last_frame_has_been_heard() -> None:
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    feed.end()
    filled(feed, FRAME_RATE + 10, heard_at=2.0)
    assert pytest.approx(0.999) == feed.position(2.999)
    assert feed.position(3.001) is None


def test_a_feed_that_ends_before_it_began_is_over() -> None:
    feed = Feed()
    feed.end()
    assert feed.position(0.0) is None


# --- players --------------------------------------------------------------------------------------


class Device:
    """Stands in for a sound device: the test turns the clock and asks for audio."""

    def __init__(self, callback: Callable[..., None]) -> None:
        self._callback = callback
        self.time = 100.0
        self.active = True
        self._heard_at = self.time + LATENCY

    def start(self) -> None:
        """As the real one."""

    def abort(self) -> None:
        self.active = False

    def close(self) -> None:
        """As the real one."""

    def play(self, frames: int) -> list[int]:
        """Ask for that many frames, a buffer at a time, the clock running along."""
        heard: list[int] = []
        for _ in range(0, frames, BUFFER):
            buffer = bytearray(BUFFER * FRAME_BYTES)
            times = SimpleNamespace(outputBufferDacTime=self._heard_at)
            self._callback(memoryview(buffer), BUFFER, times, None)
            self._heard_at += BUFFER / FRAME_RATE
            self.time += BUFFER / FRAME_RATE
            heard += numbers(buffer)
        return heard


def opened() -> tuple[DevicePlayer, Device]:
    """A real player on a device that is not."""
    library, devices = ModuleType("stand_in"), []

    def open_stream(**options: Any) -> Device:
        devices.append(Device(options["callback"]))
        return devices[-1]

    library.RawOutputStream = open_stream  # type: ignore[attr-defined]  # a stand-in for a module
    library.PortAudioError = OSError  # type: ignore[attr-defined]  # a stand-in for a module
    return DevicePlayer(library), devices[0]


class Clock:
    """A clock that is turned by hand."""

    def __init__(self) -> None:
        self.now = 50.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture(params=["device", "clock", "late"])
def player(request: pytest.FixtureRequest) -> Player:
    if request.param == "late":
        return LatePlayer("no sound card is called that")  # so the system's clock stands in
    return opened()[0] if request.param == "device" else ClockPlayer(None, Clock())


NOW = pytest.approx(0.0, abs=30.0)
"""A position near the start of a minute, however slow the machine."""


def test_a_feed_plays_from_its_start(player: Player) -> None:
    feed = Feed()
    feed.put(piece(60 * FRAME_RATE))
    player.play_feed(feed)
    assert NOW == player.position()
    assert not feed.closed


def test_stopping_a_player_closes_the_feed(player: Player) -> None:
    feed = Feed()
    feed.put(piece(60 * FRAME_RATE))
    player.play_feed(feed)
    player.stop()
    assert feed.closed
    assert player.position() is None


def test_closing_waits_for_an_output_that_is_being_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def open_slowly(_device: str | None) -> Player:
        begun.set()
        assert go_on.wait(PATIENCE)
        return opened()[0]

    monkeypatch.setattr("quiz.sound.player.open_player", open_slowly)
    player = LatePlayer(None)
    player.begin(lambda: None)
    assert begun.wait(PATIENCE)
    closing = threading.Thread(target=player.close)
    closing.start()
    closing.join(0.05)
    assert closing.is_alive()
    go_on.set()
    closing.join(PATIENCE)
    assert not closing.is_alive()
    assert player.is_open


def test_nothing_is_opened_any_more_once_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    devices: list[str | None] = []
    monkeypatch.setattr("quiz.sound.player.open_player", devices.append)
    player = LatePlayer(None)
    player.close()
    ended = threading.Event()
    player.begin(ended.set)
    assert ended.wait(PATIENCE)
    assert [] == devices


def test_a_clip_in_place_of_a_feed_closes_it(player: Player) -> None:
    feed = Feed()
    player.play_feed(feed)
    player.play(Clip(piece(60 * FRAME_RATE)))
    assert feed.closed
    assert NOW == player.position()


def test_a_feed_in_place_of_a_feed_closes_the_first(player: Player) -> None:
    first, second = Feed(), Feed()
    player.play_feed(first)
    player.play_feed(second)
    assert (True, False) == (first.closed, second.closed)


def test_the_same_feed_given_again_plays_on(player: Player) -> None:
    feed = Feed()
    player.play_feed(feed)
    player.play_feed(feed)
    assert not feed.closed
    assert NOW == player.position()


def test_closing_a_player_closes_the_feed(player: Player) -> None:
    feed = Feed()
    player.play_feed(feed)
    player.close()
    assert feed.closed


def test_a_feed_that_is_over_leaves_the_player_free(player: Player) -> None:
    feed = Feed()
    feed.end()
    player.play_feed(feed)
    assert player.position() is None
    assert feed.closed


def test_a_device_gets_every_frame_of_a_feed_in_order() -> None:
    player, device = opened()
    feed = Feed()
    for first in range(0, 4410, 1000):
        feed.put(piece(1000, first))
    player.play_feed(feed)
    assert list(range(1, 4411)) == device.play(4410)


def test_a_device_plays_silence_when_a_feed_is_stopped() -> None:
    player, device = opened()
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    player.play_feed(feed)
    device.play(BUFFER)
    player.stop()
    assert [0] * BUFFER == device.play(BUFFER)


def test_on_a_device_the_position_is_what_has_left_it() -> None:
    player, device = opened()
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    player.play_feed(feed)
    device.play(FRAME_RATE // 2)
    assert pytest.approx(0.5 - LATENCY) == player.position()


def test_a_late_piece_leaves_the_position_of_a_device_in_the_music() -> None:
    player, device = opened()
    feed = Feed()
    feed.put(piece(FRAME_RATE // 2))
    player.play_feed(feed)
    device.play(FRAME_RATE)
    assert pytest.approx(0.5) == player.position()
    assert FRAME_RATE // 2 == feed.starved
    feed.put(piece(FRAME_RATE))
    device.play(FRAME_RATE // 2)
    assert pytest.approx(0.5 + 0.5 - LATENCY) == player.position()


def test_a_device_that_went_away_ends_the_feed() -> None:
    player, device = opened()
    feed = Feed()
    feed.put(piece(FRAME_RATE))
    player.play_feed(feed)
    device.play(BUFFER)
    device.active = False
    assert player.position() is None
    assert feed.closed
    assert "the sound output went away" in str(player.silent)


def test_a_clock_takes_from_a_feed_as_a_device_would() -> None:
    clock, feed = Clock(), Feed()
    player = ClockPlayer("no sound", clock)
    feed.put(piece(FRAME_RATE))
    player.play_feed(feed)
    for tenth in range(1, 10):
        clock.now = 50.0 + tenth / 10
        assert pytest.approx(tenth / 10, abs=0.001) == player.position()
        assert pytest.approx(1.0 - tenth / 10, abs=0.001) == feed.waiting
    assert 0 == feed.starved


def test_a_clock_waits_for_a_late_piece() -> None:
    clock, feed = Clock(), Feed()
    player = ClockPlayer("no sound", clock)
    feed.put(piece(FRAME_RATE))
    player.play_feed(feed)
    clock.now = 53.0
    assert pytest.approx(1.0, abs=0.001) == player.position()
    assert 2 * FRAME_RATE == feed.starved
    feed.put(piece(FRAME_RATE))
    clock.now = 53.5
    assert pytest.approx(1.5, abs=0.001) == player.position()


def test_a_clock_is_done_when_a_feed_is() -> None:
    clock, feed = Clock(), Feed()
    player = ClockPlayer("no sound", clock)
    feed.put(piece(FRAME_RATE))
    feed.end()
    player.play_feed(feed)
    clock.now = 51.1
    assert player.position() is None
    assert feed.closed


# --- clips, as before -----------------------------------------------------------------------------


def test_a_clip_comes_out_of_a_device_as_it_is_and_then_silence() -> None:
    player, device = opened()
    player.play(Clip(piece(1000)))
    assert [*range(1, 1001), *[0] * (3 * BUFFER - 1000)] == device.play(3 * BUFFER)


def test_the_position_of_a_clip_runs_to_its_end() -> None:
    player, device = opened()
    player.play(Clip(piece(FRAME_RATE)))
    assert 0.0 == player.position()
    device.play(FRAME_RATE // 2)
    assert pytest.approx(0.5 - LATENCY) == player.position()
    device.play(FRAME_RATE)
    assert player.position() is None
