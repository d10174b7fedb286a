"""Past questions on the screen: listed, limited, opened and heard again."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable

from quiz.answers import Answer
from quiz.app import LastbarApp
from quiz.questions.kinds import Kind
from quiz.questions.value import parameters
from quiz.screens.history import PAGE, HistoryScreen
from quiz.screens.past import PastScreen
from quiz.settings.values import Settings
from quiz.widgets.form_strip import FormStrip
from quiz.workbench import Workbench
from tests.quiz.asking import every_row, made, question
from tests.quiz.benches import staged
from tests.quiz.histories import a_wrong_answer, an_answer
from tests.quiz.test_app import visible, words

IN_BB = question("climb+dip", "Bb", Kind.NAME, options=("climb+dip", "fall+dip"))


def some_answers() -> Iterator[Answer]:
    """Four questions, the wrong one the newest."""
    spelled = made(list(every_row(Kind.SPELL))[3].id, Kind.SPELL, "F")
    yield an_answer(
        1, device=spelled.item, kind="spell", key="F", given="rubbish", verdict="partly right",
        score=0.6, question=parameters(spelled),
    )  # fmt: skip
    yield an_answer(2, question=parameters(IN_BB))
    yield an_answer(3, device="gone", given="gone+dip", question='{"device": "gone+dip"}')
    yield a_wrong_answer(4, question=parameters(IN_BB))


def rows(app: LastbarApp) -> list[list[str]]:
    table = app.screen.query_one("#past", DataTable)
    return [[str(cell) for cell in table.get_row_at(place)] for place in range(table.row_count)]


async def at_history(bench: Workbench, pilot: Pilot[None]) -> None:
    bench.store.take_in(some_answers())
    await pilot.press("p")
    await pilot.pause()
    assert isinstance(pilot.app.screen, HistoryScreen)


async def opened(pilot: Pilot[None], *keys: str) -> PastScreen:
    """The question that is lit after some keys."""
    await pilot.press(*keys, "enter")
    await pilot.pause()
    assert isinstance(pilot.app.screen, PastScreen)
    return pilot.app.screen


async def test_past_questions_come_newest_first_with_what_came_of_them(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        shown = rows(app)
        assert ["climb", "gone", "climb"] == [row[4] for row in shown[:3]]
        assert [f"{bench.signs.wrong} wrong", f"{bench.signs.right} right"] == [
            row[1] for row in shown[:2]
        ]
        assert f"{bench.signs.partly} partly right" == shown[3][1]
        assert "All, newest first." == words(app, "#filters")


@pytest.mark.parametrize(
    ("key", "left", "told"),
    [("d", 2, "climb"), ("k", 3, "Name it"), ("y", 3, "in Bb"), ("x", 2, "not right")],
)
async def test_one_key_limits_to_what_is_lit_and_again_lifts_that(
    tmp_path: Path, key: str, left: int, told: str
) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        await pilot.press(key)
        await pilot.pause()
        assert left == len(rows(app))
        assert f"Only: {told}." == words(app, "#filters")
        await pilot.press(key)
        await pilot.pause()
        assert 4 == len(rows(app))


async def test_limits_add_up_and_an_empty_list_says_so(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        await pilot.press("down", "d", "x")
        await pilot.pause()
        assert [] == rows(app)
        assert "None: gone, not right." == words(app, "#filters")
        await pilot.press("enter", "k", "y")  # nothing is lit: nothing happens
        await pilot.pause()
        assert isinstance(app.screen, HistoryScreen)
        await pilot.press("d")
        await pilot.pause()
        assert 2 == len(rows(app))


async def test_more_is_read_when_the_end_is_reached(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        bench.store.take_in(an_answer(10 + n, 20_010 + n) for n in range(PAGE + 20))
        await at_history(bench, pilot)
        assert PAGE == len(rows(app))
        await pilot.press("ctrl+end")
        await pilot.pause()
        assert PAGE + 24 == len(rows(app))
        assert len(rows(app)) == bench.store.count()


async def test_a_question_opens_with_its_answer_and_its_words(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        screen = await opened(pilot)
        shown = words(app, "#remarks")
        assert "Which figure is it in bars 11 and 12?" in shown
        assert f"You answered: {bench.catalogue.name('fall+dip')}" in shown
        assert f"{bench.signs.wrong} wrong, after 4 seconds" == words(app, "#verdict")
        assert screen.query_one(FormStrip).display
        assert "degree" in visible(app)
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, HistoryScreen)


async def playing(pilot: Pilot[None], bench: Workbench) -> bool:
    """Whether something sounds within a while."""
    for _ in range(300):
        if bench.player.position() is not None:
            return True
        await pilot.pause(0.02)
    return False


async def test_it_is_heard_again_and_so_is_what_was_answered(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        await opened(pilot)
        assert bench.player.position() is None  # nothing sounds unasked
        for key in ("ctrl+r", "ctrl+y", "ctrl+l"):
            await pilot.press(key)
            assert await playing(pilot, bench), key
            await pilot.press("ctrl+t")
            await pilot.pause()
            assert bench.player.position() is None
        await pilot.press("ctrl+r")
        assert await playing(pilot, bench)
        await pilot.press("escape")
        await pilot.pause()
        assert bench.player.position() is None
        assert isinstance(app.screen, HistoryScreen)


async def test_a_right_answer_offers_nothing_else_to_hear(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, _app, pilot):
        await at_history(bench, pilot)
        screen = await opened(pilot, "down", "down")
        assert not screen.check_action("mine", ())
        assert screen.check_action("hear", ())


async def test_a_question_whose_device_is_gone_says_so_and_keeps_quiet(tmp_path: Path) -> None:
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        screen = await opened(pilot, "down")
        assert "cannot be opened again" in words(app, "#notice")
        assert "You answered: gone+dip" in words(app, "#remarks")
        assert not screen.check_action("hear", ())
        await pilot.press("ctrl+r", "ctrl+y", "ctrl+l", "ctrl+o", "ctrl+t")
        await pilot.pause()
        assert bench.player.position() is None


async def test_the_sound_of_a_past_question_is_written_to_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    async with staged(tmp_path) as (bench, app, pilot):
        await at_history(bench, pilot)
        await opened(pilot)
        await pilot.press("ctrl+o")
        await pilot.pause()
        assert words(app, "#notice").startswith("Written: lastbar-")
        assert list(tmp_path.glob("lastbar-*.wav"))


async def test_past_questions_have_an_ascii_form_on_a_small_screen(tmp_path: Path) -> None:
    plain = Settings(ascii=True)
    async with staged(tmp_path, settings=plain, size=(60, 20)) as (bench, app, pilot):
        await at_history(bench, pilot)
        assert visible(app).isascii(), visible(app)
        await opened(pilot)
        assert visible(app).isascii(), visible(app)
        assert "x wrong" in visible(app)


async def test_an_empty_history_says_so(tmp_path: Path) -> None:
    async with staged(tmp_path) as (_bench, app, pilot):
        await pilot.press("p")
        await pilot.pause()
        assert "No questions yet." == words(app, "#filters")
