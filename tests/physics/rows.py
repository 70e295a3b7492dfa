"""Boards of the shorted-rail family drawn at random, solved by Kirchhoff's laws: rows of other lengths and copper.

A row of capacitors hangs on copper of a few milliohms a piece, with one or two parts on a spur here and there.
Something in it is shorted or leaks. The bench supply gives one volt or one amp, whichever is reached first; the meter
is off by ±(0.5 % + 2 counts of 6000).
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from itertools import pairwise

from tests.physics.boards import NotOnThisBoard, shown
from tests.physics.maps import DEFAULT, Map

WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

CHIP_OHM = 200.0  # a chip's inputs and clamps at one volt: some 5 mA
IDLE_OHM = 1800.0  # what a healthy rail reads on the ohms range
SUPPLY_V, SUPPLY_A = 1.0, 1.0

Edge = tuple[str, str, float]


def solved(edges: list[Edge], loads: dict[str, float], into: str) -> tuple[dict[str, float], float]:
    """Return volts of every node and amps from the supply clipped to `into`; ground is where the loads end.

    Nodal analysis by elimination: first with one amp driven in, then scaled down if that would need over one volt.
    """
    nodes = sorted({n for a, b, _ in edges for n in (a, b)})
    at = {n: i for i, n in enumerate(nodes)}
    rows = [[0.0] * (len(nodes) + 1) for _ in nodes]
    for a, b, ohms in edges:
        for x, y in ((a, b), (b, a)):
            rows[at[x]][at[x]] += 1 / ohms
            rows[at[x]][at[y]] -= 1 / ohms
    for node, ohms in loads.items():
        rows[at[node]][at[node]] += 1 / ohms
    rows[at[into]][-1] = SUPPLY_A
    volts = _eliminated(rows)
    scale = min(1.0, SUPPLY_V / volts[at[into]])
    return {n: volts[i] * scale for n, i in at.items()}, SUPPLY_A * scale


def _eliminated(rows: list[list[float]]) -> list[float]:
    """Gauss-Jordan without pivoting: conductance matrices are symmetric and diagonally dominant."""
    for i, row in enumerate(rows):
        row[:] = [v / row[i] for v in row]
        for other in rows[:i] + rows[i + 1 :]:
            factor = other[i]
            if factor:
                other[:] = [o - factor * r for o, r in zip(other, row, strict=True)]
    return [row[-1] for row in rows]


@dataclass
class Row:
    """One board: `spurs` gives the number of parts off a capacitor, `shorts` the ohms to ground of the bad ones."""

    count: int
    spurs: dict[int, int]
    shorts: dict[str, float]
    fault: str
    seed: int
    edges: list[Edge] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw = random.Random(self.seed)
        self.edges = [(f"cap-{k}", f"cap-{k + 1}", draw.uniform(0.6e-3, 5e-3)) for k in range(1, self.count)]
        for k, parts in self.spurs.items():
            chain = [f"cap-{k}", f"first-{k}", f"second-{k}"][: parts + 1]
            self.edges += [(a, b, draw.uniform(1e-3, 4e-3)) for a, b in pairwise(chain)]
        chips = [f"{'second' if parts > 1 else 'first'}-{k}" for k, parts in self.spurs.items()]
        ohms = dict.fromkeys(chips, CHIP_OHM)
        # Two loads on one node are in parallel.
        loads = {n: 1 / (1 / self.shorts.get(n, 1e12) + 1 / ohms.get(n, 1e12)) for n in {*self.shorts, *ohms}}
        self.volts = {
            "inject-feed": solved(self.edges, loads, "cap-1"),
            "inject-far": solved(self.edges, loads, f"cap-{self.count}"),
        }
        self.nodes = {n for a, b, _ in self.edges for n in (a, b)}

    def node(self, point: str) -> str:
        name = {"feed": "cap-1", "far": f"cap-{self.count}"}.get(point, point)
        if name not in self.nodes:
            raise NotOnThisBoard(point)
        return name

    def display(self, red: str, black: str, mode: str, state: str) -> str:
        """Return the display as `boards.Board` does; points are the tree's own."""
        error = random.Random(f"{self.seed} {red} {black} {mode} {state}")
        if mode == "ohms":
            across = 1 / (sum(1 / r for r in self.shorts.values()) + 1 / IDLE_OHM) if black == "gnd" else 0.01
            return _with_error(across, 0.1 if across < 600 else 1.0, mode, error)
        if mode == "supply_current":
            return _with_error(self.volts[state][1], 1e-5 if self.volts[state][1] < 0.06 else 1e-3, mode, error)
        volts = self.volts[state][0]
        return _with_error(volts[self.node(red)] - volts[self.node(black)], 1e-5, mode, error)


def _with_error(true: float, count: float, mode: str, error: random.Random) -> str:
    off = true * (1 + error.uniform(-0.005, 0.005)) + error.uniform(-2, 2) * count
    return shown(off if mode == "dcv" else max(0.0, off), mode)


def drawn(seed: int) -> tuple[Row, frozenset[str]]:
    """Return a board and the causes of the tree that are right for it."""
    draw = random.Random(seed)
    count = draw.randint(4, len(WORDS))
    places = draw.sample(range(1, count + 1), min(count, draw.randint(0, 3)))
    spurs = {k: draw.choice([1, 1, 2]) for k in places}
    parts = [f"cap-{k}" for k in range(1, count + 1)]
    parts += [f"{name}-{k}" for k, n in spurs.items() for name in ("first", "second")[:n]]
    kind = draw.choices(["hard", "partial", "leak", "two"], [80, 8, 6, 6])[0]
    if kind == "two":
        near, far = sorted(draw.sample(range(1, count + 1), 2))
        shorts = {f"cap-{near}": draw.uniform(0.03, 0.1), f"cap-{far}": draw.uniform(0.03, 0.1)}
        return Row(count, spurs, shorts, "two", seed), frozenset({f"also-{far}"})
    part = draw.choice(parts)
    ohms = {"hard": draw.uniform(0.02, 0.2), "partial": draw.uniform(1, 5), "leak": draw.uniform(15, 40)}[kind]
    return Row(count, spurs, {part: ohms}, f"{kind} {part}", seed), _right(kind, part)


def _right(kind: str, part: str) -> frozenset[str]:
    """A leak is named by its place. At the feed, no reading tells the first capacitor from the regulator."""
    if kind == "leak":
        return frozenset({f"leak-{part.split('-')[1]}"})
    return frozenset({part, "regulator"} if part == "cap-1" else {part})


def tied_to(row: Row, tied: Map) -> Map:
    """Return the map of the tree's points onto `row`: their names are the same, and looks show nothing."""
    hanging = {f"off-{k}": ("nothing", "single", "several")[row.spurs.get(k, 0)] for k in range(1, len(WORDS) + 1)}
    return replace(
        tied,
        points={p: p for p in (*tied.points, *tied.not_here)},
        on={"inject-feed": "inject-feed", "inject-far": "inject-far"},
        looks={"look": {DEFAULT: "clean"}, "warm": {DEFAULT: "cold"}},
        history={"opened-before": "no", "row-count": WORDS[row.count - 1], **hanging},
    )
