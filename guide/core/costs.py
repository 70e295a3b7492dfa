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
    """Return the minutes of `check` from `bench` on: its own, a power change, a caution, a setup, opening up."""
    total = check.minutes
    needs = tree.needs(check)
    if needs is not Power.UNKNOWN and needs is not bench.power:
        total += POWER_MINUTES
    elif check.hazard != NO_HAZARD and check.hazard not in bench.cleared:
        total += CAUTION_MINUTES
    if check.setup != bench.setup:
        step = tree.setups.get(check.setup)
        total += step.minutes if step else UNDO_SETUP_MINUTES
    return total + sum(tree.access[a].minutes for a in check.access if a not in bench.access and a in tree.access)


def after(tree: Tree, check: Check, bench: Bench) -> Bench:
    """Return the bench as `check` leaves it. A power change voids the cautions of the other state."""
    needs = tree.needs(check)
    power = bench.power if needs is Power.UNKNOWN else needs
    cleared = bench.cleared if check.hazard == NO_HAZARD else bench.cleared | {check.hazard}
    if power is not bench.power:
        kept = (h for h in cleared if h in tree.hazards)
        cleared = frozenset(h for h in kept if tree.hazards[h].power in (Power.UNKNOWN, power))
    return Bench(power, cleared, check.setup, bench.access | frozenset(check.access))
