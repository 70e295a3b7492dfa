"""An amount with its point, prefix or separator left open -> every value it may be, and those a display can show.

Only the meter decides here: its range, its sign and its decimals. What a check expects never does.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum, auto
from typing import NamedTuple

from guide.core.meter import ModeSpec
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, measure_unit
from guide.core.words.amounts import Amount, Number, Said
from guide.core.words.limits import cannot_show, shown_digit, too_fine

# The power of ten of each prefix of a unit word.
POWERS = {"": 0, "k": 3, "M": 6, "m": -3, "u": -6}
_ON_OHMS = frozenset({Measure.OHMS, Measure.CONTINUITY})
# A slip of the shift key is put right quietly only where the other reading is out of the question on any bench.
_SLIPS_TO = {Measure.VOLTS_DC: -3, Measure.VOLTS_AC: -3, Measure.DIODE: -3, Measure.AMPS_DC: -3, Measure.HERTZ: 6}


class How(Enum):
    """What has to be assumed for a value."""

    SAID = auto()
    POINT = auto()  # a point left out
    THOUSANDS = auto()  # a typed point that separates thousands
    CASE = auto()  # m for M or M for m
    MILLI = auto()  # a prefix left out
    PREFIX = auto()  # a prefix too much


class Option(NamedTuple):
    reading: Measured
    how: How


def options_of(amount: Amount, spec: ModeSpec) -> list[Option]:
    """Return every value `amount` could stand for, the plainest first, whatever the mode can show."""
    found: dict[float, Option] = {}
    for number, how in _placements(amount, spec.measure):
        for power, slip in _powers(amount, number, spec.measure):
            reading = _measured(amount, number, power, spec.measure)
            found.setdefault(reading.quantity.value, Option(reading, slip if slip is not How.SAID else how))
    return list(found.values())


def _measured(amount: Amount, number: Number, power: int, measure: Measure) -> Measured:
    exp = number.exp + power
    value, resolution = float(f"{number.digits}e{exp}"), float(f"1e{exp}")
    if amount.second is not None:
        second = amount.second.number
        exp = second.exp + POWERS[amount.second.prefix.rstrip("~")]
        value, resolution = round(value + float(f"{second.digits}e{exp}"), 9), float(f"1e{exp}")
    return Measured(Quantity(-value if amount.sign == "-" and value else value, measure_unit(measure)), resolution)


def _powers(amount: Amount, number: Number, measure: Measure) -> list[tuple[int, How]]:
    """Return the powers of ten that a prefix, or the lack of one, may stand for."""
    if amount.prefix in ("m", "u", "m~", "M~"):
        slips = {"m~": [(6, How.CASE)], "M~": [(-3, How.CASE)]}.get(amount.prefix, [])
        small = number.exp < 0 and amount.prefix != "M~" and measure not in _ON_OHMS
        bare = [(0, How.PREFIX)] if small else []
        return [(POWERS[amount.prefix.rstrip("~")], How.SAID), *slips, *bare]
    if amount.prefix or amount.unit or number.exp != 0:
        return [(POWERS[amount.prefix], How.SAID)]
    if measure is Measure.DIODE:
        return [(-3, How.SAID)]
    if measure is Measure.AMPS_DC and number.said is not Said.COMMA:
        # Meters show currents in milliamps as often as in amps, so a whole number without its unit is asked.
        return [(0, How.SAID), (-3, How.MILLI)]
    return [(0, How.SAID)]


def _placements(amount: Amount, measure: Measure) -> list[tuple[Number, How]]:
    """Return the numbers the digits may be: one whole number, or with the point at a place where words met."""
    number = amount.number
    plain = (number, How.SAID)
    if number.said is Said.TYPED_POINT and not amount.prefix:
        return [plain, *_thousands_point(number)]
    if number.said is Said.MARKED_GROUP:
        whole, part = number.digits[: number.cuts[0]], number.digits[number.cuts[0] :]
        return [plain, (Number(f"{whole}0{part}", -3, Said.EXACT), How.SAID)]
    if measure is Measure.DIODE and number.said is Said.RUN and len(number.digits) == 2 and not amount.unit:
        # Two single digits are half of what the display shows: 45 mV, or 0.45 V cut short.
        return [plain, (Number(number.digits, -2, Said.EXACT), How.POINT)]
    if not number.cuts or number.said is Said.MARKED or _whole_by_custom(amount, measure):
        return [plain]
    return [plain, *((Number(number.digits, cut - len(number.digits), Said.EXACT), How.POINT) for cut in number.cuts)]


def _whole_by_custom(amount: Amount, measure: Measure) -> bool:
    """Tell whether the trade says whole numbers this way: `four fifty two` with a prefix, on ohms and in diode mode;
    three or more single digits on ohms."""
    number, bare = amount.number, not amount.prefix and not amount.unit
    if measure is Measure.DIODE and bare and number.said is not Said.COMMA:
        return True
    if number.said is Said.PAIR:
        return amount.prefix != "" or measure in _ON_OHMS
    digit_by_digit = number.said is Said.RUN and len(number.digits) > 2 and number.digits[0] != "0"
    return digit_by_digit and measure in _ON_OHMS and not amount.prefix


def _thousands_point(number: Number) -> list[tuple[Number, How]]:
    whole = number.digits[:-3]
    if number.exp != -3 or not 0 < len(whole) < 4 or whole[0] == "0":
        return []
    return [(Number(number.digits, 0, Said.EXACT), How.THOUSANDS)]


def possible(amount: Amount, options: Sequence[Option], spec: ModeSpec) -> list[Option]:
    """Return the options the display can show, without those nobody would mean."""
    shown = [o for o in options if not cannot_show(o.reading, spec)]
    if amount.number.said is Said.COMMA:
        return [o for o in shown if _as_displayed(o, spec)] or shown
    said = [o for o in shown if o.how is How.SAID]
    return [o for o in shown if o.how is How.SAID or _worth_asking(o, said, amount, spec)]


def _as_displayed(option: Option, spec: ModeSpec) -> bool:
    """Tell whether the display has these digits; a whole number may end in zeros it leaves out: 10,000 is 10.00 k."""
    if not too_fine(option.reading, spec):
        return True
    value, digit = option.reading.quantity.value, shown_digit(option.reading, spec)
    return option.how is How.SAID and value % digit == 0


def _worth_asking(option: Option, said: Sequence[Option], amount: Amount, spec: ModeSpec) -> bool:
    match option.how:
        case How.POINT:
            return not too_fine(option.reading, spec)
        case How.THOUSANDS:
            # 1.234 is a decimal, unless the display has no such decimals.
            return any(too_fine(o.reading, spec) for o in said)
        case How.PREFIX:
            # 0.452 mV is millivolts, unless the display has no such decimals: then it may be 0.452 V.
            return not said or any(too_fine(o.reading, spec) for o in said)
        case How.CASE:
            return amount.prefix == "m~" or (not said and _SLIPS_TO.get(spec.measure) == -3)
        case _:
            return True


def rests_on_a_guess(amount: Amount, only: Option, spec: ModeSpec) -> bool:
    """Tell whether the one option left still has to be asked."""
    number = amount.number
    twice = number.said is Said.QUAD and number.digits[:2] == number.digits[2:]  # `twelve twelve`: said again, or 1212
    if twice or number.said is Said.MIXED or only.how in (How.MILLI, How.THOUSANDS, How.PREFIX):
        return True
    right_case = _SLIPS_TO.get(spec.measure)
    if only.how is How.CASE:
        return right_case is None or (right_case == 6) != (amount.prefix == "m~")
    # A small m on hertz is nearly always a slip for mega, even where only millihertz would fit.
    return amount.prefix == "m~" and right_case == 6
