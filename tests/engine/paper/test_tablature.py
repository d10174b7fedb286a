"""Tablature text: rows that fit under each other."""

import pytest

from engine.catalogue import builtin_catalogue
from engine.choosing import parse_chorus
from engine.feels import Feel
from engine.neck import find_tuning
from engine.notation import parse_key
from engine.paper.notated import Sheet
from engine.paper.tablature import PLAIN, WIDTH, to_tablature
from quiz.exports.sheets import Manner, chorus_passage, figure_passage

CATALOGUE = builtin_catalogue()

# The walk-up into the four in A: E string fret 5, then A string frets 2 3 4 and 5.
# [common practice, no source]
WALK_UP = """\
chromatic walk-up into the four in A
shuffle, 110 beats a minute; four strings, E A D G
w whole, h half, q quarter, e eighth; q. half as long again; rq a rest; (5) held on

          chromatic walk-up into the four
chords    A7             D7
rhythm    q  q  q   q    w
G       |--------------|----|
D       |--------------|----|
A       |----2--3---4--|-5--|
E       |-5------------|----|
counts    1  2  3   4    1
degrees   1  2  b3  3    4
"""


def figure(device: str, key: str, feel: Feel = Feel.SHUFFLE, tuning: str = "four-string") -> Sheet:
    manner = Manner(parse_key(key), feel, 110, tuning=find_tuning(tuning))
    return figure_passage(CATALOGUE.find(device), manner, CATALOGUE).sheet(manner)


def chorus(devices: str) -> Sheet:
    form = CATALOGUE.form("twelve-bar-five")
    manner = Manner(parse_key("F"), Feel.SHUFFLE, 110)
    placed = parse_chorus(devices, form, CATALOGUE)
    return chorus_passage(form, placed, manner, CATALOGUE).sheet(manner)


def test_a_figure_is_drawn_with_rhythm_above_and_counts_and_degrees_below() -> None:
    assert WALK_UP == to_tablature(figure("walk-up-one-four", "A"), PLAIN)


def test_plain_lines_need_nothing_but_ascii() -> None:
    sheet = chorus("climb+dip, walk-up-one-four")
    assert to_tablature(sheet, PLAIN).isascii()
    rich = to_tablature(sheet)
    assert to_tablature(sheet, PLAIN) == rich.replace("─", "-").replace("│", "|")


def test_eighths_are_said_to_be_long_and_short_where_they_are() -> None:
    words = "Two eighths of a beat are played long and short."
    assert words in to_tablature(figure("dip", "A"))
    assert words not in to_tablature(figure("dip", "A", Feel.STRAIGHT))
    assert words not in to_tablature(figure("climb", "A"))


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_line_of_music_is_wider_than_asked(width: int) -> None:
    text = to_tablature(chorus("climb+dip, walk-up-one-four"), width=width)
    music = [line for system in text.split("\n\n")[1:] for line in system.splitlines()]
    assert width >= max(map(len, music))


def test_bars_stand_in_lines_of_four_and_the_landing_stays_with_the_last() -> None:
    systems = to_tablature(chorus("climb"), width=WIDTH).split("\n\n")[1:]
    assert [4, 4, 5] == [system.splitlines()[-3].count("│") - 1 for system in systems]


def test_a_note_held_over_the_bar_line_stands_in_brackets() -> None:
    (line,) = [
        line for line in to_tablature(figure("four-to-one", "Eb")).splitlines() if "(" in line[8:]
        and line.startswith("D")
    ]  # fmt: skip
    assert line.endswith("─1───────────│─(1)──│")


def test_every_string_of_the_instrument_has_a_line() -> None:
    text = to_tablature(figure("climb", "A", tuning="six-string"), PLAIN)
    names = [line.partition(" ")[0] for line in text.splitlines() if "|" in line]
    assert ["C", "G", "D", "A", "E", "B"] == names


def test_two_names_in_one_line_do_not_run_into_each_other() -> None:
    text = to_tablature(chorus("half-above-into-one@6, walk-up-one-five@8"), width=200)
    above = text.split("\n\n")[2].split("chords")[0].splitlines()
    named = [line.strip() for line in above]
    assert ["chromatic walk-up into the five", "half step above, home from the four"] == named
