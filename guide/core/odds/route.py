"""What a tree costs to follow: the authored order, the planned one, and a bound no order can beat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

from guide.core.odds.belief import prior
from guide.core.odds.costs import Bench
from guide.core.odds.grow import End, Grower, Rest, Step, sampled, totals
from guide.core.odds.problem import Move, Problem
from guide.core.odds.rising import Rising
from guide.core.odds.search import Budget, Exact, Greedy, Key, Lookahead, Policy, Rare, Spent
from guide.core.odds.table import table_of
from guide.core.tree import OTHER, PLAN, STOP, Tree

# Work (classes times checks) the parts of a plan may use; a million take one second of choosing, ten of proving.
WHOLE_WORK = 2e5
EXACT_WORK = 2e5
BOUND_WORK = 3e5
LOOK_WORK = 6.5e6
# Of a large problem, places reached on a small share of the cases are not looked into when checks are chosen, and are
# priced by a sample when the order is written out. Longer and closer looks are taken where the work is left for them.
_LOOKS = ((1, 3e-3, 0.0), (2, 3e-3, 8.0), (1, 1e-3, 2.5))  # steps ahead, what is rare, work over that of the first
SELDOM_WRITTEN = 3e-4
_TIE = 1e-9
_CLEAR = 0.95  # share of the cases that must agree before a route leads on by name
_SELDOM = 1e-6  # branches less likely than this get no route of their own


@dataclass(frozen=True, slots=True)
class Plan:
    """Prices are expected minutes and checks to a verdict, surprises left out (see `problem`).

    `authored_*` are None where the tree has no route. `exact` tells that no order is cheaper than the planned one;
    otherwise `lower_bound` is what is proved. `sampled` is the share of the cases whose end is priced by a sample.
    """

    tree: str
    authored_minutes: float | None
    authored_checks: float | None
    planned_minutes: float
    planned_checks: float
    lower_bound: float
    exact: bool
    sampled: float
    order: Step | End | Rest

    def routes(self) -> Mapping[str, Mapping[str, str]]:
        """Return check -> band -> target of the planned order, for `then`; `plan` where one name cannot say it."""
        return _routes(self.order)

    def as_tree_yaml(self) -> str:
        """Return the order as the `start` and `then` lines of a tree file."""
        if not isinstance(self.order, Step):
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
    at = (problem.start, problem.everything, problem.bench(Bench()))
    found = _small(problem, at) or _large(problem, at)
    authored: Step | End | Rest | None = None
    if tree.start in tree.checks or tree.start in tree.sweeps:
        grower = Grower(problem, ExactFirst(found.policy), found.below)
        authored = grower.grow(*at, grower.led(tree.start))
    order = found.order
    if authored is not None and totals(authored) < totals(order):
        order = authored  # the author knew better than the planner
    minutes, checks = totals(order)
    lower = min(found.lower, minutes)
    price: tuple[float, float] | tuple[None, None] = (None, None) if authored is None else totals(authored)
    return Plan(tree.id, price[0], price[1], minutes, checks, lower, found.exact, sampled(order), order)


@dataclass(frozen=True, slots=True)
class _Found:
    """What a way of planning came to: the policy, the order it leads to, the bound, and what was not written out."""

    policy: Policy
    order: Step | End | Rest
    lower: float
    exact: bool
    below: float


def _small(problem: Problem, at: Key) -> _Found | None:
    """Return the best order of a problem that can be searched to its end; None where it is too large for that."""
    policy: Policy = Greedy(problem, Budget(WHOLE_WORK))
    search = Exact(problem, Budget(EXACT_WORK))
    try:
        policy.value(*at)
        policy = Lookahead(policy)
        lower = search.within(*at, policy.value(*at) * (1 + _TIE))
    except Spent:
        return None
    policy.budget.work = inf
    return _Found(policy, Grower(problem, ExactFirst(policy, search.chosen)).grow(*at), lower, True, 0.0)


def _large(problem: Problem, at: Key) -> _Found:
    """Return the cheapest of the orders by bits a minute and by looking ahead, and the bound some work proves."""
    policy: Policy = Greedy(problem, Budget())
    grower = Grower(problem, ExactFirst(policy), SELDOM_WRITTEN)
    order = grower.grow(*at)
    budget, first = Budget(LOOK_WORK), 0.0
    try:
        for steps, below, more in _LOOKS:
            if budget.work < more * first:
                continue
            ahead: Policy = Greedy(problem, budget, Rare(below, grower.pace))
            for _ in range(steps):
                ahead = Lookahead(ahead)
            other = Grower(problem, ExactFirst(ahead), SELDOM_WRITTEN).grow(*at)
            if totals(other) < totals(order):
                policy, order = ahead, other
            first = first or LOOK_WORK - budget.work
    except Spent:
        pass
    budget.work = inf
    lower, _ = Rising(Exact(problem, Budget(BOUND_WORK))).least(at)
    return _Found(policy, order, lower, False, SELDOM_WRITTEN)


@dataclass(frozen=True, slots=True)
class ExactFirst:
    """A policy, with the choices an exact search made put before it."""

    policy: Policy
    chosen: Mapping[Key, Move] = field(default_factory=dict)

    def choose(self, key: Key, moves: tuple[Move, ...], reach: float) -> Move:
        return self.chosen.get(key) or self.policy.choose(moves, key[2], reach)


def _routes(order: Step | End | Rest) -> Mapping[str, Mapping[str, str]]:
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


def _weigh(node: Step | End | Rest, chance: float, masses: dict[tuple[str, str], dict[str, float]]) -> None:
    if not isinstance(node, Step):
        return
    for band, q, kid in node.onward:
        if chance * q >= _SELDOM:
            targets = masses.setdefault((node.check, band), {})
            targets[_target(kid)] = targets.get(_target(kid), 0.0) + chance * q
            _weigh(kid, chance * q, masses)


def _target(node: Step | End | Rest) -> str:
    if isinstance(node, Step):
        return node.check
    if isinstance(node, Rest):
        return PLAN
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
