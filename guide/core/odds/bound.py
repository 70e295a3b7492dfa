"""Lower bounds on the minutes to a verdict: what must still be learned, and how cheaply it could be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import e, log2

from guide.core.odds.problem import LEAST_MINUTES, Left, Move, Parts, Problem, State
from guide.core.odds.table import Row, bits
from guide.core.tree import OTHER

Offer = tuple[float, float, int]  # least minutes a bit, bits, check


@dataclass(frozen=True, slots=True)
class Opened:
    """A state with its moves; `rest` is the least that must follow each, `least` the least from here on."""

    moves: tuple[Move, ...]
    rest: tuple[float, ...]
    least: float


@dataclass(frozen=True, slots=True)
class RunOut:
    """What running out of checks can spare and what it costs: it happens on at most `share` of the cases, leaves at
    most `bits` unknown in each, and each has then cost at least `minutes`."""

    share: float
    bits: float
    minutes: float


_NEVER_OUT = RunOut(0.0, 0.0, 0.0)


class Bound:
    """The bounds of one problem.

    They are those of the causes that have a name: `other`, flat everywhere, may turn up beside any of them, so the
    minutes spent on it are left out and the rest weighed by their share. Conditional on a named cause, a verdict's
    top class still holds at least `enough`.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        # A check behind another may be shut out, so it parts no two classes for sure.
        free = [j for j in problem.everything if j not in problem.gates.behind]
        rows = [tuple([row[j] for j in free]) for row in problem.rows]
        everyone = range(len(rows))
        self._free = frozenset(free)
        meet = [frozenset(k for k in everyone if k != i and _may_meet(rows[i], rows[k])) for i in everyone]
        flat = (i for i in everyone if OTHER in problem.classes[i] and len(meet[i]) == len(rows) - 1 > 0)
        self._everywhere = frozenset(flat)
        self._meet = tuple(m - self._everywhere for m in meet)
        self._apart: dict[tuple[int, int], tuple[tuple[int, float], ...]] = {}
        self._told: dict[tuple[State, Left], tuple[tuple[Move, ...], list[Offer], RunOut]] = {}
        self._needs: dict[State, float] = {}

    def open(self, state: State, left: Left) -> Opened:
        """Return the moves of `state` and the bounds through them."""
        moves = self.problem.moves(state, left)
        named, share = self._named(state)
        telling, offers, out = self._telling(named, moves[0].useful if moves else ())
        spared = self._flat_wins(named, share)
        needs = {m.check: sum([q * self.need(kid) for _, q, kid in m.kids]) - spared for m in telling}
        now = self.need(named) - spared
        rest = []
        for m in moves:
            sooner = RunOut(out.share, out.bits, max(0.0, out.minutes - self._minutes(m.check)))
            rest.append(share * self.least(needs.get(m.check, now), offers, out=sooner, without=m.check))
        cheapest = min((self._minutes(m.check) + r for m, r in zip(moves, rest, strict=True)), default=0.0)
        return Opened(moves, tuple(rest), max(cheapest, share * self.least(now, offers, out=out)) if moves else 0.0)

    def _telling(self, named: State, left: Left) -> tuple[tuple[Move, ...], list[Offer], RunOut]:
        """Return moves, offers and run-out among the named causes; states that differ in flat mass alone share
        them."""
        key = (named, left)
        found = self._told.get(key)
        if found is None:
            moves = self.problem.telling(named, left)
            found = self._told[key] = moves, self.offers(named, moves), self._run_out(named, left)
        return found

    def _named(self, state: State) -> tuple[State, float]:
        """Return the state given that the cause is a named one, and the chance of that; 0 where none is."""
        parts = self.problem.parts(state)
        named = [(i, p) for i, p in parts if i not in self._everywhere]
        share = sum([p for _, p in named])
        if not named or len(named) == len(parts):
            return state, float(bool(named))
        return self.problem.state(named, share), share

    def _minutes(self, check: int) -> float:
        return max(LEAST_MINUTES, self.problem.checks[check].minutes)

    def need(self, named: State) -> float:
        """Return bits that any way to a verdict on a named cause must bring on average about the named causes: what is
        unknown, less the most that may remain."""
        found = self._needs.get(named)
        if found is None:
            found = self._needs[named] = self._lacking(self.problem.parts(named))
        return found

    def _flat_wins(self, named: State, share: float) -> float:
        """Return the bits that may remain unknown about the named causes because a flat class wins: at most
        (1 - enough)/enough of its mass is named then. On average over bands it is no more than before them, for the
        mass of the flat classes is shared out among these."""
        flat = 1 / share - 1 if share > 0 else 0.0
        odds = (1 - self.problem.enough) / self.problem.enough
        return min(1.0, odds * flat) * log2(len(self.problem.parts(named)))

    def _lacking(self, named: Parts) -> float:
        """Where a named class wins it holds at least `enough`, so tops leave at most log2(1/enough). The others, of
        mass r <= 1 - enough, leave at most r log2(k/r) over the k classes that can be outnumbered so: the small ones
        and those whose bands are split."""
        enough = self.problem.enough
        top = max([p for _, p in named])
        minor = [p for i, p in named if p <= top * (1 - enough) / enough or i in self.problem.split]
        rest = min(1 - enough, sum(minor), len(minor) / e)  # beyond k/e the term falls again
        remains = log2(1 / enough) + (rest * log2(len(minor) / rest) if rest > 0 else 0.0)
        return max(0.0, bits([p for _, p in named]) - remains)

    def _run_out(self, named: State, left: Left) -> RunOut:
        """Checks run out only among classes that no check surely parts, and only once every check that differs
        between two of those still possible, and comes after no other, has been taken."""
        alive = dict(self.problem.parts(named))
        mixed = [i for i in alive if not self._meet[i].isdisjoint(alive)]
        if not mixed:
            return _NEVER_OUT
        waiting = self._free.intersection(left)
        pairs = [(i, k) for i in mixed for k in self._meet[i] if i < k and k in alive]
        spent = [sum([m for j, m in self._differing(pair) if j in waiting]) for pair in pairs]
        return RunOut(sum([alive[i] for i in mixed]), log2(len(mixed)), min(spent))

    def _differing(self, pair: tuple[int, int]) -> tuple[tuple[int, float], ...]:
        """Return the checks in which two classes differ, with their minutes."""
        found = self._apart.get(pair)
        if found is None:
            both = zip(self.problem.rows[pair[0]], self.problem.rows[pair[1]], strict=True)
            found = self._apart[pair] = tuple((j, self._minutes(j)) for j, (a, b) in enumerate(both) if a != b)
        return found

    def offers(self, state: State, moves: Iterable[Move]) -> list[Offer]:
        """Return what each move can bring and at what price, cheapest bits first, for `least`: two offers a check.

        Let a check be taken on a share y of the cases. What it tells in all is concave in the mass it is taken on and
        its slope by class is KL(row || mean row) at y = 1, so it is at most `bits` - (1 - y) times the least of
        these, and at most y times the logarithm of its bands. Its minutes are y times its own.
        """
        found = []
        for move in moves:
            minutes = self._minutes(move.check)
            steep, flat = log2(len(move.kids)), self._slope(state, move)
            turn = (move.bits - flat) / (steep - flat) if steep > flat else 1.0
            found.append((minutes / steep, turn * steep, move.check))
            if flat > 0 and turn < 1:
                found.append((minutes / flat, (1 - turn) * flat, move.check))
        return sorted(found)

    def _slope(self, state: State, move: Move) -> float:
        """Return the least divergence, in bits, of a class's row from the mean row of `move`."""
        log_of = {band: log2(q) for band, q, _ in move.kids}
        logs = [log_of.get(band, 0.0) for band in self.problem.bands[move.check]]
        alive = [self.problem.shown[move.check][i] for i, _ in self.problem.parts(state)]
        return max(0.0, min([-spread - sum([p * logs[b] for b, p in cells]) for cells, spread in alive]))

    @staticmethod
    def least(need: float, offers: Iterable[Offer], *, out: RunOut = _NEVER_OUT, without: int = -1) -> float:
        """Return a lower bound on the minutes that bring `need` bits.

        Given the cause checks are independent, so what a check tells later is on average no more than what it tells
        now. What remains is a fractional knapsack over `offers`. Let checks run out on a share x of the cases: then
        x times its bits need not be brought, but x times its minutes are spent. The bound is the least, over x, of
        the greater of both costs; the first falls and the second rises with x, so it is where they meet.
        """
        total = 0.0
        for rate, told, check in offers:
            if check == without:
                continue
            slope = out.minutes + rate * out.bits
            x = min(out.share, max(0.0, total + rate * need) / slope) if slope > 0 else out.share
            short = need - x * out.bits
            if short <= told:
                return total + rate * max(0.0, short)
            total += rate * told
            need -= told
        return total


def _may_meet(a: tuple[Row, ...], b: tuple[Row, ...]) -> bool:
    """Tell whether two classes can give the same band in every check, so that they may end side by side."""
    return all(any(x > 0 and y > 0 for x, y in zip(p, q, strict=True)) for p, q in zip(a, b, strict=True))
