"""What a mode of the meter can show, told in a sentence where it cannot."""

from __future__ import annotations

from math import floor, log10

from guide.core.meter import ModeSpec
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, measure_unit
from guide.core.words.aloud import aloud

_MODE_NAMES = {
    Measure.DIODE: "diode mode", Measure.OHMS: "ohms", Measure.CONTINUITY: "continuity", Measure.VOLTS_DC: "volts DC",
    Measure.VOLTS_AC: "volts AC", Measure.AMPS_DC: "amps", Measure.HERTZ: "hertz", Measure.CELSIUS: "degrees Celsius",
}  # fmt: skip
ABSOLUTE_ZERO_C = -273.15  # the SI defines 0 degC as 273.15 K


def mode_name(measure: Measure) -> str:
    """Return the mode as it is said."""
    return _MODE_NAMES[measure]


def greatest(spec: ModeSpec) -> float:
    """Return the greatest value the mode shows; in diode mode no more than the meter can drive."""
    return min(spec.over_above, spec.compliance_v) if spec.compliance_v is not None else spec.over_above


def cannot_show(reading: Measured, spec: ModeSpec) -> str:
    """Return why the mode cannot show `reading`, as a sentence naming the limit; empty where it can."""
    value, unit = reading.quantity.value, measure_unit(spec.measure)
    name = mode_name(spec.measure)
    if value < 0 and not spec.signed:
        return f"{name[0].upper()}{name[1:]} cannot be below zero. Check the leads and say it again."
    if spec.measure is Measure.CELSIUS and value < ABSOLUTE_ZERO_C:
        return "Nothing is colder than minus two hundred seventy three degrees. Say it again."
    if abs(value) > greatest(spec) * (1 + 1e-9):
        top = aloud(Quantity(greatest(spec), unit)).capitalize()
        return f"{top} is the most {name} can show. Say it again, or O L."
    finest = spec.resolution_at(0.0)
    if value != 0 and abs(value) < finest / 2:
        return f"The last digit of {name} is {aloud(Quantity(display_digit(finest), unit))}. Say it again."
    return ""


def display_digit(resolution: float) -> float:
    """Return the decimal place a display step stands in: a step of 0.17 V shows tenths of a volt."""
    return float(f"1e{floor(log10(resolution) + 1e-9)}")


def shown_digit(reading: Measured, spec: ModeSpec) -> float:
    """Return the worth of the last digit a display shows for the size of `reading`."""
    return display_digit(spec.resolution_at(reading.quantity.value))


def too_fine(reading: Measured, spec: ModeSpec) -> bool:
    """Tell whether the reading has more decimals than the display shows for its size."""
    return reading.resolution < shown_digit(reading, spec) * 0.999
