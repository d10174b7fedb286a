"""The SoundFont file format, as far as the band needs it: values in, bytes out.

After the SoundFont Technical Specification, version 2.04 (E-mu Systems, 2006); section numbers
below are of that document. A RIFF file of three lists: INFO (what it is), sdta (all samples end
to end) and pdta (nine tables that point into one another by index, each with one terminal
record so that the last entry's end is known).
"""

import struct
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from math import log2

import numpy as np
from numpy.typing import NDArray

GAP = 46
"""Zero frames that must follow every sample (section 6.1)."""

MONO = 1
NO_LINK = 0

Range = tuple[int, int]
"""Lowest and highest key or velocity, 0 to 127."""


class Generator(IntEnum):
    """What a zone can set (section 8.1.2)."""

    FILTER_CUTOFF = 8
    LFO_TO_VOLUME = 13
    PAN = 17
    LFO_DELAY = 21
    LFO_FREQUENCY = 22
    VIBRATO_TO_PITCH = 6
    VIBRATO_DELAY = 23
    VIBRATO_FREQUENCY = 24
    ATTACK = 34
    HOLD = 35
    DECAY = 36
    SUSTAIN = 37
    RELEASE = 38
    INSTRUMENT = 41
    KEY_RANGE = 43
    VELOCITY_RANGE = 44
    ATTENUATION = 48
    SAMPLE_ID = 53
    SAMPLE_MODES = 54
    EXCLUSIVE_CLASS = 57
    ROOT_KEY = 58


LOOPED = 1
"""Value of SAMPLE_MODES: repeat the loop for as long as the note lasts."""


@dataclass(frozen=True, slots=True)
class Modulator:
    """A controller that moves a generator (section 8.2); replaces a default of like sources."""

    source: int
    target: Generator
    amount: int


VELOCITY_TO_LEVEL = 0x0502
"""Velocity, falling, concave: the source of the default that quietens soft notes (8.4.1)."""

VELOCITY_TO_CUTOFF = 0x0102
"""Velocity, falling, linear: the source of the default that darkens soft notes (8.4.2)."""


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """A recording, here a synthesised one."""

    name: str
    """ASCII, up to 19 characters, unique in the file."""

    frames: NDArray[np.int16]
    rate: int
    """Frames a second."""

    root: int
    """MIDI key at which it sounds as recorded."""

    correction: int
    """Cents to add to the recorded pitch to reach `root` exactly, -99 to 99."""

    loop: Range
    """First frame of the loop and the frame after its last."""


@dataclass(frozen=True, slots=True)
class Zone:
    """Where on the keyboard, and how hard played, a sample sounds."""

    sample: Sample
    keys: Range
    velocities: Range = (0, 127)
    generators: Mapping[Generator, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Instrument:
    """Zones and what they share."""

    name: str
    zones: Sequence[Zone]
    generators: Mapping[Generator, int] = field(default_factory=dict)
    modulators: Sequence[Modulator] = ()


@dataclass(frozen=True, slots=True)
class Preset:
    """An instrument at a place where MIDI finds it."""

    bank: int
    program: int
    instrument: Instrument


def timecents(seconds: float) -> int:
    """Seconds in the format's unit, 1200 log2 (section 8.1.3)."""
    return round(1200 * log2(seconds))


def cents_over_key_0(hertz: float) -> int:
    """A frequency in the format's unit, cents over 8.176 Hz, which is MIDI key 0."""
    return round(1200 * log2(hertz / 8.176))


def soundfont(name: str, comment: str, presets: Iterable[Preset]) -> bytes:
    """The whole file."""
    ordered = sorted(presets, key=lambda preset: (preset.bank, preset.program))  # 7.2
    instruments = [preset.instrument for preset in ordered]
    samples = list(
        dict.fromkeys(zone.sample for instrument in instruments for zone in instrument.zones)
    )
    body = _list(b"INFO", _info(name, comment))
    body += _list(b"sdta", _chunk(b"smpl", _sample_data(samples)))
    tables = _presets(ordered) + _instruments(instruments, samples) + _headers(samples)
    body += _list(b"pdta", tables)
    return _chunk(b"RIFF", b"sfbk" + body)


def _chunk(name: bytes, content: bytes) -> bytes:
    return name + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)


def _list(name: bytes, content: bytes) -> bytes:
    return _chunk(b"LIST", name + content)


def _text(text: str) -> bytes:
    """ASCII, ended by one zero or by two so that its size is even (section 5)."""
    encoded = text.encode("ascii")
    return encoded + b"\0" * (2 - len(encoded) % 2)


def _info(name: str, comment: str) -> bytes:
    return (
        _chunk(b"ifil", struct.pack("<HH", 2, 4))
        + _chunk(b"isng", _text("EMU8000"))
        + _chunk(b"INAM", _text(name))
        + _chunk(b"ICMT", _text(comment))
    )


def _sample_data(samples: Sequence[Sample]) -> bytes:
    gap = bytes(2 * GAP)
    return b"".join(sample.frames.astype("<i2").tobytes() + gap for sample in samples)


def _record_name(name: str) -> bytes:
    encoded = name.encode("ascii")
    if len(encoded) > 19:
        raise ValueError(f"name '{name}' has {len(encoded)} characters: 19 fit")
    return encoded


class _Bags:
    """One level of zones: the bag, modulator and generator tables filled side by side."""

    def __init__(self) -> None:
        self.count = 0
        self._bags = b""
        self._modulators = b""
        self._generators = b""

    def add(
        self, generators: Sequence[tuple[Generator, bytes]], modulators: Sequence[Modulator] = ()
    ) -> None:
        """A zone: its generators in the order in which they must stand."""
        self._bags += self._position()
        self.count += 1
        for generator, amount in generators:
            self._generators += struct.pack("<H", generator) + amount
        for one in modulators:
            self._modulators += struct.pack("<HHhHH", one.source, one.target, one.amount, 0, 0)

    def _position(self) -> bytes:
        return struct.pack("<HH", len(self._generators) // 4, len(self._modulators) // 10)

    def chunks(self, letter: bytes) -> bytes:
        """The three tables with their terminal records; `letter` is p or i."""
        return (
            _chunk(letter + b"bag", self._bags + self._position())
            + _chunk(letter + b"mod", self._modulators + bytes(10))
            + _chunk(letter + b"gen", self._generators + bytes(4))
        )


def _index(value: int) -> bytes:
    return struct.pack("<H", value)


def _presets(presets: Sequence[Preset]) -> bytes:
    bags, headers = _Bags(), b""
    for number, preset in enumerate(presets):
        name = _record_name(preset.instrument.name)
        headers += struct.pack("<20sHHHIII", name, preset.program, preset.bank, bags.count, 0, 0, 0)
        bags.add([(Generator.INSTRUMENT, _index(number))])
    headers += struct.pack("<20sHHHIII", b"EOP", 0, 0, bags.count, 0, 0, 0)
    return _chunk(b"phdr", headers) + bags.chunks(b"p")


def _instruments(instruments: Sequence[Instrument], samples: Sequence[Sample]) -> bytes:
    bags, headers = _Bags(), b""
    numbers = {sample: number for number, sample in enumerate(samples)}
    for instrument in instruments:
        headers += struct.pack("<20sH", _record_name(instrument.name), bags.count)
        bags.add(_settings(instrument.generators), instrument.modulators)
        for zone in instrument.zones:
            bags.add(_zone(zone, numbers[zone.sample]))
    headers += struct.pack("<20sH", b"EOI", bags.count)
    return _chunk(b"inst", headers) + bags.chunks(b"i")


def _settings(generators: Mapping[Generator, int]) -> list[tuple[Generator, bytes]]:
    return [(one, struct.pack("<h", amount)) for one, amount in sorted(generators.items())]


def _zone(zone: Zone, number: int) -> list[tuple[Generator, bytes]]:
    """Key range first, velocity range second, sample last (sections 8.1.2 and 7.9)."""
    return [
        (Generator.KEY_RANGE, struct.pack("<BB", *zone.keys)),
        (Generator.VELOCITY_RANGE, struct.pack("<BB", *zone.velocities)),
        *_settings(zone.generators),
        (Generator.SAMPLE_ID, _index(number)),
    ]


def _headers(samples: Sequence[Sample]) -> bytes:
    headers, start = b"", 0
    for sample in samples:
        headers += struct.pack(
            "<20sIIIIIBbHH",
            _record_name(sample.name),
            start,
            start + len(sample.frames),
            start + sample.loop[0],
            start + sample.loop[1],
            sample.rate,
            sample.root,
            sample.correction,
            NO_LINK,
            MONO,
        )
        start += len(sample.frames) + GAP
    return _chunk(b"shdr", headers + struct.pack("<20sIIIIIBbHH", b"EOS", *(0,) * 9))
