"""Grading what was played, documented like a metric.

Expected are degrees on beats; played are notes with moments; a grid says when each beat was. Pitch
classes count, octaves only where heights are given.

    pairs    the alignment in order with the fewest errors, each a note that is wrong, missing or
             extra (unit costs); of those that cost the same, the one whose notes lie nearest to
             their beats
    notes    how many pitch classes both have, order aside, of as many as the longer of the two has
    order    how many of those stand in the alignment: 1 when all that is right is in order
    lag      the median of how late the right notes are: what the whole take is late, by the player
             or by the machine; not a fault of any beat
    late     of each right note, from its beat plus the lag; negative when it was early
    timing   the share of right notes with |late| up to ON_TIME, where there is a grid
    score    max(0, 1 - errors / notes expected), times 1 - TIMING_SHARE (1 - timing)
    verdict  right         no error, and timing at least MOSTLY_ON_TIME
             partly right  score >= PARTLY
             wrong         less, or nothing was played

The downbeat arrived at may be played or left out. [the numbers: common practice, no source]
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from engine.listening.notes import Grid, PlayedNote
from engine.pattern import Spot
from engine.theory import Degree, Key, Midi
from quiz.answers import Verdict
from quiz.grading.lines import PARTLY, Error, Expected

ON_TIME = 0.06
"""Seconds: what a listener hears as late begins at about half of it, and the ear that finds the
notes is itself unsure by a third."""

MOSTLY_ON_TIME = 0.75
TIMING_SHARE = 0.3
"""What timing is worth against the notes."""

LAG_TOLD = 0.06
"""Seconds: a lag under this is not worth a word."""

TOLD = 3
"""Beats that the sentence names at most."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A note that should be played."""

    spot: Spot
    """Beats from the start of the figure, which is beat 0 of the grid."""

    degree: Degree
    midi: Midi | None = None
    """Where the octave counts."""


@dataclass(frozen=True, slots=True)
class PlayedPair:
    """One step of the alignment: an asked note, a played one, or both."""

    asked: Asked | None
    """None for an extra note."""

    played: PlayedNote | None
    """None for a missing note."""

    error: Error | None
    late: float | None = None
    """Seconds from its beat and the lag, negative when early; of right notes on a grid."""

    @property
    def off_time(self) -> bool:
        return self.late is not None and abs(self.late) > ON_TIME


@dataclass(frozen=True, slots=True)
class PlayedGrade:
    """What came of a take."""

    verdict: Verdict
    score: float
    pairs: tuple[PlayedPair, ...]
    notes: float
    order: float
    timing: float | None
    """None without a grid, and when no note was right."""

    lag: float | None

    @property
    def errors(self) -> int:
        return sum(pair.error is not None for pair in self.pairs)


def asked_of(expected: Sequence[Expected], pitches: Sequence[Midi] | None = None) -> list[Asked]:
    """The notes of `quiz.grading.lines.expected_notes`; with `pitches`, the octave counts."""
    heights: Sequence[Midi | None] = pitches if pitches is not None else [None] * len(expected)
    return [
        Asked(note.spot, note.degree, height)
        for note, height in zip(expected, heights, strict=True)
    ]


def grade_played(
    asked: Sequence[Asked],
    notes: Sequence[PlayedNote],
    key: Key,
    grid: Grid | None = None,
    arrival: Asked | None = None,
) -> PlayedGrade:
    """Grade what was played; `arrival` is the downbeat that may be played too.

    Without a grid nothing is said about time. `asked` must not be empty.
    """
    readings = [list(asked)] + ([[*asked, arrival]] if arrival is not None else [])
    pairs = min((_aligned(line, notes, key, grid) for line in readings), key=_errors)
    lag = _lag(pairs, grid)
    timed = tuple(_timed(pair, grid, lag) for pair in pairs)
    late = [abs(pair.late) <= ON_TIME for pair in timed if pair.late is not None]
    timing = sum(late) / len(late) if late else None
    wanted = sum(pair.asked is not None for pair in pairs)
    line_score = max(0.0, 1 - _errors(pairs) / wanted)
    score = line_score * (1 - TIMING_SHARE * (1 - timing) if timing is not None else 1.0)
    common, order = _order(timed, key)
    on_time = timing is None or timing >= MOSTLY_ON_TIME
    right = not _errors(pairs) and on_time
    wrong = Verdict.PARTLY if score >= PARTLY else Verdict.WRONG
    verdict = Verdict.RIGHT if right else wrong
    return PlayedGrade(verdict, score, timed, common, order, timing, lag)


def _errors(pairs: Sequence[PlayedPair]) -> int:
    return sum(pair.error is not None for pair in pairs)


def is_right(asked: Asked, played: PlayedNote, key: Key) -> bool:
    """Whether a played note is the asked one: its pitch class, and its octave where that counts."""
    if asked.midi is not None:
        return played.midi == asked.midi
    return played.above(key) == asked.degree.pitch_class


def beat_of(spot: Spot, grid: Grid) -> float:
    """The place of a spot in beats, as the feel divides them."""
    return spot.beat + (grid.offbeat if spot.offbeat else 0.0)


def _aligned(
    line: Sequence[Asked], notes: Sequence[PlayedNote], key: Key, grid: Grid | None
) -> list[PlayedPair]:
    """The cheapest alignment; a thousandth of an error a beat of distance breaks ties."""
    rows, columns = len(line) + 1, len(notes) + 1

    def pair_cost(one: Asked, played: PlayedNote) -> float:
        away = 0.0 if grid is None else abs(grid.beats(played.onset) - beat_of(one.spot, grid))
        return (not is_right(one, played, key)) + min(away, 8.0) / 1000

    cost = [[float(row + column) for column in range(columns)] for row in range(rows)]
    for row in range(1, rows):
        for column in range(1, columns):
            cost[row][column] = min(
                cost[row - 1][column - 1] + pair_cost(line[row - 1], notes[column - 1]),
                cost[row - 1][column] + 1,
                cost[row][column - 1] + 1,
            )
    row, column = len(line), len(notes)
    pairs: list[PlayedPair] = []
    while row or column:
        here = cost[row][column]
        if row and column:
            one, played = line[row - 1], notes[column - 1]
            if abs(here - cost[row - 1][column - 1] - pair_cost(one, played)) < 1e-9:
                error = None if is_right(one, played, key) else Error.WRONG
                pairs.append(PlayedPair(one, played, error))
                row, column = row - 1, column - 1
                continue
        if row and abs(here - cost[row - 1][column] - 1) < 1e-9:
            row -= 1
            pairs.append(PlayedPair(line[row], None, Error.MISSING))
        else:
            column -= 1
            pairs.append(PlayedPair(None, notes[column], Error.EXTRA))
    return pairs[::-1]


def _raw_late(pair: PlayedPair, grid: Grid | None) -> float | None:
    if grid is None or pair.error is not None or pair.asked is None or pair.played is None:
        return None
    return pair.played.onset - grid.seconds(beat_of(pair.asked.spot, grid))


def _lag(pairs: Sequence[PlayedPair], grid: Grid | None) -> float | None:
    late = [away for pair in pairs if (away := _raw_late(pair, grid)) is not None]
    return float(median(late)) if late else None


def _timed(pair: PlayedPair, grid: Grid | None, lag: float | None) -> PlayedPair:
    away = _raw_late(pair, grid)
    if away is None or lag is None:
        return pair
    return PlayedPair(pair.asked, pair.played, pair.error, away - lag)


def _order(pairs: Sequence[PlayedPair], key: Key) -> tuple[float, float]:
    """`notes` and `order` of the head of this module."""
    asked = [pair.asked for pair in pairs if pair.asked is not None]
    played = [pair.played for pair in pairs if pair.played is not None]
    if all(one.midi is not None for one in asked):
        heights = Counter(one.midi for one in asked if one.midi is not None)
        common = (heights & Counter(note.midi for note in played)).total()
    else:
        classes = Counter(one.degree.pitch_class for one in asked)
        common = (classes & Counter(note.above(key) for note in played)).total()
    in_order = sum(pair.error is None for pair in pairs)
    notes = common / max(len(asked), len(played))
    return notes, min(1.0, in_order / common) if common else 0.0


def played_sentence(grade: PlayedGrade) -> str:
    """Notes, order and timing, each said by itself: `Right notes; beat 3 came 80 ms early.`"""
    played = any(pair.played is not None for pair in grade.pairs)
    if not played:
        return "Nothing was played."
    return f"{_capital('; '.join([_notes_words(grade), *_time_words(grade)]))}."


def _notes_words(grade: PlayedGrade) -> str:
    if not grade.errors:
        return "right notes"
    if grade.notes == 1.0:
        return "right notes, but in another order"
    wrong = [pair for pair in grade.pairs if pair.error is not None]
    named = [_error_words(pair) for pair in wrong[:TOLD]]
    more = len(wrong) - len(named)
    return ", ".join(named) + (f" and {more} more" if more else "")


def _error_words(pair: PlayedPair) -> str:
    if pair.asked is None:
        return "a note too many"
    where = _where(pair.asked.spot)
    if pair.played is None:
        return f"{where}: {pair.asked.degree} is missing"
    return f"{where} wants {pair.asked.degree}"


def _time_words(grade: PlayedGrade) -> list[str]:
    if grade.timing is None or grade.lag is None:
        return []
    said = []
    if abs(grade.lag) > LAG_TOLD:
        said.append(f"all of it came {_milliseconds(grade.lag)}")
    off = [pair for pair in grade.pairs if pair.off_time]
    for pair in sorted(off, key=lambda one: -abs(one.late or 0.0))[:TOLD]:
        assert pair.asked is not None  # only right notes can be off the beat
        assert pair.late is not None
        said.append(f"{_where(pair.asked.spot)} came {_milliseconds(pair.late)}")
    if len(off) > TOLD:
        said.append(f"{len(off) - TOLD} more were off the beat")
    return said or ["in time"]


def _milliseconds(late: float) -> str:
    return f"{round(abs(late) * 100) * 10} ms {'early' if late < 0 else 'late'}"


def _where(spot: Spot) -> str:
    """`beat 3`, with the bar where the figure has more than one."""
    return f"bar {spot.bar + 1} {spot}" if spot.bar else str(spot)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
