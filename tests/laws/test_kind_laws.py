"""Laws of every kind of question, over all items, keys, rungs and many seeds.

What is heard is read from the notes of the line that is played, `write_line`, not from the outlines
that the generator compares.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import chain, combinations, cycle, product

import pytest

from engine.agreement import BandBeat, BassBeat, Clash, ClashKind, agreement, bass_beats
from engine.catalogue import Device, places
from engine.comping import comping_track
from engine.line import LineNote, write_line
from engine.score import ELECTRIC_PIANO
from engine.theory import OCTAVE, PLAYED_KEYS, Key
from engine.timing import BEATS_PER_BAR, TICKS_PER_BAR
from quiz.answers import Verdict
from quiz.grading.marking import right_bars, right_ticks
from quiz.grading.replies import listed, right_reply
from quiz.questions.excerpts import (
    Accompaniment,
    Excerpt,
    chorus_plan,
    question_compass,
    question_line,
    question_plan,
)
from quiz.questions.generator import make_question
from quiz.questions.kinds import KINDS, ROUND_KINDS, By, Kind
from quiz.questions.rungs import LADDERS
from quiz.questions.value import Question, from_parameters, parameters, placements
from quiz.questions.wishes import Asked
from tests.quiz.asking import CATALOGUE, answered, every_row, on_rung

COUNTS = {
    Kind.NAME: 1600,
    Kind.WRITE: 800,
    Kind.SPELL: 400,
    Kind.FIND: 400,
    Kind.PLAY: 300,
    Kind.PLACE: 1200,
    Kind.FIT: 900,
    Kind.FORM: 800,
}
"""Questions of each kind; with those of the other laws about ten thousand."""


def asked_everywhere(kind: Kind) -> Iterator[tuple[Asked, int]]:
    """Every item on every rung, over and over, the key and both parts open going round beside."""
    rungs = range(len(LADDERS.get(kind, ())) or 1)
    pairs = product(rungs, (row.id for row in every_row(kind)))
    for turn, (rung, row) in enumerate(cycle(list(pairs))):
        in_key = PLAYED_KEYS[(turn * 5 + turn // 12) % 12]
        yield Asked(row, kind, in_key, both_vary=turn % 3 == 0), rung


def generated(kind: Kind, count: int) -> list[Question]:
    asked = zip(asked_everywhere(kind), range(count), strict=False)
    return [
        make_question(asking, on_rung(kind, rung), CATALOGUE, 7919 * seed + 1)
        for (asking, rung), seed in asked
    ]


@pytest.fixture(scope="module")
def questions() -> dict[Kind, list[Question]]:
    return {kind: generated(kind, count) for kind, count in COUNTS.items()}


def some(questions: list[Question], count: int) -> list[Question]:
    """So many of them, spread over all."""
    return questions[:: max(1, len(questions) // count)]


# --- what is heard, from the notes --------------------------------------------------------------

Heard = tuple[tuple[int, int], ...]
"""(tick, pitch class) of notes, in order."""


def strikes(line: Iterable[LineNote]) -> Heard:
    """Every note of a line."""
    return tuple((note.event.start, note.event.midi % OCTAVE) for note in line)


def changes(line: Iterable[LineNote]) -> Heard:
    """The notes that bring another pitch class than the one before."""
    kept: list[tuple[int, int]] = []
    for start, pitch_class in strikes(line):
        if not kept or kept[-1][1] != pitch_class:
            kept.append((start, pitch_class))
    return tuple(kept)


def line_of(question: Question, device: Device) -> tuple[LineNote, ...]:
    return question_line(question, CATALOGUE, device)


def sounding(line: Iterable[LineNote], ticks: int) -> list[int]:
    """The pitch class that was struck last, for each twelfth of a bar; -1 before the first note."""
    step = TICKS_PER_BAR // 12
    struck = sorted(strikes(line))
    heard, now, place = [], -1, 0
    for tick in range(0, ticks, step):
        while place < len(struck) and struck[place][0] < tick + step:
            now, place = struck[place][1], place + 1
        heard.append(now)
    return heard


# --- every kind ---------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_the_own_right_answer_grades_right(
    kind: Kind, questions: dict[Kind, list[Question]]
) -> None:
    for question in questions[kind]:
        grade = answered(question, right_reply(question, CATALOGUE))
        assert (Verdict.RIGHT, 1.0) == (grade.verdict, grade.score), question


CHOICES = [kind for kind in ROUND_KINDS if KINDS[kind].answered is By.CHOICE]


@pytest.mark.parametrize("kind", CHOICES)
def test_every_other_pick_does_not(kind: Kind, questions: dict[Kind, list[Question]]) -> None:
    for question in questions[kind]:
        assert 1 == question.picks.count(question.right), question
        for pick in question.picks:
            grade = answered(question, pick)
            assert (pick == question.right) == (grade.verdict is Verdict.RIGHT), (question, pick)
            assert (pick == question.right) == (grade.score == 1.0)


def test_every_other_set_of_ticks_does_not(questions: dict[Kind, list[Question]]) -> None:
    for question in some(questions[Kind.FIT], 70):
        right = set(right_ticks(question, CATALOGUE))
        sizes = range(len(question.options) + 1)
        every = chain.from_iterable(combinations(question.options, size) for size in sizes)
        for ticked in every:
            grade = answered(question, listed(ticked))
            assert (set(ticked) == right) == (grade.verdict is Verdict.RIGHT), (question, ticked)


def test_every_bar_more_or_less_does_not(questions: dict[Kind, list[Question]]) -> None:
    for question in some(questions[Kind.PLACE], 120):
        right = set(right_bars(question, CATALOGUE))
        for bar in range(1, len(CATALOGUE.form(question.form)) + 1):
            grade = answered(question, listed([str(one) for one in right ^ {bar}]))
            assert Verdict.RIGHT is not grade.verdict, (question, bar)
            assert grade.score < 1.0


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_parameters_and_from_parameters_are_inverses(
    kind: Kind, questions: dict[Kind, list[Question]]
) -> None:
    for question in questions[kind]:
        text = parameters(question)
        assert question == from_parameters(text)
        assert text == parameters(from_parameters(text))


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_the_same_wish_and_seed_give_the_same_question(
    kind: Kind, questions: dict[Kind, list[Question]]
) -> None:
    again = generated(kind, 150)
    assert questions[kind][:150] == again


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_a_question_sounds_the_same_when_it_is_opened_again(
    kind: Kind, questions: dict[Kind, list[Question]]
) -> None:
    for question in some(questions[kind], 40):
        again = from_parameters(parameters(question))
        assert Excerpt(question).passage(CATALOGUE) == Excerpt(again).passage(CATALOGUE)


@pytest.mark.parametrize("kind", ROUND_KINDS)
def test_every_item_every_key_and_every_rung_is_asked(
    kind: Kind, questions: dict[Kind, list[Question]]
) -> None:
    asked = questions[kind]
    assert {row.id for row in every_row(kind)} == {question.item for question in asked}
    assert {key.tonic for key in PLAYED_KEYS} == {question.key.tonic for question in asked}
    ladder = LADDERS.get(kind, ())
    assert set(range(len(ladder))) or {-1} == {question.rung for question in asked}
    for place, rung in enumerate(ladder):
        on_it = [question for question in asked if question.rung == place]
        assert {(rung.texture.value, rung.key_given, rung.playings)} == {
            (question.texture, question.key_given, question.playings) for question in on_it
        }


# --- name ---------------------------------------------------------------------------------------


def test_no_two_options_sound_the_same(questions: dict[Kind, list[Question]]) -> None:
    for question in some(questions[Kind.NAME], 400):
        heard = [changes(line_of(question, CATALOGUE.find(one))) for one in question.options]
        assert len(heard) == len(set(heard)), question


def ways(question: Question, option: str) -> list[Device]:
    """The ways in which an option may come: as it is, and where variants may come in each."""
    device = CATALOGUE.find(option)
    form = CATALOGUE.form(question.form)
    standing = [way for way in CATALOGUE.variants(device) if question.bar in places(way, form)]
    return [device, *standing]


def test_no_variant_of_an_option_sounds_like_another_option_or_its_variants(
    questions: dict[Kind, list[Question]],
) -> None:
    varying = [question for question in questions[Kind.NAME] if question.variants]
    assert len(varying) > 300
    for question in some(varying, 90):
        seen: set[Heard] = set()
        for option in question.options:
            heard = {changes(line_of(question, way)) for way in ways(question, option)}
            assert not heard & seen, (question, option)
            seen |= heard


def test_a_variant_that_is_played_is_one_of_its_figures_and_no_other_sound_of_it(
    questions: dict[Kind, list[Question]],
) -> None:
    came = [question for question in questions[Kind.NAME] if question.varies]
    assert len(came) > 150
    kinds = Counter[str]()
    for question in came:
        plain, played = CATALOGUE.find(question.varies), CATALOGUE.find(question.device)
        assert played in CATALOGUE.variants(plain)
        theirs, mine = line_of(question, plain), line_of(question, played)
        doubled = question.device.endswith("+doubled")
        assert (strikes(theirs) != strikes(mine)) if doubled else changes(theirs) != changes(mine)
        kinds[question.device.rpartition("+")[2] if "+" in question.device else "row"] += 1
    assert {"doubled", "late"} <= set(kinds)


def test_in_the_upper_register_every_line_lies_from_a2_up(
    questions: dict[Kind, list[Question]],
) -> None:
    upper = [
        question
        for question in questions[Kind.NAME] + questions[Kind.WRITE]
        if question.register == "upper"
    ]
    assert len(upper) > 80
    for question in upper:
        heights = [note.event.midi for note in question_line(question, CATALOGUE)]
        assert 45 <= min(heights) <= max(heights) <= 63, question


# --- place --------------------------------------------------------------------------------------


def test_the_bars_to_mark_are_those_in_which_the_bass_strikes_something_else(
    questions: dict[Kind, list[Question]],
) -> None:
    for question in some(questions[Kind.PLACE], 600):
        played = question_line(question, CATALOGUE)
        plan = chorus_plan(question, CATALOGUE, plain=True)
        plain = write_line(plan, question.seed, question_compass(question))
        apart = set(strikes(played)) ^ set(strikes(plain))
        bars = {start // TICKS_PER_BAR for start, _ in apart}  # the count-in is bar 0
        assert bars == set(right_bars(question, CATALOGUE)), question
        ticks = (len(CATALOGUE.form(question.form)) + 2) * TICKS_PER_BAR
        heard = zip(sounding(played, ticks), sounding(plain, ticks), strict=True)
        other = {place // 12 for place, (one, two) in enumerate(heard) if one != two}
        assert bars == other, question  # and every one of them can be heard as pitches


def test_the_bars_to_mark_are_those_of_what_was_placed(
    questions: dict[Kind, list[Question]],
) -> None:
    held = Counter[int]()
    for question in questions[Kind.PLACE]:
        bars = [
            bar + offset
            for bar, name in placements(question)
            for offset in range(CATALOGUE.find(name).pattern.bars)
        ]
        assert tuple(sorted(bars)) == right_bars(question, CATALOGUE), question
        held[len(question.placed)] += 1
    assert {0, 1, 2, 3, 4} == set(held)  # nothing, one to three pickups, a turnaround beside


# --- fit ----------------------------------------------------------------------------------------


def test_no_two_figures_to_tick_sound_the_same(questions: dict[Kind, list[Question]]) -> None:
    for question in some(questions[Kind.FIT], 250):
        heard = [changes(line_of(question, CATALOGUE.find(one))) for one in question.options]
        assert len(heard) == len(set(heard)), question


def test_at_least_one_figure_agrees_and_one_is_never_all_there_is(
    questions: dict[Kind, list[Question]],
) -> None:
    for question in questions[Kind.FIT]:
        assert 1 <= len(right_ticks(question, CATALOGUE))
        assert 2 <= len(question.options) == len(set(question.options))


def in_key(question: Question, key: Key) -> Question:
    return replace(question, key=Key(key.tonic, question.key.minor))


def over_the_tonic(clash: Clash, key: Key) -> Clash:
    """A clash with its notes counted from the tonic."""
    bass, against = (
        (pitch - key.tonic.pitch_class) % OCTAVE for pitch in (clash.bass, clash.against)
    )
    return clash._replace(bass=bass, against=against)


def clashes(question: Question, option: str) -> list[Clash]:
    found = Accompaniment.of(question, CATALOGUE).clashes(CATALOGUE.find(option))
    return [over_the_tonic(clash, question.key) for clash in found]


def voices(question: Question) -> list[frozenset[int]]:
    """What the keys sound in each beat, counted from the tonic."""
    tonic = question.key.tonic.pitch_class
    beats = Accompaniment.of(question, CATALOGUE).beats
    return [frozenset((voice - tonic) % OCTAVE for voice in beat.voices) for beat in beats]


def test_notes_foreign_to_the_chord_are_the_same_in_every_key(
    questions: dict[Kind, list[Question]],
) -> None:
    # they depend on the chords alone, and those are degrees
    for question, key in product(some(questions[Kind.FIT], 25), PLAYED_KEYS):
        for option in question.options:
            mine, theirs = (
                [clash for clash in clashes(one, option) if clash.kind is ClashKind.STRANGER]
                for one in (question, in_key(question, key))
            )
            assert mine == theirs, (question, option, key)


def test_where_the_keys_sound_the_same_over_the_tonic_the_same_figures_agree(
    questions: dict[Kind, list[Question]],
) -> None:
    # a hand that reaches another inversion in another key may leave a voice out or add one
    same = 0
    for question, key in product(some(questions[Kind.FIT], 40), PLAYED_KEYS):
        there = in_key(question, key)
        if voices(question) == voices(there):
            same += 1
            assert right_ticks(question, CATALOGUE) == right_ticks(there, CATALOGUE), question
    assert same > 200


def test_the_whole_verdict_is_the_same_when_bass_and_band_are_transposed_together(
    questions: dict[Kind, list[Question]],
) -> None:
    for question, up in product(some(questions[Kind.FIT], 20), range(1, OCTAVE)):
        band = Accompaniment.of(question, CATALOGUE).beats
        for option in question.options:
            bass = bass_beats(CATALOGUE.find(option).pattern, question.key.tonic)
            home = agreement(bass, band)
            away = agreement(
                [BassBeat(tuple(moved(beat.notes, up))) for beat in bass],
                [
                    BandBeat(frozenset(moved(beat.tones, up)), frozenset(moved(beat.voices, up)))
                    for beat in band
                ],
            )
            assert [
                clash._replace(
                    bass=(clash.bass + up) % OCTAVE, against=(clash.against + up) % OCTAVE
                )
                for clash in home
            ] == list(away)


def moved(pitch_classes: Iterable[int], up: int) -> list[int]:
    return [(pitch + up) % OCTAVE for pitch in pitch_classes]


def test_the_band_that_is_judged_is_the_band_that_is_heard(
    questions: dict[Kind, list[Question]],
) -> None:
    for question in some(questions[Kind.FIT], 60):
        plan, score = Excerpt(question).passage(CATALOGUE)
        keys = next(track for track in score.tracks if track.part.name == "KEYS")
        start = plan.placements[0].bar + 1  # the count-in
        beats = Accompaniment.of(question, CATALOGUE).beats
        for bar in (0, 1):
            heard = {
                note.midi % OCTAVE
                for note in keys.notes
                if note.end > (start + bar) * TICKS_PER_BAR + TICKS_PER_BAR // 16
                and note.start < (start + bar + 1) * TICKS_PER_BAR - TICKS_PER_BAR // 16
            }
            judged = beats[bar * BEATS_PER_BAR : (bar + 1) * BEATS_PER_BAR]
            assert set().union(*(beat.voices for beat in judged)) == heard, question


# --- form ---------------------------------------------------------------------------------------


def test_no_two_forms_that_are_offered_have_the_same_chords(
    questions: dict[Kind, list[Question]],
) -> None:
    for question in questions[Kind.FORM]:
        tonic = question.key.tonic
        heard = {
            tuple(chord.pitch_classes(tonic) for bar in CATALOGUE.form(one).bars for chord in bar)
            for one in question.options
        }
        assert len(question.options) == len(heard), question


def test_no_two_forms_that_are_offered_sound_the_same_in_the_keys(
    questions: dict[Kind, list[Question]],
) -> None:
    for question in some(questions[Kind.FORM], 45):
        heard = set()
        for option in question.options:
            form = CATALOGUE.form(option)
            there = replace(
                question,
                form=option,
                key=Key(question.key.tonic, form.minor),
                last=len(form),
            )
            track = comping_track(
                question_plan(there, CATALOGUE), (), ELECTRIC_PIANO, question.seed, False
            )
            heard.add(tuple((note.start, note.midi % OCTAVE) for note in track.notes))
        assert len(question.options) == len(heard), question


def test_a_called_form_is_played_as_it_is_written(questions: dict[Kind, list[Question]]) -> None:
    for question in some(questions[Kind.FORM], 90):
        form = CATALOGUE.form(question.form)
        plan = question_plan(question, CATALOGUE)
        assert form.minor is question.key.minor
        assert () == plan.placements
        assert list(form.bars) == [bar.chords for bar in plan.bars[:-1]], question
