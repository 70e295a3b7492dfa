"""How a tree does once good boards of the model were read: python -m tests.physics.references [MAP ...]

Every metered point of the five good boards is read as `guide learn` does, then every fault is run against the store
that holds them, beside the same runs against an empty one.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable

from guide import app
from guide.core.intent import Utterance
from guide.core.jobs.events import OutcomeSet
from guide.core.jobs.job import EVERY_READING
from guide.core.tree import Tree
from guide.edge.jobs.store import Store
from tests.physics import driver, maps
from tests.physics.boards import UNITS
from tests.physics.driver import AT, Bench, Sight
from tests.physics.maps import Map
from tests.physics.report import loaded
from tests.physics.score import Outcome, Score, outcome, shares

GOOD = "none"


def learn(store: Store, tree: Tree, text: str, tied: Map) -> None:
    """Read every metered point of the five good boards and close each job as good."""
    for unit in range(UNITS):
        bench = Bench(tied.section.board(GOOD, unit), tied, Sight.BLIND)
        session, told = app.begin(store, tree, text, clock=lambda: AT, sweep=EVERY_READING)
        bench.told += told
        for line in bench.says():
            bench.told += session.hear(Utterance(line))
        session.hear(Utterance("enough"))
        session.hear(Utterance("close"))
        # The boards are known to be good, whatever the tree made of points this board does not have.
        session.apply((OutcomeSet(GOOD),))


def runs(name: str, sight: Sight, *, taught: bool, faults: Iterable[str] = ()) -> tuple[Outcome, ...]:
    """Play every fault on every unit, with or without what the good boards taught."""
    tied, tree, text = loaded(name)
    with driver.scratch_store() as store:
        if taught:
            learn(store, tree, text, tied)
        played = []
        for fault in faults or tied.faults:
            for unit in range(UNITS):
                played.append(outcome(tied, driver.run(store, tree, text, tied, fault, unit, sight)))
        return tuple(played)


def figures(played: tuple[Outcome, ...]) -> tuple[float, float, float, float]:
    """Return (right or group, cannot tell, wrong, mean checks)."""
    part = shares(played)
    right = part[Score.RIGHT] + part[Score.GROUP]
    return right, part[Score.UNSURE], part[Score.WRONG], sum(o.checks for o in played) / len(played)


def main(names: list[str]) -> None:
    for name in names or [p.stem for p in sorted(maps.FOLDER.glob("*.yaml"))]:
        for sight in Sight:
            for taught in (False, True):
                right, unsure, wrong, checks = figures(runs(name, sight, taught=taught))
                with_ = "with references" if taught else "without       "
                print(f"{name}, {sight.value}, {with_}: right or group {right:.1%}, cannot tell {unsure:.1%},"
                      f" wrong {wrong:.1%}, checks {checks:.2f}")  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1:])
