"""What a placement finds of invented players: `python -m tests.bench.bench_placement`."""

import sys

from engine.catalogue import builtin_catalogue
from quiz.learning.focus import families
from quiz.learning.material import Only, items_within
from quiz.learning.placement import groups_of
from tests.quiz.learners import PLAYERS, placed

PLACEMENTS = 200


def say(line: str) -> None:
    """A line of the result."""
    sys.stdout.write(f"{line}\n")


def main() -> None:
    """A line for each player, means over PLACEMENTS placements."""
    catalogue = builtin_catalogue()
    groups = groups_of(items_within(Only(), catalogue), families(catalogue))
    say(f"{len(groups)} groups, means of {PLACEMENTS} placements")
    say("player    questions  known  found of known  presumed wrong  groups found of known")
    for player in PLAYERS:
        rows = [placed(player, groups, seed) for seed in range(PLACEMENTS)]
        probes, known, found, wrong, well, of_well = (
            sum(column) / PLACEMENTS for column in zip(*rows, strict=True)
        )
        say(
            f"{player.name:10}{probes:9.1f}{known:7.0f}{found / known:16.0%}"
            f"{wrong:7.1f} = {wrong / max(found + wrong, 1e-9):4.0%}{of_well:12.1f} of {well:.1f}"
        )


if __name__ == "__main__":
    main()
