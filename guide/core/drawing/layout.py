"""Where nodes stand: layers from top to bottom, few crossings, every node as near under its neighbours as fits.

The steps are those of layered drawing (Sugiyama, Tagawa and Toda 1981, as recalled): break circles, layer by longest
path, put a stand-in where a route passes a layer, order by barycentres, place by isotonic regression.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

SWEEPS = 12
FARTHEST = 4  # layers a route is drawn over; one that leads further is only named
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Node size and gaps in user units."""

    width: float = 216.0
    height: float = 96.0
    gap: float = 22.0  # between neighbours
    drop: float = 74.0  # between layers
    lane: float = 14.0  # the width a passing route takes


@dataclass(frozen=True, slots=True)
class Layout:
    """Top left corners of nodes; for each route the points it passes, none where it leads too far; the whole size."""

    places: Mapping[str, Point]
    routes: Mapping[tuple[str, str], tuple[Point, ...]]
    width: float
    height: float


def layout_of(nodes: Sequence[str], edges: Sequence[tuple[str, str]], sizes: Sizes) -> Layout:
    """Return the layout of `nodes`; an edge from or to anything else is left out."""
    known = set(nodes)
    kept = list(dict.fromkeys(e for e in edges if e[0] in known and e[1] in known and e[0] != e[1]))
    forward = _forward(nodes, kept)
    layers = _layers(nodes, forward)
    forward = [(a, b) for a, b in forward if layers[b] - layers[a] <= FARTHEST]
    rows, chains = _rows(nodes, forward, layers)
    links = [link for chain in chains.values() for link in pairwise(chain)]
    rows = _ordered(rows, links)
    middles = _placed(rows, links, sizes)
    return _measured(rows, chains, middles, sizes, kept)


def _forward(nodes: Sequence[str], edges: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return the edges with those that close a circle turned round."""
    out: dict[str, list[str]] = {n: [] for n in nodes}
    for a, b in edges:
        out[a].append(b)
    back: set[tuple[str, str]] = set()
    done: set[str] = set()
    for root in nodes:
        stack, path = [(root, iter(out[root]))] if root not in done else [], {root}
        while stack:
            name, rest = stack[-1]
            step = next(rest, None)
            if step is None:
                stack.pop()
                path.discard(name)
                done.add(name)
            elif step in path:
                back.add((name, step))
            elif step not in done:
                path.add(step)
                stack.append((step, iter(out[step])))
    return [(b, a) if (a, b) in back else (a, b) for a, b in edges]


def _layers(nodes: Sequence[str], edges: Sequence[tuple[str, str]]) -> dict[str, int]:
    """Return each node's layer: the longest way to it."""
    layer = dict.fromkeys(nodes, 0)
    # One pass settles at least one more layer; a tree has no more layers than nodes.
    for _ in nodes:
        moved = False
        for a, b in edges:
            if layer[b] <= layer[a]:
                layer[b], moved = layer[a] + 1, True
        if not moved:
            break
    return layer


Slot = Hashable  # a node's name, or (edge, layer) where a route passes


def _rows(
    nodes: Sequence[str], edges: Sequence[tuple[str, str]], layer: Mapping[str, int]
) -> tuple[list[list[Slot]], dict[tuple[str, str], list[Slot]]]:
    rows: list[list[Slot]] = [[] for _ in range(max(layer.values(), default=0) + 1)]
    for name in nodes:
        rows[layer[name]].append(name)
    chains: dict[tuple[str, str], list[Slot]] = {}
    for a, b in edges:
        passing: list[Slot] = [((a, b), level) for level in range(layer[a] + 1, layer[b])]
        for level, slot in enumerate(passing, layer[a] + 1):
            rows[level].append(slot)
        chains[a, b] = [a, *passing, b]
    return rows, chains


def _ordered(rows: list[list[Slot]], links: Sequence[tuple[Slot, Slot]]) -> list[list[Slot]]:
    """Return the rows in the order with the fewest crossings that sweeping down and up came to."""
    up: dict[Slot, list[Slot]] = {}
    down: dict[Slot, list[Slot]] = {}
    for a, b in links:
        up.setdefault(b, []).append(a)
        down.setdefault(a, []).append(b)
    best, fewest = rows, _crossings(rows, down)
    now = [list(r) for r in rows]
    for sweep in range(SWEEPS):
        near, order = (up, range(1, len(now))) if sweep % 2 == 0 else (down, range(len(now) - 2, -1, -1))
        for i in order:
            beside = {s: k for k, s in enumerate(now[i - 1 if sweep % 2 == 0 else i + 1])}
            now[i] = _by_barycentre(now[i], near, beside)
        count = _crossings(now, down)
        if count < fewest:
            best, fewest = [list(r) for r in now], count
    return best


def _by_barycentre(row: list[Slot], near: Mapping[Slot, list[Slot]], beside: Mapping[Slot, int]) -> list[Slot]:
    def key(item: tuple[int, Slot]) -> float:
        index, slot = item
        found = [beside[n] for n in near.get(slot, ())]
        return sum(found) / len(found) if found else float(index)

    return [slot for _, slot in sorted(enumerate(row), key=key)]


def _crossings(rows: Sequence[Sequence[Slot]], down: Mapping[Slot, list[Slot]]) -> int:
    total = 0
    for row, below in pairwise(rows):
        place = {s: k for k, s in enumerate(below)}
        ends = [place[b] for a in row for b in sorted(down.get(a, ()), key=place.__getitem__)]
        total += sum(a > b for i, a in enumerate(ends) for b in ends[i + 1 :])
    return total


def _placed(rows: Sequence[Sequence[Slot]], links: Sequence[tuple[Slot, Slot]], sizes: Sizes) -> dict[Slot, float]:
    """Return the middle of every slot: as near to the mean of its neighbours as the order and the gaps allow."""
    near: dict[Slot, list[Slot]] = {}
    for a, b in links:
        near.setdefault(a, []).append(b)
        near.setdefault(b, []).append(a)
    middle: dict[Slot, float] = {}
    for row in rows:
        middle.update(zip(row, _apart(row, [0.0] * len(row), sizes), strict=True))
    for turn in range(SWEEPS):
        for row in rows if turn % 2 == 0 else list(reversed(rows)):
            wanted = [_mean([middle[n] for n in near.get(s, ())], middle[s]) for s in row]
            middle.update(zip(row, _apart(row, wanted, sizes), strict=True))
    return middle


def _mean(found: Sequence[float], otherwise: float) -> float:
    return sum(found) / len(found) if found else otherwise


def _apart(row: Sequence[Slot], wanted: Sequence[float], sizes: Sizes) -> list[float]:
    """Return positions in order, far enough apart, with the least sum of squares from `wanted`.

    Taking the running distances off turns the constraint into `not falling`, which pooling neighbours solves.
    """
    offsets = [0.0]
    for a, b in pairwise(row):
        offsets.append(offsets[-1] + (_width(a, sizes) + _width(b, sizes)) / 2 + sizes.gap)
    pools: list[list[float]] = []  # sum, count
    for want, offset in zip(wanted, offsets, strict=False):
        pools.append([want - offset, 1])
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]:
            total, count = pools.pop()
            pools[-1][0] += total
            pools[-1][1] += count
    flat = [total / count for total, count in pools for _ in range(int(count))]
    return [value + offset for value, offset in zip(flat, offsets, strict=False)]


def _width(slot: Slot, sizes: Sizes) -> float:
    return sizes.width if isinstance(slot, str) else sizes.lane


def _measured(
    rows: Sequence[Sequence[Slot]], chains: Mapping[tuple[str, str], list[Slot]], middle: Mapping[Slot, float],
    sizes: Sizes, edges: Sequence[tuple[str, str]],
) -> Layout:  # fmt: skip
    left = min((middle[s] - _width(s, sizes) / 2 for row in rows for s in row), default=0.0)
    right = max((middle[s] + _width(s, sizes) / 2 for row in rows for s in row), default=0.0)
    level = {s: i for i, row in enumerate(rows) for s in row}
    step = sizes.height + sizes.drop
    places = {s: (middle[s] - left - sizes.width / 2, level[s] * step) for s in level if isinstance(s, str)}
    routes = {}
    for a, b in edges:
        chain = chains.get((a, b)) or chains.get((b, a), [])[::-1]
        if not chain:
            continue
        points = [(middle[s] - left, level[s] * step) for s in chain]
        routes[a, b] = tuple(points)
    height = len(rows) * step - sizes.drop if places else 0.0
    return Layout(places, routes, right - left, height)
