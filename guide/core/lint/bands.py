"""Bands: every number has one home, and so has OL."""

from __future__ import annotations

from collections.abc import Iterator

from guide.core.bands import written
from guide.core.meter import HANDHELD
from guide.core.quantity import Quantity
from guide.core.reading import Band, measure_unit
from guide.core.tree import Check, Finding, Tree


def band_gaps(tree: Tree) -> Iterator[Finding]:
    """T01: a value the meter can show falls in no band."""
    for check in _metered(tree):
        bands = _numeric(check)
        if not bands:
            yield Finding(
                "T01", check.mark("bands"), f"{check.id} has no band for a number; add `below X` or `X and up`"
            )
            continue
        first, last = bands[0], bands[-1]
        if first.low is not None and (_floor(check) is None or first.low > 0):
            yield _gap(check, f"below {_edge(check, first.low)}", first.name)
        top = first.high
        for band in bands[1:]:
            if top is not None and band.low is not None and band.low > top:
                yield _gap(check, f"{_edge(check, top)} to {_edge(check, band.low)}", band.name)
            top = None if top is None or band.high is None else max(top, band.high)
        if top is not None:
            yield _gap(check, f"{_edge(check, top)} and up", last.name)


def band_overlaps(tree: Tree) -> Iterator[Finding]:
    """T02: a value falls in two bands."""
    for check in _metered(tree):
        bands = _numeric(check)
        for i, band in enumerate(bands):
            for later in bands[i + 1 :]:
                if band.high is None or later.low is None or later.low < band.high:
                    message = f"{check.id}: {band.name} and {later.name} overlap; end one where the other begins"
                    yield Finding("T02", check.mark(f"bands.{later.name}"), message)


def homes_for_over_range(tree: Tree) -> Iterator[Finding]:
    """T03: OL has no band, or two. A difference of two readings is never OL, so a twin has none."""
    for check in _metered(tree):
        homes = [b.name for b in check.bands if b.over_range]
        if check.twin and homes:
            message = f"{check.id} is a difference and never OL; take `or OL` off {homes[0]}"
            yield Finding("T03", check.mark(f"bands.{homes[0]}"), message)
        elif not check.twin and not homes:
            message = f"{check.id} has no band for OL; add `or OL` to the band it belongs to"
            yield Finding("T03", check.mark("bands"), message)
        elif len(homes) > 1:
            message = f"{check.id} has OL in {' and '.join(homes)}; keep it in one"
            yield Finding("T03", check.mark(f"bands.{homes[1]}"), message)


def _metered(tree: Tree) -> Iterator[Check]:
    return (c for c in tree.checks.values() if c.measure.takes_a_reading)


def _numeric(check: Check) -> list[Band]:
    """The bands that hold numbers, rising. OL alone holds none."""
    bands = [b for b in check.bands if not (b.over_range and b.low is None and b.high is None)]
    return sorted(bands, key=lambda b: float("-inf") if b.low is None else b.low)


def _floor(check: Check) -> float | None:
    """The least value the check can show: zero for a difference and for modes that show no sign."""
    spec = HANDHELD.spec(check.measure)
    return None if spec is not None and spec.signed and not check.twin else 0.0


def _gap(check: Check, gap: str, near: str) -> Finding:
    return Finding("T01", check.mark("bands"), f"{check.id} leaves {gap} without a band; widen {near} or add one")


def _edge(check: Check, value: float) -> str:
    return written(Quantity(value, measure_unit(check.measure)))
