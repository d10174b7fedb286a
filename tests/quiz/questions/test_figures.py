"""Questions about one figure, and each way in which the ear could be fooled."""

from collections import Counter
from itertools import product

import pytest

from engine.catalogue import places, read_catalogue
from engine.forms import find_form
from engine.line import A1, E1, Strike
from engine.theory import PLAYED_KEYS
from quiz.errors import QuestionError
from quiz.questions.excerpts import question_line, question_plan
from quiz.questions.figures import pitch_changes
from quiz.questions.generator import make_question
from quiz.questions.kinds import Kind
from quiz.questions.neighbours import rivals
from quiz.questions.value import Question
from quiz.questions.wishes import FORM_WEIGHTS, Asked, Wishes
from tests.quiz.asking import CATALOGUE, device, every_item, key, made, on_rung, question

SEEDS = range(60)


def offered(item: str, seeds: range = SEEDS, both_vary: bool = False) -> set[str]:
    """Every option that some seed offers for an item."""
    return {
        option for seed in seeds for option in made(item, Kind.NAME, "F", seed, both_vary).options
    }


def many(item: str, kind: Kind = Kind.WRITE, wishes: Wishes | None = None) -> list[Question]:
    return [made(item, kind, "F", seed, wishes=wishes) for seed in range(200)]


# --- nothing to offer ---------------------------------------------------------------------------

LONELY = """
[[device]]
id = "lonely"
name = "lonely ending"
family = "ending"
bars = [11]
degrees = "1 3 5 6 | 5 - 1 - | 1"
says = "Nothing else ends this tune."
source = "common practice"

[[device]]
id = "only-base"
name = "only base"
family = "base"
bars = [1]
degrees = "1 - 5 -"
feels = ["shuffle", "straight", "swing", "slow"]
says = "Root and fifth."
source = "common practice"
"""
TWIN = LONELY.replace('id = "lonely"', 'id = "twin"').replace('"lonely ending"', '"twin ending"')


@pytest.mark.parametrize("text", [LONELY, LONELY + TWIN.split('[[device]]\nid = "only')[0]])
def test_without_a_distractor_that_sounds_different_nothing_is_asked(text: str) -> None:
    catalogue = read_catalogue(text, "own.toml")
    with pytest.raises(QuestionError, match="nothing sounds different enough"):
        make_question(Asked("lonely", Kind.NAME, key("F")), Wishes(), catalogue, 1)


def test_a_twin_in_the_catalogue_is_never_offered_beside_the_answer() -> None:
    other = LONELY.split('[[device]]\nid = "only')[0].replace('"lonely"', '"other"')
    other = other.replace("1 3 5 6", "1 3 5 b7").replace("lonely ending", "other ending")
    twin = TWIN.split('[[device]]\nid = "only')[0]
    catalogue = read_catalogue(LONELY + twin + other, "own.toml")
    for seed in SEEDS:
        asked = make_question(Asked("lonely", Kind.NAME, key("F")), Wishes(), catalogue, seed)
        assert {"lonely", "other"} == set(asked.options)


PICKUPS = """
[[device]]
id = "two-bars"
name = "two bars"
family = "pickup"
bars = [5, 6]
serves = "IV > I"
degrees = "4 4 6 6 | 4 6 b7 7 | 8"
says = "Two bars up."
source = "common practice"

[[device]]
id = "two-bars-down"
name = "two bars down"
family = "pickup"
bars = [5, 6]
serves = "IV > I"
degrees = "4 4 6 6 | 4 3 b3 2 | 1"
says = "Two bars down."
source = "common practice"

[[device]]
id = "one-bar"
name = "one bar"
family = "pickup"
bars = [6]
serves = "IV > I"
degrees = "4 6 b7 7 | 8"
says = "One bar up."
source = "common practice"
"""


def test_a_rival_that_cannot_stand_in_the_bar_is_not_offered() -> None:
    catalogue = read_catalogue(PICKUPS + LONELY, "own.toml")
    for seed in SEEDS:
        asked = make_question(Asked("two-bars", Kind.NAME, key("F")), Wishes(), catalogue, seed)
        assert {"two-bars", "two-bars-down"} == set(asked.options)


# --- where the ear can be fooled ----------------------------------------------------------------


@pytest.mark.parametrize(("one", "other"), [
    ("walk-up-one-four", "walk-up-five-one"),  # 1 2 b3 3 | 4 and 5 6 b7 7 | 8
    ("scale-up-one-four", "scale-up-five-one"),  # 1 1 2 3 | 4 and 5 5 6 7 | 8
    ("walk-up-one-five", "climb+plain-five"),  # 1 3 4 #4 in bar 8 and in bar 11
    ("walk-up-one-four", "long-climb"),  # 1 2 b3 3 in bar 4 and in bar 11
    ("climb+plain-five", "climb-five-one"),  # 1 3 4 #4 opens a turnaround and an ending
    ("fall+plain-five", "fall-half-above"),
    ("half-above-into-one", "stop-half-above"),  # b2 to 1: approach or ending
    ("fifth-into-one", "straight-five-one"),  # 5 to 1: fifth of the target or root motion
])  # fmt: skip
def test_one_run_of_notes_in_two_places_is_never_a_choice(one: str, other: str) -> None:
    items = [(device(name).head, name, not_it) for name, not_it in ((one, other), (other, one))]
    for item, played, not_it in items:
        for both_vary in (False, True):
            choices = offered(item, both_vary=both_vary)
            assert played in choices or both_vary
            assert not_it not in choices


def test_one_first_bar_is_always_heard_on_to_the_bar_that_tells_the_devices_apart() -> None:
    for name in (
        "climb",
        "fall",
        "climb-five-one",
        "climb-half-above",
        "fall-five-one",
        "fall-half-above",
        "chromatic-fall",
        "long-climb",
    ):
        for seed in SEEDS:
            asked = made(name, Kind.NAME, "Ab", seed)
            plan = question_plan(asked, CATALOGUE)
            assert len(find_form(asked.form)) == asked.last
            assert plan.bars[-1].landing


@pytest.mark.parametrize(("item", "straight"), [
    ("walk-up-one-four", "straight-one-four"), ("walk-up-four-one", "straight-four-one"),
    ("walk-up-one-five", "straight-one-five"), ("walk-up-five-one", "straight-five-one"),
    ("walk-down-five-four", "straight-five-four"), ("sharp-four-bar", "straight-four-bars"),
])  # fmt: skip
def test_straight_on_is_a_real_answer_before_every_change(item: str, straight: str) -> None:
    assert straight in offered(item)
    asked = made(straight, Kind.NAME, "Bb", 5)
    assert straight == asked.device
    assert straight in asked.options


def test_staying_on_one_is_a_real_answer() -> None:
    assert "stay+stay-on-one" in offered("stay", both_vary=True)
    asked = made("stay-on-one", Kind.NAME, "Eb", 2)
    assert "stay+stay-on-one" == asked.device
    assert {"stay"} == {device(option).head for option in asked.options}
    late = [made("late-five", Kind.NAME, "Eb", seed).options for seed in SEEDS]
    assert any("stay+stay-on-one" in options for options in late)


@pytest.mark.parametrize(("item", "contrast"), [
    ("climb", "climb-flat-third+plain-five"), ("climb-five-one", "climb-half-above"),
    ("fall-five-one", "fall-half-above"), ("stop-half-above", "stop-half-below"),
    ("one-six-two-five", "three-six-two-five"), ("walk-up-one-four", "scale-up-one-four"),
])  # fmt: skip
def test_contrast_pairs_are_used_on_purpose(item: str, contrast: str) -> None:
    # one or two quarters apart [common practice, no source]
    assert contrast in offered(item)


def test_the_fifth_of_the_target_and_straight_on_are_no_choice_where_both_are_one_four_times() -> (
    None
):
    # over root eighths the bar is 1 1 1 1 in any case, struck in quarters or in eighths
    over_eighths = [
        asked
        for asked in (made("fifth-into-four", Kind.NAME, "A", seed) for seed in range(400))
        if asked.base == "root-eighths"
    ]
    assert len(over_eighths) > 50
    assert not any("straight-one-four" in asked.options for asked in over_eighths)


def test_where_all_that_suits_a_minor_tune_sounds_alike_there_is_something_else_to_offer() -> None:
    # over walking quarters 1 2 b3 and a half step below the four are the chromatic walk-up
    near = on_rung(Kind.NAME, 4)
    for seed in range(600):
        asked = made("walk-up-one-four", Kind.NAME, "Gb", seed, wishes=near)
        assert 2 <= len(asked.options)


def test_striking_a_note_again_tells_nothing_apart() -> None:
    strikes = [Strike(0, False, 0), Strike(0, True, 0), Strike(1, False, 7), Strike(2, False, 7),
               Strike(3, False, 0)]  # fmt: skip
    assert (strikes[0], strikes[2], strikes[4]) == pitch_changes(strikes)
    assert () == pitch_changes(())


def test_the_place_in_the_list_says_nothing() -> None:
    order = {row.id: place for place, row in enumerate(CATALOGUE.devices)}
    for row, seed in product(every_item(Kind.NAME), range(4)):
        options = made(row.id, Kind.NAME, "D", seed, both_vary=True).options
        ranks = [
            (order[option.head], order.get(option.tail or "", 0)) for option in map(device, options)
        ]
        assert sorted(ranks) == ranks


# --- form, bar and register ---------------------------------------------------------------------


def test_the_form_is_one_in_which_the_device_has_a_place() -> None:
    for row, seed in product(every_item(Kind.NAME), range(8)):
        asked = made(row.id, Kind.NAME, "Bb", seed)
        assert asked.bar in places(device(asked.device), find_form(asked.form))


def test_forms_are_heard_about_as_often_as_their_weights_say() -> None:
    seen = Counter(asked.form for asked in many("climb-flat-third"))
    assert set(FORM_WEIGHTS) == set(seen)  # it suits minor tunes too
    assert seen["twelve-bar-five"] > seen["jazz-blues"]


def test_only_devices_that_suit_minor_are_asked_in_minor() -> None:
    for row, seed in product(every_item(Kind.NAME), range(8)):
        asked = made(row.id, Kind.NAME, "Bb", seed)
        played = device(asked.device)
        assert asked.key.minor is find_form(asked.form).minor
        assert played.minor or not asked.key.minor


def test_both_registers_are_heard() -> None:
    assert {"low", "high"} == {asked.register for asked in many("climb")}


def test_every_figure_stands_at_or_above_the_open_a_string_where_it_can() -> None:
    # 630 of 636 figures fit A1 to G3 [computed]; the rest go down to E1
    lows = [
        made(row.id, Kind.NAME, str(in_key)).low
        for row, in_key in product(every_item(Kind.NAME), PLAYED_KEYS)
    ]
    assert {A1, E1} >= set(lows)
    assert 0.95 <= lows.count(A1) / len(lows)


def test_a_question_that_is_not_heard_stands_at_the_usual_place() -> None:
    usual = question("climb+plain-five")
    for seed in range(20):
        asked = made("climb", Kind.SPELL, "A", seed)
        assert (usual.form, usual.bar) == (asked.form, asked.bar)


def test_a_head_keeps_its_plain_tail_unless_both_vary() -> None:
    assert {"climb+plain-five"} == {asked.device for asked in many("climb", Kind.NAME)}
    both = {made("climb", Kind.NAME, "F", seed, both_vary=True).device for seed in SEEDS}
    assert {f"climb+{tail.id}" for tail in CATALOGUE.tails_for(device("climb"))} == both


def test_where_both_parts_vary_both_are_offered() -> None:
    asked = made("climb", Kind.NAME, "F", 1, both_vary=True)
    options = [device(option) for option in asked.options]
    assert len({option.head for option in options}) > 1
    assert len({option.tail for option in options}) > 1


# --- variants -----------------------------------------------------------------------------------

VARYING = on_rung(Kind.NAME, 5)
"""The first rung on which a figure may come as a variant."""


def varied(item: str, seeds: range = SEEDS) -> list[Question]:
    return [made(item, Kind.NAME, "F", seed, wishes=VARYING) for seed in seeds]


def test_a_figure_comes_as_a_variant_about_every_second_time() -> None:
    came = Counter(bool(asked.varies) for asked in varied("climb", range(400)))
    assert 160 <= came[True] <= 240  # a coin thrown 400 times, four standard deviations


def test_a_climb_comes_with_the_flat_third_doubled_and_two_beats_late() -> None:
    devices = {asked.device for asked in varied("climb") if asked.varies}
    assert {
        "climb-flat-third+plain-five",
        "climb+plain-five+doubled",
        "climb+plain-five+late",
    } == devices


def test_a_variant_is_offered_by_the_name_of_its_figure() -> None:
    for asked in varied("climb"):
        if asked.varies:
            assert "climb+plain-five" == asked.varies
            assert "climb+plain-five+varied" == asked.right
            assert asked.varies in asked.options
            assert asked.device not in asked.options


def test_a_figure_that_comes_as_it_is_is_right_as_it_is() -> None:
    plain = [asked for asked in varied("fall") if not asked.varies]
    assert {"fall+plain-five"} == {asked.right for asked in plain}


def test_every_option_can_be_picked_both_ways() -> None:
    asked = varied("climb", range(1))[0]
    assert 2 * len(asked.options) == len(asked.picks) == len(set(asked.picks))
    assert 1 / len(asked.picks) == asked.guess_rate


def test_a_row_that_is_a_variant_is_no_option_where_variants_may_come() -> None:
    for row, seed in product(every_item(Kind.NAME), range(6)):
        asked = made(row.id, Kind.NAME, "F", seed, wishes=VARYING)
        if asked.variants:
            assert not any(device(option).variant_of for option in asked.options)


def test_a_row_that_is_a_variant_takes_no_option_away() -> None:
    # the flat third is the nearest neighbour of the climb
    major = [asked for asked in varied("climb") if not asked.key.minor]
    assert {VARYING.options} == {len(asked.options) for asked in major}


def test_a_row_that_is_a_variant_is_asked_as_itself() -> None:
    for asked in varied("climb-flat-third", range(20)):
        assert not asked.variants
        assert "climb-flat-third" == device(asked.right).head


def test_a_tail_over_a_head_that_is_a_variant_is_asked_as_it_is() -> None:
    over = [asked for asked in varied("dip") if asked.device.startswith("climb-flat-third")]
    heads = {device(asked.device).head: asked.variants for asked in over if not asked.varies}
    assert {"climb-flat-third": False} == heads


def test_what_cannot_be_told_from_the_figure_comes_as_it_is() -> None:
    # a stay on one that comes two beats late over 1 1 8 8 is what it would have been anyway
    for seed in range(300):
        asked = made("stay-on-one", Kind.NAME, "F", seed, wishes=VARYING)
        late = asked.device.endswith("+late")
        assert not late or asked.base not in ("box", "root-eighths")


def ending(name: str, degrees: str, more: str = "") -> str:
    return f"""
[[device]]
id = "{name}"
name = "{name}"
family = "ending"
bars = [11]
degrees = "{degrees}"
says = "It ends."
source = "common practice"
{more}
"""


def test_a_figure_is_not_offered_beside_one_that_may_come_as_it_in_a_variant() -> None:
    rows = (
        ending("plain", "1 1 5 6 | 5 - 1 - | 1"),
        ending("darker", "1 b3 5 6 | 5 - 1 - | 1", 'variant_of = "plain"'),
        ending("twin", "1 b3 5 6 | 5 - 1 - | 1"),
        ending("other", "8 b7 5 4 | 5 - 1 - | 1"),
    )
    catalogue = read_catalogue("".join(rows) + LONELY, "own.toml")
    for item, seed in product(("plain", "twin"), SEEDS):
        asked = make_question(Asked(item, Kind.NAME, key("F")), VARYING, catalogue, seed)
        assert asked.variants
        assert 1 == len({"plain", "twin"} & set(asked.options))
        assert item in asked.options


def test_variants_are_asked_about_in_naming_alone() -> None:
    assert not any(asked.variants for asked in many("climb", Kind.WRITE, VARYING))
    assert not any(asked.variants for asked in many("climb", Kind.SPELL, VARYING))


def test_variants_and_two_open_parts_do_not_come_together() -> None:
    asked = made("climb", Kind.NAME, "F", 1, both_vary=True, wishes=VARYING)
    assert not asked.variants


# --- how near, how high, how often --------------------------------------------------------------


NEAR = on_rung(Kind.NAME, 4)
"""The first rung with near options, and so with the upper register."""


def test_near_options_are_the_nearest_there_are() -> None:
    nearest = {
        f"{rival.id}+plain-five" if not rival.complete else rival.id
        for rival in rivals(device("fall"), CATALOGUE)[:3]
    }
    offers = [set(made("fall", Kind.NAME, "F", seed, wishes=NEAR).options) for seed in SEEDS]
    without_plain = [offer - {"fall+plain-five", "stay+plain-five"} for offer in offers]
    assert all(offer <= nearest for offer in without_plain)


def test_far_options_reach_beyond_the_nearest() -> None:
    offers = [
        {o for seed in SEEDS for o in made("fall", Kind.NAME, "F", seed, wishes=wishes).options}
        for wishes in (NEAR, on_rung(Kind.NAME, 3))
    ]
    assert offers[0] < offers[1]


@pytest.mark.parametrize("place", range(8))
def test_no_more_is_offered_than_the_rung_says(place: int) -> None:
    wishes = on_rung(Kind.NAME, place)
    for row, seed in product(every_item(Kind.NAME), range(3)):
        assert len(made(row.id, Kind.NAME, "F", seed, wishes=wishes).options) <= wishes.options


def test_the_line_sometimes_stands_an_octave_up_on_the_rungs_with_near_options() -> None:
    near, far = (
        Counter(
            made("fall", Kind.NAME, str(PLAYED_KEYS[seed % 12]), seed, wishes=wishes).register
            for seed in range(360)
        )
        for wishes in (NEAR, on_rung(Kind.NAME, 3))
    )
    assert 0 == far["upper"]
    assert 36 <= near["upper"] <= 108  # a quarter, less what does not fit


def test_the_upper_register_is_met_in_every_key() -> None:
    up = [
        asked.key.tonic
        for seed in range(360)
        if (asked := made("climb", Kind.NAME, str(PLAYED_KEYS[seed % 12]), seed, wishes=NEAR))
        and asked.register == "upper"
    ]
    assert {key.tonic for key in PLAYED_KEYS} == set(up)


def test_an_octave_up_no_note_lies_below_the_twelfth_fret_of_the_a_string() -> None:
    # A2, MIDI number 45, an octave above the open A string
    for row, seed in product(every_item(Kind.NAME), range(8)):
        asked = made(row.id, Kind.NAME, "Bb", seed, wishes=NEAR)
        if asked.register == "upper":
            line = question_line(asked, CATALOGUE)
            assert 45 <= min(note.event.midi for note in line)


def test_whether_the_key_is_given_and_how_often_it_sounds_are_the_rungs() -> None:
    last = made("climb", Kind.NAME, wishes=on_rung(Kind.NAME, 7))
    assert (False, 2, 7) == (last.key_given, last.playings, last.rung)
    first = made("climb", Kind.NAME, wishes=on_rung(Kind.NAME, 0))
    assert (True, 0, 0, "bass") == (first.key_given, first.playings, first.rung, first.texture)
