"""Charts as values and as SVG: everything that is drawn is told in words too."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest

from engine.catalogue import builtin_catalogue
from engine.notation import NoteNames
from quiz.answers import Answer
from quiz.history.counts import Confusion
from quiz.progress.charts import (
    MOST_NAMES,
    Bar,
    Bars,
    Chart,
    Matrix,
    Predictions,
    Share,
    Shares,
    chart,
    charts,
    key_label,
)
from quiz.progress.names import CHARTS
from quiz.progress.report import Report
from quiz.progress.svg import svg
from tests.quiz.histories import FIRST_DAY, a_wrong_answer, an_answer
from tests.quiz.progress.stores import a_report

DAY = FIRST_DAY + 20
SVG = "{http://www.w3.org/2000/svg}"


def some_answers() -> Iterator[Answer]:
    yield from (an_answer(n, FIRST_DAY + n, key=("C", "Bb")[n % 2]) for n in range(12))
    yield from (a_wrong_answer(20 + n, FIRST_DAY + n) for n in range(12))
    yield a_wrong_answer(40, FIRST_DAY + 13, device="fall", chosen="<climb> & co")


@pytest.fixture(scope="module")
def full() -> Report:
    return a_report(some_answers(), DAY)


@pytest.fixture(scope="module")
def empty() -> Report:
    return a_report([], DAY)


def test_every_name_has_a_chart_and_every_chart_its_name(full: Report) -> None:
    drawn = charts(full, builtin_catalogue())
    assert CHARTS == tuple(drawn)
    assert list(CHARTS) == [one.id for one in drawn.values()]


@pytest.mark.parametrize("name", CHARTS)
def test_every_chart_is_a_whole_svg_that_says_in_words_what_it_shows(
    name: str, full: Report, empty: Report
) -> None:
    for report in (full, empty):
        drawn = chart(name, report, builtin_catalogue())
        root = ElementTree.fromstring(svg(drawn))
        assert f"{SVG}svg" == root.tag
        assert drawn.title == root.findtext(f"{SVG}title")
        assert drawn.says == root.findtext(f"{SVG}desc")
        assert drawn.says.endswith(".")


@pytest.mark.parametrize("name", CHARTS)
def test_an_svg_stays_within_its_size_and_is_grey(name: str, full: Report) -> None:
    root = ElementTree.fromstring(svg(chart(name, full, builtin_catalogue())))
    height = float(root.attrib["height"])
    for element in root.iter():
        for attribute in ("y", "y1", "y2", "cy"):
            assert 0 <= float(element.attrib.get(attribute, 0)) <= height
        for attribute in ("fill", "stroke"):
            colour = element.attrib.get(attribute, "#000").removeprefix("#")
            size = len(colour) // 3
            assert 1 == len({colour[place * size : (place + 1) * size] for place in range(3)})


def test_weeks_and_keys_are_shares_with_the_intervals_of_their_counts(full: Report) -> None:
    weeks = chart("weeks", full, builtin_catalogue())
    assert isinstance(weeks, Shares)
    assert [count.interval for count in full.counts.weeks] == [
        (point.low, point.high) for point in weeks.points
    ]
    keys = chart("keys", full, builtin_catalogue())
    assert isinstance(keys, Shares)
    assert ["C", "Bb"] == [point.label for point in keys.points]


def test_the_lowest_share_is_named_only_where_there_are_enough_answers(full: Report) -> None:
    assert "'" not in chart("devices", full, builtin_catalogue()).says
    assert "Lowest: climb, 12 of 24 right" in chart("devices", full, builtin_catalogue()).says
    few = a_report([an_answer(1)], FIRST_DAY)
    assert "Fewer than 10" in chart("devices", few, builtin_catalogue()).says


def test_the_picture_of_mistakes_has_a_cell_for_each_pair(full: Report) -> None:
    drawn = chart("mistaken", full, builtin_catalogue())
    assert isinstance(drawn, Matrix)
    assert ("climb", "fall", "<climb> & co") == drawn.names
    assert ((0, 12, 0), (0, 0, 1), (0, 0, 0)) == drawn.counts
    assert "Most often 'climb' was taken for 'fall': 12 times." == drawn.says
    assert "&lt;climb&gt; &amp; co" in svg(drawn)


def test_the_picture_of_mistakes_has_the_most_frequent_alone(full: Report) -> None:
    many = tuple(Confusion(f"a{n}", f"b{n}", 30 - n) for n in range(20))
    crowded = replace(full, counts=replace(full.counts, confusions=many))
    drawn = chart("mistaken", crowded, builtin_catalogue())
    assert isinstance(drawn, Matrix)
    assert MOST_NAMES == len(drawn.names)
    assert ("a0", "b0", "a1", "b1") == drawn.names[:4]


def test_days_and_minutes_are_bars_of_the_last_four_weeks(full: Report) -> None:
    days, minutes = (chart(name, full, builtin_catalogue()) for name in ("days", "minutes"))
    assert isinstance(days, Bars)
    assert isinstance(minutes, Bars)
    assert 28 == len(days.bars) == len(minutes.bars)
    assert 25 == sum(bar.value for bar in days.bars)
    assert 25 * 4.5 / 60 == pytest.approx(sum(bar.value for bar in minutes.bars))


def test_predictions_stand_where_they_were_predicted(full: Report) -> None:
    drawn = chart("calibration", full, builtin_catalogue())
    assert isinstance(drawn, Predictions)
    assert drawn.points
    assert all(0 <= point.at <= 1 for point in drawn.points)
    assert full.calibration.answers == sum(point.answers for point in drawn.points)


def test_the_forecast_falls_week_by_week(full: Report) -> None:
    drawn = chart("forecast", full, builtin_catalogue())
    assert isinstance(drawn, Bars)
    assert ["today", "1 week", "2 weeks", "3 weeks", "4 weeks"] == [bar.label for bar in drawn.bars]
    values = [bar.value for bar in drawn.bars]
    assert sorted(values, reverse=True) == values


def test_keys_are_called_as_the_player_calls_them(full: Report) -> None:
    drawn = chart("keys", full, builtin_catalogue(), NoteNames.GERMAN)
    assert isinstance(drawn, Shares)
    assert ["C", "B"] == [point.label for point in drawn.points]
    assert "X" == key_label("X", NoteNames.GERMAN)


# --- what has no room ---------------------------------------------------------------------------


def texts(drawn: Chart) -> list[tuple[float, float, str]]:
    """The words of a picture: x, y and what is written there."""
    root = ElementTree.fromstring(svg(drawn))
    return [
        (float(row.attrib["x"]), float(row.attrib["y"]), row.text or "")
        for row in root.iter(f"{SVG}text")
    ]


@pytest.mark.parametrize("name", ["sixteen bars " * 5, "W" * 40, "\u65e5\u672c" * 20])
def test_a_name_that_is_cut_says_so_and_ends_before_the_drawing(name: str) -> None:
    lying = Shares("devices", "By device", "Says.", (Share(name, 0.5, 0.2, 0.8, 9),))
    matrix = Matrix("mistaken", "Mistaken", "Says.", (name, "b"), ((0, 1), (0, 0)))
    for drawn in (lying, matrix):
        (cut,) = [words for _, _, words in texts(drawn) if words.endswith("…")]
        # W is about 11.9 units wide at 12 and a square sign 12, as common sans-serif faces have
        # them [from memory]
        wide = sum(11.9 if sign == "W" else 12 if sign > "\u3000" else 6 for sign in cut)
        assert wide < 40 * 6.6 * 1.3
    short = replace(lying, points=(Share("climb", 0.5, 0.2, 0.8, 9),))
    assert "climb" in [words for _, _, words in texts(short)]


def test_a_sentence_that_is_cut_says_so_and_stands_whole_in_the_description() -> None:
    drawn = Shares("keys", "By key", f"Worse: {'B (25 right of 51), ' * 20}.", ())
    assert [words for _, _, words in texts(drawn)][2].endswith(" …")
    assert drawn.says == ElementTree.fromstring(svg(drawn)).findtext(f"{SVG}desc")


@pytest.mark.parametrize("weeks", range(1, 27))
def test_the_names_of_weeks_stand_apart(weeks: int) -> None:
    points = tuple(Share(f"26-W{week:02}", 0.5, 0.2, 0.8, 9) for week in range(weeks))
    places = [x for x, _, words in texts(Shares("weeks", "W", "S.", points)) if "-W" in words]
    assert all(after - before > 46 for before, after in pairwise(places))


def test_less_than_half_a_minute_is_not_none() -> None:
    drawn = Bars("minutes", "M", "S.", "minutes", (Bar("a", 0.3), Bar("b", 0.0), Bar("c", 2.0)))
    values = [words for _, _, words in texts(drawn)]
    assert "<1" in values
    assert 1 == values.count("0")  # the scale's own
