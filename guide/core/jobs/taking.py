"""How a reading comes to count: at once, after a yes, or once it is taken again."""

from __future__ import annotations

from dataclasses import replace
from enum import Enum

from guide.core.intent import Unclear
from guide.core.jobs import events as ev
from guide.core.jobs.job import Job
from guide.core.jobs.repairing import Decision
from guide.core.jobs.weighing import beliefs_of, weights_of
from guide.core.odds import belief
from guide.core.quantity import Measure
from guide.core.reading import (
    BORDERLINE,
    Measured,
    NoBand,
    Reading,
    Source,
    as_counted,
    band_weights,
    borderline,
    likeliest,
)
from guide.core.tree import Check

# A spoken band less likely than this under the present odds is asked about, however clearly it was heard.
IMPROBABLE = 0.02
# Below this a minus is the meter's own zero or a drop across a part; beyond it the leads may be swapped.
WORTH_A_MINUS = 0.1


class Trust(Enum):
    """What a reading needs before it counts: nothing, a yes, or a yes where it is in doubt."""

    COUNTS = "counts"
    WAITS = "waits"
    AGREED = "agreed"

    @staticmethod
    def of(source: Source, agreed: object) -> Trust:
        if source is not Source.SPOKEN:
            return Trust.COUNTS
        return Trust.AGREED if agreed else Trust.WAITS


def counted(job: Job, check: Check, heard: ev.ReadingHeard, trust: Trust) -> Decision:
    """Return `heard` as taken where it counts at once, as heard where it waits for a yes."""
    try:
        taken = taking(job, check, heard)
    except NoBand as gap:
        return Unclear(f"No band of this check fits: {gap}. Take it again.", heard.words)
    in_doubt = trust is Trust.WAITS or (trust is Trust.AGREED and _doubtful(job, check, taken))
    return (heard,) if in_doubt or minus_in_doubt(job, heard.reading) else (taken,)


def minus_in_doubt(job: Job, reading: Reading) -> bool:
    """Tell whether `reading` is a negative direct voltage where the tree expects none, and would count as another band
    with the leads the other way round."""
    check = job.check
    if check is None or check.measure is not Measure.VOLTS_DC or not isinstance(reading, Measured):
        return False
    value = reading.quantity.value
    edges = [edge for band in check.bands for edge in (band.low, band.high) if edge is not None]
    if value > -WORTH_A_MINUS or any(edge < 0 for edge in edges):
        return False
    swapped = replace(reading, quantity=replace(reading.quantity, value=-value))
    spec = job.meter.spec(check.measure)
    return likeliest(band_weights(reading, check.bands, spec)) != likeliest(band_weights(swapped, check.bands, spec))


def taking(job: Job, check: Check, heard: ev.ReadingHeard) -> ev.ReadingTaken:
    """Return the event that counts `heard`, with what was read of the check before. Raises NoBand."""
    before = job.taken.get(check.id)
    repeats = before.readings if before else ()
    reading = as_counted((*repeats, heard.reading))
    own = band_weights(reading, check.bands, job.meter.spec(check.measure))
    weights = weights_of(job, check, reading)
    again = not repeats and borderline(own) and _routes_differ(job, check, own)
    return ev.ReadingTaken(check.id, heard.reading, heard.words, heard.source, likeliest(own), weights, again=again)


def _routes_differ(job: Job, check: Check, weights: dict[str, float]) -> bool:
    """Tell whether the bands in question lead to different checks, or to different leading causes."""
    rivals = [band for band, w in weights.items() if w > BORDERLINE]
    if len({check.then.get(band, "") for band in rivals}) > 1:
        return True
    leaders = set()
    for band in rivals:
        beliefs = beliefs_of(job, belief.Evidence(check.id, {band: 1.0}))
        leaders.add(max(beliefs, key=lambda cause: beliefs[cause]))
    return len(leaders) > 1


def _doubtful(job: Job, check: Check, taken: ev.ReadingTaken) -> bool:
    """Tell whether what both recognisers heard is asked about all the same: on an edge, or hardly to be expected."""
    return borderline(taken.weights) or _improbable(job, check, taken.band)


def _improbable(job: Job, check: Check, band: str) -> bool:
    beliefs = beliefs_of(job)
    p = sum(beliefs[c] * belief.likelihood(job.tree, check, c).get(band, 0.0) for c in beliefs)
    return p < IMPROBABLE
