"""What an open jam plays: figures that can be told apart, keys that move, calls that are kept."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import combinations, islice, pairwise

import pytest

from engine.catalogue import Catalogue, Device, Family, places
from engine.feels import FEELS, Feel
from engine.forms import Form
from engine.jam import Leg, leg_score
from engine.jam_places import Cue, cues
from engine.line import write_line
from engine.plan import COUNT_IN_BARS, plan_choruses
from engine.score import NoteEvent, Part, Score
from engine.textures import Texture
from engine.theory import PLAYED_KEYS, Key, Note
from engine.timing import TICKS_PER_BAR, TICKS_PER_BEAT
from quiz.errors import QuestionError
from quiz.learning.memory import Item
from quiz.learning.practice import Practice
from quiz.learning.reach import START_TEMPO, Reaches
from quiz.questions.excerpts import Excerpt
from quiz.questions.kinds import Kind
from quiz.questions.value import from_parameters, parameters
from quiz.setlist import (
    BARS_APART,
    PICKUPS,
    TURNAROUNDS,
    Circumstances,
    Setlist,
    circumstances,
    row_of,
)
from quiz.settings.values import KEY_NAMES, Settings
from tests.quiz.asking import CATALOGUE, key
from tests.quiz.histories import an_answer

PLAIN = Circumstances(tempo=100.0)
LINES = ((key("F"), 1), (key("F"), 2), (key("F"), 3), (key("B"), 4))
"""Keys and seeds of the lines by which figures are told apart."""

MAJORS = tuple(form for form in CATALOGUE.forms if not form.minor)
BASES = CATALOGUE.family(Family.BASE)

Changes = tuple[tuple[int, int], ...]
"""(ticks, pitch class), whenever another pitch class comes."""


@cache
def over(form: Form, base: Device) -> Setlist:
    """A jam over one form and one base pattern: no other is there to be drawn."""
    rows = (row for row in CATALOGUE.devices if row.family is not Family.BASE or row == base)
    return Setlist(Catalogue(tuple(rows), (form,)), PLAIN, 1)


@cache
def jam(seed: int) -> tuple[Setlist, tuple[Leg, ...]]:
    """A jam and its first legs."""
    setlist = Setlist(CATALOGUE, PLAIN, seed)
    return setlist, tuple(islice(setlist.legs(), 4))


@cache
def long_jam() -> tuple[Setlist, tuple[Leg, ...]]:
    """A jam with many legs."""
    setlist = Setlist(CATALOGUE, PLAIN, 1)
    return setlist, tuple(islice(setlist.legs(), 60))


def is_pickup(device: Device) -> bool:
    return device.family is Family.PICKUP


def stands(device: Device, form: Form) -> Iterable[int]:
    """Where a jam may put a figure: its places, of pickups only those with a turnaround still well
    ahead."""
    turn = len(form) - 1
    return [
        bar
        for bar in places(device, form)
        if not is_pickup(device) or bar + device.pattern.bars + BARS_APART <= turn
    ]


@cache
def heard(setlist: Setlist, device: Device | None, bar: int, in_key: Key, seed: int) -> Changes:
    """What an ear that hears pitches and no octaves follows in a chorus, from the notes alone."""
    made = setlist.settings
    held = [] if device is None else [(0, bar, device)]
    plan = plan_choruses(made.form, in_key, made.feel, made.tempo, made.base, held)
    changes: list[tuple[int, int]] = []
    for note in write_line(plan, seed, made.compass):
        pitch_class = note.event.midi % 12
        if not changes or changes[-1][1] != pitch_class:
            changes.append((note.event.start, pitch_class))
    return tuple(changes)


# --- the figures ----------------------------------------------------------------------------------


@pytest.mark.parametrize("base", BASES, ids=lambda base: base.id)
@pytest.mark.parametrize("form", MAJORS, ids=lambda form: form.id)
def test_no_two_figures_that_can_stand_in_one_place_sound_the_same(
    form: Form, base: Device
) -> None:
    setlist = over(form, base)
    compared = 0
    for one, other in combinations(setlist.figures, 2):
        for bar in set(stands(one, form)) & set(stands(other, form)):
            for in_key, seed in LINES:
                compared += 1
                assert heard(setlist, one, bar, in_key, seed) != heard(
                    setlist, other, bar, in_key, seed
                ), (one.id, other.id, bar, str(in_key), seed)
    assert compared >= 6 * len(LINES)  # four turnarounds are six pairs


def bass_alone(leg: Leg) -> Leg:
    """The same leg with nobody else playing: much quicker to write out."""
    return replace(leg, settings=replace(leg.settings, texture=Texture.BASS))


def bass(leg: Leg) -> Changes:
    """What the bass of a leg does, as far as an ear follows it."""
    track = leg_score(leg).track(Part.BASS)
    assert track is not None
    struck = [(int(note.start), note.midi % 12) for note in track.notes]
    return tuple(note for before, note in pairwise([(0, -1), *struck]) if before[1] != note[1])


@pytest.mark.parametrize("seed", range(4))
def test_in_the_jam_itself_every_other_figure_would_have_sounded_different(seed: int) -> None:
    setlist, legs = jam(seed)
    form = setlist.settings.form
    swapped = 0
    for leg in legs[:2]:
        played, alone = bass(leg), bass_alone(leg)
        assert played == bass(alone)  # so the others may be compared without the band
        for place, row in enumerate(leg.placed):
            for other in setlist.figures:
                if other != row.device and row.bar in stands(other, form):
                    rows = list(leg.placed)
                    rows[place] = row._replace(device=other)
                    assert played != bass(replace(alone, placed=tuple(rows))), (row, other.id)
                    swapped += 1
    assert swapped >= 12


@pytest.mark.parametrize("base", BASES, ids=lambda base: base.id)
@pytest.mark.parametrize("form", MAJORS, ids=lambda form: form.id)
def test_every_figure_but_the_one_where_nothing_happens_sounds_different_from_the_bare_chorus(
    form: Form, base: Device
) -> None:
    setlist = over(form, base)
    for figure in setlist.figures:
        if row_of(figure, CATALOGUE).plain:
            continue
        for bar in stands(figure, form):
            for in_key, seed in LINES:
                bare = heard(setlist, None, 1, in_key, seed)
                assert bare != heard(setlist, figure, bar, in_key, seed), (figure.id, bar)


@pytest.mark.parametrize("base", BASES, ids=lambda base: base.id)
@pytest.mark.parametrize("form", MAJORS, ids=lambda form: form.id)
def test_no_turnaround_at_all_is_among_the_figures(form: Form, base: Device) -> None:
    rows = [row_of(figure, CATALOGUE) for figure in over(form, base).figures]
    assert ["stay-on-one"] == [row.id for row in rows if row.plain]


@pytest.mark.parametrize("seed", range(12))
def test_a_jam_has_a_handful_of_figures_turnarounds_first(seed: int) -> None:
    setlist, _ = jam(seed)
    families = [is_pickup(figure) for figure in setlist.figures]
    assert [False] * TURNAROUNDS + [True] * PICKUPS == families
    assert len(set(setlist.figures)) == len(setlist.figures)


def test_known_figures_come_before_others() -> None:
    known = ("long-climb", "walk-down-four-one", "one-six-two-five")
    figures = Setlist(CATALOGUE, replace(PLAIN, favoured=known), 1).figures
    turnarounds = [figure.id for figure in figures if not is_pickup(figure)]
    assert ["stay+stay-on-one", "long-climb", "one-six-two-five"] == turnarounds[:3]
    assert "walk-down-four-one" == next(figure.id for figure in figures if is_pickup(figure))


def test_what_is_known_but_cannot_be_a_figure_does_no_harm() -> None:
    odd = ("climb-flat-third", "stay-on-one", "boogie", "minor-blues", "nothing-of-the-kind")
    assert Setlist(CATALOGUE, PLAIN, 1).figures == (
        Setlist(CATALOGUE, replace(PLAIN, favoured=odd), 1).figures
    )


@pytest.mark.parametrize("seed", range(40))
def test_the_form_is_never_a_minor_one(seed: int) -> None:
    assert not Setlist(CATALOGUE, PLAIN, seed).settings.form.minor


# --- few rows -------------------------------------------------------------------------------------


def only(*ids: str) -> Catalogue:
    """A catalogue of these rows and all base patterns."""
    return Catalogue(tuple(row for row in CATALOGUE.devices if row in BASES or row.id in ids))


def test_two_figures_are_enough() -> None:
    figures = Setlist(only("climb", "fall", "plain-five"), PLAIN, 1).figures
    assert ["climb+plain-five", "fall+plain-five"] == [figure.id for figure in figures]


@pytest.mark.parametrize(
    "rows",
    [
        (),
        ("climb", "plain-five"),
        ("walk-up-one-four",),
        ("walk-up-one-four", "walk-up-four-one"),  # pickups alone leave choruses with nothing
    ],
)
def test_too_few_rows_are_told_with_the_form(rows: tuple[str, ...]) -> None:
    with pytest.raises(QuestionError, match="there are not two figures to tell apart in the "):
        Setlist(only(*rows), PLAIN, 1)


def test_one_turnaround_and_a_pickup_make_a_jam() -> None:
    setlist = Setlist(only("climb", "plain-five", "walk-up-one-four"), PLAIN, 2)
    named = {row.device.id for leg in islice(setlist.legs(), 6) for row in leg.placed}
    assert {"climb+plain-five", "walk-up-one-four"} == named


def test_a_figure_that_sounds_like_one_before_it_is_left_out() -> None:
    twin = replace(CATALOGUE.find("climb"), id="climb-again", name="climb again")
    more = replace(CATALOGUE, devices=(*CATALOGUE.devices, twin))
    wanted = replace(PLAIN, favoured=("climb", "climb-again"))
    figures = [figure.head for figure in Setlist(more, wanted, 1).figures]
    assert "climb" in figures
    assert "climb-again" not in figures


# --- the legs -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_the_same_seed_gives_the_same_jam(seed: int) -> None:
    again = Setlist(CATALOGUE, PLAIN, seed)
    setlist, legs = jam(seed)
    assert setlist.figures == again.figures
    assert legs == tuple(islice(again.legs(), len(legs)))


def test_two_seeds_give_two_jams() -> None:
    assert jam(1)[1] != jam(2)[1]


def test_a_setlist_can_be_played_again_from_its_start() -> None:
    setlist, legs = jam(3)
    assert legs == tuple(islice(setlist.legs(), len(legs)))


@pytest.mark.parametrize("seed", range(12))
def test_every_chorus_holds_a_turnaround_and_at_most_one_pickup_well_before_it(seed: int) -> None:
    setlist, legs = jam(seed)
    form = setlist.settings.form
    for leg in legs:
        for chorus in range(leg.choruses):
            *before, turn = [row for row in leg.placed if row.chorus == chorus]
            assert not is_pickup(turn.device)
            assert len(form) - 1 == turn.bar
            assert len(before) <= 1
            for row in before:
                assert is_pickup(row.device)
                arrival = row.bar + row.device.pattern.bars
                assert arrival + BARS_APART <= turn.bar


def test_all_figures_come_and_pickups_not_in_every_chorus() -> None:
    setlist, legs = long_jam()
    legs = legs[:20]
    placed = [row for leg in legs for row in leg.placed]
    assert set(setlist.figures) == {row.device for row in placed}
    share = sum(is_pickup(row.device) for row in placed) / sum(leg.choruses for leg in legs)
    assert 0.25 < share < 0.75


# --- keys -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_the_key_is_another_one_behind_every_joint(seed: int) -> None:
    for leg, after in pairwise(jam(seed)[1]):
        assert leg.key != after.key
        assert after.key == leg.following
        assert leg.moves


def test_every_key_comes() -> None:
    _, legs = long_jam()
    assert set(PLAYED_KEYS) == {leg.key for leg in legs}


def weighted(**weights: float) -> Circumstances:
    """Circumstances in which only these keys come."""
    return replace(PLAIN, key_weights=dict.fromkeys(KEY_NAMES, 0.0) | weights)


@pytest.mark.parametrize("seed", range(4))
def test_a_key_that_weighs_nothing_never_comes(seed: int) -> None:
    legs = islice(Setlist(CATALOGUE, weighted(F=1.0, Bb=1.0, Eb=3.0), seed).legs(), 20)
    assert {"F", "Bb", "Eb"} == {str(leg.key) for leg in legs}


@pytest.mark.parametrize("seed", range(4))
def test_where_one_key_alone_weighs_anything_the_jam_stays_in_it(seed: int) -> None:
    legs = tuple(islice(Setlist(CATALOGUE, weighted(Ab=1.0), seed).legs(), 4))
    assert ["Ab"] * 4 == [str(leg.key) for leg in legs]
    assert not any(leg.moves for leg in legs)


def test_heavier_keys_come_more_often() -> None:
    keys = weighted(F=1.0, Bb=6.0, Eb=1.0, Ab=1.0)
    legs = islice(Setlist(CATALOGUE, keys, 1).legs(), 60)
    named = [str(leg.key) for leg in legs]
    assert named.count("Bb") > 1.5 * max(map(named.count, ("F", "Eb", "Ab")))


def test_a_player_who_says_f_sharp_never_meets_g_flat() -> None:
    keys = replace(weighted(Gb=1.0, F=1.0), f_sharp=True)
    legs = islice(Setlist(CATALOGUE, keys, 1).legs(), 6)
    assert {"F", "F#"} == {str(leg.key) for leg in legs}


# --- tempo, feel, players -------------------------------------------------------------------------


@pytest.mark.parametrize("tempo", [20.0, 60.0, 88.5, 120.0, 400.0])
@pytest.mark.parametrize("feel", Feel)
def test_the_tempo_is_the_one_that_is_wanted_within_what_the_feel_bears(
    tempo: float, feel: Feel
) -> None:
    settings = Setlist(CATALOGUE, Circumstances(tempo, (feel,)), 1).settings
    facts = FEELS[feel]
    assert feel is settings.feel
    assert facts.slowest <= settings.tempo <= facts.fastest
    assert settings.tempo.is_integer()
    if facts.slowest <= tempo <= facts.fastest:
        assert abs(tempo - settings.tempo) <= 0.5


def test_all_feels_that_are_wanted_come() -> None:
    wanted = replace(PLAIN, feels=(Feel.SWING, Feel.STRAIGHT))
    feels = {Setlist(CATALOGUE, wanted, seed).settings.feel for seed in range(30)}
    assert {Feel.SWING, Feel.STRAIGHT} == feels


@pytest.mark.parametrize("texture", Texture)
def test_the_band_is_the_one_that_is_wanted(texture: Texture) -> None:
    wanted = replace(PLAIN, texture=texture, comping="organ")
    leg = next(Setlist(CATALOGUE, wanted, 1).legs())
    assert texture is leg.settings.texture
    assert "organ" == leg.settings.comping.name.lower()
    parts = {track.part for track in leg_score(leg).tracks if len(track.notes) > 8}
    # the keys alone may give one chord where they do not play on
    assert (Part.DRUMS in parts, Part.KEYS in parts) == (
        texture is not Texture.BASS,
        texture is Texture.BAND,
    )


# --- what settings and history say ----------------------------------------------------------------


def said(settings: Settings | None = None, practice: Practice | None = None) -> Circumstances:
    known = practice or Practice()
    return circumstances(settings or Settings(), known.states, known.reaches, 1)


def test_before_the_first_answer_a_jam_has_the_tempo_at_which_all_begin() -> None:
    assert START_TEMPO == said().tempo
    assert () == said().favoured


@pytest.mark.parametrize(
    ("low", "high", "tempo"), [(50, 220, START_TEMPO), (96, 120, 96.0), (60, 72, 72.0)]
)
def test_the_tempo_stays_within_the_settings(low: int, high: int, tempo: float) -> None:
    assert tempo == said(Settings(tempo_low=low, tempo_high=high)).tempo


def test_the_tempo_is_the_middle_of_what_has_been_reached_by_ear() -> None:
    tempi = {"climb": 100.0, "fall": 120.0, "dip": 128.0}

    class Reached(Reaches):
        def tempo(self, item: Item) -> float:
            return tempi[item.device]

    states = Practice.replayed(an_answer(n, device=d) for n, d in enumerate(tempi)).states
    assert 120.0 == circumstances(Settings(), states, Reached(), 1).tempo


def test_figures_met_by_ear_are_favoured_and_what_was_only_spelled_is_not() -> None:
    practice = Practice.replayed(
        [
            an_answer(1, device="fall"),
            an_answer(2, device="walk-up-one-four", kind="place"),
            an_answer(3, device="fall", kind="place"),
            an_answer(4, device="long-climb", kind="spell"),
            an_answer(5, device="quick-change", kind="form"),
        ]
    )
    favoured = said(practice=practice).favoured
    assert {"fall", "walk-up-one-four"} == set(favoured)
    assert 2 == len(favoured)


def test_which_of_many_known_figures_come_is_drawn_anew_for_every_jam() -> None:
    ids = [row.id for row in CATALOGUE.family(Family.HEAD)]
    practice = Practice.replayed(an_answer(n, device=row) for n, row in enumerate(ids))
    orders = {
        circumstances(Settings(), practice.states, practice.reaches, seed).favoured
        for seed in range(5)
    }
    assert 5 == len(orders)


@pytest.mark.parametrize(
    ("setting", "texture"),
    [("reach", Texture.BAND), *((texture.value, texture) for texture in Texture)],
)
def test_who_plays_is_what_the_settings_say_and_else_the_whole_band(
    setting: str, texture: Texture
) -> None:
    assert texture is said(Settings(texture=setting)).texture


def test_feels_keys_and_the_name_of_the_sixth_key_come_from_the_settings() -> None:
    weights = dict.fromkeys(KEY_NAMES, 1.0) | {"Eb": 4.0}
    wanted = said(Settings(feels=("swing",), key_weights=weights, comping="organ", f_sharp=True))
    assert (Feel.SWING,) == wanted.feels
    assert weights == wanted.key_weights
    assert "organ" == wanted.comping
    assert wanted.f_sharp


# --- the questions that the history keeps ---------------------------------------------------------


def all_cues(seeds: Iterable[int]) -> Iterator[tuple[Setlist, Leg, Cue]]:
    for seed in seeds:
        setlist, legs = jam(seed)
        for leg in legs:
            for cue in cues(leg):
                yield setlist, leg, cue


@pytest.mark.parametrize("seed", range(12))
def test_a_question_says_what_was_played_and_can_be_opened_again(seed: int) -> None:
    for setlist, leg, cue in all_cues([seed]):
        question = setlist.question(cue, leg.key)
        assert Kind.JAM is question.kind
        assert (cue.device, str(leg.key), leg.settings.tempo) == (
            question.device,
            str(question.key),
            question.tempo,
        )
        assert cue.device in question.options
        assert cue.device == question.right
        assert tuple(figure.id for figure in setlist.figures) == question.options
        assert -1 == question.rung
        assert question == from_parameters(parameters(question))


def test_the_item_of_a_turnaround_is_its_head_and_of_none_the_tail_that_stays_home() -> None:
    rows = {"climb+plain-five": "climb", "stay+stay-on-one": "stay-on-one", "long-climb": ""}
    rows |= {"stay+plain-five": "stay", "walk-up-one-four": ""}
    assert {device: row or device for device, row in rows.items()} == {
        device: row_of(CATALOGUE.find(device), CATALOGUE).id for device in rows
    }


DEGREES = {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11, 8: 12}
"""Half steps of a major scale above its tonic. [common practice, no source]"""

SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def written(device: Device, tonic: Note) -> Iterator[tuple[Fraction, int]]:
    """(beat, pitch class) of every tone of a figure, the note it arrives on included, read from the
    text of the catalogue by hand."""
    name = str(tonic)
    home = SEMITONES[name[0]] + name.count("#") - name.count("b")
    bars = device.pattern.text.split("|")
    place = Fraction(0)
    for token in " ".join(bars).replace("(", " ( ").replace(")", " ) ").split():
        if token in "()":
            continue
        sign = token.strip(",'")
        if sign[-1].isdigit():
            alter = sign.count("#") - sign.count("b")
            yield place, (home + DEGREES[int(sign[-1])] + alter) % 12
        place += Fraction(1, 2) if _halved(device.pattern.text, place) else 1


def _halved(text: str, place: Fraction) -> bool:
    """Whether the beat of `place` is written as two eighths."""
    beats: list[bool] = []
    inside = False
    for token in text.replace("|", " ").replace("(", " ( ").replace(")", " ) ").split():
        if token == "(":
            inside = True
            beats.append(True)
        elif token == ")":
            inside = False
        elif not inside:
            beats.append(False)
    return beats[int(place)]


def struck(score: Score, first: int, beats: int, feel: Feel) -> dict[Fraction, int]:
    """(beat, pitch class) of what the bass plays in the `beats` after tick `first`, that beat
    itself and the one behind them included; an eighth off the beat is half a beat."""
    track = score.track(Part.BASS)
    assert track is not None
    return {
        _place(note, first): note.midi % 12
        for note in track.notes
        if first <= note.start <= first + beats * TICKS_PER_BEAT
    }


def _place(note: NoteEvent, first: int) -> Fraction:
    beat, within = divmod(note.start - first, TICKS_PER_BEAT)
    return Fraction(beat) + (Fraction(1, 2) if within else 0)


@pytest.mark.parametrize("seed", range(12))
def test_the_figure_of_a_question_is_what_the_band_played_there(seed: int) -> None:
    for setlist, leg, cue in all_cues([seed]):
        device = CATALOGUE.find(setlist.question(cue, leg.key).device)
        beats = 4 * device.pattern.bars
        played = struck(leg_score(leg), cue.start, beats, leg.settings.feel)
        expected = dict(written(device, leg.key.tonic))
        assert expected  # every figure has tones of its own
        assert expected == {place: played.get(place) for place in expected}, (device.id, leg.key)


@pytest.mark.parametrize("seed", range(12))
def test_a_question_can_be_heard_again_with_the_same_figure(seed: int) -> None:
    for setlist, leg, cue in all_cues([seed]):
        question = setlist.question(cue, leg.key)
        plan, score = Excerpt(question).passage(CATALOGUE)
        device = CATALOGUE.find(question.device)
        assert plan.tempo == leg.settings.tempo
        first = (COUNT_IN_BARS + question.bar - question.first) * TICKS_PER_BAR
        beats = 4 * device.pattern.bars
        again = struck(score, first, beats, leg.settings.feel)
        own = dict(written(device, leg.key.tonic))
        assert own == {place: again.get(place) for place in own}


def test_what_is_heard_again_ends_with_the_downbeat_it_arrives_at() -> None:
    for setlist, leg, cue in all_cues(range(3)):
        question = setlist.question(cue, leg.key)
        plan, _ = Excerpt(question).passage(CATALOGUE)
        assert plan.bars[-1].landing
        numbers = [bar.number for bar in plan.bars[:-1]]
        assert list(range(question.first, question.last + 1)) == numbers
        assert question.bar in numbers


def test_turnarounds_end_on_tails_that_the_player_knows_and_on_the_plain_five_without_any() -> None:
    heads = ("climb", "fall", "scale-climb")
    tails = {"dip", "flat-six-five"}
    found: set[str] = set()
    for seed in range(20):
        wanted = replace(PLAIN, favoured=(*heads, *tails))
        figures = Setlist(CATALOGUE, wanted, seed).figures
        found |= {figure.tail or "" for figure in figures if figure.head in heads}
    assert tails == found
    plain = Setlist(CATALOGUE, replace(PLAIN, favoured=heads), 1).figures
    assert {"plain-five"} == {figure.tail for figure in plain if figure.head in heads}
