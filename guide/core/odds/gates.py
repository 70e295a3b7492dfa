"""Checks that make sense behind others alone: what waits for what, and which answers shut a check out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from guide.core.tree import Check

_NOTHING: frozenset[int] = frozenset()


class Gates:
    """The `after` of some checks, by their numbers. What a check comes after is behind it where it is not among them.

    A check that still waits has one it comes after among those left; one whose gate came out otherwise is shut and
    left no longer. So the checks left say by themselves which of them may be taken.
    """

    def __init__(self, checks: Sequence[Check]) -> None:
        self.behind: dict[int, Mapping[int, frozenset[str]]] = {}
        self._kept: dict[int, list[int]] = {}
        self._shut: dict[tuple[int, str], frozenset[int]] = {}
        waiting = [(j, c.after) for j, c in enumerate(checks) if c.after]
        numbers = {c.id: j for j, c in enumerate(checks)} if waiting else {}
        for j, after in waiting:
            gates = {numbers[name]: frozenset(bands) for name, bands in after.items() if name in numbers}
            if gates:
                self.behind[j] = gates
            for gate in gates:
                self._kept.setdefault(gate, []).append(j)

    @property
    def any(self) -> bool:
        """Tell whether anything waits for anything."""
        return bool(self.behind)

    @property
    def both_sides(self) -> tuple[int, ...]:
        """The checks that wait or are waited for."""
        return tuple(sorted({*self.behind, *self._kept}))

    def open(self, left: Collection[int]) -> tuple[int, ...]:
        """Return the checks of `left` that wait for no other of them."""
        return tuple([j for j in left if not self.waits(j, left)])

    def waits(self, check: int, left: Collection[int]) -> bool:
        return check in self.behind and any(gate in left for gate in self.behind[check])

    def with_gates(self, telling: Sequence[int], left: Sequence[int]) -> tuple[int, ...]:
        """Return `telling` with all of `left` that must be taken before one of them, in the order of `left`."""
        found, todo = set(telling), list(telling)
        while todo:
            gates = self.behind.get(todo.pop(), ())
            more = [gate for gate in gates if gate in left and gate not in found]
            found.update(more)
            todo += more
        return tuple([j for j in left if j in found])

    def opened(self, check: int, left: Collection[int]) -> Iterator[tuple[int, frozenset[str]]]:
        """Yield the checks of `left` that wait for `check` alone, with the bands that open each."""
        for j in self._kept.get(check, ()):
            if j in left and not any(gate in left for gate in self.behind[j] if gate != check):
                yield j, self.behind[j][check]

    def shut(self, check: int, band: str) -> frozenset[int]:
        """Return what makes no sense any more once `check` came out in `band`, with all that comes after that."""
        if check not in self._kept:
            return _NOTHING
        found = self._shut.get((check, band))
        if found is None:
            gone = {j for j in self._kept[check] if band not in self.behind[j][check]}
            todo = list(gone)
            while todo:
                more = [j for j in self._kept.get(todo.pop(), ()) if j not in gone]
                gone.update(more)
                todo += more
            found = self._shut[check, band] = frozenset(gone)
        return found
