"""Lower bounds on the minutes to a verdict: what must still be learned, and how cheaply it could be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import e, log2

from guide.core.odds.problem import LEAST_MINUTES, Left, Move, Parts, Problem, State
from guide.core.odds.table import Row, bits

Offer = tuple[float, float, int]  # least minutes a bit, bits, check


@dataclass(frozen=True, slots=True)
class Opened:
    """A state with its moves; `rest` is the least that must follow each, `least` the least from here on."""

    moves: tuple[Move, ...]
    rest: tuple[float, ...]
    least: float


class Bound:
    """The bounds of one problem.

    They are those of the causes that have a name: `other`, flat everywhere, may turn up beside any of them, so the
    minutes spent on it are left out and the rest weighed by their share. Conditional on a named cause, a verdict's
    top class still holds at least `enough`.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        rows, everyone = problem.rows, range(len(problem.rows))
        meet = [frozenset(k for k in everyone if k != i and _may_meet(rows[i], rows[k])) for i in everyone]
        self._everywhere = frozenset(i for i in everyone if len(meet[i]) == len(rows) - 1 > 0)
        self._meet = tuple(m - self._everywhere for m in meet)
        self._told: dict[tuple[State, Left], tuple[tuple[Move, ...], list[Offer]]] = {}
        self._needs: dict[tuple[State, float], float] = {}

    def open(self, state: State, left: Left) -> Opened:
        """Return the moves of `state` and the bounds through them."""
        moves = self.problem.moves(state, left)
        named, share = self._named(state)
        telling, offers = self._telling(named, tuple([m.check for m in moves]))
        flat = 1 / share - 1 if share > 0 else 0.0
        needs = {m.check: sum([q * self.need(kid, flat) for _, q, kid in m.kids]) for m in telling}
        now = self.need(named, flat)
        rest = [share * self.least(needs.get(m.check, now), offers, without=m.check) for m in moves]
        cheapest = min((self._minutes(m.check) + r for m, r in zip(moves, rest, strict=True)), default=0.0)
        return Opened(moves, tuple(rest), max(cheapest, share * self.least(now, offers)) if moves else 0.0)

    def _telling(self, named: State, left: Left) -> tuple[tuple[Move, ...], list[Offer]]:
        """Return moves and offers among the named causes; states that differ in flat mass alone share them."""
        key = (named, left)
        found = self._told.get(key)
        if found is None:
            moves = self.problem.moves(named, left)
            found = self._told[key] = moves, self.offers(named, moves)
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

    def need(self, named: State, flat: float) -> float:
        """Return bits that any way to a verdict must bring on average about the named causes: what is unknown, less
        the most that may remain. `flat` is the mass of flat causes for each unit of named ones."""
        key = (named, flat)
        found = self._needs.get(key)
        if found is None:
            found = self._needs[key] = self._lacking(self.problem.parts(named), flat)
        return found

    def _lacking(self, named: Parts, flat: float) -> float:
        """Where a named class wins it holds at least `enough`, so tops leave at most log2(1/enough). The others, of
        mass r <= 1 - enough, leave at most r log2(k/r) over the k classes that can be outnumbered so: the small ones
        and those whose bands are split. Where a flat class wins, at most (1 - enough)/enough of its mass is named."""
        enough = self.problem.enough
        top = max([p for _, p in named])
        odds = (1 - enough) / enough
        minor = [p for i, p in named if p <= top * odds or i in self.problem.split]
        rest = min(1 - enough, sum(minor), len(minor) / e)  # beyond k/e the term falls again
        remains = log2(1 / enough) + (rest * log2(len(minor) / rest) if rest > 0 else 0.0)
        remains += min(1.0, odds * flat) * log2(len(named)) + self._run_out(named)
        return max(0.0, bits([p for _, p in named]) - remains)

    def _run_out(self, named: Parts) -> float:
        """Checks run out only among classes that no check surely parts, which leaves at most log2 of their number."""
        alive = {i for i, _ in named}
        mixed = [p for i, p in named if not self._meet[i].isdisjoint(alive)]
        return sum(mixed) * log2(len(mixed)) if mixed else 0.0

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
        columns = dict(self.problem.columns[move.check])
        logs = [(columns[band], log2(q)) for band, q, _ in move.kids]
        spread = self.problem.spreads[move.check]
        alive = [i for i, _ in self.problem.parts(state)]
        return max(0.0, min([-spread[i] - sum([column[i] * log for column, log in logs]) for i in alive]))

    @staticmethod
    def least(need: float, offers: Iterable[Offer], *, without: int = -1) -> float:
        """Return a lower bound on the minutes that bring `need` bits.

        Given the cause checks are independent, so what a check tells later is on average no more than what it tells
        now. What remains is a fractional knapsack over `offers`.
        """
        total = 0.0
        for rate, told, check in offers:
            if check == without:
                continue
            if told >= need:
                return total + rate * need
            total += rate * told
            need -= told
        return total


def _may_meet(a: tuple[Row, ...], b: tuple[Row, ...]) -> bool:
    """Tell whether two classes can give the same band in every check, so that they may end side by side."""
    return all(any(x > 0 and y > 0 for x, y in zip(p, q, strict=True)) for p, q in zip(a, b, strict=True))
