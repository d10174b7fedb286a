"""The devices: the rows there must be, the rules they obey, and how they combine."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from engine.catalogue import (
    Arrival,
    Catalogue,
    Device,
    Family,
    builtin_catalogue,
    combine,
    doubled,
    goes_with,
    places,
    read_catalogue,
)
from engine.errors import CatalogueError, MusicInputError
from engine.feels import Feel
from engine.forms import builtin_forms, find_form
from engine.pattern import Mark, Tone
from engine.theory import OCTAVE, Degree

CATALOGUE = builtin_catalogue()
TWELVE_BAR_FORMS = [form for form in builtin_forms() if len(form) == 12]

PUBLISHED, COUNTED = "published: ", "counted: "
PRACTICE, MEMORY = "common practice", "from memory"
"""How each row is known: a published source that it names; counts over the Weimar Jazz Database;
common practice, no source; from memory."""

HEADS = [
    ("stay", "1 1 1 1", PRACTICE),
    ("climb", "1 3 4 #4", PRACTICE),
    ("climb-flat-third", "1 b3 4 #4", PRACTICE),
    ("fall", "8 b7 6 b6", PRACTICE),
    # the chain 1 7 b7 6 b6 5: R. Hutchinson, Music Theory for the 21st-Century Classroom, 21.7
    ("chromatic-fall", "8 7 b7 6 b6 5 5 5 1", PUBLISHED),
    ("scale-climb", "1 2 3 4", PRACTICE),
    ("long-climb", "1 2 b3 3 4 #4 5 5 1", PRACTICE),
    ("one-six-two-five", "1 1 6 6 2 2 5 5 1", COUNTED),  # 20 of 305 choruses end on it
    ("three-six-two-five", "3 3 6 6 2 2 5 5 1", PRACTICE),
    ("one-four-one-five", "1 1 4 4 1 1 5 5 1", PRACTICE),
    ("flat-three-flat-two", "1 1 b3 b3 2 2 b2 b2 1", MEMORY),
    ("raised-one", "1 1 #1 #1 2 2 5 5 1", MEMORY),
]
TAILS = [
    ("stay-on-one", "1 1 1 1 1", COUNTED),  # 24 % of bar 12s
    ("plain-five", "5 5 5 5 1", COUNTED),  # the most frequent bar 12
    ("late-five", "1 4 #4 5 1", PRACTICE),
    ("walk-up-from-four", "5 4 #4 5 1", PRACTICE),
    ("dip", "5 b6 5 5 5 1", PRACTICE),
    ("flat-six-five", "b6 b6 5 5 1", PRACTICE),
    ("two-five", "2 2 5 5 1", COUNTED),  # 30 % of bar 12s
]
PICKUPS = [
    ("walk-up-one-four", "1 2 b3 3 4", PRACTICE),
    ("walk-up-four-one", "4 6 b7 7 8", PRACTICE),
    ("walk-up-one-five", "1 3 4 #4 5", PRACTICE),
    ("walk-up-five-one", "5 6 b7 7 8", PRACTICE),
    ("scale-up-one-four", "1 1 2 3 4", PRACTICE),
    ("scale-up-five-one", "5 5 6 7 8", PRACTICE),
    ("scale-down-four-one", "4 4 3 2 1", PRACTICE),
    ("walk-down-four-one", "4 3 b3 2 1", PRACTICE),
    ("walk-down-five-four", "5 5 5 #4 4", PRACTICE),
    ("half-below-into-four", "3 4", COUNTED),  # 22 to 23 % of arrivals on a new root
    ("half-below-into-one", "7 8", COUNTED),
    ("half-above-into-four", "b5 4", COUNTED),  # 20 to 21 %
    ("half-above-into-one", "b2 1", COUNTED),
    ("fifth-into-four", "1 4", COUNTED),  # 24 to 26 %
    ("fifth-into-one", "5 1", COUNTED),
    ("whole-above-into-four", "5 4", COUNTED),  # 6 to 9 %
    ("whole-above-into-one", "2 1", COUNTED),
    ("whole-below-into-four", "b3 4", COUNTED),  # 4 to 5 %
    ("whole-below-into-one", "b7 8", COUNTED),
    ("double-below", "b7 7 8", PRACTICE),
    ("double-above", "2 b2 1", PRACTICE),
    ("enclosure-whole", "5 3 4", MEMORY),
    ("enclosure-half", "b5 3 4", MEMORY),
    ("enclosure-from-below", "3 b5 4", MEMORY),
    ("enclosure-from-below-whole", "3 5 4", MEMORY),
    ("sharp-four-bar", "4 4 4 4 #4 #4 #4 #4 5", COUNTED),  # 2 to 3 % of bar 6s
]
ENDINGS = [
    ("climb-five-one", "1 3 4 #4 5 5 1", PRACTICE),
    ("climb-half-above", "1 3 4 #4 5 b2 1", PRACTICE),
    ("fall-five-one", "8 b7 6 b6 5 5 1", PRACTICE),
    ("fall-half-above", "8 b7 6 b6 5 b2 1", PRACTICE),
    ("run-up", "1 1 1 1 5 6 7 8", PRACTICE),
    ("blues-run-down", "8 b7 5 b5 4 b3 1", MEMORY),
    ("four-to-one", "1 1 4 4 1", PRACTICE),
    ("flat-six-five-one", "1 1 1 1 b6 5 1", PRACTICE),
    ("stop-half-above", "1 1 1 b2 1", PRACTICE),
    ("stop-half-below", "1 1 1 7 1", PRACTICE),
    ("chromatic-fall-ending", "5 #4 4 3 b3 2 b2 1", MEMORY),
    ("last-four-three-times", "1", MEMORY),
]
BASES = [
    ("two-beat", "1 5", PRACTICE),
    ("boogie", "1 3 5 6 b7 6 5 3", PRACTICE),
    ("box", "1 1 8 8 b7 b7 5 5", PRACTICE),
    ("shuffle-line", "1 3 5 6 8 6 5 3", PRACTICE),
    ("root-eighths", "1 1 1 1 1 1 1 1", PRACTICE),
    ("walking", "1 3 5", PRACTICE),
]
TABLE = [
    (family, *row)
    for family, rows in (
        (Family.HEAD, HEADS),
        (Family.TAIL, TAILS),
        (Family.PICKUP, PICKUPS),
        (Family.ENDING, ENDINGS),
        (Family.BASE, BASES),
    )
    for row in rows
]


def device(name: str) -> Device:
    return CATALOGUE.find(name)


def heights(tones: Sequence[Tone]) -> list[int]:
    return [tone.semitones for tone in tones]


def ids(devices: Sequence[Device]) -> set[str]:
    return {device.id for device in devices}


# --- the rows there must be ---------------------------------------------------------------------


@pytest.mark.parametrize(("family", "name", "degrees", "mark"), TABLE)
def test_the_catalogue_has_the_devices_of_the_trade(
    family: Family, name: str, degrees: str, mark: str
) -> None:
    row = device(name)
    assert family is row.family
    assert degrees == " ".join(map(str, row.pattern.degrees))
    assert row.source.startswith(mark)


@pytest.mark.parametrize(
    ("name", "bars"),
    [
        *((name, (11,)) for name, _, _ in HEADS),
        *((name, (12,)) for name, _, _ in TAILS),
        *((name, (11,)) for name, _, _ in ENDINGS[:-1]),
        ("last-four-three-times", (9,)),
        ("walk-up-one-four", (4,)),
        ("walk-up-four-one", (6, 10)),
        ("walk-up-one-five", (8,)),
        ("walk-up-five-one", (12,)),
        ("walk-down-five-four", (9,)),
        ("sharp-four-bar", (5,)),
    ],
)
def test_a_device_stands_in_its_bar_of_the_twelve(name: str, bars: tuple[int, ...]) -> None:
    assert bars == device(name).bars


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("dip", "5 (b6 5) 5 5 | 1"),
        ("two-beat", "1 - 5 -"),
        ("boogie", "1 3 5 6 | b7 6 5 3"),
        ("box", "1 1 8 8 | b7 b7 5 5"),
        ("shuffle-line", "1 3 5 6 | 8 6 5 3"),
        ("root-eighths", "(1 1) (1 1) (1 1) (1 1)"),
        ("climb-half-above", "1 3 4 #4 | 5 - b2 - | 1"),
        ("half-below-into-four", "* * * 3 | 4"),
        ("double-below", "* * b7 7 | 8"),
        ("chromatic-fall", "8 7 b7 6 | b6 5 5 5 | 1"),
        ("long-climb", "1 2 b3 3 | 4 #4 5 5 | 1"),
    ],
)
def test_a_device_has_its_notes_on_their_beats(name: str, line: str) -> None:
    assert line == str(device(name).pattern)


def test_the_last_four_bars_come_three_times() -> None:
    tag = device("last-four-three-times")
    assert (3, 4) == (tag.times, tag.pattern.bars)
    assert {Mark.BASE} == {step.what for step in tag.pattern.steps}


@pytest.mark.parametrize("row", CATALOGUE.devices, ids=lambda row: row.id)
def test_every_row_says_one_sentence_and_how_it_is_known(row: Device) -> None:
    assert row.says.endswith(".")
    assert row.says[0].isupper()
    assert row.source.startswith((PUBLISHED, COUNTED, PRACTICE, MEMORY))
    assert row.name == row.name.strip()


def test_no_two_rows_share_a_name_or_a_sound_in_one_place() -> None:
    assert len(CATALOGUE.devices) == len({row.name for row in CATALOGUE.devices})
    sounds = [
        (row.family, bar, str(row.change), row.pattern, row.times)
        for row in CATALOGUE.devices
        for bar in row.bars
    ]
    assert len(sounds) == len(set(sounds))


# --- the rules they obey ------------------------------------------------------------------------


@pytest.mark.parametrize("row", CATALOGUE.devices, ids=lambda row: row.id)
def test_the_bars_of_a_row_are_places_in_some_twelve_bar_form(row: Device) -> None:
    for bar in row.bars:
        assert any(bar in places(row, form) for form in TWELVE_BAR_FORMS)


WALK_UPS = [row for row in CATALOGUE.family(Family.PICKUP) if "chromatic walk-up" in row.name]


def test_there_is_a_chromatic_walk_up_for_each_change_between_one_four_and_five() -> None:
    changes = [str(row.change) for row in WALK_UPS]
    assert ["I > IV", "I > V", "IV > I", "V > I"] == sorted(changes)


@pytest.mark.parametrize("row", WALK_UPS, ids=lambda row: row.id)
def test_a_chromatic_walk_up_is_the_root_and_three_frets_up_to_the_next_root(row: Device) -> None:
    # root of the chord you are on, then from three frets below the next root up by half steps:
    # common practice, no source
    here, *walk, target = heights(row.pattern.tones)
    change = row.change
    assert change is not None
    assert change.here.semitones == here
    assert change.there.pitch_class == target % OCTAVE
    assert target > here
    assert [target - 3, target - 2, target - 1] == walk


APPROACHES = {
    # what stands on the last beat, in semitones from the target
    "half-below": (-1,),
    "half-above": (1,),
    "whole-below": (-2,),
    "whole-above": (2,),
    "fifth": (7, -5),
}


@pytest.mark.parametrize("into", ["four", "one"])
@pytest.mark.parametrize("kind", APPROACHES)
def test_an_approach_is_one_note_on_the_last_beat(kind: str, into: str) -> None:
    pattern = device(f"{kind}-into-{into}").pattern
    *bar, last = [step.what for step in pattern.steps]
    assert [Mark.BASE] * 3 == bar
    assert isinstance(last, Tone)
    assert pattern.arrival is not None
    assert last.semitones - pattern.arrival.semitones in APPROACHES[kind]
    assert {"four": 5, "one": 0}[into] == pattern.arrival.semitones % OCTAVE


@pytest.mark.parametrize(
    ("name", "offsets"),
    [
        ("double-below", [-2, -1, 0]),
        ("double-above", [2, 1, 0]),
        ("enclosure-whole", [2, -1, 0]),
        ("enclosure-half", [1, -1, 0]),
        ("enclosure-from-below", [-1, 1, 0]),
        ("enclosure-from-below-whole", [-1, 2, 0]),
    ],
)
def test_two_notes_lead_to_the_target_from_both_sides_or_one(name: str, offsets: list[int]) -> None:
    tones = heights(device(name).pattern.tones)
    assert offsets == [tone - tones[-1] for tone in tones]


@pytest.mark.parametrize("row", CATALOGUE.family(Family.PICKUP), ids=lambda row: row.id)
def test_a_pickup_arrives_at_the_root_of_the_chord_it_serves(row: Device) -> None:
    assert row.change is not None
    assert row.pattern.arrival is not None
    arrived = row.pattern.arrival.semitones % OCTAVE
    # the sharp-four bar arrives over the five in the bass, a half step further up
    expected = 7 if row.id == "sharp-four-bar" else row.change.there.pitch_class
    assert expected == arrived


def test_the_chromatic_devices_move_by_half_steps() -> None:
    for name in ("chromatic-fall-ending", "chromatic-fall"):
        tones = heights(device(name).pattern.tones)[:6]
        assert [-1] * 5 == [b - a for a, b in pairwise(tones)]


def test_a_walking_bar_has_chord_tones_on_the_strong_beats_and_leads_on_the_fourth() -> None:
    chord = {Degree(1), Degree(3), Degree(5), Degree(7, -1), Degree(8)}
    for way in device("walking").alternatives:
        one, _, three, four = [step.what for step in way.steps]
        assert isinstance(one, Tone)
        assert isinstance(three, Tone)
        assert {one.degree, three.degree} <= chord
        assert Mark.LEAD is four


@pytest.mark.parametrize("row", CATALOGUE.family(Family.BASE), ids=lambda row: row.id)
def test_a_base_pattern_starts_on_the_root_and_suits_some_feel(row: Device) -> None:
    assert row.feels
    for way in row.alternatives:
        assert 1 == way.tones[0].degree.number
    assert row.pattern == row.alternatives[0]


def test_every_feel_has_a_base_pattern() -> None:
    assert set(Feel) == {feel for row in CATALOGUE.family(Family.BASE) for feel in row.feels}


WHOLE = (*CATALOGUE.turnarounds(), *CATALOGUE.family(Family.PICKUP, Family.ENDING))


@pytest.mark.parametrize("row", WHOLE, ids=lambda row: row.id)
def test_where_the_chord_of_a_device_changes_its_bass_has_a_note_of_the_chord(row: Device) -> None:
    # common practice, no source: the bass and the band agree at every change
    chords = [chord for bar in row.chords for chord in bar]
    for step in row.pattern.steps:
        beat = step.spot.beat
        fresh = beat < len(chords) and (beat == 0 or chords[beat] != chords[beat - 1])
        if fresh and not step.spot.offbeat and isinstance(step.what, Tone):
            root = chords[beat].root.semitones
            assert step.what.semitones % OCTAVE in {
                (root + tone.semitones) % OCTAVE for tone in chords[beat].tones
            }


# --- combining ----------------------------------------------------------------------------------


def test_a_head_that_arrives_on_five_takes_every_tail_from_five() -> None:
    from_five = {"plain-five", "walk-up-from-four", "dip", "flat-six-five", "two-five"}
    for head in ("climb", "climb-flat-third", "fall", "scale-climb"):
        assert from_five == ids(CATALOGUE.tails_for(device(head)))


def test_the_late_five_and_no_turnaround_at_all_follow_only_a_head_that_stays() -> None:
    tails = {"stay-on-one", "plain-five", "late-five", "dip", "flat-six-five", "two-five"}
    assert tails == ids(CATALOGUE.tails_for(device("stay")))


def test_a_head_with_both_bars_takes_no_tail() -> None:
    own = [row for row in CATALOGUE.family(Family.HEAD) if row.leads_to is Arrival.OWN]
    assert 7 == len(own)
    for head in own:
        assert () == CATALOGUE.tails_for(head)
        assert 2 == head.pattern.bars
        assert head.complete


def test_a_turnaround_is_its_head_and_then_its_tail() -> None:
    whole = combine(device("climb"), device("dip"))
    assert "climb+dip" == whole.id
    assert "climb + dip" == whole.name
    assert Family.TURNAROUND is whole.family
    assert "1 3 4 #4 | 5 (b6 5) 5 5 | 1" == str(whole.pattern)
    assert ("climb", "dip") == (whole.head, whole.tail)
    assert ["I7", "V7"] == [str(bar[0]) for bar in whole.chords]
    assert device("climb").says in whole.says
    assert device("dip").says in whole.says
    assert whole.complete


def test_a_part_that_implies_no_chords_stays_home_beside_one_that_does() -> None:
    head, tail = device("fall"), device("dip")
    silent = replace(tail, chords=())
    moving = replace(head, chords=device("sharp-four-bar").chords[1:])
    assert ["I7", "V7"] == [str(bar[0]) for bar in combine(head, tail).chords]
    assert ["#IVdim7", "I7"] == [str(bar[0]) for bar in combine(moving, silent).chords]
    assert () == combine(head, silent).chords


def test_a_turnaround_suits_a_minor_tune_only_when_both_parts_do() -> None:
    assert device("climb-flat-third+dip").minor
    assert not device("climb+dip").minor
    assert not device("climb-flat-third+two-five").minor


@pytest.mark.parametrize(
    ("head", "tail", "problem"),
    [
        ("climb", "late-five", "'late five' does not follow 'climb'"),
        ("stay", "walk-up-from-four", "'walk-up from the four' does not follow 'stay'"),
        ("raised-one", "plain-five", "'plain five' does not follow 'raised one'"),
        ("dip", "climb", r"'dip\+climb': a turnaround is a head and then a tail"),
        ("climb", "fall", "a turnaround is a head and then a tail"),
        ("walk-up-one-four", "dip", "a turnaround is a head and then a tail"),
    ],
)
def test_parts_that_do_not_go_together_are_refused(head: str, tail: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem):
        combine(device(head), device(tail))
    with pytest.raises(MusicInputError, match=problem):
        device(f"{head}+{tail}")


def test_the_turnarounds_are_every_head_with_every_tail_that_goes_with_it() -> None:
    turnarounds = CATALOGUE.turnarounds()
    pairs = [
        (head, tail)
        for head in CATALOGUE.family(Family.HEAD)
        for tail in CATALOGUE.family(Family.TAIL)
        if goes_with(head, tail)
    ]
    assert len(pairs) + 7 == len(turnarounds)
    assert len(turnarounds) == len({row.id for row in turnarounds})
    assert all(row.complete and row.pattern.bars == 2 for row in turnarounds)
    assert all(row == CATALOGUE.find(row.id) for row in turnarounds)


@pytest.mark.parametrize(
    ("name", "whole"),
    [
        ("climb", "climb+plain-five"),
        ("stay", "stay+plain-five"),
        ("raised-one", "raised-one"),
        ("late-five", "stay+late-five"),
        ("walk-up-one-four", "walk-up-one-four"),
        ("run-up", "run-up"),
        ("two-beat", "two-beat"),
    ],
)
def test_a_part_is_completed_to_what_can_be_played(name: str, whole: str) -> None:
    assert whole == CATALOGUE.completed(device(name)).id


@pytest.mark.parametrize("tail", CATALOGUE.family(Family.TAIL), ids=lambda tail: tail.id)
def test_a_tail_is_completed_by_the_first_head_that_it_goes_with(tail: Device) -> None:
    head = next(head for head in CATALOGUE.family(Family.HEAD) if goes_with(head, tail))
    assert combine(head, tail) == CATALOGUE.completed(tail)


def test_a_part_that_nothing_goes_with_is_refused() -> None:
    lonely = Catalogue((device("climb"),))
    with pytest.raises(MusicInputError, match="nothing goes with 'climb': check leads_to and fol"):
        lonely.completed(device("climb"))


# --- doubling -----------------------------------------------------------------------------------


def test_a_doubled_device_is_a_variant_with_each_quarter_as_two_eighths() -> None:
    row = device("climb+dip+doubled")
    assert "climb+dip+doubled" == row.id
    assert "climb + dip, doubled" == row.name
    assert "climb+dip" == row.variant_of
    assert "(1 1) (3 3) (4 4) (#4 #4) | (5 5) (b6 5) (5 5) (5 5) | 1" == str(row.pattern)
    assert ("climb", "dip") == (row.head, row.tail)
    assert device("climb+dip").chords == row.chords


@pytest.mark.parametrize("name", ["climb", "dip", "walk-up-one-four", "run-up", "raised-one"])
def test_the_id_of_a_doubled_device_is_that_of_the_device_and_doubled(name: str) -> None:
    row = device(f"{name}+doubled")
    assert doubled(device(name)) == row
    assert name == row.head


@pytest.mark.parametrize(
    "row",
    [
        *CATALOGUE.family(Family.HEAD, Family.TAIL),
        *CATALOGUE.turnarounds(),
    ],
    ids=lambda row: row.id,
)
def test_every_head_tail_and_turnaround_comes_doubled(row: Device) -> None:
    twice = doubled(row)
    assert len(row.pattern.tones) < len(twice.pattern.tones)
    assert row.pattern.arrival == twice.pattern.arrival


def test_a_doubled_base_pattern_is_doubled_in_every_way_it_is_played() -> None:
    walking, twice = device("walking"), device("walking+doubled")
    assert [way.doubled() for way in walking.alternatives] == list(twice.alternatives)
    assert twice.pattern == twice.alternatives[0]


@pytest.mark.parametrize("name", ["root-eighths", "last-four-twice"])
def test_what_has_no_quarters_cannot_be_doubled(name: str) -> None:
    with pytest.raises(MusicInputError, match=f"'{name}' cannot be doubled: it has no quarters"):
        doubled(device(name))


def test_a_doubled_device_cannot_be_doubled_again() -> None:
    with pytest.raises(MusicInputError, match="cannot be doubled: it has no quarters left"):
        doubled(doubled(device("climb")))


# --- finding ------------------------------------------------------------------------------------


def test_every_row_is_found_by_its_id() -> None:
    assert list(CATALOGUE.devices) == [CATALOGUE.find(row.id) for row in CATALOGUE.devices]


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("", "there is no device '': `lastbar devices` lists them all"),
        ("Climb", "there is no device 'Climb'"),
        ("doubled", "there is no device 'doubled'"),
        ("+", "there is no device ''"),
        ("climb+", "there is no device ''"),
        ("climb+polka", "there is no device 'polka'"),
        ("+doubled", "there is no device ''"),
        ("climb+dip+dip", r"there is no device 'climb\+dip\+dip': a turnaround is HEAD\+TAIL"),
        ("dip+doubled+doubled", r"one of \+doubled, \+late may come at the end"),
        ("climb+doubled+dip", r"one of \+doubled, \+late may come at the end"),
        ("dip" + "+doubled" * 5000, r"there is no device 'dip\+doubled.*…': a turnaround"),
        ("\x1b[2J\n", "there is no device '�.2J�'"),
        ("🎸", "there is no device '🎸'"),
        ("x" * 100_000, "there is no device 'x{40}…'"),
    ],
)
def test_an_unknown_device_is_refused_on_one_line(name: str, problem: str) -> None:
    with pytest.raises(MusicInputError, match=problem) as caught:
        CATALOGUE.find(name)
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 200


# --- places -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "form", "bars"),
    [
        ("walk-up-one-four", "twelve-bar", (4,)),
        ("walk-up-one-four", "quick-change", (1, 4)),
        ("walk-up-four-one", "twelve-bar", (6, 10)),
        ("walk-up-four-one", "quick-change", (2, 6, 10)),
        ("walk-up-one-five", "twelve-bar", (8,)),
        ("walk-up-five-one", "twelve-bar", ()),
        ("walk-up-five-one", "twelve-bar-five", (12,)),  # the way back to the top
        ("walk-down-five-four", "twelve-bar", (9,)),
        ("walk-up-one-four", "sixteen-bar", (8,)),
        ("walk-up-one-five", "eight-bar", (1, 5, 7)),
        ("walk-up-five-one", "eight-bar", (6, 8)),
        ("sharp-four-bar", "twelve-bar", (5,)),
        ("sharp-four-bar", "jazz-blues", (5,)),
        ("straight-four-bars", "quick-change", (5,)),  # bar 3 is one already
        ("climb+dip", "twelve-bar", (11,)),
        ("climb", "twelve-bar", (11,)),
        ("dip", "twelve-bar", (12,)),
        ("climb+dip", "eight-bar", (7,)),
        ("dip", "sixteen-bar", (16,)),
        ("run-up", "sixteen-bar", (15,)),
        ("last-four-three-times", "twelve-bar", (9,)),
        ("last-four-three-times", "eight-bar", (5,)),
        ("two-beat", "eight-bar", (1, 2, 3, 4, 5, 6, 7, 8)),
    ],
)
def test_a_device_has_places_in_a_form(name: str, form: str, bars: tuple[int, ...]) -> None:
    assert bars == places(device(name), find_form(form))


def test_a_pickup_has_no_place_in_a_bar_that_leaves_its_chord_before_the_end() -> None:
    form = find_form("twelve-bar")
    split = (*form.bars[2][:2], *form.bars[8][:2])
    assert ["I7", "I7", "V7", "V7"] == [str(chord) for chord in split]
    changed = replace(form, bars=(*form.bars[:3], split, *form.bars[4:]))
    assert (4,) == places(device("walk-up-one-four"), form)
    assert () == places(device("walk-up-one-four"), changed)


def test_a_device_that_is_longer_than_the_form_has_no_place() -> None:
    form = find_form("twelve-bar")
    short = replace(form, bars=form.bars[:3])
    assert () == places(device("last-four-once"), short)


# --- a catalogue with each field wrong in turn --------------------------------------------------

ROWS: dict[str, dict[str, str]] = {
    "head": {"family": '"head"', "bars": "[11]", "degrees": '"1 3 4 #4"', "leads_to": '"five"'},
    "tail": {
        "family": '"tail"',
        "bars": "[12]",
        "degrees": '"5 5 5 5 | 1"',
        "follows": '["one", "five"]',
    },
    "pickup": {
        "family": '"pickup"',
        "bars": "[4]",
        "degrees": '"1 2 b3 3 | 4"',
        "serves": '"I > IV"',
    },
    "ending": {
        "family": '"ending"',
        "bars": "[11]",
        "degrees": '"1 1 4 4 | 1 - - -"',
        "times": "2",
    },
    "base": {
        "family": '"base"',
        "bars": "[1]",
        "degrees": '["1 - 5 -", "1 3 5 ~"]',
        "feels": '["swing"]',
    },
}


def toml(kind: str, **changes: str | None) -> str:
    """One entry of a family with some fields changed, or left out when None."""
    fields: dict[str, str | None] = {
        "id": '"mine"',
        "name": '"my device"',
        **ROWS[kind],
        "says": '"It moves."',
        "source": '"common practice"',
        **changes,
    }
    lines = [f"{field} = {value}" for field, value in fields.items() if value is not None]
    return "\n".join(["[[device]]", *lines, ""])


@pytest.mark.parametrize("family", ROWS)
def test_an_entry_of_each_family_is_read(family: str) -> None:
    (row,) = read_catalogue(toml(family), "mine.toml").devices
    assert (family, "mine", "my device") == (row.family.value, row.id, row.name)
    assert ("It moves.", "common practice", False) == (row.says, row.source, row.minor)


def test_the_fields_of_an_entry_are_read() -> None:
    (ending,) = read_catalogue(toml("ending", chords='"I7 | IV7 I7"', minor="true"), "m").devices
    assert ((11,), 2, True) == (ending.bars, ending.times, ending.minor)
    assert ["I7", "IV7"] == [str(bar[0]) for bar in ending.chords]
    (pickup,) = read_catalogue(toml("pickup", serves='"V>I"'), "m").devices
    assert "V > I" == str(pickup.change)
    (tail,) = read_catalogue(toml("tail", follows='"one"'), "m").devices
    assert (Arrival.ONE,) == tail.follows
    (base,) = read_catalogue(toml("base"), "m").devices
    assert (Feel.SWING,) == base.feels
    assert 2 == len(base.alternatives)


WRONG = [
    # family, field, value (None: left out), what the message says
    *(
        (family, field, None, "it is missing")
        for family in ROWS
        for field in ("name", "bars", "degrees", "says", "source")
    ),
    ("head", "family", None, "it is missing"),
    ("head", "family", '"turnaround"', "'turnaround' was given: give one of head, tail, pickup"),
    ("head", "family", '"Head"', "'Head' was given"),
    ("head", "family", "1", "1 was given: give a text"),
    ("head", "name", '""', "'' was given: give a text"),
    ("head", "name", "[1]", "was given: give a text"),
    ("head", "bars", "[]", "was given: give a list of whole numbers"),
    ("head", "bars", "[0]", "give whole numbers from 1 to 12"),
    ("head", "bars", "[13]", "give whole numbers from 1 to 12"),
    ("head", "bars", '"11"', "give a list of whole numbers"),
    ("head", "bars", "[11.0]", "give a list of whole numbers"),
    ("head", "bars", "[true]", "give whole numbers from 1 to 12"),
    ("head", "degrees", "[]", "was given: give a text or a list of texts"),
    ("head", "degrees", "1344", "was given: give a text or a list of texts"),
    ("head", "degrees", '"1 3 4"', "bar 1 of '1 3 4' has 3 beats"),
    ("head", "degrees", '"1 3 4 H"', "bar 1: 'H' is no degree"),
    ("head", "degrees", '"1 3 ~ 4"', "~ belongs to base patterns"),
    ("head", "degrees", '["1 3 4 4", "1 2 3 4"]', "only a base pattern may give a list"),
    ("head", "degrees", '"1 3 4 4 | 5 5 5 5"', "leads_to 'five' goes with 1 bars, not 2"),
    ("head", "leads_to", '"own"', "leads_to 'own' goes with 2 bars, not 1"),
    ("head", "leads_to", None, "it is missing"),
    ("head", "leads_to", '"six"', "'six' was given: give one of one, five, own"),
    ("head", "leads_to", "5", "5 was given"),
    ("head", "chords", '"I7 | V7"', "2 bars of chords over 1 of degrees"),
    ("head", "chords", '"I9"', "'I9' is no chord"),
    ("head", "chords", "7", "7 was given: give a text"),
    ("head", "chords", '""', "'' was given"),
    ("head", "minor", '"yes"', "'yes' was given: give true or false"),
    ("head", "minor", "1", "1 was given: give true or false"),
    ("head", "plain", "0", "0 was given: give true or false"),
    ("head", "variant_of", '"nothing"', "there is no other device 'nothing' in this file"),
    ("head", "variant_of", '"mine"', "there is no other device 'mine' in this file"),
    ("head", "variant_of", "3", "3 was given: give a text"),
    ("head", "says", "true", "True was given"),
    ("head", "source", '"a friend"', "'a friend' was given: start with one of published:, counted"),
    ("head", "source", '"Common practice"', "was given: start with one of"),
    ("head", "source", "1975", "1975 was given"),
    ("head", "degree", '"1 3 4 #4"', "there is no such field: the fields here are bars, degrees"),
    ("head", "times", "2", "there is no such field"),
    ("head", "serves", '"I > IV"', "there is no such field"),
    ("head", "feels", '["swing"]', "there is no such field"),
    ("tail", "follows", None, "it is missing"),
    ("tail", "follows", "[]", "was given"),
    ("tail", "follows", '["own"]', "was given: give one or five"),
    ("tail", "follows", '["one", "six"]', "was given: give one or five"),
    ("tail", "degrees", '"5 5 5 5 | 5 5 5 5 | 1"', "a tail has one bar, not 2"),
    ("tail", "leads_to", '"five"', "there is no such field"),
    ("pickup", "serves", None, "it is missing"),
    ("pickup", "serves", '"I IV"', "'I IV' was given: give a change such as I > IV"),
    ("pickup", "serves", '"I > IX"', "'I > IX' was given"),
    ("pickup", "serves", '"I > IV > V"', "was given: give a change"),
    ("pickup", "serves", "14", "14 was given: give a text"),
    ("pickup", "degrees", '"1 2 b3 3"', "a pickup needs its target after the last |"),
    ("pickup", "degrees", '"1 2 b3 3 | -"', "a pickup needs its target after the last |"),
    ("ending", "times", "0", "0 was given: give a whole number from 1 to 8"),
    ("ending", "times", "9", "9 was given: give a whole number from 1 to 8"),
    ("ending", "times", "2.0", "2.0 was given: give a whole number"),
    ("ending", "times", "true", "True was given: give a whole number"),
    ("ending", "times", '"twice"', "'twice' was given: give a whole number"),
    ("base", "feels", None, "it is missing"),
    ("base", "feels", "[]", "was given"),
    ("base", "feels", '["waltz"]', "was given: give some of shuffle, straight, swing, slow"),
    ("base", "degrees", '"1 * 5 -"', r"a base pattern has no \* and no downbeat"),
    ("base", "degrees", '"1 - 5 - | 1"', r"a base pattern has no \* and no downbeat"),
    ("base", "degrees", '["1 - 5 -", "1"]', "bar 1 of '1' has 1 beats"),
    ("base", "follows", '["one"]', "there is no such field"),
]


@pytest.mark.parametrize(("family", "field", "value", "problem"), WRONG)
def test_a_wrong_field_is_named_with_its_file_and_entry(
    family: str, field: str, value: str | None, problem: str
) -> None:
    expected = rf"^mine\.toml: entry 'mine', field '{field}': .*{problem}"
    if field == "leads_to" and value == '"own"':
        expected = expected.replace("'leads_to':", "'degrees':")  # the two have to agree
    with pytest.raises(CatalogueError, match=expected) as caught:
        read_catalogue(toml(family, **{field: value}), "mine.toml")
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("value", "entry", "problem"),
    [
        (None, "number 1", "it is missing"),
        ("3", "number 1", "3 was given"),
        ('""', "''", "'' was given"),
        ('"My Device"', "'My Device'", "use small letters, digits and hyphens"),
        ('"climb+dip"', "'climb.dip'", "use small letters, digits and hyphens"),
        ('"a\\u001b[2Jb"', "'a�.2Jb'", "use small letters, digits and hyphens"),
    ],
)
def test_a_wrong_id_is_named_by_its_place(value: str | None, entry: str, problem: str) -> None:
    with pytest.raises(CatalogueError, match=f"entry {entry}, field 'id': .*{problem}") as caught:
        read_catalogue(toml("head", id=value), "mine.toml")
    assert str(caught.value).isprintable()


def test_the_entry_that_is_wrong_is_the_one_that_is_named() -> None:
    text = toml("head") + toml("tail", id='"other"', follows='["six"]')
    with pytest.raises(CatalogueError, match="entry 'other', field 'follows'"):
        read_catalogue(text, "mine.toml")


def test_two_entries_of_one_id_are_refused() -> None:
    with pytest.raises(CatalogueError, match="entry 'mine', field 'id': it is used twice"):
        read_catalogue(toml("head") + toml("tail"), "mine.toml")


def test_a_variant_may_stand_before_the_device_that_it_varies() -> None:
    text = toml("head", variant_of='"later"') + toml("head", id='"later"')
    first, _ = read_catalogue(text, "mine.toml").devices
    assert "later" == first.variant_of


@pytest.mark.parametrize(
    "text", ["", "not toml", '[[form]]\nid = "a"\n', '[device]\nid = "a"\n', "[[device]]\nid = "]
)
def test_a_file_that_is_no_catalogue_is_refused_by_name(text: str) -> None:
    with pytest.raises(CatalogueError, match=r"^mine\.toml: "):
        read_catalogue(text, "mine.toml")
