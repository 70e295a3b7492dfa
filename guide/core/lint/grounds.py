"""Grounds: where thresholds come from, what cures a cause, what each cause predicts."""

from __future__ import annotations

from collections.abc import Iterator

from guide.core.lint.graph import HANDLED
from guide.core.lint.naming import instead, nearest
from guide.core.odds.table import DEFAULT_ROW
from guide.core.tree import NONE, OTHER, Check, Finding, Tree


def sources_of_bands(tree: Tree) -> Iterator[Finding]:
    """T12: bands of numbers without a source, a source that is not listed, or one listed and never used.

    A cause's `ground` may name a source too.
    """
    used = {cause.ground for cause in tree.causes.values()}
    for check in tree.checks.values():
        used.update(check.sources)
        if check.measure.takes_a_reading and not check.sources:
            message = f"{check.id} has limits without a source; name one, or a note `common practice, no source`"
            yield Finding("T12", check.mark("bands"), message)
        for source in check.sources:
            if source not in tree.sources:
                remedy = instead(source, tree.sources, "add it there")
                yield Finding("T12", check.mark("source"), f"{check.id}: {source} is not in `sources`; {remedy}")
    # A name misspelt in a check leaves its source unused; that is one mistake, and it has been told.
    used.update(near for name in used - tree.sources.keys() if (near := nearest(name, tree.sources)))
    for note in tree.sources.values():
        if note.id not in used:
            yield Finding("T12", note.where, f"source {note.id} is never used; take it out or name it in a check")


def cures(tree: Tree) -> Iterator[Finding]:
    """T13: a cause without a repair, or without the reading that proves it."""
    for cause in tree.causes.values():
        if cause.id in HANDLED:
            continue
        if not any(not repair.proof for repair in cause.repairs):
            message = f"{cause.id} has no repair; add one" if not cause.repairs else _proofs(cause.id)
            yield Finding("T13", cause.where, message)
        if cause.verify is None:
            yield Finding("T13", cause.where, f"{cause.id} has no verify; add the check and band that prove it cured")


def _proofs(cause: str) -> str:
    return f"{cause} has only proofs, and a proof is no repair; add a repair"


def listed_other(tree: Tree) -> Iterator[Finding]:
    """T14: no `other`, so the odds cannot say that nothing listed fits."""
    if OTHER not in tree.causes:
        yield Finding("T14", tree.mark("causes"), "causes has no `other`; add it with a weight")


def predictions(tree: Tree) -> Iterator[Finding]:
    """T15: `normal` or `expect` names no band or no cause, or nothing says what a good unit gives."""
    for check in tree.checks.values():
        bands = {b.name for b in check.bands}
        if not check.normal and DEFAULT_ROW not in check.table:
            yield Finding("T15", check.where, f"{check.id} has no `normal`; name the band of a good unit")
        yield from _unknown(check, "normal", check.normal, bands)
        for cause, expected in check.expect.items():
            if cause not in tree.causes:
                remedy = instead(cause, tree.causes, "add it or rename it")
                message = f"{check.id} expects something of {cause}, which is no cause; {remedy}"
                yield Finding("T15", check.mark(f"expect.{cause}"), message)
            yield from _unknown(check, f"expect.{cause}", expected, bands)


def good_unit(tree: Tree) -> Iterator[Finding]:
    """T30: `normal` is not what the tree itself says a good unit gives, so that a sound answer would be called odd."""
    for check in tree.checks.values():
        row = check.table.get(NONE)
        if row and check.normal and (likely := max(row, key=lambda band: row[band])) not in check.normal:
            message = f"{check.id}: `none` most likely gives {likely}, which is not `normal`; name it there, or nothing"
            yield Finding("T30", check.mark("normal"), message)


def _unknown(check: Check, key: str, named: tuple[str, ...], bands: set[str]) -> Iterator[Finding]:
    for band in named:
        if band not in bands:
            message = f"{check.id} has no band {band}; use one of {', '.join(b.name for b in check.bands)}"
            yield Finding("T15", check.mark(key), message)
