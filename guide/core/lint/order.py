"""Order: what makes sense only behind another answer must be able to come, and be led to from there alone."""

from __future__ import annotations

from collections.abc import Iterator

from guide.core.lint.graph import one_of
from guide.core.lint.naming import instead
from guide.core.tree import UNSEEN, Check, Finding, Tree


def afters(tree: Tree) -> Iterator[Finding]:
    """T29: an `after` that names nothing or runs in a circle, or a route that comes where it does not hold."""
    for check in (c for c in tree.checks.values() if c.after):
        yield from _named(tree, check)
        yield from _circle(tree, check)
        yield from _led(tree, check)


def _named(tree: Tree, check: Check) -> Iterator[Finding]:
    if check.twin:
        yield Finding("T29", check.mark("after"), f"{check.id} is worked out, not asked; take its `after` out")
    for name, bands in check.after.items():
        where, gate = check.mark(f"after.{name}"), tree.checks.get(name)
        if gate is None:
            remedy = instead(name, tree.checks, "name one")
            yield Finding("T29", where, f"{check.id} comes after {name}, which is no check; {remedy}")
        elif gate.twin:
            message = f"{check.id} comes after {name}, which is worked out, not asked; name its halves"
            yield Finding("T29", where, message)
        else:
            known = (*(b.name for b in gate.bands), UNSEEN)
            for band in (b for b in bands if b not in known):
                yield Finding("T29", where, f"{name} has no band {band}; {one_of(known)}")


def _circle(tree: Tree, check: Check) -> Iterator[Finding]:
    """A check that would have to wait for itself."""
    seen: set[str] = set()
    todo = list(check.after)
    while todo:
        name = todo.pop()
        if name == check.id:
            message = f"{check.id} comes after itself, round {' and '.join(check.after)}; let one of them come first"
            yield Finding("T29", check.mark("after"), message)
            return
        if name in tree.checks and name not in seen:
            seen.add(name)
            todo += tree.checks[name].after


def _led(tree: Tree, check: Check) -> Iterator[Finding]:
    """Routes that come to `check` before what it comes after, or on another answer."""
    first = " and ".join(check.after)
    if tree.start == check.id:
        yield Finding("T29", tree.mark("start"), f"start names {check.id}, which comes after {first}; begin there")
    for sweep in tree.sweeps.values():
        if check.id in sweep.checks:
            message = f"sweep {sweep.id} is walked whole, and {check.id} comes after {first}; leave it out"
            yield Finding("T29", sweep.where, message)
    for cause in tree.causes.values():
        if cause.verify and cause.verify.otherwise == check.id:
            message = f"else names {check.id}, which comes after {first}; all is asked anew then, so name that"
            yield Finding("T29", cause.verify.where, message)
    for gate, bands in ((tree.checks[name], bands) for name, bands in check.after.items() if name in tree.checks):
        for band in (b for b, goal in gate.then.items() if goal == check.id and b not in bands):
            message = f"{gate.id} leads to {check.id} from {band}, which comes after {', '.join(bands)}; lead elsewhere"
            yield Finding("T29", gate.mark(f"then.{band}"), message)
