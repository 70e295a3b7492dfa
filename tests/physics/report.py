"""How a tree does on its simulated section: python -m tests.physics.report [MAP ...] [--routes] [--only FAULT]"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from guide.core.tree import Tree
from tests.physics import best, driver, maps
from tests.physics.boards import UNITS
from tests.physics.driver import Sight
from tests.physics.maps import Map
from tests.physics.score import Outcome, Score, confusion, outcome, shares
from tests.worlds import shipped_tree


@dataclass(frozen=True)
class Result:
    """All runs of one map with one kind of sight. `least` leaves out questions about the past, which tell no fault
    from another here; `readings` is the mean without them, `checks` with them."""

    name: str
    sight: Sight
    outcomes: tuple[Outcome, ...]
    shares: dict[str, float]
    checks: float
    readings: float
    least: best.Least

    @property
    def right(self) -> float:
        return self.shares[Score.RIGHT] + self.shares[Score.GROUP]

    @property
    def wrong(self) -> float:
        return self.shares[Score.WRONG]

    @property
    def ratio(self) -> float:
        return self.readings / self.least.bound


def loaded(name: str) -> tuple[Map, Tree, str]:
    """Return a map with its tree and the tree's text; raises AssertionError where they do not fit together."""
    tied = maps.load(name)
    tree, text = shipped_tree(tied.tree)
    wrong = maps.mistakes(tied, tree)
    assert not wrong, f"maps/{name}.yaml: {'; '.join(wrong)}"
    return tied, tree, text


def runs(name: str, sight: Sight, *, faults: Iterable[str] = ()) -> tuple[Outcome, ...]:
    """Play every fault on every unit."""
    tied, tree, text = loaded(name)
    with driver.scratch_store() as store:
        return tuple(
            outcome(tied, driver.run(store, tree, text, tied, fault, unit, sight))
            for fault in faults or tied.faults
            for unit in range(UNITS)
        )


@cache
def result(name: str, sight: Sight) -> Result:
    """Return the figures of one map and sight."""
    tied, tree, _ = loaded(name)
    outcomes = runs(name, sight)
    least = best.least(best.boards_of(tree, tied, looks=sight is Sight.SEES))
    count = len(outcomes)
    checks, past = sum(o.checks for o in outcomes) / count, sum(o.history for o in outcomes) / count
    return Result(name, sight, outcomes, shares(outcomes), checks, checks - past, least)


def lines(found: Result) -> list[str]:
    """Return the figures and the confusion table as text."""
    proof = "exact" if found.least.exact else "a proven lower bound"
    head = [
        f"{found.name}, {found.sight.value}: {len(found.outcomes)} runs",
        "  " + ", ".join(f"{name} {share:.1%}" for name, share in found.shares.items()),
        f"  checks {found.checks:.2f} a run, {found.readings:.2f} without questions about the past; "
        f"least possible {found.least.bound:.2f} ({proof}); ratio {found.ratio:.2f}",
    ]
    rows = confusion(found.outcomes)
    wide = max(len(fault) for fault, *_ in rows)
    return head + [f"    {fault:<{wide}}  {n}  {grade:<11}  {said}" for fault, said, n, grade in rows]


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.physics.report", description=__doc__)
    parser.add_argument("maps", nargs="*", help="names under tests/physics/maps; all if left out")
    parser.add_argument("--routes", action="store_true", help="print every run's checks and bands")
    parser.add_argument("--only", action="append", default=[], help="a fault; routes of its runs alone")
    given = parser.parse_args(arguments)
    for name in given.maps or maps.names():
        for sight in Sight:
            if given.only or given.routes:
                print("\n".join(routes(runs(name, sight, faults=given.only), sight)))
            else:
                print("\n".join(lines(result(name, sight))))


def routes(outcomes: Iterable[Outcome], sight: Sight) -> list[str]:
    """Return one line a run: what was read, in order, and the verdict."""
    return [
        f"{o.fault} {o.unit} {sight.value}: {', '.join(f'{c} {b}' for c, b in o.route)} => "
        f"{' or '.join(o.named)} {o.p:.3f} ({o.score.value})"
        for o in outcomes
    ]


if __name__ == "__main__":
    main()
