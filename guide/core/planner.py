"""Which check to take next: most information for its minutes, with what the bench is set up for counted in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import log2

from guide.core.belief import Evidence, posterior
from guide.core.costs import Bench, minutes
from guide.core.table import Rows, table_of, variation
from guide.core.tree import Check, Tree

LEAST_BITS = 1e-4  # a check that promises less is not worth asking
LEAST_MINUTES = 0.1  # a free check is still an answer to give


@dataclass(frozen=True, slots=True)
class Choice:
    """The check to take next and the best of those passed over. `bits` is what it is expected to tell."""

    check: str
    bits: float
    minutes: float
    runner_up: str | None = None
    runner_up_bits: float = 0.0
    runner_up_minutes: float = 0.0


def information(rows: Rows, beliefs: Mapping[str, float]) -> float:
    """Return the expected information of a check about the cause, in bits: H(band) - sum P(cause) H(band | cause).

    Causes the check does not name share one row, so the work grows with those it names.
    """
    named = [(beliefs[c], row, rows.spreads[c]) for c, row in rows.named.items() if beliefs.get(c, 0.0) > 0]
    rest = max(0.0, 1.0 - sum(p for p, _, _ in named))
    expected = rest * rows.spread + sum(p * spread for p, _, spread in named)
    told = 0.0
    for i, usual in enumerate(rows.default):
        q = rest * usual
        for p, row, _ in named:
            q += p * row[i]
        if q > 0:
            told -= q * log2(q)
    return max(0.0, told - expected)


def next_check(
    tree: Tree,
    beliefs: Mapping[str, float],
    left: Iterable[Check],
    bench: Bench,
    *,
    reliability: Mapping[str, float] | None = None,
) -> Choice | None:
    """Return the check with the most information a minute, None where none has any. Ties go to the tree's order."""
    table = table_of(tree, reliability=reliability)
    found = []
    for check in left:
        if check.twin is None and (told := information(table[check.id], beliefs)) >= LEAST_BITS:
            found.append((check.id, told, minutes(tree, check, bench)))
    if not found:
        return None
    found.sort(key=lambda f: -f[1] / max(LEAST_MINUTES, f[2]))
    best, second = found[0], found[1] if len(found) > 1 else (None, 0.0, 0.0)
    return Choice(*best, *second)


def what_if(
    tree: Tree,
    evidence: Iterable[Evidence],
    check: str,
    band: str,
    *,
    priors: Mapping[str, float] | None = None,
    reliability: Mapping[str, float] | None = None,
) -> Mapping[str, float]:
    """Return the odds if `check` came back as `band`; an earlier reading of it gives way."""
    supposed = Evidence(check, {band: 1.0})
    return posterior(tree, (*evidence, supposed), priors=priors, reliability=reliability)


def why(
    tree: Tree, beliefs: Mapping[str, float], choice: Choice, *, reliability: Mapping[str, float] | None = None
) -> str:
    """Return one sentence: what the check tells apart, how much it tells, at what cost, against the runner-up."""
    rows = table_of(tree, reliability=reliability)[choice.check]
    pair = _pair(rows, beliefs)
    what = f"tells {_name(pair[0])} from {_name(pair[1])}" if pair else "narrows the causes"
    said = f"{_name(choice.check)} {what}: {choice.bits:.2f} bits for {_minutes(choice.minutes)}"
    if choice.runner_up is None:
        return _sentence(f"{said}; no other check tells anything more.")
    other = f"{_name(choice.runner_up)}, {choice.runner_up_bits:.2f} bits for {_minutes(choice.runner_up_minutes)}"
    return _sentence(f"{said}; next best is {other}.")


def _pair(rows: Rows, beliefs: Mapping[str, float]) -> tuple[str, str] | None:
    """Return the two likely causes this check does most to tell apart, the likelier first."""
    likely = sorted(beliefs, key=lambda c: -beliefs[c])[:12]
    pairs = [
        (beliefs[a] * beliefs[b] * variation(rows.of(a), rows.of(b)), a, b)
        for i, a in enumerate(likely)
        for b in likely[i + 1 :]
    ]
    best = max(pairs, key=lambda pair: pair[0], default=(0.0, "", ""))
    return (best[1], best[2]) if best[0] > 0 else None


def _name(identifier: str) -> str:
    return identifier.replace("-", " ").replace("_", " ")


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def _minutes(value: float) -> str:
    return "1 minute" if value == 1 else f"{value:g} minutes"
