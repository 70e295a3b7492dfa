"""Which check to take next: most information for its minutes, with what the bench is set up for counted in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from math import inf

from guide.core.durations import duration
from guide.core.odds.belief import Evidence, posterior
from guide.core.odds.costs import Bench
from guide.core.odds.problem import Problem
from guide.core.odds.ranking import LEAST_BITS, Ranked, ranked
from guide.core.odds.search import Budget, Greedy, Spent, rounded
from guide.core.odds.table import Rows, table_of, variation
from guide.core.tree import NONE, OTHER, Check, Tree

CANDIDATES = 5  # checks priced to the verdict
HORIZON = 8  # checks that may follow
LIKELY_CAUSES = 12
COVERED = 0.8  # share of the odds the likely causes must hold for a price to mean anything
_UNNAMED = {NONE: "nothing is wrong", OTHER: "something else is wrong"}
_ARTICLE = re.compile(r"A (?!is\b|and\b|or\b|to\b)[a-z]")
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
    best = ranked(tree, beliefs, left, bench, HORIZON, reliability)
    return _choice(_priced(tree, table_of(tree, reliability=reliability), beliefs, best, bench))


def most_bits_a_minute(
    tree: Tree,
    beliefs: Mapping[str, float],
    left: Iterable[Check],
    bench: Bench,
    *,
    reliability: Mapping[str, float] | None = None,
) -> Choice | None:
    """Return the choice of `next_check` without its look ahead: some percent dearer in minutes, ten times faster."""
    return _choice(ranked(tree, beliefs, left, bench, 2, reliability))


def _choice(found: list[Ranked]) -> Choice | None:
    if not found:
        return None
    best = found[0]
    opens = best.opens[0][0].id if best.bits < LEAST_BITS and best.opens else ""
    if len(found) == 1:
        return Choice(best.check.id, best.bits, best.minutes, opens=opens)
    second = found[1]
    return Choice(best.check.id, best.bits, best.minutes, second.check.id, second.bits, second.minutes, opens)


def _priced(
    tree: Tree, table: Mapping[str, Rows], beliefs: Mapping[str, float], found: list[Ranked], bench: Bench
) -> list[Ranked]:
    """Return the first `CANDIDATES` of `found`, cheapest to the verdict first; as they are where that is unclear."""
    first = found[:CANDIDATES]
    likely = dict(sorted(beliefs.items(), key=lambda pair: -pair[1])[:LIKELY_CAUSES])
    covered = sum(likely.values())
    if covered < COVERED or len(first) < 2:
        return first
    enough = min(0.999, tree.decide_at / covered)
    follow = [r.check for r in found]
    behind = {c.id: c for r in found for c, _ in r.opens}
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
    tree: Tree, beliefs: Mapping[str, float], choice: Choice, *, reliability: Mapping[str, float] | None = None,
    beside: str = "Next best",
) -> str:  # fmt: skip
    """Return what the check tells apart, how much it tells, at what cost, against the runner-up: in the tree's own
    words, to be said aloud. `beside` is what the other check is."""
    if choice.opens:
        return f"{_asked(tree, choice.check)} It says whether this makes sense: {_asked(tree, choice.opens)}"
    rows = table_of(tree, reliability=reliability)[choice.check]
    pair = _pair(rows, beliefs)
    what = f"tells whether {_cause(tree, pair[0])}, or {_cause(tree, pair[1])}" if pair else "narrows the causes"
    said = f"{_asked(tree, choice.check)} It {what}: {_worth(choice.bits, choice.minutes)}."
    if choice.runner_up is None:
        return f"{said} No other check tells more."
    other = _worth(choice.runner_up_bits, choice.runner_up_minutes)
    return f"{said} {beside}, {other}: {_asked(tree, choice.runner_up)}"


def _pair(rows: Rows, beliefs: Mapping[str, float]) -> tuple[str, str] | None:
    """Return the two likely causes this check does most to tell apart, the likelier first."""
    likely = [(c, beliefs[c], rows.of(c)) for c in sorted(beliefs, key=lambda c: -beliefs[c])[:LIKELY_CAUSES]]
    pairs = [
        (p * q * variation(here, there), a, b)
        for i, (a, p, here) in enumerate(likely)
        for b, q, there in likely[i + 1 :]
        if here is not there
    ]
    best = max(pairs, key=lambda pair: pair[0], default=(0.0, "", ""))
    return (best[1], best[2]) if best[0] > 0 else None


def _asked(tree: Tree, check: str) -> str:
    """Return what the tree asks, ended as a sentence."""
    ask = tree.checks[check].ask.strip()
    return ask if ask.endswith((".", "?", "!")) else f"{ask}."


def _cause(tree: Tree, cause: str) -> str:
    """Return the tree's first sentence for `cause` as part of another; a first word that is a letter (`D plus is
    open`, `A and B are bridged`) or the name of a part stays as it is."""
    if cause in _UNNAMED:
        return _UNNAMED[cause]
    say = tree.causes[cause].say.partition(". ")[0].rstrip(". ")
    return say[0].lower() + say[1:] if say[1:2].islower() or _ARTICLE.match(say) else say


def _worth(told: float, minutes: float) -> str:
    return f"{told:.2f} bits for {duration(minutes)}"
