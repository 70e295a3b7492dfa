"""Lower bounds on the minutes to a verdict: what must still be learned, and how cheaply it could be."""

from __future__ import annotations

from collections.abc import Iterable
from math import log2

from guide.core.problem import LEAST_MINUTES, Move, Problem, State
from guide.core.table import Row, bits

Offer = tuple[float, float, int]  # least minutes a bit, bits, check


class Bound:
    """The bounds of one problem; what a state needs is remembered."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        rows, everyone = problem.rows, range(len(problem.rows))
        meet = [frozenset(k for k in everyone if k != i and _may_meet(rows[i], rows[k])) for i in everyone]
        # `other` is flat, so it may end beside any class; such classes are counted apart from the rest.
        self._everywhere = frozenset(i for i in everyone if len(meet[i]) == len(rows) - 1 > 0)
        self._meet = tuple(m - self._everywhere for m in meet)
        self._needs: dict[State, float] = {}

    def need(self, state: State) -> float:
        """Return a number of bits that any way to a verdict must bring on average: what is unknown now, less the
        most that may remain where a verdict is given and the most that may remain where the checks run out."""
        found = self._needs.get(state)
        if found is None:
            found = self._needs[state] = 0.0 if self.problem.settled(state) else self._lacking(state)
        return found

    def _lacking(self, state: State) -> float:
        """In a verdict the top class holds at least `enough`, so tops leave at most log2(1/enough). The others, of
        mass e <= 1 - enough, leave at most e log2(k/e) over the k classes that can be outnumbered so: the small ones
        and those whose bands are split."""
        top = max(p for _, p in state)
        small = top * (1 - self.problem.enough) / self.problem.enough
        minor = [p for i, p in state if p <= small or i in self.problem.split]
        rest = min(1 - self.problem.enough, sum(minor))
        remains = log2(1 / self.problem.enough) + (rest * log2(len(minor) / rest) if rest > 0 else 0.0)
        return max(0.0, bits(p for _, p in state) - remains - self._run_out(state))

    def _run_out(self, state: State) -> float:
        """Checks run out only among classes that no check surely parts. Beside a flat class of mass f, less than
        `enough` for the rest leaves at most w h(f/w), w = f / (1 - enough); among others at most log2 of their number.
        """
        alive = {i for i, _ in state}
        flat = sum(p for i, p in state if i in self._everywhere)
        mixed = [p for i, p in state if i not in self._everywhere and not self._meet[i].isdisjoint(alive)]
        weight = min(1.0, flat / (1 - self.problem.enough)) if self.problem.enough < 1 else float(flat > 0)
        share = flat / weight if weight > 0 else 0.0
        beside = weight * (1.0 if share > 0.5 else bits((share, 1 - share)))
        many = len(mixed) + len(self._everywhere & alive)
        return beside + (sum(mixed) + flat) * log2(many) if mixed else beside

    def offers(self, moves: Iterable[Move]) -> list[Offer]:
        """Return (least minutes a bit, bits, check) of each move, cheapest bits first, for `least`."""
        checks, capacity = self.problem.checks, self.problem.capacity
        return sorted(
            (max(LEAST_MINUTES, checks[m.check].minutes) / capacity[m.check], m.bits, m.check) for m in moves
        )

    @staticmethod
    def least(need: float, offers: Iterable[Offer], *, without: int = -1) -> float:
        """Return a lower bound on the minutes that bring `need` bits.

        Given the cause checks are independent, so what a check tells later is on average no more than what it tells
        now, and never more than the logarithm of its bands: a fractional knapsack, cheapest bits first.
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
