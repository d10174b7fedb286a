"""The SoundFont format, read back with nothing but struct.

Section numbers: SoundFont Technical Specification 2.04, E-mu Systems 2006 (from memory).
"""

import struct
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest

from sounds import soundfont_path
from sounds.sf2 import (
    GAP,
    LOOPED,
    VELOCITY_TO_LEVEL,
    Generator,
    Instrument,
    Modulator,
    Preset,
    Sample,
    Zone,
    cents_over_key_0,
    soundfont,
    timecents,
)

KEY_RANGE, VELOCITY_RANGE, SAMPLE_ID, INSTRUMENT = 43, 44, 53, 41

RECORDS = {
    b"phdr": 38, b"pbag": 4, b"pmod": 10, b"pgen": 4, b"inst": 22,
    b"ibag": 4, b"imod": 10, b"igen": 4, b"shdr": 46,
}  # fmt: skip


def chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    position = 0
    while position < len(data):
        name, size = struct.unpack_from("<4sI", data, position)
        yield name, data[position + 8 : position + 8 + size]
        position += 8 + size + size % 2
    assert position == len(data)


def parsed(data: bytes) -> dict[bytes, bytes]:
    """Every chunk of a SoundFont by its name, lists opened."""
    ((riff, content),) = chunks(data)
    assert riff == b"RIFF"
    assert content[:4] == b"sfbk"
    found: dict[bytes, bytes] = {}
    for name, lists in chunks(content[4:]):
        assert name == b"LIST"
        found.update(chunks(lists[4:]))
    return found


def records(found: dict[bytes, bytes], name: bytes, layout: str) -> list[tuple[int, ...]]:
    return list(struct.iter_unpack("<" + layout, found[name]))


def sample(name: str = "tone") -> Sample:
    frames = (np.sin(np.arange(200) / 5) * 20_000).astype(np.int16)
    return Sample(name, frames, 22_050, 60, -7, (40, 140))


def small() -> bytes:
    one, other = sample("one"), sample("other")
    instrument = Instrument(
        "both",
        [
            Zone(one, (0, 59), (0, 80), {Generator.DECAY: timecents(2.0)}),
            Zone(other, (60, 127), (81, 127)),
        ],
        {Generator.SAMPLE_MODES: LOOPED},
        (Modulator(VELOCITY_TO_LEVEL, Generator.ATTENUATION, 400),),
    )
    drum = Instrument("drum", [Zone(one, (36, 36))])
    return soundfont("odd", "even", [Preset(128, 0, drum), Preset(0, 33, instrument)])


@pytest.fixture(params=["small", "built-in"])
def found(request: pytest.FixtureRequest) -> dict[bytes, bytes]:
    data = small() if request.param == "small" else soundfont_path().read_bytes()
    return parsed(data)


def test_all_nine_tables_are_there_in_whole_records(found: dict[bytes, bytes]) -> None:
    order = [name for name in found if name in RECORDS]
    assert list(RECORDS) == order  # section 7: in this order
    for name, size in RECORDS.items():
        assert len(found[name]) % size == 0
        assert len(found[name]) >= size


def test_texts_are_ended_and_of_even_size(found: dict[bytes, bytes]) -> None:
    for name in (b"isng", b"INAM", b"ICMT"):
        assert found[name].endswith(b"\0")
        assert len(found[name]) % 2 == 0
    assert struct.pack("<HH", 2, 4) == found[b"ifil"]


def test_every_table_ends_with_a_terminal_record(found: dict[bytes, bytes]) -> None:
    assert found[b"phdr"][-38:].startswith(b"EOP\0")
    assert found[b"inst"][-22:].startswith(b"EOI\0")
    assert found[b"shdr"][-46:].startswith(b"EOS\0")
    for letter in (b"p", b"i"):
        bags = records(found, letter + b"bag", "HH")
        assert bags == sorted(bags)
        assert bags[-1] == (
            len(found[letter + b"gen"]) // 4 - 1,
            len(found[letter + b"mod"]) // 10 - 1,
        )
        assert not any(found[letter + b"gen"][-4:])
        assert not any(found[letter + b"mod"][-10:])


def test_presets_are_sorted_by_bank_and_program(found: dict[bytes, bytes]) -> None:
    headers = list(struct.iter_unpack("<20sHHHIII", found[b"phdr"]))[:-1]
    places = [(bank, program) for _, program, bank, *_ in headers]
    assert places == sorted(places)


def test_ranges_come_first_and_the_sample_last(found: dict[bytes, bytes]) -> None:
    generators = [operator for operator, _ in records(found, b"igen", "HH")]
    bags = [start for start, _ in records(found, b"ibag", "HH")]
    for start, end in pairwise(bags):
        zone = generators[start:end]
        if SAMPLE_ID in zone:
            assert [KEY_RANGE, VELOCITY_RANGE] == zone[:2]
            assert [SAMPLE_ID] == zone[-1:]
        assert len(zone) == len(set(zone))
    assert {INSTRUMENT} == {operator for operator, _ in records(found, b"pgen", "HH")[:-1]}


def test_every_sample_is_followed_by_silence_and_has_its_loop_inside(
    found: dict[bytes, bytes],
) -> None:
    frames = np.frombuffer(found[b"smpl"], "<i2")
    names, end = set(), 0
    for name, *numbers, link, kind in struct.iter_unpack("<20sIIIIIBbHH", found[b"shdr"]):
        if name.startswith(b"EOS"):
            break
        start, stop, loop_start, loop_end, rate, root, correction = numbers
        assert start == end
        end = stop + GAP
        assert not np.any(frames[stop:end])
        assert start + 8 <= loop_start < loop_end - 31
        assert loop_end <= stop - 8
        assert 0 <= root <= 127
        assert -99 <= correction <= 99
        assert rate in (22_050, 32_000, 44_100)
        assert (link, kind) == (0, 1)
        names.add(name)
    assert len(frames) == end
    assert len(names) == len(found[b"shdr"]) // 46 - 1


def test_a_sample_used_twice_is_stored_once() -> None:
    names = [name for name, *_ in struct.iter_unpack("<20s26s", parsed(small())[b"shdr"])]
    assert ["one", "other", "EOS"] == [name.rstrip(b"\0").decode() for name in names]


def test_a_modulator_has_the_fields_of_section_8_2() -> None:
    first = struct.unpack_from("<HHhHH", parsed(small())[b"imod"])
    assert first == (0x0502, 48, 400, 0, 0)


def test_units_are_those_of_section_8_1() -> None:
    assert timecents(1.0) == 0
    assert timecents(0.5) == -1200
    assert cents_over_key_0(8.176) == 0
    assert cents_over_key_0(440.0) == 6900


def test_a_name_that_does_not_fit_is_refused() -> None:
    long = Instrument("a name of twenty-one.", [Zone(sample(), (0, 127))])
    with pytest.raises(ValueError, match="has 21 characters: 19 fit"):
        soundfont("x", "y", [Preset(0, 0, long)])
