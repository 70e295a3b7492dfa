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


class Prices:
    """The minutes of checks from `bench` on; what comes on top of their own is worked out once for all that need the
    same."""

    def __init__(self, tree: Tree, bench: Bench) -> None:
        self._tree, self._bench = tree, bench
        self._known: dict[tuple[str, str, tuple[str, ...]], float] = {}

    def __call__(self, check: Check) -> float:
        alike = check.hazard, check.setup, check.access
        if alike not in self._known:
            self._known[alike] = _around(self._tree, check, self._bench)
        return check.minutes + self._known[alike]


def _around(tree: Tree, check: Check, bench: Bench) -> float:
    total, now = sum([tree.access[a].minutes for a in _closed(tree, check, bench)]), _handled(tree, check, bench)
    needs = tree.needs(check)
    total += POWER_MINUTES if now.power is not bench.power else 0.0
    if needs is not Power.UNKNOWN and needs is not now.power:
        total += POWER_MINUTES
    elif check.hazard != NO_HAZARD and check.hazard not in now.cleared:
        total += CAUTION_MINUTES
    if check.hazard != NO_HAZARD and check.setup != now.setup:
        step = tree.setups.get(check.setup)
        total += step.minutes if step else UNDO_SETUP_MINUTES
    return total


def _closed(tree: Tree, check: Check, bench: Bench) -> list[str]:
    return [a for a in check.access if a in tree.access and a not in bench.access]


def _handled(tree: Tree, check: Check, bench: Bench) -> Bench:
    """Return the bench as it is for the hands that open and connect what `check` needs: no lid is opened and nothing
    connected over a board that may be live, so it is switched off first, with that caution."""
    by_hand = any(tree.access[a].power is Power.OFF for a in _closed(tree, check, bench))
    if bench.power is Power.OFF or not (by_hand or _connects(tree, check, bench)):
        return bench
    off = next((h.id for h in tree.hazards.values() if h.power is Power.OFF), None)
    return Bench(Power.OFF, frozenset({off}), bench.setup, bench.access) if off else bench


def _connects(tree: Tree, check: Check, bench: Bench) -> bool:
    """Tell whether hands change what is connected before `check`."""
    if check.hazard == NO_HAZARD or check.setup == bench.setup:
        return False
    step = tree.setups.get(check.setup) or tree.setups.get(bench.setup)  # back to as found: what was made is undone
    return step is None or step.power is Power.OFF


def after(tree: Tree, check: Check, bench: Bench) -> Bench:
    """Return the bench as `check` leaves it. A power change voids the cautions of the other state; a check that
    touches nothing leaves everything."""
    opened, now = bench.access | frozenset(check.access), _handled(tree, check, bench)
    if check.hazard == NO_HAZARD:
        return Bench(now.power, now.cleared, now.setup, opened)
    needs = tree.needs(check)
    if needs is Power.UNKNOWN or needs is now.power:
        return Bench(now.power, now.cleared | {check.hazard}, check.setup, opened)
    return Bench(needs, frozenset({check.hazard}), check.setup, opened)
