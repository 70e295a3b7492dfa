"""Why a tree asks more than the least: python -m tests.physics.counts [MAP ...]

The least (`best.py`) is told what no technician is: that the fault is one of the section's own, each as likely as the
next, that every board reads as it does and no other, and it stops as soon as the boards still possible share a verdict.
Each line takes one of these away. All figures are mean readings a run, questions about the past left out:

- least: the oracle's;
- known: after how many of the tree's own readings the oracle would have known, the order being the tree's;
- tree: how many the tree asks before it says so;
- planner: the same checks with no route, the planner alone;
- told: the planner alone, told that only the section's faults can be, each as likely as the next.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace

from guide.core.tree import NONE, OTHER, Tree
from tests.physics import best, driver, maps, report
from tests.physics.boards import UNITS
from tests.physics.driver import Sight
from tests.physics.maps import Map
from tests.physics.score import Outcome, outcome

UNTOLD = 1e-6  # weight of a cause that cannot be, and of `other`


def routeless(tree: Tree) -> Tree:
    """Return `tree` left to the planner."""
    return replace(tree, start="", checks={name: replace(c, then={}) for name, c in tree.checks.items()})


def told(tree: Tree, tied: Map) -> Tree:
    """Return `tree` with the section's own faults, and a good board, all as likely, and nothing else."""
    can_be = {c for c in tree.causes if c != OTHER and (c == NONE or tied.simulated(c))}
    causes = {name: replace(c, weight=1.0 if name in can_be else UNTOLD) for name, c in tree.causes.items()}
    return replace(tree, causes=causes)


def readings(tree: Tree, text: str, tied: Map, sight: Sight, units: Sequence[int]) -> float:
    """Return the mean readings of `tree` over every fault on `units`."""
    with driver.scratch_store() as store:
        runs = [
            outcome(tied, driver.run(store, tree, text, tied, fault, unit, sight))
            for fault in tied.faults
            for unit in units
        ]
    return sum(o.checks - o.history for o in runs) / len(runs)


def known_after(tree: Tree, tied: Map, sight: Sight, one: Outcome) -> int:
    """Return after how many readings of a run the boards that read so share a verdict; all of them where never."""
    columns = [c.id for c in tree.asked() if c.id not in tied.history and c.id not in tied.cannot]
    boards = best.boards_of(tree, tied, looks=sight is Sight.SEES)
    count = 0
    for check, band in [step for step in one.route if step[0] in columns]:
        if frozenset.intersection(*(right for _, right in boards)):
            return count
        still = [b for b in boards if b[0][columns.index(check)] == band]
        boards, count = still or boards, count + 1  # a reading on an edge may be that of no board
    return count


def line(name: str, sight: Sight) -> str:
    """Return the figures of one map and sight as a row of a table."""
    tied, tree, text = report.loaded(name)
    found = report.result(name, sight)
    known = sum(known_after(tree, tied, sight, o) for o in found.outcomes) / len(found.outcomes)
    units = range(0, UNITS, 2)
    free = readings(routeless(tree), text, tied, sight, units)
    knowing = readings(told(routeless(tree), tied), text, tied, sight, units)
    figures = (found.least.bound, known, found.readings, free, knowing)
    return f"| {name}, {sight.value} | " + " | ".join(f"{f:.2f}" for f in figures) + f" | {found.ratio:.2f} |"


def main() -> None:
    print("| section | least | known | tree | planner | told | tree / least |\n|---|---|---|---|---|---|---|")
    for name in sys.argv[1:] or maps.names():
        for sight in Sight:
            print(line(name, sight), flush=True)


if __name__ == "__main__":
    main()
