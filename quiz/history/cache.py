"""What has been worked out from the answers, kept beside them so that a start costs no replay.

A note says up to which answer, and by which rules, the tables hold. Whoever adds an answer without
bringing them up to date leaves the note behind, and `load` sees it.
"""

import json
from dataclasses import astuple, replace

from quiz.answers import Answer
from quiz.history.database import Database
from quiz.history.tables import SELECT_ANSWERS, answer_of, note, set_note
from quiz.memory import PLACEMENT, Item, State, rules_version
from quiz.practice import CALLED, CONTRAST, DAYS_KEPT, DayTally, KeyTally, Practice, Probe
from quiz.reach import ItemReach, Reaches, counts

_COVERED = "covered"
_PROBES = "probes"

_SHARED = ""
"""Stands in place of the kind in the row of a device, and of the device too in the learner's."""


def last_answer(database: Database) -> int:
    """The number of the answer that was added last; 0 when there is none."""
    return int(database.value("SELECT ifnull(max(seq), 0) FROM answer"))


def newest_moment(database: Database, up_to: int) -> tuple[int, bytes]:
    """Time and id of the newest answer of those with numbers up to `up_to`; (-1, b"") for none."""
    rows = database.rows(
        "SELECT at, id FROM answer WHERE seq <= ? ORDER BY at DESC, id DESC LIMIT 1", (up_to,)
    )
    return (rows[0][0], rows[0][1]) if rows else (-1, b"")


def covered(database: Database) -> int | None:
    """The last answer that the tables hold; None when they were made by other rules."""
    number, _, rules = note(database, _COVERED).partition(":")
    return int(number) if rules == rules_version() and number.isdigit() else None


def load(database: Database) -> Practice | None:
    """What the tables hold, answers added since taken in; None when only a replay can tell."""
    number = covered(database)
    if number is None:
        return None
    practice = Practice(
        _states(database),
        _tallies(database),
        reaches=_reaches(database),
        probes=_probes(database),
    )
    added = _added_since(database, number)
    if added:
        first = added[0].at, added[0].id
        if first < newest_moment(database, number):
            return None  # one came in late: it stands between answers that are taken in already
        practice = practice.followed(added)
    return replace(practice, days=_days(database))


def save_all(database: Database, practice: Practice, number: int) -> None:
    """Write a whole practice, which holds up to answer `number`, inside `atomic()`."""
    database.run("DELETE FROM item_state")
    database.run("DELETE FROM key_tally")
    database.run("DELETE FROM reach")
    for item in practice.states:
        _save_state(database, practice, item)
    for place in practice.keys:
        _save_tally(database, practice, place)
    _save_offset(database, _SHARED, practice.reaches.learner)
    for device, octaves in practice.reaches.devices.items():
        _save_offset(database, device, octaves)
    for item in practice.reaches.items:
        _save_reach(database, practice, item)
    _save_probes(database, practice)
    set_note(database, _COVERED, f"{number}:{rules_version()}")


def save_one(database: Database, practice: Practice, answer: Answer, number: int) -> None:
    """Write what one answer has changed, inside `atomic()`."""
    item = Item(answer.device, answer.kind)
    if item in practice.states:
        _save_state(database, practice, item)
    _save_tally(database, practice, (answer.kind, answer.key))
    if counts(answer):
        _save_offset(database, _SHARED, practice.reaches.learner)
        _save_offset(database, item.device, practice.reaches.devices[item.device])
        _save_reach(database, practice, item)
    if answer.why == PLACEMENT:
        _save_probes(database, practice)
    set_note(database, _COVERED, f"{number}:{rules_version()}")


def _save_probes(database: Database, practice: Practice) -> None:
    """A few dozen at most: one note holds them."""
    rows = [[*probe.item, probe.right, probe.guess_rate] for probe in practice.probes]
    set_note(database, _PROBES, json.dumps(rows))


def _probes(database: Database) -> tuple[Probe, ...]:
    rows = json.loads(note(database, _PROBES) or "[]")
    return tuple(Probe(Item(device, kind), right, rate) for device, kind, right, rate in rows)


def _save_state(database: Database, practice: Practice, item: Item) -> None:
    database.run(
        "INSERT OR REPLACE INTO item_state VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (*item, *astuple(practice.states[item])),
    )


def _save_tally(database: Database, practice: Practice, place: tuple[str, str]) -> None:
    database.run(
        "INSERT OR REPLACE INTO key_tally VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (*place, *astuple(practice.keys[place])),
    )


def _save_reach(database: Database, practice: Practice, item: Item) -> None:
    _save_reach_row(database, *item, practice.reaches.items[item])


def _save_offset(database: Database, device: str, octaves: float) -> None:
    _save_reach_row(database, device, _SHARED, ItemReach(0, 0, octaves))


def _save_reach_row(database: Database, device: str, kind: str, reach: ItemReach) -> None:
    database.run("INSERT OR REPLACE INTO reach VALUES (?, ?, ?, ?, ?)", (device, kind, *reach))


def _states(database: Database) -> dict[Item, State]:
    return {
        Item(device, kind): State(stability, difficulty, day, asked, right, first, bool(last))
        for device, kind, stability, difficulty, day, asked, right, first, last in database.rows(
            "SELECT * FROM item_state"
        )
    }


def _tallies(database: Database) -> dict[tuple[str, str], KeyTally]:
    return {
        (kind, key): KeyTally(*numbers)
        for kind, key, *numbers in database.rows("SELECT * FROM key_tally")
    }


def _reaches(database: Database) -> Reaches:
    rows = database.rows("SELECT device, kind, rung, run, octaves FROM reach")
    offsets = {device: octaves for device, kind, _, _, octaves in rows if kind == _SHARED}
    learner = offsets.pop(_SHARED, 0.0)
    items = {Item(device, kind): ItemReach(*reach) for device, kind, *reach in rows if kind}
    return Reaches(learner, offsets, items)


def _days(database: Database) -> dict[int, DayTally]:
    rows = database.rows(
        "SELECT practice_day, count(*), sum(why = ?) FROM answer WHERE why <> ? "
        "GROUP BY practice_day ORDER BY practice_day DESC LIMIT ?",
        (CONTRAST, CALLED, DAYS_KEPT),
    )
    return {day: DayTally(*counts) for day, *counts in rows}


def _added_since(database: Database, number: int) -> list[Answer]:
    rows = database.rows(f"{SELECT_ANSWERS} WHERE seq > ? ORDER BY at, id", (number,))
    return [answer_of(row) for row in rows]
