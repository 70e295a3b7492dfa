"""What a check costs in minutes, given what the bench is set up for now."""

from __future__ import annotations

from dataclasses import dataclass, field

from guide.core.tree import AS_FOUND, NO_HAZARD, Check, Power, Tree

# Switching the supply and waiting for it, and saying a caution's word: common practice, no source.
POWER_MINUTES = 1.0
CAUTION_MINUTES = 0.2
UNDO_SETUP_MINUTES = 0.5


@dataclass(frozen=True, slots=True)
class Bench:
    """What is switched on, acknowledged, connected and opened. A new or resumed job starts from the defaults."""

    power: Power = Power.UNKNOWN
    cleared: frozenset[str] = field(default_factory=frozenset)
    setup: str = AS_FOUND
    access: frozenset[str] = field(default_factory=frozenset)


def minutes(tree: Tree, check: Check, bench: Bench) -> float:
    """Return the minutes of `check` from `bench` on: its own, power changes, a caution, a setup, opening up."""
    return check.minutes + _around(tree, check, bench)


class Around:
    """What comes on top of a check's own minutes from `bench` on; worked out once for all checks that need the same."""

    def __init__(self, tree: Tree, bench: Bench) -> None:
        self._tree, self._bench = tree, bench
        self._known: dict[tuple[str, str, tuple[str, ...]], float] = {}

    def __call__(self, check: Check) -> float:
        alike = check.hazard, check.setup, check.access
        if alike not in self._known:
            self._known[alike] = _around(self._tree, check, self._bench)
        return self._known[alike]


def _around(tree: Tree, check: Check, bench: Bench) -> float:
    total, now = 0.0, bench
    closed = [a for a in check.access if a in tree.access and a not in bench.access]
    total += sum(tree.access[a].minutes for a in closed)
    by_hand = bool(closed) or _connects(tree, check, bench)
    if by_hand and now.power is not Power.OFF and any(h.power is Power.OFF for h in tree.hazards.values()):
        total += POWER_MINUTES  # no lid is opened and nothing connected over a board that may be live
        now = Bench(Power.OFF, frozenset(), now.setup)
    needs = tree.needs(check)
    if needs is not Power.UNKNOWN and needs is not now.power:
        total += POWER_MINUTES
    elif check.hazard != NO_HAZARD and check.hazard not in now.cleared:
        total += CAUTION_MINUTES
    if check.hazard != NO_HAZARD and check.setup != now.setup:
        step = tree.setups.get(check.setup)
        total += step.minutes if step else UNDO_SETUP_MINUTES
    return total


def _connects(tree: Tree, check: Check, bench: Bench) -> bool:
    """Tell whether hands change what is connected before `check`."""
    if check.hazard == NO_HAZARD or check.setup == bench.setup:
        return False
    step = tree.setups.get(check.setup) or tree.setups.get(bench.setup)  # back to as found: what was made is undone
    return step is None or step.power is Power.OFF


def after(tree: Tree, check: Check, bench: Bench) -> Bench:
    """Return the bench as `check` leaves it. A power change voids the cautions of the other state; a check that
    touches nothing leaves everything."""
    opened = bench.access | frozenset(check.access)
    if check.hazard == NO_HAZARD:
        return Bench(bench.power, bench.cleared, bench.setup, opened)
    needs = tree.needs(check)
    if needs is Power.UNKNOWN or needs is bench.power:
        return Bench(bench.power, bench.cleared | {check.hazard}, check.setup, opened)
    return Bench(needs, frozenset({check.hazard}), check.setup, opened)
