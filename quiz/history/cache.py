"""What has been worked out from the answers, kept beside them so that a start costs no replay.

A note says up to which answer and which undo, and by which rules, the tables hold. Whoever adds one
without bringing them up to date leaves the note behind, and `load` sees it.
"""

import json
from dataclasses import astuple, replace
from typing import NamedTuple

from quiz.answers import Answer, Past
from quiz.history.counts import day_rows
from quiz.history.database import Database
from quiz.history.tables import SELECT_PAST, STANDS, note, past_of, set_note
from quiz.learning.knowing import Knowing, as_text, from_text
from quiz.learning.memory import PLACEMENT, Item, State, rules_version
from quiz.learning.practice import DAYS_KEPT, DayTally, KeyTally, Practice, Probe
from quiz.learning.reach import ItemReach, Reaches, counts

_COVERED, _KNOWING, _PROBES = "covered", "knowing", "probes"

LAST_DAY = 2**31
"""No practice day is later."""

_SHARED = ""
"""Stands in place of the kind in the row of a device, and of the device too in the learner's."""


class Position(NamedTuple):
    """How far a history goes: the numbers of the answer and of the undo that were added last, 0
    when there is none."""

    answer: int = 0
    undo: int = 0


def position(database: Database) -> Position:
    """How far the history goes now."""
    row = (
        "SELECT ifnull((SELECT max(seq) FROM answer), 0), ifnull((SELECT max(seq) FROM undone), 0)"
    )
    return Position(*database.rows(row)[0])


def newest_moment(database: Database, up_to: int, until: int = LAST_DAY) -> tuple[int, bytes]:
    """Time and id of the newest answer that stands, of those with numbers up to `up_to` and of
    practice days up to `until`; (-1, b"") for none."""
    # the plus signs: only the order is to be followed, from the newest on
    rows = database.rows(
        f"SELECT at, id FROM answer WHERE +seq <= ? AND +practice_day <= ? AND {STANDS} "
        "ORDER BY at DESC, id DESC LIMIT 1",
        (up_to, until),
    )
    return (rows[0][0], rows[0][1]) if rows else (-1, b"")


def covered(database: Database) -> Position | None:
    """How much of the history the tables hold; None when they were made by other rules."""
    numbers, _, rules = note(database, _COVERED).partition(":")
    answer, _, undo = numbers.partition(".")  # without undos it was written as one number
    if rules != rules_version() or not answer.isdigit():
        return None
    return Position(int(answer), int(undo or 0))


def forget(database: Database) -> None:
    """Let the tables count as made by other rules, inside `atomic()`."""
    set_note(database, _COVERED, "")


def load(database: Database) -> Practice | None:
    """What the tables hold, answers added since taken in; None when only a replay can tell."""
    known = covered(database)
    if known is None:
        return None
    try:
        held = _held(database)
    except (ValueError, TypeError):
        return None  # a note with a hole in it, as a power loss can leave one
    practice = caught_up(database, held, known)
    return None if practice is None else replace(practice, days=_days(database))


def caught_up(
    database: Database, practice: Practice, known: Position, until: int = LAST_DAY
) -> Practice | None:
    """A practice that holds the history up to `known` and practice days up to `until`, with what
    has been added since; None when only a replay can tell."""
    if _took_back(database, known):
        return None
    added = _added_since(database, known.answer, until)
    if not added:
        return practice
    if (added[0].at, added[0].id) < newest_moment(database, known.answer, until):
        return None  # one came in late: it stands between answers that are taken in already
    return practice.followed(added)


def _held(database: Database) -> Practice:
    """What the tables and notes hold. Raises ValueError or TypeError for a note that is none."""
    return Practice(
        _states(database),
        _tallies(database),
        reaches=_reaches(database),
        knowing=_knowing(database),
        probes=_probes(database),
    )


def save_all(database: Database, practice: Practice, held: Position) -> None:
    """Write a whole practice, which holds the history up to `held`, inside `atomic()`."""
    database.run("DELETE FROM item_state")
    database.run("DELETE FROM key_tally")
    database.run("DELETE FROM reach")
    for item in practice.states:
        _save_state(database, practice, item)
    for place in practice.keys:
        _save_tally(database, practice, place)
    _save_offset(database, _SHARED, practice.reaches.learner)
    for device in practice.reaches.devices:
        _save_device(database, practice, device)
    for item in practice.reaches.items:
        _save_reach(database, practice, item)
    set_note(database, _KNOWING, as_text(practice.knowing))
    _save_probes(database, practice)
    _set_covered(database, held)


def save_one(database: Database, practice: Practice, answer: Answer, held: Position) -> None:
    """Write what one answer has changed by coming or by being taken back, inside `atomic()`.

    `practice` is that of after the change.
    """
    item = Item(answer.device, answer.kind)
    _save_state(database, practice, item)
    _save_tally(database, practice, (answer.kind, answer.key))
    if counts(answer):
        _save_offset(database, _SHARED, practice.reaches.learner)
        _save_device(database, practice, item.device)
        _save_reach(database, practice, item)
    set_note(database, _KNOWING, as_text(practice.knowing))
    if answer.why == PLACEMENT:
        _save_probes(database, practice)
    _set_covered(database, held)


def _set_covered(database: Database, held: Position) -> None:
    set_note(database, _COVERED, f"{held.answer}.{held.undo}:{rules_version()}")


def _save_probes(database: Database, practice: Practice) -> None:
    """A few dozen at most: one note holds them."""
    rows = [[*probe.item, probe.right, probe.guess_rate] for probe in practice.probes]
    set_note(database, _PROBES, json.dumps(rows))


def _probes(database: Database) -> tuple[Probe, ...]:
    rows = json.loads(note(database, _PROBES))
    return tuple(Probe(Item(device, kind), right, rate) for device, kind, right, rate in rows)


def _save_state(database: Database, practice: Practice, item: Item) -> None:
    state = practice.states.get(item)
    if state is None:
        database.run("DELETE FROM item_state WHERE device = ? AND kind = ?", item)
    else:
        database.run(
            "INSERT OR REPLACE INTO item_state VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (*item, *astuple(state)),
        )


def _save_tally(database: Database, practice: Practice, place: tuple[str, str]) -> None:
    tally = practice.keys.get(place)
    if tally is None:
        database.run("DELETE FROM key_tally WHERE kind = ? AND key = ?", place)
    else:
        database.run(
            "INSERT OR REPLACE INTO key_tally VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (*place, *astuple(tally)),
        )


def _save_reach(database: Database, practice: Practice, item: Item) -> None:
    _save_reach_row(database, *item, practice.reaches.items.get(item))


def _save_device(database: Database, practice: Practice, device: str) -> None:
    _save_offset(database, device, practice.reaches.devices.get(device))


def _save_offset(database: Database, device: str, octaves: float | None) -> None:
    offset = None if octaves is None else ItemReach(0, 0, octaves)
    _save_reach_row(database, device, _SHARED, offset)


def _save_reach_row(database: Database, device: str, kind: str, reach: ItemReach | None) -> None:
    if reach is None:
        database.run("DELETE FROM reach WHERE device = ? AND kind = ?", (device, kind))
    else:
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


def _knowing(database: Database) -> Knowing:
    return from_text(note(database, _KNOWING))


def _days(database: Database) -> dict[int, DayTally]:
    return {day: DayTally(*counted) for day, *counted in day_rows(database, DAYS_KEPT)}


def _took_back(database: Database, known: Position) -> bool:
    """Whether an undo has come that takes back an answer which the tables hold."""
    return bool(
        database.value(
            "SELECT EXISTS (SELECT 1 FROM undone AS new JOIN answer ON answer.id = new.answer "
            "WHERE new.seq > ? AND answer.seq <= ? AND NOT EXISTS (SELECT 1 FROM undone AS old "
            "WHERE old.answer = new.answer AND old.seq <= ?))",
            (known.undo, known.answer, known.undo),
        )
    )


def _added_since(database: Database, number: int, until: int) -> list[Past]:
    # no index: the order is that of one, and following it would go through the whole history
    rows = database.rows(
        f"{SELECT_PAST} NOT INDEXED WHERE seq > ? AND practice_day <= ? AND {STANDS} "
        "ORDER BY at, id",
        (number, until),
    )
    return [past_of(row) for row in rows]
