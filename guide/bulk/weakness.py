"""Which causes a rehearsal took for one another, and what check would help."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from guide.core.odds.table import Rows, separates, variation
from guide.core.tree import NONE, OTHER, Tree

WORTH_TELLING = 0.001  # share of runs below which a confusion is not listed
STRONG = 0.5  # total variation from which one answer usually decides
_MOST = 10


@dataclass(frozen=True, slots=True)
class Parting:
    """A check that tells the two apart: by how much (total variation), its minutes, and how often it was taken."""

    check: str
    variation: float
    minutes: float
    taken: float


@dataclass(frozen=True, slots=True)
class Weakness:
    """Two causes taken for one another. `wrong` and `together` are shares of all runs."""

    causes: tuple[str, str]
    wrong: float
    together: float
    partings: tuple[Parting, ...]
    advice: str


@dataclass(frozen=True, slots=True)
class Ending:
    """Where some runs ended: what was said, the checks taken, and how many runs of each true cause."""

    said: tuple[str, ...]
    taken: frozenset[str]
    counts: Mapping[str, int]


def weaknesses(tree: Tree, table: Mapping[str, Rows], endings: Iterable[Ending], runs: int) -> tuple[Weakness, ...]:
    """Return the pairs most often confused, the worst first."""
    wrong: dict[tuple[str, str], int] = defaultdict(int)
    together: dict[tuple[str, str], int] = defaultdict(int)
    taken: dict[tuple[str, str], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for ending in endings:
        for cause, count in ending.counts.items():
            for said in ending.said:
                if said == cause or OTHER in (said, cause):
                    continue
                pair = (min(cause, said), max(cause, said))
                (together if cause in ending.said else wrong)[pair] += count
                for check in ending.taken:
                    taken[pair][check] += count
    worst = sorted({*wrong, *together}, key=lambda pair: -(wrong[pair] + together[pair]))
    worth = [p for p in worst if wrong[p] + together[p] >= WORTH_TELLING * runs][:_MOST]
    return tuple(_weakness(tree, table, p, wrong[p], together[p], taken[p], runs) for p in worth)


def _weakness(
    tree: Tree,
    table: Mapping[str, Rows],
    pair: tuple[str, str],
    wrong: int,
    together: int,
    taken: Mapping[str, int],
    runs: int,
) -> Weakness:
    partings = []
    for check in tree.asked():
        apart = variation(table[check.id].of(pair[0]), table[check.id].of(pair[1]))
        if separates(apart):
            partings.append(Parting(check.id, apart, check.minutes, taken.get(check.id, 0) / (wrong + together)))
    partings.sort(key=lambda p: (p.taken, -p.variation / max(0.1, p.minutes)))
    advice = _advice(pair, partings, wrong + together, runs)
    return Weakness(pair, wrong / runs, together / runs, tuple(partings), advice)


def _advice(pair: tuple[str, str], partings: list[Parting], count: int, runs: int) -> str:
    """Return one sentence: the untaken check that would help, else what kind of check is missing."""
    a, b = pair
    share = f"{100 * count / runs:.1f} % of jobs"
    if not partings:
        what = f"a good unit from {a if b == NONE else b}" if NONE in pair else f"{a} from {b}"
        return f"No check tells {what}; one that expects different bands would decide {share}."
    strong = [p for p in partings if p.variation >= STRONG]
    if not strong:
        most = max(partings, key=lambda p: p.variation)
        return f"{most.check} tells {a} from {b} only weakly; a check with bands of their own would help {share}."
    best = strong[0]
    if best.taken < 0.5:
        return f"{best.check} tells {a} from {b} but is seldom reached in these jobs; routing to it would help {share}."
    return f"{best.check} was taken and surprised; a second check that tells {a} from {b} would help {share}."
