"""What a picture of a tree shows: nodes and routes, groups that no route leads to, marks of findings and of a job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from guide.core.odds.belief import prior
from guide.core.odds.table import DEFAULT_ROW
from guide.core.quantity import Measure
from guide.core.report.model import Report, Step
from guide.core.report.wording import minutes, percent, struck, tidy
from guide.core.tree import PLAN, STOP, UNSEEN, Cause, Check, Finding, Power, Tree


class Kind(StrEnum):
    """What a node stands for; each has a shape of its own."""

    CHECK = "check"
    SWEEP = "sweep"
    CAUSE = "cause"


@dataclass(frozen=True, slots=True)
class Node:
    """One check, sweep or cause. `steps` are its places in the job's path, `rules` the findings about it."""

    id: str
    kind: Kind
    title: str
    says: str
    facts: tuple[str, ...]
    steps: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Edge:
    """A route: the bands that lead from one node to another. `taken` tells that the job went this way."""

    source: str
    target: str
    bands: tuple[str, ...]
    taken: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Nodes no authored route leads to, under what they have in common."""

    title: str
    nodes: tuple[Node, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything a form of the picture needs. `routed` begins with where the tree begins."""

    tree: str
    device: str
    symptom: str
    routed: tuple[Node, ...]
    edges: tuple[Edge, ...]
    groups: tuple[Group, ...]
    findings: tuple[str, ...] = ()
    path: tuple[str, ...] = field(default=())

    @property
    def nodes(self) -> Iterator[Node]:
        yield from self.routed
        for group in self.groups:
            yield from group.nodes


def picture_of(tree: Tree, findings: Iterable[Finding] = (), *, job: Report | None = None) -> Picture:
    """Return the picture of `tree`, with `findings` marked on what they are about and the path of `job`, if given."""
    found = tuple(findings)
    routed = _reached(tree)
    make = _Maker(tree, found, job)
    return Picture(
        tree=tidy(tree.id), device=tidy(tree.device), symptom=tidy(tree.symptom),
        routed=tuple(make.node(name) for name in routed), edges=tuple(_edges(tree, routed, job)),
        groups=tuple(_groups(tree, routed, make)),
        findings=tuple(tidy(f"{f.rule}, line {f.where.line}: {f.message}") for f in found),
        path=tuple(_step(s) for s in job.path) if job else (),
    )  # fmt: skip


def _reached(tree: Tree) -> tuple[str, ...]:
    """Return the names that routes come to from the start, in the order a reader meets them."""
    seen: dict[str, None] = {}
    todo = [tree.start]
    while todo:
        name = todo.pop(0)
        if name in seen or not (name in tree.checks or name in tree.sweeps or name in tree.causes):
            continue
        seen[name] = None
        todo += tree.checks[name].then.values() if name in tree.checks else []
    return tuple(seen)


def _edges(tree: Tree, routed: tuple[str, ...], job: Report | None) -> Iterator[Edge]:
    went = _went(job)
    for name in routed:
        if name not in tree.checks:
            continue
        to: dict[str, list[str]] = {}
        for band, target in tree.checks[name].then.items():
            if target != name:
                to.setdefault(target, []).append(tidy(band))
        for target, bands in to.items():
            if target in routed:
                answers = [b for b in bands if b != UNSEEN]
                every = len(answers) == len(tree.checks[name].bands) > 1
                yield Edge(name, target, ("any answer",) if every else tuple(bands), (name, target) in went)


def _went(job: Report | None) -> frozenset[tuple[str, str]]:
    """Return the steps the job took from one check to the next, and from its last check to the verdict."""
    if job is None:
        return frozenset()
    names = [s.check for s in job.path if s.standing not in ("passed", "withdrawn")]
    ends = [*names, job.verdict.cause] if job.verdict else names
    return frozenset(pairwise(ends))


_NEEDS = {Power.OFF: "power off", Power.ON: "power on", Power.UNKNOWN: "any power state"}


def _groups(tree: Tree, routed: tuple[str, ...], make: _Maker) -> Iterator[Group]:
    """Sweeps first, then what the odds choose by what it needs, then worked-out pairs, then causes."""
    left = [c for c in tree.checks.values() if c.id not in routed]
    for sweep in tree.sweeps.values():
        points = [c for c in left if c.id in sweep.checks]
        left = [c for c in left if c not in points]
        if points:
            yield Group(tidy(f"Sweep {sweep.id}, point by point"), tuple(make.node(c.id) for c in points))
    asked = [c for c in left if c.twin is None]
    for power, said in _NEEDS.items():
        chosen = [c for c in asked if _power(tree, c) is power]
        if chosen:
            yield Group(f"Chosen by the odds, {said}", tuple(make.node(c.id) for c in chosen))
    pairs = [c for c in left if c.twin is not None]
    if pairs:
        yield Group("Worked out from two readings", tuple(make.node(c.id) for c in pairs))
    causes = [c for c in tree.causes if c not in routed]
    if causes:
        yield Group("Causes the odds lead to", tuple(make.node(c) for c in causes))


def _power(tree: Tree, check: Check) -> Power:
    return tree.hazards[check.hazard].power if check.hazard in tree.hazards else Power.UNKNOWN


class _Maker:
    """Makes nodes, knowing the findings and the job."""

    def __init__(self, tree: Tree, findings: tuple[Finding, ...], job: Report | None) -> None:
        self.tree, self.job = tree, job
        self.chances: Mapping[str, float] = prior(tree)
        self.rules = _owners(tree, findings)

    def node(self, name: str) -> Node:
        tree = self.tree
        if name in tree.checks:
            check = tree.checks[name]
            kind, says, facts = Kind.CHECK, check.ask or _halves(check), self._of_check(check)
        elif name in tree.sweeps:
            sweep = tree.sweeps[name]
            kind, says, facts = Kind.SWEEP, sweep.say, (" · ".join(sweep.checks),)
        else:
            cause = tree.causes[name]
            kind, says, facts = Kind.CAUSE, cause.say, self._of_cause(cause)
        told = tuple(tidy(f) for f in facts if f)
        return Node(name, kind, tidy(name), tidy(says), told, self._steps(name), self.rules.get(name, ()))

    def _of_check(self, check: Check) -> tuple[str, ...]:
        power = "" if check.hazard not in self.tree.hazards else f" · {_NEEDS[_power(self.tree, check)]}"
        what = check.measure.value.replace("_", " ") if check.measure is not Measure.ASK else "question"
        bands = " | ".join(f"[{b.name}]" if b.name in check.normal else b.name for b in check.bands)
        behind = "; ".join(f"only after {gate}: {' or '.join(answers)}" for gate, answers in check.after.items())
        planned = [band for band, target in check.then.items() if target == PLAN]
        stopped = [band for band, target in check.then.items() if target == STOP]
        onward = "" if not planned else "odds choose on: " + ", ".join(planned)
        stops = "" if not stopped else "stops on: " + ", ".join(stopped)
        named = list(dict.fromkeys((*check.expect, *check.table)))
        speaks = "" if not named or onward or stops else "speaks on: " + ", ".join(n for n in named if n != DEFAULT_ROW)
        needed = "not to be skipped" if check.then.get(UNSEEN) == check.id else ""
        led = "; ".join(s for s in (needed, onward, stops, speaks) if s)
        return (f"{what}{power} · {minutes(check.minutes)}", bands, behind, led)

    def _of_cause(self, cause: Cause) -> tuple[str, ...]:
        count = len(cause.repairs)
        repairs = "no repair listed" if not count else "1 repair" if count == 1 else f"{count} repairs"
        proof = f"proven by {cause.verify.check}: {cause.verify.band}" if cause.verify else ""
        seen = [c.id for c in self.tree.checks.values() if cause.id in c.expect or cause.id in c.table]
        tells = f"seen by: {', '.join(seen)}" if seen else ""
        return (f"{percent(self.chances.get(cause.id, 0.0))} at first · {repairs}", proof, tells)

    def _steps(self, name: str) -> tuple[str, ...]:
        if self.job is None:
            return ()
        steps = [f"{s.number or '–'}" for s in self.job.path if s.check == tidy(name)]
        verdict = self.job.verdict
        return (*steps, "verdict") if verdict is not None and name in verdict.causes else tuple(steps)


def _halves(check: Check) -> str:
    return f"{check.twin[0]} against {check.twin[1]}" if check.twin else ""


def _owners(tree: Tree, findings: tuple[Finding, ...]) -> dict[str, tuple[str, ...]]:
    """Return the rules of the findings about each check, sweep and cause: the one that begins last before the line."""
    checks = ((c.where.line, c.id) for c in tree.checks.values())
    sweeps = ((s.where.line, s.id) for s in tree.sweeps.values())
    causes = ((c.where.line, c.id) for c in tree.causes.values())
    starts = sorted((*checks, *sweeps, *causes))
    heads = [w.line for key, w in tree.marks.items() if "." not in key]
    owned: dict[str, dict[str, None]] = {}
    for finding in findings:
        before = [(line, name) for line, name in starts if line <= finding.where.line]
        # A top key between the part and the finding means the finding is about the tree itself.
        if before and not any(before[-1][0] < line <= finding.where.line for line in heads):
            owned.setdefault(before[-1][1], {})[finding.rule] = None
    return {name: tuple(rules) for name, rules in owned.items()}


def _step(step: Step) -> str:
    return f"{step.number or '–'} {step.check}: {step.band or step.answer}{struck(step.standing)}"
