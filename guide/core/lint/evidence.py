"""Evidence: can each cause be told from the others, and does every authored route end with enough?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from guide.core.lint.graph import HANDLED
from guide.core.odds.belief import Evidence, posterior
from guide.core.odds.table import groups, inseparable, table_of
from guide.core.tree import NONE, OTHER, PLAN, Finding, Tree

MOST_ENDINGS = 5000  # routes double with every fork that meets again; beyond this they are not all tried


@dataclass(frozen=True, slots=True)
class Ending:
    """One authored route to its end: the bands read on the way, where it ends, and the odds there.

    `p` is the posterior of the cause it ends at, with those no check tells from it; None where it ends at `stop` or
    `plan`. `top` and `top_p` are the likeliest cause.
    """

    route: tuple[tuple[str, str], ...]
    end: str
    p: float | None
    top: str
    top_p: float


def alike_causes(tree: Tree) -> Iterator[Finding]:
    """T16: causes no check tells apart. One that no check tells from `none` cannot be found at all."""
    for group in groups(tree):
        listed = [c for c in group if c != NONE]
        where = tree.causes[listed[-1]].where
        if NONE in group:
            message = f"no check tells {' and '.join(listed)} from a good unit; add a check that does"
        else:
            message = f"no check tells {' and '.join(listed)} apart; add a check that does, or make them one cause"
        yield Finding("T16", where, message)


def weak_endings(tree: Tree) -> Iterator[Finding]:
    """T17: a route that ends at a cause whose posterior, from the readings on the route, is under `decide_at`.

    Of routes that end with one `then`, the weakest is told and the others are counted: the author mends one line.
    """
    found = endings(tree)
    weak: dict[tuple[str, str], list[Ending]] = {}
    for ending in found:
        if _is_weak(ending, tree):
            weak.setdefault(ending.route[-1], []).append(ending)
    for (check, band), together in weak.items():
        least = min(together, key=lambda e: e.p or 0.0)
        more = f", the weakest of {len(together)} such ways" if len(together) > 1 else ""
        message = (
            f"{_route(least)} ends at {least.end} with {least.p:.3f}, under {tree.decide_at:g}{more}; "
            f"end at `plan`, or read more on the way"
        )
        yield Finding("T17", tree.checks[check].mark(f"then.{band}"), message)
    if len(found) == MOST_ENDINGS:
        message = f"{MOST_ENDINGS} routes or more, not all were tried; end some at `plan`"
        yield Finding("T17", tree.mark("start"), message)


def common_practice_only(tree: Tree) -> Iterator[Finding]:
    """T20: a cause that only common practice tells from a good unit; it can be suspected, never a verdict.

    Where a check names a source that is not listed (T12), what it stands on is not known yet.
    """
    if any(source not in tree.sources for check in tree.checks.values() for source in check.sources):
        return
    table = table_of(tree)
    grounded = [c for c in tree.checks.values() if tree.grounded(c)]
    for cause in tree.causes.values():
        if cause.id in HANDLED or not inseparable(table, grounded, cause.id, NONE):
            continue
        if not inseparable(table, tree.checks.values(), cause.id, NONE):
            message = f"only common practice speaks for {cause.id}; find a source for a limit, or add a look"
            yield Finding("T20", cause.where, message)


def endings(tree: Tree) -> tuple[Ending, ...]:
    """Return the end of every authored route from `start`, up to `MOST_ENDINGS`; none where there is no `start`.

    A sound graph is taken for granted (T06, T07).
    """
    return tuple(_endings(tree))


def endings_table(tree: Tree) -> str:
    """Return the endings as lines of text: posterior, end, likeliest cause, route. Weak ones come first."""
    rows = [f"{'p':>6}  {'end':<24}  {'likeliest':<32}  route"]
    for e in sorted(endings(tree), key=lambda e: not _is_weak(e, tree)):
        p = "" if e.p is None else f"{e.p:.3f}"
        rows.append(f"{p:>6}  {e.end:<24}  {f'{e.top} {e.top_p:.3f}':<32}  {_route(e)}")
    return "\n".join(rows) + "\n"


def _is_weak(ending: Ending, tree: Tree) -> bool:
    return ending.p is not None and ending.p < tree.decide_at


def _endings(tree: Tree) -> Iterator[Ending]:
    together = {cause: group for group in groups(tree) for cause in group}
    for route, end in islice(_routes(tree), MOST_ENDINGS):
        odds = posterior(tree, [Evidence(check, {band: 1.0}) for check, band in route])
        top = max(odds, key=lambda c: odds[c])
        known = end in tree.causes and end != OTHER
        p = sum(odds[c] for c in together.get(end, (end,))) if known else None
        yield Ending(route, end, p, top, odds[top])


def _routes(tree: Tree) -> Iterator[tuple[tuple[tuple[str, str], ...], str]]:
    """Every authored route, depth first in the order of the file."""
    todo: list[tuple[tuple[tuple[str, str], ...], str]] = [((), tree.start)] if tree.start in tree.checks else []
    while todo:
        route, at = todo.pop()
        check = tree.checks.get(at)
        if check is None:
            yield route, at
        elif not check.then:
            yield route, PLAN
        else:
            todo.extend(((*route, (at, band.name)), check.then[band.name]) for band in reversed(check.bands))


def _route(ending: Ending) -> str:
    return ", ".join(f"{check} {band}" for check, band in ending.route)
