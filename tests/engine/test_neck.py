"""The neck: tunings, positions of a pitch, and paths."""

from collections import Counter
from itertools import pairwise, product

import pytest

from engine.errors import MusicInputError
from engine.neck import (
    FINGERS,
    FOUR_STRING,
    FRETS,
    MOST_PATHS,
    TUNINGS,
    Neck,
    OpenStrings,
    Parts,
    PathCost,
    Position,
    Tuning,
    find_tuning,
    fingering,
    fingerings,
    path_cost,
    placed,
    positions,
    sounding,
)

FIVE_STRING = find_tuning("five-string")
LOWEST, HIGHEST = 28, 63
"""Four strings and 20 frets, MIDI numbers."""


def named(path: tuple[Position, ...], tuning: Tuning = FOUR_STRING) -> str:
    """`E5 A2`: string and fret, with the open strings' own names."""
    return " ".join(f"{tuning.strings[place.string][0]}{place.fret}" for place in path)


# --- tunings ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "pitches"),
    [
        # open strings B0 E1 A1 D2 G2 C3 are MIDI 23 28 33 38 43 48: common practice, no source
        ("four-string", [28, 33, 38, 43]),
        ("drop-d", [26, 33, 38, 43]),
        ("five-string", [23, 28, 33, 38, 43]),
        ("five-string-tenor", [28, 33, 38, 43, 48]),
        ("six-string", [23, 28, 33, 38, 43, 48]),
    ],
)
def test_a_tuning_has_its_open_strings_from_the_lowest(name: str, pitches: list[int]) -> None:
    assert pitches == [pitch for _, pitch in find_tuning(name).strings]


def test_there_is_no_other_tuning_and_each_string_has_a_name_of_its_own() -> None:
    assert 5 == len({tuning.id for tuning in TUNINGS})
    for tuning in TUNINGS:
        assert len(tuning.strings) == len({name for name, _ in tuning.strings})


@pytest.mark.parametrize("name", ["", "Four-string", "banjo", "\x1b[2J", "x" * 10_000])
def test_an_unknown_tuning_is_refused_with_those_there_are(name: str) -> None:
    with pytest.raises(MusicInputError, match=r"^there is no tuning '.*': give one of four-string"):
        find_tuning(name)


# --- positions ----------------------------------------------------------------------------------


@pytest.mark.parametrize("frets", [12, 20, 24])
@pytest.mark.parametrize("tuning", TUNINGS, ids=lambda tuning: tuning.id)
def test_a_position_sounds_the_pitch_that_it_is_given_for(tuning: Tuning, frets: int) -> None:
    for midi in range(128):
        places = positions(midi, tuning, frets)
        assert {midi} >= {sounding(place, tuning) for place in places}
        assert all(0 <= place.fret <= frets for place in places)
        assert sorted(places) == list(places)


@pytest.mark.parametrize("tuning", TUNINGS, ids=lambda tuning: tuning.id)
def test_every_place_on_the_neck_is_a_position_of_its_pitch(tuning: Tuning) -> None:
    neck = [
        Position(string, fret)
        for string, fret in product(range(len(tuning.strings)), range(FRETS + 1))
    ]
    assert all(place in positions(sounding(place, tuning), tuning) for place in neck)


def test_four_strings_and_twenty_frets_have_one_to_four_positions_for_a_pitch() -> None:
    # computed by hand: fret = pitch - open string, strings a fourth apart
    counts = Counter(len(positions(midi)) for midi in range(LOWEST, HIGHEST + 1))
    assert {1: 10, 2: 10, 3: 10, 4: 6} == dict(counts)


@pytest.mark.parametrize("midi", [-1, 0, LOWEST - 1, HIGHEST + 1, 127, 10**6])
def test_a_pitch_off_the_neck_has_no_position(midi: int) -> None:
    assert () == positions(midi)


def test_an_a_has_a_position_on_each_string_that_reaches_it() -> None:
    assert "E5 A0" == named(positions(33))
    assert "E17 A12 D7 G2" == named(positions(45))
    assert "B10 E5 A0" == named(positions(33, FIVE_STRING), FIVE_STRING)


# --- paths --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pitches", "path"),
    [
        # the walk-up of bar 4 in A, A B C C# D: common practice, no source
        ([33, 35, 36, 37, 38], "E5 A2 A3 A4 A5"),
        ([33], "E5"),
        ([28], "E0"),
        ([45, 45, 45], "G2 G2 G2"),
        ([43, 45, 46, 47], "D5 G2 G3 G4"),
    ],
)
def test_a_figure_is_played_where_the_hand_moves_least(pitches: list[int], path: str) -> None:
    played = fingering(pitches)
    assert path == named(played)
    assert pitches == [sounding(place) for place in played]


def test_no_notes_have_no_path() -> None:
    assert () == fingering([])


@pytest.mark.parametrize("midi", [LOWEST - 1, HIGHEST + 1, 0, 127])
def test_a_pitch_off_the_neck_is_named_with_the_neck(midi: int) -> None:
    with pytest.raises(
        MusicInputError,
        match=f"^MIDI note {midi} is off the neck: four strings, E A D G with 20 frets has 28 to 6",
    ):
        fingering([33, midi, 40])


def test_a_low_d_needs_the_tuning_that_has_it() -> None:
    with pytest.raises(MusicInputError, match="MIDI note 26 is off the neck"):
        fingering([26])
    drop = find_tuning("drop-d")
    assert "low D0" == named(fingering([26], drop), drop)
    assert "B3" == named(fingering([26], FIVE_STRING), FIVE_STRING)


def test_a_dearer_open_string_is_avoided_and_a_free_one_taken() -> None:
    assert "E5" == named(fingering([33]))
    assert "A0" == named(fingering([33], cost=PathCost(open_string=0.0)))


def test_a_repeated_note_stays_where_it_is() -> None:
    for midi in range(LOWEST, HIGHEST + 1):
        assert 1 == len(set(fingering([midi] * 4)))


def hands(place: Position, frets: int) -> list[int]:
    """Every place of the hand that reaches a position: a finger a fret, or with a stretch."""
    highest = max(frets - FINGERS + 1, 1)
    return [
        hand
        for hand in range(1, highest + 1)
        if place.fret == 0 or hand <= place.fret <= hand + FINGERS
    ]


def least(path: tuple[Position, ...], frets: int, cost: PathCost) -> float:
    """What a path costs with the hand placed as well as it can be, tried out one by one."""
    totals = []
    for held in product(*(hands(place, frets) for place in path)):
        moves = sum(abs(b - a) for a, b in pairwise(held))
        crossed = sum(abs(b.string - a.string) for a, b in pairwise(path))
        opened = sum(place.fret == 0 for place in path)
        stretched = sum(
            place.fret == hand + FINGERS for place, hand in zip(path, held, strict=True)
        )
        totals.append(
            cost.shift * moves
            + cost.stretch * stretched
            + cost.crossing * crossed
            + cost.open_string * opened
            + cost.height * sum(place.fret for place in path)
        )
    return min(totals)


FIGURES = [
    [33, 37, 38],
    [40, 38, 37],
    [28, 40],
    [45, 43, 42],
    [33, 45, 33],
    [43, 38, 33],
    [36, 43, 48],
    [29, 41, 53],
]


COSTS = [
    PathCost(),
    PathCost(shift=0.3, crossing=1.0, open_string=0.0, height=0.5, stretch=0.2),
]


@pytest.mark.parametrize("cost", COSTS, ids=["usual", "low-down"])
@pytest.mark.parametrize("tuning", [FOUR_STRING, FIVE_STRING], ids=lambda tuning: tuning.id)
@pytest.mark.parametrize("pitches", FIGURES, ids=str)
def test_no_path_over_the_neck_asks_less_of_the_hand(
    pitches: list[int], tuning: Tuning, cost: PathCost
) -> None:
    frets = 14
    found = fingering(pitches, tuning, frets, cost)
    every = product(*(positions(pitch, tuning, frets) for pitch in pitches))
    best = min(least(path, frets, cost) for path in every)
    assert best == pytest.approx(least(found, frets, cost))


@pytest.mark.parametrize("wish", list(OpenStrings))
@pytest.mark.parametrize("pitches", FIGURES, ids=str)
def test_the_best_paths_are_all_different_and_come_in_the_order_of_brute_force(
    pitches: list[int], wish: OpenStrings
) -> None:
    frets, cost = 14, path_cost(Neck(open_strings=wish))
    every = product(*(positions(pitch, FOUR_STRING, frets) for pitch in pitches))
    costs = sorted(least(path, frets, cost) for path in every if is_steady(path, pitches))
    found = fingerings(pitches, FOUR_STRING, frets, cost, best=6)
    assert len(found) == len({one.positions for one in found}) == min(6, len(costs))
    assert costs[:6] == pytest.approx([one.cost for one in found])
    for one in found:
        assert pitches == [sounding(place) for place in one.positions]


def is_steady(path: tuple[Position, ...], pitches: list[int]) -> bool:
    """Whether a note that is struck again stays where it is."""
    pairs = zip(pairwise(path), pairwise(pitches), strict=True)
    return all(here == there for (here, there), (one, two) in pairs if one == two)


def test_the_parts_of_a_cost_add_up_and_say_what_the_hand_does() -> None:
    # worked by hand: E5 with the hand at 2, then three strings' worth of crossing
    (walk_up,) = fingerings([33, 35, 36, 37, 38], best=1)
    assert (2, 2, 2, 2, 2) == walk_up.hands
    assert (0, 0) == (walk_up.movement, walk_up.stretches)
    assert Parts(0, 0, 0.4, 0, 0.02 * 19) == pytest.approx(walk_up.parts)
    assert walk_up.parts.total == walk_up.cost
    lonely = placed([Position(0, 5), Position(0, 7), Position(0, 9), Position(0, 12)])
    assert 4 == lonely.movement  # from 5 over 6 to 9: twelve is four above nine, a reach of four
    assert (5, 5, 6, 9) == lonely.hands


def test_a_stretch_is_taken_where_moving_over_and_back_costs_more() -> None:
    # frets 3 7 3 on neighbouring strings: five frets, so one note needs a stretch or two shifts
    there_and_back = placed([Position(0, 3), Position(1, 7), Position(0, 3)])
    assert (1, 0) == (there_and_back.stretches, there_and_back.movement)
    for_good = placed([Position(0, 3), Position(1, 7), Position(1, 7), Position(1, 7)])
    assert (0, 1) == (for_good.stretches, for_good.movement)


def test_during_an_open_string_the_hand_stays_where_it_was() -> None:
    played = placed([Position(1, 7), Position(0, 0), Position(1, 7)])
    assert 0 == played.movement
    assert played.hands[0] == played.hands[1] == played.hands[2]
    assert (1, 1) == placed([Position(0, 0), Position(1, 0)]).hands


@pytest.mark.parametrize(
    ("wish", "path"),
    [
        (OpenStrings.AVOID, "E5 A2 A3 A4 A5"),
        (OpenStrings.NEUTRAL, "A0 A2 A3 A4 A5"),
        (OpenStrings.PREFER, "A0 A2 A3 A4 D0"),
    ],
)
def test_open_strings_are_taken_as_the_player_likes_them(wish: OpenStrings, path: str) -> None:
    (best,) = fingerings([33, 35, 36, 37, 38], cost=path_cost(Neck(open_strings=wish)), best=1)
    assert path == named(best.positions)


@pytest.mark.parametrize("best", [0, -1, MOST_PATHS + 1])
def test_a_number_of_paths_that_makes_no_sense_is_refused(best: int) -> None:
    with pytest.raises(MusicInputError, match=f"^{best} paths were asked for: give 1 to 20$"):
        fingerings([33], best=best)


@pytest.mark.parametrize(
    ("pitches", "hint"),
    [
        ([26, 33], "an octave higher the whole line fits"),
        ([14, 20], "2 octaves higher the whole line fits"),
        ([64, 60], "an octave lower the whole line fits"),
        ([20, 70], "no octave fits"),
    ],
)
def test_what_octave_would_fit_is_said(pitches: list[int], hint: str) -> None:
    with pytest.raises(MusicInputError, match=f"28 to 63; {hint}$"):
        fingering(pitches)
