"""Checks by what each tells a minute.

Every answer asks this of every check left, so the work goes to those that may be among the best: a bound that costs
next to nothing says which, and only they are weighed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from heapq import heapify, heappush, heapreplace, nlargest
from itertools import accumulate
from math import log2
from operator import mul

from guide.core.odds.costs import Bench, Prices
from guide.core.odds.gates import Gates
from guide.core.odds.problem import LEAST_MINUTES
from guide.core.odds.search import rate, rounded
from guide.core.odds.table import Row, Rows, SameTree, table_of
from guide.core.tree import Check, Tree

LEAST_BITS = 1e-4  # a check that promises less is not worth asking
MOST_OPENED = 3  # checks behind one that are looked at
_NO_LIMIT = 1e4  # bits; infinity times no chance would be no number
_ROUNDING = 1e-9  # what sums of the same numbers in another order may differ by, and rates are rounded by


def information(rows: Rows, beliefs: Mapping[str, float]) -> float:
    """Return the expected information of a check about the cause, in bits: H(band) - sum P(cause) H(band | cause).

    Causes with one row count as one, so the work hardly grows with their number.
    """
    return _told(rows, [sum(beliefs.get(c, 0.0) for c in causes) for causes in rows.shared_by])


def _told(rows: Rows, shares: Sequence[float]) -> float:
    """Return `information`, with the share of the odds of each group of causes that have one row. Loops with nothing
    called in them, and `zip` without its keyword, which would cost half as much again."""
    rest, expected = 1.0, 0.0
    for share, spread in zip(shares, rows.spreads):  # noqa: B905
        rest -= share
        expected += share * spread
    rest = max(0.0, rest)
    told = -expected - rest * rows.spread
    for usual, cells in rows.columns:
        q = rest * usual
        for share, cell in zip(shares, cells):  # noqa: B905
            q += share * cell
        if q > 0:
            told -= q * log2(q)
    return max(0.0, told)


_Opened = tuple[Check, tuple[float, float, float]]  # a check, and its chance, bits and minutes


@dataclass(frozen=True, slots=True)
class Ranked:
    """A check that may be taken now; `opens` has those that wait for it alone."""

    check: Check
    bits: float
    minutes: float
    opens: tuple[_Opened, ...] = ()


def ranked(
    tree: Tree, beliefs: Mapping[str, float], left: Iterable[Check], bench: Bench, most: int,
    reliability: Mapping[str, float] | None,
) -> list[Ranked]:  # fmt: skip
    """Return the checks that tell anything, most bits a minute first, `most` of them, the first of equals first.

    Where a cause already reaches `decide_at` only its grounds are lacking, so checks with a source go alone.
    """
    weighing = _Weighing(tree, beliefs, [c for c in left if c.twin is None], Prices(tree, bench), reliability)
    hopes, gated = weighing.hopes(), weighing.gated()
    if tree.settles(max(beliefs.values())):
        with_source = (hope for hope in hopes if tree.grounded(weighing.asked[-hope[1]]))
        found = _best(weighing, with_source, [one for one in gated if tree.grounded(one[2].check)], most)
        if found:
            return found
    return _best(weighing, hopes, gated, most)


_Entry = tuple[float, int, Ranked]  # bits a minute, -place, and the check; no two have one place


class _Weighing:
    """The checks left, what each is expected to tell, and the most that it may."""

    def __init__(
        self, tree: Tree, beliefs: Mapping[str, float], asked: Sequence[Check], price: Prices,
        reliability: Mapping[str, float] | None,
    ) -> None:  # fmt: skip
        self.beliefs, self.asked, self.price = beliefs, asked, price
        self.table = table_of(tree, reliability=reliability)
        self._groups = groups_of(tree, reliability=reliability)
        self._shares = self._groups.shares(beliefs)
        self._gates = Gates(asked)

    def told(self, place: int) -> float:
        check = self.asked[place].id
        first, end, _ = self._groups.of[check]
        return _told(self.table[check], self._shares[first:end])

    def hopes(self) -> list[tuple[float, int]]:
        """Return (bits a minute at most, -place) of the checks that may tell anything and neither wait nor are waited
        for, most hopeful first."""
        told = [0.0, *accumulate(map(mul, self._shares, self._groups.apart))]
        of = self._groups.of
        places = enumerate([of[check.id] for check in self.asked])
        found = [
            (bits * swift, -place)
            for place, (first, end, swift) in places
            if (bits := told[end] - told[first]) >= LEAST_BITS
        ]
        if self._gates.any:
            gated = self._gates.both_sides
            found = [hope for hope in found if -hope[1] not in gated]
        found.sort(reverse=True)
        return found

    def gated(self) -> list[_Entry]:
        """Return the checks that may be taken now among those that wait or are waited for: one may be worth its while
        for what it opens alone."""
        asked, price, gates = self.asked, self.price, self._gates
        told = {j: self.told(j) for j in gates.both_sides}
        useful = gates.with_gates([j for j, bits in told.items() if bits >= LEAST_BITS], tuple(told))
        found: list[_Entry] = []
        for j in gates.open(useful):
            waiting, cost = list(gates.opened(j, useful)), price(asked[j])
            shown = _shown(self.table[asked[j].id], self.beliefs) if waiting else {}
            chances = [(sum(shown.get(b, 0.0) for b in bands), k) for k, bands in waiting]
            ways = [(asked[k], (q, told[k], price(asked[k]))) for q, k in chances]
            opens = tuple(nlargest(MOST_OPENED, ways, key=lambda one: rounded(one[1][0] * one[1][1])))
            found.append((rate(told[j], cost, (way for _, way in opens)), -j, Ranked(asked[j], told[j], cost, opens)))
        return found


def _best(
    weighing: _Weighing, hopes: Iterable[tuple[float, int]], known: Iterable[_Entry], most: int
) -> list[Ranked]:
    """Return the `most` checks with most bits a minute, of those `known` and those hoped of; what cannot be among them
    is not weighed."""
    best = nlargest(most, known)
    heapify(best)
    for hope, place in hopes:
        if len(best) == most and hope < best[0][0] - _ROUNDING:
            break
        told, check = weighing.told(-place), weighing.asked[-place]
        if told < LEAST_BITS:
            continue
        cost = weighing.price(check)
        worth = rate(told, cost, ())
        if len(best) < most:
            heappush(best, (worth, place, Ranked(check, told, cost)))
        elif (worth, place) > best[0][:2]:
            heapreplace(best, (worth, place, Ranked(check, told, cost)))
    return [one for _, _, one in sorted(best, reverse=True)]


@dataclass(frozen=True, slots=True)
class Groups:
    """The causes that have one row in a check, for all checks of a tree, by number. `of` has the first group of
    each check and the one after its last, in the order of its rows, and how often it could be taken in a minute with
    the bench set up for it; `holding` the groups that a cause is in.

    `apart` is D(row of the group || usual row) in bits. Information is the least of all sums over causes of P(cause)
    times the divergence of its row from one and the same (the compensation identity, Topsoe 1967, from memory), so no
    check tells more than its groups' shares times this; what it says nothing of adds nothing.
    """

    of: Mapping[str, tuple[int, int, float]]
    holding: Mapping[str, tuple[int, ...]]
    apart: tuple[float, ...]

    def shares(self, beliefs: Mapping[str, float]) -> list[float]:
        """Return the odds of each group together."""
        shares, holding = [0.0] * len(self.apart), self.holding
        for cause, p in beliefs.items():
            for group in holding.get(cause, ()):
                shares[group] += p
        return shares


def groups_of(tree: Tree, *, reliability: Mapping[str, float] | None = None) -> Groups:
    """Return the groups of `tree`, worked out once."""
    return _groups(SameTree(tree), tuple(sorted(reliability.items())) if reliability else ())


@lru_cache(maxsize=16)
def _groups(key: SameTree, reliability: tuple[tuple[str, float], ...]) -> Groups:
    of: dict[str, tuple[int, int, float]] = {}
    holding: dict[str, list[int]] = {}
    apart: list[float] = []
    for check, rows in table_of(key.tree, reliability=dict(reliability)).items():
        swift = 1 / max(LEAST_MINUTES, key.tree.checks[check].minutes)
        of[check] = len(apart), len(apart) + len(rows.shared_by), swift
        for group, causes in enumerate(rows.shared_by, len(apart)):
            for cause in causes:
                holding.setdefault(cause, []).append(group)
            apart.append(_divergence(rows.of(causes[0]), rows.default))
    return Groups(of, {cause: tuple(groups) for cause, groups in holding.items()}, tuple(apart))


@lru_cache(maxsize=4096)
def _divergence(row: Row, usual: Row) -> float:
    """Return D(row || usual) in bits (Kullback and Leibler 1951), `_NO_LIMIT` where the usual row has no chance of what
    `row` shows."""
    pairs = [(p, q) for p, q in zip(row, usual, strict=True) if p > 0]
    return sum(p * log2(p / q) for p, q in pairs) if all(q > 0 for _, q in pairs) else _NO_LIMIT


def _shown(rows: Rows, beliefs: Mapping[str, float]) -> Mapping[str, float]:
    """Return the chance of each band of a check."""
    pairs = [(p, rows.of(cause)) for cause, p in beliefs.items()]
    return {band: sum([p * row[b] for p, row in pairs]) for b, band in enumerate(rows.bands)}
