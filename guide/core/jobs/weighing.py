"""A job's own odds: what its answers say, with what its shop knew, and the verdict they allow."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import TypedDict

from guide.core.jobs import events as ev
from guide.core.jobs.evidence import evidence
from guide.core.jobs.intake import INTAKE
from guide.core.jobs.job import Job
from guide.core.jobs.shop import SUSPICION, narrowed
from guide.core.odds import belief, planner, verdicts
from guide.core.odds.costs import Bench, after, minutes
from guide.core.quantity import Measure
from guide.core.reading import Measured, Reading, band_weights, standard_uncertainty
from guide.core.tree import Check


class _Known(TypedDict):
    priors: Mapping[str, float] | None
    reliability: Mapping[str, float] | None


def known_by(job: Job) -> _Known:
    """Return what the shop's closed jobs change in the odds, as the arguments the belief takes."""
    shop = job.shop
    return {"priors": shop.weights if shop else None, "reliability": (shop.reliability or None) if shop else None}


def weights_of(job: Job, check: Check, reading: Reading) -> dict[str, float]:
    """Return the band weights of `reading`: the tree's bands, and some suspicion where good boards read otherwise.

    Raises NoBand.
    """
    spec = job.meter.spec(check.measure)
    own = band_weights(reading, check.bands, spec)
    interval = job.shop.intervals.get(check.id) if job.shop else None
    if interval is None or not isinstance(reading, Measured):
        return own
    like_good = band_weights(reading, narrowed(check, *interval), spec)
    return {band: (1 - SUSPICION) * own[band] + SUSPICION * like_good[band] for band in own}


def unlike_good_boards(job: Job, check: Check, reading: Reading) -> bool:
    """Tell whether good boards of this model read otherwise, by more than the meter's error."""
    interval = job.shop.intervals.get(check.id) if job.shop else None
    if interval is None or not isinstance(reading, Measured):
        return False
    u = standard_uncertainty(reading, job.meter.spec(check.measure))
    return not interval[0] - 2 * u <= reading.quantity.value < interval[1] + 2 * u


def beliefs_of(job: Job, *supposed: belief.Evidence) -> Mapping[str, float]:
    """Return P(cause | every answer that counts, and `supposed`)."""
    if supposed:
        return belief.posterior(job.tree, (*evidence(job), *supposed), **known_by(job))
    return _beliefs(_Same(job, ()))


def next_best(job: Job) -> planner.Choice | None:
    """Return the untaken check that would separate best what still stands; none once the work is handed over."""
    return _next_best(_asked_of(job))


def _asked_of(job: Job) -> _Same:
    """Return `job` as a key to what is best asked of it: its odds, what was passed over, and the bench."""
    return _Same(job, (job.passed, job.bench))


class _Same:
    """A job as a key: equal to another where all that the odds rest on, and `more`, is the same.

    One answer asks for the odds and the next check several times over, first of the job as it would be and then of the
    job as it has become; both hold the very same readings, so that telling them alike costs next to nothing.
    """

    __slots__ = ("_hash", "job", "more")

    def __init__(self, job: Job, more: tuple[object, ...]) -> None:
        self.job, self.more = job, more
        self._hash = hash((id(job.tree), *job.taken))

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Same):
            return False
        ours, theirs = self.job, other.job
        same = ours.tree is theirs.tree and ours.shop is theirs.shop and ours.meter is theirs.meter
        return same and ours.taken == theirs.taken and self.more == other.more


@lru_cache(maxsize=8)
def _beliefs(same: _Same) -> Mapping[str, float]:
    return MappingProxyType(dict(belief.posterior(same.job.tree, evidence(same.job), **known_by(same.job))))


@lru_cache(maxsize=8)
def _next_best(same: _Same) -> planner.Choice | None:
    return None if same.job.handed_over_for else _best_of(same.job, same.job.left())


@lru_cache(maxsize=8)
def _best_passed_over(same: _Same) -> planner.Choice | None:
    return _best_of(same.job, same.job.passed_over())


def _best_of(job: Job, checks: tuple[Check, ...]) -> planner.Choice | None:
    reliability = known_by(job)["reliability"]
    return planner.next_check(job.tree, beliefs_of(job), checks, job.bench, reliability=reliability)


def offered(job: Job) -> planner.Choice | None:
    """Return the check to offer beside the verdict that stands: the best of those left, else, where it is not settled
    on one cause, the best of those that were passed over; one of them may be within reach by now."""
    best, given = next_best(job), job.verdict
    if best is not None or given is None or job.handed_over_for or (given.separable and job.tree.settles(given.p)):
        return best
    return _best_passed_over(_asked_of(job))


def spent_minutes(job: Job) -> float:
    """Return what the answers that count cost in the order they were given: with cautions, power changes and
    set-ups, from a bench in no known state."""
    total, bench = 0.0, Bench()
    asked = (c for c in job.order if c in job.taken and job.taken[c].source != INTAKE)
    for check in (job.tree.checks[c] for c in asked):
        total += minutes(job.tree, check, bench)
        bench = after(job.tree, check, bench)
    return total


def verdict_on(job: Job, left: tuple[Check, ...]) -> ev.VerdictGiven | None:
    """Return the verdict on what is known, as if only `left` could still be asked; None where asking on is better."""
    given = verdicts.verdict_of(job.tree, beliefs_of(job), evidence(job), left=left, **known_by(job))
    assert given is not None or left, "with nothing left to ask there is always a verdict"
    return ev.VerdictGiven(given.cause, given.p, given.causes, given.rivals, given.separable) if given else None


def final_verdict(job: Job) -> ev.VerdictGiven:
    """Return the verdict on what is known, with nothing more to be asked."""
    given = verdict_on(job, ())
    assert given is not None, "with nothing left to ask there is always a verdict"
    return given


def verdict_so_far(job: Job) -> ev.VerdictGiven:
    """Return the verdict of a technician who says enough: the leading cause as it stands, settled or not.

    Where nothing could tell more it is the final one.
    """
    if next_best(job) is None:
        return final_verdict(job)
    due = verdict_on(job, job.left())
    if due is not None:
        return due
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])
    top, p = ranked[0]
    rivals = tuple((cause, q) for cause, q in ranked[1 : verdicts.MOST_RIVALS + 1] if q >= verdicts.WORTH_NAMING)
    return ev.VerdictGiven(top, p, (top,), rivals, separable=True)


def stale_that_matters(job: Job) -> str | None:
    """Return the stale check that speaks loudest for the verdict due, if the verdict would not stand without them."""
    stale = [c for c in job.order if c in job.stale and job.tree.checks[c].measure is not Measure.ASK]
    if not stale:
        return None
    given = verdict_on(job, job.left())
    fresh = evidence(job, leaving_out=job.stale)
    beliefs = belief.posterior(job.tree, fresh, **known_by(job))
    without = verdicts.verdict_of(job.tree, beliefs, fresh, left=job.left(), **known_by(job))
    if given is None or (without is not None and without.cause == given.cause):
        return None
    loud = belief.explain(job.tree, evidence(job), given.cause, **known_by(job))
    return next((g.check for g in loud if g.check in stale), stale[0])


def due_verdict(job: Job) -> ev.VerdictGiven | None:
    """Return the verdict if one may be spoken now; one set aside waits for a further answer."""
    if job.aside_at == len(job.order):
        return None
    return verdict_on(job, job.left())
