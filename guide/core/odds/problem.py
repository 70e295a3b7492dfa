"""The sorting problem behind a plan: causes to tell apart, checks that do it, and what they cost.

A plan assumes that checks answer as the table says: cells below `SURPRISE` are left out and each row made to sum to
1. Surprises are for the bench, where the odds take them as they come; in a plan they would grow every branch twofold
for a price that changes by a few percent. Causes with equal rows are one class: no check tells them apart.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import log2

from guide.core.odds.costs import Bench, after, minutes
from guide.core.odds.gates import Gates
from guide.core.odds.table import Row, Rows, bits
from guide.core.tree import LAST_DIGITS, Check, Tree

SURPRISE = 0.03  # the usual reliability of 0.98 leaves 0.02 to be shared by the unexpected bands
LEAST_BITS = 1e-9
LEAST_MINUTES = 0.1  # a free check is still an answer to give
_NEVER = 1e-12  # a band this unlikely is not followed
_DIGITS = 10  # states that agree to this many digits are one state

Parts = tuple[tuple[int, float], ...]  # classes still possible with their probabilities, which sum to 1
_Masses = list[tuple[int, float]]
State = int  # the number of a state; the same parts reached by another way have the same number
Left = tuple[int, ...]  # checks not yet taken


@lru_cache(maxsize=4096)  # a tree has few rows that differ, and every answer asks for those of some checks anew
def unsurprising(row: Row) -> Row:
    """Return the row without cells below `SURPRISE`, summing to 1; as it is where nothing would remain."""
    total = sum(p for p in row if p >= SURPRISE)
    return tuple(p / total if p >= SURPRISE else 0.0 for p in row) if total > 0 else row


class Move:
    """Taking check number `check` in some state: what it is expected to tell, and where each band leads. `useful` are
    the checks worth anything in that state, this one among them.

    The states behind it are worked out when first asked for: most moves are only weighed and passed over.
    """

    __slots__ = ("_kids", "_problem", "_rest", "_state", "bits", "check", "useful")

    def __init__(self, problem: Problem, state: State, check: int, told: float, useful: Left) -> None:
        self.check = check
        self.bits = told
        self.useful = useful
        self._problem = problem
        self._state = state
        self._kids: tuple[tuple[str, float, State], ...] | None = None
        self._rest: Left | None = None

    @property
    def kids(self) -> tuple[tuple[str, float, State], ...]:
        """(band, chance, state) of each band that can be shown."""
        if self._kids is None:
            self._kids = self._problem.behind(self._state, self.check)
        return self._kids

    def left(self, band: str) -> Left:
        """Return the useful checks without this one and without those that make no sense behind `band`."""
        if self._rest is None:
            self._rest = tuple([j for j in self.useful if j != self.check])
        shut = self._problem.gates.shut(self.check, band)
        return tuple([j for j in self._rest if j not in shut]) if shut else self._rest

    def opening(self) -> Iterator[tuple[float, int, float]]:
        """Yield (chance, check, bits) of each check that waits for this one alone and tells something itself."""
        for j, bands in self._problem.gates.opened(self.check, self.useful):
            told = self._problem.move(self._state, j, self.useful).bits
            yield sum([q for band, q, _ in self.kids if band in bands]), j, told


_Cells = tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class _Telling:
    """One check as it is weighed: the cells that are not empty, (band, chance), and the entropy of each row that is
    not the usual one, by class, and of the usual one."""

    bands: int
    rows: tuple[tuple[int, _Cells, float], ...]
    usual: _Cells
    spread: float


@lru_cache(maxsize=4096)
def _shown(row: Row) -> tuple[_Cells, float]:
    """Return the cells of `row` that are not empty, and its entropy in bits."""
    return tuple([(b, p) for b, p in enumerate(row) if p > 0]), bits(row)


class Problem:
    """Classes, checks and prices. Numbers stand for both; benches are numbered as they are met."""

    def __init__(
        self,
        tree: Tree,
        table: Mapping[str, Rows],
        beliefs: Mapping[str, float],
        checks: Sequence[Check],
        enough: float,
    ) -> None:
        self.tree = tree
        self.checks = tuple(checks)
        self.enough = enough * (1 - LAST_DIGITS)
        self.gates = Gates(self.checks)
        alive = [cause for cause, p in beliefs.items() if p > 0]
        plain = [{c: unsurprising(r) for c, r in table[k.id].named.items()} for k in self.checks]
        usual = [unsurprising(table[k.id].default) for k in self.checks]
        classes: dict[tuple[Row, ...], list[str]] = {}
        for cause in alive:
            key = tuple(rows.get(cause, usual[j]) for j, rows in enumerate(plain))
            classes.setdefault(key, []).append(cause)
        self.classes = tuple(tuple(group) for group in classes.values())
        self.rows = tuple(classes)
        self.bands = tuple([table[k.id].bands for k in self.checks])
        self.shown = tuple([tuple([_shown(row[j]) for row in self.rows]) for j in range(len(usual))])
        self._telling = tuple([self._weighed(j, row) for j, row in enumerate(usual)])
        self._parts: list[Parts] = []
        self._settled: list[bool] = []
        self._states: dict[bytes, State] = {}
        self._lone: dict[int, State] = {}  # by the one class left, which is how half of all ways end
        total = sum(beliefs[cause] for cause in alive)
        self.start = self.state([(i, sum(beliefs[c] for c in g)) for i, g in enumerate(self.classes)], total)
        self._benches: list[Bench] = []
        self._bench_ids: dict[Bench, int] = {}
        self._prices: dict[tuple[int, int], tuple[float, int]] = {}

    @cached_property
    def split(self) -> frozenset[int]:
        """The classes that some check does not show the same band of every time."""
        return frozenset(i for i in range(len(self.rows)) if any(shown[i][1] > 0 for shown in self.shown))

    @property
    def everything(self) -> Left:
        return tuple(range(len(self.checks)))

    def bench(self, bench: Bench) -> int:
        """Return the number of `bench`."""
        number = self._bench_ids.setdefault(bench, len(self._benches))
        if number == len(self._benches):
            self._benches.append(bench)
        return number

    def price(self, check: int, bench: int) -> tuple[float, int]:
        """Return the minutes of `check` and the bench it leaves."""
        found = self._prices.get((check, bench))
        if found is None:
            now, asked = self._benches[bench], self.checks[check]
            cost = max(LEAST_MINUTES, minutes(self.tree, asked, now))
            found = self._prices[check, bench] = cost, self.bench(after(self.tree, asked, now))
        return found

    def state(self, masses: _Masses, total: float) -> State:
        """Return the number of the state with these classes, their masses taken as shares of `total`."""
        if len(masses) > 1:
            never = _NEVER * total
            return self._numbered(tuple([(i, p / total) for i, p in masses if p > never]))
        (alone, _), = masses
        found = self._lone.get(alone)
        if found is None:
            found = self._lone[alone] = self._numbered(((alone, 1.0),))
        return found

    def _numbered(self, parts: Parts) -> State:
        numbers = [i + round(p, _DIGITS) / 2 for i, p in parts]  # at most i + 1/2, so no two classes meet
        key = array("d", numbers).tobytes()
        found = self._states.get(key)
        if found is None:
            found = self._states[key] = len(self._parts)
            self._parts.append(parts)
            self._settled.append(max([p for _, p in parts]) >= self.enough)
        return found

    def parts(self, state: State) -> Parts:
        return self._parts[state]

    def unknown(self, state: State) -> float:
        """Return what is still unknown about the class, in bits."""
        return bits([p for _, p in self._parts[state]])

    def settled(self, state: State) -> bool:
        return self._settled[state]

    def _weighed(self, check: int, usual: Row) -> _Telling:
        apart = [(i, *self.shown[check][i]) for i, rows in enumerate(self.rows) if rows[check] != usual]
        return _Telling(len(usual), tuple(apart), *_shown(usual))

    def moves(self, state: State, left: Left) -> tuple[Move, ...]:
        """Return the checks in `left` that may be taken in `state` and tell anything, or open one that does; what tells
        nothing now never will."""
        moves = self.telling(state, left)
        if not self.gates.any:
            return moves
        told = {m.check: m.bits for m in moves}
        useful = self.gates.with_gates(tuple(told), left)
        return tuple([Move(self, state, j, told.get(j, 0.0), useful) for j in self.gates.open(useful)])

    def telling(self, state: State, left: Left) -> tuple[Move, ...]:
        """Return the checks in `left` that tell anything in `state`, whether they may be taken yet or not."""
        told = self.told(state, left)
        useful = tuple([j for j, _ in told])
        return tuple([Move(self, state, j, found, useful) for j, found in told])

    def told(self, state: State, left: Left) -> list[tuple[int, float]]:
        """Return the checks in `left` that tell anything in `state`, each with its bits."""
        alive = dict(self._parts[state])
        return [(j, found) for j in left if (found := self._told(alive, j)) > LEAST_BITS]

    def move(self, state: State, check: int, left: Left) -> Move:
        """Return what taking `check` in `state` tells and where it leads, with `left` still to be asked."""
        return Move(self, state, check, self._told(dict(self._parts[state]), check), left)

    def _told(self, alive: Mapping[int, float], check: int) -> float:
        """Return what `check` is expected to tell, in bits: the classes it says nothing of are weighed together."""
        telling = self._telling[check]
        shown, rest, expected = [0.0] * telling.bands, 1.0, 0.0
        for i, cells, spread in telling.rows:
            if i not in alive:
                continue
            p = alive[i]
            rest -= p
            expected += p * spread
            for b, chance in cells:
                shown[b] += p * chance
        if rest == 1.0:
            return 0.0  # it names nothing that is still possible
        if rest > _NEVER:
            expected += rest * telling.spread
            for b, chance in telling.usual:
                shown[b] += rest * chance
        return -sum([q * log2(q) for q in shown if q > _NEVER]) - expected

    def behind(self, state: State, check: int) -> tuple[tuple[str, float, State], ...]:
        """Return (band, chance, state) of each band that `check` can show in `state`."""
        names, rows = self.bands[check], self.shown[check]
        masses: list[_Masses] = [[] for _ in names]
        for i, p in self._parts[state]:
            for b, chance in rows[i][0]:
                masses[b].append((i, p * chance))
        found = []
        for name, shown in zip(names, masses):  # noqa: B905 - as in `planner`
            q = sum([p for _, p in shown])
            if q > _NEVER:
                found.append((name, q, self.state(shown, q)))
        return tuple(found)
