"""Where the files stand."""

from pathlib import Path

import pytest

from quiz.errors import LocationError, QuizError
from quiz.locations import Locations, locate


def test_the_two_variables_say_where_settings_and_history_stand(tmp_path: Path) -> None:
    given = {"LASTBAR_CONFIG": str(tmp_path / "c"), "LASTBAR_DATA": str(tmp_path / "d")}
    assert Locations(tmp_path / "c", tmp_path / "d") == locate(given)


def test_nothing_is_made_by_asking_where(tmp_path: Path) -> None:
    locate({"LASTBAR_CONFIG": str(tmp_path / "c"), "LASTBAR_DATA": str(tmp_path / "d")})
    assert [] == list(tmp_path.iterdir())


def test_a_relative_folder_is_taken_from_the_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    places = locate({"LASTBAR_CONFIG": "c", "LASTBAR_DATA": "d"})
    assert (tmp_path / "c", tmp_path / "d") == (places.config, places.data)


def test_a_tilde_that_no_shell_has_replaced_is_the_home_directory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))  # what Windows looks at
    places = locate({"LASTBAR_CONFIG": "~/c", "LASTBAR_DATA": "~/d"})
    assert (tmp_path / "c", tmp_path / "d") == (places.config, places.data)


def test_without_variables_both_folders_carry_the_name_of_the_program() -> None:
    places = locate({})
    assert places.config.is_absolute()
    assert places.data.is_absolute()
    assert "lastbar" in places.config.parts
    assert "lastbar" in places.data.parts


def test_an_empty_variable_is_like_none() -> None:
    assert locate({}) == locate({"LASTBAR_CONFIG": "", "LASTBAR_DATA": ""})


@pytest.fixture
def homeless(monkeypatch: pytest.MonkeyPatch) -> None:
    """A user whom the system does not know and who has no HOME, as in some containers."""
    pwd = pytest.importorskip("pwd", reason="Windows always has a profile folder")

    def unknown(_: int) -> None:
        raise KeyError("getpwuid(): uid not found")

    for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(pwd, "getpwuid", unknown)


@pytest.mark.usefixtures("homeless")
@pytest.mark.parametrize(
    "given",
    [
        {},
        {"LASTBAR_CONFIG": "/c"},
        {"LASTBAR_DATA": "/d"},
        {"LASTBAR_CONFIG": "~/c", "LASTBAR_DATA": "~/d"},
    ],
)
def test_without_a_home_the_message_names_the_two_variables(given: dict[str, str]) -> None:
    with pytest.raises(LocationError, match="set LASTBAR_CONFIG and LASTBAR_DATA") as caught:
        locate(given)
    assert isinstance(caught.value, QuizError)
    assert "\n" not in str(caught.value)


@pytest.mark.usefixtures("homeless")
def test_without_a_home_the_variables_are_enough(tmp_path: Path) -> None:
    given = {"LASTBAR_CONFIG": str(tmp_path), "LASTBAR_DATA": str(tmp_path)}
    assert Locations(tmp_path, tmp_path) == locate(given)


def test_answers_that_the_history_cannot_take_wait_outside_its_folder(tmp_path: Path) -> None:
    places = Locations(tmp_path / "c", tmp_path / "d")
    assert tmp_path / "d" / "history.db" == places.history
    assert tmp_path / "d" / "backups" == places.backups
    assert tmp_path / "c" == places.unsaved.parent == places.settings.parent
