"""Laws of the neck: paths against brute force, every figure on every tuning, places as text."""

from dataclasses import replace
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.catalogue import builtin_catalogue
from engine.errors import MusicInputError
from engine.figure import Figure, figure, paths
from engine.frets import format_positions, parse_positions
from engine.neck import (
    MOST_FRETS,
    TUNINGS,
    Neck,
    OpenStrings,
    Position,
    Tuning,
    fingerings,
    path_cost,
    placed,
    positions,
    sounding,
)
from engine.notation import NoteNames
from engine.pattern import Spot
from engine.textures import Texture
from engine.theory import OCTAVE, PLAYED_KEYS
from engine.tunings import own_tuning
from quiz.answers import Verdict
from quiz.neck.notes import beats_before, neck_notes, pattern_spot
from quiz.neck.paths import compared
from quiz.questions.excerpts import question_line
from quiz.questions.generator import make_question
from quiz.questions.kinds import Kind
from quiz.questions.value import Question, asked_device
from quiz.questions.wishes import Asked
from tests.laws.strategies import AWKWARD_TEXTS
from tests.quiz.asking import CATALOGUE, answered, every_item, on_rung

SHORT_NECK = 7
"""Frets: few enough for trying out every hand."""

DEVICES = builtin_catalogue().devices

necks = st.builds(
    Neck, st.sampled_from(TUNINGS), st.integers(20, MOST_FRETS), st.sampled_from(OpenStrings)
)


def is_on(neck: Neck, place: Position) -> bool:
    return place.string in range(len(neck.tuning.strings)) and place.fret in range(neck.frets + 1)


def brute_force(line: tuple[Position, ...], neck: Neck) -> float:
    """What a path costs at least: every hand for every note, one by one, by the words of the
    rules."""
    cost = path_cost(neck)
    fixed = sum(cost.height * place.fret for place in line)
    fixed += sum(cost.open_string for place in line if place.fret == 0)
    fixed += sum(cost.crossing * abs(a.string - b.string) for a, b in pairwise(line))
    hands = [
        [
            (hand, cost.stretch * (place.fret - hand == 4))
            for hand in range(1, neck.frets - 2)
            if place.fret == 0 or 0 <= place.fret - hand <= 4
        ]
        for place in line
    ]
    return fixed + min(
        sum(stretch for _, stretch in held)
        + cost.shift * sum(abs(a[0] - b[0]) for a, b in pairwise(held))
        for held in product(*hands)
    )


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(28, 50), min_size=1, max_size=5), st.sampled_from(OpenStrings))
def test_the_first_path_never_costs_more_than_brute_force(
    pitches: list[int], wish: OpenStrings
) -> None:
    neck = Neck(frets=SHORT_NECK, open_strings=wish)
    every = product(*(positions(pitch, neck.tuning, SHORT_NECK) for pitch in pitches))
    (best,) = fingerings(pitches, neck.tuning, SHORT_NECK, path_cost(neck), best=1)
    assert min(brute_force(line, neck) for line in every) == pytest.approx(best.cost)


@given(necks, st.lists(st.integers(33, 60), min_size=1, max_size=12), st.integers(1, 6))
def test_paths_sound_their_notes_and_come_in_order_and_all_differ(
    neck: Neck, pitches: list[int], best: int
) -> None:
    found = fingerings(pitches, neck.tuning, neck.frets, path_cost(neck), best)
    assert 1 <= len(found) <= best
    assert len(found) == len({one.positions for one in found})
    for one in found:
        assert pitches == [sounding(place, neck.tuning) for place in one.positions]
        assert all(is_on(neck, place) for place in one.positions)
        assert one == placed(one.positions, neck.frets, path_cost(neck))
        hands = zip(one.positions, one.hands, strict=True)
        assert all(place.fret == 0 or 0 <= place.fret - hand <= 4 for place, hand in hands)
        assert one.movement == sum(abs(a - b) for a, b in pairwise(one.hands))
    costs = [round(one.cost, 9) for one in found]
    assert sorted(costs) == costs


@given(necks, st.lists(st.integers(33, 60), min_size=1, max_size=8), st.data())
def test_what_a_player_plays_costs_no_less_than_the_first_path(
    neck: Neck, pitches: list[int], data: st.DataObject
) -> None:
    line = [
        data.draw(st.sampled_from(positions(pitch, neck.tuning, neck.frets))) for pitch in pitches
    ]
    (best,) = fingerings(pitches, neck.tuning, neck.frets, path_cost(neck), best=1)
    assert best.cost <= placed(line, neck.frets, path_cost(neck)).cost + 1e-9


HINTS = {
    1: "an octave higher the whole line fits",
    -1: "an octave lower the whole line fits",
    2: "2 octaves higher the whole line fits",
}


def lies(drawn: Figure, octaves: int, tuning: Tuning) -> bool:
    """Whether a figure lies on the neck when it is moved by octaves."""
    return all(positions(pitch + OCTAVE * octaves, tuning) for pitch in drawn.pitches)


HIGH = own_tuning("high", ["E2", "A2", "D3", "G3"])
NARROW = own_tuning("narrow", ["E1", "F1", "Gb1"])


@pytest.mark.parametrize("tuning", [*TUNINGS, HIGH, NARROW], ids=lambda tuning: tuning.id)
def test_every_figure_in_every_key_has_a_path_or_the_note_off_the_neck_is_named(
    tuning: Tuning,
) -> None:
    neck, off = Neck(tuning), 0
    for device, key in product(DEVICES, PLAYED_KEYS):
        drawn = figure(device, key)
        lost = [note for note in drawn.notes if not positions(note.midi, tuning)]
        if lost:
            off += 1
            with pytest.raises(MusicInputError) as refused:
                paths(drawn, neck)
            words = str(refused.value)
            assert words.startswith(f"MIDI note {lost[0].midi} is off the neck: {tuning.name}")
            assert words.endswith(
                f"it is the {lost[0].note} ({lost[0].degree}) of '{device.name}' in {key}"
            )
            fitting = [octaves for octaves in (1, -1, 2, -2) if lies(drawn, octaves, tuning)]
            hint = HINTS[fitting[0]] if fitting else "no octave fits"
            assert f"; {hint}; " in words
        else:
            found = paths(drawn, neck, best=1)[0].positions
            assert list(drawn.pitches) == [sounding(place, tuning) for place in found]
    assert (off > 0) is (tuning in (HIGH, NARROW))


@given(necks, st.data(), st.sampled_from(NoteNames))
def test_places_that_are_written_are_read_again(
    neck: Neck, data: st.DataObject, names: NoteNames
) -> None:
    place = st.builds(
        Position,
        st.integers(0, len(neck.tuning.strings) - 1),
        st.integers(0, neck.frets),
    )
    line = tuple(data.draw(st.lists(place, min_size=1, max_size=20)))
    assert line == parse_positions(format_positions(line, neck.tuning), neck, names)
    count = len(neck.tuning.strings)
    numbered = " ".join(f"{count - place.string}/{place.fret}" for place in line)
    assert line == parse_positions(numbered, neck, names)


def read(text: str, neck: Neck) -> tuple[Position, ...] | str:
    try:
        return parse_positions(text, neck)
    except MusicInputError as error:
        return str(error)


@given(st.one_of(st.text(max_size=60), st.sampled_from(AWKWARD_TEXTS)), necks)
def test_any_text_is_read_or_refused_in_one_line(text: str, neck: Neck) -> None:
    line = read(text, neck)
    if isinstance(line, str):
        assert line.isprintable()
    else:
        assert line
        assert all(is_on(neck, place) for place in line)


FIND_ITEMS = [row.id for row in every_item(Kind.FIND)]


@st.composite
def found(draw: st.DrawFn) -> Question:
    """A question on the neck."""
    asked = Asked(draw(st.sampled_from(FIND_ITEMS)), Kind.FIND, draw(st.sampled_from(PLAYED_KEYS)))
    wishes = replace(
        on_rung(Kind.FIND, draw(st.integers(0, 3))), neck=draw(necks), texture=Texture.BAND
    )
    return make_question(asked, wishes, CATALOGUE, draw(st.integers(0, 2**40)))


@settings(max_examples=60)
@given(found(), st.data())
def test_any_places_of_the_right_notes_are_right_and_a_fret_beside_one_is_not(
    question: Question, data: st.DataObject
) -> None:
    neck, line = question.own_neck, []
    for note in neck_notes(question, CATALOGUE):
        octaves = (0,) if question.octave_counts else (-OCTAVE, 0, OCTAVE)
        there = [
            place
            for octave in octaves
            for place in positions(note.midi + octave, neck.tuning, neck.frets)
        ]
        line.append(data.draw(st.sampled_from(there)))
    grade = answered(question, format_positions(line, neck.tuning))
    assert (Verdict.RIGHT, 1.0) == (grade.verdict, grade.score)
    beside = data.draw(st.integers(0, len(line) - 2))
    at = line[beside]
    line[beside] = Position(at.string, at.fret + (1 if at.fret < neck.frets else -1))
    grade = answered(question, format_positions(line, neck.tuning))
    assert Verdict.RIGHT is not grade.verdict
    assert grade.score < 1


@settings(max_examples=60)
@given(found())
def test_a_question_on_the_neck_sounds_at_the_pitches_that_it_asks_for(question: Question) -> None:
    part = CATALOGUE.find(question.item)
    played = [note for note in question_line(question, CATALOGUE) if note.device == question.device]
    device, start = asked_device(question, CATALOGUE), question.bar - question.first
    sounds = {pattern_spot(note, device, start): note.event.midi for note in played}
    for note in neck_notes(question, CATALOGUE):
        there = Spot(note.spot.beat + beats_before(part), note.spot.offbeat)
        assert note.midi == sounds.get(there, note.midi)
    first = part.pattern.strikes[0]
    assert Spot(first.beat + beats_before(part), first.offbeat) in sounds
    assert min(sounds.values()) >= question.low


@settings(max_examples=60)
@given(found())
def test_a_better_path_is_never_dearer_and_sounds_the_same(question: Question) -> None:
    neck = question.own_neck
    highest = [
        max(positions(note.midi, neck.tuning, neck.frets), key=lambda place: place.fret)
        for note in neck_notes(question, CATALOGUE)
    ]
    both = compared(question, answered(question, format_positions(highest, neck.tuning)), CATALOGUE)
    assert both.mine is not None
    assert both.ranked[0].cost <= both.mine.cost + 1e-9
    assert [sounding(place, neck.tuning) for place in highest] == [
        sounding(place, neck.tuning) for place in both.shown
    ]
    assert (both.better is None) == (both.ranked[0].cost > both.mine.cost - 1e-6)
