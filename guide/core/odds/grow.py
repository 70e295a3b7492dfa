"""Writing an order out: which check follows which answer, and what that costs in all."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Protocol

from guide.core.odds.problem import Left, Move, Problem, State
from guide.core.odds.search import Key


class Choosing(Protocol):
    """What takes the next check, in a place that is reached on a share `reach` of the cases."""

    def choose(self, key: Key, moves: tuple[Move, ...], reach: float) -> Move: ...


@dataclass(frozen=True, slots=True)
class End:
    """Where the asking stops: the causes in the likeliest class, and how likely it is."""

    causes: tuple[str, ...]
    p: float
    settled: bool


@dataclass(frozen=True, slots=True)
class Rest:
    """A branch too rare to be written out, with the price of one course through it drawn by its own chances."""

    minutes: float
    checks: int


@dataclass(frozen=True, slots=True)
class Step:
    """One check of an order: its minutes there, and (band, chance, what follows). Totals are expected values."""

    check: str
    minutes: float
    onward: tuple[tuple[str, float, Step | End | Rest], ...]
    total_minutes: float
    total_checks: float


def totals(node: Step | End | Rest) -> tuple[float, float]:
    """Return the expected minutes and checks from `node` on."""
    match node:
        case Step():
            return node.total_minutes, node.total_checks
        case Rest():
            return node.minutes, node.checks
        case End():
            return 0.0, 0.0


def sampled(node: Step | End | Rest) -> float:
    """Return the share of the cases that leave `node` by a branch that is not written out."""
    if isinstance(node, Step):
        return sum(q * sampled(kid) for _, q, kid in node.onward)
    return float(isinstance(node, Rest))


@dataclass(frozen=True, slots=True)
class _Lead:
    """Where the author leads next: the check, or the checks left of a sweep, which is walked whole."""

    check: str = ""
    sweep: tuple[str, ...] = ()


_NO_LEAD = _Lead()


@dataclass(frozen=True, slots=True)
class _Taken:
    """The check that is taken in some place: its move, and the author's lead it came by."""

    move: Move
    lead: _Lead | None


_At = tuple[State, Left, int, _Lead]


class Grower:
    """Writes out the order that a way of choosing leads to; an authored route is followed while it lasts.

    A place reached on less than `below` of the cases is not written out. One course is drawn through it instead: by
    many such draws the total is right on average, while no single one says much.
    """

    def __init__(self, problem: Problem, choosing: Choosing, below: float = 0.0) -> None:
        self.problem = problem
        self.choosing = choosing
        self.below = below
        self._numbers = {check.id: j for j, check in enumerate(problem.checks)}
        self._grown: dict[_At, tuple[float, Step | End]] = {}
        self._lots = _Lots()
        self._spent = self._learned = 0.0

    @property
    def pace(self) -> float:
        """Minutes for each bit that was unknown where a course was drawn."""
        return self._spent / self._learned if self._learned > 0 else 0.0

    def led(self, target: str, sweep: tuple[str, ...] = ()) -> _Lead:
        """Return the lead after an answer that goes to `target`, `sweep` being what is left of one."""
        sweeps = self.problem.tree.sweeps
        return _Lead("", sweeps[target].checks) if target in sweeps else _Lead(target, sweep)

    def grow(
        self, state: State, left: Left, bench: int, lead: _Lead = _NO_LEAD, reach: float = 1.0
    ) -> Step | End | Rest:
        """Return what follows from here on."""
        if reach < self.below:
            return self._drawn(state, left, bench, lead, reach)
        lead = self._still(lead, left)
        key, depth = (state, left, bench, lead), self.below / reach
        known_to, found = self._grown.get(key, (inf, None))
        if found is None or known_to > depth:
            taken = self._taken(state, left, bench, lead, reach)
            found = self._step(taken, bench, reach) if taken else self._end(state)
            self._grown[key] = depth, found
        return found

    def _still(self, lead: _Lead, left: Left) -> _Lead:
        """Return what is left of `lead`; the checks of a sweep come before anything else."""
        waiting = tuple(c for c in lead.sweep if self._numbers.get(c) in left)
        return _Lead("" if waiting else lead.check, waiting)

    def _taken(self, state: State, left: Left, bench: int, lead: _Lead, reach: float) -> _Taken | None:
        """Return the check that is taken here; None where the asking ends."""
        if not lead.sweep and self.problem.settled(state):
            return None
        named = self._numbers.get(lead.sweep[0] if lead.sweep else lead.check)
        # A sweep is walked whole; a check the author leads to waits for those it comes after.
        if named is not None and named in left and (lead.sweep or not self.problem.gates.waits(named, left)):
            return _Taken(self.problem.move(state, named, left), lead)
        moves = self.problem.moves(state, left)
        if not moves:
            return None
        return _Taken(self.choosing.choose((state, left, bench), moves, reach), None)

    def _after(self, taken: _Taken, band: str) -> _Lead:
        if taken.lead is None:
            return _NO_LEAD
        return self.led(self.problem.checks[taken.move.check].led(band), taken.lead.sweep[1:])

    def _step(self, taken: _Taken, bench: int, reach: float) -> Step:
        move = taken.move
        cost, then = self.problem.price(move.check, bench)
        onward = tuple(
            (band, q, self.grow(state, move.left(band), then, self._after(taken, band), reach * q))
            for band, q, state in move.kids
        )
        prices = [(q, totals(node)) for _, q, node in onward]
        minutes = cost + sum(q * t[0] for q, t in prices)
        return Step(self.problem.checks[move.check].id, cost, onward, minutes, 1 + sum(q * t[1] for q, t in prices))

    def _drawn(self, state: State, left: Left, bench: int, lead: _Lead, reach: float) -> Rest:
        """Return the price of one course from here to its end, each answer drawn by its chance."""
        minutes, checks = 0.0, 0
        self._learned += reach * self.problem.unknown(state)
        while (taken := self._taken(state, left, bench, lead := self._still(lead, left), reach)) is not None:
            cost, bench = self.problem.price(taken.move.check, bench)
            band, state = self._lots.draw(taken.move)
            left, lead = taken.move.left(band), self._after(taken, band)
            minutes, checks = minutes + cost, checks + 1
        self._spent += reach * minutes
        return Rest(minutes, checks)

    def _end(self, state: State) -> End:
        top, p = max(self.problem.parts(state), key=lambda pair: pair[1])
        return End(self.problem.classes[top], p, self.problem.settled(state))


class _Lots:
    """Numbers that look drawn and are the same on every machine: a linear congruential generator with the constants
    Knuth gives for MMIX (The Art of Computer Programming 2, 3.3.4; from memory)."""

    def __init__(self) -> None:
        self._state = 0

    def draw(self, move: Move) -> tuple[str, State]:
        """Return a band of `move` and the state behind it, by the bands' chances."""
        self._state = (6364136223846793005 * self._state + 1442695040888963407) % 2**64
        lot = self._state / 2**64 * sum([q for _, q, _ in move.kids])
        for band, q, state in move.kids[:-1]:
            lot -= q
            if lot < 0:
                return band, state
        return move.kids[-1][0], move.kids[-1][2]
