"""What an author got wrong, as findings. Every rule is a function Tree -> findings; all run, none stops at the first.

T00 and T04 (units) are found while the file is read, for a core `Tree` has no units left to be wrong. The rest stand in
`RULES`. Codes in `BLOCKING` make a tree unfit to run: a reading without a home, a route to nowhere, a missing caution.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from guide.core.lint.bands import band_gaps, band_overlaps, homes_for_over_range
from guide.core.lint.evidence import Ending, alike_causes, common_practice_only, endings, endings_table, weak_endings
from guide.core.lint.figures import decide_level, explicit_rows, reliabilities, weights
from guide.core.lint.graph import cycles, doubled_ids, facts, routes, twins, undefined_names, unreached
from guide.core.lint.grounds import cures, good_unit, listed_other, predictions, sources_of_bands
from guide.core.lint.order import afters
from guide.core.lint.safety import acknowledgements, hazards_named, leads_named, power_states
from guide.core.lint.speech import alike_answers, alike_symptoms, prompts
from guide.core.tree import Finding, Tree

__all__ = ["BLOCKING", "RULES", "WEAK_ENDING", "Ending", "blocking", "endings", "endings_table", "lint"]

Rule = Callable[[Tree], Iterable[Finding]]

STRUCTURE: tuple[Rule, ...] = (
    band_gaps,  # T01
    band_overlaps,  # T02
    homes_for_over_range,  # T03
    unreached,  # T05
    routes,  # T06
    cycles,  # T07
    doubled_ids,  # T08
    hazards_named,  # T09
    power_states,  # T10
    acknowledgements,  # T11
    sources_of_bands,  # T12
    cures,  # T13
    listed_other,  # T14
    predictions,  # T15
    undefined_names,  # T21
    twins,  # T22
    weights,  # T23
    explicit_rows,  # T24
    decide_level,  # T25
    reliabilities,  # T26
    leads_named,  # T27
    facts,  # T28
    afters,  # T29
    good_unit,  # T30
    prompts,  # T18
    alike_answers,  # T19
)
# These ask the odds, which need a sound table: they wait until nothing blocking is left.
EVIDENCE: tuple[Rule, ...] = (
    alike_causes,  # T16
    weak_endings,  # T17
    common_practice_only,  # T20
)
RULES = STRUCTURE + EVIDENCE
WEAK_ENDING = "T17"

# fmt: off
BLOCKING = frozenset((
    "T00", "T01", "T02", "T03", "T04", "T06", "T07", "T08", "T09", "T10", "T11", "T14", "T15", "T21", "T22", "T23",
    "T24", "T25", "T26", "T28", "T29",
))
# fmt: on


def lint(tree: Tree, others: Iterable[Tree] = ()) -> tuple[Finding, ...]:
    """Return every finding about `tree`, in the order of the file. `others` are trees it must not sound like."""
    found = [f for rule in STRUCTURE for f in rule(tree)]
    if not any(f.rule in BLOCKING for f in found):
        found += [f for rule in EVIDENCE for f in rule(tree)]
    found += alike_symptoms(tree, others)
    return tuple(sorted(found, key=lambda f: (f.where.line, f.rule)))


def blocking(tree: Tree) -> tuple[Finding, ...]:
    """Return the findings that make `tree` unfit to run a job on, in the order of the file."""
    found = (f for rule in STRUCTURE for f in rule(tree) if f.rule in BLOCKING)
    return tuple(sorted(found, key=lambda f: (f.where.line, f.rule)))
