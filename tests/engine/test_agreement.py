"""A bass figure against what the keys play: chord tones, passing notes, ornaments and rubs."""

from collections.abc import Sequence

import pytest

from engine.agreement import (
    BandBeat,
    BassBeat,
    Clash,
    ClashKind,
    agreement,
    band_beats,
    bass_beats,
)
from engine.catalogue import Device, builtin_catalogue
from engine.chords import parse_bars
from engine.comping import comping_track
from engine.errors import MusicInputError
from engine.feels import Feel
from engine.forms import find_form
from engine.notation import parse_degree
from engine.pattern import Spot, parse_pattern
from engine.plan import Plan, plan_choruses
from engine.score import ELECTRIC_PIANO, NoteEvent, Part, Track
from engine.theory import PLAYED_KEYS, Key, Midi, Note
from engine.timing import TICKS_PER_BEAT, Tick

F = Note("F")
E_FLAT = Key(Note("E", -1))

Told = tuple[int, str, str, str]
"""A clash as the tables write it: beat, kind, and the two degrees of the key."""


def device(name: str) -> Device:
    return builtin_catalogue().find(name)


def pitch(degree: str, tonic: Note = F) -> int:
    return (tonic.pitch_class + parse_degree(degree).semitones) % 12


def pitches(degrees: str, tonic: Note = F) -> frozenset[int]:
    return frozenset(pitch(degree, tonic) for degree in degrees.split())


def bass(text: str, tonic: Note = F) -> tuple[BassBeat, ...]:
    return bass_beats(parse_pattern(text), tonic)


def band(chords: str, voices: Sequence[str] = (), tonic: Note = F) -> tuple[BandBeat, ...]:
    """Bars of chords, of the last one only the downbeat; `voices` are degrees, beat by beat."""
    beats = [chord for bar in parse_bars(chords) for chord in bar][:-3]
    told = [*voices, *[""] * (len(beats) - len(voices))]
    return tuple(
        BandBeat(chord.pitch_classes(tonic), pitches(sounding, tonic))
        for chord, sounding in zip(beats, told, strict=True)
    )


def clashes(*told: Told, tonic: Note = F) -> tuple[Clash, ...]:
    return tuple(
        Clash(beat, ClashKind(kind), pitch(low, tonic), pitch(high, tonic))
        for beat, kind, low, high in told
    )


HOME_FIVE = "I7 | V7 | I7"
STOCK = "I7 VI7 | IIm7 V7 | I7"


# --- chord tones and passing notes; every verdict: common practice, no source --------------------


@pytest.mark.parametrize(
    ("figure", "chords"),
    [
        ("1 3 4 #4 | 5 5 5 5 | 1", HOME_FIVE),
        ("8 b7 6 b6 | 5 5 5 5 | 1", HOME_FIVE),
        ("8 7 b7 6 | b6 5 5 5 | 1", "I7 | bVI7 V7 V7 V7 | I7"),
        ("8 7 b7 6 | b6 5 5 5 | 1", HOME_FIVE),
        ("1 2 3 4 | 5 5 5 5 | 1", HOME_FIVE),
        ("1 2 b3 3 | 4 #4 5 5 | 1", "I7 | IV7 #IVdim7 V7 V7 | I7"),
        ("1 1 6 6 | 2 2 5 5 | 1", STOCK),
        ("3 3 6 6 | 2 2 5 5 | 1", STOCK),
        ("1 1 1 1 | 5 4 #4 5 | 1", HOME_FIVE),
        ("1 1 1 1 | 1 4 #4 5 | 1", "I7 | I7 IV7 #IVdim7 V7 | I7"),
        ("1 b3 4 #4 | 5 5 5 5 | 1", "Im7 | V7 | Im7"),
    ],
)
def test_chord_tones_and_what_passes_between_them_agree(figure: str, chords: str) -> None:
    assert () == agreement(bass(figure), band(chords))


@pytest.mark.parametrize(
    "figure",
    [
        "1 3, 4' #4, | 5 5' 5, 5 | 8",
        "8, b7 6, b6' | 5 5, 5' 5 | 1",
    ],
)
def test_octaves_do_not_matter(figure: str) -> None:
    assert () == agreement(bass(figure), band(HOME_FIVE))


def test_a_passing_line_may_come_down_through_the_tonic() -> None:
    assert () == agreement(bass("3 2 b2 1 | b7 5 5 5 | 1"), band("I7 | I7 | I7"))


@pytest.mark.parametrize(
    ("figure", "told"),
    [
        (
            "1 3 4 #4 | 5 5 5 5 | 1",
            [
                (2, "stranger", "4", "3"),
                (3, "stranger", "#4", "5"),
                (4, "stranger", "5", "6"),
                (5, "stranger", "5", "6"),
            ],
        ),
        (
            "8 b7 6 b6 | 5 5 5 5 | 1",
            [
                (3, "stranger", "b6", "6"),
                (4, "stranger", "5", "6"),
                (5, "stranger", "5", "6"),
            ],
        ),
        (
            "1 1 4 4 | 1 1 5 5 | 1",
            [(2, "stranger", "4", "3"), (3, "stranger", "4", "3")],
        ),
    ],
)
def test_over_one_six_two_five_a_figure_for_home_and_five_clashes_beat_by_beat(
    figure: str, told: list[Told]
) -> None:
    assert clashes(*told) == agreement(bass(figure), band(STOCK))


def test_over_home_and_five_the_line_of_one_six_two_five_clashes_on_its_six() -> None:
    told = [(2, "stranger", "6", "b7"), (3, "stranger", "6", "b7")]
    assert clashes(*told) == agreement(bass("1 1 6, 6, | 2 2 5, 5, | 1"), band(HOME_FIVE))


@pytest.mark.parametrize(
    ("figure", "told"),
    [
        pytest.param("1 b2 1 1 | 1", [(1, "stranger", "b2", "1")], id="turns back"),
        pytest.param(
            "1 3 4 - | 5", [(2, "stranger", "4", "3"), (3, "stranger", "4", "3")], id="held"
        ),
        pytest.param(
            "1 3 4 4 | 5", [(2, "stranger", "4", "3"), (3, "stranger", "4", "3")], id="again"
        ),
        pytest.param("1 1 1 4 | b7", [(3, "stranger", "4", "3")], id="leaps away"),
        pytest.param("1 1 b3 3 | 3", [(2, "stranger", "b3", "3")], id="leaps there"),
        pytest.param("2 3 5 5 | 1", [(0, "stranger", "2", "3")], id="nothing before"),
        pytest.param("1 1 1 3 | 4", [(4, "stranger", "4", "3")], id="nothing behind"),
        pytest.param("1 3 x #4 | 5", [(3, "stranger", "#4", "5")], id="after a rest"),
        pytest.param("1 1 2 x | 3", [(2, "stranger", "2", "3")], id="before a rest"),
        pytest.param("* * * #4 | 5", [(3, "stranger", "#4", "5")], id="after the base pattern"),
        pytest.param("1 (2 b2) 1 1 | 1", [(1, "stranger", "2", "3")], id="ahead and back"),
    ],
)
def test_a_foreign_note_that_does_not_pass_is_a_stranger(figure: str, told: list[Told]) -> None:
    assert clashes(*told) == agreement(bass(figure), band("I7 | I7"))


def test_every_beat_of_a_line_that_leaps_somewhere_is_a_stranger() -> None:
    told = [(1, "stranger", "b3", "3"), (2, "stranger", "4", "3"), (3, "stranger", "#4", "5")]
    assert clashes(*told) == agreement(bass("1 b3 4 #4 | 5 5 5 5 | 1"), band(HOME_FIVE))


@pytest.mark.parametrize(
    ("note", "against"),
    [
        ("b2", "1"),
        ("2", "3"),
        ("b3", "3"),
        ("4", "3"),
        ("b5", "5"),
        ("b6", "5"),
        ("6", "b7"),
        ("7", "1"),
    ],
)
def test_a_stranger_is_held_against_the_nearest_chord_tone_the_one_above_of_two(
    note: str, against: str
) -> None:
    told = (0, "stranger", note, against)
    assert clashes(told) == agreement(bass(f"{note} 1 1 1 | 1"), band("I7 | I7"))


# --- eighths, rests and held notes --------------------------------------------------------------


@pytest.mark.parametrize(
    "figure",
    [
        "5 (b6 5) 5 5 | 1",
        "5 (5 b6) 5 5 | 1",
        "(#4 5) 5 5 5 | 1",
        "5 5 5 (4 #4) | 1",
    ],
)
def test_a_split_beat_with_one_chord_tone_is_right(figure: str) -> None:
    assert () == agreement(bass(figure), band("V7 | I7"))


@pytest.mark.parametrize(
    "figure",
    [
        pytest.param("1 (2 b3) 3 3 | 1", id="two steps in one beat"),
        pytest.param("1 1 (3 5) 6 | b7", id="from the last chord tone of a split beat"),
        pytest.param("1 2 (3 1) 1 | 1", id="to the first chord tone of a split beat"),
        pytest.param("(3 1) (2 b3) (3 1) 1 | 1", id="split beats all along"),
        pytest.param("(1 1) (3 3) (4 4) (#4 #4) | 5", id="each quarter as two eighths"),
    ],
)
def test_a_passing_line_may_have_eighths(figure: str) -> None:
    assert () == agreement(bass(figure), band("I7 | I7"))


def test_a_split_beat_of_two_foreign_notes_is_told_by_its_first() -> None:
    told = (1, "stranger", "6", "b7")
    assert clashes(told) == agreement(bass("1 (6 4) 1 1 | 1"), band("I7 | I7"))


def test_an_ornament_is_no_part_of_the_line_that_passes_on_from_its_beat() -> None:
    told = (1, "stranger", "b3", "3")
    assert clashes(told) == agreement(bass("(1 2) b3 3 3 | 1"), band("I7 | I7"))


def test_a_held_note_is_looked_at_in_every_beat_that_it_covers() -> None:
    told = [(2, "stranger", "1", "b2"), (3, "stranger", "1", "b2")]
    assert clashes(*told) == agreement(bass("1 - - - | 2"), band("I7 VI7 | IIm7"))


def test_a_note_that_is_held_into_a_split_beat_is_heard_there_first() -> None:
    assert BassBeat((pitch("1"), pitch("5"))) == bass("1 (- 5) 5 5 | 1")[1]


@pytest.mark.parametrize("figure", ["1 x x x | 1", "x x x x | 1", "* * * * | 1", "1 x - - | 1"])
def test_where_the_bass_is_silent_there_is_nothing_to_disagree_with(figure: str) -> None:
    assert () == agreement(bass(figure), band("I7 bVI7 | I7"))


@pytest.mark.parametrize(
    ("figure", "notes"),
    [
        ("1 3 4 #4 | 5", ["F", "A", "Bb", "B", "C"]),
        ("1 - x - | 5", ["F", "F", "", "", "C"]),
        ("* * - 3 | 4", ["", "", "", "A", "Bb"]),
        ("1 * - 3 | 4", ["F", "", "", "A", "Bb"]),
        ("5 (b6 5) (x 1) (1 x)", ["C", "Db C", "F", "F"]),
        ("6, 6' 8 1 | -", ["D", "D", "F", "F"]),
    ],
)
def test_a_pattern_is_read_beat_by_beat(figure: str, notes: list[str]) -> None:
    named = {"F": 5, "A": 9, "Bb": 10, "B": 11, "C": 0, "Db": 1, "D": 2}
    assert notes == [
        " ".join(name for note in beat.notes for name in named if named[name] == note)
        for beat in bass(figure)
    ]


def test_a_doubled_figure_is_heard_as_the_plain_one() -> None:
    name = "climb+dip"
    assert bass_beats(device(name).pattern, F) == bass_beats(device(f"{name}+doubled").pattern, F)


# --- rubs ---------------------------------------------------------------------------------------

THIRTEENTH = ("3 b7 6",) * 5


def test_a_flat_seven_held_under_a_thirteenth_rubs_in_both_beats() -> None:
    told = [(2, "rub", "b7", "6"), (3, "rub", "b7", "6")]
    assert clashes(*told) == agreement(bass("1 1 b7 b7 | 1"), band("I7 | I7", THIRTEENTH))
    assert clashes(*told) == agreement(bass("1 1 b7 - | 1"), band("I7 | I7", THIRTEENTH))


@pytest.mark.parametrize(
    ("figure", "voices"),
    [
        pytest.param("1 1 5 b7 | 1", THIRTEENTH, id="one beat only"),
        pytest.param("1 b7 1 b7 | 1", THIRTEENTH, id="not on end"),
        pytest.param("1 b7 (b7 5) 1 | 1", THIRTEENTH, id="left within the second beat"),
        pytest.param("1 b7 x b7 | 1", THIRTEENTH, id="a rest between"),
        pytest.param("1 b7 b7 1 | 1", ("", "6", "3 5", ""), id="the voice in one beat only"),
        pytest.param("b7 b7 b7 1 | 1", ("6", "3", "6"), id="the voice in every other beat"),
        pytest.param("1 b7 b7 1 | 1", ("", "6", "7", ""), id="two voices, one a beat"),
        pytest.param("1 b7 b7 1 | 1", ("", "5 2", "5 2", ""), id="no voice a half step away"),
    ],
)
def test_a_half_step_that_is_not_held_for_two_beats_is_no_rub(
    figure: str, voices: tuple[str, ...]
) -> None:
    assert () == agreement(bass(figure), band("I7 | I7", voices))


@pytest.mark.parametrize(
    ("figure", "chords", "voices"),
    [
        ("1 1 1 1 | 1", "Imaj7 | Imaj7", ("3 7 2",) * 5),
        ("7 7 7 7 | 7", "Imaj7 | Imaj7", ("1",) * 5),
    ],
)
def test_two_notes_of_one_chord_never_rub(
    figure: str, chords: str, voices: tuple[str, ...]
) -> None:
    assert () == agreement(bass(figure), band(chords, voices))


def test_notes_of_the_chord_of_only_one_of_two_beats_are_no_rub() -> None:
    voices = ("3 7", "3 7", "3 7", "3 7", "3")
    assert () == agreement(bass("1 1 1 3 | 3"), band("Imaj7 Imaj7 I7 I7 | I7", voices))


def test_a_rub_on_both_sides_names_the_voice_above_first() -> None:
    told = [(beat, "rub", "b7", voice) for beat in (0, 1) for voice in ("7", "6")]
    found = agreement(bass("b7 b7 1 1 | 1"), band("I7 | I7", ("6 7",) * 2))
    assert clashes(*told) == found


def test_a_beat_can_be_a_stranger_and_a_rub_the_stranger_first() -> None:
    told = [(beat, kind, "4", "3") for beat in (1, 2) for kind in ("stranger", "rub")]
    assert clashes(*told) == agreement(bass("1 4 4 1 | 1"), band("I7 | I7", ("3 b7",) * 5))


# --- values -------------------------------------------------------------------------------------


def test_the_band_may_go_on_behind_the_figure() -> None:
    assert () == agreement(bass("1 3 5 1"), band(HOME_FIVE))


def test_the_band_must_not_stop_before_the_figure() -> None:
    with pytest.raises(MusicInputError, match="the figure has 9 beats and the band 5"):
        agreement(bass("1 1 1 1 | 1 1 1 1 | 1"), band("I7 | I7"))


@pytest.mark.parametrize("number", [-1, 12, 60])
def test_what_is_no_pitch_class_is_refused(number: int) -> None:
    with pytest.raises(MusicInputError, match=f"{number} is no pitch class"):
        BassBeat((0, number))
    with pytest.raises(MusicInputError, match=f"{number} is no pitch class"):
        BandBeat(frozenset({0, number}))
    with pytest.raises(MusicInputError, match=f"{number} is no pitch class"):
        BandBeat(frozenset({0}), frozenset({number}))


def test_a_beat_needs_a_chord() -> None:
    with pytest.raises(MusicInputError, match="a chord without tones"):
        BandBeat(frozenset())


# --- from a plan and its keys -------------------------------------------------------------------


def music(name: str, feel: Feel = Feel.SHUFFLE, tempo: float = 110, key: Key = E_FLAT) -> Plan:
    """A chorus of the twelve-bar form with a turnaround at its end."""
    placed = [(0, 11, device(name))]
    return plan_choruses(find_form("twelve-bar"), key, feel, tempo, device("two-beat"), placed)


def keys(*notes: NoteEvent) -> Track:
    return Track(Part.KEYS, ELECTRIC_PIANO, 1, notes)


def voice(plan: Plan, beat: int, degree: str, early: int = 0, length: int = 400) -> NoteEvent:
    """A voice in bars 11 and 12, `early` ticks before a beat counted from bar 11."""
    start = Tick(plan.tick(10, Spot(beat)) - early)
    return NoteEvent(start, Tick(length), Midi(60 + pitch(degree, plan.key.tonic)), 80)


def test_the_chords_of_the_plan_are_read_and_that_of_the_landing() -> None:
    tonic = E_FLAT.tonic
    told = [chord for bar in parse_bars(STOCK) for chord in bar][:-3]
    found = band_beats(music("one-six-two-five"), keys(), 10, 2)
    assert [chord.pitch_classes(tonic) for chord in told] == [beat.tones for beat in found]


@pytest.mark.parametrize("feel", Feel, ids=lambda feel: feel.value)
def test_a_voice_counts_in_every_beat_that_it_sounds_in(feel: Feel) -> None:
    plan = music("climb+dip", feel, 60)
    long = voice(plan, 1, "3", length=3 * TICKS_PER_BEAT)
    found = band_beats(plan, keys(long, voice(plan, 8, "b7")), 10, 2)
    third, seventh = pitches("3", E_FLAT.tonic), pitches("b7", E_FLAT.tonic)
    none: frozenset[int] = frozenset()
    assert [none, third, third, third, none, none, none, none, seventh] == [
        beat.voices for beat in found
    ]


@pytest.mark.parametrize(
    ("early", "counts"),
    [
        pytest.param(15, False, id="a hand that comes early"),
        pytest.param(TICKS_PER_BEAT // 3, True, id="a push"),
    ],
)
def test_a_push_sounds_in_the_beat_before_and_an_early_hand_does_not(
    early: int, counts: bool
) -> None:
    plan = music("climb+dip")
    found = band_beats(plan, keys(voice(plan, 4, "7", early, 700)), 10, 2)
    sounding = [bool(beat.voices) for beat in found]
    assert [False] * 3 + [counts, True] + [False] * 4 == sounding


def test_the_chord_that_gives_the_key_is_in_no_beat() -> None:
    plan = music("stay+plain-five")
    track = comping_track(plan, (), ELECTRIC_PIANO, 1)
    count_in = keys(*(note for note in track.notes if note.start == 0))
    assert count_in.notes
    assert {frozenset()} == {beat.voices for beat in band_beats(plan, count_in, 0, 12)}


@pytest.mark.parametrize(("first", "bars"), [(-1, 2), (11, 2), (12, 1), (10, 0), (0, 13)])
def test_bars_that_the_plan_does_not_have_are_refused(first: int, bars: int) -> None:
    with pytest.raises(MusicInputError, match="give at least one bar"):
        band_beats(music("climb+dip"), keys(), first, bars)


@pytest.mark.parametrize("key", PLAYED_KEYS, ids=str)
@pytest.mark.parametrize("name", ["climb+plain-five", "fall+dip", "stay+late-five", "long-climb"])
def test_a_figure_agrees_with_the_keys_that_comp_on_its_own_chords(name: str, key: Key) -> None:
    plan = music(name, key=key)
    under = band_beats(plan, comping_track(plan, (), ELECTRIC_PIANO, 3), 10, 2)
    assert () == agreement(bass_beats(device(name).pattern, key.tonic), under)
