"""What closed jobs teach one shop: cause weights, how reliable each check is, reference readings of a model.

Nothing here is stored as truth: it is worked out anew from closed jobs, so that a job deleted or an outcome corrected
is unlearned too. A job notes what its shop knew when it began, and keeps to that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median, stdev
from typing import Any

from guide.core.jobs import events as ev
from guide.core.jobs.folding import evolve
from guide.core.jobs.job import Job, opened
from guide.core.jobs.stats import outliers, scaled_mad, tolerance_factor
from guide.core.meter import HANDHELD, MeterProfile
from guide.core.odds.belief import prior
from guide.core.quantity import Quantity, Unit
from guide.core.reading import Band, Measured, standard_uncertainty
from guide.core.tree import NONE, OTHER, Check, Tree

PRIOR_JOBS = 20.0  # the tree's weights count as much as this many closed jobs
PRIOR_READINGS = 50.0  # a check's stated reliability counts as much as this many readings
LEAST_BOARDS = 3  # fewer good boards give no reference
MANY_BOARDS = 10
# How much of a reading's weight leaves the normal band when it is unlike every good board. A little over half: it turns
# from evidence for a good point into mild suspicion, for a fault elsewhere moves readings too (tests/physics).
SUSPICION = 0.6


@dataclass(frozen=True, slots=True)
class Lesson:
    """One closed job: what it was, the bands read before the repair, the readings of the good board after it.

    A known-good board that was read to learn its model has no `cause`: it says nothing of how often what fails.
    """

    job: str
    cause: str
    bands: Mapping[str, str]
    good: Mapping[str, Measured]

    def to_json(self) -> dict[str, Any]:
        """Return the lesson as JSON-ready data."""
        good = {c: [r.quantity.value, r.quantity.unit.value, r.resolution, r.margin] for c, r in self.good.items()}
        return {"cause": self.cause, "bands": dict(self.bands), "good": good}


def lesson_from(job: str, body: Mapping[str, Any]) -> Lesson:
    """Return the lesson written by `to_json`."""
    good = {c: Measured(Quantity(v, Unit(unit)), res, margin) for c, (v, unit, res, margin) in body["good"].items()}
    return Lesson(job, body["cause"], body["bands"], good)


@dataclass(frozen=True, slots=True)
class Reference:
    """Readings of known-good boards at one check, in base units. Values outside [low, high) are not like them."""

    check: str
    boards: int
    centre: float
    spread: float
    low: float
    high: float
    left_out: tuple[float, ...] = ()


def lesson(tree: Tree, events: Iterable[ev.Event], *, meter: MeterProfile = HANDHELD) -> Lesson | None:
    """Return what a job teaches, None while it is open or its cause is not known."""
    job = opened(tree, meter=meter)
    before: dict[str, str] = {}
    told = False
    for event in events:
        told = told or isinstance(event, ev.OutcomeSet)
        if isinstance(event, ev.RepairDone | ev.Closed) and job.epoch == 0:
            before = {c: t.band for c, t in job.taken.items()}
        job = evolve(job, event)
    if job.closed is None or job.outcome not in tree.causes:
        return None
    if job.known_good:
        return Lesson(job.id, "", {}, _good(job))
    return Lesson(job.id, job.outcome, before, _good(job)) if told or _confirmed(job) else None


def _confirmed(job: Job) -> bool:
    """Tell whether the cause a job was closed with was borne out: the device worked after its repair or with the
    bypass, or there is nothing to repair. Odds alone, however high, would teach the shop its own guesses."""
    closed = job.closed
    assert closed is not None, "only closed jobs teach"
    return closed.works or closed.proven or job.shown == closed.cause or closed.cause in (NONE, OTHER)


def _good(job: Job) -> dict[str, Measured]:
    """Return the readings of a board known to be good: taken after a proven repair, or on a board found good."""
    proven = job.closed is not None and job.closed.proven
    if not proven and job.outcome != NONE:
        return {}
    readings = {c: t.readings[-1] for c, t in job.taken.items() if t.band in job.tree.checks[c].normal}
    return {c: r for c, r in readings.items() if isinstance(r, Measured)}


def weights(tree: Tree, lessons: Sequence[Lesson]) -> dict[str, float]:
    """Return P(cause) as a Dirichlet mean: the tree's weights as PRIOR_JOBS closed jobs, each lesson as one more."""
    total = sum(c.weight for c in tree.causes.values())
    counts = {c: sum(one.cause == c for one in lessons) for c in tree.causes}
    size = PRIOR_JOBS + sum(counts.values())
    return {c: (PRIOR_JOBS * cause.weight / total + counts[c]) / size for c, cause in tree.causes.items()}


def most_raised(tree: Tree, taught: Mapping[str, float]) -> tuple[str, float, float]:
    """Return the cause that closed jobs raise most, with its share by the tree alone and by what they taught."""
    shares = {c: (p, taught.get(c, 0.0)) for c, p in prior(tree).items()}
    cause = max(shares, key=lambda c: shares[c][1] - shares[c][0])
    return (cause, *shares[cause])


def reliability(tree: Tree, lessons: Sequence[Lesson]) -> dict[str, float]:
    """Return each check's reliability as a Beta mean over readings that fitted the confirmed cause or did not."""
    learned = {}
    for check in tree.checks.values():
        fits = [_fits(check, one.cause, one.bands[check.id]) for one in lessons if check.id in one.bands]
        told = [f for f in fits if f is not None]
        if told:
            hits = PRIOR_READINGS * check.reliability + sum(told)
            learned[check.id] = hits / (PRIOR_READINGS + len(told))
    return learned


def _fits(check: Check, cause: str, band: str) -> bool | None:
    """Tell whether `band` is what `check` predicts for `cause`; None where it predicts nothing of its own."""
    if cause in check.table or (check.table and cause not in check.expect):
        return None
    wanted = check.expect.get(cause, check.normal)
    return band in wanted if wanted else None


def references(tree: Tree, lessons: Sequence[Lesson], *, meter: MeterProfile = HANDHELD) -> dict[str, Reference]:
    """Return the reference of each check with at least LEAST_BOARDS good boards.

    Centre is the median and spread the scaled MAD (below MANY_BOARDS the standard deviation if that is greater), never
    below the meter's own uncertainty; outliers by Rosner's test are left out and named. The interval is centre ± Howe's
    factor (95 % of boards, 95 % confidence) times the spread.
    """
    found = {}
    for check in tree.checks.values():
        readings = [one.good[check.id] for one in lessons if check.id in one.good]
        reference = _reference(check, readings, meter)
        if reference is not None:
            found[check.id] = reference
    return found


def _reference(check: Check, readings: Sequence[Measured], meter: MeterProfile) -> Reference | None:
    values = [r.quantity.value for r in readings]
    out = outliers(values)
    kept = [v for i, v in enumerate(values) if i not in out]
    if len(kept) < LEAST_BOARDS:
        return None
    centre = median(kept)
    own = max(standard_uncertainty(r, meter.spec(check.measure)) for r in _loosest(readings))
    # With few boards the MAD is often small by luck; the ordinary deviation then keeps the interval honest.
    spread = max(scaled_mad(kept), stdev(kept) if len(kept) < MANY_BOARDS else 0.0, own)
    reach = tolerance_factor(len(kept)) * spread
    left_out = tuple(values[i] for i in out)
    return Reference(check.id, len(kept), centre, spread, centre - reach, centre + reach, left_out)


def _loosest(readings: Sequence[Measured]) -> Iterable[Measured]:
    """Return the greatest of the readings told with equal digits: a meter's error never falls with the value."""
    greatest: dict[tuple[float, float], Measured] = {}
    for one in readings:
        told = one.resolution, one.margin
        if told not in greatest or abs(one.quantity.value) > abs(greatest[told].quantity.value):
            greatest[told] = one
    return greatest.values()


def narrowed(check: Check, low: float, high: float) -> tuple[Band, ...]:
    """Return the bands of `check` with its one normal band narrowed to [low, high); a neighbour takes what is cut off.

    A side with no neighbour keeps its edge, and no edge ever moves outward: a sourced limit is not widened.
    """
    if len(check.normal) != 1:
        return check.bands
    normal = check.band(check.normal[0])
    below = next((b for b in check.bands if b.high is not None and b.high == normal.low), None)
    above = next((b for b in check.bands if b.low is not None and b.low == normal.high), None)
    floor = max(normal.low, low) if below and normal.low is not None else normal.low
    ceiling = min(normal.high, high) if above and normal.high is not None else normal.high
    if floor is not None and ceiling is not None and floor >= ceiling:
        return check.bands
    cut = {normal.name: replace(normal, low=floor, high=ceiling)}
    if below:
        cut[below.name] = replace(below, high=floor)
    if above:
        cut[above.name] = replace(above, low=ceiling)
    return tuple(cut.get(b.name, b) for b in check.bands)


def known(
    tree: Tree, lessons: Sequence[Lesson], *, of_model: Sequence[Lesson] = (), meter: MeterProfile = HANDHELD
) -> ev.ShopKnown | None:
    """Return what the shop knows for a new job: `lessons` of the tree, `of_model` those of the same device model."""
    if not lessons:
        return None
    intervals = {c: (r.low, r.high) for c, r in references(tree, of_model, meter=meter).items()}
    jobs = sum(bool(one.cause) for one in lessons)
    return ev.ShopKnown(jobs, weights(tree, lessons), reliability(tree, lessons), intervals)
