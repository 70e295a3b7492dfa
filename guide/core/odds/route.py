"""What a tree costs to follow: the authored order, the planned one, and a bound no order can beat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from guide.core.odds.belief import prior
from guide.core.odds.costs import Bench
from guide.core.odds.problem import Left, Move, Problem, State
from guide.core.odds.search import Budget, Exact, Greedy, Lookahead, Policy, Spent, without
from guide.core.odds.table import table_of
from guide.core.tree import OTHER, PLAN, STOP, Tree

# Work (classes times checks) the parts of a plan may use; a million take one to five seconds.
LOOK_WORK = 1e6
EXACT_WORK = 1e6
RUNG_WORK = 2e5
_RUNGS = (0.25, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98)  # shares of the planned minutes tried as lower bounds
_TIE = 1e-9
_At = tuple[State, Left, int]
_CLEAR = 0.95  # share of the cases that must agree before a route leads on by name
_SELDOM = 1e-6  # branches less likely than this get no route of their own


@dataclass(frozen=True, slots=True)
class End:
    """Where the asking stops: the causes in the likeliest class, and how likely it is."""

    causes: tuple[str, ...]
    p: float
    settled: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One check of an order: its minutes there, and (band, chance, what follows). Totals are expected values."""

    check: str
    minutes: float
    onward: tuple[tuple[str, float, Step | End], ...]
    total_minutes: float
    total_checks: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Prices are expected minutes and checks to a verdict, surprises left out (see `problem`).

    `authored_*` are None where the tree has no route. `exact` tells that no order is cheaper than the planned one;
    otherwise `lower_bound` is what is proved.
    """

    tree: str
    authored_minutes: float | None
    authored_checks: float | None
    planned_minutes: float
    planned_checks: float
    lower_bound: float
    exact: bool
    order: Step | End

    def routes(self) -> Mapping[str, Mapping[str, str]]:
        """Return check -> band -> target of the planned order, for `then`; `plan` where one name cannot say it."""
        return _routes(self.order)

    def as_tree_yaml(self) -> str:
        """Return the order as the `start` and `then` lines of a tree file."""
        if isinstance(self.order, End):
            return ""
        lines = [f"start: {self.order.check}", "checks:"]
        for check, then in self.routes().items():
            inside = ", ".join(f"{band}: {target}" for band, target in then.items())
            lines += [f"  {check}:", f"    then: {{{inside}}}"]
        return "\n".join(lines) + "\n"


def plan(
    tree: Tree, *, priors: Mapping[str, float] | None = None, reliability: Mapping[str, float] | None = None
) -> Plan:
    """Return the prices of `tree` from a bench in no known state. Exact for small trees, near it for large ones."""
    table = table_of(tree, reliability=reliability)
    problem = Problem(tree, table, prior(tree, priors=priors), tree.asked(), tree.decide_at)
    bench = problem.bench(Bench())
    at: _At = (problem.start, problem.everything, bench)
    search = Exact(problem, Budget(EXACT_WORK))
    policy = _improved(Greedy(problem, Budget()), at)
    limit = policy.value(*at) * (1 + _TIE)
    try:
        lower, exact = search.within(*at, limit), True
    except Spent:
        policy = _improved(policy, at)
        lower, exact = _proved(search, at, policy.value(*at))
    order = _Choosing(policy, search.chosen if exact else {})
    grown = _Grower(problem, order).grow(*at, _Lead())
    minutes, checks = _totals(grown)
    authored: tuple[float | None, float | None] = (None, None)
    if tree.start in tree.checks or tree.start in tree.sweeps:
        grower = _Grower(problem, _Choosing(policy, {}))
        authored = _totals(grower.grow(*at, grower.led(tree.start)))
    return Plan(tree.id, *authored, minutes, checks, min(lower, minutes), exact, grown)


def _improved(policy: Policy, at: _At) -> Policy:
    """Return a look ahead upon `policy` if it can be priced within its work and is no dearer; else `policy`."""
    found = policy.value(*at)
    policy.budget.work = LOOK_WORK
    better = Lookahead(policy)
    try:
        value = better.value(*at)
    except Spent:
        value = inf
    policy.budget.work = inf
    return better if value <= found else policy


def _proved(search: Exact, at: _At, planned: float) -> tuple[float, bool]:
    """Return the highest of some lower bounds that little work proves, and whether the optimum turned up."""
    lower = 0.0
    search.budget.work = RUNG_WORK
    try:
        for rung in _RUNGS:
            found = search.within(*at, planned * rung)
            if found < planned * rung:
                return found, True
            lower = found
    except Spent:
        pass
    return lower, False


@dataclass(frozen=True, slots=True)
class _Choosing:
    """A policy, with the choices an exact search made put before it."""

    policy: Policy
    chosen: Mapping[tuple[State, Left, int], Move]

    def choose(self, state: State, left: Left, bench: int, moves: tuple[Move, ...]) -> Move:
        return self.chosen.get((state, left, bench)) or self.policy.choose(moves, bench)


@dataclass(frozen=True, slots=True)
class _Lead:
    """Where the author leads next: the check, or the checks left of a sweep, which is walked whole."""

    check: str = ""
    sweep: tuple[str, ...] = ()


class _Grower:
    """Writes out the order that a way of choosing leads to; an authored route is followed while it lasts."""

    def __init__(self, problem: Problem, choosing: _Choosing) -> None:
        self.problem = problem
        self.choosing = choosing
        self._numbers = {check.id: j for j, check in enumerate(problem.checks)}
        self._grown: dict[tuple[State, Left, int, _Lead], Step | End] = {}

    def led(self, target: str, sweep: tuple[str, ...] = ()) -> _Lead:
        """Return the lead after an answer that goes to `target`, `sweep` being what is left of one."""
        sweeps = self.problem.tree.sweeps
        return _Lead("", sweeps[target].checks) if target in sweeps else _Lead(target, sweep)

    def grow(self, state: State, left: Left, bench: int, lead: _Lead) -> Step | End:
        waiting = tuple(c for c in lead.sweep if self._numbers.get(c) in left)
        lead = _Lead("" if waiting else lead.check, waiting)
        if not waiting and self.problem.settled(state):
            return self._end(state, settled=True)
        key = (state, left, bench, lead)
        if key not in self._grown:
            self._grown[key] = self._step(state, left, bench, lead) or self._end(state, settled=False)
        return self._grown[key]

    def _step(self, state: State, left: Left, bench: int, lead: _Lead) -> Step | None:
        named = self._numbers.get(lead.sweep[0] if lead.sweep else lead.check)
        if named is not None and named in left:
            rest = tuple(j for j in left if j != named)
            return self._follow(self.problem.move(state, named), rest, bench, lead)
        moves = self.problem.moves(state, left)
        if not moves:
            return None
        move = self.choosing.choose(state, left, bench, moves)
        return self._follow(move, without(moves, move.check), bench, None)

    def _follow(self, move: Move, rest: Left, bench: int, lead: _Lead | None) -> Step:
        cost, then = self.problem.price(move.check, bench)
        check = self.problem.checks[move.check]
        onward = []
        for band, q, state in move.kids:
            after = self.led(check.then.get(band, ""), lead.sweep[1:]) if lead else _Lead()
            onward.append((band, q, self.grow(state, rest, then, after)))
        totals = [(q, _totals(node)) for _, q, node in onward]
        minutes = cost + sum(q * t[0] for q, t in totals)
        return Step(check.id, cost, tuple(onward), minutes, 1 + sum(q * t[1] for q, t in totals))

    def _end(self, state: State, *, settled: bool) -> End:
        top, p = max(self.problem.parts(state), key=lambda pair: pair[1])
        return End(self.problem.classes[top], p, settled)


def _totals(node: Step | End) -> tuple[float, float]:
    return (node.total_minutes, node.total_checks) if isinstance(node, Step) else (0.0, 0.0)


def _routes(order: Step | End) -> Mapping[str, Mapping[str, str]]:
    """Merge the places where a check stands: a tree file has one `then` for each check and no way back."""
    masses: dict[tuple[str, str], dict[str, float]] = {}
    _weigh(order, 1.0, masses)
    led: dict[str, dict[str, str]] = {}
    for check, band in sorted(masses, key=lambda place: -sum(masses[place].values())):
        targets = masses[check, band]
        best = max(targets, key=lambda t: targets[t])
        clear = targets[best] >= _CLEAR * sum(targets.values())
        loops = _leads(led, best, check)
        led.setdefault(check, {})[band] = best if clear and not loops else PLAN
    return led


def _weigh(node: Step | End, chance: float, masses: dict[tuple[str, str], dict[str, float]]) -> None:
    if isinstance(node, End):
        return
    for band, q, kid in node.onward:
        if chance * q >= _SELDOM:
            targets = masses.setdefault((node.check, band), {})
            targets[_target(kid)] = targets.get(_target(kid), 0.0) + chance * q
            _weigh(kid, chance * q, masses)


def _target(node: Step | End) -> str:
    if isinstance(node, Step):
        return node.check
    one = len(node.causes) == 1 and node.settled and node.causes[0] != OTHER
    return node.causes[0] if one else STOP


def _leads(led: Mapping[str, Mapping[str, str]], start: str, goal: str) -> bool:
    """Tell whether following routes from `start` can come to `goal`."""
    seen, waiting = set(), [start]
    while waiting:
        here = waiting.pop()
        if here == goal:
            return True
        if here not in seen:
            seen.add(here)
            waiting.extend(led.get(here, {}).values())
    return False
