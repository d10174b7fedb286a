"""Everything that the scores show, read from what has been counted. No answer is looked at."""

from dataclasses import dataclass

from engine.catalogue import Catalogue
from quiz.history.counts import Heading
from quiz.history.store import Store
from quiz.learning.material import Only, items_within
from quiz.learning.practice import Practice
from quiz.progress.calibration import Calibration, calibration
from quiz.progress.counts import Count, Scores, by_day, scores
from quiz.progress.forecast import Forecast, forecast
from quiz.progress.keys import KeyVerdict, weak_keys

DAYS_SHOWN = 28


@dataclass(frozen=True, slots=True)
class Report:
    """How it has gone, what is known, and whether the predictions hold."""

    day: int
    """The practice day on which it was made."""

    counts: Scores
    days: tuple[Count, ...]
    """The last DAYS_SHOWN practice days, idle ones too, oldest first."""

    weak_keys: KeyVerdict
    forecast: Forecast
    calibration: Calibration


def report(store: Store, practice: Practice, catalogue: Catalogue, day: int) -> Report:
    """How things stand on practice day `day`; `practice` is that of the store."""
    first = day - DAYS_SHOWN + 1
    return Report(
        day,
        scores(store),
        by_day(store.counted(Heading.DAY, first), range(first, day + 1)),
        weak_keys(practice),
        forecast(items_within(Only(), catalogue), practice, day),
        calibration(practice.knowing),
    )
