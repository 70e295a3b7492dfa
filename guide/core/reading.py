"""What one check gives back, the bands it may fall in, and how surely it falls there."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import erfc, hypot, inf, sqrt

from guide.core.meter import ModeSpec
from guide.core.quantity import Measure, Quantity, Unit


class Source(StrEnum):
    """Where a reading came from. Spoken readings are confirmed; typed and metered ones are not."""

    TYPED = "typed"
    SPOKEN = "spoken"
    METER = "meter"
    DERIVED = "derived"


@dataclass(frozen=True, slots=True)
class Measured:
    """A number read off a meter.

    `resolution` is the worth of the last digit and `margin` an extra half-width the technician put on it
    (`about four hundred`, a beep), both in the quantity's own base unit.
    """

    quantity: Quantity
    resolution: float
    margin: float = 0.0

    @property
    def rough(self) -> bool:
        """Whether it was given as `about`; the small scatter of a meter's repeats does not make it so."""
        return self.margin > min(self.resolution, 0.05 * abs(self.quantity.value))


@dataclass(frozen=True, slots=True)
class OverRange:
    """The meter shows OL: an open path on ohms, more than the range on volts. Never a number."""

    unit: Unit


@dataclass(frozen=True, slots=True)
class Answered:
    """A word that answers a look or a question; `word` is the band's own name."""

    word: str


Reading = Measured | OverRange | Answered


@dataclass(frozen=True, slots=True)
class Band:
    """Half-open interval [low, high) in base units, so an edge has exactly one home.

    None means no limit on that side. A band of words has neither limit and `over_range` False.
    """

    name: str
    low: float | None = None
    high: float | None = None
    over_range: bool = False
    words: tuple[str, ...] = ()

    def holds(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value < self.high)


class NoBand(ValueError):
    """No band of the check holds this reading: the tree has a gap."""


# Below this share a neighbouring band is not worth a second look.
BORDERLINE = 0.05
EVEN = 0.05  # weights no further apart are the same: no band is named before the other


def band_weights(reading: Reading, bands: Sequence[Band], spec: ModeSpec | None) -> dict[str, float]:
    """Return the probability of each band given `reading` and the meter's error; values sum to 1.

    The true value is taken as normal about the displayed one with the standard uncertainty of
    `standard_uncertainty` (JCGM 100:2008, 4.3.7: a rectangular half-width a gives a/sqrt(3)), cut off at zero for
    ohms. OL and words have one home. Raises NoBand where no band holds the reading.
    """
    match reading:
        case OverRange():
            homes = [b.name for b in bands if b.over_range]
            if not homes:
                raise NoBand("no band takes OL")
            return {b.name: 1.0 if b.name == homes[0] else 0.0 for b in bands}
        case Answered(word):
            if word not in {b.name for b in bands}:
                raise NoBand(f"no answer is called {word}")
            return {b.name: 1.0 if b.name == word else 0.0 for b in bands}
        case Measured():
            return _spread(reading, bands, spec)


def standard_uncertainty(reading: Measured, spec: ModeSpec | None) -> float:
    """Return u in base units: meter accuracy, leads, last digit and the technician's own margin, in quadrature.

    Each is a rectangular half-width a with u = a/sqrt(3) (JCGM 100:2008, 4.3.7, as recalled).
    """
    accuracy = spec.half_width(reading.quantity.value, reading.resolution) if spec else 0.0
    leads = spec.lead_margin_ohm if spec else 0.0
    half_widths = (accuracy, leads, reading.resolution / 2, reading.margin)
    return sqrt(sum(a * a for a in half_widths) / 3)


def _spread(reading: Measured, bands: Sequence[Band], spec: ModeSpec | None) -> dict[str, float]:
    value, u = _without_leads(reading.quantity.value, spec), standard_uncertainty(reading, spec)
    floor = 0.0 if reading.quantity.unit is Unit.OHM and value >= 0 else None
    raw = {b.name: _mass(b, value, u, floor) for b in bands}
    total = sum(raw.values())
    if total <= 0:
        home = [b.name for b in bands if b.holds(value)]
        if not home:
            raise NoBand(f"no band holds {value:g}")
        return {b.name: 1.0 if b.name == home[0] else 0.0 for b in bands}
    return {name: mass / total for name, mass in raw.items()}


def _without_leads(value: float, spec: ModeSpec | None) -> float:
    """Return what is left of a reading when the leads are taken off; no part has less than nothing."""
    if spec is None or not spec.lead_ohm or value < 0:
        return value
    return max(0.0, value - spec.lead_ohm)


def _mass(band: Band, value: float, u: float, floor: float | None) -> float:
    if band.low is None and band.high is None:
        return 0.0 if band.over_range or band.words else 1.0
    low = band.low if floor is None else max(floor, band.low if band.low is not None else floor)
    if u <= 0:
        return 1.0 if band.holds(value) else 0.0
    from_low = -inf if low is None else (low - value) / u
    to_high = inf if band.high is None else (band.high - value) / u
    if from_low > 0:  # measured from the other end, where the tail keeps its digits
        from_low, to_high = -to_high, -from_low
    return max(0.0, normal_below(to_high) - normal_below(from_low))


def normal_below(z: float) -> float:
    """Return P(Z < z) of the standard normal; the erfc form keeps its digits far out in the tail."""
    return 0.5 * erfc(-z / sqrt(2))


def likeliest(weights: Mapping[str, float]) -> str:
    """Return the band with the greatest weight, the first one on a tie."""
    return max(weights, key=lambda name: weights[name])


def landed(weights: Mapping[str, float], band: str) -> tuple[str, ...]:
    """Return the bands a reading may be said to be in: `band`, or on an edge all those that weigh as much."""
    top = max(weights.values(), default=0.0)
    even = tuple(name for name, w in weights.items() if w > 0 and w >= top - EVEN)
    return even if len(even) > 1 and band in even else (band,)


def placed(weights: Mapping[str, float], band: str) -> str:
    """Return in words where a reading is: its band, or `between low and good`."""
    bands = landed(weights, band)
    return band if len(bands) == 1 else f"between {bands[0]} and {bands[-1]}"


def as_normal(weights: Mapping[str, float], band: str, normal: Collection[str]) -> bool | None:
    """Tell whether a reading is that of a good unit; None where that is not said or it is on the edge of it."""
    usual = {one in normal for one in landed(weights, band)}
    return usual.pop() if normal and len(usual) == 1 else None


def borderline(weights: Mapping[str, float]) -> bool:
    """Tell whether a second band has a share worth asking about."""
    return sum(w > BORDERLINE for w in weights.values()) > 1


def combined(readings: Sequence[Measured]) -> Measured:
    """Return the mean of repeats of one reading; same probe, same range. Needs at least one.

    The margin of the roughest repeat is kept, for repeating does not sharpen the meter, and the scatter of the mean
    joins it: its standard uncertainty is s/sqrt(n) (JCGM 100:2008, 4.2.3), a margin being sqrt(3) of that.
    """
    values = [r.quantity.value for r in readings]
    value = sum(values) / len(values)
    scatter = 3 * sum((v - value) ** 2 for v in values) / (len(values) * max(1, len(values) - 1))
    return Measured(
        Quantity(value, readings[0].quantity.unit),
        max(r.resolution for r in readings),
        hypot(max(r.margin for r in readings), sqrt(scatter)),
    )


def as_counted(readings: Sequence[Reading]) -> Reading:
    """Return what a reading and its repeats, the newest last, count as: their mean where they are numbers."""
    measured = [r for r in readings if isinstance(r, Measured)]
    return combined(measured) if isinstance(readings[-1], Measured) and len(measured) > 1 else readings[-1]


# Leads are nulled before any reading under 10 ohm (dmm.leads.r: common practice, no source): fifty times their margin.
_LEADS_MATTER = 50


def leads_matter(bands: Sequence[Band], spec: ModeSpec | None) -> bool:
    """Tell whether the leads could carry a reading across an edge of `bands`, so that they are better nulled first."""
    if spec is None or not spec.lead_margin_ohm or spec.lead_margin_ohm <= spec.resolution_at(0.0):
        return False
    edges = [e for b in bands for e in (b.low, b.high) if e is not None and e > 0]
    return any(edge <= _LEADS_MATTER * spec.lead_margin_ohm for edge in edges)


def measure_unit(measure: Measure) -> Unit:
    """Return the unit of `measure`, which must take a reading."""
    unit = measure.unit
    assert unit is not None, f"{measure} takes a word"
    return unit
