"""Reading recordings of every common kind, and saying what is wrong with the others."""

import struct
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from quiz.errors import RecordingError
from quiz.playing.recordings import LONGEST_MINUTES, read_recording

RATE = 22_050
TONE: NDArray[np.float64] = 0.5 * np.sin(2 * np.pi * 110 * np.arange(RATE // 2) / RATE)


def chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)


def wav(
    tag: int, bits: int, channels: int, data: bytes, rate: int = RATE, more: bytes = b""
) -> bytes:
    """A WAV file by hand, as the specification of 1991 lays it out."""
    frame = bits // 8 * channels
    fmt = struct.pack("<HHIIHH", tag, channels, rate, rate * frame, frame, bits) + more
    body = b"WAVE" + chunk(b"LIST", b"odd") + chunk(b"fmt ", fmt) + chunk(b"data", data)
    return chunk(b"RIFF", body)


def packed(bits: int, floating: bool, samples: NDArray[np.float64]) -> bytes:
    if floating:
        return samples.astype(f"<f{bits // 8}").tobytes()
    if bits == 8:
        return (samples * 127 + 128).astype(np.uint8).tobytes()
    whole = np.round(samples * (2 ** (bits - 1) - 1)).astype("<i4")
    return bytes(whole.view(np.uint8).reshape(-1, 4)[:, : bits // 8].tobytes())


def kept(folder: Path, data: bytes) -> Path:
    path = folder / "take.wav"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("channels", [1, 2, 6])
@pytest.mark.parametrize(
    ("bits", "floating"),
    [(8, False), (16, False), (24, False), (32, False), (32, True), (64, True)],
)
def test_every_common_width_is_read(
    tmp_path: Path, bits: int, floating: bool, channels: int
) -> None:
    frames = np.repeat(TONE[:, None], channels, axis=1).ravel()
    data = wav(3 if floating else 1, bits, channels, packed(bits, floating, frames))
    recording = read_recording(kept(tmp_path, data))
    assert RATE == recording.rate
    assert np.allclose(TONE, recording.samples, atol=0.02 if bits == 8 else 1e-4)


def test_the_extensible_form_is_read_as_what_it_wraps(tmp_path: Path) -> None:
    # the sub-format KSDATAFORMAT_SUBTYPE_PCM (Microsoft, mmreg.h)
    pcm = struct.pack("<H", 1) + bytes.fromhex("000000001000800000aa00389b71")
    more = struct.pack("<HHI", 22, 24, 4) + pcm
    data = wav(0xFFFE, 24, 1, packed(24, False, TONE), more=more)
    assert np.allclose(TONE, read_recording(kept(tmp_path, data)).samples, atol=1e-4)


def test_what_the_standard_library_writes_is_read(tmp_path: Path) -> None:
    path = tmp_path / "take.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE, 0, "NONE", "not compressed"))
        file.writeframes(packed(16, False, TONE))
    assert np.allclose(TONE, read_recording(path).samples, atol=1e-4)


def test_flac_is_read_through_the_soundfile_library(tmp_path: Path) -> None:
    path = tmp_path / "take.flac"
    soundfile.write(str(path), TONE, RATE)
    assert np.allclose(TONE, read_recording(path).samples, atol=1e-3)


def test_channels_that_cancel_each_other_leave_the_louder_one(tmp_path: Path) -> None:
    frames = np.stack([TONE, -TONE], axis=1).ravel()
    recording = read_recording(kept(tmp_path, wav(1, 16, 2, packed(16, False, frames))))
    assert np.max(np.abs(recording.samples)) > 0.4


def test_a_file_that_was_cut_off_gives_what_it_holds(tmp_path: Path) -> None:
    whole = wav(1, 16, 1, packed(16, False, TONE))
    recording = read_recording(kept(tmp_path, whole[: len(whole) // 2]))
    assert 0.4 * len(TONE) < len(recording.samples) < 0.6 * len(TONE)


def test_numbers_that_are_none_are_silence(tmp_path: Path) -> None:
    broken = TONE.copy()
    broken[::7] = np.nan
    broken[::11] = np.inf
    data = wav(3, 32, 1, packed(32, True, broken))
    assert np.all(np.isfinite(read_recording(kept(tmp_path, data)).samples))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"1 3 4 #4, said the horns", "is not audio"),
        (wav(1, 16, 1, b"")[:20], "give a WAV or FLAC file"),
        (wav(99, 8, 1, bytes(100)), "give a WAV or FLAC file"),
        (wav(1, 16, 0, bytes(100)), "give a WAV or FLAC file"),
        (wav(1, 8, 1, bytes(100 * 301), rate=100), f"{LONGEST_MINUTES} minutes at most"),
    ],
)
def test_anything_else_is_refused_with_what_to_do(tmp_path: Path, data: bytes, says: str) -> None:
    with pytest.raises(RecordingError, match=says):
        read_recording(kept(tmp_path, data))


def test_a_folder_is_no_recording(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="cannot be read"):
        read_recording(tmp_path)
