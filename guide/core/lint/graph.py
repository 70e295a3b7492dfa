"""Routes and names: every id means one thing, every name leads somewhere, no route runs in a circle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from guide.core.jobs.intake import ANY, HISTORY, YES, takes_the_past
from guide.core.lint.naming import instead
from guide.core.odds.table import DEFAULT_ROW
from guide.core.tree import AS_FOUND, NONE, OTHER, PLAN, STOP, UNSEEN, Check, Finding, Tree

SUPPLY = "supply"  # the bench supply's own display: a lead that needs no point
HANDLED = frozenset({OTHER, NONE})  # causes no route needs to lead to


def unreached(tree: Tree) -> Iterator[Finding]:
    """T05: a check no route comes to, or a cause no route ends at.

    Where the planner takes over (no `start`, a check without `then`, a band that says `plan`), it may take any check,
    and a cause is reached when a check predicts something of its own for it. Where the first name leads nowhere (T06),
    that is the one mistake, and all the checks behind it are none.
    """
    if tree.start and not _leads(tree, tree.start):
        return
    checks, ends, planned = _reach(tree)
    for check in tree.asked():
        if not planned and check.id not in checks:
            yield Finding("T05", check.where, f"no route comes to {check.id}; name it in a `then` or take it out")
    named = {c for check in tree.checks.values() for c in (*check.expect, *check.table)}
    for cause in tree.causes.values():
        if cause.id not in HANDLED and cause.id not in ends and not (planned and cause.id in named):
            message = f"nothing leads to {cause.id}; name it in a `then` or in a check's `expect`"
            yield Finding("T05", cause.where, message)


def _reach(tree: Tree) -> tuple[frozenset[str], frozenset[str], bool]:
    """Return the checks and the endings the authored routes come to, and whether the planner goes on from them."""
    seen: set[str] = set()
    ends: set[str] = set()
    planned = not tree.start
    todo = [tree.start]
    looks_back = [c.verify.otherwise for c in tree.causes.values() if c.verify]
    while todo or looks_back:
        name = todo.pop() if todo else looks_back.pop()
        check = tree.checks.get(name)
        if check is None and name in tree.sweeps:
            todo.extend(tree.sweeps[name].checks)
        elif check is None:
            ends.add(name)
        elif name not in seen:
            seen.add(name)
            todo.extend(check.then.values())
            planned = planned or not check.then
    if planned or PLAN in ends:
        return (
            frozenset(tree.checks),
            frozenset(ends | {t for c in tree.checks.values() for t in c.then.values()}),
            True,
        )
    return frozenset(seen), frozenset(ends), False


def routes(tree: Tree) -> Iterator[Finding]:
    """T06: a `then` lacks a band, or a `start`, `then` or `verify` names nothing."""
    if tree.start and not _leads(tree, tree.start):
        remedy = instead(tree.start, (*tree.checks, *tree.sweeps), "name one")
        yield Finding("T06", tree.mark("start"), f"start names {tree.start}, which is no check or sweep; {remedy}")
    yield from (f for check in tree.checks.values() for f in _routes(tree, check))
    for cause in tree.causes.values():
        if cause.verify is None:
            continue
        check, where = tree.checks.get(cause.verify.check), cause.verify.where
        if check is None or check.twin:
            remedy = instead(cause.verify.check, (c.id for c in tree.asked()), "name a check")
            message = f"{cause.id} is verified by {cause.verify.check}, which nobody asks; {remedy}"
            yield Finding("T06", where, message)
        elif not (proven := cause.verify.proven_by(check)) or not proven <= {b.name for b in check.bands}:
            yield Finding(
                "T06", where, f"{check.id} has no band {cause.verify.band}; {one_of(b.name for b in check.bands)}"
            )
        if cause.verify.otherwise not in (*tree.checks, STOP, PLAN):
            remedy = instead(cause.verify.otherwise, tree.checks, "name a check, `stop` or `plan`")
            yield Finding("T06", where, f"else names {cause.verify.otherwise}; {remedy}")


def _leads(tree: Tree, start: str) -> bool:
    return start in tree.checks or start in tree.sweeps


def _routes(tree: Tree, check: Check) -> Iterator[Finding]:
    bands = [b.name for b in check.bands]
    if check.then and (lacking := [b for b in bands if b not in check.then]):
        message = f"{check.id} has no route for {', '.join(lacking)}; add `{lacking[0]}: plan` or another end"
        yield Finding("T06", check.mark("then"), message)
    for band, goal in check.then.items():
        where = check.mark(f"then.{band}")
        if band not in (*bands, UNSEEN):
            yield Finding("T06", where, f"{check.id} has no band {band}; {one_of((*bands, UNSEEN))}")
        if band == UNSEEN and goal in tree.causes:
            yield Finding("T06", where, f"{check.id} goes to {goal} though nothing was seen; name a check or `plan`")
        if goal not in (*tree.checks, *tree.sweeps, *tree.causes, STOP, PLAN):
            known = (*tree.checks, *tree.sweeps, *tree.causes)
            remedy = instead(goal, known, "name a check, sweep, cause, `stop` or `plan`")
            yield Finding("T06", where, f"{check.id} goes to {goal}; {remedy}")
        elif goal in tree.checks and tree.checks[goal].twin:
            yield Finding("T06", where, f"{check.id} goes to {goal}, which is worked out, not asked; name its halves")


def cycles(tree: Tree) -> Iterator[Finding]:
    """T07: a route comes back to a check it has passed. The `else` of a verify may look back and is not followed."""
    done: set[str] = set()
    for start in tree.checks:
        trail: dict[str, Iterator[str]] = {}
        name: str | None = start
        while name is not None or trail:
            if name is not None and name in trail:
                around = " to ".join((*list(trail)[list(trail).index(name) :], name))
                yield Finding("T07", tree.checks[name].mark("then"), f"{around} is a circle; end one of them elsewhere")
            elif name is not None and name in tree.checks and name not in done:
                trail[name] = iter(_onward(tree.checks[name]))
            name = None
            while trail and name is None:
                last = next(reversed(trail))
                name = next(trail[last], None)
                if name is None:
                    done.add(last)
                    del trail[last]


def _onward(check: Check) -> dict[str, None]:
    """Return where `check` leads; back to itself for what was not seen only says that it is not passed over."""
    return dict.fromkeys(goal for band, goal in check.then.items() if band != UNSEEN or goal != check.id)


def doubled_ids(tree: Tree) -> Iterator[Finding]:
    """T08: one id for two things, or an id that already means something."""
    for check in tree.checks.values():
        if check.id in tree.causes:
            yield Finding("T08", check.where, f"{check.id} is a check and a cause; rename one")
        if check.id in (STOP, PLAN, OTHER, NONE):
            yield Finding("T08", check.where, f"`{check.id}` is a word of the format; rename the check")
        if any(b.name == UNSEEN for b in check.bands):
            yield Finding("T08", check.where, f"{check.id}: band `{UNSEEN}` is a word of the format; rename the band")
    for sweep in tree.sweeps.values():
        if sweep.id in tree.checks or sweep.id in tree.causes:
            yield Finding("T08", sweep.where, f"{sweep.id} is a sweep and something else; rename one")
    for cause in tree.causes.values():
        if cause.id in (STOP, PLAN, DEFAULT_ROW):
            yield Finding("T08", cause.where, f"`{cause.id}` is a word of the format; rename the cause")
    steps = [(h.id, h.where) for h in tree.hazards.values()]
    steps += [(s.id, s.where) for group in (tree.setups, tree.access) for s in group.values()]
    seen: set[str] = set()
    for name, where in steps:
        if name in seen:
            yield Finding("T08", where, f"{name} is used for two steps to acknowledge; rename one")
        if name == NONE:
            yield Finding("T08", where, f"`{name}` is a word of the format; rename it")
        seen.add(name)


def facts(tree: Tree) -> Iterator[Finding]:
    """T28: a question about the past names a fact no intake answer gives, or lacks the band `yes` it would land in."""
    for check in tree.checks.values():
        bands = {b.name for b in check.bands}
        if check.fact and check.fact not in (*HISTORY, ANY):
            yield Finding("T28", check.mark("fact"), f"no intake answer is called {check.fact}; {one_of(HISTORY)}")
        elif check.fact == ANY and not takes_the_past(bands):
            yield Finding("T28", check.mark("fact"), f"{check.id} has no band for what may have happened; add opened")
        elif check.fact and check.fact != ANY and YES not in bands:
            yield Finding("T28", check.mark("fact"), f"{check.id} takes an intake answer but has no band `yes`; add it")


def undefined_names(tree: Tree) -> Iterator[Finding]:
    """T21: a check or sweep names a hazard, point, setup, access or check that is not there."""
    for check in tree.checks.values():
        named = [("hazard", "hazards", check.hazard, (*tree.hazards, NONE, ""))]
        named += [("setup", "setups", check.setup, (*tree.setups, AS_FOUND))]
        named += [("access", "access", a, tuple(tree.access)) for a in check.access]
        for key, point in (("red", check.red), ("black", check.black)):
            if point is not None:
                named.append((key, "points", point, (*tree.points, SUPPLY)))
        for key, group, name, known in named:
            if name not in known:
                remedy = instead(name, known, "add it there")
                yield Finding("T21", check.mark(key), f"{check.id}: {key} {name} is not in `{group}`; {remedy}")
    for cause in tree.causes.values():
        for repair in cause.repairs:
            if repair.hazard not in (*tree.hazards, NONE, ""):
                remedy = instead(repair.hazard, tree.hazards, "add it there")
                yield Finding("T21", repair.where, f"hazard {repair.hazard} is not in `hazards`; {remedy}")
    for sweep in tree.sweeps.values():
        for name in sweep.checks:
            if name not in tree.checks:
                remedy = instead(name, tree.checks, "name one")
                yield Finding("T21", sweep.where, f"sweep {sweep.id} names {name}, which is no check; {remedy}")


def twins(tree: Tree) -> Iterator[Finding]:
    """T22: a twin that cannot be worked out: its halves must be two checks read on the meter in one unit."""
    for check in tree.checks.values():
        if check.twin is None:
            continue
        halves = [tree.checks.get(name) for name in check.twin]
        where = check.mark("twin")
        if None in halves or check.twin[0] == check.twin[1]:
            yield Finding("T22", where, f"{check.id}: {' and '.join(check.twin)} are not two checks; name two")
        elif any(h is None or h.twin or not h.measure.takes_a_reading for h in halves):
            yield Finding("T22", where, f"{check.id}: a half is not read on the meter; name two that are")
        elif len({h.measure for h in halves if h} | {check.measure}) > 1:
            yield Finding("T22", where, f"{check.id} and its halves measure different things; measure all alike")
        if check.then:
            yield Finding("T22", check.mark("then"), f"{check.id} is worked out, not asked; take its `then` out")


def one_of(names: Iterable[str]) -> str:
    """Return the remedy that lists what may stand there."""
    return f"use one of {', '.join(names)}"
