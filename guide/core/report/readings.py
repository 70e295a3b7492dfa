"""One reading and one pair as a report shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from guide.core.jobs import events as ev
from guide.core.jobs.comparing import good_boards, told_weights
from guide.core.jobs.evidence import twin_reading
from guide.core.jobs.job import Job
from guide.core.jobs.wording import ask_of, half_named, plain, shown_reading
from guide.core.meter import ModeSpec
from guide.core.quantity import PREFIXES, SYMBOLS, Quantity, shown
from guide.core.reading import (
    Band,
    Measured,
    Reading,
    as_normal,
    band_weights,
    borderline,
    likeliest,
    placed,
    standard_uncertainty,
)
from guide.core.report.model import Chances, Pair, Row, Side, Stage, Standing
from guide.core.report.strips import strip_of
from guide.core.report.wording import limits_of, tidy
from guide.core.tree import Check, in_words

# Expanded uncertainty with k = 2, about 95 percent (JCGM 100:2008, 6.2 and G.6, as recalled).
COVERAGE = 2.0
PLACES = 6


def ranked(chances: Mapping[str, float], *, least: float = 0.0) -> Chances:
    """Return the chances above `least`, greatest first; rounded, so that every machine prints the same."""
    kept = [(name, round(p, PLACES)) for name, p in chances.items() if p > least]
    return tuple(sorted(kept, key=lambda item: -item[1]))


def row_of(job: Job, event: ev.ReadingTaken, *, number: int, at: str, by: str, why: str) -> Row:
    """Return the row of a reading; `job` is as it was when the reading was taken."""
    check = job.tree.checks.get(event.check)
    bands = check.bands if check else ()
    value, unit, over = plain(event.reading)
    error = error_of(event.reading, job.meter.spec(check.measure)) if check else 0.0
    normal = check.usual if check else ()
    boards = good_boards(job, event.check, event.reading)
    weights = told_weights(job, event.check, event.reading, event.band, event.weights)
    base = check.measure.unit if check else None
    return Row(
        number=number, at=at, check=tidy(event.check), ask=asked(job, event.check),
        measure=check.measure.value if check else "", shown=tidy(shown_reading(event.reading)),
        value=value if isinstance(value, float) else None, unit=unit or "", over_range=over,
        error=error or None, error_shown=error_shown(event.reading, error),
        band=tidy(placed(weights, event.band)),
        shares=ranked(weights, least=0.005), normal=not boards and as_normal(weights, event.band, normal),
        borderline=borderline(weights), boards=boards, source=tidy(event.source), words=tidy(event.words),
        standing=Standing.COUNTS, stage=Stage.PROOF if job.proof else Stage.FINDING, epoch=job.epoch, by=by,
        why=tidy(why), usual=boards or usual_of(check, bands),
        strip=strip_of(event.reading, bands, normal, event.band, base, error),
    )  # fmt: skip


def placed_row(job: Job, row: Row, event: ev.ReadingPlaced) -> Row:
    """Return the row of a reading that now falls into another band."""
    check, reading = job.tree.checks[event.check], job.taken[event.check].readings[-1]
    strip = strip_of(reading, check.bands, check.usual, event.band, check.measure.unit, row.error or 0.0)
    weights = told_weights(job, event.check, reading, event.band, event.weights)
    return replace(
        row, band=tidy(placed(weights, event.band)), shares=ranked(weights, least=0.005), strip=strip,
        normal=not row.boards and as_normal(weights, event.band, check.usual), borderline=borderline(weights),
    )  # fmt: skip


def asked(job: Job, check: str) -> str:
    """Return the check's question, its own name where the tree no longer has it."""
    return tidy(ask_of(job, check))


def usual_of(check: Check | None, bands: tuple[Band, ...]) -> str:
    """Return what a good unit reads, in words; empty where the tree does not say."""
    if check is None:
        return ""
    good = [b for b in bands if b.name in check.usual]
    return " or ".join(limits_of(b, check.measure.unit) or in_words(tidy(b.name)) for b in good)


def error_of(reading: Reading, spec: ModeSpec | None) -> float:
    """Return the ± of `reading` in base units: its expanded uncertainty, 0 for what is no number.

    Without the last digits, in which sums of the same numbers differ by Python.
    """
    if not isinstance(reading, Measured):
        return 0.0
    return float(f"{COVERAGE * standard_uncertainty(reading, spec):.{PLACES}g}")


def error_shown(reading: Reading, error: float) -> str:
    """Return `error` as it stands beside `reading`: `± 5.7 mV`; empty where there is none."""
    return f"± {beside(reading.quantity, error)}" if isinstance(reading, Measured) and error > 0 else ""


def beside(quantity: Quantity, error: float) -> str:
    """Return `error` in the prefix `quantity` is shown in, with two figures (JCGM 100:2008, 7.2.6, as recalled)."""
    name = shown(quantity).rsplit(" ", 1)[1]
    prefix = name.removesuffix(SYMBOLS[quantity.unit])
    digits = Decimal(f"{error / PREFIXES[prefix]:.2g}")
    return f"{digits:f} {name}"


def pairs_with(job: Job, check: str) -> tuple[Pair, ...]:
    """Return the pairs that `check` belongs to and whose halves are both answered in `job`."""
    twins = [c for c in job.tree.twins if check in (c.twin or ())]
    return tuple(p for p in (_pair(job, twin) for twin in twins) if p is not None)


def _pair(job: Job, twin: Check) -> Pair | None:
    assert twin.twin is not None, "a pair has two halves"
    a, b = (job.taken.get(name) for name in twin.twin)
    if a is None or b is None:
        return None
    first, second = (_side(job, name, twin) for name in twin.twin)
    apart = twin_reading(job, twin)
    if apart is None:
        own = ((tidy(half_named(job, half.check, twin)), in_words(tidy(half.band))) for half in (a, b))
        why = ", ".join(f"{point} reads {band}" for point, band in own)
        why += ": their own bands speak" if a.band != b.band else ": nothing more to compare"
        return Pair(tidy(twin.id), asked(job, twin.id), job.epoch, first, second, "", None, "", None, why)
    band = likeliest(band_weights(apart, twin.bands, None))
    normal = band in twin.normal if twin.normal else None
    far = shown(apart.quantity)
    return Pair(
        tidy(twin.id), asked(job, twin.id), job.epoch, first, second, far, apart.quantity.value, tidy(band), normal,
        f"{far} apart: {in_words(tidy(band))}",
    )  # fmt: skip


def _side(job: Job, name: str, pair: Check) -> Side | None:
    taken = job.taken[name]
    last = taken.readings[-1]
    if not isinstance(last, Measured):
        return None
    error = error_of(last, taken.meter.spec(job.tree.checks[name].measure))
    return Side(tidy(name), tidy(half_named(job, name, pair)), shown_reading(last), last.quantity.value, error)
