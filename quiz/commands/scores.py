"""`lastbar scores`."""

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from quiz.answers import INVENTED
from quiz.commands.given import load_own, named
from quiz.commands.output import OK, history_at, say, say_data, waiting, warn
from quiz.locations import Locations, locate
from quiz.progress.names import CHARTS as CHARTS

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue
    from engine.notation import NoteNames
    from quiz.progress.counts import Count
    from quiz.progress.report import Report

NAME_WIDTH = 46


def run_scores(options: "Namespace") -> int:
    """`lastbar scores`."""
    if options.chart or options.out:
        _check_chart(options.chart, options.out)
    if not options.demo:
        return _show(options, load_own(options.catalogue), locate())
    from quiz.learners.demonstration import demonstration
    from quiz.own_catalogue import load_catalogue

    with demonstration() as folders:
        loaded = load_catalogue((folders.catalogue, *named(options.catalogue)))
        warn(loaded.problems)
        return _show(options, loaded.catalogue, folders)


def _show(options: "Namespace", catalogue: "Catalogue", locations: Locations) -> int:
    """Print the scores of a history; those of the invented player say so, whatever the format."""
    from engine.notation import NoteNames
    from quiz.progress.tables import as_csv, as_data
    from quiz.settings.values import load

    names = NoteNames(load(locations.settings).settings.note_names)
    result = _report(catalogue, locations)
    player, mark = (INVENTED, _demo_mark()) if options.demo else ("", "")
    if options.chart:
        _write_chart(options.chart, options.out, result, catalogue, names, mark)
    elif options.json:
        say_data(as_data(result, player))
    elif options.csv:
        sys.stdout.write(as_csv(result, player))
    else:
        if mark:
            say(mark)
        for line in _lines(result, catalogue, names):
            say(line)
    return OK


def _demo_mark() -> str:
    from quiz.learners.demonstration import MARK

    return MARK


def _report(catalogue: "Catalogue", locations: Locations) -> "Report":
    from quiz.clock import now
    from quiz.learning.practice import counted_until
    from quiz.progress.report import report

    day = now().day
    with closing(history_at(locations.history)) as store:
        with waiting("Reading the history") as progress:
            practice = store.practice(progress, until=counted_until(day))
        return report(store, practice, catalogue, day)


def _check_chart(name: str | None, out: Path | None) -> None:
    """Raises ChartError when only half of it was said, or the file would be no SVG."""
    from quiz.errors import ChartError

    if name is None:
        raise ChartError("--out is for a chart: say which with --chart")
    if out is None or out.suffix.lower() != ".svg":
        given = f"'{out}' was given" if out else "no file was given"
        raise ChartError(f"{given} for the chart: name a file with --out FILE.svg")


def _write_chart(
    name: str,
    out: Path,
    result: "Report",
    catalogue: "Catalogue",
    names: "NoteNames",
    mark: str,
) -> None:
    from quiz.files import write_whole
    from quiz.progress.charts import chart
    from quiz.progress.svg import svg

    drawn = chart(name, result, catalogue, names)
    if mark:
        drawn = replace(drawn, title=f"{mark}: {drawn.title}")
    write_whole(out, svg(drawn))
    say(f"Written: {out}. {drawn.says}")


def _lines(result: "Report", catalogue: "Catalogue", names: "NoteNames") -> Iterator[str]:
    """All of it in words, a sentence and then the numbers behind it."""
    from quiz.progress.charts import charts, key_label, kind_label

    if not result.counts.weeks:
        yield "No answers yet."
        return
    drawn = charts(result, catalogue, names)
    for name, rows in (
        ("weeks", _counted(result.counts.weeks)),
        ("kinds", _counted(result.counts.kinds, kind_label)),
        ("devices", _counted(result.counts.devices, catalogue.name)),
        ("keys", _counted(result.counts.keys, lambda key: key_label(key, names))),
        ("mistaken", _mistaken(result, catalogue)),
        ("forecast", _stages(result, catalogue)),
        ("days", _days(result)),
        ("minutes", ()),
        ("calibration", _calibration(result)),
    ):
        yield drawn[name].title
        yield f"  {drawn[name].says}"
        yield from rows


def _counted(counts: "Iterable[Count]", named: Callable[[str], str] = str) -> Iterator[str]:
    for count in counts:
        low, high = count.interval
        name = named(count.name)
        seconds = "" if count.seconds is None else f"  {count.seconds:.1f} s"
        yield (
            f"  {name:<{NAME_WIDTH}}{count.right:>5} of {count.answers:<5}"
            f"{count.accuracy:>5.0%}  (95 %: {low:.0%} to {high:.0%}){seconds}"
        )


def _mistaken(result: "Report", catalogue: "Catalogue") -> Iterator[str]:
    for row in result.counts.confusions:
        asked, chosen = catalogue.name(row.asked), catalogue.name(row.chosen)
        yield f"  {row.times:>3} x  {asked} taken for {chosen}"


def _stages(result: "Report", catalogue: "Catalogue") -> Iterator[str]:
    from quiz.progress.charts import kind_label

    yield "  " + "   ".join(f"{name} {count}" for name, count in result.forecast.stages.items())
    for known in result.forecast.items:
        name = f"{catalogue.name(known.item.device)}, {kind_label(known.item.kind)}"
        yield (
            f"  {name:<{NAME_WIDTH}} {known.stage:<7}"
            f"known {known.now:>4.0%}, in four weeks {known.later:>4.0%}"
        )


def _days(result: "Report") -> Iterator[str]:
    for day in result.days:
        if day.answers:
            asked = "question" if day.answers == 1 else "questions"
            yield f"  {day.name:<8}{day.answers:>5} {asked:<9} {day.spent / 60:>6.1f} minutes"


def _calibration(result: "Report") -> Iterator[str]:
    for tenth in result.calibration.tenths:
        low, high = tenth.interval
        yield (
            f"  predicted {tenth.predicted:>4.0%}: {tenth.happened:>4.0%} right "
            f"of {tenth.answers:<6}(95 %: {low:.0%} to {high:.0%})"
        )
