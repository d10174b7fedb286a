"""Grading of sets: the bars that were marked in `place`, the figures that were ticked in `fit`.

hit          marked, and rightly
miss         not marked, but should have been
false alarm  marked, but should not have been

bars    score = hits / (hits + misses + false alarms); marking none is right, and scores 1, when
        nothing was there. (The Jaccard index of the two sets.)
ticks   score = options judged rightly / options, ticked or not

verdict   right         no miss and no false alarm
          partly right  score >= PARTLY
          wrong         less
"""

import re
from collections.abc import Collection, Sequence

from engine.catalogue import Catalogue
from engine.errors import shown
from quiz.answers import Verdict
from quiz.errors import AnswerError
from quiz.grading.lines import PARTLY, Grade, Marks
from quiz.questions.excerpts import Accompaniment, chorus_outlines, departures
from quiz.questions.value import Question

NONE = "none"
"""What is typed where nothing is to be marked."""

_NOTHING = (NONE, "nothing", "0", "-")
_BETWEEN = re.compile(r"[\s,;]+")


def right_bars(question: Question, catalogue: Catalogue) -> tuple[int, ...]:
    """Of `place`: the bars to mark, from 1."""
    return departures(chorus_outlines(question, catalogue))


def right_ticks(question: Question, catalogue: Catalogue) -> tuple[str, ...]:
    """Of `fit`: the options that agree with the band."""
    band = Accompaniment.of(question, catalogue)
    return tuple(option for option in question.options if not band.clashes(catalogue.find(option)))


def grade_bars(question: Question, bars: Collection[int], catalogue: Catalogue) -> Grade:
    """Grade marked bars, counted from 1.

    Raises AnswerError for a bar that the form does not have.
    """
    form = catalogue.form(question.form)
    if beyond := sorted(bar for bar in bars if not 1 <= bar <= len(form)):
        raise AnswerError(f"bar {beyond[0]} was given: this form has bars 1 to {len(form)}")
    right = right_bars(question, catalogue)
    marks = _marks([str(bar) for bar in sorted(bars)], [str(bar) for bar in right])
    counted = len(marks.hits) + len(marks.misses) + len(marks.false_alarms)
    return _graded(marks, len(marks.hits) / counted if counted else 1.0)


def grade_ticks(question: Question, ticked: Collection[str], catalogue: Catalogue) -> Grade:
    """Grade ticked options.

    Raises AnswerError for one that was not offered.
    """
    if strangers := [one for one in ticked if one not in question.options]:
        raise AnswerError(
            f"'{strangers[0]}' was not offered: tick some of {', '.join(question.options)}, or none"
        )
    given = [option for option in question.options if option in ticked]
    marks = _marks(given, right_ticks(question, catalogue))
    wrong = len(marks.misses) + len(marks.false_alarms)
    return _graded(marks, 1 - wrong / len(question.options))


def _marks(given: Sequence[str], right: Sequence[str]) -> Marks:
    return Marks(
        hits=tuple(one for one in given if one in right),
        misses=tuple(one for one in right if one not in given),
        false_alarms=tuple(one for one in given if one not in right),
    )


def _graded(marks: Marks, score: float) -> Grade:
    if not marks.misses and not marks.false_alarms:
        verdict = Verdict.RIGHT
    else:
        verdict = Verdict.PARTLY if score >= PARTLY else Verdict.WRONG
    return Grade(verdict, score, marks=marks)


def read_bars(text: str) -> tuple[int, ...]:
    """The bars of a typed answer such as `4 8 11-12`; `none` for no bar.

    Raises AnswerError for anything else.
    """
    words = _words(text)
    if [word.casefold() for word in words] in [[nothing] for nothing in _NOTHING]:
        return ()
    bars: set[int] = set()
    for word in words:
        first, dash, last = word.partition("-")
        last = last if dash else first
        if not (_is_number(first) and _is_number(last)) or int(first) > int(last):
            raise AnswerError(
                f"{shown(word)} is no bar: give numbers such as 4 8 or 11-12, or {NONE}"
            )
        bars.update(range(int(first), int(last) + 1))
    return tuple(sorted(bars))


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) <= 3


def _words(text: str) -> list[str]:
    words = [word for word in _BETWEEN.split(text.strip()) if word]
    if not words:
        raise AnswerError(f"nothing was given: say {NONE} if that is what you mean")
    return words


def read_ticks(text: str, question: Question) -> tuple[str, ...]:
    """The options of a typed answer such as `1 3`, by their numbers or ids; `none` for no option.

    Raises AnswerError for anything else.
    """
    words = _words(text)
    if [word.casefold() for word in words] in [[nothing] for nothing in _NOTHING]:
        return ()
    return tuple(_option(word, question) for word in words)


def _option(word: str, question: Question) -> str:
    if word in question.options:
        return word
    if _is_number(word) and 1 <= int(word) <= len(question.options):
        return question.options[int(word) - 1]
    raise AnswerError(
        f"{shown(word)} is no option: give numbers from 1 to {len(question.options)}, or {NONE}"
    )
