"""A newer version of a job's tree: whether all that was done has a home in it, and which readings it puts elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

from guide.core.jobs import events as ev
from guide.core.jobs.job import Job, Taken
from guide.core.jobs.mending import repair_of
from guide.core.jobs.weighing import weights_of
from guide.core.reading import EVEN, NoBand, as_counted, band_weights, likeliest
from guide.core.tree import Tree


def homeless(job: Job, newer: Tree) -> tuple[str, ...]:
    """Return what `newer` has no place for: checks whose reading counts, or would again if a step after the verdict
    were taken back, and the repair in hand."""
    lost = list(dict.fromkeys(c for then in _and_before(job) for c, t in then.taken.items() if not _has_home(t, newer)))
    mine = repair_of(job, job.repair)
    if mine is not None and job.repair is not None:
        listed = newer.causes[job.repair.cause].repairs if job.repair.cause in newer.causes else ()
        if job.repair.option >= len(listed) or listed[job.repair.option].do != mine.do:
            lost.append(f"the repair `{mine.do.rstrip('. ')}`")
    return tuple(lost)


def _and_before(job: Job) -> Iterator[Job]:
    """Yield the job as it is, and as going back would make it, step by step."""
    then: Job | None = job
    while then is not None:
        yield then
        then = then.before


def _has_home(taken: Taken, newer: Tree) -> bool:
    check = newer.checks.get(taken.check)
    return check is not None and taken.band in {b.name for b in check.bands}


def placed_anew(job: Job) -> tuple[ev.ReadingPlaced, ...]:
    """Return the readings that stand and fall into another band of the tree as it is than the one told when they were
    taken. Shares that differ by the last digits are no other band."""
    found = []
    for name, taken in job.taken.items():
        reading = as_counted(taken.readings)
        check = job.tree.checks.get(name)
        if check is None or not check.measure.takes_a_reading:
            continue
        try:
            own = band_weights(reading, check.bands, taken.meter.spec(check.measure))
        except NoBand:
            continue
        band = likeliest(own)
        if band != taken.band and own[band] - own.get(taken.band, 0.0) > EVEN:
            found.append(ev.ReadingPlaced(name, band, weights_of(job, check, reading)))
    return tuple(found)
