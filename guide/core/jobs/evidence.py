"""What a job's answers say for its odds, twins among them."""

from __future__ import annotations

from collections.abc import Container, Iterable
from math import sqrt

from guide.core.jobs.job import Job
from guide.core.odds.belief import Evidence
from guide.core.quantity import Quantity, shown
from guide.core.reading import Measured, band_weights, standard_uncertainty
from guide.core.tree import Check


def evidence(job: Job, *, leaving_out: Container[str] = ()) -> tuple[Evidence, ...]:
    """Return what the answers say, in the order they were given, twins last."""
    counted = (c for c in job.order if c in job.taken and job.taken[c].weights and c not in leaving_out)
    own = tuple(Evidence(c, job.taken[c].weights) for c in counted)
    return (*own, *(t for t in _twins(job) if not any(c in leaving_out for c in job.tree.checks[t.check].twin or ())))


def _twins(job: Job) -> Iterable[Evidence]:
    for check in job.tree.twins:
        apart = twin_reading(job, check)
        if apart is not None:
            yield Evidence(check.id, band_weights(apart, check.bands, None))


def apart_shown(job: Job, pair: Check) -> str:
    """Return how far the halves of a pair are apart, as shown; empty where they are not two numbers to compare."""
    apart = twin_reading(job, pair)
    return f"{shown(apart.quantity)} apart" if apart else ""


def twin_reading(job: Job, pair: Check) -> Measured | None:
    """Return the absolute difference of the two readings of `pair`, with both errors in its margin.

    None where one is lacking or it would say nothing new: a word or OL, or two different own bands, which have spoken
    already.
    """
    first, second = (job.taken.get(half) for half in pair.twin or ("", ""))
    if first is None or second is None or first.band != second.band:
        return None
    a, b = first.readings[-1], second.readings[-1]
    if not isinstance(a, Measured) or not isinstance(b, Measured):
        return None
    measure = job.tree.checks[first.check].measure
    own = (standard_uncertainty(r, half.meter.spec(measure)) for r, half in ((a, first), (b, second)))
    u = sqrt(sum(one**2 for one in own))
    apart = Quantity(abs(a.quantity.value - b.quantity.value), a.quantity.unit)
    return Measured(apart, 0.0, sqrt(3) * u)
