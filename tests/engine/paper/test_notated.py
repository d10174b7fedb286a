"""Bars of written notes: values, ties, rests, chords."""

from dataclasses import replace

import pytest

from engine.catalogue import builtin_catalogue
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.line import write_line
from engine.neck import find_tuning
from engine.notation import parse_key
from engine.paper.notated import VALUES, Sheet, notate, played
from engine.pattern import parse_pattern
from engine.plan import Placement, Plan, plan_choruses

CATALOGUE = builtin_catalogue()


def sheet_of(pattern: str, feel: Feel = Feel.STRAIGHT, bars: int = 2) -> Sheet:
    """A line of its own, alone on the last bars of a chorus."""
    tempo = 60.0 if feel is Feel.SLOW else 120.0
    base = CATALOGUE.find("two-beat")
    chorus = plan_choruses(CATALOGUE.form("twelve-bar"), parse_key("C"), feel, tempo, base)
    device = replace(CATALOGUE.find("run-up"), pattern=parse_pattern(pattern))
    plan = replace(chorus, bars=chorus.bars[-bars:], placements=(Placement(device, 0),))
    return notate(plan, write_line(plan, 1), "a line")


def words(sheet: Sheet) -> list[str]:
    """Each bar as note values: `quarter.~` is dotted and tied on, `(half)` a rest."""
    lines = []
    for bar in sheet.bars:
        signs = []
        for sign in bar.signs:
            value = VALUES[sign.length]
            word = value.name + "." * value.dots
            signs.append(
                f"({word})" if sign.sounding is None else word + ("~" if sign.tied_to else "")
            )
        lines.append(" ".join(signs))
    return lines


@pytest.mark.parametrize(
    ("pattern", "bar"),
    [
        ("1 3 4 #4 | 5", "quarter quarter quarter quarter"),
        ("1 - 5 - | 1", "half half"),
        ("1 - - 5 | 1", "half. quarter"),
        ("1 - - - | 1", "whole"),
        ("1 5 - - | 1", "quarter half."),
        ("1 5 - 1 | 1", "quarter half quarter"),
        ("(1 5) 1 (- 5) 1 | 1", "eighth eighth quarter. eighth quarter"),
        ("(1 5) - (- 1) 1 | 1", "eighth eighth~ quarter. eighth quarter"),
        ("1 x 5 x | 1", "quarter (quarter) quarter (quarter)"),
        ("1 x x x | 1", "quarter (half.)"),
        ("x x x 5 | 1", "(half.) quarter"),
        ("1 - - (- 5) | 1", "half.~ eighth eighth"),
    ],
)
def test_a_bar_is_written_with_the_fewest_note_values(pattern: str, bar: str) -> None:
    assert [bar, "whole"] == words(sheet_of(pattern))


def test_in_twelve_eight_a_beat_is_a_dotted_quarter_and_its_second_eighth_the_third() -> None:
    slow = sheet_of("1 (3 4) 5 - | 1", Feel.SLOW)
    assert ["quarter. quarter eighth half.", "whole."] == words(slow)
    assert ["half.~ quarter eighth quarter.", "whole."] == words(
        sheet_of("1 - (- 5) 1 | 1", Feel.SLOW)
    )


def test_a_note_over_the_bar_line_is_tied() -> None:
    sheet = sheet_of("1 1 4 4 | 1 - - - | - ", bars=3)
    assert ["quarter quarter quarter quarter", "whole~", "whole"] == words(sheet)
    last = sheet.bars[2].signs[0]
    assert last.tied_from
    assert not last.struck


def test_chords_stand_where_they_change_and_on_a_landing_once() -> None:
    form, base = CATALOGUE.form("jazz-blues"), CATALOGUE.find("two-beat")
    plan = plan_choruses(form, parse_key("F"), Feel.SWING, 120, base)
    sheet = notate(plan, write_line(plan, 1), "a line")
    assert [(0, "I7"), (2, "VI7")] == [(row.beat, str(row.chord)) for row in sheet.bars[10].chords]
    assert [(0, "I7")] == [(row.beat, str(row.chord)) for row in sheet.bars[12].chords]
    assert sheet.bars[12].landing


def test_devices_are_named_in_the_bar_where_they_start() -> None:
    form, base = CATALOGUE.form("twelve-bar"), CATALOGUE.find("two-beat")
    rows = [(0, 4, CATALOGUE.find("walk-up-one-four")), (0, 11, CATALOGUE.find("fall+dip"))]
    plan = plan_choruses(form, parse_key("F"), Feel.SWING, 120, base, rows)
    bars = notate(plan, write_line(plan, 1), "a line").bars
    named = {index + 1: bar.devices for index, bar in enumerate(bars) if bar.devices}
    assert {4: ("chromatic walk-up into the four",), 11: ("fall + dip",)} == named
    assert ["8", "b7", "6", "b6"] == [
        str(sign.sounding.degree) for sign in bars[10].signs if sign.sounding
    ]


def plan_in(key: str) -> Plan:
    form, base = CATALOGUE.form("minor-blues"), CATALOGUE.find("two-beat")
    return plan_choruses(form, parse_key(key), Feel.STRAIGHT, 120, base)


def test_a_key_that_no_signature_holds_is_refused() -> None:
    plan = plan_in("Dbm")
    with pytest.raises(MusicInputError, match="needs 8 signs: give the key that sounds alike"):
        notate(plan, write_line(plan, 1), "a line")


def test_a_note_that_is_off_the_neck_is_named() -> None:
    plan = plan_in("Em")
    with pytest.raises(MusicInputError, match=r"MIDI note \d+ is off the neck"):
        notate(plan, write_line(plan, 1), "a line", find_tuning("five-string-tenor"), 1)


def test_it_is_said_how_it_is_played() -> None:
    assert "straight eighths, 120 beats a minute" == played(sheet_of("1 1 1 1 | 1"))
