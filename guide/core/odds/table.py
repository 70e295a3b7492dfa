"""The evidence table of a tree: P(band | cause) for every check, kept sparse.

Most causes leave most checks normal, so each check holds one row for all causes it does not name and a few rows for
those it does. The odds and the planner work on this form and never walk causes a check says nothing about.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import inf, isfinite, log, log2
from typing import TypeVar

from guide.core.tree import LAST_DIGITS, OTHER, Check, Tree

T = TypeVar("T")
Soft = tuple[tuple[int, float], ...]
Row = tuple[float, ...]  # probabilities in the order of the check's bands; they sum to 1

DEFAULT_ROW = "default"  # the name, in a check's `table`, of the row for causes it does not name
SEPARATES = 0.1  # a check tells two causes apart whose rows differ by more, as total variation
USUAL_RELIABILITY = 0.98


@dataclass(frozen=True, slots=True)
class Told:
    """What a reading tells: ln P(reading | a cause not named), and for each cause named, the ln of its own chance less
    that. Where the reading is impossible for causes not named, `shared` is 0 and they are told of one by one."""

    shared: float
    apart: tuple[tuple[str, float], ...]
    usual: float


@dataclass(frozen=True, slots=True, eq=False)  # a table's rows are themselves alone, so they can be keys
class Rows:
    """One check: `default` for causes not in `named`, of entropy `spread` in bits.

    Rows that differ from the default are kept once: `shared_by` has the causes of each, `spreads` its entropy, and
    `columns` for each band the default's chance and theirs. `sure` is each band read for sure, by place in the row.
    """

    bands: tuple[str, ...]
    default: Row
    named: Mapping[str, Row]
    spread: float
    shared_by: tuple[tuple[str, ...], ...]
    spreads: tuple[float, ...]
    columns: tuple[tuple[float, Row], ...]
    sure: Mapping[str, Soft]

    def of(self, cause: str) -> Row:
        return self.named.get(cause, self.default)

    def soft(self, weights: Mapping[str, float]) -> Soft:
        """Return a reading's band weights by place in the row, without the empty ones."""
        return tuple([(i, w) for i, band in enumerate(self.bands) if (w := weights.get(band, 0.0)) > 0])

    def chance(self, cause: str, weights: Mapping[str, float]) -> float:
        """Return P(soft reading | cause): the band probabilities weighted by the reading's own band weights."""
        return weighed(self.of(cause), self.soft(weights))


@lru_cache(maxsize=1024)  # an answer weighs all that were read before it anew, several times over
def told_by(rows: Rows, soft: Soft) -> Told:
    """Return what a reading with these band weights tells."""
    usual = weighed(rows.default, soft)
    shared = log(usual) if usual > 0 else 0.0
    chances = ((cause, weighed(row, soft)) for cause, row in rows.named.items())
    return Told(shared, tuple([(c, log(p) - shared if p > 0 else -inf) for c, p in chances]), usual)


def weighed(row: Row, soft: Soft) -> float:
    """Return sum over bands of weight times probability (Jeffrey's soft evidence, one reading)."""
    return sum([w * row[i] for i, w in soft])


def variation(a: Row, b: Row) -> float:
    """Return the total variation distance of two rows: 0 alike, 1 never the same band."""
    return sum(abs(x - y) for x, y in zip(a, b, strict=True)) / 2


def separates(apart: float) -> bool:
    """Tell whether rows that far apart tell two causes apart. Many rows of an author differ by the very limit, so the
    last digits of a sum must not decide."""
    return apart > SEPARATES + LAST_DIGITS


def bits(row: Iterable[float]) -> float:
    """Return the entropy in bits; empty cells count nothing."""
    return -sum(p * log2(p) for p in row if p > 0)


def rows_of(check: Check, *, reliability: float | None = None) -> Rows:
    """Return the rows of one check.

    A cause's row is, first found: its own line in `table`; the table's `default` where `expect` does not name it; its
    expected bands, which share the check's reliability while the others share the rest. Causes not named predict
    `normal`. `other` is flat unless the table names it, and so is every cause of a check that says nothing about it.
    """
    bands = tuple(b.name for b in check.bands)
    sure = check.reliability if reliability is None else reliability
    table = {name: _explicit(row, bands) for name, row in check.table.items()}
    default = _one(table.pop(DEFAULT_ROW, None) or _expected(check.normal, bands, sure))
    named = {cause: _one(_expected(expected, bands, sure)) for cause, expected in check.expect.items()}
    named[OTHER] = _one(_flat(bands))
    named.update(table)
    alike: dict[Row, list[str]] = {}
    for cause, row in named.items():
        if row != default:
            alike.setdefault(row, []).append(cause)
    columns = tuple((usual, tuple(row[b] for row in alike)) for b, usual in enumerate(default))
    shared_by, spreads = tuple(map(tuple, alike.values())), tuple(map(bits, alike))
    certain = {band: ((b, 1.0),) for b, band in enumerate(bands)}
    return Rows(bands, default, named, bits(default), shared_by, _one(spreads), _one(columns), certain)


@lru_cache(maxsize=4096)
def _one(cells: T) -> T:
    """Return what is equal and was here before, so that the many checks of a tree with the same rows share them: what
    an answer goes through is then mostly in the processor's cache already."""
    return cells


def _explicit(row: Mapping[str, float], bands: tuple[str, ...]) -> Row:
    """Return an author's row made to sum to 1; flat where it holds nothing usable (the linter names it)."""
    cells = [row.get(band, 0.0) for band in bands]
    cells = [p if isfinite(p) and p > 0 else 0.0 for p in cells]
    total = sum(cells)
    return tuple(p / total for p in cells) if total > 0 else _flat(bands)


def _expected(expected: Iterable[str], bands: tuple[str, ...], reliability: float) -> Row:
    """Return the row of a cause that predicts `expected`; flat where that is none or all of the bands."""
    hits = set(expected) & set(bands)
    if not hits or len(hits) == len(bands):
        return _flat(bands)
    sure = min(1.0, max(0.0, reliability)) if isfinite(reliability) else USUAL_RELIABILITY
    hit, miss = sure / len(hits), (1 - sure) / (len(bands) - len(hits))
    return tuple(hit if band in hits else miss for band in bands)


def _flat(bands: tuple[str, ...]) -> Row:
    return (1 / len(bands),) * len(bands)


class SameTree:
    """A tree as a cache key: the same object, not an equal one, for a tree holds mappings and has no hash."""

    __slots__ = ("tree",)

    def __init__(self, tree: Tree) -> None:
        self.tree = tree

    def __hash__(self) -> int:
        return id(self.tree)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, SameTree) and other.tree is self.tree


@lru_cache(maxsize=16)
def _table(key: SameTree, reliability: tuple[tuple[str, float], ...]) -> Mapping[str, Rows]:
    learned = dict(reliability)
    return {c.id: rows_of(c, reliability=learned.get(c.id)) for c in key.tree.checks.values()}


def table_of(tree: Tree, *, reliability: Mapping[str, float] | None = None) -> Mapping[str, Rows]:
    """Return the rows of every check of `tree` by check id, worked out once per tree.

    `reliability` overrides the author's figure for the checks it names (what closed jobs taught).
    """
    return _table(SameTree(tree), tuple(sorted(reliability.items())) if reliability else ())


def parts(rows: Rows, a: str, b: str) -> bool:
    """Tell whether a check with these rows tells causes `a` and `b` apart."""
    here, there = rows.of(a), rows.of(b)
    return here is not there and separates(variation(here, there))


def inseparable(table: Mapping[str, Rows], checks: Iterable[Check], a: str, b: str) -> bool:
    """Tell whether none of `checks` tells causes `a` and `b` apart."""
    return not any(parts(table[c.id], a, b) for c in checks)


def groups(tree: Tree, *, reliability: Mapping[str, float] | None = None) -> tuple[tuple[str, ...], ...]:
    """Return the sets of two or more causes that no check of `tree` tells apart, in the order of the tree."""
    table = table_of(tree, reliability=reliability)
    naming: dict[str, list[Check]] = {cause: [] for cause in tree.causes}
    for check in tree.asked():
        for cause in table[check.id].named:
            naming.setdefault(cause, []).append(check)
    found: list[list[str]] = []
    for cause in (c for c in tree.causes if c != OTHER):
        # A check that names neither of two causes gives them one row, so it cannot tell them apart.
        home = next((g for g in found if inseparable(table, naming[g[0]] + naming[cause], g[0], cause)), None)
        if home is None:
            found.append([cause])
        else:
            home.append(cause)
    return tuple(tuple(g) for g in found if len(g) > 1)
