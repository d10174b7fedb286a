"""The arithmetic behind the samples: right, and the same on every machine."""

import ast
import math
from pathlib import Path

import numpy as np
import pytest

import sounds
from sounds.exact import decay, exp2, from_decibels, noise, rise, sine, sine_of, tone

SOURCES = sorted(Path(sounds.__file__).parent.glob("*.py"))

EXACT_IN_NUMPY = {
    # IEEE 754 fixes each of these to the last bit, or they only move numbers about
    "abs", "arange", "array", "asarray", "copysign", "cumsum", "float64", "full", "full_like",
    "int16", "max", "ones", "resize", "rint", "uint64", "where", "zeros",
}  # fmt: skip

EXACT_IN_MATH = {"factorial", "floor", "fsum", "ldexp", "sqrt"}
WHOLE_NUMBERS_ONLY = {("sf2.py", "log2")}
"""Used for generator amounts, which are rounded to whole units."""


def test_the_sine_agrees_with_the_library() -> None:
    turns = np.linspace(-3, 3, 6001)
    assert np.max(np.abs(sine(turns) - np.sin(2 * np.pi * turns))) < 2e-12
    assert sine_of(0.25) == pytest.approx(1.0, abs=1e-12)


def test_the_sine_repeats_exactly() -> None:
    turns = np.arange(64) / 64
    assert np.array_equal(sine(turns), sine(turns + 3))


@pytest.mark.parametrize("power", [-40.5, -1.0, -1e-9, 0.0, 0.3, 1.0, 12.75])
def test_powers_of_two_agree_with_the_library(power: float) -> None:
    assert exp2(power) == pytest.approx(2.0**power, rel=4e-15)


def test_six_decibels_are_a_factor_of_two_in_amplitude() -> None:
    assert from_decibels(20 * math.log10(2)) == pytest.approx(2.0, rel=1e-13)


def test_a_decay_falls_by_its_decibels_a_second() -> None:
    wave = decay(12.0, 44_101, 44_100)
    assert wave[0] == 1.0
    assert 20 * math.log10(wave[44_100]) == pytest.approx(-12.0, abs=1e-9)


def test_a_rise_begins_at_nothing_and_stays_full() -> None:
    wave = rise(10, 30)
    assert wave[0] == pytest.approx(0.0, abs=1e-12)
    assert np.all(np.diff(wave[:11]) > 0)
    assert np.all(wave[10:] == 1.0)


def test_a_tone_has_its_frequency() -> None:
    wave = tone(100.0, 44_100, 44_100)
    upward = np.flatnonzero((wave[:-1] < 0) & (wave[1:] >= 0))
    assert len(upward) in (99, 100)


def test_noise_is_the_published_generator() -> None:
    # SplitMix64 started at 0: the first three outputs (from memory of the reference code)
    published = (0xE220A8397B1DCDAF, 0x6E789E6AA1B965F4, 0x06C45D188009454F)
    expected = [(number >> 11) / 2**52 - 1 for number in published]
    assert expected == noise(3, 0).tolist()


def test_noise_is_even_and_differs_by_seed() -> None:
    wave = noise(100_000, 5)
    assert abs(float(np.mean(wave))) < 0.01
    assert float(np.mean(wave**2)) == pytest.approx(1 / 3, rel=0.02)
    assert abs(float(np.mean(wave * noise(100_000, 6)))) < 0.01


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_no_sample_depends_on_a_library_that_may_differ(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.value.id == "np":
                assert node.attr in EXACT_IN_NUMPY, f"np.{node.attr}, line {node.lineno}"
            assert node.value.id not in {"math", "random"}, f"line {node.lineno}"
        if isinstance(node, ast.ImportFrom) and node.module == "math":
            for name in node.names:
                known = name.name in EXACT_IN_MATH or (path.name, name.name) in WHOLE_NUMBERS_ONLY
                assert known, f"math.{name.name}"
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow):
            assert path.name == "exact.py", f"a power, line {node.lineno}"  # there of -1 only
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id != "sum", f"sum, line {node.lineno}: use math.fsum"
