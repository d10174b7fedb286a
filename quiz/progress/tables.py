"""The scores for other programs: as data for JSON, and as one CSV table.

README.md documents both; what stands there stays, and more may come.
"""

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import replace

from quiz.answers import date_of
from quiz.progress.counts import Count
from quiz.progress.report import Report

CSV_COLUMNS = ("group", "name", "answers", "right", "accuracy", "low", "high", "seconds")


def as_data(report: Report, player: str = "") -> dict[str, object]:
    """The shape of `lastbar scores --json`; `player` says who it was where it was nobody real."""
    counts = report.counts
    return ({"player": player} if player else {}) | {
        "weeks": _rows(counts.weeks, "week"),
        "devices": _rows(counts.devices, "device"),
        "keys": _rows(counts.keys, "key"),
        "kinds": _rows(counts.kinds, "kind"),
        "confusions": [dict(row._asdict()) for row in counts.confusions],
        "days": [
            {
                "day": date,
                "answers": day.answers,
                "right": day.right,
                "minutes": round(day.spent / 60, 1),
            }
            for date, day in _dated(report)
        ],
        "weak_keys": {
            "too_early": report.weak_keys.too_early,
            "answers": report.weak_keys.answers,
            "keys": [
                {
                    "key": row.key,
                    "answers": row.answers,
                    "right": row.right,
                    "expected": round(row.expected, 1),
                }
                for row in report.weak_keys.weak
            ],
        },
        "items": [
            {
                "device": row.item.device,
                "kind": row.item.kind,
                "stage": row.stage,
                "answers": row.asked,
                "right": row.right,
                "days": row.days,
                "known": round(row.now, 4),
                "known_in_four_weeks": round(row.later, 4),
            }
            for row in report.forecast.items
        ],
        "forecast": {
            "items": report.forecast.material,
            "met": len(report.forecast.items),
            "stages": report.forecast.stages,
            "known_by_week": [round(known, 1) for known in report.forecast.known],
        },
        "calibration": {
            "answers": report.calibration.answers,
            "predicted": round(report.calibration.predicted, 4),
            "happened": round(report.calibration.happened, 4),
            "error": round(report.calibration.error, 4),
            "memory_error": round(report.calibration.raw_error, 4),
            "tenths": [
                {
                    "from": tenth.low,
                    "to": tenth.high,
                    "answers": tenth.answers,
                    "predicted": round(tenth.predicted, 4),
                    "happened": round(tenth.happened, 4),
                    "low": round(tenth.interval[0], 4),
                    "high": round(tenth.interval[1], 4),
                }
                for tenth in report.calibration.tenths
            ],
        },
    }


def as_csv(report: Report, player: str = "") -> str:
    """One table with CSV_COLUMNS; what a column does not say of a row is empty.

    Where the player was nobody real, a column more says so in every row.
    """
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow((*CSV_COLUMNS, *(["player"] if player else [])))
    for row in _csv_rows(report):
        table.writerow((*row, *([player] if player else [])))
    return text.getvalue()


def _csv_rows(report: Report) -> Iterator[tuple[object, ...]]:
    counts = report.counts
    for group, rows in (
        ("week", counts.weeks),
        ("device", counts.devices),
        ("key", counts.keys),
        ("kind", counts.kinds),
        ("day", [replace(day, name=date) for date, day in _dated(report)]),
    ):
        yield from (_csv_count(group, count) for count in rows)
    for row in counts.confusions:
        yield "mistaken", f"{row.asked} for {row.chosen}", row.times, "", "", "", "", ""
    for known in report.forecast.items:
        name = f"{known.item.device} {known.item.kind}"
        yield "known", name, known.asked, known.right, f"{known.now:.4f}", "", "", ""
        yield "known in four weeks", name, "", "", f"{known.later:.4f}", "", "", ""
    for tenth in report.calibration.tenths:
        low, high = tenth.interval
        right = round(tenth.happened * tenth.answers)
        yield (
            "predicted", f"{tenth.predicted:.4f}", tenth.answers, right,
            f"{tenth.happened:.4f}", f"{low:.4f}", f"{high:.4f}", "",
        )  # fmt: skip


def _dated(report: Report) -> list[tuple[str, Count]]:
    """The days with their dates, `2026-11-28`."""
    first = report.day - len(report.days) + 1
    return [(date_of(first + place).isoformat(), day) for place, day in enumerate(report.days)]


def _csv_count(group: str, count: Count) -> tuple[object, ...]:
    low, high = count.interval
    seconds = "" if count.seconds is None else f"{count.seconds:.2f}"
    return (
        group, count.name, count.answers, count.right,
        f"{count.accuracy:.4f}", f"{low:.4f}", f"{high:.4f}", seconds,
    )  # fmt: skip


def _rows(counts: Iterable[Count], label: str) -> list[dict[str, object]]:
    return [
        {
            label: count.name,
            "answers": count.answers,
            "right": count.right,
            "accuracy": round(count.accuracy, 4),
            "low": round(count.interval[0], 4),
            "high": round(count.interval[1], 4),
            "seconds": None if count.seconds is None else round(count.seconds, 2),
        }
        for count in counts
    ]
