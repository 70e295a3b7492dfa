"""A number with its unit, and the kinds of measurement a bench meter takes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Unit(StrEnum):
    """The base units readings are kept in; prefixes exist only in what is said, typed and shown."""

    VOLT = "V"
    OHM = "ohm"
    AMP = "A"
    HERTZ = "Hz"
    CELSIUS = "degC"


class Measure(StrEnum):
    """What a check asks for. `LOOK` and `ASK` take a word; all others take a reading."""

    DIODE = "diode"
    OHMS = "ohms"
    CONTINUITY = "continuity"
    VOLTS_DC = "volts_dc"
    VOLTS_AC = "volts_ac"
    AMPS_DC = "amps_dc"
    HERTZ = "hertz"
    CELSIUS = "celsius"
    LOOK = "look"
    ASK = "ask"

    @property
    def unit(self) -> Unit | None:
        """The base unit of its readings; None where the answer is a word."""
        return _UNITS.get(self)

    @property
    def takes_a_reading(self) -> bool:
        return self in _UNITS


_UNITS = {
    Measure.DIODE: Unit.VOLT,
    Measure.OHMS: Unit.OHM,
    Measure.CONTINUITY: Unit.OHM,
    Measure.VOLTS_DC: Unit.VOLT,
    Measure.VOLTS_AC: Unit.VOLT,
    Measure.AMPS_DC: Unit.AMP,
    Measure.HERTZ: Unit.HERTZ,
    Measure.CELSIUS: Unit.CELSIUS,
}

UNPOWERED = frozenset({Measure.DIODE, Measure.OHMS, Measure.CONTINUITY})
POWERED = frozenset({Measure.VOLTS_DC, Measure.VOLTS_AC, Measure.AMPS_DC, Measure.HERTZ})


@dataclass(frozen=True, slots=True)
class Quantity:
    """`value` in the base unit `unit` (never millivolts, never kilohms)."""

    value: float
    unit: Unit


PREFIXES = {"M": 1e6, "k": 1e3, "": 1.0, "m": 1e-3, "u": 1e-6}
SYMBOLS = {Unit.VOLT: "V", Unit.OHM: "Ω", Unit.AMP: "A", Unit.HERTZ: "Hz", Unit.CELSIUS: "°C"}


def shown(quantity: Quantity, *, resolution: float | None = None) -> str:
    """Return `quantity` as a screen shows it: `512 mV`, `4.7 kΩ`, `12.1 V`.

    The prefix puts one to three digits before the point; digits below `resolution` are not shown.
    """
    size = abs(quantity.value)
    if quantity.unit is Unit.CELSIUS or size == 0:
        prefix = ""
    else:
        prefix = next((p for p, f in PREFIXES.items() if size >= f * 0.9999999), "u")
    factor = PREFIXES[prefix]
    digits = _digits(quantity.value / factor, resolution / factor if resolution else None)
    return f"{digits} {prefix}{SYMBOLS[quantity.unit]}"


def _digits(value: float, resolution: float | None) -> str:
    if not resolution:
        return f"{value:.4g}"
    decimals = 0
    while decimals < 6 and round(resolution * 10**decimals, 9) < 1:
        decimals += 1
    return f"{value:.{decimals}f}"
