"""The course of an open jam on the screen: what is kept, what is told, and that it stops."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from engine.feels import Feel
from engine.textures import Texture
from engine.timing import seconds_at
from quiz.learning.practice import CALLED
from quiz.questions.value import from_parameters
from quiz.screens.help import HelpScreen
from quiz.screens.home import HomeScreen
from quiz.screens.jam import LINES_KEPT, JamScreen
from quiz.setlist import Circumstances, Setlist
from quiz.settings.values import KEY_NAMES
from quiz.widgets.form_strip import FormStrip
from tests.quiz.asking import CATALOGUE
from tests.quiz.jamming import FAST, at_the_jam, on_stage
from tests.quiz.test_app import visible, words

LONGEST_FORM = "sixteen-bar-tag"


def over(form: str) -> Setlist:
    """A jam of a bass alone over a form."""
    wanted = Circumstances(132.0, (Feel.SHUFFLE,), Texture.BASS)
    jams = (Setlist(CATALOGUE, wanted, seed) for seed in range(200))
    return next(one for one in jams if one.settings.form.id == form)


# --- what is kept ---------------------------------------------------------------------------------


async def test_a_call_is_kept_with_all_that_was_played(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.call(0, right=False)
        (answer,) = jam.bench.store.answers()
        cue, key = jam.figures[0], str(jam.legs[0].key)
        assert ("jam", CALLED, "wrong", 0.0) == (
            answer.kind,
            answer.why,
            answer.verdict,
            answer.score,
        )
        assert (132.0, "shuffle", "bass", key) == (
            answer.tempo,
            answer.feel,
            answer.texture,
            answer.key,
        )
        said = json.loads(answer.question)
        assert (cue.device, cue.bar, key) == (said["device"], said["bar"], said["key"])
        assert [figure.id for figure in jam.setlist.figures] == said["options"]
        assert len(said["options"]) == answer.options
        assert answer.given in said["options"]
        assert answer.given != cue.device
        assert cue.device == from_parameters(answer.question).device


async def test_what_a_figure_was_taken_for_is_kept_as_a_row(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.call(0, right=False)
        ((asked, chosen, times),) = jam.bench.store.confusions()
        rows = {row.id for row in CATALOGUE.devices}
        assert 1 == times
        assert asked != chosen
        assert {asked, chosen} <= rows


async def test_the_time_to_a_call_is_that_of_the_music(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen_to(seconds_at(jam.figures[0].arrival, 132.0) + 0.5)
        await jam.call(0)
        (answer,) = jam.bench.store.answers()
        assert pytest.approx(0.5, abs=0.03) == answer.seconds


async def test_calls_stand_in_the_scores_and_are_no_questions_of_the_day(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        before = jam.bench.today()
        await jam.begin()
        await jam.listen(0)
        await jam.call(0)
        await jam.pilot.press("escape", "enter")
        await jam.until(lambda: "1 of 1" in words(jam.app, "#days"))
        assert isinstance(jam.app.screen, HomeScreen)
        assert before == jam.bench.today()
        assert "0 answered" in words(jam.app, "#today")


async def test_in_a_jam_under_an_assignment_calls_belong_to_no_assignment(tmp_path: Path) -> None:
    work = tmp_path / "work.toml"
    work.write_text('id = "horns"\ntitle = "T"\ndevices = ["climb"]\n', encoding="utf-8")
    async with at_the_jam(tmp_path, assignment=work) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.call(0)
        assert [("jam", "")] == [(one.kind, one.assignment) for one in jam.bench.store.answers()]
        assert [] == list(jam.bench.store.answers(assignment="horns"))


async def test_a_history_that_takes_nothing_costs_no_call_and_is_told(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        jam.bench.store._database.rows("PRAGMA query_only = ON")
        await jam.listen(0)
        await jam.call(0)
        assert "caught: " in words(jam.app, "#calls")
        assert any("waits in" in toast.message for toast in jam.app._notifications)
        assert jam.bench.locations.unsaved.exists()


# --- what is told ---------------------------------------------------------------------------------


async def test_the_key_moves_in_words_when_the_band_leads_over(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin(over("eight-bar"))
        first = jam.legs[0]
        assert f"in {first.key}" == words(jam.app, "#how").split("   ")[-1]
        await jam.listen_to(seconds_at(first.end, 132.0) - 2.0)
        assert f"now into {first.following}" == words(jam.app, "#how").split("   ")[-1]
        assert jam.screen.query_one(FormStrip).sounding is None
        await jam.listen_to(seconds_at(first.end, 132.0) + 0.2)
        assert f"in {first.following}" == words(jam.app, "#how").split("   ")[-1]


async def test_by_ear_no_word_on_the_screen_names_a_key(tmp_path: Path) -> None:
    """All keys but one with a name that no other word has would do; Bb, Eb, Ab and Db have that."""
    flats = {key: float(key in ("Bb", "Eb", "Ab", "Db")) for key in KEY_NAMES}
    by_ear = replace(FAST, jam_by_ear=True, key_weights=flats)
    async with at_the_jam(tmp_path, by_ear) as jam:
        await jam.begin()
        end = seconds_at(jam.legs[0].end, 132.0)
        for moment in (1.0, 5.0, end - 2.0, end + 1.0):
            await jam.listen_to(moment)
            assert not [key for key in ("Bb", "Eb", "Ab", "Db") if key in visible(jam.app)]


async def test_the_bar_moves_through_the_form_and_begins_anew(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin(over("twelve-bar"))
        beat, bar = 60 / 132, 240 / 132
        strip = jam.screen.query_one(FormStrip)
        seen = []
        for bars in (0, 1, 2, 12, 13):
            await jam.listen_to(bars * bar + 2.5 * beat)
            seen.append(strip.sounding)
        assert [None, (1, 2), (2, 2), (12, 2), (1, 2)] == seen


async def test_a_note_names_language_and_f_sharp_are_kept_to(tmp_path: Path) -> None:
    only = {key: float(key == "Gb") for key in KEY_NAMES}
    sharp = replace(FAST, key_weights=only, f_sharp=True, note_names="german")
    async with at_the_jam(tmp_path, sharp) as jam:
        await jam.begin()
        await jam.listen_to(1.0)
        assert words(jam.app, "#how").endswith("in Fis")


async def test_calls_stand_with_the_latest_first_and_the_oldest_go(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin(over("eight-bar"))
        for number in range(LINES_KEPT + 2):
            await jam.listen(number)
            await jam.call(number, right=number % 2 == 0)
        lines = words(jam.app, "#calls").splitlines()
        assert LINES_KEPT == len(lines)
        assert ["it was", "caught"] * 3 == [
            "caught" if "caught: " in line else "it was" for line in lines
        ]


async def test_without_a_sound_output_the_jam_says_so_and_goes_on_in_silence(
    tmp_path: Path,
) -> None:
    async with at_the_jam(tmp_path, silent="no sound: there is no output") as jam:
        await jam.begin()
        assert "no sound: there is no output" == words(jam.app, "#notice")
        await jam.listen(0)
        await jam.call(0)
        assert "caught: " in words(jam.app, "#calls")


async def test_an_own_soundfont_that_is_none_is_told_and_the_built_in_one_plays(
    tmp_path: Path,
) -> None:
    font = tmp_path / "mine.sf2"
    font.write_text("no SoundFont", encoding="utf-8")
    async with at_the_jam(tmp_path, replace(FAST, soundfont=str(font))) as jam:
        await jam.begin()
        assert "the built-in sound plays now" in words(jam.app, "#notice")
        await jam.listen(0)


async def test_a_synthesizer_that_fails_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nowhere = tmp_path / "gone.sf2"  # stands for an installation that has lost its sounds
    monkeypatch.setattr("quiz.sound.studio.soundfont_path", lambda: nowhere)
    async with at_the_jam(tmp_path) as jam:
        await jam.pilot.press("j")
        await jam.until(lambda: "The jam ended: " in words(jam.app, "#notice"))
        assert "gone.sf2" in words(jam.app, "#notice")
        await jam.pilot.press("1", "escape")
        await jam.pilot.pause()
        assert isinstance(jam.app.screen, HomeScreen)


@pytest.mark.parametrize("size", [(80, 24), (60, 20)])
async def test_the_longest_form_leaves_room_for_all_figures_and_the_latest_call(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    async with at_the_jam(tmp_path, silent="no sound: there is no output", size=size) as jam:
        await jam.begin(over(LONGEST_FORM))
        await jam.listen(0)
        await jam.call(0)
        shown = visible(jam.app)
        assert all(f" {number}  " in shown for number in range(1, 7))
        assert "16 I7" in shown
        assert "no sound" in shown
        assert "caught: " in shown
        assert "esc Stop" in shown


async def test_a_jam_has_an_ascii_form(tmp_path: Path) -> None:
    plain = replace(FAST, ascii=True)
    async with at_the_jam(tmp_path, plain, size=(60, 20)) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.call(0)
        await jam.listen(2)
        assert visible(jam.app).isascii(), visible(jam.app)
        await jam.pilot.press("escape")
        await jam.pilot.pause()
        assert visible(jam.app).isascii(), visible(jam.app)


async def test_help_tells_the_keys_of_a_jam_while_it_goes_on(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.pilot.press("question_mark")
        await jam.until(lambda: isinstance(jam.app.screen, HelpScreen))
        assert "End the jam; every call so far is kept" in visible(jam.app)
        await jam.pilot.press("escape")
        await jam.until(lambda: isinstance(jam.app.screen, JamScreen))
        await jam.listen(0)
        await jam.call(0)
        assert "caught: " in words(jam.app, "#calls")


# --- by mouse, and by Enter -----------------------------------------------------------------------


async def test_a_click_and_enter_name_a_figure_too(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.pilot.click("#figures", offset=(4, 1))
        await jam.pilot.pause()
        await jam.listen(1)
        await jam.pilot.press("home", "down", "enter")
        await jam.pilot.pause()
        ids = [figure.id for figure in jam.setlist.figures]
        assert [1, 1] == [ids.index(one.given) for one in jam.bench.store.answers()]


@pytest.mark.parametrize("key", ["0", "7", "9", "x", "space"])
async def test_other_keys_name_nothing(tmp_path: Path, key: str) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen(0)
        await jam.pilot.press(key)
        await jam.pilot.pause()
        assert 0 == jam.bench.store.count()


# --- the end --------------------------------------------------------------------------------------


async def test_leaving_sends_the_band_home(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        assert 1 == len(on_stage())
        await jam.pilot.press("escape")
        await jam.until(lambda: not on_stage())
        assert jam.bench.player.position() is None
        assert isinstance(jam.app.screen, HomeScreen)


async def test_quitting_the_program_sends_the_band_home(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        (thread,) = on_stage()
        await jam.pilot.press("ctrl+q")
        await jam.pilot.pause()
    thread.join(10.0)
    assert not thread.is_alive()


async def test_a_figure_that_is_open_when_the_player_leaves_is_not_counted(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.begin()
        await jam.listen(1, beats=2.0)  # the first is over and was missed, the second is open
        await jam.pilot.press("escape")
        await jam.pilot.pause()
        assert ["given up"] == [one.verdict for one in jam.bench.store.answers()]


async def test_another_sound_over_the_jam_ends_it_and_its_time_counts_for_nothing(
    tmp_path: Path,
) -> None:
    """The palette leads to the catalogue from here too."""
    async with at_the_jam(tmp_path) as jam:
        await jam.begin(over("eight-bar"))
        screen = jam.screen
        jam.app.action_catalogue()
        await jam.pilot.pause()
        await jam.pilot.press("enter")
        await jam.until(lambda: jam.bench.player.position() is not None)
        await jam.until(lambda: not on_stage())
        jam.clock.now += 9.0  # of the clip: in the jam the first figure would be over
        assert jam.bench.player.position() is not None
        screen._follow()
        assert 0 == jam.bench.store.count()
        await jam.pilot.press("escape")
        await jam.until(lambda: jam.app.screen is screen)
        await jam.until(
            lambda: "The jam ended: another sound took its place" in words(jam.app, "#notice")
        )
        await jam.pilot.press("1", "escape")
        await jam.pilot.pause()
        assert isinstance(jam.app.screen, HomeScreen)
        assert 0 == jam.bench.store.count()


async def test_a_jam_that_cannot_be_opened_is_told_on_the_home_screen(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        bases = tuple(row for row in CATALOGUE.devices if row.family.value == "base")
        jam.bench.catalogue = type(CATALOGUE)(bases)
        await jam.pilot.press("j")
        await jam.pilot.pause()
        assert isinstance(jam.app.screen, HomeScreen)
        (toast,) = jam.app._notifications
        assert "there are not two figures to tell apart" in toast.message


@pytest.mark.parametrize("way", ["j", "menu"])
async def test_the_jam_opens_by_key_and_from_the_menu(tmp_path: Path, way: str) -> None:
    async with at_the_jam(tmp_path) as jam:
        await jam.pilot.press(*(["j"] if way == "j" else ["down", "down", "enter"]))
        await jam.until(lambda: isinstance(jam.app.screen, JamScreen))


async def test_every_jam_is_another_one(tmp_path: Path) -> None:
    async with at_the_jam(tmp_path) as jam:
        jam.bench._seed = None  # as it is for players
        seeds = {jam.bench.setlist().seed for _ in range(5)}
        assert 5 == len(seeds)
