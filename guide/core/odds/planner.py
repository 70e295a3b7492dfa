"""Which check to take next: most information for its minutes, with what the bench is set up for counted in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from heapq import nlargest
from math import inf, log2

from guide.core.durations import duration
from guide.core.odds.belief import Evidence, posterior
from guide.core.odds.costs import Bench, Prices
from guide.core.odds.gates import Gates
from guide.core.odds.problem import Problem
from guide.core.odds.search import Budget, Greedy, Spent, rate, rounded
from guide.core.odds.table import Rows, table_of, variation
from guide.core.tree import NONE, OTHER, Check, Tree

LEAST_BITS = 1e-4  # a check that promises less is not worth asking
CANDIDATES = 5  # checks priced to the verdict
HORIZON = 8  # checks that may follow
LIKELY_CAUSES = 12
COVERED = 0.8  # share of the odds the likely causes must hold for a price to mean anything
_UNNAMED = {NONE: "nothing is wrong", OTHER: "something else is wrong"}
MOST_OPENED = 3  # checks behind one that are looked at
WORK = 1_000  # classes times checks looked at, some 1 ms


@dataclass(frozen=True, slots=True)
class Choice:
    """The check to take next and the best of those passed over. `bits` is what it is expected to tell; where that is
    nothing by itself, `opens` names the check that makes sense behind it."""

    check: str
    bits: float
    minutes: float
    runner_up: str | None = None
    runner_up_bits: float = 0.0
    runner_up_minutes: float = 0.0
    opens: str = ""


def information(rows: Rows, beliefs: Mapping[str, float]) -> float:
    """Return the expected information of a check about the cause, in bits: H(band) - sum P(cause) H(band | cause).

    Causes with one row count as one, so the work hardly grows with their number.
    """
    return _told(rows, _Chances(beliefs).__getitem__)


class _Chances(dict[str, float]):
    """P(cause); what is not in it has none."""

    def __missing__(self, cause: str) -> float:
        return 0.0


def _told(rows: Rows, chance: Callable[[str], float]) -> float:
    """Return `information`. An answer asks it of every check left, hence loops with nothing called in them,
    and `zip` without its keyword, which would cost half as much again."""
    shares, rest, expected = [], 1.0, 0.0
    for causes, spread in zip(rows.shared_by, rows.spreads):  # noqa: B905
        share = sum(map(chance, causes))
        shares.append(share)
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


def next_check(
    tree: Tree,
    beliefs: Mapping[str, float],
    left: Iterable[Check],
    bench: Bench,
    *,
    reliability: Mapping[str, float] | None = None,
) -> Choice | None:
    """Return the check to take next, None where none tells anything; ties go to the tree's order.

    All checks are ranked by bits a minute. The first few are then priced to the verdict: their minutes, and what
    would follow if the best bits a minute were taken each time, over the likely causes. The cheapest is chosen and
    the runner-up is the second. Where too many causes are still likely, bits a minute decide alone.
    """
    table = table_of(tree, reliability=reliability)
    ranked = _ranked(tree, table, beliefs, left, bench, HORIZON)
    return _choice(_priced(tree, table, beliefs, ranked, bench))


def most_bits_a_minute(
    tree: Tree,
    beliefs: Mapping[str, float],
    left: Iterable[Check],
    bench: Bench,
    *,
    reliability: Mapping[str, float] | None = None,
) -> Choice | None:
    """Return the choice of `next_check` without its look ahead: some percent dearer in minutes, ten times faster."""
    return _choice(_ranked(tree, table_of(tree, reliability=reliability), beliefs, left, bench, 2))


_Opened = tuple[Check, tuple[float, float, float]]  # a check, and its chance, bits and minutes


@dataclass(frozen=True, slots=True)
class _Ranked:
    """A check that may be taken now; `opens` has those that wait for it alone."""

    check: Check
    bits: float
    minutes: float
    opens: tuple[_Opened, ...] = ()


def _choice(ranked: list[_Ranked]) -> Choice | None:
    if not ranked:
        return None
    best = ranked[0]
    opens = best.opens[0][0].id if best.bits < LEAST_BITS and best.opens else ""
    if len(ranked) == 1:
        return Choice(best.check.id, best.bits, best.minutes, opens=opens)
    second = ranked[1]
    return Choice(best.check.id, best.bits, best.minutes, second.check.id, second.bits, second.minutes, opens)


def _ranked(
    tree: Tree, table: Mapping[str, Rows], beliefs: Mapping[str, float], left: Iterable[Check], bench: Bench, most: int
) -> list[_Ranked]:
    """Return the checks that tell anything, most bits a minute first, `most` of them.

    Where a cause already reaches `decide_at` only its grounds are lacking, so checks with a source go alone.
    """
    chance, price = _Chances(beliefs).__getitem__, Prices(tree, bench)
    asked = [c for c in left if c.twin is None]
    told = [_told(table[c.id], chance) for c in asked]
    gates = Gates(asked)
    useful = tuple([j for j, found in enumerate(told) if found >= LEAST_BITS])
    if gates.any:
        useful = gates.with_gates(useful, range(len(asked)))
    telling = gates.open(useful) if gates.any else useful
    if tree.settles(max(beliefs.values())):
        telling = tuple([j for j in telling if tree.grounded(asked[j])]) or telling
    opened: dict[int, tuple[_Opened, ...]] = {}
    for j in telling if gates.any else ():
        if waiting := list(gates.opened(j, useful)):
            shown = _shown(table[asked[j].id], beliefs)
            chances = [(sum(shown.get(b, 0.0) for b in bands), k) for k, bands in waiting]
            found = [(asked[k], (q, told[k], price(asked[k]))) for q, k in chances]
            opened[j] = tuple(nlargest(MOST_OPENED, found, key=lambda one: rounded(one[1][0] * one[1][1])))
    costs = [price(asked[j]) for j in telling]
    ways = {j: tuple([way for _, way in found]) for j, found in opened.items()}
    rates = [rate(told[j], cost, ways.get(j, ())) for j, cost in zip(telling, costs, strict=True)]
    best = nlargest(most, range(len(rates)), key=rates.__getitem__)  # the first of equals first, as in a stable sort
    return [_Ranked(asked[telling[i]], told[telling[i]], costs[i], opened.get(telling[i], ())) for i in best]


def _shown(rows: Rows, beliefs: Mapping[str, float]) -> Mapping[str, float]:
    """Return the chance of each band of a check."""
    pairs = [(p, rows.of(cause)) for cause, p in beliefs.items()]
    return {band: sum([p * row[b] for p, row in pairs]) for b, band in enumerate(rows.bands)}


def _priced(
    tree: Tree, table: Mapping[str, Rows], beliefs: Mapping[str, float], ranked: list[_Ranked], bench: Bench
) -> list[_Ranked]:
    """Return the first `CANDIDATES` of `ranked`, cheapest to the verdict first; as they are where that is unclear."""
    first = ranked[:CANDIDATES]
    likely = dict(sorted(beliefs.items(), key=lambda pair: -pair[1])[:LIKELY_CAUSES])
    covered = sum(likely.values())
    if covered < COVERED or len(first) < 2:
        return first
    enough = min(0.999, tree.decide_at / covered)
    follow = [r.check for r in ranked]
    behind = {c.id: c for r in ranked for c, _ in r.opens}
    problem = Problem(tree, table, likely, [*follow, *behind.values()], enough)
    if problem.settled(problem.start):
        return first
    budget = Budget(WORK)
    greedy, now = Greedy(problem, budget), problem.bench(bench)
    moves = problem.moves(problem.start, problem.everything)
    price = [inf] * len(first)
    with suppress(Spent):  # what is not priced by then comes after what is
        for move in moves:
            if move.check < CANDIDATES:
                second = sorted(price)[1]  # what costs more is neither chosen nor the runner-up
                price[move.check] = rounded(greedy.through(move, now, limit=second))
    order = sorted(range(len(first)), key=price.__getitem__)
    return [first[j] for j in order]


def what_if(
    tree: Tree,
    evidence: Iterable[Evidence],
    check: str,
    band: str,
    *,
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> Mapping[str, float]:
    """Return the odds if `check` came back as `band`; an earlier reading of it gives way."""
    supposed = Evidence(check, {band: 1.0})
    return posterior(tree, (*evidence, supposed), priors=priors, reliability=reliability)


def why(
    tree: Tree, beliefs: Mapping[str, float], choice: Choice, *, reliability: Mapping[str, float] | None = None
) -> str:
    """Return what the check tells apart, how much it tells, at what cost, against the runner-up: in the tree's own
    words, to be said aloud."""
    if choice.opens:
        return f"{_asked(tree, choice.check)} It says whether this makes sense: {_asked(tree, choice.opens)}"
    rows = table_of(tree, reliability=reliability)[choice.check]
    pair = _pair(rows, beliefs)
    what = f"tells whether {_cause(tree, pair[0])}, or {_cause(tree, pair[1])}" if pair else "narrows the causes"
    said = f"{_asked(tree, choice.check)} It {what}: {_worth(choice.bits, choice.minutes)}."
    if choice.runner_up is None:
        return f"{said} No other check tells more."
    other = _worth(choice.runner_up_bits, choice.runner_up_minutes)
    return f"{said} Next best, {other}: {_asked(tree, choice.runner_up)}"


def _pair(rows: Rows, beliefs: Mapping[str, float]) -> tuple[str, str] | None:
    """Return the two likely causes this check does most to tell apart, the likelier first."""
    likely = sorted(beliefs, key=lambda c: -beliefs[c])[:12]
    pairs = [
        (beliefs[a] * beliefs[b] * variation(rows.of(a), rows.of(b)), a, b)
        for i, a in enumerate(likely)
        for b in likely[i + 1 :]
    ]
    best = max(pairs, key=lambda pair: pair[0], default=(0.0, "", ""))
    return (best[1], best[2]) if best[0] > 0 else None


def _asked(tree: Tree, check: str) -> str:
    """Return what the tree asks, ended as a sentence."""
    ask = tree.checks[check].ask.strip()
    return ask if ask.endswith((".", "?", "!")) else f"{ask}."


def _cause(tree: Tree, cause: str) -> str:
    """Return the tree's first sentence for `cause` as part of another; a first word that is a letter or the name of a
    part stays as it is."""
    if cause in _UNNAMED:
        return _UNNAMED[cause]
    say = tree.causes[cause].say.partition(". ")[0].rstrip(". ")
    return say[0].lower() + say[1:] if say[1:2].islower() else say


def _worth(told: float, minutes: float) -> str:
    return f"{told:.2f} bits for {duration(minutes)}"
