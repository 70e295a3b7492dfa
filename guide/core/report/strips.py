"""A reading against its bands as positions along a strip, whatever the spans of the bands.

Bands of one check may span six decades, so each is drawn equally wide and the value is placed inside its own. The map
is monotone: what is further right reads higher.
"""

from __future__ import annotations

from collections.abc import Sequence

from guide.core.quantity import Quantity, Unit, shown
from guide.core.reading import Answered, Band, Measured, OverRange, Reading
from guide.core.report.model import Cell, Strip
from guide.core.report.wording import limits_of, tidy

LONGEST_NAME = 60


def strip_of(
    reading: Reading, bands: Sequence[Band], normal: Sequence[str], band: str, unit: Unit | None, error: float
) -> Strip | None:
    """Return the strip of `reading`, None where no band can hold it. `error` is ± in base units."""
    ordered = in_order(bands)
    if not ordered:
        return None
    cells = tuple(_cell(b, normal, band, unit) for b in ordered)
    match reading:
        case Measured(quantity):
            left, middle, right = (place(ordered, quantity.value + d) for d in (-error, 0.0, error))
            return Strip(cells, middle, left, right, "dot")
        case OverRange():
            home = next((i for i, b in enumerate(ordered) if b.over_range), None)
            return None if home is None else _mark(cells, _over_place(ordered, home), "diamond")
        case Answered(word):
            index = next((i for i, b in enumerate(ordered) if b.name == word), None)
            return None if index is None else _mark(cells, (index + 0.5) / len(ordered), "square")


def _mark(cells: tuple[Cell, ...], at: float, shape: str) -> Strip:
    return Strip(cells, at, at, at, shape)


def in_order(bands: Sequence[Band]) -> tuple[Band, ...]:
    """Return bands rising, a band of OL alone last; words keep their order."""
    if all(b.low is None and b.high is None and not b.over_range for b in bands):
        return tuple(bands)

    def key(band: Band) -> tuple[int, float]:
        if band.low is None and band.high is None:
            return (2, 0.0)
        return (0, 0.0) if band.low is None else (1, band.low)

    return tuple(sorted(bands, key=key))


def _cell(band: Band, normal: Sequence[str], holds: str, unit: Unit | None) -> Cell:
    edge = shown(Quantity(band.low, unit)) if unit is not None and band.low is not None else ""
    name = tidy(band.name, longest=LONGEST_NAME)
    return Cell(name, band.name in normal, band.name == holds, edge, limits_of(band, unit))


def _over_place(ordered: Sequence[Band], home: int) -> float:
    # OL shares its cell with numbers there, so it stands at the far end; alone it stands in the middle.
    alone = ordered[home].low is None and ordered[home].high is None
    return (home + (0.5 if alone else 0.92)) / len(ordered)


def place(ordered: Sequence[Band], value: float) -> float:
    """Return where `value` stands on a strip of `ordered` bands, from 0 to 1; a gap puts it on the nearer edge."""
    ranged = [i for i, b in enumerate(ordered) if b.low is not None or b.high is not None]
    for i in ranged:
        if ordered[i].holds(value):
            return (i + _within(ordered[i], value)) / len(ordered)
    below = [i for i in ranged if (high := ordered[i].high) is not None and high <= value]
    return (max(below) + 1) / len(ordered) if below else 0.0


def _within(band: Band, value: float) -> float:
    """Return how far into its band `value` stands; an open side is approached and never reached."""
    low, high = band.low, band.high
    if low is not None and high is not None:
        return (value - low) / (high - low)
    if low is None and high is not None:
        # From zero where zero belongs to it, for most quantities have no less; below that the curve flattens out.
        if high > 0:
            return 0.15 + 0.85 * value / high if value >= 0 else 0.15 / (1 - value / high)
        return 1 / (1 + (high - value) / (abs(high) or 1.0))
    assert low is not None, "a band of numbers has an edge"
    span = abs(low) or 1.0
    return 1 - 1 / (1 + (value - low) / span)
