"""`lastbar scores`."""

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from quiz.commands.catalogue import load_own
from quiz.commands.output import OK, say, say_data
from quiz.locations import locate

if TYPE_CHECKING:
    from argparse import Namespace

    from engine.catalogue import Catalogue
    from quiz.scores import Scores


def run_scores(options: "Namespace") -> int:
    """`lastbar scores`."""
    from quiz.history.store import open_store
    from quiz.scores import as_csv, as_data, scores

    catalogue = load_own(options.catalogue)
    store = open_store(locate().history)
    try:
        result = scores(store)
    finally:
        store.close()
    if options.json:
        say_data(as_data(result))
    elif options.csv:
        sys.stdout.write(as_csv(result))
    else:
        for line in _score_lines(result, catalogue):
            say(line)
    return OK


def _score_lines(result: "Scores", catalogue: "Catalogue") -> Iterator[str]:
    if not result.weeks:
        yield "No answers yet."
        return
    groups = (
        ("By week", result.weeks),
        ("By kind", result.kinds),
        ("By device", result.devices),
        ("By key", result.keys),
    )
    for title, counts in groups:
        yield title
        for count in counts:
            low, high = count.interval
            name = catalogue.name(count.name) if counts is result.devices else count.name
            yield (
                f"  {name:<46}{count.right:>5} of {count.answers:<5}"
                f"{count.accuracy:>5.0%}  (95 %: {low:.0%} to {high:.0%})"
            )
    if result.confusions:
        yield "Mistaken"
        for row in result.confusions:
            asked, chosen = catalogue.name(row.asked), catalogue.name(row.chosen)
            yield f"  {row.times:>3} x  {asked} taken for {chosen}"
