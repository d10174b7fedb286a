"""The commands, run as processes, the way scripts run them."""

import json
import os
import subprocess
import sys
import wave
from collections.abc import Mapping
from pathlib import Path

import pytest

from engine.catalogue import builtin_catalogue

ROOT = Path(__file__).parents[2]


def run(
    folder: Path, *arguments: str, lines: str = "", more: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """The command in a folder of its own, without a sound output of the machine's."""
    environment = os.environ | {
        "LASTBAR_CONFIG": str(folder / "config"),
        "LASTBAR_DATA": str(folder / "data"),
        "PULSE_SERVER": "unix:/nowhere",
        **(more or {}),
    }
    return subprocess.run(
        [sys.executable, "-m", "quiz.cli", *arguments],
        input=lines,
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        encoding="utf-8",
    )


def one_line_error(result: subprocess.CompletedProcess[str], code: int) -> str:
    """The error, when it is one line with the right exit code and no traceback."""
    assert code == result.returncode, result.stderr
    assert 1 == result.stderr.count("\n"), result.stderr
    assert "Traceback" not in result.stderr
    return result.stderr


def test_devices_lists_the_whole_catalogue_as_data(tmp_path: Path) -> None:
    data = json.loads(run(tmp_path, "devices", "--json").stdout)
    assert [device.id for device in builtin_catalogue().devices] == [
        row["id"] for row in data["devices"]
    ]
    assert {"id", "name", "family", "bars", "degrees", "source"} <= data["devices"][0].keys()


def test_devices_can_be_limited_to_a_family(tmp_path: Path) -> None:
    data = json.loads(run(tmp_path, "devices", "--family", "tail", "--json").stdout)
    assert {"tail"} == {row["family"] for row in data["devices"]}


def test_spell_shows_several_ways_to_play_a_figure_and_what_they_cost(tmp_path: Path) -> None:
    ask = ("spell", "walk-up-one-four", "--key", "A", "--paths", "3")
    paths = json.loads(run(tmp_path, *ask, "--json").stdout)["paths"]
    assert 3 == len(paths)
    assert [5, 2, 3, 4, 5] == [place["fret"] for place in paths[0]["positions"]]
    assert ([2] * 5, 0, 0) == (paths[0]["hands"], paths[0]["movement"], paths[0]["stretches"])
    assert [path["cost"] for path in paths] == sorted(path["cost"] for path in paths)
    assert all(path["cost"] == pytest.approx(sum(path["parts"].values())) for path in paths)
    lines = run(tmp_path, *ask).stdout.splitlines()
    assert 3 == sum(line.startswith("neck ") for line in lines)
    assert "path 1: 0 frets of hand movement, 0 stretches" in lines
    assert "path 2: 1 fret of hand movement, 0 stretches" in lines


def test_spell_keeps_places_on_strings_with_long_names_apart(tmp_path: Path) -> None:
    ask = ("spell", "climb", "--key", "A", "--tuning", "drop-d")
    neck = run(tmp_path, *ask).stdout.splitlines()[-1]
    assert ["neck", "low", "D7", "A4", "A5", "A6"] == neck.split()


def test_spell_takes_frets_and_a_tuning_of_ones_own(tmp_path: Path) -> None:
    config = tmp_path / "config"
    config.mkdir()
    own = '[own_tunings]\nhigh = ["E2", "A2", "D3", "G3"]\n'
    (config / "settings.toml").write_text(own, encoding="utf-8")
    spell = ("spell", "fall", "--key", "A", "--tuning")
    fits = run(tmp_path, *spell, "high", "--frets", "24", "--json")
    first = json.loads(fits.stdout)["positions"][0]
    assert {"string": "E", "fret": 5} == first
    low = run(tmp_path, "spell", "climb", "--key", "A", "--tuning", "high")
    assert "an octave higher the whole line fits; it is the A (1) of 'climb' in A" in (
        one_line_error(low, 1)
    )
    unknown = one_line_error(run(tmp_path, *spell, "higher"), 1)
    assert "there is no tuning 'higher': give one of four-string" in unknown
    assert unknown.rstrip().endswith("six-string, high")
    assert "from 20 to 24" in one_line_error(run(tmp_path, *spell, "high", "--frets", "25"), 1)


def test_spell_gives_equally_long_lists(tmp_path: Path) -> None:
    # check value, common practice, no source: the walk-up into the four in A
    result = run(tmp_path, "spell", "walk-up-one-four", "--key", "A", "--json")
    assert {
        "device": "walk-up-one-four",
        "key": "A",
        "degrees": ["1", "2", "b3", "3", "4"],
        "notes": ["A", "B", "C", "C#", "D"],
        "midi": [33, 35, 36, 37, 38],
        "positions": [
            {"string": "E", "fret": 5},
            {"string": "A", "fret": 2},
            {"string": "A", "fret": 3},
            {"string": "A", "fret": 4},
            {"string": "A", "fret": 5},
        ],
    } == json.loads(result.stdout)


def test_an_unknown_device_is_not_found(tmp_path: Path) -> None:
    assert "nope" in one_line_error(run(tmp_path, "spell", "nope", "--key", "A"), 2)


@pytest.mark.parametrize(
    "arguments",
    [
        ("spell", "climb", "--key", "X"),
        ("spell", "climb", "--key", ""),
        ("frob",),
        ("spell", "climb"),
        ("hear", "climb", "--key", "A", "--tempo", "0", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--tempo", "-5", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--tempo", "1e9", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--tempo", "nan", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--tempo", "fast", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--feel", "polka", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--texture", "choir", "--out", "x.wav"),
        ("hear", "climb", "--key", "A", "--out", "x.ogg"),
        ("hear", "climb", "--key", "A", "--out", "/nowhere/x.wav"),
        ("hear", "climb", "--key", "A", "--out", "/nowhere/x.mid"),
        ("ask", "--count", "0"),
        ("ask", "--count", "many"),
        ("ask", "--kind", "dance"),
        ("ask", "--seed", "-1"),
        ("ask", "--device", "plain-five", "--kind", "spell", "--key", "Q"),
        ("keep", "burn"),
        ("scores", "--json", "--csv"),
    ],
)
def test_wrong_use_is_one_line_and_exit_code_1(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    one_line_error(run(tmp_path, *arguments), 1)


def test_hear_writes_a_wav_file(tmp_path: Path) -> None:
    target = tmp_path / "fall.wav"
    result = run(tmp_path, "hear", "fall+plain-five", "--key", "Eb", "--out", str(target))
    assert 0 == result.returncode, result.stderr
    with wave.open(str(target)) as file:
        assert (2, 2, 44100) == (file.getnchannels(), file.getsampwidth(), file.getframerate())
        assert file.getnframes() > 5 * 44100
    assert [target] == list(tmp_path.glob("*.*"))


def test_hear_writes_a_midi_file(tmp_path: Path) -> None:
    target = tmp_path / "fall.mid"
    assert 0 == run(tmp_path, "hear", "fall", "--key", "Eb", "--out", str(target)).returncode
    assert b"MThd" == target.read_bytes()[:4]


def test_hear_without_an_output_says_what_to_do(tmp_path: Path) -> None:
    assert "--out" in one_line_error(run(tmp_path, "hear", "climb", "--key", "A"), 1)


def test_check_tells_what_works(tmp_path: Path) -> None:
    data = json.loads(run(tmp_path, "check", "--json").stdout)
    works = {row["name"]: row["works"] for row in data["findings"]}
    assert works["synthesizer"]
    assert works["history"]


def test_scores_of_an_empty_history_have_the_documented_shape(tmp_path: Path) -> None:
    data = json.loads(run(tmp_path, "scores", "--json").stdout)
    promised = ("weeks", "devices", "keys", "kinds", "confusions")
    assert [[]] * 5 == [data[name] for name in promised]


def test_a_chart_is_written_to_a_file_and_told_in_words(tmp_path: Path) -> None:
    target = tmp_path / "weeks.svg"
    result = run(tmp_path, "scores", "--chart", "weeks", "--out", str(target))
    assert 0 == result.returncode, result.stderr
    assert "No answers yet." in result.stdout
    assert target.read_text(encoding="utf-8").startswith("<svg")


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (("--chart", "weeks"), "--out FILE.svg"),
        (("--chart", "weeks", "--out", "weeks.png"), "'weeks.png' was given"),
        (("--out", "weeks.svg"), "--chart"),
        (("--chart", "moons", "--out", "moons.svg"), "calibration"),
    ],
)
def test_half_a_chart_is_refused_with_what_is_allowed(
    tmp_path: Path, given: tuple[str, ...], told: str
) -> None:
    assert told in one_line_error(run(tmp_path, "scores", *given), 1)


def test_ask_asks_grades_keeps_and_ends_with_its_input(tmp_path: Path) -> None:
    result = run(
        tmp_path,
        "ask",
        "--kind",
        "spell",
        "--device",
        "climb",
        "--key",
        "A",
        "--count",
        "5",
        "--seed",
        "1",  # asks for note names
        "--json",
        lines="A C# D D#\nrubbish\n?\n",
    )
    assert 0 == result.returncode, result.stderr
    events = [json.loads(line) for line in result.stdout.splitlines()]
    assert ["hello", "question", "answer", "question"] == [row["event"] for row in events][:4]
    answers = [row for row in events if row["event"] == "answer"]
    assert all(row["kept"] for row in answers)
    assert len(answers) == events[-1]["answered"]
    scores = json.loads(run(tmp_path, "scores", "--json").stdout)
    assert len(answers) == scores["devices"][0]["answers"]


def test_the_same_seed_asks_the_same_questions(tmp_path: Path) -> None:
    asked = [
        [
            json.loads(line)["sentence"]
            for line in run(
                tmp_path / str(turn),
                "ask",
                "--kind",
                "spell",
                "--count",
                "4",
                "--seed",
                "9",
                "--json",
                lines="?\n?\n?\n?\n",
            ).stdout.splitlines()
            if json.loads(line)["event"] == "question"
        ]
        for turn in range(2)
    ]
    assert 4 == len(asked[0])
    assert asked[0] == asked[1]


def test_ask_writes_its_clips_for_a_machine_without_sound(tmp_path: Path) -> None:
    result = run(
        tmp_path,
        "ask",
        "--kind",
        "name",
        "--count",
        "1",
        "--seed",
        "5",
        "--json",
        "--clips",
        str(tmp_path / "clips"),
        lines="again\nslower\n1\n",
    )
    events = [json.loads(line) for line in result.stdout.splitlines()]
    files = [row["file"] for row in events if row["event"] == "clip"]
    assert 3 == len(files)
    assert all(Path(file).is_file() for file in files)
    assert "answer" == events[-2]["event"]


def test_without_sound_ask_sticks_to_what_needs_no_ear(tmp_path: Path) -> None:
    result = run(tmp_path, "ask", "--count", "3", "--json", lines="?\n?\n?\n")
    kinds = {json.loads(line).get("kind") for line in result.stdout.splitlines()}
    assert {"spell", "find", None} == kinds


@pytest.mark.parametrize(
    "answer", ["", " ", "z" * 100_000, "1 c", "\x00\x07", "\N{GUITAR}", "[b]", "99999999999999"]
)
def test_awkward_answers_get_a_line_and_the_question_stays(tmp_path: Path, answer: str) -> None:
    result = run(
        tmp_path, "ask", "--kind", "spell", "--count", "1", "--json", lines=f"{answer}\n?\n"
    )
    events = [json.loads(line)["event"] for line in result.stdout.splitlines()]
    assert ["hello", "question", "error", "answer", "end"] == events, result.stderr


def test_bytes_that_are_no_text_are_no_answer(tmp_path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "quiz.cli", "ask", "--kind", "spell", "--count", "1", "--json"],
        input=b"\xff\xfe\x80\n",
        cwd=ROOT,
        capture_output=True,
        check=False,
        timeout=60,
        env=os.environ | {"LASTBAR_CONFIG": str(tmp_path), "LASTBAR_DATA": str(tmp_path)},
    )
    assert 0 == result.returncode
    assert b'"error"' in result.stdout


def test_a_locale_without_utf_8_brings_no_traceback(tmp_path: Path) -> None:
    result = run(
        tmp_path,
        "ask",
        "--kind",
        "spell",
        "--count",
        "1",
        lines="♭ß\n?\n",
        more={
            "LC_ALL": "C",
            "PYTHONUTF8": "0",
            "PYTHONIOENCODING": "ascii",
            "PYTHONCOERCECLOCALE": "0",
        },
    )
    assert 0 == result.returncode
    assert "Traceback" not in result.stderr


def test_a_damaged_history_is_named_and_left_alone(tmp_path: Path) -> None:
    history = tmp_path / "data" / "history.db"
    history.parent.mkdir()
    history.write_bytes(b"this is no database" * 100)
    error = one_line_error(run(tmp_path, "scores"), 1)
    assert "keep restore" in error
    assert b"this is no database" * 100 == history.read_bytes()


def test_fresh_sets_a_damaged_history_aside(tmp_path: Path) -> None:
    history = tmp_path / "data" / "history.db"
    history.parent.mkdir()
    history.write_bytes(b"this is no database" * 100)
    assert 0 == run(tmp_path, "keep", "fresh").returncode
    assert 0 == run(tmp_path, "scores").returncode
    (aside,) = history.parent.glob("history.db.*1")
    assert b"this is no database" * 100 == aside.read_bytes()


def test_a_backup_can_be_made_listed_and_restored(tmp_path: Path) -> None:
    ask = ("ask", "--kind", "spell", "--count", "1")
    run(tmp_path, *ask, lines="?\n")
    assert 0 == run(tmp_path, "keep", "backup").returncode
    (copy,) = json.loads(run(tmp_path, "keep", "list", "--json").stdout)["backups"]
    backup = copy["file"]
    (tmp_path / "data" / "history.db").write_bytes(b"rubbish" * 1000)
    assert 0 == run(tmp_path, "keep", "restore", backup).returncode
    kinds = json.loads(run(tmp_path, "scores", "--json").stdout)["kinds"]
    assert 1 == kinds[0]["answers"]


def test_a_backup_that_is_not_there_is_not_found(tmp_path: Path) -> None:
    one_line_error(run(tmp_path, "keep", "restore", str(tmp_path / "none.db")), 2)


def test_a_data_folder_that_cannot_be_made_costs_no_answer(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file where the folder should be", encoding="utf-8")
    result = run(tmp_path, "ask", "--kind", "spell", "--count", "1", "--json", lines="?\n")
    assert 0 == result.returncode, result.stderr
    assert "Traceback" not in result.stderr
    (tmp_path / "data").unlink()
    kinds = json.loads(run(tmp_path, "scores", "--json").stdout)["kinds"]
    assert [] == kinds  # scores only read; the next round takes the waiting answer in
    run(tmp_path, "ask", "--kind", "spell", "--count", "1", lines="")
    kinds = json.loads(run(tmp_path, "scores", "--json").stdout)["kinds"]
    assert 1 == kinds[0]["answers"]


def test_a_missing_synthesizer_is_one_message_that_says_what_to_install(tmp_path: Path) -> None:
    # an import hook in the child stands for a machine without the library
    code = (
        "import ctypes.util, sys; ctypes.util.find_library = lambda name: None\n"
        "import quiz.cli; sys.exit(quiz.cli.main(sys.argv[1:]))"
    )
    result = subprocess.run(
        [
            sys.executable,
            "-c",
            code,
            "hear",
            "climb",
            "--key",
            "A",
            "--out",
            str(tmp_path / "x.wav"),
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
        env=os.environ | {"LASTBAR_CONFIG": str(tmp_path), "CI": "true"},
    )
    assert "install" in one_line_error(result, 1)
    assert "" == result.stdout
    assert not (tmp_path / "x.wav").exists()


def test_a_home_that_does_not_exist_is_told_in_a_line(tmp_path: Path) -> None:
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith(("LASTBAR", "XDG"))
    } | {"HOME": "/dev/null/none"}
    result = subprocess.run(
        [sys.executable, "-m", "quiz.cli", "ask", "--kind", "spell", "--count", "1", "--json"],
        input="?\n",
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert 0 == result.returncode, result.stderr
    assert "Traceback" not in result.stderr
    assert "LASTBAR_DATA" in result.stderr
