"""A reading as it is read back: short, in the words the parser takes, with one meaning only.

Zeros are `zero` (never `oh`), prefixes are whole words (`kilohms`, never the letter), and digits after the point are
said one by one, so no two readings sound alike but for the words themselves.
"""

from __future__ import annotations

import re
from enum import StrEnum
from math import floor, log10

from guide.core.quantity import SYMBOLS, Quantity, Unit
from guide.core.reading import Answered, Measured, OverRange, Reading
from guide.core.words.forms import ONES, TEENS, TENS

OVER_RANGE_ALOUD = "O L"

_NAMES = {
    Unit.VOLT: {0: "volts", -3: "millivolts"},
    Unit.OHM: {0: "ohms", 3: "kilohms", 6: "megohms"},
    Unit.AMP: {0: "amps", -3: "milliamps"},
    Unit.HERTZ: {0: "hertz", 3: "kilohertz", 6: "megahertz"},
    Unit.CELSIUS: {0: "degrees"},
}
_UNCHANGED_BY_ONE = frozenset({"hertz", "kilohertz", "megahertz"})


class Verbosity(StrEnum):
    """How a number is read back. `SHORT` groups three digits (`five twelve millivolts`), `FULL` says every word
    (`five hundred twelve millivolts`), `DIGITS` every digit after the point of the base unit
    (`zero point five one two volts`): the surest in noise."""

    SHORT = "short"
    FULL = "full"
    DIGITS = "digits"


def aloud(reading: Reading | Quantity, *, verbosity: Verbosity = Verbosity.SHORT) -> str:
    """Return the words for `reading`; `spoken.parse` gives the same reading back. A bare `Quantity` is said
    with the digits it needs."""
    match reading:
        case OverRange():
            return OVER_RANGE_ALOUD
        case Answered(word):
            return word
        case Quantity():
            return _measured(Measured(reading, _last_digit(reading.value)), verbosity)
        case Measured():
            return _measured(reading, verbosity)


def _last_digit(value: float) -> float:
    """Return the worth of the last of at most six significant digits, no more than one step of its prefix."""
    if value == 0:
        return 1.0
    mantissa, _, exp = f"{abs(value):.5e}".partition("e")
    last = int(exp) - len(mantissa.rstrip("0").partition(".")[2])
    return float(f"1e{min(last, max(3 * (int(exp) // 3), -3))}")


def _measured(reading: Measured, verbosity: Verbosity) -> str:
    value, unit = reading.quantity.value, reading.quantity.unit
    if unit is Unit.OHM and value == 0 and reading.margin > 1:
        return "beeps"
    exp = floor(log10(reading.resolution or _last_digit(value)) + 0.5)
    power = _prefix_power(abs(value), exp, unit, verbosity)
    words = _number_words(abs(value), exp, power, verbosity)
    name = _NAMES[unit][power]
    if words == "one" and name not in _UNCHANGED_BY_ONE:
        name = name.removesuffix("s")
    rough = "about " if reading.rough else ""
    sign = "minus " if value < 0 else ""
    return f"{rough}{sign}{words} {name}"


def _prefix_power(size: float, exp: int, unit: Unit, verbosity: Verbosity) -> int:
    """Return the power of ten of the prefix: one to three digits before the point, never fewer digits than given."""
    powers = sorted(_NAMES[unit])
    if verbosity is Verbosity.DIGITS:
        powers = [p for p in powers if p >= 0]
    fitting = [p for p in powers if p >= exp] or powers[-1:]
    if size == 0:
        return fitting[0]
    best = [p for p in fitting if size >= float(f"1e{p}") * 0.9999999]
    return best[-1] if best else fitting[0]


def _number_words(size: float, exp: int, power: int, verbosity: Verbosity) -> str:
    decimals = max(0, power - exp)
    digits = str(round(size / float(f"1e{power - decimals}"))).rjust(decimals + 1, "0")
    whole, part = (digits[:-decimals], digits[-decimals:]) if decimals else (digits, "")
    grouped = verbosity is Verbosity.SHORT and not part and power < 0
    before = _grouped(int(whole)) if grouped else cardinal(int(whole))
    return " ".join((before, "point", *(ONES[int(d)] for d in part))) if part else before


def _grouped(number: int) -> str:
    """Return 512 as `five twelve`, 505 as `five zero five`, other numbers as cardinals."""
    hundreds, rest = divmod(number, 100)
    if not (1 <= hundreds <= 9 and rest):
        return cardinal(number)
    return f"{ONES[hundreds]} {cardinal(rest) if rest > 9 else f'zero {ONES[rest]}'}"


def cardinal(number: int) -> str:
    """Return a whole number below a thousand million in words, without `and`."""
    for size, name in ((1_000_000, "million"), (1000, "thousand"), (100, "hundred")):
        if number >= size:
            rest = number % size
            return f"{cardinal(number // size)} {name}" + (f" {cardinal(rest)}" if rest else "")
    if number < 10:
        return ONES[number]
    if number < 20:
        return TEENS[number - 10]
    return TENS[number // 10 - 2] + (f" {ONES[number % 10]}" if number % 10 else "")


_PREFIX_WORDS = {"M": "mega", "k": "kilo", "": "", "m": "milli", "u": "micro"}
_UNIT_WORDS = {"V": "volts", "Ω": "ohms", "A": "amps", "Hz": "hertz", "°C": "degrees"}
_RUN_TOGETHER = {"megaohms": "megohms", "kiloohms": "kilohms"}
_FIGURES = re.compile(rf"(-?)\b(\d+(?:\.\d+)?) ([Mkmu]?)({'|'.join(map(re.escape, SYMBOLS.values()))})(?!\w)")
_OVER_RANGE = re.compile(r"\bOL\b")


def speakable(text: str) -> str:
    """Return `text` with units in words: a voice says `3 Ω` as `three omega` and `OL` as one syllable."""
    return _OVER_RANGE.sub(OVER_RANGE_ALOUD, _FIGURES.sub(_in_unit_words, text))


def _in_unit_words(found: re.Match[str]) -> str:
    sign, number, prefix, symbol = found.groups()
    name = f"{_PREFIX_WORDS[prefix]}{_UNIT_WORDS[symbol]}"
    name = _RUN_TOGETHER.get(name, name)
    single = number == "1" and name not in _UNCHANGED_BY_ONE
    return f"{'minus ' if sign else ''}{number} {name.removesuffix('s') if single else name}"
