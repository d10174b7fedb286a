"""The settings file: what is read from it, what is written to it, and what never happens to it."""

from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.neck import OpenStrings
from engine.theory import PLAYED_KEYS
from quiz.errors import SettingsError
from quiz.questions.value import COMPING, Wanted
from quiz.settings.checks import CHECKS
from quiz.settings.file import save
from quiz.settings.values import (
    KEY_NAMES,
    Loaded,
    Pin,
    Settings,
    favouring,
    load,
    own_tunings_text,
    read_own_tunings,
    with_value,
)


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "settings.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_without_a_file_everything_is_at_its_default(tmp_path: Path) -> None:
    assert Loaded(Settings()) == load(tmp_path / "nowhere" / "settings.toml")


def test_each_setting_has_a_check_and_each_check_a_setting() -> None:
    assert [row.name for row in fields(Settings)] == list(CHECKS)


@pytest.mark.parametrize("key", CHECKS)
def test_each_default_passes_its_own_check(key: str) -> None:
    assert Settings() == with_value(Settings(), key, getattr(Settings(), key))


def test_the_words_for_keys_and_answers_are_those_of_the_questions() -> None:
    for comping in COMPING:
        assert comping == with_value(Settings(), "comping", comping).comping
    for wanted in Wanted:
        assert wanted.value == with_value(Settings(), "answer_as", wanted.value).answer_as


CHANGED = replace(
    Settings(),
    tuning="five-string",
    frets=24,
    left_handed=True,
    open_strings="prefer",
    own_tunings={"my-five": ("C1", "F1", "Bb1", "Eb2", "51")},
    note_names="german",
    f_sharp=True,
    key_weights=favouring(("F", "Bb")),
    tempo_low=50,
    tempo_high=220,
    feels=("swing", "slow"),
    texture="drums",
    comping="organ",
    answer_as="notes",
    round_length=100,
    daily_questions=400,
    spelling_counts=True,
    contrast=False,
    pins={"climb": Pin("drums", 96), "walk-up-one-four": Pin("band", 132)},
    resting=("family:tail", "key:B"),
    leading=("device:climb", "kind:spell"),
    jam_by_ear=True,
    soundfont="/music/Böden.sf2",
    output_device='"USB" [2]',
    play_by="midi",
    midi_input="network:jam.local:9080",
    input_device="Line 1",
    reverb=False,
    ascii=True,
    welcomed=True,
)


def test_every_setting_comes_back_as_it_was_saved(tmp_path: Path) -> None:
    assert all(
        getattr(CHANGED, row.name) != getattr(Settings(), row.name) for row in fields(Settings)
    )
    path = tmp_path / "new folder" / "settings.toml"
    save(CHANGED, path)
    assert Loaded(CHANGED) == load(path)


def test_a_setting_put_back_to_its_default_comes_back_too(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    save(CHANGED, path)
    save(Settings(), path)
    assert Loaded(Settings()) == load(path)


def test_only_what_was_changed_is_written(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    save(replace(Settings(), frets=22), path)
    assert "frets = 22\n" == path.read_text()


def test_comments_order_and_unknown_settings_survive(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        (
            "# for the Thursday jam\n"
            "frets = 24  # two octaves\n"
            "colour = 'amber'\n"
            "\n"
            "[key_weights]  # horns\n"
            "Eb = 3.0  # the alto's own\n"
        ),
    )
    loaded = load(path)
    save(
        replace(loaded.settings, frets=21, key_weights=loaded.settings.key_weights | {"Bb": 2.0}),
        path,
    )
    assert (
        "# for the Thursday jam\n"
        "frets = 21  # two octaves\n"
        "colour = 'amber'\n"
        "\n"
        "[key_weights]  # horns\n"
        "Eb = 3.0  # the alto's own\n"
        "Bb = 2.0\n"
    ) == path.read_text()


def test_an_unknown_setting_is_reported_and_the_rest_holds(tmp_path: Path) -> None:
    loaded = load(written(tmp_path, "colour = 1\nfrets = 24\n"))
    assert 24 == loaded.settings.frets
    (problem,) = loaded.problems
    assert "settings.toml: there is no setting 'colour': the settings are tuning" in problem


WRONG = [
    ("tuning", '"banjo"', "one of four-string, drop-d"),
    ("frets", "19", "a whole number from 20 to 24"),
    ("frets", "25", "a whole number from 20 to 24"),
    ("frets", "20.0", "a whole number from 20 to 24"),
    ("frets", "true", "a whole number from 20 to 24"),
    ("left_handed", "1", "true or false"),
    ("open_strings", '"always"', "one of avoid, neutral, prefer"),
    ("own_tunings", "3", "for each tuning a name in small letters"),
    ("own_tunings", '{mine = "E1 A1 D2"}', "a list of its open strings"),
    ("own_tunings", '{Mine = ["E1", "A1", "D2"]}', "a name in small letters"),
    ("own_tunings", "{mine = []}", "a list of its open strings"),
    ("own_tunings", '{mine = ["E1", true, "D2"]}', "or MIDI numbers"),
    ("note_names", '"klingon"', "one of english, german, solfege"),
    ("f_sharp", '"yes"', "true or false"),
    ("key_weights", "3", "a number from 0 to 1000000 for each of C Db D"),
    ("key_weights", "{H = 1}", "a number from 0 to 1000000 for each of C Db D"),
    ("key_weights", "{C = -0.1}", "not all 0"),
    ("key_weights", "{C = nan}", "not all 0"),
    ("key_weights", "{C = inf}", "not all 0"),
    ("key_weights", "{C = true}", "not all 0"),
    ("key_weights", "{C = 1000001}", "not all 0"),
    ("key_weights", "{C = " + "9" * 400 + "}", "not all 0"),
    ("key_weights", "{" + ", ".join(f"{key} = 0" for key in KEY_NAMES) + "}", "not all 0"),
    ("tempo_low", "49", "a whole number from 50 to 220"),
    ("tempo_high", "221", "a whole number from 50 to 220"),
    ("tempo_high", "nan", "a whole number from 50 to 220"),
    ("feels", "[]", "a list of one or more of shuffle, straight, swing, slow"),
    ("feels", '"swing"', "a list of one or more of"),
    ("feels", '["swing", "polka"]', "a list of one or more of"),
    ("feels", '[["swing"]]', "a list of one or more of"),
    ("texture", '"choir"', "one of reach, bass, drums, band"),
    ("comping", '"kazoo"', "one of electric-piano, organ"),
    ("answer_as", '"tab"', "one of degrees, notes, either"),
    ("resting", '"device:climb"', "a list of entries such as device:climb"),
    ("resting", '["device:"]', "a list of entries such as device:climb"),
    ("resting", '["family:choir"]', "a family of head, pickup, tail, ending, form"),
    ("leading", '["kind:jam"]', "a kind of name, write, spell"),
    ("leading", '["key:H"]', "a key of C Db D"),
    ("leading", "[3]", "a list of entries such as"),
    ("round_length", "0", "a whole number from 1 to 100"),
    ("round_length", "101", "a whole number from 1 to 100"),
    ("daily_questions", "0", "a whole number from 1 to 400"),
    ("daily_questions", "401", "a whole number from 1 to 400"),
    ("spelling_counts", "0", "true or false"),
    ("contrast", "[]", "true or false"),
    ("pins", "3", "for each device a list of who plays and a tempo"),
    ("pins", '{climb = "band"}', 'such as climb = ["band", 120]'),
    ("pins", '{climb = ["choir", 120]}', "one of bass, drums, band"),
    ("pins", '{climb = ["reach", 120]}', "one of bass, drums, band"),
    ("pins", '{climb = ["band", 49]}', "50 to 220"),
    ("pins", '{climb = ["band", 120.5]}', "50 to 220"),
    ("pins", '{climb = ["band", true]}', "50 to 220"),
    ("pins", '{climb = ["band"]}', "for each device a list"),
    ("jam_by_ear", "1", "true or false"),
    ("soundfont", "false", "a text in quotes"),
    ("soundfont", '"a\\u0000b"', "a text in quotes"),
    ("output_device", "3", "a text in quotes"),
    ("play_by", '"kazoo"', "one of nothing, midi, sound"),
    ("midi_input", "1", "a text in quotes"),
    ("midi_input", '"network:here"', "network:HOST:PORT with a port from 1 to 65535"),
    ("midi_input", '"network:here:0"', "network:HOST:PORT"),
    ("input_device", "true", "a text in quotes"),
    ("reverb", '"on"', "true or false"),
    ("ascii", "2", "true or false"),
    ("welcomed", "1979-05-27", "true or false"),
]


@pytest.mark.parametrize(("key", "value", "allowed"), WRONG)
def test_a_wrong_value_is_named_with_what_is_allowed_and_the_default_holds(
    tmp_path: Path, key: str, value: str, allowed: str
) -> None:
    loaded = load(
        written(
            tmp_path,
            f"round_length = 7\n{key} = {value}\n"
            if key != "round_length"
            else f"{key} = {value}\n",
        )
    )
    (problem,) = loaded.problems
    assert problem.startswith(f"{tmp_path / 'settings.toml'}: setting '{key}' is ")
    assert f": give {allowed}" in problem or allowed in problem
    assert len(problem) < 400
    assert getattr(Settings(), key) == getattr(loaded.settings, key)


OWN = """tuning = "my-five"

[own_tunings]
my-five = ["B0", "E1", "A1", 38, "G2"]
"""


def test_an_instrument_may_be_a_tuning_of_ones_own(tmp_path: Path) -> None:
    loaded = load(written(tmp_path, OWN))
    assert () == loaded.problems
    neck = replace(loaded.settings, frets=24, open_strings="prefer").neck
    assert ("my-five", (23, 28, 33, 38, 43)) == (neck.tuning.id, neck.tuning.open_pitches)
    assert (24, OpenStrings.PREFER) == (neck.frets, neck.open_strings)
    assert ["my-five"] == [tuning.id for tuning in loaded.settings.tunings]


@pytest.mark.parametrize(("strings", "message"), [
    ('["E1", "A1"]', "tuning 'mine': 2 strings were given: give 3 to 8"),
    ('["A1", "E1", "D2"]', "tuning 'mine': E1 stands behind A1"),
    ('["E1", "A1", "H2"]', "tuning 'mine': 'H2' is no pitch: give a note name with its octave"),
])  # fmt: skip
def test_an_own_tuning_that_cannot_be_strung_is_told(
    tmp_path: Path, strings: str, message: str
) -> None:
    loaded = load(written(tmp_path, f'tuning = "mine"\nown_tunings = {{mine = {strings}}}\n'))
    first, second = loaded.problems
    assert f"setting 'own_tunings', {message}" in first
    assert "setting 'tuning' is 'mine': give one of four-string" in second
    assert "four-string" == loaded.settings.neck.tuning.id


def test_an_own_tuning_may_not_take_a_built_in_name(tmp_path: Path) -> None:
    loaded = load(written(tmp_path, 'own_tunings = {drop-d = ["C1", "G1", "D2"]}\n'))
    (problem,) = loaded.problems
    assert "setting 'own_tunings' names 'drop-d', which is built in: rename it" in problem


def test_the_instrument_in_use_cannot_be_taken_away(tmp_path: Path) -> None:
    settings = load(written(tmp_path, OWN)).settings
    with pytest.raises(SettingsError, match="leaves out 'my-five', which is the instrument"):
        with_value(settings, "own_tunings", {})
    assert {} == with_value(replace(settings, tuning="drop-d"), "own_tunings", {}).own_tunings


def test_a_wrong_instrument_stays_in_the_file_for_its_owner(tmp_path: Path) -> None:
    path = written(tmp_path, 'tuning = "gone"\n')
    save(replace(load(path).settings, frets=22), path)
    assert 'tuning = "gone"\nfrets = 22\n' == path.read_text()


def test_own_tunings_are_typed_in_a_line() -> None:
    line = "my-five: B0 E1 A1 D2 G2; high: A1, D2, G2, C3 ;"
    read = read_own_tunings(line)
    assert {
        "my-five": ("B0", "E1", "A1", "D2", "G2"),
        "high": ("A1", "D2", "G2", "C3"),
    } == read
    assert read == read_own_tunings(own_tunings_text(read))
    assert {} == read_own_tunings("  ")


@pytest.mark.parametrize("line", ["B0 E1 A1", "a: E1 A1 D2; a: E1 A1 D2"])
def test_a_line_of_tunings_without_names_is_refused(line: str) -> None:
    with pytest.raises(SettingsError, match="write a name, a colon and the open strings"):
        read_own_tunings(line)


def test_every_setting_has_a_wrong_value_above() -> None:
    assert set(CHECKS) == {key for key, _, _ in WRONG}


def test_a_wrong_value_stays_in_the_file_until_that_setting_is_changed(tmp_path: Path) -> None:
    path = written(tmp_path, "frets = 99\nascii = false\n")
    settings = load(path).settings
    save(replace(settings, ascii=True), path)
    assert "frets = 99\nascii = true\n" == path.read_text()
    save(replace(settings, frets=21, ascii=True), path)
    assert "frets = 21\nascii = true\n" == path.read_text()


def test_wrong_key_weights_are_replaced_as_a_whole(tmp_path: Path) -> None:
    path = written(tmp_path, "[key_weights]\nH = 2\nC = 3\n")
    wanted = replace(Settings(), key_weights=favouring(("F",)))
    save(wanted, path)
    assert Loaded(wanted) == load(path)


def test_a_key_that_the_weights_leave_out_weighs_one(tmp_path: Path) -> None:
    weights = load(written(tmp_path, "key_weights = {E = 0, A = 3}\n")).settings.key_weights
    assert dict.fromkeys(KEY_NAMES, 1.0) | {"E": 0.0, "A": 3.0} == weights


def test_the_keys_are_the_twelve_that_are_played() -> None:
    assert tuple(map(str, PLAYED_KEYS)) == KEY_NAMES
    assert 12 == len({key.tonic.pitch_class for key in PLAYED_KEYS})


def test_tempi_are_read_together_whatever_their_order(tmp_path: Path) -> None:
    loaded = load(written(tmp_path, "tempo_low = 150\ntempo_high = 200\n"))
    assert (150, 200, ()) == (
        loaded.settings.tempo_low,
        loaded.settings.tempo_high,
        loaded.problems,
    )


def test_a_slowest_tempo_above_the_fastest_is_reported(tmp_path: Path) -> None:
    loaded = load(written(tmp_path, "tempo_low = 140\n"))
    assert Settings() == loaded.settings
    (problem,) = loaded.problems
    assert "'tempo_low' 140 is above 'tempo_high' 132" in problem


@pytest.mark.parametrize(
    ("key", "value", "low", "high"),
    [
        ("tempo_low", 100, 100, 132),
        ("tempo_low", 150, 150, 150),
        ("tempo_high", 90, 80, 90),
        ("tempo_high", 60, 60, 60),
    ],
)
def test_a_tempo_takes_the_other_end_of_the_range_with_it(
    key: str, value: int, low: int, high: int
) -> None:
    changed = with_value(Settings(), key, value)
    assert (low, high) == (changed.tempo_low, changed.tempo_high)


def test_a_feel_given_twice_counts_once() -> None:
    changed = with_value(Settings(), "feels", ["swing", "slow", "swing"])
    assert ("swing", "slow") == changed.feels


def test_a_setting_that_does_not_exist_is_refused() -> None:
    with pytest.raises(SettingsError, match="there is no setting 'volume'"):
        with_value(Settings(), "volume", 11)


NO_TOML = [
    b"frets = \n",
    b"[[[",
    b"frets = 20\nfrets = 21\n",
    b"\xff\xfe\x00",
    b"\0" * 50,
    b"x = " + b"[" * 100_000,
]


@pytest.mark.parametrize("content", NO_TOML)
def test_a_file_that_is_no_toml_is_reported_and_set_aside_on_saving(
    tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(content)
    loaded = load(path)
    assert Settings() == loaded.settings
    (problem,) = loaded.problems
    assert str(path) in problem
    assert "the defaults are used" in problem
    save(CHANGED, path)
    assert content == (tmp_path / "settings.toml.bad-1").read_bytes()
    assert Loaded(CHANGED) == load(path)


def test_files_set_aside_are_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    for content in ("= 1", "= 2", "= 3"):
        path.write_text(content)
        save(CHANGED, path)
    assert ["= 1", "= 2", "= 3"] == [
        (tmp_path / f"settings.toml.bad-{number}").read_text() for number in (1, 2, 3)
    ]


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(b"\xef\xbb\xbffrets = 22\n")
    assert Loaded(replace(Settings(), frets=22)) == load(path)


def test_a_link_to_a_file_kept_elsewhere_stays_a_link(tmp_path: Path) -> None:
    kept = written(tmp_path, "frets = 22\n")
    link = tmp_path / "link.toml"
    link.symlink_to(kept)
    save(replace(Settings(), frets=23), link)
    assert link.is_symlink()
    assert "frets = 23\n" == kept.read_text()


def test_a_folder_in_place_of_the_file_is_reported_and_refused(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").mkdir()
    (problem,) = load(tmp_path / "settings.toml").problems
    assert "cannot be read" in problem
    with pytest.raises(SettingsError, match=r"cannot be written to .* set LASTBAR_CONFIG"):
        save(CHANGED, tmp_path / "settings.toml")


def test_a_file_in_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "config").write_text("")
    assert Loaded(Settings()) == load(tmp_path / "config" / "settings.toml")
    with pytest.raises(SettingsError, match="cannot be written"):
        save(CHANGED, tmp_path / "config" / "settings.toml")


def test_nothing_but_the_settings_is_left_behind(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    save(CHANGED, path)
    save(Settings(), path)
    assert [path] == list(tmp_path.iterdir())


@given(st.text())
def test_no_text_stops_the_reading(text: str) -> None:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        path = Path(folder) / "settings.toml"
        path.write_text(text, encoding="utf-8", errors="surrogatepass")
        assert isinstance(load(path).settings, Settings)


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=2), inner),
    max_leaves=5,
)


@given(key=st.sampled_from(list(CHECKS)), value=VALUES)
def test_any_value_is_taken_as_allowed_or_refused_in_words(key: str, value: object) -> None:
    try:
        changed = with_value(Settings(), key, value)
    except SettingsError as error:
        assert f"setting '{key}' is " in str(error)  # noqa: PT017 - either outcome is allowed
        return
    assert changed == with_value(changed, key, getattr(changed, key))


def test_a_device_that_is_pinned_no_more_leaves_the_file(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    pinned = replace(Settings(), pins={"climb": Pin("bass", 60), "fall": Pin("band", 90)})
    save(pinned, path)
    assert pinned == load(path).settings
    save(replace(pinned, pins={"fall": Pin("band", 90)}), path)
    assert {"fall": Pin("band", 90)} == load(path).settings.pins
    save(Settings(), path)
    assert Settings() == load(path).settings


def test_a_comment_beside_a_pin_stays(tmp_path: Path) -> None:
    path = written(tmp_path, '[pins]\nclimb = ["band", 120]  # for Thursday\n')
    pins = load(path).settings.pins
    save(replace(Settings(), pins={**pins, "fall": Pin("bass", 60)}), path)
    assert "# for Thursday" in path.read_text(encoding="utf-8")
    assert {"climb": Pin("band", 120), "fall": Pin("bass", 60)} == load(path).settings.pins
