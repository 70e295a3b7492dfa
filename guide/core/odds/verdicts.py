"""The verdict: when the odds name a cause, or causes that nothing left would tell apart, surely enough to be spoken."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from guide.core.odds.belief import Evidence, ground_bits, prior
from guide.core.odds.table import inseparable, table_of
from guide.core.reading import likeliest
from guide.core.tree import LAST_DIGITS, NONE, OTHER, Check, Tree

GROUND_BITS = 1.0  # what sourced readings alone must add to a cause's odds before a verdict may rest on them
WORTH_NAMING = 0.005  # rivals below this are not listed
MOST_RIVALS = 5


@dataclass(frozen=True, slots=True)
class Verdict:
    """What it probably is. `cause` is the likeliest; `causes` lists all that cannot be told apart, likeliest first.

    `p` is the probability of `causes` together. `grounded` is False where only common practice, or nothing, speaks
    for it: a suspicion, given only when there is nothing left to ask.
    """

    cause: str
    p: float
    causes: tuple[str, ...]
    rivals: tuple[tuple[str, float], ...]
    separable: bool
    grounded: bool


def verdict_of(
    tree: Tree,
    beliefs: Mapping[str, float],
    evidence: Iterable[Evidence],
    *,
    left: Iterable[Check],
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> Verdict | None:
    """Return the verdict, or None while asking on is the better course.

    A verdict names one cause at `decide_at` or above, or the causes that no reading taken and no check in `left`
    separates when together they reach it and the likeliest could not alone; either must be grounded. With nothing left
    to ask it always answers: the smallest set of causes that reaches `decide_at`, grounded or not. `other` reads
    `none` when every reading is that of a good unit.
    """
    taken, rest = tuple(evidence), tuple(c for c in left if c.twin is None)
    ranked = _ranked(beliefs)
    top = ranked[0]
    if top in (OTHER, NONE) and (tree.settles(beliefs[top]) or not rest):
        cause = NONE if top == OTHER and _all_normal(tree, taken) else top
        return _verdict(beliefs, (top,), cause, sure=True)
    if tree.settles(beliefs[top]):
        causes: tuple[str, ...] = (top,)
    elif rest:
        causes = _alike(tree, beliefs, rest, ranked, prior(tree, priors=priors), reliability)
        if tree.settles(beliefs[top], of=sum(beliefs[c] for c in causes)):
            return None  # what was read already sets the first apart; excluding the others lets it stand alone
    else:
        causes = _smallest(tree, beliefs, [c for c in ranked if c != OTHER])
    if rest and not tree.settles(sum(beliefs[c] for c in causes)):
        return None
    sure = ground_bits(tree, taken, causes, priors=priors, reliability=reliability) >= GROUND_BITS - LAST_DIGITS
    return _verdict(beliefs, causes, causes[0], sure=sure) if sure or not rest else None


def _ranked(beliefs: Mapping[str, float]) -> list[str]:
    return sorted(beliefs, key=lambda c: -beliefs[c])


def _verdict(beliefs: Mapping[str, float], causes: tuple[str, ...], cause: str, *, sure: bool) -> Verdict:
    rivals = [(c, beliefs[c]) for c in _ranked(beliefs) if c not in causes and beliefs[c] >= WORTH_NAMING]
    p = min(1.0, sum(beliefs[c] for c in causes))
    shown = causes if len(causes) > 1 else (cause,)
    return Verdict(cause, p, shown, tuple(rivals[:MOST_RIVALS]), len(causes) == 1, sure)


def _all_normal(tree: Tree, evidence: Iterable[Evidence]) -> bool:
    """Tell whether something was read and every reading is most likely that of a good unit."""
    taken = [(tree.checks[e.check], likeliest(e.weights)) for e in evidence]
    told = [band in check.normal for check, band in taken if check.normal]  # no answer to the rest is a good unit's
    return bool(told) and all(told)


def _alike(
    tree: Tree,
    beliefs: Mapping[str, float],
    left: tuple[Check, ...],
    ranked: Sequence[str],
    before: Mapping[str, float],
    reliability: Mapping[str, float] | None,
) -> tuple[str, ...]:
    """Return the likeliest of `ranked` and the causes worth naming that nothing tells from it: no reading taken and no
    check in `left`; the likeliest alone where they cannot reach `decide_at` together."""
    table, top = table_of(tree, reliability=reliability), ranked[0]
    alike, possible = [top], 1.0 - beliefs.get(OTHER, 0.0)
    for cause in ranked[1:]:
        if cause == OTHER or beliefs[cause] < WORTH_NAMING:
            continue
        if not _told_apart(tree, top, cause, before, beliefs) and inseparable(table, left, top, cause):
            alike.append(cause)
        elif not tree.settles(possible := possible - beliefs[cause]):
            return (top,)
    return tuple(alike)


def _told_apart(tree: Tree, top: str, cause: str, before: Mapping[str, float], beliefs: Mapping[str, float]) -> bool:
    """Tell whether the readings alone, weights left out, tell `cause` from `top` as surely as a verdict asks."""
    here, there = beliefs[top] * before[cause], beliefs[cause] * before[top]
    return tree.settles(here, of=here + there)


def _smallest(tree: Tree, beliefs: Mapping[str, float], ranked: list[str]) -> tuple[str, ...]:
    """Return the fewest named causes that reach `decide_at`, or all worth naming where they never do."""
    chosen: list[str] = []
    for cause in ranked:
        if tree.settles(sum(beliefs[c] for c in chosen)) or (chosen and beliefs[cause] < WORTH_NAMING):
            break
        chosen.append(cause)
    return tuple(chosen)
