"""The odds: from cause weights and taken readings to probabilities, and from probabilities to a verdict."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import exp, inf, isfinite, log, log2
from types import MappingProxyType

from guide.core.odds.table import Rows, SameTree, Told, bits as entropy_bits, table_of, told_by
from guide.core.reading import likeliest
from guide.core.tree import OTHER, Check, Tree

SHOWN_BITS = 60.0  # an impossible reading weighs infinitely; this is what is shown and stored instead


@dataclass(frozen=True, slots=True)
class Evidence:
    """One taken reading: the weight of each band of `check`, as `reading.band_weights` gives it."""

    check: str
    weights: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Ground:
    """One reading's weight for (positive) or against a cause, in bits, against the mix of the causes then standing."""

    check: str
    band: str
    bits: float


def likelihood(tree: Tree, check: Check, cause: str) -> Mapping[str, float]:
    """Return P(band | cause) for the bands of `check`; the rule stands at `table.rows_of`."""
    rows = table_of(tree)[check.id]
    return dict(zip(rows.bands, rows.of(cause), strict=True))


def prior(tree: Tree, *, priors: Mapping[str, float] | None = None) -> dict[str, float]:
    """Return P(cause) before any reading: weights made to sum to 1, `other` always present.

    `priors` replaces the tree's weights for the causes it names, on the same scale. Weights that are negative or no
    number count as nothing; where nothing is left, all causes are alike.
    """
    return dict(_prior(tree, priors))


def _prior(tree: Tree, priors: Mapping[str, float] | None) -> Mapping[str, float]:
    return _shifted(tree, priors) if priors else _own_prior(SameTree(tree))


@lru_cache(maxsize=16)
def _own_prior(key: SameTree) -> Mapping[str, float]:
    return MappingProxyType(_shifted(key.tree, None))


def _shifted(tree: Tree, priors: Mapping[str, float] | None) -> dict[str, float]:
    weights = {cause: c.weight for cause, c in tree.causes.items()}
    weights.update({cause: w for cause, w in (priors or {}).items() if cause in weights})
    weights.setdefault(OTHER, 0.0)
    clean = {cause: w if isfinite(w) and w > 0 else 0.0 for cause, w in weights.items()}
    top = max(clean.values())
    if top <= 0:
        return {cause: 1 / len(clean) for cause in clean}
    total = sum(w / top for w in clean.values())  # scaled first: two weights of 1e308 have no sum
    return {cause: w / top / total for cause, w in clean.items()}


def posterior(
    tree: Tree,
    evidence: Iterable[Evidence],
    *,
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> Mapping[str, float]:
    """Return P(cause | evidence): sums to 1, never NaN; readings impossible under every cause leave `other` alone.

    Checks count as independent given the cause. A later reading of a check replaces the earlier one: the same probe
    read twice by the same meter is one piece of evidence.
    """
    return _normal(_scores(tree, evidence, priors, reliability))


def _scores(
    tree: Tree,
    evidence: Iterable[Evidence],
    priors: Mapping[str, float] | None,
    reliability: Mapping[str, float] | None,
) -> dict[str, float]:
    """Return ln P(cause and evidence); readings add to all causes at once through the shared row.

    They are added in one order whatever order they were taken in: sums of floats depend on it, and a last digit would
    then decide between checks that are worth the same.
    """
    table = table_of(tree, reliability=reliability)
    scores, shared = _before(tree, priors), 0.0
    for _, taken in sorted({e.check: e for e in evidence}.items()):
        told = _told(table[taken.check], taken.weights)
        shared += told.shared
        _add(scores, told)
    return {cause: score + shared for cause, score in scores.items()}


def _before(tree: Tree, priors: Mapping[str, float] | None) -> dict[str, float]:
    """Return ln P(cause) before any reading."""
    return _logs(_shifted(tree, priors)) if priors else dict(_own_before(SameTree(tree)))


@lru_cache(maxsize=16)
def _own_before(key: SameTree) -> Mapping[str, float]:
    return MappingProxyType(_logs(_own_prior(key)))


def _logs(chances: Mapping[str, float]) -> dict[str, float]:
    return {cause: log(p) if p > 0 else -inf for cause, p in chances.items()}


def _add(scores: dict[str, float], told: Told) -> None:
    """Add to `scores` what a reading tells of each cause beyond what it tells of all alike."""
    for cause, apart in told.apart:
        if cause in scores:
            scores[cause] += apart
    if told.usual <= 0:
        named = {cause for cause, _ in told.apart}
        scores.update(dict.fromkeys(scores.keys() - named, -inf))


def _told(rows: Rows, weights: Mapping[str, float]) -> Told:
    if len(weights) == 1:
        (band, weight), = weights.items()
        if weight == 1.0 and band in rows.sure:
            return told_by(rows, rows.sure[band])
    return told_by(rows, rows.soft(_clean(weights)))


def _clean(weights: Mapping[str, float]) -> Mapping[str, float]:
    """Return the weights, or no preference where they hold no number to go by."""
    clean = {band: w if isfinite(w) and w > 0 else 0.0 for band, w in weights.items()}
    top = max(clean.values(), default=0.0)
    return {band: w / top for band, w in clean.items()} if top > 0 else dict.fromkeys(weights, 1.0)


def _normal(scores: Mapping[str, float]) -> dict[str, float]:
    top = max(scores.values())
    if top == -inf:
        return {cause: 1.0 if cause == OTHER else 0.0 for cause in scores}
    raw = {cause: exp(score - top) for cause, score in scores.items()}
    total = sum(raw.values())
    return {cause: r / total for cause, r in raw.items()}


def entropy(beliefs: Mapping[str, float]) -> float:
    """Return what is still unknown about the cause, in bits."""
    return entropy_bits(beliefs.values())


def explain(
    tree: Tree,
    evidence: Iterable[Evidence],
    cause: str,
    *,
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> tuple[Ground, ...]:
    """Return what each reading said for or against `cause` when it was taken, strongest first.

    The measure is log2 P(reading | cause) / P(reading | not the cause), the others mixed by the odds that the readings
    before it had left them: what one reading has ruled out, no later one rules out again, and the log odds before all
    readings plus every reading's bits are the log odds now (Good 1950). Cut off at ±`SHOWN_BITS`.
    """
    table = table_of(tree, reliability=reliability)
    scores, grounds = _before(tree, priors), []
    before = _others(scores, cause)
    for e in {e.check: e for e in evidence}.values():
        rows, told = table[e.check], _told(table[e.check], e.weights)
        here, other = (rows.chance(c, _clean(e.weights)) for c in (cause, OTHER))
        _add(scores, told)
        after = _others(scores, cause)
        # Where no other cause was left standing, `other` stands for them.
        there = exp(after - before + told.shared) if before > -inf else other
        grounds.append(Ground(e.check, likeliest(e.weights), _shown(here, there)))
        before = after
    return tuple(sorted(grounds, key=lambda g: -round(abs(g.bits), 9)))  # a last digit decides between no two


def _others(scores: Mapping[str, float], cause: str) -> float:
    """Return ln P(any other cause and the evidence), what is shared left out."""
    rest = [score for c, score in scores.items() if c != cause]
    top = max(rest, default=-inf)
    return top + log(sum([exp(score - top) for score in rest])) if top > -inf else -inf


def _shown(here: float, there: float) -> float:
    if here <= 0 or there <= 0:
        return 0.0 if here == there else SHOWN_BITS if here > 0 else -SHOWN_BITS
    return min(SHOWN_BITS, max(-SHOWN_BITS, log2(here) - log2(there)))


def ground_bits(
    tree: Tree,
    evidence: Iterable[Evidence],
    causes: Iterable[str],
    *,
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> float:
    """Return by how many bits the sourced readings alone raised the odds of `causes` together.

    Common practice may raise suspicion, but a verdict needs this much from words or from numbers with a source.
    """
    sourced = [e for e in evidence if tree.grounded(tree.checks[e.check])]
    if not sourced:
        return 0.0
    before = _prior(tree, priors)
    after = _normal(_scores(tree, sourced, priors, reliability))
    inside = tuple(causes)
    here, there = (_odds(b, inside) for b in (after, before))
    return _shown(here, there)


def _odds(beliefs: Mapping[str, float], inside: tuple[str, ...]) -> float:
    """Return the odds of `inside` against the rest, the rest summed by itself so that it keeps its digits."""
    rest = sum(p for c, p in beliefs.items() if c not in inside)
    return sum(beliefs[c] for c in inside) / rest if rest > 0 else inf
