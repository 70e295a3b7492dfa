"""Ways through a sorting problem: greedy, greedy improved by looking ahead, and exact by branch and bound."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf

from guide.core.odds.bound import Bound, Opened
from guide.core.odds.problem import LEAST_MINUTES, Left, Move, Problem, State

Key = tuple[State, Left, int]
_SLACK = 1e-12
_DIGITS = 10
WIDTH = 8  # checks priced at each step of a look ahead


class Spent(Exception):
    """The search used up the work it was given. Nothing is wrong: the caller falls back and says so."""


@dataclass(slots=True)
class Budget:
    """How much may still be looked at: classes times checks of every state opened. Counted, not timed, so that the
    same tree gives the same plan on any machine."""

    work: float = inf

    def spend(self, problem: Problem, state: State, left: Left) -> None:
        self.work -= (len(problem.parts(state)) + 4) * len(left)
        if self.work < 0:
            raise Spent


@dataclass(frozen=True, slots=True)
class Rare:
    """What is not looked into: places reached on less than `below` of the cases, priced at `pace` minutes for each bit
    still unknown there."""

    below: float = 0.0
    pace: float = 0.0


NOTHING_RARE = Rare()


def rounded(worth: float) -> float:
    """Return `worth` without the last digits, in which sums of the same numbers differ: what is worth the same is left
    in the tree's order, on every machine."""
    return round(worth, _DIGITS)


def rate(told: float, cost: float, opens: Iterable[tuple[float, float, float]]) -> float:
    """Return the bits a minute of a check, or of it with one that it opens: `opens` has (chance, bits, minutes)."""
    best = told / max(LEAST_MINUTES, cost)
    for q, more, then in opens:
        best = max(best, (told + q * more) / max(LEAST_MINUTES, cost + q * then))
    return rounded(best)


class Policy(ABC):
    """A way to choose; `value` is the expected minutes to a verdict when it is followed from a state on.

    `reach` is the share of the cases that come to the state; it only says how much of what follows is rare. A value is
    kept with the depth it was worked out to, and worked out again where it is asked for more closely.
    """

    def __init__(self, problem: Problem, budget: Budget, rare: Rare = NOTHING_RARE) -> None:
        self.problem = problem
        self.budget = budget
        self.rare = rare
        self._values: dict[Key, tuple[float, float]] = {}

    @abstractmethod
    def choose(self, moves: tuple[Move, ...], bench: int, reach: float = 1.0) -> Move:
        """Return the check to take."""

    def value(self, state: State, left: Left, bench: int, reach: float = 1.0) -> float:
        if self.problem.settled(state):
            return 0.0
        if reach < self.rare.below:
            return self.rare.pace * self.problem.unknown(state)
        key, depth = (state, left, bench), self.rare.below / reach
        known_to, found = self._values.get(key, (inf, 0.0))
        if known_to > depth:
            self.budget.spend(self.problem, state, left)
            move = self.taken(state, left, bench, reach)
            # The sum of `through` written out: one frame a level, so that three hundred checks in a row fit the stack.
            found = 0.0
            if move is not None:
                found, then = self.problem.price(move.check, bench)
                for band, q, kid in move.kids:
                    found += q * self.value(kid, move.left(band), then, reach * q)
            self._values[key] = depth, found
        return found

    def taken(self, state: State, left: Left, bench: int, reach: float) -> Move | None:
        """Return the check taken in `state`, None where none tells anything."""
        moves = self.problem.moves(state, left)
        return self.choose(moves, bench, reach) if moves else None

    def rate(self, move: Move, bench: int) -> float:
        price = self.problem.price
        opens = move.opening() if self.problem.gates.any else ()
        return rate(move.bits, price(move.check, bench)[0], ((q, told, price(j, bench)[0]) for q, j, told in opens))

    def through(self, move: Move, bench: int, reach: float = 1.0, limit: float = inf) -> float:
        """Return the minutes of taking `move` and following this policy afterwards; where they are more than `limit`,
        some number above it."""
        total, then = self.problem.price(move.check, bench)
        for band, q, state in move.kids:
            total += q * self.value(state, move.left(band), then, reach * q)
            if total > limit:
                break
        return total


class Greedy(Policy):
    """Most bits a minute now."""

    def choose(self, moves: tuple[Move, ...], bench: int, reach: float = 1.0) -> Move:
        return max(moves, key=lambda m: self.rate(m, bench))

    def taken(self, state: State, left: Left, bench: int, reach: float) -> Move | None:
        """Where nothing waits for anything, the bits alone decide, and a move is made of the check chosen only."""
        if self.problem.gates.any:
            return super().taken(state, left, bench, reach)
        told, price = self.problem.told(state, left), self.problem.price
        if not told:
            return None
        rates = [round(bits / price(j, bench)[0], _DIGITS) for j, bits in told]  # `rate`, where nothing is opened
        check, bits = told[rates.index(max(rates))]
        return Move(self.problem, state, check, bits, tuple([j for j, _ in told]))


class Lookahead(Policy):
    """One step of policy improvement: price every promising check by what `base` would do after it.

    Tu & Pattipati 2003 call this a rollout and report near-optimal test sequences. Where the base's own choice is
    among the promising, it is never dearer than its base. Where it is rare to come, the base chooses.
    """

    def __init__(self, base: Policy, *, width: int = WIDTH) -> None:
        super().__init__(base.problem, base.budget, base.rare)
        self.base = base
        self.width = width

    def choose(self, moves: tuple[Move, ...], bench: int, reach: float = 1.0) -> Move:
        if reach < self.rare.below:
            return self.base.choose(moves, bench, reach)
        promising = sorted(moves, key=lambda m: -self.rate(m, bench))[: self.width]
        chosen, least = promising[0], inf
        for move in promising:
            price = rounded(self.base.through(move, bench, reach, least))
            if price < least:
                chosen, least = move, price
        return chosen


class Exact:
    """Branch and bound over the AND/OR tree of checks and bands, with remembered states.

    `within(...)` returns the least expected minutes when it is below a limit; else the limit, which is then proved to
    be a lower bound. The bound is `bound.Bound`; the limit handed to each band is what the others leave of it.
    """

    def __init__(self, problem: Problem, budget: Budget) -> None:
        self.problem = problem
        self.budget = budget
        self._bound = Bound(problem)
        self._known: dict[Key, float] = {}
        self._below: dict[Key, float] = {}
        self._opened: dict[tuple[State, Left], Opened] = {}
        self.chosen: dict[Key, Move] = {}

    def open(self, state: State, left: Left) -> Opened:
        found = self._opened.get((state, left))
        if found is None:
            self.budget.spend(self.problem, state, left)
            found = self._opened[state, left] = self._bound.open(state, left)
        return found

    def bound(self, state: State, left: Left, bench: int) -> float:
        if self.problem.settled(state):
            return 0.0
        key = (state, left, bench)
        return self._known[key] if key in self._known else max(self._below.get(key, 0.0), self.open(state, left).least)

    def within(self, state: State, left: Left, bench: int, limit: float) -> float:
        if self.problem.settled(state):
            return 0.0
        key = (state, left, bench)
        if key in self._known:
            return self._known[key]
        if self._below.get(key, 0.0) >= limit:
            return limit
        opened = self.open(state, left)
        best, chosen = limit if opened.moves else 0.0, None
        for promise, move in self._promising(opened, bench):
            if promise >= best - _SLACK:
                break
            value = self._through(move, bench, best)
            if value < best - _SLACK:
                best, chosen = value, move
        if chosen is not None:
            self.chosen[key] = chosen
        if chosen is not None or not opened.moves:
            self._known[key] = best
        else:
            self._below[key] = limit
        return best

    def _promising(self, opened: Opened, bench: int) -> list[tuple[float, Move]]:
        """Return the moves with the least each can cost, cheapest first."""
        both = zip(opened.moves, opened.rest, strict=True)
        pairs = ((self.problem.price(m.check, bench)[0] + rest, m) for m, rest in both)
        return sorted(pairs, key=lambda pair: pair[0])

    def _through(self, move: Move, bench: int, limit: float) -> float:
        """Return the minutes of `move`, given up as soon as they are proved to reach `limit`."""
        cost, then = self.problem.price(move.check, bench)
        bounds = [q * self.bound(state, move.left(band), then) for band, q, state in move.kids]
        total = cost + sum(bounds)
        order: Callable[[int], float] = lambda k: -move.kids[k][1]  # noqa: E731
        for k in sorted(range(len(bounds)), key=order):
            if total >= limit - _SLACK:
                return total
            band, q, state = move.kids[k]
            total -= bounds[k]
            total += q * self.within(state, move.left(band), then, (limit - total) / q)
        return total
