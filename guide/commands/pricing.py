"""What a tree's order of checks costs, and how it does in rehearsal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from guide.commands.common import document, library, profile, store
from guide.commands.data import write_private
from guide.core.errors import BadInput, Unavailable
from guide.core.jobs import shop
from guide.core.jobs.wording import counted
from guide.core.odds.belief import prior
from guide.core.odds.route import plan as planned
from guide.core.quantity import Quantity, shown
from guide.core.reading import measure_unit
from guide.core.tree import Tree
from guide.edge.terminal import Lines

MOST_RUNS = 10_000_000


def plan(tree_id: str, extra: Sequence[Path], to: Path | None, *, as_json: bool) -> int:
    """Print the price of the authored order, the planned one and the proved bound."""
    tree = library(extra).tree(tree_id)
    found = planned(tree)
    if to is not None:
        write_private(to, found.as_tree_yaml().encode("utf-8"))
    prices = {
        "tree": tree_id, "authored_minutes": found.authored_minutes, "authored_checks": found.authored_checks,
        "planned_minutes": found.planned_minutes, "planned_checks": found.planned_checks,
        "lower_bound": found.lower_bound, "exact": found.exact, "sampled": found.sampled, "routes": found.routes(),
    }  # fmt: skip
    if as_json:
        return document(prices)
    lines = Lines()
    lines.tell(f"{tree_id}: expected price of a verdict")
    if found.authored_minutes is not None:
        lines.tell(f"  authored order  {found.authored_minutes:6.1f} min  {found.authored_checks:5.2f} checks")
    lines.tell(f"  planned order   {found.planned_minutes:6.1f} min  {found.planned_checks:5.2f} checks")
    proof = "no order is cheaper" if found.exact else "no order is cheaper than this"
    lines.tell(f"  lower bound     {found.lower_bound:6.1f} min  ({proof})")
    if found.sampled > 0:
        lines.tell(f"  {found.sampled:.1%} of the cases are so rare in their course that a sample prices their end")
    if to is not None:
        lines.tell(f"  the planned routes are in {to}")
    return 0


def rehearse(tree_id: str, extra: Sequence[Path], *, runs: int, seed: int, as_json: bool) -> int:
    """Print what simulated jobs on a tree come to."""
    if find_spec("numpy") is None:
        raise Unavailable("rehearse needs numpy; install it with: pip install 'bench-guide[rehearse]'")
    if not 1 <= runs <= MOST_RUNS:
        raise BadInput(f"--runs {runs}: give a number from 1 to {MOST_RUNS}")
    if seed < 0:
        raise BadInput(f"--seed {seed}: give 0 or more")
    from guide.bulk.rehearse import rehearse as rehearsed

    found = rehearsed(library(extra).tree(tree_id), runs=runs, seed=seed)
    if as_json:
        return document(asdict(found))
    lines = Lines()
    lines.tell(f"{tree_id}: {found.runs} rehearsed jobs, seed {found.seed}")
    lines.tell(
        f"  right {found.right:.1%} (±{found.standard_error:.1%}), one of several {found.together:.1%},"
        f" cannot tell {found.cannot_tell:.1%}, wrong {found.wrong:.1%}"
    )
    for name, spread in (("checks", found.checks), ("minutes", found.minutes)):
        lines.tell(
            f"  {name:<8} mean {spread.mean:.1f}  (10 % {spread.p10:.0f}, half {spread.p50:.0f}, 90 % {spread.p90:.0f})"
        )
    lines.tell("  true cause, and what was said:")
    for cause, said in found.confusion.items():
        told = ", ".join(f"{what} {share:.0%}" for what, share in sorted(said.items(), key=lambda s: -s[1])[:3])
        lines.tell(f"    {cause:<28} {told}")
    for weak in found.weak[:5]:
        lines.tell(f"  weak: {' and '.join(weak.causes)}: {weak.advice}")
    return 0


def learned(tree: Tree) -> dict[str, Any]:
    """Return what closed jobs on `tree` have taught, beside what the tree says."""
    with store() as kept:
        of_models = [(model, shop.lesson_from(job, body)) for job, model, body in kept.lessons(tree.id)]
    lessons = [lesson for _, lesson in of_models]
    now = shop.weights(tree, lessons)
    reliable = shop.reliability(tree, lessons)
    return {
        "tree": tree.id, "jobs": len(lessons), "weights_count_as_jobs": shop.PRIOR_JOBS,
        "causes": [
            {"id": c, "tree": p, "learned": now[c], "confirmed": sum(one.cause == c for one in lessons)}
            for c, p in prior(tree).items()
        ],
        "reliability": [{"check": c, "tree": tree.checks[c].reliability, "learned": r} for c, r in reliable.items()],
        "references": [
            {"model": model, "check": r.check, "boards": r.boards, "centre": r.centre, "low": r.low, "high": r.high,
             "left_out": list(r.left_out)} for model, r in _references(tree, of_models)
        ],
    }  # fmt: skip


def _references(tree: Tree, of_models: Sequence[tuple[str, shop.Lesson]]) -> Iterator[tuple[str, shop.Reference]]:
    """Every reference with its model, as a job would have them: boards of two models are never taken together."""
    for model in sorted({model for model, _ in of_models}):
        of_model = [lesson for of, lesson in of_models if of == model]
        yield from ((model, r) for r in shop.references(tree, of_model, meter=profile()).values())


def list_learned(tree_id: str, extra: Sequence[Path], *, as_json: bool) -> int:
    """Print what was learned about one tree. It is worked out from closed jobs; deleting one unlearns it."""
    tree = library(extra).tree(tree_id)
    found = learned(tree)
    if as_json:
        return document(found)
    lines = Lines()
    jobs = counted(found["jobs"], "closed job")
    lines.tell(f"{tree_id}: {jobs}; the tree's weights count as {found['weights_count_as_jobs']:g}")
    for one in found["causes"]:
        lines.tell(
            f"  {one['id']:<28} tree {one['tree']:6.1%}  now {one['learned']:6.1%}  confirmed {one['confirmed']}"
        )
    for one in found["reliability"]:
        lines.tell(f"  {one['check']:<28} reliability {one['tree']:.3f} -> {one['learned']:.3f}")
    for one in found["references"]:
        unit = measure_unit(tree.checks[one["check"]].measure)
        low, high = (shown(Quantity(one[edge], unit)) for edge in ("low", "high"))
        left = f", {len(one['left_out'])} left out" if one["left_out"] else ""
        lines.tell(f"  {one['check']:<28} {one['boards']} good boards of {one['model']}{left}, {low} to {high}")
    return 0
