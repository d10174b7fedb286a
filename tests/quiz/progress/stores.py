"""Histories for the tests of the scores, and reports on them."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from engine.catalogue import builtin_catalogue
from quiz.answers import Answer
from quiz.history.store import Store, memory_store
from quiz.progress.report import Report, report
from tests.quiz.histories import FIRST_DAY


@contextmanager
def a_store_with(answers: Iterable[Answer]) -> Iterator[Store]:
    """A history of its own in memory."""
    store = memory_store()
    store.take_in(answers)
    try:
        yield store
    finally:
        store.close()


def a_report(answers: Iterable[Answer], day: int = FIRST_DAY) -> Report:
    """What the scores show on a practice day."""
    with a_store_with(answers) as store:
        return report(store, store.practice(), builtin_catalogue(), day)
