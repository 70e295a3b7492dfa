"""A tree file's text -> core `Tree`, with file:line on every datum and every mistake named, not the first only."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256

from pydantic import ValidationError

from guide.core import lint
from guide.core.bands import BadBand, Limits, limits
from guide.core.errors import TreeError
from guide.core.quantity import Measure, Unit
from guide.core.reading import Band
from guide.core.tree import (
    NO_HAZARD,
    NONE,
    OTHER,
    Cause,
    Check,
    Finding,
    Hazard,
    Repair,
    SourceNote,
    Step,
    Sweep,
    Tree,
    Verify,
    Where,
)
from guide.edge.trees.complaints import complaints
from guide.edge.trees.shape import CauseShape, CheckShape, StepShape, TreeShape
from guide.edge.trees.yamlmarks import UNREADABLE, Document, document

SETUP_MINUTES, ACCESS_MINUTES = 1.0, 3.0
WRONG_UNIT = "T04"


def read(text: str, name: str, tree_id: str) -> Tree:
    """Return the tree `text` holds, fit to run a job on. `name` is the file as findings show it.

    Raises TreeError for text that makes no tree and for a tree unfit to run (`lint.BLOCKING`): a band without a home, a
    route to nowhere, a check without its caution. Its first line is the first finding.
    """
    tree, findings = load(text, name, tree_id)
    if tree is not None:
        findings += lint.blocking(tree)
    if tree is None or findings:
        raise TreeError(*findings)
    return tree


def load(text: str, name: str, tree_id: str) -> tuple[Tree | None, tuple[Finding, ...]]:
    """Return the tree, or None where it cannot be built, and what was found while building it (T00, T04)."""
    try:
        doc = document(text, name)
        shape = TreeShape.model_validate(doc.data)
    except TreeError as refused:
        return None, refused.findings
    except ValidationError as fault:
        return None, complaints(fault.errors(include_url=False, include_context=False), doc)
    builder = _Builder(doc, shape)
    tree = builder.tree(tree_id, sha256(text.encode()).hexdigest())
    findings = tuple(builder.findings)
    return (None if any(f.rule == UNREADABLE for f in findings) else tree), findings


class _Builder:
    """Turns the checked shape into core parts, collecting what only shows up on the way."""

    def __init__(self, doc: Document, shape: TreeShape) -> None:
        self.doc, self.shape = doc, shape
        self.marks = _marks(doc)
        self.findings: list[Finding] = []

    def tree(self, tree_id: str, digest: str) -> Tree:
        shape, at = self.shape, self.doc.where
        return Tree(
            id=tree_id,
            version=shape.version,
            device=shape.device,
            symptom=shape.symptom,
            heard_as=shape.heard_as,
            start=shape.start,
            decide_at=shape.decide_at,
            sources={k: SourceNote(k, text, at(("sources", k))) for k, text in shape.sources.items()},
            hazards={k: Hazard(k, h.power, h.say, h.until, at(("hazards", k))) for k, h in shape.hazards.items()},
            points=shape.points,
            setups=self._steps("setups", shape.setups, SETUP_MINUTES),
            access=self._steps("access", shape.access, ACCESS_MINUTES),
            checks={k: self._check(k, c) for k, c in shape.checks.items()},
            causes=self._causes(),
            where=at(()),
            family=shape.family,
            sweeps={k: Sweep(k, s.say, s.checks, at(("sweeps", k))) for k, s in shape.sweeps.items()},
            sha256=digest,
            marks=self.marks[()],
        )

    def _steps(self, group: str, steps: Mapping[str, StepShape], usual: float) -> dict[str, Step]:
        return {
            k: Step(
                k,
                s.say,
                s.until,
                usual if s.minutes is None else s.minutes,
                self.doc.where((group, k)),
                power=s.power,
            )
            for k, s in steps.items()
        }

    def _check(self, name: str, c: CheckShape) -> Check:
        measure = self._measure(name, c)
        return Check(
            id=name,
            ask=c.ask,
            measure=measure,
            hazard=NO_HAZARD if c.twin else c.hazard,
            bands=self._bands(name, c, measure),
            where=self.doc.where(("checks", name)),
            normal=c.normal,
            expect=c.expect,
            table=c.p,
            then=c.then,
            after=c.after,
            red=c.red,
            black=c.black,
            setup=c.setup,
            access=c.access,
            minutes=c.minutes,
            reliability=c.reliability,
            sources=c.source,
            twin=(c.twin[0], c.twin[1]) if c.twin else None,
            why=c.why,
            fact=c.fact,
            marks=self.marks.get(("checks", name), {}),
        )

    def _measure(self, name: str, c: CheckShape) -> Measure:
        """A check with answers asks unless it says `look`; a twin measures what its halves do."""
        if c.twin and not c.bands:
            self._complain(name, "has no `bands`; add those of the difference")
        if c.measure is None and c.twin:
            half = self.shape.checks.get(c.twin[0])
            return (half.measure if half else None) or Measure.VOLTS_DC
        measure = c.measure or Measure.ASK
        wants = "bands" if measure.takes_a_reading else "answer"
        if c.measure is None and c.bands:
            self._complain(name, "has bands but no measure; add one, as in `measure: ohm`")
        elif c.bands and c.answer:
            self._complain(name, "has bands and answers; keep the one its measure gives")
        elif not getattr(c, wants):
            self._complain(name, f"has no `{wants}`; add what it may come back with")
        if not c.ask and not c.twin:
            self._complain(name, "has no `ask`; add the prompt")
        return measure

    def _bands(self, name: str, c: CheckShape, measure: Measure) -> tuple[Band, ...]:
        if c.answer:
            return tuple(Band(k, words=words) for k, words in c.answer.items())
        found = []
        for band, words in c.bands.items():
            try:
                read = limits(words)
            except BadBand as fault:
                self._complain(name, str(fault), "bands", band)
                continue
            self._unit(name, band, read, measure.unit)
            found.append(read.band(band))
        return tuple(found)

    def _unit(self, check: str, band: str, read: Limits, unit: Unit | None) -> None:
        if wrong := sorted(u.value for u in read.units if u is not unit):
            where = self.doc.where(("checks", check, "bands", band))
            message = f"{check} is measured in {unit}, not {' and '.join(wrong)}; write the edges of {band} in {unit}"
            self.findings.append(Finding(WRONG_UNIT, where, message))

    def _complain(self, check: str, message: str, *inside: str) -> None:
        where = self.doc.where(("checks", check, *inside))
        self.findings.append(Finding(UNREADABLE, where, f"{' '.join((check, *inside[1:]))}: {message}"))

    def _causes(self) -> dict[str, Cause]:
        causes = {k: self._cause(k, c) for k, c in self.shape.causes.items()}
        if NONE not in causes:
            weight = causes[OTHER].weight if OTHER in causes else 1.0
            causes[NONE] = Cause(NONE, weight, "Nothing wrong that this tree can find.", self.doc.where(("causes",)))
        return causes

    def _cause(self, name: str, c: CauseShape) -> Cause:
        at = self.doc.where
        repairs = tuple(
            Repair(where=at(("causes", name, "repair", i)), **{f: getattr(r, f) for f in type(r).model_fields})
            for i, r in enumerate(c.repair)
        )
        v = c.verify
        verify = Verify(v.check, v.band, v.otherwise, at(("causes", name, "verify"))) if v else None
        return Cause(name, c.weight, c.say, at(("causes", name)), repairs, verify, c.ground, c.customer)


def _marks(doc: Document) -> Mapping[tuple[str | int, ...], dict[str, Where]]:
    """Return the line of every key, dotted, below the root and below each check."""
    found: dict[tuple[str | int, ...], dict[str, Where]] = {(): {}}
    for path, line in doc.lines.items():
        where = Where(doc.name, line)
        if len(path) in (1, 2):
            found[()][".".join(map(str, path))] = where
        elif path and path[0] == "checks":
            found.setdefault(path[:2], {})[".".join(map(str, path[2:]))] = where
    return found
