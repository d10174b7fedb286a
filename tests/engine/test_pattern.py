"""Lines as the catalogue writes them."""

import pytest

from engine.errors import MusicInputError
from engine.pattern import Mark, Pattern, Spot, Step, Tone, parse_pattern
from engine.theory import Degree


def test_a_token_is_a_beat_and_the_last_one_is_arrived_at() -> None:
    pattern = parse_pattern("1 2 b3 3 | 4")
    assert 1 == pattern.bars
    assert Tone(Degree(4)) == pattern.arrival
    assert ["1", "2", "b3", "3", "4"] == list(map(str, pattern.degrees))
    assert tuple(Spot(beat) for beat in range(5)) == pattern.strikes


def test_two_tokens_in_brackets_share_a_beat() -> None:
    pattern = parse_pattern("5 (b6 5) 5 5 | 1")
    assert (Spot(0), Spot(1), Spot(1, True), Spot(2), Spot(3), Spot(4)) == pattern.strikes
    assert ["5", "b6", "5", "5", "5", "1"] == list(map(str, pattern.degrees))


def test_marks_are_no_notes() -> None:
    pattern = parse_pattern("1 - x * | 5 ~ (x 5) -")
    assert ["1", "5", "5"] == list(map(str, pattern.degrees))
    assert (Spot(0), Spot(4), Spot(6, True)) == pattern.strikes
    assert Step(Spot(1), Mark.HOLD) == pattern.steps[1]
    assert Step(Spot(5), Mark.LEAD) == pattern.steps[5]
    assert pattern.arrival is None


def test_a_last_hold_rings_over_the_downbeat_instead_of_arriving() -> None:
    pattern = parse_pattern("1 1 4 4 | 1 - - - | -")
    assert 2 == pattern.bars
    assert pattern.arrival is None
    assert parse_pattern("1 1 4 4 | 1 - - -") == pattern


@pytest.mark.parametrize(
    ("token", "semitones", "text"),
    [
        ("1", 0, "1"),
        ("8", 12, "8"),
        ("7,", -1, "7,"),
        ("5,,", -17, "5,,"),
        ("b3'", 15, "b3'"),
        ("1',", 0, "1"),
    ],
)
def test_a_comma_is_the_octave_below_and_an_apostrophe_the_octave_above(
    token: str, semitones: int, text: str
) -> None:
    (tone, *_) = parse_pattern(f"{token} 1 1 1").tones
    assert semitones == tone.semitones
    assert text == str(tone)


@pytest.mark.parametrize(
    "text",
    [
        "1 3 4 #4",
        "1 2 b3 3 | 4",
        "5 (b6 5) 5 5 | 1",
        "* * (b7 7) x | 8",
        "1 - 5 - | 5, - 1' -",
        "8 7 b7 6 | b6 5 5 5 | 1",
        "(1 1) (x 1) (- 1) (1 -)",
    ],
)
def test_a_pattern_is_written_as_it_is_read(text: str) -> None:
    assert text == str(parse_pattern(text))


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "bar 1 of '' has 0 beats: give 4"),
        ("|", "has 0 beats"),
        ("1", "bar 1 of '1' has 1 beats: give 4, or one token after the last"),
        ("1 2 3", "bar 1 .* has 3 beats"),
        ("1 2 3 4 5", "bar 1 .* has 5 beats"),
        ("1 2 3 4 | 5 6", r"bar 2 .* has 2 beats"),
        ("1 2 3 4 |", "bar 2 .* has 0 beats"),
        ("1 | 1 2 3 4", "bar 1 .* has 1 beats"),
        ("1 2 9 4", "bar 1: '9' is no degree: .*, or one of the marks - x [*] ~"),
        ("1 2 3 4 | 1 2 C 4", "bar 2: 'C' is no degree"),
        ("1 2 3 4 | 9", "bar 2: '9' is no degree"),
        ("1 2 3 4 | (1 2)", "bar 2: .* is no degree"),
        ("1 (2) 3 4", r"bar 1: '\(2\)' must hold two tokens, one an eighth"),
        ("1 (2 3 4) 3 4", r"bar 1: '\(2 3 4\)' must hold two tokens"),
        ("1 () 3 4", r"bar 1: '\(\)' must hold two tokens"),
        ("1 (2 3 4", r"bar 1: '\(2' must hold two tokens"),
        ("1 2) 3 4", r"bar 1: '2\)' is no degree"),
        ("1 (2 q) 3 4", "bar 1: 'q' is no degree"),
        ("- 2 3 4", "starts with - but has no note to ring on: give a degree"),
        ("1 2 3 4 | x", "arrives at x: give a degree after the last"),
        ("1 2 3 4 | *", "arrives at [*]: give a degree"),
        ("1 2 3 4 | ~", "arrives at ~: give a degree"),
        ("1 2 \x1b[2J 4", "bar 1: '�.2J' is no degree"),
        ("1 " * 10_000, "bar 1 of .* has 10000 beats"),
    ],
)
def test_a_pattern_that_breaks_a_rule_is_refused_with_its_bar(text: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem) as caught:
        parse_pattern(text)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 200


# --- putting together ---------------------------------------------------------------------------


def test_a_pattern_goes_on_with_another_and_arrives_where_that_one_does() -> None:
    whole = parse_pattern("1 3 4 #4").then(parse_pattern("5 (b6 5) 5 5 | 1"))
    assert "1 3 4 #4 | 5 (b6 5) 5 5 | 1" == str(whole)
    assert Spot(5, True) == whole.strikes[6]


def test_doubling_makes_two_eighths_of_each_quarter() -> None:
    assert "(1 1) (3 3) (4 4) (#4 #4)" == str(parse_pattern("1 3 4 #4").doubled())


def test_doubling_leaves_eighths_marks_and_the_arrival_as_they_are() -> None:
    doubled = parse_pattern("5 (b6 5) - x | * ~ (x 5) 5 | 1").doubled()
    assert "(5 5) (b6 5) - x | * ~ (x 5) (5 5) | 1" == str(doubled)


def test_doubling_twice_changes_nothing_more() -> None:
    once = parse_pattern("1 (3 5) - 4 | 1").doubled()
    assert once == once.doubled()


def test_a_spot_knows_its_bar_and_says_its_beat() -> None:
    assert (0, 0, 1, 2) == tuple(Spot(beat).bar for beat in (0, 3, 4, 8))
    assert ("beat 1", "beat 4 and") == (str(Spot(4)), str(Spot(7, True)))
    assert Spot(1) < Spot(1, True) < Spot(2)


def test_an_empty_pattern_has_no_notes() -> None:
    nothing = parse_pattern("x x x x")
    assert () == nothing.tones
    assert Pattern(1, tuple(Step(Spot(beat), Mark.REST) for beat in range(4))) == nothing


def test_the_text_of_a_pattern_leaves_the_octaves_out() -> None:
    pattern = parse_pattern("1 1 6, 6, | 2' (2 5,) 5, - | 1")
    assert "1 1 6 6 | 2 (2 5) 5 - | 1" == pattern.text
