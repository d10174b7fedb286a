"""The footer: whatever falls off at the right, the key to leave by is seen."""

from pathlib import Path

import pytest

from quiz.app import LastbarApp
from quiz.learning.material import Only
from quiz.questions.kinds import Kind
from tests.quiz.benches import staged

SIZES = [(80, 24), (60, 20)]


def last_line(app: LastbarApp) -> str:
    return "".join(segment.text for segment in app.screen._compositor.render_strips()[-1])


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    ("keys", "way_out"),
    [
        ([], "^q Quit"),
        (["c"], "esc Back"),
        (["c", "x"], "esc Back"),
        (["s"], "esc Back"),
        (["p"], "esc Back"),
        (["e"], "esc Back"),
        (["j"], "esc"),
        (["question_mark"], "esc Close"),
        (["r"], "esc Leave"),
        (["r", "ctrl+g"], "esc Leave"),
    ],
)
async def test_the_key_to_leave_by_stands_first(
    tmp_path: Path, keys: list[str], way_out: str, size: tuple[int, int]
) -> None:
    only = Only(kinds=(Kind.FIND,))
    async with staged(tmp_path, only, size=size) as (_bench, app, pilot):
        for key in keys:
            await pilot.press(key)
            await pilot.pause()
        await pilot.pause()
        assert last_line(app).strip().startswith(way_out)
