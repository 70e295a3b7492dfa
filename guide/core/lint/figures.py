"""Figures: weights, probabilities and levels that the odds can work with."""

from __future__ import annotations

from collections.abc import Iterator
from math import fsum

from guide.core.lint.naming import instead
from guide.core.odds.table import DEFAULT_ROW
from guide.core.tree import OTHER, Finding, Tree

SUM_TOLERANCE = 1e-6


def weights(tree: Tree) -> Iterator[Finding]:
    """T23: a weight that is not above zero: the cause could never be found."""
    for cause in tree.causes.values():
        if not cause.weight > 0:
            yield Finding("T23", cause.where, f"{cause.id} weighs {cause.weight:g}; give it a weight above zero")


def explicit_rows(tree: Tree) -> Iterator[Finding]:
    """T24: a row of `p` for no cause or band, with a probability outside 0 to 1, or not summing to 1."""
    for check in tree.checks.values():
        bands = {b.name for b in check.bands}
        for cause, row in check.table.items():
            where = check.mark(f"p.{cause}")
            # A row of `other` in a tree that lists none is right; that `other` is missing is told by T14.
            if cause not in (*tree.causes, DEFAULT_ROW, OTHER):
                remedy = instead(cause, (*tree.causes, DEFAULT_ROW), "rename it or say `default`")
                yield Finding("T24", where, f"{check.id}: p names {cause}, which is no cause; {remedy}")
            if unknown := [b for b in row if b not in bands]:
                yield Finding(
                    "T24", where, f"{check.id} has no band {unknown[0]}; use one of {', '.join(sorted(bands))}"
                )
            if any(not 0 <= p <= 1 for p in row.values()):
                yield Finding("T24", where, f"{check.id}: p of {cause} is outside 0 to 1; give probabilities")
            elif abs(fsum(row.values()) - 1) > SUM_TOLERANCE:
                total = fsum(row.values())
                yield Finding("T24", where, f"{check.id}: p of {cause} sums to {total:g}; make it sum to 1")


def decide_level(tree: Tree) -> Iterator[Finding]:
    """T25: a verdict level at which two causes could both win, or none ever."""
    if not 0.5 < tree.decide_at < 1:
        message = f"decide_at is {tree.decide_at:g}; put it between 0.5 and 1, as in 0.9"
        yield Finding("T25", tree.mark("decide_at"), message)


def reliabilities(tree: Tree) -> Iterator[Finding]:
    """T26: a check that is right no more often than a coin, or more often than always."""
    for check in tree.checks.values():
        if not 0.5 < check.reliability <= 1:
            message = f"{check.id} has reliability {check.reliability:g}; put it above 0.5 and up to 1"
            yield Finding("T26", check.mark("reliability"), message)
