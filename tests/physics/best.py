"""The least number of checks with which boards can be told apart, on average, by any order of the same checks.

Each board gives each check one band, so a set of boards that are still possible splits by the bands of the next check.
The best order is an optimal decision tree: f(S) = 0 where one verdict is right for all of S, else w(S) + the least,
over checks, of the sum of f over the parts. Searched depth first with a memory of sets and a bound from below: boards
that no one verdict covers must end in different leaves, and no tree with k branches has leaves cheaper than Huffman's
(Huffman 1952, k-ary form), whatever the checks are.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from guide.core.meter import HANDHELD
from guide.core.quantity import PREFIXES, Quantity
from guide.core.reading import Measured, OverRange, band_weights, likeliest, measure_unit
from guide.core.tree import Check, Tree
from tests.physics.boards import MODE_OF, MODES, UNITS, NotOnThisBoard
from tests.physics.maps import Map

LABELS = frozenset[str]


@dataclass(frozen=True)
class Least:
    """Mean checks: no order needs fewer than `bound`; `exact` where an order with just that many exists."""

    bound: float
    exact: bool


def least(boards: Sequence[tuple[tuple[str | None, ...], LABELS]], *, nodes: int = 200_000) -> Least:
    """Return the least mean number of checks for `boards`: each the bands it gives, check by check, and the verdicts
    that are right for it. After `nodes` sets have been opened, what is left is bounded from below."""
    merged: dict[tuple[str | None, ...], tuple[int, LABELS]] = {}
    for bands, right in boards:
        weight, before = merged.get(bands, (0, frozenset()))
        merged[bands] = (weight + 1, before | right)
    search = _Search([w for w, _ in merged.values()], [r for _, r in merged.values()], _splits(list(merged)), nodes)
    value = search.value((1 << len(merged)) - 1)
    return Least(value / len(boards), search.exact)


def _splits(rows: list[tuple[str | None, ...]]) -> list[tuple[int, ...]]:
    """Return each check as the sets of boards (bit masks) that its bands make; checks that split alike count once."""
    found = set()
    for column in zip(*rows, strict=True):
        parts: dict[str | None, int] = defaultdict(int)
        for i, band in enumerate(column):
            parts[band] |= 1 << i
        if len(parts) > 1:
            found.add(tuple(sorted(parts.values())))
    return sorted(found)


@dataclass
class _Search:
    weights: list[int]
    right: list[LABELS]
    splits: list[tuple[int, ...]]
    nodes: int
    known: dict[int, tuple[float, bool]] = field(default_factory=dict)
    bounds: dict[int, float] = field(default_factory=dict)

    @property
    def exact(self) -> bool:
        return self.nodes > 0

    def value(self, boards: int, limit: float = float("inf")) -> float:
        """Return f of a set, or, where that is `limit` or more, something between `limit` and f."""
        low = self.bound(boards)
        if low == 0 or low >= limit:
            return low
        value, settled = self.known.get(boards, (low, False))
        if settled or value >= limit:
            return value
        self.nodes -= 1
        if self.nodes <= 0:
            return low
        best, weight = limit, self.weight(boards)
        for guess, parts in self._options(boards, weight):
            if guess >= best:
                break
            best = min(best, self._cost(parts, weight, best))
        self.known[boards] = (best, best < limit)
        return best

    def _cost(self, parts: list[int], weight: int, limit: float) -> float:
        """Return the cost of one check with these parts, given up where it reaches `limit`."""
        rest = [self.bound(p) for p in parts]
        total = weight + sum(rest)
        for part, low in sorted(zip(parts, rest, strict=True), key=lambda pair: -pair[1]):
            total += self.value(part, limit - total + low) - low
            if total >= limit:
                break
        return total

    def _options(self, boards: int, weight: int) -> list[tuple[float, list[int]]]:
        found = {}
        for split in self.splits:
            parts = tuple(p for m in split if (p := m & boards))
            if len(parts) > 1 and parts not in found:
                found[parts] = weight + sum(self.bound(p) for p in parts)
        return sorted(((cost, list(parts)) for parts, cost in found.items()), key=lambda o: o[0])

    def bound(self, boards: int) -> float:
        """Return what no order can go below on this set; 0 exactly where one verdict is right for all of it."""
        if boards not in self.bounds:
            self.bounds[boards] = self._bound(boards)
        return self.bounds[boards]

    def _bound(self, boards: int) -> float:
        members = self.members(boards)
        if frozenset.intersection(*(self.right[i] for i in members)):
            return 0.0
        groups: dict[LABELS, int] = defaultdict(int)
        for i in members:
            groups[self.right[i]] += self.weights[i]
        chosen: list[tuple[LABELS, int]] = []
        for labels, weight in sorted(groups.items(), key=lambda g: (-g[1], sorted(g[0]))):
            if not any(labels & other for other, _ in chosen):
                chosen.append((labels, weight))
        apart = [w for _, w in chosen]
        arity = max((sum(1 for m in s if m & boards) for s in self.splits), default=0)
        return huffman(apart, arity) + self.weight(boards) - sum(apart)

    def members(self, boards: int) -> list[int]:
        return [i for i in range(len(self.weights)) if boards >> i & 1]

    def weight(self, boards: int) -> int:
        return sum(self.weights[i] for i in self.members(boards))


def huffman(weights: Sequence[float], arity: int) -> float:
    """Return the least sum of weight times depth over trees with these leaves and at most `arity` branches a node."""
    if len(weights) < 2:
        return float(sum(weights))
    heap = [float(w) for w in weights] + [0.0] * (-(len(weights) - 1) % (arity - 1))
    heapq.heapify(heap)
    total = 0.0
    while len(heap) > 1:
        joined = sum(heapq.heappop(heap) for _ in range(arity))
        total += joined
        heapq.heappush(heap, joined)
    return total


# --- the boards of a section as a tree's checks see them ---------------------------------------------------------


def boards_of(tree: Tree, tied: Map, *, looks: bool) -> list[tuple[tuple[str | None, ...], LABELS]]:
    """Return every fault and unit of the map: the band of each check, and the causes that are right for it."""
    checks = [c for c in tree.asked() if c.id not in tied.history and c.id not in tied.cannot]
    found = []
    for fault in tied.faults:
        for unit in range(UNITS):
            bands = tuple(_band(c, tied, fault, unit, looks=looks) for c in checks)
            found.append((bands, tied.causes_of(fault)))
    return found


def _band(check: Check, tied: Map, fault: str, unit: int, *, looks: bool) -> str | None:
    if check.id in tied.worked:
        return tied.worked[check.id].band(tied.section.board(fault, unit))
    if not check.measure.takes_a_reading:
        return tied.seen(check.id, fault) if looks else None
    mode = MODE_OF.get(check.measure.value)
    state = tied.state(check.setup, live=bool(mode and MODES[mode]))
    red, black = (tied.points.get(p or "", "") for p in (check.red, check.black))
    if mode is None or state is None:
        return None
    board = tied.section.board(fault, unit)
    try:
        value, shown = board.value(red, black, mode, state), board.display(red, black, mode, state)
    except NotOnThisBoard:
        return None
    unit_of = measure_unit(check.measure)
    reading = OverRange(unit_of) if value is None else Measured(Quantity(value, unit_of), _last_digit(shown))
    return likeliest(band_weights(reading, check.bands, HANDHELD.spec(check.measure)))


def _last_digit(shown: str) -> float:
    digits, unit = shown.split()
    decimals = len(digits.partition(".")[2])
    prefix = next((f for p, f in PREFIXES.items() if p and unit.startswith(p)), 1.0)
    return prefix * 10.0**-decimals
