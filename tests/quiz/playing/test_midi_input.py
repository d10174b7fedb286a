"""A MIDI instrument at a real port: mido's own network ports, where the system has no others."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import mido
import pytest

from quiz.errors import InstrumentError
from quiz.playing.midi_input import MidiInput
from quiz.playing.ports import checked_port
from quiz.playing.strokes import Stroke
from tests.quiz.far_instrument import Instrument, free_port

PATIENCE = 10.0
"""Seconds after which something that should come is taken to be lost."""


@contextmanager
def connected() -> Iterator[tuple[Instrument, MidiInput, int]]:
    port = free_port()
    instrument = Instrument(port)
    listener = MidiInput(f"network:127.0.0.1:{port}")
    try:
        instrument.plug_in()
        yield instrument, listener, port
    finally:
        listener.close()
        instrument.unplug()


def wait_for(listener: MidiInput, count: int) -> list[Stroke]:
    found: list[Stroke] = []
    until = time.monotonic() + PATIENCE
    while len(found) < count and time.monotonic() < until:
        found += listener.taken()
        time.sleep(0.002)
    return found


def test_keys_come_in_order_and_in_time() -> None:
    with connected() as (instrument, listener, _):
        before = time.monotonic()
        instrument.send(
            mido.Message("note_on", note=33, velocity=90),
            mido.Message("note_off", note=33),
            mido.Message("note_on", note=37, velocity=80),
        )
        strokes = wait_for(listener, 3)
        after = time.monotonic()
        assert [(33, 90), (33, 0), (37, 80)] == [(s.midi, s.velocity) for s in strokes]
        assert before <= strokes[0].at <= strokes[1].at <= strokes[2].at <= after


def test_a_note_on_without_velocity_is_a_key_that_came_up() -> None:
    """MIDI 1.0 specification, note-on with velocity 0."""
    with connected() as (instrument, listener, _):
        instrument.send(mido.Message("note_on", note=40, velocity=0))
        assert [(40, 0)] == [(s.midi, s.velocity) for s in wait_for(listener, 1)]


def test_what_is_no_note_is_passed_over() -> None:
    with connected() as (instrument, listener, _):
        instrument.send(
            mido.Message("control_change", control=1, value=3),
            mido.Message("pitchwheel", pitch=100),
            mido.Message("clock"),
        )
        instrument.send_bytes(bytes([0x12, 0xFF, 0x07, 0xF5, 0x90]))
        instrument.send(mido.Message("note_on", note=28, velocity=70))
        assert [28] == [s.midi for s in wait_for(listener, 1)]


def test_an_instrument_that_is_unplugged_is_found_again() -> None:
    port = free_port()
    instrument = Instrument(port)
    listener = MidiInput(f"network:127.0.0.1:{port}")
    try:
        instrument.plug_in()
        instrument.unplug()
        until = time.monotonic() + PATIENCE
        while listener.problem is None and time.monotonic() < until:
            time.sleep(0.01)
        assert listener.problem is not None
        assert "plug it in again" in listener.problem
        instrument = Instrument(port)
        instrument.plug_in()
        instrument.send(mido.Message("note_on", note=45, velocity=64))
        assert [45] == [s.midi for s in wait_for(listener, 1)]
        assert listener.problem is None
    finally:
        listener.close()
        instrument.unplug()


def test_an_end_that_does_not_answer_is_said() -> None:
    with pytest.raises(InstrumentError, match="start the sending side first"):
        MidiInput(f"network:127.0.0.1:{free_port()}")


@pytest.mark.parametrize(
    "name", ["network:", "network:host", "network:host:", "network:host:0", "network:host:x", "²:²"]
)
def test_a_name_that_is_no_network_port_is_refused(name: str) -> None:
    with pytest.raises(InstrumentError, match="network:HOST:PORT"):
        checked_port(name)


def test_without_the_part_for_the_systems_ports_it_is_said_what_brings_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "rtmidi", None)  # as if it were not installed
    monkeypatch.delitem(sys.modules, "mido.backends.rtmidi", raising=False)
    with pytest.raises(InstrumentError, match=r"pip install 'lastbar\[midi\]'"):
        MidiInput("")
