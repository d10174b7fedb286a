"""The roster: what a folder of results files says about its players, as one table.

Files of one player count as one. A file that cannot be used is named with what is wrong with it,
and the others are read. Whether a player can do an item is not said here: a share of right answers
stands with the interval it lies in with 95 % confidence, so that few answers look like few.
"""

import csv
import io
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from engine.errors import printable, shown
from quiz.answers import Verdict
from quiz.errors import ResultsError
from quiz.learning.memory import Item
from quiz.progress.counts import wilson
from quiz.teacher.result_fields import Outcome, date_text
from quiz.teacher.results import LARGEST, Results, grouped, load_results, together

MOST_FILES, MOST_BYTES = 2000, 100_000_000
"""Files that are read of a folder, and what they may have together."""

ENOUGH_RIGHT = 3
"""Right answers from which an item counts as done. [chosen here, no source]"""

_FORMULA = re.compile(r"""(^|[;,|])([\s"']*)(?=[=+\-@\t])""")
"""Where a spreadsheet may take text for a formula: at the start of a cell, and behind a sign that
parts cells in the spreadsheets of some countries. [common practice, no source]"""


@dataclass(frozen=True, slots=True)
class Line:
    """What one player has done of one item."""

    item: Item
    right: int
    """With the verdict right."""

    answers: int
    last_day: int
    """The practice day of the last answer."""

    @property
    def share(self) -> float:
        """Of right answers, 0 to 1."""
        return self.right / self.answers

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % Wilson interval of the share."""
        return wilson(self.right, self.answers)

    @property
    def done(self) -> bool:
        """Whether it was right often enough."""
        return self.right >= ENOUGH_RIGHT


@dataclass(frozen=True, slots=True)
class PlayerLine:
    """What one player has done of one assignment."""

    who: str
    """The name, with a number behind it where several players of an assignment have the same."""

    assignment: str
    days: int
    """Practice days with answers."""

    items: int
    """Items of the assignment."""

    lines: tuple[Line, ...]
    """Of each item that was answered, in the order of names."""

    @property
    def right(self) -> int:
        """Right answers."""
        return sum(line.right for line in self.lines)

    @property
    def answers(self) -> int:
        """Answers."""
        return sum(line.answers for line in self.lines)

    @property
    def share(self) -> float:
        """Of right answers, 0 to 1."""
        return self.right / self.answers

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % Wilson interval of the share."""
        return wilson(self.right, self.answers)

    @property
    def last_day(self) -> int:
        """The practice day of the last answer."""
        return max(line.last_day for line in self.lines)

    @property
    def done(self) -> int:
        """Items that were right at least ENOUGH_RIGHT times."""
        return sum(line.done for line in self.lines)


@dataclass(frozen=True, slots=True)
class Roster:
    """A folder of results, read."""

    players: tuple[PlayerLine, ...]
    """By assignment, then name."""

    problems: tuple[str, ...] = ()
    """What was left out and why, and what looks odd, a line each."""


def read_folder(folder: Path) -> Roster:
    """Read every file of the folder itself whose name ends in .json.

    Links, folders and the like are passed over with a remark, and so is what is beyond MOST_FILES
    or MOST_BYTES, in the order of names. Raises ResultsError when the folder cannot be read.
    """
    paths, problems = _candidates(folder)
    results: list[Results] = []
    size = 0
    for path in paths:
        try:
            size += min(path.lstat().st_size, LARGEST)
            if size > MOST_BYTES:
                problems.append(
                    f"{printable(path.name)} and what comes after it was not read: the files are "
                    f"larger than {MOST_BYTES // 1_000_000} MB together; read them in parts"
                )
                break
            results.append(load_results(path))
        except ResultsError as error:
            problems.append(str(error))
        except OSError as error:
            problems.append(f"{printable(path.name)} cannot be read ({error.strerror})")
    roster = roster_of(results)
    return Roster(roster.players, (*problems, *roster.problems))


def _candidates(folder: Path) -> tuple[list[Path], list[str]]:
    """The files to read in the order of names, and remarks on what is passed over."""
    found: list[Path] = []
    remarks: list[str] = []
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if not entry.name.lower().endswith(".json"):
                    continue
                if entry.is_symlink():
                    remarks.append(f"{printable(entry.name)} is a link: copy the file itself here")
                elif not entry.is_file(follow_symlinks=False):
                    remarks.append(f"{printable(entry.name)} is no plain file: it was passed over")
                else:
                    found.append(Path(entry.path))
    except OSError as error:
        raise ResultsError(
            f"the folder {printable(str(folder))} cannot be read ({error.strerror}): give a folder "
            "with results files"
        ) from error
    remarks.sort()
    if len(found) > MOST_FILES:
        remarks.append(
            f"{len(found)} files: only the first {MOST_FILES} by name were read; read them in parts"
        )
    return sorted(found)[:MOST_FILES], remarks


def roster_of(results: Iterable[Results]) -> Roster:
    """The table of some results, in whatever order and however often they are there."""
    groups = [(together(group), group) for group in grouped(results)]
    groups.sort(key=lambda pair: (pair[0].assignment, pair[0].who.casefold(), pair[0].answers))
    taken: set[tuple[str, str]] = set()
    players = [_player(one, _free(one, taken)) for one, _ in groups]
    remarks = [_several(group) for _, group in groups if len({one.name for one in group}) > 1]
    return Roster(tuple(players), tuple(remarks))


def _free(one: Results, taken: set[tuple[str, str]]) -> str:
    """The name of a player, made different from those that are taken; takes it."""
    name, number = one.who, 1
    while (one.assignment, name) in taken:
        number += 1
        name = f"{one.who} ({number})"
    taken.add((one.assignment, name))
    return name


def _several(group: Sequence[Results]) -> str:
    names = sorted({one.who for one in group})
    return (
        f"{', '.join(map(shown, names))} handed in the same answers, so they count as one player: "
        "ask them if that is not so"
    )


def _player(one: Results, who: str) -> PlayerLine:
    answers: dict[Item, list[Outcome]] = {}
    for outcome in one.answers:
        answers.setdefault(Item(outcome.device, outcome.kind), []).append(outcome)
    return PlayerLine(
        who=who,
        assignment=one.assignment,
        days=len({outcome.day for outcome in one.answers}),
        items=max(one.items, len(answers)),
        lines=tuple(_line(item, answers[item]) for item in sorted(answers)),
    )


def _line(item: Item, outcomes: Sequence[Outcome]) -> Line:
    right = sum(outcome.verdict == Verdict.RIGHT.value for outcome in outcomes)
    return Line(item, right, len(outcomes), max(outcome.day for outcome in outcomes))


COLUMNS = (
    *("assignment", "who", "device", "kind", "right", "answers", "share", "low", "high"),
    *("last_day", "days", "done", "items"),
)
"""Of the table for a spreadsheet."""


def as_csv(roster: Roster) -> str:
    """One table: of each player a line of all answers (`device` and `kind` are empty there), then a
    line an item (`days`, `done` and `items` are empty there).

    `low` and `high` are the ends of the 95 % interval of `share`; `done` of `items` were right at
    least ENOUGH_RIGHT times. A text that a spreadsheet would take for a formula, since it begins
    with = + - @ or a tab, has an apostrophe in front; so has what stands so behind a sign that may
    part cells. Texts stand in quotes.
    """
    text = io.StringIO()
    table = csv.writer(text, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\n")
    table.writerow(COLUMNS)
    for player in roster.players:
        head = (_safe(player.assignment), _safe(player.who))
        extent = (player.days, player.done, player.items)
        table.writerow((*head, "", "", *_counts(player), *extent))
        for line in player.lines:
            table.writerow((*head, *map(_safe, line.item), *_counts(line), "", "", ""))
    return text.getvalue()


def _counts(line: PlayerLine | Line) -> tuple[int | float | str, ...]:
    ends = (round(end, 4) for end in (line.share, *line.interval))
    return line.right, line.answers, *ends, date_text(line.last_day)


def _safe(text: str) -> str:
    """The text as a cell that no spreadsheet takes for a formula."""
    return _FORMULA.sub(r"\1\2'", text)
