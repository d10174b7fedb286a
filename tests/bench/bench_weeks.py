"""What the schedule is worth, on simulated learners: `python -m tests.bench.bench_weeks`.

Each learner works through 150 items, 60 questions a day, for 8 weeks with missed days; four weeks
after the last day it is looked at how much is remembered. The program's own schedule, memory,
history and replay are run against asking at random, all in turn, textbook boxes, and two who see
the learner's memory: a planner, and who always asks what is least known; once more with a learner
who stops for the day when nothing is due. All pickers get the same learners, so the differences are
paired.

The families of memory share no formula with the scheduling library. The third one has no part in
any choice of a rule or a number. Simulated learners are no people: real players may differ.

Some minutes on two cores; `--seeds 2` for a look.
"""

import argparse
import os
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from statistics import mean
from typing import NamedTuple

from quiz.learners.learner import Learner
from quiz.learners.memory_models import FAMILIES
from quiz.learning.schedule import Plan
from tests.bench.pickers import (
    Boxes,
    LeastKnown,
    Picker,
    Planner,
    Program,
    RoundRobin,
    Stopping,
    Uniform,
)
from tests.bench.weeks import Course, Outcome, interval, medium, neighbours, practise

FIRST_SEED = 3000
"""Other seeds than those on which rules were chosen."""

PICKERS = ("uniform", "in turn", "boxes", "program", "stopping", "planner", "least known")
NICE = 15


class Run(NamedTuple):
    """One learner with one picker."""

    family: int
    picker: str
    seed: int


def main() -> None:
    """Print a table for each family."""
    wanted = argparse.ArgumentParser(description=__doc__)
    wanted.add_argument("--seeds", type=int, default=12, help="learners of each family")
    seeds = range(FIRST_SEED, FIRST_SEED + wanted.parse_args().seeds)
    runs = [
        Run(family, picker, seed)
        for family in range(len(FAMILIES))
        for picker in PICKERS
        for seed in seeds
    ]
    with ProcessPoolExecutor(os.cpu_count(), initializer=_step_back) as pool:
        outcomes = dict(zip(runs, pool.map(run, runs), strict=True))
    for number, family in enumerate(FAMILIES):
        by_picker = {
            picker: [outcomes[Run(number, picker, seed)] for seed in seeds] for picker in PICKERS
        }
        sys.stdout.write(f"\n{family.name}, {len(seeds)} learners\n{table(by_picker)}\n")


def _step_back() -> None:
    if hasattr(os, "nice"):  # Windows has none
        os.nice(NICE)


def run(wanted: Run) -> Outcome:
    """Let a learner practise."""
    course = medium()
    learner = Learner(FAMILIES[wanted.family], wanted.seed)
    return practise(learner, _picker(wanted, learner, course), course)


def _picker(wanted: Run, learner: Learner, course: Course) -> Picker:
    items, seed = course.items, wanted.seed
    if wanted.picker == "planner":
        return Planner(items, seed, learner, course.days, course.end)
    if wanted.picker == "least known":
        return LeastKnown(items, seed, learner)
    if wanted.picker in ("program", "stopping"):
        kind = Stopping if wanted.picker == "stopping" else Program
        return kind(items, seed, Plan(course.a_day), neighbours)
    return {"uniform": Uniform, "in turn": RoundRobin, "boxes": Boxes}[wanted.picker](items, seed)


def table(by_picker: dict[str, list[Outcome]]) -> str:
    """Recall; its differences from uniform and planner with 95 % intervals; the questions spent on
    what was known above 0.95, as a multiple of uniform's."""
    uniform, planner = by_picker["uniform"], by_picker["planner"]
    lines = [f"{'':12}{'recall':>7}{'- uniform':>18}{'- planner':>18}{'known':>8}"]
    for picker, rows in by_picker.items():
        lines.append(
            f"{picker:12}{mean(row.recall for row in rows):7.3f}"
            f"{_difference(rows, uniform):>18}{_difference(rows, planner):>18}"
            f"{_known(rows, uniform):8.2f}"
        )
    program = by_picker["program"]
    lines += [
        "Questions a learner, and those of them on what was known above 0.95:",
        _asked("uniform", [(row.asked, row.known) for row in uniform], uniform),
        _asked("program", [(row.asked, row.known) for row in program], uniform),
        _asked(
            "  of those, up to 'nothing is due'",
            [(row.needed, row.known_needed) for row in program],
            uniform,
        ),
        _asked(
            "learner stops when nothing is due",
            [(row.asked, row.known) for row in by_picker["stopping"]],
            uniform,
        ),
        _calibration(program),
    ]
    return "\n".join(lines)


def _asked(what: str, counts: Sequence[tuple[int, int]], uniform: Sequence[Outcome]) -> str:
    """Questions on what was known already: how many, as a multiple of all of uniform's over the
    same days, and as a share of what was asked."""
    asked, known = (mean(count[place] for count in counts) for place in (0, 1))
    times = known / mean(row.known for row in uniform)
    return (
        f"  {what:34}{asked:6.0f}, known{known:6.0f}: {times:.2f} of uniform's, "
        f"{known / asked:.1%} of its own"
    )


def _calibration(program: Sequence[Outcome]) -> str:
    error = mean(row.calibration or 0.0 for row in program)
    shown = mean(row.calibration_shown or 0.0 for row in program)
    return f"Calibration error: memory state {error:.3f}, as shown {shown:.3f}."


def _difference(rows: Sequence[Outcome], base: Sequence[Outcome]) -> str:
    middle, half = interval([a.recall - b.recall for a, b in zip(rows, base, strict=True)])
    return f"{middle:+.3f} +-{half:.3f}"


def _known(rows: Sequence[Outcome], uniform: Sequence[Outcome]) -> float:
    return sum(row.known for row in rows) / sum(row.known for row in uniform)


if __name__ == "__main__":
    main()
