"""Odds, the next check, plans and rehearsals: how fast, how near the best order, and against pyAgrum. Prints JSON.

    python -m tests.benchmarks.bench_odds [TABLES]

Tables are seeded, as `tests/tables.py` makes them. `exact` and `fast` run over TABLES (200) tables of 12 causes and 15
checks; `fast` is what `guide plan` uses where a table is too large to search to its end, over the exact optimum.
Times are of the processor, for nothing here waits; beside pyAgrum, which has threads of its own, by the clock. The
baseline of the odds is pyAgrum, a Bayesian-network library in C++: one naive network of the same table, the same soft
readings, the time of its inference alone. Its answers must agree to 1e-9, or the benchmark fails.
"""

from __future__ import annotations

import json
import random
import sys
import time
from statistics import mean, median, quantiles

import pyagrum

from guide.bulk.rehearse import rehearse
from guide.core.odds import route
from guide.core.odds.belief import Evidence, likelihood, posterior, prior
from guide.core.odds.costs import Bench
from guide.core.odds.planner import next_check
from guide.core.odds.problem import Problem
from guide.core.odds.route import Plan, plan
from guide.core.odds.search import Budget, Greedy
from guide.core.odds.table import table_of
from guide.core.tree import Tree
from tests.tables import random_tree
from tests.worlds import shipped_tree

TABLES = 200
AGREE = 1e-9
REHEARSED = ("power/dc-input-no-power", "ports/usb-c-sink-does-not-charge", "general/intermittent-fault")


def took(work, runs: int, clock=time.process_time) -> list[float]:
    """Return milliseconds of each run; the table is worked out before."""
    work()
    found = []
    for _ in range(runs):
        start = clock()
        work()
        found.append((clock() - start) * 1000)
    return found


def spread(ms: list[float]) -> dict[str, float]:
    return {"median": round(median(ms), 2), "p99": round(quantiles(ms, n=100)[98], 2)}


def readings(tree: Tree, count: int, seed: int = 1) -> list[Evidence]:
    """Soft readings, as a meter near an edge gives, of the first cause: enough to shift the odds, too few to settle."""
    draw, found = random.Random(seed), []
    for check in draw.sample(tree.asked(), count):
        row = likelihood(tree, check, "c0")
        shown = max(row, key=lambda band: row[band])
        rest = [b for b in row if b != shown]
        found.append(Evidence(check.id, {shown: 0.9} | dict.fromkeys(rest, 0.1 / len(rest))))
    return found


def choices(causes: int, checks: int, taken: int, runs: int) -> dict[str, dict[str, float]]:
    """Time the odds after `taken` answers and the choice of the next check; at the start all causes are likely."""
    tree = random_tree(1, causes, checks, bands=4, share=0.05, other=0.3)
    told = readings(tree, taken)
    gone = {e.check for e in told}
    left = [c for c in tree.asked() if c.id not in gone]
    after = posterior(tree, told)
    before = posterior(tree, ())
    return {
        "odds": spread(took(lambda: posterior(tree, told), runs)),
        "first choice": spread(took(lambda: next_check(tree, before, tree.asked(), Bench()), runs)),
        f"choice after {taken}": spread(took(lambda: next_check(tree, after, left, Bench()), runs)),
        "odds and choice": spread(took(lambda: next_check(tree, posterior(tree, told), left, Bench()), runs)),
    }


def against_pyagrum(causes: int, checks: int, taken: int, runs: int) -> dict[str, float]:
    tree = random_tree(1, causes, checks, bands=4, share=0.05, other=0.3)
    told = readings(tree, taken)
    names = list(tree.causes)
    net = pyagrum.BayesNet()
    net.add(pyagrum.LabelizedVariable("cause", "", names))
    net.cpt("cause").fillWith(list(prior(tree).values()))
    for check in tree.asked():
        net.add(pyagrum.LabelizedVariable(check.id, "", [b.name for b in check.bands]))
        net.addArc("cause", check.id)
        for i, cause in enumerate(names):
            net.cpt(check.id)[{"cause": i}] = list(likelihood(tree, check, cause).values())
    soft = {e.check: [e.weights[b.name] for b in tree.checks[e.check].bands] for e in told}

    def infer() -> list[float]:
        engine = pyagrum.LazyPropagation(net)
        engine.setTargets({"cause"})
        engine.setEvidence(soft)
        engine.makeInference()
        return engine.posterior("cause").tolist()

    theirs, ours = infer(), posterior(tree, told)
    apart = max(abs(ours[c] - p) for c, p in zip(names, theirs, strict=True))
    assert apart <= AGREE, f"our odds and pyAgrum's are {apart} apart"
    us, them = (median(took(one, runs, time.perf_counter)) for one in (lambda: posterior(tree, told), infer))
    return {"ours, ms": round(us, 3), "pyAgrum, ms": round(them, 3), "ours over pyAgrum": round(us / them, 4),
            "most apart": apart}  # fmt: skip


def plans(tables: int) -> dict[str, object]:
    """Return how long exact plans take, and what the ways for larger tables cost over them: the whole of `guide plan`
    with nothing but its fast way left, and bits a minute alone."""
    exact_s, fast_s, greedy, fast, bound = [], [], [], [], []
    unproved = 0
    for seed in range(tables):
        tree = random_tree(seed, 12, 15, bands=3, other=0.2, share=0.4, reliability=1.0)
        start = time.process_time()
        best = plan(tree)
        exact_s.append(time.process_time() - start)
        if not best.exact:
            unproved += 1
            continue
        start = time.process_time()
        quick = in_the_fast_way(tree)
        fast_s.append(time.process_time() - start)
        assert quick.lower_bound <= best.planned_minutes + AGREE, f"seed {seed}: the bound exceeds the optimum"
        fast.append(quick.planned_minutes / best.planned_minutes - 1)
        bound.append(quick.lower_bound / best.planned_minutes)
        problem = Problem(tree, table_of(tree), prior(tree), tree.asked(), tree.decide_at)
        at = (problem.start, problem.everything, problem.bench(Bench()))
        greedy.append(Greedy(problem, Budget()).value(*at) / best.planned_minutes - 1)
    over = {"fast": fast, "bits a minute": greedy}
    return {
        "tables": tables,
        "not exact": unproved,
        "exact, s": {"median": round(median(exact_s), 3), "most": round(max(exact_s), 3)},
        "fast, s": {"median": round(median(fast_s), 3), "most": round(max(fast_s), 3)},
        "over exact, %": {
            name: {"mean": round(100 * mean(shares), 2), "worst": round(100 * max(shares), 2)}
            for name, shares in over.items()
        },
        "bound of the fast way over exact": {"mean": round(mean(bound), 3), "least": round(min(bound), 3)},
    }


def in_the_fast_way(tree: Tree) -> Plan:
    """Plan as if the table were too large to be searched to its end."""
    whole, route.WHOLE_WORK = route.WHOLE_WORK, 0
    try:
        return plan(tree)
    finally:
        route.WHOLE_WORK = whole


def rehearsals(runs: int) -> dict[str, float]:
    found = {}
    for tree_id in REHEARSED:
        tree = shipped_tree(tree_id)[0]
        start = time.process_time()
        rehearse(tree, runs=runs)
        found[tree_id] = round(time.process_time() - start, 2)
    return found


def main() -> None:
    tables = int(sys.argv[1]) if len(sys.argv) > 1 else TABLES
    result = {
        "100 causes x 200 checks, ms": {**choices(100, 200, 10, 200), "limit": 5},
        "1000 causes x 300 checks, ms": {**choices(1000, 300, 10, 40), "limit": 50},
        "odds against pyAgrum, 100 x 200, 10 readings": against_pyagrum(100, 200, 10, 100),
        "plans, 12 causes x 15 checks": {**plans(tables), "limit, s": 2, "limit of the worst, %": 5},
        "100000 rehearsals, s": {**rehearsals(100_000), "limit": 10},
    }
    print(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
